#include "app/sketch.h"
#include "grain/edges.h"
#include "grain/facets.h"
#include "grain/geodesic.h"
#include "grain/meshport.h"
#include "grain/sheet.h"

#include <math.h>

/* The distances burned at which fronts are drawn; where all of the web is burned there is nothing to draw. */
struct instants {
    const double *w; /* [m] */
    size_t n;
    double web; /* [m] */
};

static bool is_gone(const struct instants *at, size_t i)
{
    return at->w[i] >= at->web * (1.0 - 1e-9);
}

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
static enum sm_status path_of_edges(struct sm_sketch *s, const struct sm_contour *c, bool mirrored,
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
static enum sm_status path_of_chains(struct sm_sketch *s, const struct sm_contour *c,
                                     struct sm_draw_path *path)
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

static enum sm_status put_part(struct sm_sketch *s, const struct sm_draw_path *path, struct sm_draw_part part)
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
    return (struct sm_draw_part){.colour = SM_SKETCH_FRONT_COLOUR,
                                 .width = 1.8,
                                 .fade = n > 1 ? 0.55 * (double)(n - 1 - i) / (double)(n - 1) : 0.0};
}

static enum sm_status put_front(struct sm_sketch *s, const struct sm_draw_path *path, size_t i, size_t n)
{
    s->fronts[i] = *path;
    return put_part(s, path, front_part(i, n));
}

static enum sm_status draw_section(struct sm_sketch *s, const struct sm_grain_entry *entry,
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
    s->n_whole = s->n;
    for (size_t i = 0; i < at->n; i++) {
        if (is_gone(at, i))
            continue;
        SM_TRY(sm_section_outline(s->arena, &burning, at->w[i], false, &outline, s->err));
        SM_TRY(path_of_edges(s, &outline, false, &path));
        SM_TRY(put_front(s, &path, i, at->n));
        if (!s->wants_left)
            continue;
        SM_TRY(sm_section_outline(s->arena, &burning, at->w[i], true, &outline, s->err));
        SM_TRY(path_of_chains(s, &outline, &s->left[i]));
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
static enum sm_status order_edges(struct sm_sketch *s, struct sm_contour *c, double slack)
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
static enum sm_status mirror(struct sm_sketch *s, const struct sm_draw_path *path, struct sm_draw_path *out)
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

/* Both halves of the grain from the side at distance burned w as two closed pieces, and its outline without the axis. */
static enum sm_status side_of(struct sm_sketch *s, const struct sm_burning_meridian *burning, double length,
                              double w, double least, struct sm_draw_path halves[2],
                              struct sm_draw_path *outline)
{
    const double slack = 1e-6 * length;
    struct sm_contour edges;
    sm_contour_init(&edges, s->arena);
    SM_TRY(sm_fronts_edges(&burning->fronts, &burning->stages, w, true, least, &edges, s->err));
    close_end(&edges, 0.0, slack);
    close_end(&edges, length, slack);
    SM_TRY(path_of_edges(s, &edges, true, outline));
    SM_TRY(order_edges(s, &edges, slack));
    SM_TRY(path_of_chains(s, &edges, &halves[0]));
    return mirror(s, &halves[0], &halves[1]);
}

/* Lets a half reach a hair over the axis, lest the paper shine through between two halves that only touch there. */
static enum sm_status reach_over(struct sm_sketch *s, struct sm_draw_path *half, int side)
{
    const double hair = 5e-3, on_axis = 1e-6; /* of the radius: a pixel of a large picture [1] */
    struct sm_draw_step *steps = sm_arena_alloc(s->arena, half->n, sizeof *steps);
    double radius = 0.0;
    if (!steps)
        return sm_fail(s->err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < half->n; i++)
        radius = fmax(radius, fabs(half->steps[i].y));
    for (size_t i = 0; i < half->n; i++) {
        steps[i] = half->steps[i];
        if (fabs(steps[i].y) <= on_axis * radius)
            steps[i].y = -side * hair * radius;
    }
    half->steps = steps;
    return SM_OK;
}

/* The grain before it burns: both halves filled, then their outlines without the axis. */
static enum sm_status draw_whole(struct sm_sketch *s, const struct sm_burning_meridian *burning,
                                 double length, double least)
{
    static const struct sm_draw_part fill = {.fill = SM_FILL_PROPELLANT, .no_outline = true};
    static const struct sm_draw_part outline = {.width = 2.5};
    struct sm_draw_path halves[2], path;
    SM_TRY(side_of(s, burning, length, 0.0, least, halves, &path));
    SM_TRY(reach_over(s, &halves[0], 1));
    SM_TRY(reach_over(s, &halves[1], -1));
    SM_TRY(put_part(s, &halves[0], fill));
    SM_TRY(put_part(s, &halves[1], fill));
    return put_part(s, &path, outline);
}

static enum sm_status join_paths(struct sm_sketch *s, const struct sm_draw_path pair[2],
                                 struct sm_draw_path *out)
{
    struct sm_draw_step *steps = sm_arena_alloc(s->arena, pair[0].n + pair[1].n, sizeof *steps);
    if (!steps)
        return sm_fail(s->err, SM_E_NOMEM, "out of memory");
    for (size_t k = 0; k < 2; k++)
        for (size_t i = 0; i < pair[k].n; i++)
            steps[k * pair[0].n + i] = pair[k].steps[i];
    *out = (struct sm_draw_path){.steps = steps, .n = pair[0].n + pair[1].n, .closed = true};
    return SM_OK;
}

/* What is left of a port of solids at w, its rim too. */
static enum sm_status path_of_sheet(struct sm_sketch *s, const struct sm_sheet *sheet, double w,
                                    double radius, struct sm_draw_path *path)
{
    struct sm_contour edges;
    sm_contour_init(&edges, s->arena);
    sm_sheet_edges(sheet, w, true, &edges);
    SM_TRY(sm_contour_check_memory(&edges, s->err));
    SM_TRY(sm_contour_stitch(&edges, 1e-9 * radius, s->err));
    return path_of_chains(s, &edges, path);
}

enum { SQUARES = 100 }; /* to the grain's radius: half a pixel or so */
enum {
    SHARP = 4
}; /* times as many for the outline of the whole grain, whose corners are then cut by no more */

/* A port cut along the axis by a net, the grain before it burns by one that may be finer. */
static enum sm_status draw_sheet(struct sm_sketch *s, const struct sm_sheet *whole,
                                 const struct sm_sheet *sheet, double radius, const struct instants *at)
{
    struct sm_contour edges;
    struct sm_draw_path path;
    SM_TRY(path_of_sheet(s, whole, 0.0, radius, &path));
    SM_TRY(put_part(s, &path, outline_part));
    s->n_whole = s->n;
    for (size_t i = 0; i < at->n; i++) {
        if (is_gone(at, i))
            continue;
        sm_contour_init(&edges, s->arena);
        sm_sheet_edges(sheet, at->w[i], false, &edges);
        SM_TRY(sm_contour_check_memory(&edges, s->err));
        SM_TRY(path_of_edges(s, &edges, false, &path));
        SM_TRY(put_front(s, &path, i, at->n));
        if (s->wants_left)
            SM_TRY(path_of_sheet(s, sheet, at->w[i], radius, &s->left[i]));
    }
    return SM_OK;
}

/* A body of revolution whose fronts go round edges. */
static enum sm_status draw_bent(struct sm_sketch *s, const struct sm_meridian *meridian,
                                const struct instants *at)
{
    struct sm_geodesic_drawing drawing;
    struct sm_draw_path path;
    SM_TRY(sm_geodesic_draw(s->arena, meridian, s->squares > 0 ? s->squares : SQUARES, at->w, at->n, &drawing,
                            s->err));
    SM_TRY(path_of_sheet(s, &drawing.grain, 0.0, meridian->radius, &path));
    SM_TRY(put_part(s, &path, outline_part));
    s->n_whole = s->n;
    for (size_t i = 0; i < at->n; i++) {
        if (is_gone(at, i))
            continue;
        SM_TRY(path_of_edges(s, &drawing.fronts[i], true, &path));
        SM_TRY(put_front(s, &path, i, at->n));
        if (s->wants_left)
            SM_TRY(path_of_sheet(s, &drawing.ways, at->w[i], meridian->radius, &s->left[i]));
    }
    return SM_OK;
}

static enum sm_status draw_meridian(struct sm_sketch *s, const struct sm_grain_entry *entry,
                                    const struct instants *at)
{
    struct sm_meridian meridian;
    struct sm_burning_meridian burning;
    struct sm_draw_path path, halves[2], outline;
    const double least = 1e-9 * entry->common.outer_diameter; /* what is shorter can't be seen [m] */
    SM_TRY(sm_shape_meridian(entry->shape, s->arena, &entry->common, entry->params, &meridian, s->err));
    if (sm_meridian_bends(&meridian))
        return draw_bent(s, &meridian, at);
    SM_TRY(sm_meridian_burn(s->arena, &meridian, &burning, s->err));
    SM_TRY(draw_whole(s, &burning, entry->common.length, least));
    s->n_whole = s->n;
    for (size_t i = 0; i < at->n; i++) {
        struct sm_contour edges;
        if (is_gone(at, i))
            continue;
        sm_contour_init(&edges, s->arena);
        SM_TRY(sm_fronts_edges(&burning.fronts, &burning.stages, at->w[i], false, least, &edges, s->err));
        SM_TRY(path_of_edges(s, &edges, true, &path));
        SM_TRY(put_front(s, &path, i, at->n));
        if (!s->wants_left)
            continue;
        SM_TRY(side_of(s, &burning, entry->common.length, at->w[i], least, halves, &outline));
        SM_TRY(join_paths(s, halves, &s->left[i]));
    }
    return SM_OK;
}

static enum sm_status draw_mesh(struct sm_sketch *s, const struct sm_grain_common *common,
                                const struct sm_meshport *port, const struct instants *at)
{
    const double radius = 0.5 * common->outer_diameter;
    struct sm_sheet sheet;
    SM_TRY(sm_meshport_sheet(s->arena, port, radius, common->length, common->burning,
                             s->squares > 0 ? s->squares : SQUARES, &sheet, s->err));
    return draw_sheet(s, &sheet, &sheet, radius, at);
}

static enum sm_status draw_voids(struct sm_sketch *s, const struct sm_grain_entry *entry,
                                 const struct instants *at)
{
    struct sm_voids voids;
    struct sm_patcher patcher;
    struct sm_sheet sheet, whole;
    struct sm_meshport port;
    const int n = s->squares > 0 ? s->squares : SQUARES;
    SM_TRY(sm_shape_voids(entry->shape, s->arena, &entry->common, entry->params, &voids, s->err));
    if (sm_voids_lean_out(&voids)) {
        SM_TRY(sm_voids_facets(s->arena, &voids, &port, s->err));
        return draw_mesh(s, &entry->common, &port, at);
    }
    SM_TRY(sm_patcher_init(s->arena, &voids, &patcher, s->err));
    SM_TRY(sm_sheet_along(s->arena, &patcher, n, &sheet, s->err));
    SM_TRY(sm_sheet_along(s->arena, &patcher, s->squares > 0 ? n : SHARP * n, &whole, s->err));
    return draw_sheet(s, &whole, &sheet, voids.radius, at);
}

bool sm_sketch_is_across(const struct sm_shape *shape)
{
    return shape->section;
}

/* Makes room for what comes out. */
static enum sm_status begin(struct sm_sketch *s, size_t n)
{
    enum { WHOLE = 3 }; /* parts of the grain before it burns, at most */
    s->n = 0;
    s->parts = sm_arena_alloc(s->arena, n + WHOLE, sizeof *s->parts);
    s->fronts = sm_arena_alloc(s->arena, n, sizeof *s->fronts);
    s->left = sm_arena_alloc(s->arena, n, sizeof *s->left);
    if (!s->parts || !s->fronts || !s->left)
        return sm_fail(s->err, SM_E_NOMEM, "out of memory");
    return SM_OK;
}

enum sm_status sm_sketch_grain(struct sm_sketch *s, const struct sm_grain_entry *entry, double web,
                               const double *w, size_t n)
{
    const struct instants at = {.w = w, .n = n, .web = web};
    SM_TRY(begin(s, n));
    if (entry->shape->section)
        return draw_section(s, entry, &at);
    if (entry->shape->voids)
        return draw_voids(s, entry, &at);
    if (entry->shape->is_meshed)
        return draw_mesh(s, &entry->common, entry->params, &at);
    return draw_meridian(s, entry, &at);
}

enum sm_status sm_sketch_along(struct sm_sketch *s, const struct sm_grain_entry *entry, double web,
                               const double *w, size_t n)
{
    const struct instants at = {.w = w, .n = n, .web = web};
    struct sm_spliced spliced;
    struct sm_sheet sheet;
    SM_TRY(begin(s, n));
    if (entry->shape->voids)
        return draw_voids(s, entry, &at);
    SM_TRY(sm_shape_spliced(entry->shape, s->arena, &entry->common, entry->params, &spliced, s->err));
    SM_TRY(sm_spliced_sheet(s->arena, &spliced, s->squares > 0 ? s->squares : SQUARES, &sheet, s->err));
    return draw_sheet(s, &sheet, &sheet, spliced.radius, &at);
}

/* ---- instants ---- */

double sm_sketch_web_at(const struct sm_result *result, double t)
{
    const struct sm_series *series = &result->series;
    return sm_curve_at(series->time, series->web, series->n, t);
}

double sm_sketch_end(const struct sm_result *result, double web)
{
    const struct sm_series *series = &result->series;
    for (size_t i = 0; i < series->n; i++)
        if (series->web[i] >= web * (1.0 - 1e-12))
            return series->time[i];
    return series->time[series->n - 1];
}
