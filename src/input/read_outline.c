#include "input/read_outline.h"

#include <stdlib.h>
#include <string.h>

#include "base/pointer.h"
#include "base/text.h"
#include "doc/csv.h"
#include "doc/svg_path.h"
#include "doc/textfile.h"
#include "doc/xml.h"

enum { MOST_LOOPS = 64, MOST_POINTS = 1000, MOST_BYTES = 4 << 20, DEEPEST = 64 };

/* Loops as they are found, in the file's units. */
struct drawing {
    struct sm_arena *arena;
    const struct sm_outline *outline;
    const char *path;
    struct sm_svg_outline svg;
    struct sm_xml *xml;
    size_t column[5]; /* of a CSV: x, y, arc_radius, fillet, loop; place from 1, 0 for none */
    double loop;      /* of a CSV: the last number in column loop [1] */
    struct sm_outline_loop *loops;
    size_t n, room, point_room;
};

/* ---- SVG ---- */

static enum sm_status check_loops(const struct drawing *d, struct sm_error *err)
{
    for (size_t i = 0; i < d->svg.n; i++) {
        const struct sm_svg_loop *loop = &d->svg.loops[i];
        if (loop->is_closed || loop->n == 0 || d->outline->sectors > 0)
            continue;
        const struct sm_svg_point *a = &loop->points[0], *b = &loop->points[loop->n - 1];
        return sm_fail(err, SM_E_GEOMETRY,
                       "this contour is open: it begins at %.6g, %.6g and ends at %.6g, %.6g; close it by Z",
                       a->x, 0.0 - a->y, b->x, 0.0 - b->y);
    }
    return SM_OK;
}

static enum sm_status read_path(struct drawing *d, const struct sm_xml_node *node, struct sm_error *err)
{
    const char *text = sm_xml_attribute(node, "d", d->arena);
    if (!text)
        return sm_fail(err, SM_E_FIELD, "this path has no data \"d\"");
    SM_TRY(
        sm_svg_path_read(d->arena, text, d->outline->file_tolerance / d->outline->file_unit, &d->svg, err));
    return check_loops(d, err);
}

/* Paths wherever they stand; anything else that draws would be lost, so it is refused. */
static enum sm_status read_node(struct drawing *d, const struct sm_xml_node *node, int depth,
                                struct sm_error *err)
{
    static const char *const drawn[] = {"rect", "circle",  "ellipse", "line", "polyline",
                                        "use",  "polygon", "image",   "text", NULL};
    static const char *const passed_over[] = {"defs", "metadata", "style", "title", "desc", NULL};
    const char *name = sm_xml_name(node);
    for (size_t i = 0; passed_over[i]; i++)
        if (strcmp(name, passed_over[i]) == 0)
            return SM_OK;
    for (size_t i = 0; drawn[i]; i++)
        if (strcmp(name, drawn[i]) == 0)
            return sm_xml_at(
                d->xml, node,
                sm_fail(err, SM_E_FIELD, "only paths are read: turn this <%s> into a path", name), err);
    if (sm_xml_attribute(node, "transform", d->arena))
        return sm_xml_at(
            d->xml, node,
            sm_fail(err, SM_E_FIELD,
                    "a \"transform\" is not applied: have the drawing program apply it to the points"),
            err);
    if (depth > DEEPEST)
        return sm_xml_at(d->xml, node, sm_fail(err, SM_E_RANGE, "groups stand too deep in each other"), err);
    if (strcmp(name, "path") == 0) {
        const enum sm_status status = read_path(d, node, err);
        return status == SM_OK ? SM_OK : sm_xml_at(d->xml, node, status, err);
    }
    for (const struct sm_xml_node *child = sm_xml_first(node, NULL); child; child = sm_xml_next(child, NULL))
        SM_TRY(read_node(d, child, depth + 1, err));
    return SM_OK;
}

/* From the file's units to metres. */
static enum sm_status keep_svg(struct drawing *d, struct sm_error *err)
{
    const double unit = d->outline->file_unit;
    d->loops = sm_arena_alloc(d->arena, d->svg.n + 1, sizeof *d->loops);
    if (!d->loops)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < d->svg.n; i++) {
        const struct sm_svg_loop *loop = &d->svg.loops[i];
        struct sm_outline_point *points = sm_arena_alloc(d->arena, loop->n + 1, sizeof *points);
        if (!points)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        for (size_t k = 0; k < loop->n; k++)
            points[k] = (struct sm_outline_point){.x = unit * loop->points[k].x,
                                                  .y = unit * loop->points[k].y,
                                                  .arc_radius = unit * loop->points[k].radius};
        if (loop->n > 0)
            d->loops[d->n++] = (struct sm_outline_loop){{points, loop->n}, !loop->is_closed};
    }
    return SM_OK;
}

static enum sm_status read_svg(struct drawing *d, struct sm_error *err)
{
    char *text;
    size_t n;
    SM_TRY(sm_textfile_read(d->path, MOST_BYTES, &text, &n, err));
    enum sm_status status = sm_xml_parse(text, n, d->path, &d->xml, err);
    if (status == SM_OK)
        status = read_node(d, sm_xml_root(d->xml), 0, err);
    sm_xml_free(d->xml);
    free(text);
    return status == SM_OK ? keep_svg(d, err) : status;
}

/* ---- CSV ---- */

static enum sm_status read_header(struct drawing *d, const struct sm_csv_row *row, struct sm_error *err)
{
    static const char *const names[] = {"x", "y", "arc_radius", "fillet", "loop"};
    for (size_t i = 0; i < row->n_fields; i++) {
        size_t k = 0;
        while (k < SM_COUNT(names) && (strlen(names[k]) != row->fields[i].n ||
                                       memcmp(names[k], row->fields[i].text, row->fields[i].n) != 0))
            k++;
        if (k == SM_COUNT(names))
            return sm_csv_at(
                row, i,
                sm_fail(err, SM_E_FIELD, "unknown column; there are x, y, arc_radius, fillet and loop"), err);
        d->column[k] = i + 1;
    }
    if (d->column[0] == 0 || d->column[1] == 0)
        return sm_fail(err, SM_E_FIELD, "the header must name the columns x and y");
    return SM_OK;
}

static enum sm_status begin_loop(struct drawing *d, struct sm_error *err)
{
    struct sm_outline_loop *room = sm_arena_grow(d->arena, d->loops, d->n, &d->room, d->n + 1, sizeof *room);
    if (!room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    d->loops = room;
    d->loops[d->n++] = (struct sm_outline_loop){.open = d->outline->sectors > 0};
    d->point_room = 0;
    return SM_OK;
}

static enum sm_status read_row(void *user, const struct sm_csv_row *row, struct sm_error *err)
{
    struct drawing *d = user;
    double v[5] = {0.0};
    if (row->number == 0 && sm_csv_is_header(row))
        return read_header(d, row, err);
    if (d->column[0] == 0) { /* without a header: in this order */
        d->column[0] = 1;
        d->column[1] = 2;
    }
    for (size_t k = 0; k < 5; k++)
        if (d->column[k] > row->n_fields)
            return sm_fail(err, SM_E_SYNTAX, "this row has %zu columns; %zu are wanted", row->n_fields,
                           d->column[k]);
        else if (d->column[k] > 0 && !sm_csv_number(row, d->column[k] - 1, &v[k]))
            return sm_csv_at(row, d->column[k] - 1, sm_fail(err, SM_E_SYNTAX, "this is no number"), err);
    if (d->n == 0 || v[4] != d->loop)
        SM_TRY(begin_loop(d, err));
    d->loop = v[4];
    struct sm_list *points = &d->loops[d->n - 1].points;
    if (points->n >= MOST_POINTS)
        return sm_fail(err, SM_E_RANGE, "a loop has more than %d points", MOST_POINTS);
    struct sm_outline_point *room =
        sm_arena_grow(d->arena, points->items, points->n, &d->point_room, points->n + 1, sizeof *room);
    if (!room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    const double unit = d->outline->file_unit;
    points->items = room;
    room[points->n++] = (struct sm_outline_point){unit * v[0], unit * v[1], unit * v[2], unit * v[3]};
    return SM_OK;
}

/* ---- either ---- */

static int ends_in(const char *text, const char *end)
{
    const size_t n = strlen(text), m = strlen(end);
    return n > m && strcmp(text + n - m, end) == 0;
}

static enum sm_status read_file(struct drawing *d, struct sm_error *err)
{
    if (ends_in(d->path, ".svg"))
        SM_TRY(read_svg(d, err));
    else
        SM_TRY(sm_csv_read_file(d->path, NULL, &(struct sm_csv_reader){read_row, d}, err));
    if (d->n == 0)
        return sm_fail(err, SM_E_GEOMETRY, "there is no contour in this file");
    if (d->n > MOST_LOOPS)
        return sm_fail(err, SM_E_RANGE, "there are %zu contours in this file; %d are allowed", d->n,
                       MOST_LOOPS);
    for (size_t i = 0; i < d->n; i++)
        if (d->loops[i].points.n < 2)
            return sm_fail(err, SM_E_GEOMETRY, "contour %zu of this file has fewer than two points", i + 1);
    return SM_OK;
}

enum sm_status sm_read_outline(struct sm_reader *reader, const char *pointer, const char *folder,
                               struct sm_outline *outline)
{
    char place[SM_POINTER_MAX];
    if (!outline->file)
        return SM_OK;
    sm_text_format(place, sizeof place, "%s/file", pointer);
    if (outline->loops.n > 0)
        return sm_read_problem(reader, place, SM_E_FIELD, "give \"loops\" or \"file\", not both");
    if (!ends_in(outline->file, ".svg") && !ends_in(outline->file, ".csv"))
        return sm_read_problem(reader, place, SM_E_FIELD, "a drawing is a file in .svg or .csv");
    if (!(outline->file_unit > 0.0))
        return sm_read_problem(reader, place, SM_E_UNIT,
                               "the file's unit is missing: say \"file_unit\": \"1 mm\", or whatever it is");
    const size_t size = strlen(folder) + strlen(outline->file) + 2;
    char *path = sm_arena_alloc(reader->arena, size, 1);
    if (!path)
        return sm_read_problem(reader, place, SM_E_NOMEM, "out of memory");
    sm_text_format(path, size, "%s%s%s", outline->file[0] == '/' ? "" : folder,
                   outline->file[0] == '/' || !folder[0] ? "" : "/", outline->file);
    struct sm_error err = {0};
    struct drawing d = {.arena = reader->arena, .outline = outline, .path = path};
    enum sm_status status = read_file(&d, &err);
    if (reader->arena->is_starved) /* what was not got looks as if it were not drawn */
        status = sm_fail(&err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK) {
        outline->loops = (struct sm_list){d.loops, d.n};
        return SM_OK;
    }
    if (status == SM_E_IO) /* the place to mend is the name */
        return sm_read_problem(reader, place, status, "%s", err.message);
    if (err.at.file[0] == '\0')
        sm_at(&err, status, "%s", place);
    sm_diag_add(reader->diag, &err);
    return status;
}
