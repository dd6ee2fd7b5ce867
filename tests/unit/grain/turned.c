/* Bodies of revolution by their meridian, and the conocyl with fins: closed forms, the exact trimmer, slices, facets. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "grain/coneslot.h"
#include "grain/facets.h"
#include "unit/grain/example.h"

/* ---- distances ---- */

/* A bore with a conical slot that has a round end: hollows, a slant and an arc. */
static void make_conocyl(struct sm_arena *arena, struct sm_turned *out)
{
    const struct sm_coneslot slot = sm_coneslot_find(0.6, 0.8, 0.12, 0.9, 1.4);
    struct sm_contour c;
    struct sm_error err = {0};
    sm_contour_init(&c, arena);
    sm_contour_start(&c, 2.0, 0.0);
    sm_contour_line(&c, 2.0, 0.3);
    sm_coneslot_add_wall(&slot, 0.0, &c);
    sm_contour_line(&c, 0.0, 0.0);
    cr_assert_eq(sm_turned_make(arena, &c, 3.0, out, &err), SM_OK, "%s", err.message);
}

/* The nearest of many places along the profile, and how often that goes round p, with its image beyond the axis: 0 outside, 2 pi
 * inside. */
static double sampled_distance(const struct sm_contour *c, struct sm_point p)
{
    enum { PLACES = 400 };
    double least = HUGE_VAL, angle = 0.0;
    for (size_t i = 0; i < c->n_edges; i++)
        for (int k = 0; k < PLACES; k++) {
            const struct sm_point a = sm_edge_point(&c->edges[i], (double)k / PLACES),
                                  b = sm_edge_point(&c->edges[i], (k + 1.0) / PLACES);
            least = fmin(least, hypot(a.x - p.x, a.y - p.y));
            for (int image = -1; image <= 1; image += 2) {
                const struct sm_point u = {a.x - p.x, image * a.y - p.y}, v = {b.x - p.x, image * b.y - p.y};
                angle += image * atan2(sm_point_cross(u, v), sm_point_dot(u, v));
            }
        }
    return angle > M_PI ? -least : least;
}

/* Tolerance: the places are 1/400 of a line of up to 1.1 apart, so the nearest is off by half of that at most. */
Test(grain_turned, distances)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_turned t;
    make_conocyl(&arena, &t);
    int n_inside = 0;
    for (int i = 0; i < 24; i++)
        for (int k = 0; k < 15; k++) {
            const struct sm_point p = {-0.2 + 2.4 * (i + 0.31) / 24, 1.1 * (k + 0.17) / 15};
            const double d = sm_turned_distance(&t, p), want = sampled_distance(&t.profile, p);
            n_inside += d < 0.0;
            cr_expect_float_eq(d, want, 1.5e-3, "(%g, %g): %g, not %g", p.x, p.y, d, want);
            const struct sm_point q = sm_turned_nearest(&t, p);
            cr_expect_float_eq(hypot(p.x - q.x, p.y - q.y), fabs(d), 1e-12);
        }
    cr_expect_gt(n_inside, 70);
    cr_expect_float_eq(t.low, 0.0, 1e-15);
    cr_expect_float_eq(t.high, 2.0, 1e-15);
    cr_expect_float_eq(t.radius, 0.7, 1e-12);
    sm_arena_release(&arena);
}

/* The gap between a turned body and a ball is the distance of the ball's middle, less its radius. */
Test(grain_turned, gaps_and_extents)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_turned t;
    make_conocyl(&arena, &t);
    struct sm_solid body = {.form = SM_SOLID_TURNED, .at = {0.1, -0.2, 0.3}, .turned = &t};
    sm_solid_aim(&body, 0.4, 0.7, 0.0);
    for (int i = 0; i < 12; i++) {
        struct sm_solid ball = {.form = SM_SOLID_BALL, .a = 0.02};
        ball.at = sm_triple_add(body.at, 0.1 + 0.15 * i, body.axes[2]);
        ball.at = sm_triple_add(ball.at, 0.45, body.axes[0]);
        sm_solid_aim(&ball, 0.0, 0.0, 0.0);
        const double d = sm_solid_distance(&body, ball.at), gap = sm_solid_gap(&body, &ball, 1e-9);
        cr_expect_float_eq(gap, fmax(d - 0.02, 0.0), 1e-6, "ball %d: %g, not %g", i, gap, d - 0.02);
    }
    cr_expect_float_eq(sm_solid_extent(&body, body.axes[2]), sm_triple_dot(body.at, body.axes[2]) + 2.0,
                       1e-12);
    cr_expect_float_eq(sm_solid_extent(&body, body.axes[0]), sm_triple_dot(body.at, body.axes[0]) + 0.7,
                       1e-12);
    sm_arena_release(&arena);
}

/* A cone told as a turned body leans out through an end that doesn't burn if it gets wider there, either way up; one that gets wider
 * along an arc does too. */
Test(grain_turned, leans_out_where_it_gets_wider)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (int i = 0; i < 16; i++) {
        const double a = 0.2, b = i & 1 ? 0.1 : 0.3, z = i & 2 ? -0.5 : 0.5, tilt = i & 4 ? M_PI : 0.0,
                     c = 2.0;
        const unsigned burning = SM_FACE_BORE | (i & 8 ? SM_FACE_AFT_END : 0);
        struct sm_contour chain;
        struct sm_turned t;
        sm_contour_init(&chain, &arena);
        sm_contour_start(&chain, c, 0.0);
        sm_contour_line(&chain, c, b);
        sm_contour_line(&chain, 0.0, a);
        sm_contour_line(&chain, 0.0, 0.0);
        cr_assert_eq(sm_turned_make(&arena, &chain, 3.0, &t, NULL), SM_OK);
        struct sm_void v = {
            .solid = {.form = SM_SOLID_TURNED, .at.z = tilt > 0.0 ? 2.0 - z : z, .turned = &t}, .count = 1};
        sm_solid_aim(&v.solid, tilt, 0.0, 0.0);
        const struct sm_voids voids = {&v, 1, 1.0, 2.0, burning, 16};
        const bool goes_aft = (z > 0.0) == (tilt == 0.0), widens_aft = (b > a) == (tilt == 0.0);
        const bool want = goes_aft ? widens_aft && !(burning & SM_FACE_AFT_END) : !widens_aft;
        cr_expect_eq(sm_voids_lean_out(&voids), want, "case %d", i);
    }
    struct sm_contour chain;
    struct sm_turned t;
    sm_contour_init(&chain, &arena);
    sm_contour_start(&chain, 1.0, 0.0);
    sm_contour_line(&chain, 1.0, 0.5);
    sm_contour_arc(&chain, 0.0, 0.5, 0.5, 0.5, 1);
    sm_contour_line(&chain, 0.0, 0.0);
    cr_assert_eq(sm_turned_make(&arena, &chain, 3.0, &t, NULL), SM_OK);
    cr_expect(sm_turned_widens(&t, 0.3, 1));
    cr_expect(sm_turned_widens(&t, 0.7, -1));
    cr_expect(!sm_turned_widens(&t, 0.7, 1));
    cr_expect(!sm_turned_widens(&t, 1.2, 1));
    sm_arena_release(&arena);
}

/* A flare cut in a face is the body up to there; what crosses the plane more than once, is no solid all through, or is round is not cut. */
Test(grain_turned, cut_in_a_face)
{
    static const struct sm_point flare[] = {{2.0, 0.0}, {2.0, 0.8}, {1.0, 0.4}, {-0.2, 0.3}, {-0.2, 0.0}};
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (int end = -1; end <= 1; end += 2) {
        struct sm_contour whole, part, rest;
        struct sm_turned t, cut;
        sm_contour_init(&whole, &arena);
        sm_contour_init(&part, &arena);
        sm_contour_start(&whole, flare[0].x, flare[0].y);
        for (size_t i = 1; i < SM_COUNT(flare); i++)
            sm_contour_line(&whole, flare[i].x, flare[i].y);
        cr_assert_eq(sm_turned_make(&arena, &whole, 3.0, &t, NULL), SM_OK);
        cr_assert(sm_turned_cut(&whole, 1.5, end, &part));
        cr_assert_eq(sm_turned_make(&arena, &part, 3.0, &cut, NULL), SM_OK);
        cr_expect_float_eq(end > 0 ? cut.high : cut.low, 1.5, 1e-15);
        for (int i = 0; i < 40; i++) {
            const struct sm_point p = {-0.5 + 3.0 * i / 40, 0.07 + 0.11 * (i % 8)};
            const double want = fmax(sm_turned_distance(&t, p), end * (p.x - 1.5));
            cr_expect_eq(sm_turned_distance(&cut, p) < 0.0, want < 0.0, "(%g, %g)", p.x, p.y);
        }
        sm_contour_init(&rest, &arena);
        cr_expect(!sm_turned_cut(&whole, 2.5, end, &rest));
        make_conocyl(&arena, &t);
        cr_expect(!sm_turned_cut(&t.profile, 1.5, end, &rest));
    }
    sm_arena_release(&arena);
}

/* ---- a ring with a square section ---- */

/* Until it meets itself on the axis, the parallel surface is what a square with rounded corners describes: by Pappus, 2 pi R times
 * its perimeter 8 a + 2 pi w. Tolerance: that of Gauss points, 1e-6. */
Test(grain_turned, square_ring_by_pappus)
{
    const double R = 0.4, a = 0.06;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_contour c;
    struct sm_turned t;
    sm_contour_init(&c, &arena);
    sm_contour_start(&c, -a, R - a);
    sm_contour_line(&c, a, R - a);
    sm_contour_line(&c, a, R + a);
    sm_contour_line(&c, -a, R + a);
    sm_contour_line(&c, -a, R - a);
    cr_assert_eq(sm_turned_make(&arena, &c, 3.0, &t, NULL), SM_OK);
    struct sm_void v = {.solid = {.form = SM_SOLID_TURNED, .at = {0.05, -0.08, 0.9}, .turned = &t},
                        .count = 1};
    sm_solid_aim(&v.solid, 0.8, 0.4, 0.3);
    const struct sm_voids voids = {&v, 1, 1.0, 2.0, SM_FACE_BORE, 8};
    struct sm_patcher p;
    cr_assert_eq(sm_patcher_init(&arena, &voids, &p, NULL), SM_OK);
    for (int k = 0; k < 4; k++) {
        const double w = 0.08 * k, area = 2 * M_PI * R * (8 * a + 2 * M_PI * w);
        struct sm_patch_sums sums;
        sm_patcher_level(&p, w, &sums);
        cr_expect_float_eq(sums.front[SM_VOLUME], area, 1e-6 * area, "w %g: %g, not %g", w,
                           sums.front[SM_VOLUME], area);
    }
    sm_arena_release(&arena);
}

/* ---- a conocyl without fins ---- */

/* The shape's own exact table. */
static struct sm_geometry exact_conocyl(struct sm_arena *arena, struct example *e)
{
    struct sm_geometry g;
    *e = example_read(arena, sm_shape_find("conocyl"));
    cr_assert_eq(sm_shape_geometry(e->shape, arena, &e->common, e->params, &g, NULL), SM_OK);
    return g;
}

/* Its port as one solid, or as a bore and a turned slot that begins within it. */
static void conocyl_voids(struct sm_arena *arena, const struct example *e, bool is_one, struct sm_void v[2])
{
    struct sm_meridian m;
    struct sm_contour c;
    struct sm_turned *t = sm_arena_alloc(arena, 1, sizeof *t);
    const double length = e->common.length;
    cr_assert_eq(sm_shape_meridian(e->shape, arena, &e->common, e->params, &m, NULL), SM_OK);
    const struct sm_edge *edges = m.bore.edges; /* bore, slot's side, end and side, bore */
    cr_assert_eq(m.bore.n_edges, 5u);
    sm_contour_init(&c, arena);
    if (is_one) {
        sm_contour_start(&c, length, 0.0);
        for (size_t i = 0; i < m.bore.n_edges; i++)
            if (edges[i].turn == 0)
                sm_contour_line(&c, edges[i].a.x, edges[i].a.y),
                    sm_contour_line(&c, edges[i].b.x, edges[i].b.y);
            else
                sm_contour_arc(&c, edges[i].b.x, edges[i].b.y, edges[i].centre.x, edges[i].centre.y, 1);
        sm_contour_line(&c, 0.0, 0.0);
    } else {
        const struct sm_point in = sm_edge_direction(&edges[3], false);
        const double deep = 0.4 * edges[0].a.y;
        const struct sm_point aft = sm_point_along(edges[1].a, deep, in),
                              fore = sm_point_along(edges[3].b, deep, in);
        sm_contour_start(&c, fore.x, fore.y);
        sm_contour_line(&c, aft.x, aft.y);
        sm_contour_line(&c, edges[1].b.x, edges[1].b.y);
        sm_contour_arc(&c, edges[2].b.x, edges[2].b.y, edges[2].centre.x, edges[2].centre.y, 1);
        sm_contour_line(&c, fore.x, fore.y);
    }
    cr_assert_eq(sm_turned_make(arena, &c, hypot(length, e->common.outer_diameter), t, NULL), SM_OK);
    v[0] = (struct sm_void){.solid = {.form = SM_SOLID_TURNED, .turned = t}, .count = 1};
    v[1] = (struct sm_void){
        .solid = {.form = SM_SOLID_CONE, .a = edges[0].a.y, .b = edges[0].a.y, .c = length}, .count = 1};
    sm_solid_aim(&v[0].solid, 0.0, 0.0, 0.0);
    sm_solid_aim(&v[1].solid, 0.0, 0.0, 0.0);
}

/* Error of the area and the moments, weighed by the length, over the burn, rms: as a share of the largest area. */
static double mean_error(const struct sm_voids *voids, const struct sm_geometry *g)
{
    enum { LEVELS = 24 };
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_patcher p;
    cr_assert_eq(sm_patcher_init(&arena, voids, &p, NULL), SM_OK);
    double sum = 0.0, top = 0.0;
    for (int i = 0; i < LEVELS; i++) {
        struct sm_geometry_at at;
        struct sm_patch_sums sums;
        const double w = g->web * (i + 0.3) / LEVELS;
        sm_geometry_eval(g, w, &at);
        sm_patcher_level(&p, w, &sums);
        cr_expect_eq(sums.astray, 0u);
        top = fmax(top, -at.slope[SM_VOLUME]);
        for (int q = 0; q < SM_N_INTEGRALS; q++) {
            const double unit = pow(voids->length, q == SM_VOLUME ? 0 : q <= SM_Z ? 1 : 2);
            sum += pow((sums.front[q] + at.slope[q]) / unit, 2) / LEVELS;
        }
    }
    sm_arena_release(&arena);
    return sqrt(sum) / top;
}

/* As one solid nothing but the wall and the ends is cut, straight along its cells: what is left is Gauss's, 1e-6. As two the slot is
 * cut out of the bore: second order, eight times better at least for four times the fineness. */
Test(grain_turned, conocyl_by_the_exact_trimmer)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct example e;
    const struct sm_geometry g = exact_conocyl(&arena, &e);
    struct sm_void v[2];
    struct sm_voids voids = {v, 1, 0.5 * e.common.outer_diameter, e.common.length, e.common.burning, 32};
    conocyl_voids(&arena, &e, true, v);
    const double alone = mean_error(&voids, &g);
    cr_expect_lt(alone, 1e-6, "alone: %g", alone);
    conocyl_voids(&arena, &e, false, v);
    double joined[2];
    voids.n = 2;
    for (int k = 0; k < 2; k++) {
        voids.fineness = 12 << 2 * k;
        joined[k] = mean_error(&voids, &g);
    }
    cr_expect_lt(joined[0], 3e-3, "joined: %g", joined[0]);
    cr_expect_lt(joined[1], joined[0] / 8, "joined: %g, then %g", joined[0], joined[1]);
    sm_arena_release(&arena);
}

/* ---- with fins ---- */

struct finned {
    struct example e;
    struct sm_voids voids;
    double bore, half, reach, fin_length; /* [m] */
    int fins;
    struct sm_coneslot slot;
};

static double value_of(const struct example *e, const char *name)
{
    for (size_t i = 0; i < e->shape->n_params; i++)
        if (strcmp(e->shape->params[i].name, name) == 0)
            return *(const double *)((const char *)e->params + e->shape->params[i].offset);
    cr_assert_fail("no %s", name);
    return 0.0;
}

static void set_value(const struct example *e, const char *name, double value)
{
    for (size_t i = 0; i < e->shape->n_params; i++)
        if (strcmp(e->shape->params[i].name, name) == 0)
            *(double *)((char *)e->params + e->shape->params[i].offset) = value;
}

static void read_finned(struct sm_arena *arena, struct finned *f)
{
    f->e = example_read(arena, sm_shape_find("finned-conocyl"));
    struct sm_error err = {0};
    cr_assert_eq(sm_shape_voids(f->e.shape, arena, &f->e.common, f->e.params, &f->voids, &err), SM_OK, "%s",
                 err.message);
    f->bore = 0.5 * value_of(&f->e, "bore_diameter");
    f->half = 0.5 * value_of(&f->e, "fin_width");
    f->reach = 0.5 * value_of(&f->e, "fin_diameter");
    f->fin_length = value_of(&f->e, "fin_length");
    f->fins = f->voids.items[1].count;
    f->slot = sm_coneslot_find(value_of(&f->e, "bore_diameter"), value_of(&f->e, "slot_position"),
                               value_of(&f->e, "slot_width"), value_of(&f->e, "slot_angle"),
                               value_of(&f->e, "slot_diameter"));
}

/* What a fin with a round tip takes beyond the bore, as an area across the axis. */
static double fin_area(const struct finned *f)
{
    const double h = f->half, r = f->bore;
    return 2 * h * (f->reach - h) + 0.5 * M_PI * h * h - h * sqrt(r * r - h * h) - r * r * asin(h / r);
}

/* What the slot takes beyond the bore, by Pappus: a trapezium, cut into triangles, and half a disc. */
static double slot_volume(const struct sm_coneslot *s)
{
    const struct sm_point aft = {s->half * s->way.y, -s->half * s->way.x};
    const struct sm_point c[4] = {{s->aft, s->bore},
                                  {s->centre.x + aft.x, s->centre.y + aft.y},
                                  {s->centre.x - aft.x, s->centre.y - aft.y},
                                  {s->fore, s->bore}};
    const double disc = 0.5 * M_PI * s->half * s->half;
    double moment =
        disc * (s->centre.y + 4.0 * s->half / (3.0 * M_PI) * s->way.y); /* of r over the area [m3] */
    for (int i = 1; i < 3; i++)
        moment += 0.5 * sm_point_cross(sm_point_minus(c[i], c[0]), sm_point_minus(c[i + 1], c[0])) *
                  (c[0].y + c[i].y + c[i + 1].y) / 3.0;
    return 2.0 * M_PI * moment;
}

/* The fins of the example lie apart from its slot. What is left at first: the cylinder without the bore, the slot and the fins.
 * Tolerance at fineness 32: 2e-5 of the envelope by the divergence theorem, 3e-5 by the integral of the area. */
Test(grain_turned, volume_in_closed_form)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct finned f;
    struct sm_geometry g;
    struct sm_geometry_at at;
    struct sm_patcher p;
    read_finned(&arena, &f);
    const double R = f.voids.radius, whole = M_PI * R * R * f.voids.length;
    const double volume = whole - M_PI * f.bore * f.bore * f.voids.length - slot_volume(&f.slot) -
                          f.fins * fin_area(&f) * f.fin_length;
    cr_assert_eq(sm_patcher_init(&arena, &f.voids, &p, NULL), SM_OK);
    cr_expect_float_eq(sm_patcher_volume(&p, 0.0), volume, 2e-5 * whole, "%.9g, not %.9g",
                       sm_patcher_volume(&p, 0.0), volume);
    cr_assert_eq(sm_shape_geometry(f.e.shape, &arena, &f.e.common, f.e.params, &g, NULL), SM_OK);
    sm_geometry_eval(&g, 0.0, &at);
    cr_expect_float_eq(at.value[SM_VOLUME], volume, 3e-5 * whole, "%g, not %g", at.value[SM_VOLUME], volume);
    cr_expect_float_eq(g.port_area, M_PI * f.bore * f.bore + f.fins * fin_area(&f), 2e-3 * g.port_area);
    sm_arena_release(&arena);
}

/* The volume between two distances burned, by the divergence theorem, is the area's integral: five Gauss points in stretches between
 * the events at 9.17 mm and 15 mm. Tolerance at fineness 64: 2e-5 of the envelope, most of it from where the faces are cut. */
Test(grain_turned, area_is_the_fall_of_the_volume)
{
    static const double x[5] = {0.046910077030668, 0.230765344947158, 0.5, 0.769234655052842,
                                0.953089922969332};
    static const double share[5] = {0.118463442528095, 0.239314335249683, 0.284444444444444,
                                    0.239314335249683, 0.118463442528095};
    static const double ends[4][2] = {{0.0, 0.009}, {0.0095, 0.0148}, {0.017, 0.022}, {0.026, 0.034}};
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct finned f;
    struct sm_patcher p;
    read_finned(&arena, &f);
    f.voids.fineness = 64;
    cr_assert_eq(sm_patcher_init(&arena, &f.voids, &p, NULL), SM_OK);
    const double whole = M_PI * f.voids.radius * f.voids.radius * f.voids.length;
    for (int k = 0; k < 4; k++) {
        const double a = ends[k][0], b = ends[k][1];
        double sum = 0.0;
        for (int i = 0; i < 5; i++) {
            struct sm_patch_sums sums;
            sm_patcher_level(&p, a + (b - a) * x[i], &sums);
            sum += share[i] * (b - a) * sums.front[SM_VOLUME];
        }
        const double fall = sm_patcher_volume(&p, a) - sm_patcher_volume(&p, b);
        cr_expect_float_eq(sum, fall, 2e-5 * whole, "stretch %d: %g, not %g", k, sum, fall);
    }
    sm_arena_release(&arena);
}

/* Where slot and fins lie apart, and until their fronts meet, the port burns as a finocyl by slices and an exact conocyl would, less
 * the bore that both have: of area, volume burned and first moment. Tolerance at fineness 32: 2e-4 of the area. */
Test(grain_turned, slot_apart_from_fins)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct finned f;
    struct sm_patcher p;
    read_finned(&arena, &f);
    struct example fins = example_read(&arena, sm_shape_find("finocyl")),
                   slot = example_read(&arena, sm_shape_find("conocyl"));
    static const char *const shared[] = {"bore_diameter", "fin_width",  "fin_diameter", "fin_length",
                                         "slot_position", "slot_width", "slot_angle",   "slot_diameter"};
    for (size_t i = 0; i < SM_COUNT(shared); i++) {
        set_value(&fins, shared[i], value_of(&f.e, shared[i]));
        set_value(&slot, shared[i], value_of(&f.e, shared[i]));
    }
    struct sm_geometry g[2];
    fins.common = slot.common = f.e.common;
    cr_assert_eq(sm_shape_geometry(fins.shape, &arena, &fins.common, fins.params, &g[0], NULL), SM_OK);
    cr_assert_eq(sm_shape_geometry(slot.shape, &arena, &slot.common, slot.params, &g[1], NULL), SM_OK);
    cr_assert_eq(sm_patcher_init(&arena, &f.voids, &p, NULL), SM_OK);
    const double length = f.voids.length;
    for (int i = 0; i < 12; i++) {
        const double w = 0.021 * (i + 0.4) / 12, bore = 2 * M_PI * (f.bore + w) * length;
        struct sm_geometry_at a, b;
        struct sm_patch_sums sums;
        sm_geometry_eval(&g[0], w, &a);
        sm_geometry_eval(&g[1], w, &b);
        sm_patcher_level(&p, w, &sums);
        const double area = -a.slope[SM_VOLUME] - b.slope[SM_VOLUME] - bore,
                     z = -a.slope[SM_Z] - b.slope[SM_Z] - 0.5 * bore * length;
        cr_expect_float_eq(sums.front[SM_VOLUME], area, 2e-4 * area, "w %g: %g, not %g", w,
                           sums.front[SM_VOLUME], area);
        cr_expect_float_eq(sums.front[SM_Z], z, 2e-4 * area * length, "w %g", w);
    }
    sm_arena_release(&arena);
}
