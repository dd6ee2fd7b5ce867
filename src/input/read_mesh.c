#include "input/read_mesh.h"

#include <stdlib.h>
#include <string.h>

#include "base/pointer.h"
#include "base/text.h"
#include "doc/stl.h"
#include "slowmatch/limits.h"

/* A facet's corner, and which one it is. */
struct corner {
    double at[3]; /* [file unit] */
    size_t place;
};

static int by_place_in_space(const void *a, const void *b)
{
    const struct corner *p = a, *q = b;
    for (int k = 0; k < 3; k++)
        if (p->at[k] != q->at[k])
            return p->at[k] < q->at[k] ? -1 : 1;
    return p->place < q->place ? -1 : p->place > q->place;
}

static bool is_same(const struct corner *p, const struct corner *q)
{
    return p->at[0] == q->at[0] && p->at[1] == q->at[1] && p->at[2] == q->at[2];
}

/* The vertices, each once; *names says which of them every corner is. Returned: how many, 0 if memory is out. */
static size_t find_vertices(const struct sm_stl *stl, struct corner *corners, int *names,
                            struct sm_vertex *vertices, double unit)
{
    size_t n = 0;
    for (size_t i = 0; i < 3 * stl->n; i++)
        corners[i] =
            (struct corner){{stl->corners[3 * i], stl->corners[3 * i + 1], stl->corners[3 * i + 2]}, i};
    qsort(corners, 3 * stl->n, sizeof *corners, by_place_in_space);
    for (size_t i = 0; i < 3 * stl->n; i++) {
        const struct corner *c = &corners[i];
        if (i == 0 || !is_same(c, c - 1))
            vertices[n++] = (struct sm_vertex){unit * c->at[0], unit * c->at[1], unit * c->at[2]};
        names[c->place] = (int)n - 1;
    }
    return n;
}

static enum sm_status weld(struct sm_reader *reader, struct sm_arena *scratch, const struct sm_stl *stl,
                           struct sm_meshport *port, struct sm_error *err)
{
    const size_t n = 3 * stl->n;
    struct corner *corners = sm_arena_alloc(scratch, n, sizeof *corners);
    int *names = sm_arena_alloc(scratch, n, sizeof *names);
    struct sm_vertex *vertices = sm_arena_alloc(reader->arena, n, sizeof *vertices);
    struct sm_facet *facets = sm_arena_alloc(reader->arena, stl->n, sizeof *facets);
    size_t *numbers = sm_arena_alloc(scratch, stl->n, sizeof *numbers);
    if (!corners || !names || !vertices || !facets || !numbers)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    port->vertices =
        (struct sm_list){vertices, find_vertices(stl, corners, names, vertices, port->file_unit)};
    port->facets = (struct sm_list){facets, 0};
    for (size_t i = 0; i < n; i += 3)
        if (names[i] != names[i + 1] && names[i + 1] != names[i + 2] && names[i + 2] != names[i]) {
            numbers[port->facets.n] = i / 3 + 1;
            facets[port->facets.n++] = (struct sm_facet){names[i], names[i + 1], names[i + 2]};
        }
    const struct sm_mesh mesh = {vertices, facets, port->vertices.n, port->facets.n, numbers};
    return sm_mesh_check(scratch, &mesh, err);
}

static enum sm_status read_file(struct sm_reader *reader, const char *path, struct sm_meshport *port,
                                struct sm_error *err)
{
    struct sm_arena scratch;
    struct sm_stl stl;
    sm_arena_init(&scratch, reader->arena->allocator);
    enum sm_status status = sm_stl_read_file(&scratch, path, SM_MAX_FACETS, &stl, err);
    if (status == SM_OK)
        status = weld(reader, &scratch, &stl, port, err);
    sm_arena_release(&scratch);
    return status;
}

enum sm_status sm_read_mesh(struct sm_reader *reader, const char *pointer, const char *folder,
                            struct sm_meshport *port)
{
    char place[SM_POINTER_MAX];
    if (!port->file)
        return SM_OK;
    sm_text_format(place, sizeof place, "%s/file", pointer);
    if (port->vertices.n > 0 || port->facets.n > 0)
        return sm_read_problem(reader, place, SM_E_FIELD,
                               "give \"file\", or \"vertices\" and \"facets\", not both");
    if (!(port->file_unit > 0.0))
        return sm_read_problem(reader, place, SM_E_UNIT,
                               "the file's unit is missing: say \"file_unit\": \"1 mm\", or whatever it is");
    const size_t size = strlen(folder) + strlen(port->file) + 2;
    char *path = sm_arena_alloc(reader->arena, size, 1);
    if (!path)
        return sm_read_problem(reader, place, SM_E_NOMEM, "out of memory");
    const bool is_absolute = port->file[0] == '/';
    sm_text_format(path, size, "%s%s%s", is_absolute ? "" : folder, is_absolute || !folder[0] ? "" : "/",
                   port->file);
    struct sm_error err = {0};
    const enum sm_status status = read_file(reader, path, port, &err);
    if (status == SM_OK)
        return SM_OK;
    if (status == SM_E_IO) /* the message has the name */
        return sm_read_problem(reader, place, status, "%s", err.message);
    if (err.at.line == 0) /* a fault of the whole */
        return sm_read_problem(reader, place, status, "%s: %s", port->file, err.message);
    sm_diag_add(reader->diag, &err);
    return status;
}
