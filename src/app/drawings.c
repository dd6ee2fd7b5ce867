/* Grain sections to scale, with the burning front at equal times. */
#include "base/text.h"
#include "grain/edges.h"
#include "motor/motor.h"
#include "report/drawing.h"
#include "slowmatch/grain.h"

#include <math.h>

enum { FRONTS = 8, FRONT_COLOUR = 2 };

/* The distances burned at which fronts are drawn. */
struct instants {
    double w[FRONTS]; /* [m] */
    size_t n;
};

struct sketch {
    struct sm_arena *arena;
    struct sm_error *err;
    struct sm_draw_part *parts; /* outline, then a part a front */
    size_t n;
};

/* ---- from edges to paths ---- */

/* Appends an edge's move and line or arc; a mirrored one has its y turned over. */
static void put_edge(const struct sm_edge *e, double sign, struct sm_draw_step *steps)
{
    steps[0] = (struct sm_draw_step){.op = SM_DRAW_MOVE, .x = e->a.x, .y = sign * e->a.y};
    steps[1] = (struct sm_draw_step){
        .op = e->turn == 0 ? SM_DRAW_LINE : SM_DRAW_ARC,
        .x = e->b.x,
        .y = sign * e->b.y,
        .cx = e->centre.x,
        .cy = sign * e->centre.y,
        .clockwise = (e->turn < 0) != (sign < 0.0),
    };
}

/* All edges as one path of separate pieces, and again mirrored at the x axis if wanted. */
static enum sm_status path_of_edges(struct sketch *s, const struct sm_contour *c, bool mirrored,
                                    struct sm_draw_path *path)
{
    const size_t copies = mirrored ? 2 : 1;
    struct sm_draw_step *steps = sm_arena_alloc(s->arena, 2 * copies * c->n_edges, sizeof *steps);
    if (!steps)
        return sm_fail(s->err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < c->n_edges; i++) {
        put_edge(&c->edges[i], 1.0, &steps[2 * i]);
        if (mirrored)
            put_edge(&c->edges[i], -1.0, &steps[2 * (c->n_edges + i)]);
    }
    *path = (struct sm_draw_path){.steps = steps, .n = 2 * copies * c->n_edges};
    return SM_OK;
}

/* Stitched chains as one closed path, for filling. */
static enum sm_status path_of_chains(struct sketch *s, const struct sm_contour *c, struct sm_draw_path *path)
{
    struct sm_draw_step *steps = sm_arena_alloc(s->arena, c->n_edges + c->n_chains, sizeof *steps);
    size_t n = 0;
    if (!steps)
        return sm_fail(s->err, SM_E_NOMEM, "out of memory");
    for (size_t k = 0; k < c->n_chains; k++)
        for (size_t i = 0; i < c->chains[k].n; i++) {
            struct sm_draw_step both[2];
            put_edge(&c->edges[c->chains[k].first + i], 1.0, both);
            if (i == 0)
                steps[n++] = both[0];
            steps[n++] = both[1];
        }
    *path = (struct sm_draw_path){.steps = steps, .n = n, .closed = true};
    return SM_OK;
}

static enum sm_status put_part(struct sketch *s, const struct sm_draw_path *path, struct sm_draw_part part)
{
    struct sm_draw_path *kept = sm_arena_alloc(s->arena, 1, sizeof *kept);
    if (!kept)
        return sm_fail(s->err, SM_E_NOMEM, "out of memory");
    *kept = *path;
    part.paths = kept;
    part.n_paths = 1;
    if (path->n > 0)
        s->parts[s->n++] = part;
    return SM_OK;
}

/* ---- one grain ---- */

static const struct sm_draw_part outline_part = {.fill = SM_FILL_PROPELLANT, .width = 2.5};

static struct sm_draw_part front_part(size_t i, size_t n)
{
    return (struct sm_draw_part){.colour = FRONT_COLOUR,
                                 .width = 1.8,
                                 .fade = n > 1 ? 0.55 * (double)(n - 1 - i) / (double)(n - 1) : 0.0};
}

static enum sm_status draw_section(struct sketch *s, const struct sm_grain_entry *entry,
                                   const struct instants *at)
{
    struct sm_section section;
    struct sm_burning_section burning;
    struct sm_contour outline;
    struct sm_draw_path path;
    SM_TRY(sm_shape_section(entry->shape, s->arena, &entry->common, entry->params, &section, s->err));
    SM_TRY(sm_section_burn(s->arena, &section, &burning, s->err));
    SM_TRY(sm_section_outline(s->arena, &burning, 0.0, true, &outline, s->err));
    SM_TRY(path_of_chains(s, &outline, &path));
    SM_TRY(put_part(s, &path, outline_part));
    for (size_t i = 0; i < at->n; i++) {
        SM_TRY(sm_section_outline(s->arena, &burning, at->w[i], false, &outline, s->err));
        SM_TRY(path_of_edges(s, &outline, false, &path));
        SM_TRY(put_part(s, &path, front_part(i, at->n)));
    }
    return SM_OK;
}

static enum sm_status draw_meridian(struct sketch *s, const struct sm_grain_entry *entry,
                                    const struct instants *at)
{
    struct sm_meridian meridian;
    struct sm_burning_meridian burning;
    struct sm_draw_path path;
    const double least = 1e-9 * entry->common.outer_diameter; /* what is shorter can't be seen [m] */
    SM_TRY(sm_shape_meridian(entry->shape, s->arena, &entry->common, entry->params, &meridian, s->err));
    SM_TRY(sm_meridian_burn(s->arena, &meridian, &burning, s->err));
    for (size_t i = 0; i <= at->n; i++) {
        struct sm_contour edges;
        sm_contour_init(&edges, s->arena);
        SM_TRY(sm_fronts_edges(&burning.fronts, &burning.stages, i == 0 ? 0.0 : at->w[i - 1], i == 0, least,
                               &edges, s->err));
        SM_TRY(path_of_edges(s, &edges, true, &path));
        const struct sm_draw_part whole = {.width = 2.5};
        SM_TRY(put_part(s, &path, i == 0 ? whole : front_part(i - 1, at->n)));
    }
    return SM_OK;
}

/* Sections where the shape has one and its ends are no more than ends; else from the side. */
static enum sm_status draw_grain(struct sketch *s, const struct sm_grain_entry *entry,
                                 const struct instants *at)
{
    s->parts = sm_arena_alloc(s->arena, at->n + 1, sizeof *s->parts);
    if (!s->parts)
        return sm_fail(s->err, SM_E_NOMEM, "out of memory");
    return entry->shape->section ? draw_section(s, entry, at) : draw_meridian(s, entry, at);
}

/* ---- instants ---- */

/* Distance burned at time t, straight between rows. */
static double web_at(const struct sm_series *series, double t)
{
    return sm_curve_at(series->time, series->web, series->n, t);
}

/* Equal times over the burn of the grain at hand. *step is the time between fronts [s]. */
static void equal_times(const struct sm_result *result, double web, struct instants *at, double *step)
{
    const struct sm_series *series = &result->series;
    double end = series->time[series->n - 1];
    for (size_t i = 0; i < series->n; i++)
        if (series->web[i] >= web * (1.0 - 1e-12)) {
            end = series->time[i];
            break;
        }
    *step = end / (FRONTS + 1);
    at->n = 0;
    for (int k = 1; k <= FRONTS; k++)
        at->w[at->n++] = web_at(series, k * *step);
}

static void equal_steps(double web, struct instants *at)
{
    at->n = FRONTS;
    for (int k = 0; k < FRONTS; k++)
        at->w[k] = web * (k + 1) / (FRONTS + 1);
}

static enum sm_status make_views(const struct sm_motor *motor, const struct sm_result *result,
                                 struct sm_arena *arena, struct sm_draw_view *views, struct sm_error *err)
{
    enum { TITLE = 160 };
    for (size_t i = 0; i < motor->spec.n_grains; i++) {
        const struct sm_grain_entry *entry = &motor->spec.grains[i];
        struct sketch sketch = {.arena = arena, .err = err};
        struct instants at;
        double step = 0.0;
        char *title = sm_arena_alloc(arena, TITLE, 1);
        if (!title)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        if (result)
            equal_times(result, motor->geometry[i].web, &at, &step);
        else
            equal_steps(motor->geometry[i].web, &at);
        if (result)
            sm_text_format(title, TITLE, "%zu: %s, every %.3g s", i + 1, entry->shape->name, step);
        else
            sm_text_format(title, TITLE, "%zu: %s, every %.3g mm", i + 1, entry->shape->name,
                           1e3 * motor->geometry[i].web / (FRONTS + 1));
        SM_TRY(draw_grain(&sketch, entry, &at));
        views[i] = (struct sm_draw_view){.title = title, .parts = sketch.parts, .n_parts = sketch.n};
    }
    return SM_OK;
}

enum sm_status sm_draw_grains(const struct sm_motor *motor, const struct sm_result *result,
                              enum sm_picture_kind kind, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_arena arena;
    if (motor->spec.is_curve)
        return sm_fail(err, SM_E_FIELD, "this motor is given by its bare curve and has no grain to draw");
    sm_arena_init(&arena, NULL);
    struct sm_draw_view *views = sm_arena_alloc(&arena, motor->spec.n_grains, sizeof *views);
    enum sm_status status = views ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK)
        status = make_views(motor, result, &arena, views, err);
    const struct sm_drawing drawing = {
        .title = motor->spec.name,
        .subtitle = "the burning surface as it moves; later fronts are darker",
        .note = "To scale. Not a drawing for manufacture.",
        .views = views,
        .n_views = motor->spec.n_grains,
    };
    if (status == SM_OK)
        status = sm_drawing_write(&drawing,
                                  kind == SM_PICTURE_PNG   ? SM_PLOT_PNG
                                  : kind == SM_PICTURE_PDF ? SM_PLOT_PDF
                                                           : SM_PLOT_SVG,
                                  sink, err);
    sm_arena_release(&arena);
    return status;
}
