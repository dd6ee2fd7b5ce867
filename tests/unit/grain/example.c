#include "unit/grain/example.h"
#include "grain/facets.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "doc/json.h"
#include "input/read_params.h"

static const struct sm_param common_rows[] = {
    {.name = "outer_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_grain_common, outer_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED},
    {.name = "length",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_grain_common, length),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED},
    {.name = "burning",
     .kind = SM_CHOICES,
     .offset = offsetof(struct sm_grain_common, burning),
     .fallback = SM_OPTIONAL,
     .words = sm_face_words},
};

struct example example_read(struct sm_arena *arena, const struct sm_shape *shape)
{
    static const char *const handled[] = {"shape", NULL};
    struct example e = {.shape = shape, .params = sm_arena_alloc(arena, 1, shape->size)};
    struct sm_error err = {0};
    struct sm_diag diag = {0};
    struct sm_units *units = NULL;
    struct sm_json_doc *doc = NULL;
    cr_assert_eq(sm_units_open(&units, &err), SM_OK, "%s", err.message);
    cr_assert_eq(sm_json_parse(shape->example, strlen(shape->example), shape->name, &doc, &err), SM_OK,
                 "%s: %s", shape->name, err.message);
    struct sm_reader reader = {.arena = arena, .units = units, .diag = &diag};
    const struct sm_param_table tables[] = {{common_rows, SM_COUNT(common_rows), &e.common},
                                            {shape->params, shape->n_params, e.params}};
    const enum sm_status status = sm_read_params(&reader, sm_json_root(doc), "", tables, 2, handled);
    cr_assert_eq(status, SM_OK, "%s: %s [%s]", shape->name, diag.n > 0 ? diag.items[0].message : "",
                 diag.n > 0 ? diag.items[0].at.path : "");
    if (e.common.burning == SM_CHOICES_ABSENT)
        e.common.burning = shape->burning;
    sm_json_free(doc);
    sm_units_free(units);
    sm_diag_release(&diag);
    return e;
}

/* ---- walking over a block ---- */

struct change {
    double spread;   /* [1] */
    uint64_t *state; /* NULL: nothing is drawn */
    double scale;    /* of lengths [1] */
    double unit;     /* lengths are divided and multiplied by it [m] */
};

static void change_block(struct sm_arena *arena, const struct change *c, const struct sm_param *rows,
                         size_t n, void *block);

static void change_value(struct sm_arena *arena, const struct change *c, const struct sm_param *row, void *at)
{
    double *value = at;
    int *whole = at;
    switch (row->kind) {
    case SM_QUANTITY:
        if (isnan(*value))
            break;
        if (c->state)
            *value =
                fmin(fmax(*value * exp(draw_uniform(c->state, -c->spread, c->spread)), row->min), row->max);
        if (row->dim == SM_DIM_LENGTH)
            *value = *value * c->scale / c->unit * c->unit;
        break;
    case SM_WHOLE:
        if (c->state)
            *whole = (int)fmin(fmax(*whole - 1 + (int)(draw_bits(c->state) % 3), row->min), row->max);
        break;
    case SM_RECORD:
        change_block(arena, c, row->rows, row->n_rows, at);
        break;
    case SM_LIST: {
        struct sm_list *list = at;
        if (list->n == 0)
            break;
        void *copy = sm_arena_alloc(arena, list->n, row->row_size);
        memcpy(copy, list->items, list->n * row->row_size);
        list->items = copy;
        if (strcmp(row->name, "facets") == 0) /* places in another list, not sizes */
            break;
        for (size_t i = 0; i < list->n; i++)
            change_block(arena, c, row->rows, row->n_rows, (char *)copy + i * row->row_size);
        break;
    }
    case SM_FLAG:
    case SM_CHOICE:
    case SM_CHOICES:
    case SM_TEXT:
    default:
        break;
    }
}

static void change_block(struct sm_arena *arena, const struct change *c, const struct sm_param *rows,
                         size_t n, void *block)
{
    for (size_t i = 0; i < n; i++)
        change_value(arena, c, &rows[i], (char *)block + rows[i].offset);
}

static struct example change(struct sm_arena *arena, const struct example *base, const struct change *c)
{
    struct example e = *base;
    e.params = sm_arena_alloc(arena, 1, base->shape->size);
    if (base->shape->size > 0)
        memcpy(e.params, base->params, base->shape->size);
    change_block(arena, c, common_rows, 2, &e.common);
    change_block(arena, c, base->shape->params, base->shape->n_params, e.params);
    return e;
}

struct example example_scale(struct sm_arena *arena, const struct example *base, double k)
{
    return change(arena, base, &(struct change){.scale = k, .unit = 1.0});
}

struct example example_through_inches(struct sm_arena *arena, const struct example *base)
{
    return change(arena, base, &(struct change){.scale = 1.0, .unit = 0.0254});
}

/* Voids that leave aslant are burned as meshes, a hundred times the work: they have tests of their own. */
static bool leans_out(struct sm_arena *arena, const struct example *e)
{
    struct sm_voids voids;
    return e->shape->voids && sm_shape_voids(e->shape, arena, &e->common, e->params, &voids, NULL) == SM_OK &&
           sm_voids_lean_out(&voids);
}

struct example example_draw(struct sm_arena *arena, const struct example *base, double spread,
                            uint64_t *state, struct sm_geometry *g)
{
    enum { TRIES = 2000 };
    struct sm_error err = {0};
    for (int i = 0; i < TRIES; i++) {
        struct example e = change(arena, base, &(struct change){spread, state, 1.0, 1.0});
        e.common.burning = (unsigned)draw_bits(state) & base->shape->faces;
        if (leans_out(arena, &e))
            continue;
        const enum sm_status status = sm_shape_geometry(base->shape, arena, &e.common, e.params, g, &err);
        if (status == SM_OK)
            return e;
        cr_assert(status == SM_E_GEOMETRY || status == SM_E_RANGE, "%s: %s", base->shape->name, err.message);
    }
    cr_assert_fail("%s: no valid grain near the example in %d draws; last: %s", base->shape->name, TRIES,
                   err.message);
    return *base;
}

void example_hold(const struct sm_shape *shape, uint64_t seed, example_law *check)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    uint64_t state = seed;
    struct example e = example_read(&arena, shape);
    struct sm_geometry g;
    struct sm_error err = {0};
    if (seed > 0)
        e = example_draw(&arena, &e, 0.25, &state, &g);
    else
        cr_assert_eq(sm_shape_geometry(shape, &arena, &e.common, e.params, &g, &err), SM_OK, "%s: %s",
                     shape->name, err.message);
    check(&arena, &e, &g, seed);
    sm_arena_release(&arena);
}

void example_unfold(struct sm_arena *arena, const struct sm_section *half, struct sm_section *whole)
{
    *whole = *half;
    sm_contour_init(&whole->contour, arena);
    whole->sectors = 0;
    if (half->sectors > 0)
        sm_contour_unfold(half->contour.edges, half->contour.n_edges, half->sectors, &whole->contour);
    else
        for (size_t i = 0; i < half->contour.n_edges; i++)
            sm_contour_add_loose(&whole->contour, &half->contour.edges[i]);
    cr_assert_eq(sm_contour_stitch(&whole->contour, 1e-9 * half->radius, NULL), SM_OK);
}
