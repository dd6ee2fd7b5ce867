#include "grain/turned.h"

#include <math.h>

#include "grain/figure.h"

/* ---- making one ---- */

static enum sm_status fill_edges(struct sm_arena *arena, struct sm_turned *t, struct sm_error *err)
{
    const struct sm_contour *c = &t->profile;
    t->edges = sm_arena_alloc(arena, 2 * c->n_edges, sizeof *t->edges);
    if (!t->edges)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    t->low = SM_INF;
    t->high = -SM_INF;
    for (size_t i = 0; i < c->n_edges; i++) {
        const struct sm_edge *e = &c->edges[i];
        const int parts = sm_edge_sweep(e) > 0.5 * M_PI ? 2 : 1; /* so that a chord has one side of its arc */
        for (int k = 0; k < parts; k++) {
            struct sm_turned_edge *out = &t->edges[t->n_edges++];
            *out = (struct sm_turned_edge){.a = k > 0 ? out[-1].b : e->a,
                                           .b = k + 1 < parts ? sm_edge_point(e, 0.5) : e->b,
                                           .is_arc = e->turn != 0,
                                           .centre = e->centre,
                                           .radius = e->radius};
            const struct sm_point d = sm_point_minus(out->b, out->a);
            out->length = sqrt(sm_point_dot(d, d));
            out->u = (struct sm_point){d.x / out->length, d.y / out->length};
        }
    }
    t->high = sm_turned_extent(t, 1.0, 0.0);
    t->low = -sm_turned_extent(t, -1.0, 0.0);
    t->radius = sm_turned_extent(t, 0.0, 1.0);
    return SM_OK;
}

/* Walls so far off that no front asked for comes to them; only the axis cuts. */
static enum sm_status find_stages(struct sm_arena *arena, double reach, struct sm_turned *t,
                                  struct sm_error *err)
{
    const double margin = 1.1 * reach, fore = t->low - margin, aft = t->high + margin,
                 top = t->radius + margin;
    const struct sm_front walls[] = {
        sm_wall_line((struct sm_point){fore, 0.0}, (struct sm_point){1.0, 0.0}),
        sm_wall_line((struct sm_point){aft, 0.0}, (struct sm_point){0.0, 1.0}),
        sm_wall_line((struct sm_point){aft, top}, (struct sm_point){-1.0, 0.0}),
        sm_wall_line((struct sm_point){fore, top}, (struct sm_point){0.0, -1.0}),
    };
    const struct sm_figure figure = {
        .contour = &t->profile, .walls = walls, .n_walls = SM_COUNT(walls), .size = fmax(aft - fore, top)};
    SM_TRY(sm_figure_fronts(arena, &figure, &t->fronts, err));
    return sm_stages_find(arena, &t->fronts, &t->stages, err);
}

enum sm_status sm_turned_make(struct sm_arena *arena, const struct sm_contour *profile, double reach,
                              struct sm_turned *out, struct sm_error *err)
{
    *out = (struct sm_turned){.profile = *profile};
    SM_TRY(sm_contour_check_memory(profile, err));
    SM_TRY(fill_edges(arena, out, err));
    return find_stages(arena, reach, out, err);
}

/* ---- distances ---- */

/* Does the direction d from an arc's middle lie between those to its ends? It is less than half a turn. */
static bool is_beside_arc(const struct sm_turned_edge *e, struct sm_point d)
{
    return sm_point_cross(sm_point_minus(e->a, e->centre), d) > 0.0 &&
           sm_point_cross(d, sm_point_minus(e->b, e->centre)) > 0.0;
}

static double square(struct sm_point d)
{
    return sm_point_dot(d, d);
}

static struct sm_point nearest_on(const struct sm_turned_edge *e, struct sm_point p)
{
    if (e->is_arc) {
        const struct sm_point d = sm_point_minus(p, e->centre);
        if (is_beside_arc(e, d))
            return sm_point_along(e->centre, e->radius / sqrt(square(d)), d);
        return square(sm_point_minus(p, e->a)) < square(sm_point_minus(p, e->b)) ? e->a : e->b;
    }
    const double t = sm_point_dot(sm_point_minus(p, e->a), e->u);
    return t <= 0.0 ? e->a : t >= e->length ? e->b : sm_point_along(e->a, t, e->u);
}

/* Is p between an arc and its chord? */
static bool is_in_cap(const struct sm_turned_edge *e, struct sm_point p)
{
    return e->is_arc && sm_point_cross(e->u, sm_point_minus(p, e->a)) <= 0.0 &&
           square(sm_point_minus(p, e->centre)) < e->radius * e->radius;
}

/* Does a ray from p away from the axis cross the straight line between the edge's ends? */
static bool is_below(const struct sm_turned_edge *e, struct sm_point p)
{
    if ((e->a.x > p.x) == (e->b.x > p.x))
        return false;
    const double side = sm_point_cross(e->u, sm_point_minus(p, e->a));
    return e->u.x > 0.0 ? side < 0.0 : side > 0.0;
}

double sm_turned_distance(const struct sm_turned *t, struct sm_point p)
{
    double least = SM_INF;
    bool is_inside = false, is_capped = false;
    for (size_t i = 0; i < t->n_edges; i++) {
        const struct sm_turned_edge *e = &t->edges[i];
        const double d = square(sm_point_minus(p, nearest_on(e, p)));
        least = d < least ? d : least;
        is_inside ^= is_below(e, p);
        is_capped |= is_in_cap(e, p);
    }
    return is_inside || is_capped ? -sqrt(least) : sqrt(least);
}

struct sm_point sm_turned_nearest(const struct sm_turned *t, struct sm_point p)
{
    struct sm_point nearest = t->edges[0].a;
    for (size_t i = 0; i < t->n_edges; i++) {
        const struct sm_point q = nearest_on(&t->edges[i], p);
        if (square(sm_point_minus(p, q)) < square(sm_point_minus(p, nearest)))
            nearest = q;
    }
    return nearest;
}

double sm_turned_extent(const struct sm_turned *t, double along, double across)
{
    const struct sm_point way = {along, across};
    double most = -SM_INF;
    for (size_t i = 0; i < t->n_edges; i++) {
        const struct sm_turned_edge *e = &t->edges[i];
        most = fmax(most, fmax(sm_point_dot(e->a, way), sm_point_dot(e->b, way)));
        if (e->is_arc && is_beside_arc(e, way))
            most = fmax(most, sm_point_dot(e->centre, way) + e->radius);
    }
    return most;
}

bool sm_turned_widens(const struct sm_turned *t, double z, int end)
{
    for (size_t i = 0; i < t->n_edges; i++) {
        const struct sm_turned_edge *e = &t->edges[i];
        const double back = 1e-9 * e->length; /* what is no more off the plane lies on it */
        const struct sm_point out[2] = {sm_point_minus(e->a, e->centre), sm_point_minus(e->b, e->centre)};
        if (end * (e->a.x - z) <= back && end * (e->b.x - z) <= back)
            continue;
        if (e->is_arc ? end * out[0].x < 0.0 || end * out[1].x < 0.0 : end * e->u.y < -1e-12)
            return true;
    }
    return false;
}

static bool is_beyond(struct sm_point p, double z, int end)
{
    return end * (p.x - z) > 0.0;
}

bool sm_turned_cut(const struct sm_contour *profile, double z, int end, struct sm_contour *out)
{
    const struct sm_edge *edges = profile->edges;
    size_t n_crossing = 0;
    for (size_t i = 0; i < profile->n_edges; i++) {
        n_crossing += is_beyond(edges[i].a, z, end) != is_beyond(edges[i].b, z, end);
        if (edges[i].turn != 0)
            return false;
    }
    if (n_crossing != 1 || edges[0].a.y > 0.0)
        return false;
    const bool starts_beyond = is_beyond(edges[0].a, z, end);
    sm_contour_start(out, starts_beyond ? z : edges[0].a.x, 0.0);
    for (size_t i = 0; i < profile->n_edges; i++) {
        const struct sm_point a = edges[i].a, b = edges[i].b;
        const bool from_beyond = is_beyond(a, z, end), to_beyond = is_beyond(b, z, end);
        if (from_beyond != to_beyond)
            sm_contour_line(out, z, a.y + (z - a.x) / (b.x - a.x) * (b.y - a.y));
        if (!to_beyond)
            sm_contour_line(out, b.x, b.y);
    }
    if (!starts_beyond)
        sm_contour_line(out, z, 0.0);
    return true;
}

/* ---- parallel surfaces ---- */

const struct sm_parts *sm_turned_parts(const struct sm_turned *t, double w, double *at)
{
    size_t low = 0, high = t->stages.n - 1;
    while (low < high) {
        const size_t middle = (low + high) / 2;
        if (t->stages.items[middle].w1 < w)
            low = middle + 1;
        else
            high = middle;
    }
    const struct sm_stage *stage = &t->stages.items[low];
    *at = fmax(w, sm_stage_near_start(&t->fronts, stage));
    return &stage->parts;
}
