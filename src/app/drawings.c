/* Grain sections to scale, with the burning front at equal times. */
#include "app/pictures.h"
#include "base/text.h"
#include "grain/edges.h"
#include "grain/sheet.h"
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

static bool meet(struct sm_point a, struct sm_point b, double slack)
{
    return hypot(a.x - b.x, a.y - b.y) <= slack;
}

/* Heights over the axis, from the outside in, at which an edge ends on the flat end at x with no other joined to it.
 * Returned: how many, at most `most`. */
static size_t loose_ends(const struct sm_contour *c, double x, double slack, double *y, size_t most)
{
    size_t n = 0;
    for (size_t i = 0; i < 2 * c->n_edges && n < most; i++) {
        const struct sm_point at = i % 2 ? c->edges[i / 2].b : c->edges[i / 2].a;
        bool is_joined = fabs(at.x - x) > slack || at.y <= slack;
        for (size_t j = 0; j < c->n_edges && !is_joined; j++)
            is_joined = j != i / 2 && (meet(at, c->edges[j].a, slack) || meet(at, c->edges[j].b, slack));
        if (is_joined)
            continue;
        size_t k = n++;
        for (; k > 0 && y[k - 1] < at.y; k--)
            y[k] = y[k - 1];
        y[k] = at.y;
    }
    return n;
}

/* Adds the parts of a flat end that don't burn, which are no walls to the burning surface: between loose ends by pairs,
 * the innermost to the axis if it is left over. */
static void close_end(struct sm_contour *c, double x, double slack)
{
    enum { MOST = 16 };
    double y[MOST];
    const size_t n = loose_ends(c, x, slack, y, MOST);
    for (size_t i = 0; i < n; i += 2)
        sm_contour_add_loose(c, &(struct sm_edge){.a = {x, y[i]}, .b = {x, i + 1 < n ? y[i + 1] : 0.0}});
}

static void turn_round(struct sm_edge *e)
{
    const struct sm_point a = e->a;
    e->a = e->b;
    e->b = a;
    e->turn = -e->turn;
}

/* Of the edges from i on, the one to walk next: what meets the last; else *is_start, and one that touches the axis, if any. */
static size_t next_edge(const struct sm_contour *c, size_t i, double slack, bool *is_start)
{
    *is_start = false;
    for (size_t j = i; j < c->n_edges && i > 0; j++)
        if (meet(c->edges[j].a, c->edges[i - 1].b, slack) || meet(c->edges[j].b, c->edges[i - 1].b, slack))
            return j;
    *is_start = true;
    for (size_t j = i; j < c->n_edges; j++)
        if (fmin(c->edges[j].a.y, c->edges[j].b.y) <= slack)
            return j;
    return i;
}

/* Puts loose edges one behind the other, turned round where needed: walls may be walked either way. Each gap starts a
 * new chain. */
static enum sm_status order_edges(struct sketch *s, struct sm_contour *c, double slack)
{
    c->chains = sm_arena_alloc(s->arena, c->n_edges, sizeof *c->chains);
    if (!c->chains)
        return sm_fail(s->err, SM_E_NOMEM, "out of memory");
    c->n_chains = 0;
    for (size_t i = 0; i < c->n_edges; i++) {
        bool is_start;
        const size_t next = next_edge(c, i, slack, &is_start);
        const struct sm_edge edge = c->edges[next];
        c->edges[next] = c->edges[i];
        c->edges[i] = edge;
        if (is_start ? edge.b.y <= slack : !meet(edge.a, c->edges[i - 1].b, slack))
            turn_round(&c->edges[i]);
        if (is_start)
            c->chains[c->n_chains++] = (struct sm_chain){.first = i};
        c->chains[c->n_chains - 1].n++;
    }
    return SM_OK;
}

/* A copy of a path's steps turned over at the axis. */
static enum sm_status mirror(struct sketch *s, const struct sm_draw_path *path, struct sm_draw_path *out)
{
    struct sm_draw_step *steps = sm_arena_alloc(s->arena, path->n, sizeof *steps);
    if (!steps)
        return sm_fail(s->err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < path->n; i++) {
        steps[i] = path->steps[i];
        steps[i].y = -steps[i].y;
        steps[i].cy = -steps[i].cy;
        steps[i].clockwise = !steps[i].clockwise;
    }
    *out = (struct sm_draw_path){.steps = steps, .n = path->n, .closed = path->closed};
    return SM_OK;
}

/* The grain from the side before it burns: both halves filled, then their outlines without the axis. */
static enum sm_status draw_whole(struct sketch *s, const struct sm_burning_meridian *burning, double length,
                                 double least)
{
    static const struct sm_draw_part fill = {.fill = SM_FILL_PROPELLANT, .no_outline = true};
    static const struct sm_draw_part outline = {.width = 2.5};
    const double slack = 1e-6 * length;
    struct sm_contour edges;
    struct sm_draw_path path, half, below;
    sm_contour_init(&edges, s->arena);
    SM_TRY(sm_fronts_edges(&burning->fronts, &burning->stages, 0.0, true, least, &edges, s->err));
    close_end(&edges, 0.0, slack);
    close_end(&edges, length, slack);
    SM_TRY(path_of_edges(s, &edges, true, &path));
    SM_TRY(order_edges(s, &edges, slack));
    SM_TRY(path_of_chains(s, &edges, &half));
    SM_TRY(mirror(s, &half, &below));
    SM_TRY(put_part(s, &half, fill));
    SM_TRY(put_part(s, &below, fill));
    return put_part(s, &path, outline);
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
    SM_TRY(draw_whole(s, &burning, entry->common.length, least));
    for (size_t i = 0; i < at->n; i++) {
        struct sm_contour edges;
        sm_contour_init(&edges, s->arena);
        SM_TRY(sm_fronts_edges(&burning.fronts, &burning.stages, at->w[i], false, least, &edges, s->err));
        SM_TRY(path_of_edges(s, &edges, true, &path));
        SM_TRY(put_part(s, &path, front_part(i, at->n)));
    }
    return SM_OK;
}

/* A port of solids, cut along the axis. */
static enum sm_status draw_voids(struct sketch *s, const struct sm_grain_entry *entry,
                                 const struct instants *at)
{
    enum { SQUARES = 100 }; /* to the grain's radius: half a pixel or so */
    struct sm_voids voids;
    struct sm_patcher patcher;
    struct sm_sheet sheet;
    struct sm_contour edges;
    struct sm_draw_path path;
    SM_TRY(sm_shape_voids(entry->shape, s->arena, &entry->common, entry->params, &voids, s->err));
    SM_TRY(sm_patcher_init(s->arena, &voids, &patcher, s->err));
    SM_TRY(sm_sheet_along(s->arena, &patcher, SQUARES, &sheet, s->err));
    for (size_t i = 0; i <= at->n; i++) {
        sm_contour_init(&edges, s->arena);
        sm_sheet_edges(&sheet, i == 0 ? 0.0 : at->w[i - 1], i == 0, &edges);
        SM_TRY(sm_contour_check_memory(&edges, s->err));
        if (i == 0) {
            SM_TRY(sm_contour_stitch(&edges, 1e-9 * voids.radius, s->err));
            SM_TRY(path_of_chains(s, &edges, &path));
            SM_TRY(put_part(s, &path, outline_part));
        } else {
            SM_TRY(path_of_edges(s, &edges, false, &path));
            SM_TRY(put_part(s, &path, front_part(i - 1, at->n)));
        }
    }
    return SM_OK;
}

/* Sections where the shape has one and its ends are no more than ends; else from the side. */
static enum sm_status draw_grain(struct sketch *s, const struct sm_grain_entry *entry,
                                 const struct instants *at)
{
    enum { WHOLE = 3 }; /* parts of the grain before it burns, at most */
    s->parts = sm_arena_alloc(s->arena, at->n + WHOLE, sizeof *s->parts);
    if (!s->parts)
        return sm_fail(s->err, SM_E_NOMEM, "out of memory");
    if (entry->shape->voids)
        return draw_voids(s, entry, at);
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
        status = sm_drawing_write(&drawing, sm_picture_plot_kind(kind), sink, err);
    sm_arena_release(&arena);
    return status;
}
