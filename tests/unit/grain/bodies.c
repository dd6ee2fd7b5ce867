/* Bodies of revolution against closed forms, and against distances of sample points. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "grain/annulus.h"
#include "grain/revolve.h"
#include "unit/grain/example.h"

static double area_at(const struct sm_geometry *g, double w)
{
    struct sm_geometry_at at;
    sm_geometry_eval(g, w, &at);
    return -at.slope[SM_VOLUME];
}

static double volume_at(const struct sm_geometry *g, double w)
{
    struct sm_geometry_at at;
    sm_geometry_eval(g, w, &at);
    return at.value[SM_VOLUME];
}

static struct sm_meridian tube(struct sm_arena *arena, double inner, double outer, double length,
                               unsigned burning)
{
    struct sm_meridian m = {.length = length, .radius = outer, .burning = burning};
    sm_contour_init(&m.bore, arena);
    sm_contour_start(&m.bore, length, inner);
    sm_contour_line(&m.bore, 0.0, inner);
    return m;
}

/* A tube as a body of revolution is the tube of the closed form, whatever burns of it. Tolerance 1e-12: sums of some
 * terms of the size of the whole. */
Test(grain_bodies, tube_of_every_choice_of_faces)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (unsigned burning = 1; burning < 16; burning++) {
        const double ri = 0.011, ro = 0.029, length = 0.047;
        const struct sm_meridian m = tube(&arena, ri, ro, length, burning);
        struct sm_geometry g, want;
        const enum sm_status status = sm_meridian_geometry(&arena, &m, &g, NULL);
        if (!(burning & SM_FACE_BORE)) {
            cr_expect_eq(status, SM_E_GEOMETRY, "an inhibited bore must be refused");
            continue;
        }
        cr_assert_eq(status, SM_OK);
        cr_assert_eq(sm_annulus_geometry(&arena, ri, ro, length, burning, &want, NULL), SM_OK);
        cr_expect_float_eq(g.web, want.web, 1e-14 * length);
        for (int i = 0; i < 12; i++) {
            const double w = want.web * (i + 0.3) / 12;
            struct sm_geometry_at a, b;
            sm_geometry_eval(&want, w, &a);
            sm_geometry_eval(&g, w, &b);
            for (int q = 0; q < SM_N_INTEGRALS; q++) {
                cr_expect_float_eq(b.value[q], a.value[q], 1e-12 * g.envelope, "faces %x, value %d", burning,
                                   q);
                cr_expect_float_eq(b.slope[q], a.slope[q], 1e-12 * area_at(&want, 0.0),
                                   "faces %x, slope %d: %g %g", burning, q, b.slope[q], a.slope[q]);
            }
        }
    }
    sm_arena_release(&arena);
}

/* A bore that gets wider by nanometres along metres goes out from end to end faster than stages are told apart. Until then it
 * is a cone that keeps its slope, so its radii grow alike; in the end nothing is left, and no volume is lost. Elementary, with
 * the slope's cosine 1 to rounding. */
static void hold_all_but_straight(double length, double wider)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const double ri = 0.01, ro = 0.03;
    struct sm_meridian m = {.length = length, .radius = ro, .burning = SM_FACE_BORE};
    sm_contour_init(&m.bore, &arena);
    sm_contour_start(&m.bore, length, ri + wider);
    sm_contour_line(&m.bore, 0.0, ri);
    struct sm_geometry g;
    struct sm_error err = {0};
    cr_assert_eq(sm_meridian_geometry(&arena, &m, &g, &err), SM_OK, "%s", err.message);
    double before = 0.0;
    for (size_t i = 0; i < g.n_pieces; i++)
        for (int k = 0; k <= 8; k++) {
            const struct sm_piece *p = &g.pieces[i];
            const double w = p->w0 + (p->w1 - p->w0) * k / 8, r = ri + w, q = r + wider;
            double area, volume;
            sm_piece_area(p, w, &area, &volume);
            if (q < ro - 2e-9 * length)
                cr_expect_float_eq(volume, M_PI * length * (ro * ro - (r * r + r * q + q * q) / 3.0),
                                   1e-11 * g.envelope, "%g m, wider by %g, at %g", length, wider, w);
            cr_expect(area >= 0.0 && (i == 0 || k > 0 || fabs(volume - before) <= 1e-11 * g.envelope),
                      "%g m, wider by %g, at %g: area %g, volume %g", length, wider, w, area, volume);
            before = volume;
        }
    cr_expect_float_eq(before, 0.0, 1e-11 * g.envelope);
    cr_expect_float_eq(g.web, ro - ri, 2e-9 * length);
    sm_arena_release(&arena);
}

Test(grain_bodies, all_but_straight_bores)
{
    for (double wider = 1e-10; wider < 1e-6; wider *= 10.0) {
        hold_all_but_straight(0.1, wider);
        hold_all_but_straight(5.0, wider);
        hold_all_but_straight(27.0, wider);
    }
}

/* A bore with a half-spherical end concentric with a half-spherical dome: the front stays a cylinder and a half-sphere of
 * radius r + w up to the web R - r. A = 2 pi (r + w)(L - R) + 2 pi (r + w)^2; elementary. */
Test(grain_bodies, concentric_dome)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const double R = 0.06, r = 0.018, L = 0.24;
    struct sm_meridian m = {.length = L, .radius = R, .fore_dome = R, .burning = SM_FACE_BORE};
    sm_contour_init(&m.bore, &arena);
    sm_contour_start(&m.bore, L, r);
    sm_contour_line(&m.bore, R, r);
    sm_contour_arc(&m.bore, R - r, 0.0, R, 0.0, 1);
    struct sm_geometry g;
    struct sm_error err = {0};
    cr_assert_eq(sm_meridian_geometry(&arena, &m, &g, &err), SM_OK, "%s", err.message);
    cr_expect_float_eq(g.web, R - r, 1e-14);
    for (int i = 0; i < 20; i++) {
        const double w = g.web * i / 20, x = r + w;
        const double left = M_PI * (R * R - x * x) * (L - R) + 2.0 / 3.0 * M_PI * (pow(R, 3) - pow(x, 3));
        cr_expect_float_eq(area_at(&g, w), 2 * M_PI * x * (L - R + x), 1e-12 * area_at(&g, 0.0));
        cr_expect_float_eq(volume_at(&g, w), left, 1e-13 * g.envelope);
    }
    sm_arena_release(&arena);
}

/* Volume and area alone are the closed form's of the concentric dome, and those of a whole knot where a recess has a corner's arc
 * and, towards the web, flat ones: to a few roundings of the whole. */
Test(grain_bodies, volume_alone)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const double R = 0.06, r = 0.018, L = 0.24;
    struct sm_meridian dome = {.length = L, .radius = R, .fore_dome = R, .burning = SM_FACE_BORE},
                       recess = {.length = 2.0, .radius = 1.0, .burning = SM_FACE_BORE | SM_FACE_AFT_END};
    sm_contour_init(&dome.bore, &arena);
    sm_contour_start(&dome.bore, L, r);
    sm_contour_line(&dome.bore, R, r);
    sm_contour_arc(&dome.bore, R - r, 0.0, R, 0.0, 1);
    sm_contour_init(&recess.bore, &arena);
    sm_contour_start(&recess.bore, 2.0, 0.2);
    sm_contour_line(&recess.bore, 1.7, 0.2);
    sm_contour_line(&recess.bore, 1.3, 0.0);
    struct sm_burning_meridian b;
    double volume, area;
    cr_assert_eq(sm_meridian_burn(&arena, &dome, &b, NULL), SM_OK);
    for (int i = 0; i < 20; i++) {
        const double x = r + (R - r) * i / 20;
        const double left = M_PI * (R * R - x * x) * (L - R) + 2.0 / 3.0 * M_PI * (pow(R, 3) - pow(x, 3));
        sm_revolve_volume(&b.fronts, &b.stages.items[0], x - r, &volume, &area);
        cr_expect_float_eq(volume, left, 1e-14 * R * R * L);
        cr_expect_float_eq(area, 2 * M_PI * x * (L - R + x), 1e-14 * R * L);
    }
    cr_assert_eq(sm_meridian_burn(&arena, &recess, &b, NULL), SM_OK);
    cr_assert_gt(b.stages.n, 4);
    for (size_t i = 0; i < b.stages.n; i++)
        for (int j = 0; j <= 4; j++) {
            const struct sm_stage *stage = &b.stages.items[i];
            const double w = stage->w0 + 0.25 * j * (stage->w1 - stage->w0);
            struct sm_geometry_knot knot;
            sm_revolve_knot(&b.fronts, stage, w, &knot);
            sm_revolve_volume(&b.fronts, stage, w, &volume, &area);
            cr_expect_float_eq(volume, knot.value[SM_VOLUME], 1e-14, "stage %zu, w %g: %.17g, not %.17g", i,
                               w, volume, knot.value[SM_VOLUME]);
            cr_expect_float_eq(area, -knot.slope[SM_VOLUME], 1e-13, "stage %zu, w %g: %.17g, not %.17g", i, w,
                               area, -knot.slope[SM_VOLUME]);
        }
    sm_arena_release(&arena);
}

/* What a bore of radius x takes of a cylinder with half ellipsoids of depths a and b for ends: a cylinder between its mouths,
 * and beyond each the cap of an ellipsoid, pi R^2 m^2 (3 a - m) / (3 a^2) high m. Elementary. */
static double void_of(double x, double R, double L, const double depths[2])
{
    double straight = L, caps = 0.0;
    for (int k = 0; k < 2; k++) {
        const double a = depths[k], m = a * (1.0 - sqrt(1.0 - x * x / (R * R)));
        straight -= m;
        caps += M_PI * R * R * m * m * (3.0 * a - m) / (3.0 * a * a);
    }
    return M_PI * x * x * straight + caps;
}

/* A bore through domes of any depth: every point left lies beside it, so the front stays a cylinder. Tolerance: the arcs that
 * a dome is drawn by are 4e-6 of the volume off it. */
Test(grain_bodies, bore_through_elliptical_domes)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const double R = 0.06, r = 0.018, L = 0.24;
    static const double depths[][2] = {{0.02, 0.06},  {0.03, 0.03},    {0.045, 0.08},
                                       {0.06, 0.06},  {0.09, 0.02},    {0.005, 0.01},
                                       {0.001, 0.06}, {0.0003, 0.002}, {0.003, 0.15}};
    const struct sm_shape *shape = sm_shape_find("domed-tube");
    for (size_t i = 0; i < SM_COUNT(depths); i++) {
        const double block[4] = {2 * r, SM_ABSENT, depths[i][0], depths[i][1]};
        const struct sm_grain_common common = {2 * R, L, SM_FACE_BORE, SM_BURNBACK_STRAIGHT, 0.0};
        struct sm_geometry g;
        struct sm_error err = {0};
        cr_assert_eq(shape->size, sizeof block);
        cr_assert_eq(sm_shape_geometry(shape, &arena, &common, block, &g, &err), SM_OK, "%s", err.message);
        const double domes = depths[i][0] + depths[i][1];
        const double envelope = M_PI * R * R * (L - domes / 3.0), d = 1e-6;
        for (int k = 0; k < 10; k++) {
            const double x = r + (R - r) * (k + 0.5) / 10.0, w = x - r;
            const double area =
                (void_of(x + d, R, L, depths[i]) - void_of(x - d, R, L, depths[i])) / (2.0 * d);
            cr_expect_float_eq(volume_at(&g, w), envelope - void_of(x, R, L, depths[i]), 1e-5 * envelope,
                               "%zu at %g: off by %g", i, w,
                               volume_at(&g, w) / (envelope - void_of(x, R, L, depths[i])) - 1.0);
            cr_expect_float_eq(area_at(&g, w), area, 1e-4 * area, "%zu at %g: %g, not %g", i, w,
                               area_at(&g, w), area);
        }
    }
    sm_arena_release(&arena);
}

/* Domes that are all but flat, or needles, are refused at their own place, with what would be right. */
Test(grain_bodies, domes_have_bounds)
{
    static const struct {
        double fore, aft;
        const char *path;
    } rows[] = {{0.0002, 0.0, "/fore_dome"}, {0.01, 1e-9, "/aft_dome"}, {0.0, 13.0, "/aft_dome"}};
    const struct sm_shape *shape = sm_shape_find("domed-tube");
    const struct sm_grain_common common = {0.12, 20.0, SM_FACE_BORE, SM_BURNBACK_STRAIGHT, 0.0};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        const double block[4] = {0.036, SM_ABSENT, rows[i].fore, rows[i].aft};
        struct sm_arena arena;
        struct sm_geometry g;
        struct sm_error err = {0};
        sm_arena_init(&arena, NULL);
        cr_expect_eq(sm_shape_geometry(shape, &arena, &common, block, &g, &err), SM_E_GEOMETRY);
        cr_expect_str_eq(err.at.path, rows[i].path);
        cr_expect(strstr(err.message, "from 0.3 mm to 1.2e+04 mm"), "%s", err.message);
        sm_arena_release(&arena);
    }
}

/* Cone frustum: area pi (a + b) s along its side s, volume pi h (a^2 + ab + b^2) / 3; a drilled recess adds a cylinder and a
 * cone. Elementary; at the start only, since the fronts then lose their corners. */
Test(grain_bodies, first_area_and_volume)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const double R = 0.03, L = 0.11, a = 0.009, b = 0.013;
    struct sm_meridian m = {.length = L, .radius = R, .burning = SM_FACE_BORE};
    sm_contour_init(&m.bore, &arena);
    sm_contour_start(&m.bore, L, b);
    sm_contour_line(&m.bore, 0.0, a);
    struct sm_geometry g;
    cr_assert_eq(sm_meridian_geometry(&arena, &m, &g, NULL), SM_OK);
    cr_expect_float_eq(area_at(&g, 0.0), M_PI * (a + b) * hypot(L, b - a), 1e-14);
    cr_expect_float_eq(volume_at(&g, 0.0), M_PI * L * (R * R - (a * a + a * b + b * b) / 3), 1e-17);
    cr_expect_float_eq(g.port_area, M_PI * b * b, 1e-16);

    const double recess[5] = {0.02, 0.03, 0.008}; /* diameter, depth, point [m] */
    const struct sm_grain_common common = {2 * R, L, SM_FACE_AFT_END, SM_BURNBACK_STRAIGHT, 0.0};
    cr_assert_eq(sm_shape_geometry(sm_shape_find("end-burner"), &arena, &common, recess, &g, NULL), SM_OK);
    const double r = 0.01;
    cr_expect_float_eq(area_at(&g, 0.0),
                       M_PI * (R * R - r * r) + 2 * M_PI * r * 0.03 + M_PI * r * hypot(r, 0.008), 1e-14);
    cr_expect_float_eq(volume_at(&g, 0.0), M_PI * R * R * L - M_PI * r * r * (0.03 + 0.008 / 3), 1e-17);
    sm_arena_release(&arena);
}

/* ---- sample points ---- */

/* Distance from the outline of what burns; propellant is where the nearest edge has it on its right. */
static double distance_from(const struct sm_contour *contour, struct sm_point p)
{
    double least = SM_INF, side = 1.0;
    struct sm_point sum = {0, 0};
    for (size_t i = 0; i < contour->n_edges; i++) {
        const struct sm_edge *e = &contour->edges[i];
        double share;
        if (e->turn == 0) {
            const double dx = e->b.x - e->a.x, dy = e->b.y - e->a.y;
            share = ((p.x - e->a.x) * dx + (p.y - e->a.y) * dy) / (dx * dx + dy * dy);
        } else {
            double a = e->turn * (atan2(p.y - e->centre.y, p.x - e->centre.x) -
                                  atan2(e->a.y - e->centre.y, e->a.x - e->centre.x));
            a -= 2 * M_PI * floor(a / (2 * M_PI));
            share = a / sm_edge_sweep(e);
            if (share > 1.0 && a - sm_edge_sweep(e) > M_PI - 0.5 * sm_edge_sweep(e))
                share = 0.0;
        }
        const struct sm_point q = sm_edge_point(e, fmin(fmax(share, 0.0), 1.0));
        const double d = hypot(p.x - q.x, p.y - q.y);
        if (d > least + 1e-12)
            continue;
        struct sm_point t = sm_edge_direction(e, share > 0.5);
        if (e->turn != 0)
            t = (struct sm_point){-e->turn * (q.y - e->centre.y) / e->radius,
                                  e->turn * (q.x - e->centre.x) / e->radius};
        if (d < least - 1e-12)
            sum = (struct sm_point){0, 0};
        least = fmin(least, d);
        sum = (struct sm_point){sum.x + t.y, sum.y - t.x};
        side = (p.x - q.x) * sum.x + (p.y - q.y) * sum.y >= 0.0 ? 1.0 : -1.0;
    }
    return side * least;
}

static bool is_in_envelope(const struct sm_meridian *m, struct sm_point p)
{
    const double f = m->fore_dome - p.x, a = p.x - (m->length - m->aft_dome), y = p.y / m->radius;
    return (f <= 0.0 || pow(f / m->fore_dome, 2) + y * y <= 1.0) &&
           (a <= 0.0 || pow(a / m->aft_dome, 2) + y * y <= 1.0);
}

/* When fire that runs k times faster along a path from its start comes to a point beside it: along the path, then straight
 * across at the angle that takes least time, with cosine 1/k to the path (Fermat). */
static double by_path(double k, double along, double beside)
{
    const double lean = k > 1.0 ? sqrt(k * k - 1.0) : 0.0;
    return k > 1.0 && along > beside / lean ? (along + beside * lean) / k : SM_INF;
}

static double recess_of(const struct sm_meridian *m)
{
    return m->bore.n_edges > 0 ? m->length - m->bore.edges[m->bore.n_edges - 1].b.x : 0.0;
}

/* Volume left at w by points of the evenly spread R2 sequence in the meridian, each weighed by its circle. Tolerance: 2e-3 of
 * the envelope for 20000 points; a wrong front would be off by per cents. */
static void samples_agree(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g)
{
    enum { LEVELS = 6, SAMPLES = 20000 };
    struct sm_meridian m;
    struct sm_error err = {0};
    cr_assert_eq(sm_shape_meridian(e->shape, arena, &e->common, e->params, &m, &err), SM_OK, "%s",
                 err.message);
    const double L = m.length, R = m.radius, cell = 2 * M_PI * L * R / SAMPLES;
    double sum[LEVELS] = {0.0};
    for (int i = 0; i < SAMPLES; i++) {
        const struct sm_point p = {L * fmod(0.5 + 0.7548776662466927 * i, 1.0),
                                   R * fmod(0.5 + 0.5698402909980532 * i, 1.0)};
        double d = m.bore.n_edges > 0 ? distance_from(&m.bore, p) : SM_INF;
        d = m.burning & SM_FACE_FORE_END ? fmin(d, p.x) : d;
        d = m.burning & SM_FACE_AFT_END ? fmin(d, L - p.x) : d;
        d = m.burning & SM_FACE_OUTER ? fmin(d, R - p.y) : d;
        const double face = m.burning & SM_FACE_AFT_END ? L : 0.0;
        d = fmin(d, by_path(m.bond_line_ratio, fabs(face - p.x), R - p.y));
        d = fmin(d, by_path(m.axis_ratio, fabs(face - p.x) - recess_of(&m), p.y));
        for (int k = 0; k < LEVELS; k++)
            sum[k] += d > g->web * k / LEVELS && is_in_envelope(&m, p) ? cell * p.y : 0.0;
    }
    for (int k = 0; k < LEVELS; k++)
        cr_expect_float_eq(sum[k], volume_at(g, g->web * k / LEVELS), 2e-3 * g->envelope,
                           "%s, level %d: %g, sampled %g", e->shape->name, k,
                           volume_at(g, g->web * k / LEVELS), sum[k]);
}

Test(grain_bodies, samples_agree)
{
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++)
        for (uint64_t draw = 0; (*shape)->meridian && draw < 3; draw++) {
            struct sm_arena arena;
            sm_arena_init(&arena, NULL);
            uint64_t state = 90210 + draw;
            struct example e = example_read(&arena, *shape);
            struct sm_geometry g;
            if (draw > 0)
                e = example_draw(&arena, &e, 0.25, &state, &g);
            else
                cr_assert_eq(sm_shape_geometry(*shape, &arena, &e.common, e.params, &g, NULL), SM_OK);
            samples_agree(&arena, &e, &g);
            sm_arena_release(&arena);
        }
}
