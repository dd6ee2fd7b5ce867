#include "unit/grain/arrival.h"

#include <criterion/criterion.h>
#include <gsl/gsl_qrng.h>
#include <math.h>

#include "grain/mesh.h"
#include "grain/meshport.h"

/* A grain by what its shape gives: one of the five kinds. */
struct grain {
    const struct example *e;
    double radius, length;       /* [m] */
    unsigned burning;            /* faces */
    struct sm_section *sections; /* drawn whole */
    const double (*ends)[2];     /* of each section's length along the axis [m] */
    size_t n_sections;
    struct sm_meridian meridian;
    struct sm_voids voids;
    struct sm_triangles walls; /* of a mesh, within the grain */
    bool is_round, has_voids;
};

struct place {
    double x, y, z; /* [m] */
};

/* ---- plane outlines ---- */

/* The point of an edge nearest to p, and the direction of walking there. */
static struct sm_point nearest_on(const struct sm_edge *edge, struct sm_point p, struct sm_point *way)
{
    const double dx = edge->b.x - edge->a.x, dy = edge->b.y - edge->a.y;
    if (edge->turn == 0) {
        const double length = hypot(dx, dy),
                     t = ((p.x - edge->a.x) * dx + (p.y - edge->a.y) * dy) / (length * length);
        *way = (struct sm_point){dx / length, dy / length};
        return t <= 0.0   ? edge->a
               : t >= 1.0 ? edge->b
                          : (struct sm_point){edge->a.x + t * dx, edge->a.y + t * dy};
    }
    const double from = atan2(edge->a.y - edge->centre.y, edge->a.x - edge->centre.x);
    const double at = atan2(p.y - edge->centre.y, p.x - edge->centre.x);
    const double turned = fmod(edge->turn * (at - from) + 4.0 * M_PI, 2.0 * M_PI),
                 sweep = sm_edge_sweep(edge);
    const bool is_beside = turned <= sweep;
    const bool to_end = !is_beside && turned - sweep < 2.0 * M_PI - turned;
    const double angle = from + edge->turn * (is_beside ? turned : to_end ? sweep : 0.0);
    *way = (struct sm_point){-edge->turn * sin(angle), edge->turn * cos(angle)};
    if (!is_beside)
        return to_end ? edge->b : edge->a;
    return (struct sm_point){edge->centre.x + edge->radius * cos(angle),
                             edge->centre.y + edge->radius * sin(angle)};
}

/* Distance from an outline, below zero in the void, which lies on the left. At a corner the edge that is seen more squarely
 * says on which side p is. */
static double outline_distance(const struct sm_contour *c, struct sm_point p)
{
    double least = HUGE_VAL, squarest = 0.0, side = 1.0;
    for (size_t i = 0; i < c->n_edges; i++) {
        struct sm_point way;
        const struct sm_point q = nearest_on(&c->edges[i], p, &way);
        const double d = hypot(p.x - q.x, p.y - q.y), left = way.x * (p.y - q.y) - way.y * (p.x - q.x);
        const double square = d > 0.0 ? fabs(left) / d : 1.0;
        const bool is_tie = fabs(d - least) <= 1e-9 * (d + least);
        if (is_tie ? square <= squarest : d > least)
            continue;
        least = fmin(d, least);
        squarest = square;
        side = left > 0.0 ? -1.0 : 1.0;
    }
    return side * least;
}

/* ---- solids ---- */

/* Of (r, h) from the straight line between two points. */
static double line_distance(double r, double h, double r0, double h0, double r1, double h1)
{
    const double dr = r1 - r0, dh = h1 - h0, length2 = dr * dr + dh * dh;
    const double t = length2 > 0.0 ? fmin(fmax(((r - r0) * dr + (h - h0) * dh) / length2, 0.0), 1.0) : 0.0;
    return hypot(r - r0 - t * dr, h - h0 - t * dh);
}

/* 0 inside. */
static double solid_distance(const struct sm_solid *s, struct place p)
{
    const double v[3] = {p.x - s->at.x, p.y - s->at.y, p.z - s->at.z};
    double q[3];
    for (int k = 0; k < 3; k++)
        q[k] = v[0] * s->axes[k].x + v[1] * s->axes[k].y + v[2] * s->axes[k].z;
    const double r = hypot(q[0], q[1]), h = q[2];
    switch (s->form) {
    case SM_SOLID_BALL:
        return fmax(hypot(r, h) - s->a, 0.0);
    case SM_SOLID_BOX:
        return hypot(fmax(hypot(fmax(fabs(q[0]) - (s->a - s->fillet), 0.0),
                                fmax(fabs(q[1]) - (s->b - s->fillet), 0.0)) -
                              s->fillet,
                          0.0),
                     fmax(fabs(h) - s->c, 0.0));
    case SM_SOLID_RING:
        return fmax(hypot(r - s->a, h) - s->b, 0.0);
    case SM_SOLID_TURNED:
        return fmax(outline_distance(&s->turned->profile, (struct sm_point){h, r}), 0.0);
    case SM_SOLID_CONE:
    default:
        if (h >= 0.0 && h <= s->c && r <= s->a + (s->b - s->a) * h / s->c)
            return 0.0;
        return fmin(
            line_distance(r, h, s->a, 0.0, s->b, s->c),
            fmin(line_distance(r, h, 0.0, 0.0, s->a, 0.0), line_distance(r, h, 0.0, s->c, s->b, s->c)));
    }
}

static double voids_distance(const struct sm_voids *voids, struct place p)
{
    double least = HUGE_VAL;
    for (size_t i = 0; i < voids->n; i++)
        for (int k = 0; k < voids->items[i].count; k++) {
            const double a = -2.0 * M_PI * k / voids->items[i].count;
            const struct place turned = {p.x * cos(a) - p.y * sin(a), p.x * sin(a) + p.y * cos(a), p.z};
            least = fmin(least, solid_distance(&voids->items[i].solid, turned));
        }
    return least;
}

/* ---- meshes ---- */

static struct sm_triple from_to(struct sm_triple a, struct sm_triple b)
{
    return sm_triple_add(b, -1.0, a);
}

static struct sm_triple cross(struct sm_triple a, struct sm_triple b)
{
    return (struct sm_triple){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

static double triangle_distance(const struct sm_vertex *corners, struct sm_triple p)
{
    struct sm_triple c[3];
    double least = HUGE_VAL;
    bool is_over = true;
    for (int k = 0; k < 3; k++)
        c[k] = (struct sm_triple){corners[k].x, corners[k].y, corners[k].z};
    const struct sm_triple n = cross(from_to(c[0], c[1]), from_to(c[0], c[2]));
    for (int k = 0; k < 3; k++) {
        const struct sm_triple u = from_to(c[k], c[(k + 1) % 3]), v = from_to(c[k], p);
        const double t = fmin(fmax(sm_triple_dot(u, v) / sm_triple_dot(u, u), 0.0), 1.0);
        const struct sm_triple off = sm_triple_add(v, -t, u);
        least = fmin(least, sqrt(sm_triple_dot(off, off)));
        is_over = is_over && sm_triple_dot(cross(u, v), n) >= 0.0;
    }
    const double size = sqrt(sm_triple_dot(n, n));
    return is_over && size > 0.0 ? fabs(sm_triple_dot(from_to(c[0], p), n)) / size : least;
}

/* Does a ray from p out across the axis come out of the void more often than it goes in? */
static bool is_in_mesh(const struct sm_meshport *port, struct place p)
{
    const struct sm_vertex *v = port->vertices.items;
    const struct sm_facet *f = port->facets.items;
    int turns = 0;
    for (size_t i = 0; i < port->facets.n; i++) { /* in the plane across the ray, along x */
        const struct sm_vertex *c[3] = {&v[f[i].a], &v[f[i].b], &v[f[i].c]};
        double w[3], sum = 0.0, x = 0.0;
        int n_left = 0;
        for (int k = 0; k < 3; k++) {
            const struct sm_vertex *a = c[(k + 1) % 3], *b = c[(k + 2) % 3];
            w[k] = (a->y - p.y) * (b->z - p.z) - (b->y - p.y) * (a->z - p.z);
            n_left += w[k] > 0.0;
            sum += w[k];
            x += w[k] * c[k]->x;
        }
        if ((n_left == 3 || n_left == 0) && x / sum > p.x)
            turns += n_left == 3 ? 1 : -1;
    }
    return turns > 0;
}

static double mesh_distance(const struct grain *g, struct place p)
{
    double least = HUGE_VAL;
    if (is_in_mesh(g->e->params, p))
        return 0.0;
    for (size_t i = 0; i < g->walls.n; i++)
        least = fmin(least, triangle_distance(&g->walls.corners[3 * i], (struct sm_triple){p.x, p.y, p.z}));
    return least;
}

/* ---- one grain ---- */

static void take_sections(struct sm_arena *arena, struct grain *g)
{
    const struct example *e = g->e;
    struct sm_spliced spliced = {.n = 1};
    double(*ends)[2];
    if (e->shape->spliced)
        cr_assert_eq(sm_shape_spliced(e->shape, arena, &e->common, e->params, &spliced, NULL), SM_OK);
    g->n_sections = spliced.n;
    g->sections = sm_arena_alloc(arena, spliced.n, sizeof *g->sections);
    ends = sm_arena_alloc(arena, spliced.n, sizeof *ends);
    for (size_t i = 0; i < spliced.n; i++) {
        struct sm_section half = {.radius = g->radius, .sectors = spliced.sectors};
        if (spliced.items)
            half.contour = spliced.items[i].contour;
        else
            cr_assert_eq(sm_shape_section(e->shape, arena, &e->common, e->params, &half, NULL), SM_OK);
        ends[i][0] = spliced.items ? spliced.items[i].z0 : 0.0;
        ends[i][1] = spliced.items ? spliced.items[i].z1 : g->length;
        example_unfold(arena, &half, &g->sections[i]);
    }
    g->ends = (const double(*)[2])ends;
}

static struct grain take(struct sm_arena *arena, const struct example *e)
{
    struct grain g = {.e = e,
                      .radius = 0.5 * e->common.outer_diameter,
                      .length = e->common.length,
                      .burning =
                          e->common.burning == SM_CHOICES_ABSENT ? e->shape->burning : e->common.burning};
    if (e->shape->is_meshed) {
        const struct sm_meshport *port = e->params;
        const struct sm_mesh mesh = {.vertices = port->vertices.items,
                                     .facets = port->facets.items,
                                     .n_vertices = port->vertices.n,
                                     .n_facets = port->facets.n};
        cr_assert_eq(sm_mesh_cut(arena, &mesh, g.length, &g.walls, NULL), SM_OK);
    } else if (e->shape->voids) {
        g.has_voids = true;
        cr_assert_eq(sm_shape_voids(e->shape, arena, &e->common, e->params, &g.voids, NULL), SM_OK);
    } else if (e->shape->section || e->shape->spliced) {
        take_sections(arena, &g);
    } else {
        g.is_round = true;
        cr_assert_eq(sm_shape_meridian(e->shape, arena, &e->common, e->params, &g.meridian, NULL), SM_OK);
    }
    return g;
}

/* Distance from the port, 0 in it. */
static double port_distance(const struct grain *g, struct place p)
{
    const double r = hypot(p.x, p.y);
    double least = HUGE_VAL;
    if (g->e->shape->is_meshed)
        return mesh_distance(g, p);
    if (g->has_voids)
        return voids_distance(&g->voids, p);
    if (g->is_round)
        return g->meridian.bore.n_edges == 0
                   ? HUGE_VAL
                   : fmax(outline_distance(&g->meridian.bore, (struct sm_point){p.z, r}), 0.0);
    for (size_t i = 0; i < g->n_sections; i++) {
        const double across =
            fmax(outline_distance(&g->sections[i].contour, (struct sm_point){p.x, p.y}), 0.0);
        least = fmin(least, hypot(across, fmax(fmax(g->ends[i][0] - p.z, p.z - g->ends[i][1]), 0.0)));
    }
    return least;
}

/* Time over the rate for a fire that runs k times as fast for h along a line, then r away from it: the least over where it
 * leaves the line, by d/ds (s / k + hypot(h - s, r)) = 0. */
static double by_fast_line(double k, double h, double r)
{
    const double lean = r / sqrt((k - 1.0) * (k + 1.0));
    return h > lean ? (h - lean) / k + hypot(lean, r) : hypot(h, r);
}

static double by_haste(const struct grain *g, struct place p, double r)
{
    const struct sm_meridian *m = &g->meridian;
    const bool is_aft = g->burning & SM_FACE_AFT_END;
    const double bottom = m->bore.n_edges > 0 ? m->bore.edges[m->bore.n_edges - 1].b.x
                          : is_aft            ? g->length
                                              : 0.0;
    const double from_face = is_aft ? g->length - p.z : p.z,
                 from_bottom = is_aft ? bottom - p.z : p.z - bottom;
    double least = HUGE_VAL;
    if (m->bond_line_ratio > 1.0)
        least = fmin(least, by_fast_line(m->bond_line_ratio, from_face, g->radius - r));
    if (m->axis_ratio > 1.0 && from_bottom > 0.0)
        least = fmin(least, by_fast_line(m->axis_ratio, from_bottom, r));
    return least;
}

/* Beyond a dome no propellant is. */
static bool is_beyond_dome(const struct grain *g, struct place p, double r)
{
    const double fore = g->meridian.fore_dome, aft = g->meridian.aft_dome;
    const double before = fore - p.z, behind = p.z - (g->length - aft), y = r / g->radius;
    return (fore > 0.0 && before > 0.0 && hypot(before / fore, y) > 1.0) ||
           (aft > 0.0 && behind > 0.0 && hypot(behind / aft, y) > 1.0);
}

/* Distance burned when the fire comes to p; 0 where nothing is. */
static double arrival(const struct grain *g, struct place p)
{
    const double r = hypot(p.x, p.y), port = port_distance(g, p);
    if (port == 0.0 || (g->is_round && is_beyond_dome(g, p, r)))
        return 0.0;
    const bool bore_burns = g->burning & SM_FACE_BORE || (g->is_round && g->meridian.burning & SM_FACE_BORE);
    double least = bore_burns ? port : HUGE_VAL;
    if (g->burning & SM_FACE_FORE_END)
        least = fmin(least, p.z);
    if (g->burning & SM_FACE_AFT_END)
        least = fmin(least, g->length - p.z);
    if (g->burning & SM_FACE_OUTER)
        least = fmin(least, g->radius - r);
    return g->is_round ? fmin(least, by_haste(g, p, r)) : least;
}

/* ---- counting ---- */

static struct place place_in(const struct grain *g, const double u[3])
{
    const double r = g->radius * sqrt(u[0]), a = 2.0 * M_PI * u[1];
    return (struct place){r * cos(a), r * sin(a), g->length * u[2]};
}

enum { LEVELS = 8 };

/* Differences of the counted from the table's volume at some distances burned, as shares of the cylinder. */
static void differences(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g, int n,
                        double out[LEVELS])
{
    const struct grain grain = take(arena, e);
    gsl_qrng *net = gsl_qrng_alloc(gsl_qrng_sobol, 3);
    int left[LEVELS] = {0};
    for (int i = 0; i < n; i++) {
        double u[3];
        gsl_qrng_get(net, u);
        const double w = arrival(&grain, place_in(&grain, u));
        for (int k = 0; k < LEVELS; k++)
            left[k] += w > g->web * k / LEVELS;
    }
    gsl_qrng_free(net);
    for (int k = 0; k < LEVELS; k++) {
        struct sm_geometry_at at;
        sm_geometry_eval(g, g->web * k / LEVELS, &at);
        out[k] =
            (double)left[k] / n - at.value[SM_VOLUME] / (M_PI * grain.radius * grain.radius * grain.length);
    }
}

double arrival_square(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g, int n)
{
    double difference[LEVELS], sum = 0.0;
    differences(arena, e, g, n, difference);
    for (int k = 0; k < LEVELS; k++)
        sum += difference[k] * difference[k] / LEVELS;
    return sum;
}

/* Of n places a net tells a volume with a smooth boundary to some n^(-2/3) in space: a box's width of the boundary's boxes
 * (H. Niederreiter, Random Number Generation and Quasi-Monte Carlo Methods, SIAM 1992, ch. 2, for the discrepancy; the order
 * from memory). A mesh adds what its table says that it is off by. */
void arrival_agrees(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                    uint64_t seed)
{
    enum { PLACES = 4096 };
    double difference[LEVELS];
    differences(arena, e, g, PLACES, difference);
    const double tolerance = 2.5 * pow(PLACES, -2.0 / 3.0) + (e->shape->is_meshed ? 0.5 * g->accuracy : 0.0);
    for (int k = 0; k < LEVELS; k++)
        cr_expect(fabs(difference[k]) <= tolerance,
                  "%s, seed %llu: at %d/%d of the web the volume is off by %.3g", e->shape->name,
                  (unsigned long long)seed, k, LEVELS, difference[k]);
}

/* ---- the last place ---- */

/* By steps in random directions, shorter after many that led nowhere; back onto the cylinder where they lead out of it. */
static double climb(const struct grain *g, struct place p, uint64_t *state)
{
    enum { PATIENCE = 12 };
    double best = arrival(g, p), step = 0.1 * g->radius;
    for (int idle = 0; step > 1e-5 * g->radius; step *= idle == PATIENCE ? 0.5 : 1.0) {
        struct place q = {p.x + draw_uniform(state, -step, step), p.y + draw_uniform(state, -step, step),
                          p.z + draw_uniform(state, -step, step)};
        const double r = hypot(q.x, q.y), in = r > g->radius ? g->radius / r : 1.0;
        q = (struct place){in * q.x, in * q.y, fmin(fmax(q.z, 0.0), g->length)};
        const double w = arrival(g, q);
        idle = w > best ? 0 : idle == PATIENCE ? 0 : idle + 1;
        p = w > best ? q : p;
        best = fmax(best, w);
    }
    return best;
}

double arrival_last(struct sm_arena *arena, const struct example *e, uint64_t seed)
{
    enum { PLACES = 2048, CLIMBERS = 6 };
    const struct grain grain = take(arena, e);
    struct place latest[CLIMBERS] = {{0.0, 0.0, 0.0}};
    double when[CLIMBERS] = {0.0}, last = 0.0;
    gsl_qrng *net = gsl_qrng_alloc(gsl_qrng_sobol, 3);
    uint64_t state = seed + 1;
    for (int i = 0; i < PLACES; i++) {
        double u[3];
        gsl_qrng_get(net, u);
        const struct place p = place_in(&grain, u);
        const double w = arrival(&grain, p);
        int k = CLIMBERS;
        for (; k > 0 && when[k - 1] < w; k--)
            if (k < CLIMBERS) {
                when[k] = when[k - 1];
                latest[k] = latest[k - 1];
            }
        if (k < CLIMBERS) {
            when[k] = w;
            latest[k] = p;
        }
    }
    gsl_qrng_free(net);
    for (int k = 0; k < CLIMBERS; k++)
        last = fmax(last, climb(&grain, latest[k], &state));
    return last;
}
