/* Ports of solids: closed forms, slices of the same port, convergence, refusals. */
#include <criterion/criterion.h>
#include <gsl/gsl_qrng.h>
#include <math.h>
#include <string.h>

#include "grain/across.h"
#include "grain/facets.h"
#include "grain/slices.h"
#include "unit/grain/example.h"

static struct sm_solid solid(enum sm_solid_form form, double a, double b, double c, double tilt)
{
    struct sm_solid s = {.form = form, .at = {0.05, -0.08, 0.9}, .a = a, .b = b, .c = c};
    sm_solid_aim(&s, tilt, 0.4, 0.3);
    return s;
}

/* The patcher of one void in a grain of radius 1 and length 2. */
static void one_void(struct sm_arena *arena, const struct sm_void *v, size_t n, unsigned burning,
                     int fineness, struct sm_voids *voids, struct sm_patcher *out)
{
    *voids = (struct sm_voids){v, n, 1.0, 2.0, burning, fineness};
    cr_assert_eq(sm_patcher_init(arena, voids, out, NULL), SM_OK);
}

static struct sm_solid rounded_box(double a, double b, double c, double fillet)
{
    struct sm_solid s = solid(SM_SOLID_BOX, a, b, c, 0.7);
    s.fillet = fillet;
    return s;
}

/* A square of side 0.2 from radius 0.3 on, with half a disc on its outer side; by Pappus. */
static struct sm_solid round_sided_ring(struct sm_arena *arena, double *volume)
{
    struct sm_turned *t = sm_arena_alloc(arena, 1, sizeof *t);
    struct sm_contour c;
    struct sm_solid s = solid(SM_SOLID_TURNED, 0, 0, 0, 0.0);
    sm_contour_init(&c, arena);
    sm_contour_start(&c, -0.1, 0.3);
    sm_contour_line(&c, 0.1, 0.3);
    sm_contour_line(&c, 0.1, 0.5);
    sm_contour_arc(&c, -0.1, 0.5, 0.0, 0.5, 1);
    sm_contour_line(&c, -0.1, 0.3);
    cr_assert_eq(sm_turned_make(arena, &c, 3.0, t, NULL), SM_OK);
    *volume = 2 * M_PI * (0.04 * 0.4 + 0.5 * M_PI * 0.01 * (0.5 + 0.4 / (3 * M_PI)));
    s.turned = t;
    return s;
}

enum { PLACES_OF_BARREL = 6 };
static const struct sm_point barrel[PLACES_OF_BARREL] = {{0.0, 0.0}, {0.0, 0.1},  {0.12, 0.2},
                                                         {0.3, 0.2}, {0.4, 0.05}, {0.4, 0.0}};

/* Of a convex profile: frusta, and rims that turn by the angle between their neighbours. */
static struct sm_solid turned_barrel(struct sm_arena *arena, double *volume, double *area, double *curvature)
{
    struct sm_turned *t = sm_arena_alloc(arena, 1, sizeof *t);
    struct sm_contour c;
    struct sm_solid s = solid(SM_SOLID_TURNED, 0, 0, 0, 1.1);
    double before = 0.0;
    *volume = *area = *curvature = 0.0;
    sm_contour_init(&c, arena);
    sm_contour_start(&c, barrel[PLACES_OF_BARREL - 1].x, barrel[PLACES_OF_BARREL - 1].y);
    for (int i = PLACES_OF_BARREL - 1; i-- > 0;)
        sm_contour_line(&c, barrel[i].x, barrel[i].y);
    for (int i = 0; i + 1 < PLACES_OF_BARREL; i++) {
        const struct sm_point p = barrel[i], q = barrel[i + 1];
        const double h = q.x - p.x, way = atan2(q.y - p.y, h);
        *volume += M_PI * h * (p.y * p.y + p.y * q.y + q.y * q.y) / 3;
        *area += M_PI * (p.y + q.y) * hypot(h, q.y - p.y);
        *curvature += M_PI * h + (i > 0 ? M_PI * p.y * (before - way) : 0.0);
        before = way;
    }
    cr_assert_eq(sm_turned_make(arena, &c, 3.0, t, NULL), SM_OK);
    s.turned = t;
    return s;
}

/*
 * Parallel bodies of convex bodies have the volume V + S w + M w^2 + 4/3 pi w^3 and the area S + 2 M w + 4 pi w^2, M being
 * the integral of the mean curvature, in which an edge counts with half its length times the angle it turns by (J. Steiner
 * 1840; R. Schneider, Convex Bodies: The Brunn-Minkowski Theory, sec. 4.2). Tolerance: that of three Gauss points to an eighth
 * of a turn, 1e-6.
 */
Test(grain_voids, steiners_formula)
{
    const double a = 0.21, b = 0.09, c = 0.34, side = hypot(a - b, c), lean = atan2(a - b, c);
    const double f = 0.05, round = 4 * (a + b) - (8 - 2 * M_PI) * f, flat = 4 * a * b - (4 - M_PI) * f * f;
    double volume_of, area_of, curvature_of;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_solid barrel_solid = turned_barrel(&arena, &volume_of, &area_of, &curvature_of);
    const struct {
        const char *name;
        struct sm_void v;
        double volume, area, curvature; /* [m3], [m2], [m] */
    } cases[] = {
        {"ball",
         {solid(SM_SOLID_BALL, a, 0, 0, 0.2), 1},
         4 * M_PI * a * a * a / 3,
         4 * M_PI * a * a,
         4 * M_PI * a},
        {"box",
         {solid(SM_SOLID_BOX, a, b, c, 0.7), 1},
         8 * a * b * c,
         8 * (a * b + b * c + c * a),
         2 * M_PI * (a + b + c)},
        {"cylinder",
         {solid(SM_SOLID_CONE, a, a, c, 0.7), 1},
         M_PI * a * a * c,
         2 * M_PI * a * (a + c),
         M_PI * c + M_PI * M_PI * a},
        {"cone",
         {solid(SM_SOLID_CONE, a, b, c, 1.1), 1},
         M_PI * c * (a * a + a * b + b * b) / 3,
         M_PI * (a * a + b * b + (a + b) * side),
         M_PI * c + M_PI * a * (M_PI_2 + lean) + M_PI * b * (M_PI_2 - lean)},
        {"pointed cone",
         {solid(SM_SOLID_CONE, a, 0.0, c, 1.1), 1},
         M_PI * c * a * a / 3,
         M_PI * (a * a + a * hypot(a, c)),
         M_PI * c + M_PI * a * (M_PI_2 + atan2(a, c))},
        {"rounded box",
         {rounded_box(a, b, c, f), 1},
         2 * c * flat,
         2 * flat + 2 * c * round,
         2 * M_PI * c + M_PI_2 * round},
        {"slot with round ends",
         {rounded_box(a, b, c, b), 1},
         2 * c * (4 * (a - b) * b + M_PI * b * b),
         2 * (4 * (a - b) * b + M_PI * b * b) + 2 * c * (4 * (a - b) + 2 * M_PI * b),
         2 * M_PI * c + M_PI_2 * (4 * (a - b) + 2 * M_PI * b)},
        {"turned barrel", {barrel_solid, 1}, volume_of, area_of, curvature_of},
    };
    for (size_t i = 0; i < SM_COUNT(cases); i++)
        for (int k = 0; k < 4; k++) {
            const double w = 0.06 * k;
            const double v = cases[i].volume, s = cases[i].area, m = cases[i].curvature;
            struct sm_voids voids;
            struct sm_patcher p;
            struct sm_patch_sums sums;
            one_void(&arena, &cases[i].v, 1, SM_FACE_BORE, 8, &voids, &p);
            sm_patcher_level(&p, w, &sums);
            const double area = s + 2 * m * w + 4 * M_PI * w * w;
            const double volume = v + s * w + m * w * w + 4 * M_PI / 3 * w * w * w;
            cr_expect_float_eq(sums.front[SM_VOLUME], area, 1e-6 * area, "%s, w %g: area %.12g, not %.12g",
                               cases[i].name, w, sums.front[SM_VOLUME], area);
            cr_expect_float_eq(2 * M_PI - sm_patcher_volume(&p, w), volume, 1e-6, "%s, w %g: volume",
                               cases[i].name, w);
            cr_expect_eq(sums.astray, 0u);
        }
    sm_arena_release(&arena);
}

/* A torus's parallel surface is a torus: area 4 pi^2 R (r + w), by Pappus. */
Test(grain_voids, torus)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_void v = {solid(SM_SOLID_RING, 0.4, 0.07, 0, 0.8), 1};
    struct sm_voids voids;
    struct sm_patcher p;
    struct sm_patch_sums sums;
    one_void(&arena, &v, 1, SM_FACE_BORE, 8, &voids, &p);
    for (int k = 0; k < 4; k++) {
        const double w = 0.05 * k, area = 4 * M_PI * M_PI * 0.4 * (0.07 + w);
        sm_patcher_level(&p, w, &sums);
        cr_expect_float_eq(sums.front[SM_VOLUME], area, 1e-6 * area);
    }
    sm_arena_release(&arena);
}

/* Two cylinders of radius r that cross at right angles share 16/3 r^3 (Archimedes, The Method, prop. 15; the Steinmetz
 * solid), and 16 r^2 of their walls lie on it, so that much wall is lost. The error falls with the square of the fineness,
 * one way and the other: here it stays below 0.25 of the square of a cell for the area and 0.025 for the volume, over a range in
 * which one of first order would pass that by eight times. */
Test(grain_voids, crossing_cylinders)
{
    const double r = 0.3, length = 1.2;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_void v[2] = {{.count = 1}, {.count = 1}};
    for (int i = 0; i < 2; i++) {
        v[i].solid = solid(SM_SOLID_CONE, r, r, length, 0.35 + i * M_PI_2);
        v[i].solid.at = sm_triple_add((struct sm_triple){0.0, 0.0, 1.0}, -0.5 * length, v[i].solid.axes[2]);
    }
    for (int fineness = 16; fineness <= 128; fineness *= 2) {
        struct sm_voids voids;
        struct sm_patcher p;
        struct sm_patch_sums sums;
        one_void(&arena, v, 2, SM_FACE_BORE, fineness, &voids, &p);
        sm_patcher_level(&p, 0.0, &sums);
        const double area = 2 * 2 * M_PI * r * (r + length) - 16 * r * r;
        const double volume = 2 * M_PI * r * r * length - 16 * r * r * r / 3;
        const double error[2] = {fabs(sums.front[SM_VOLUME] - area),
                                 fabs(2 * M_PI - sm_patcher_volume(&p, 0.0) - volume)};
        const double most[2] = {0.25, 0.025};
        for (int i = 0; i < 2; i++)
            cr_expect_lt(error[i] * fineness * fineness, most[i], "fineness %d: error %g", fineness,
                         error[i]);
    }
    sm_arena_release(&arena);
}

/* Bars of a cross, 2 a by 2 b by 2 c each, that lie in one another with their flat ends: made as four copies, of which two and two are
 * the same bar, and as two bars. Edges roll by quarter turns; at the cross's inner corners two rolls w wide meet and lose w^2 each, and
 * two sides lose w. Tolerance at fineness 32: 2e-4 of the area, as bars of their own 1e-3, for there the flat ends of one are told from the
 * other's to a part of a cell only. */
Test(grain_voids, copies_that_lie_in_one_another)
{
    const double a = 0.5, b = 0.12, c = 0.3;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_void v[2] = {{.count = 4}, {.count = 1}};
    for (int i = 0; i < 2; i++) {
        v[i].solid = (struct sm_solid){.form = SM_SOLID_BOX, .at = {0.0, 0.0, 1.0}, .a = a, .b = b, .c = c};
        sm_solid_aim(&v[i].solid, 0.0, 0.0, i == 0 ? 0.0 : M_PI_2);
    }
    for (int n = 1; n <= 2; n++)
        for (int k = 0; k < 4; k++) {
            const double w = 0.04 * k, flat = 2 * (8 * a * b - 4 * b * b),
                         sides = 2 * c * (8 * b + 8 * (a - b - w) + 4 * M_PI * w),
                         rolls = 16 * ((a - b) * M_PI_2 * w - w * w) + 8 * M_PI * b * w + 8 * M_PI * w * w;
            struct sm_voids voids;
            struct sm_patcher p;
            struct sm_patch_sums sums;
            v[0].count = n == 1 ? 4 : 1;
            one_void(&arena, v, (size_t)n, SM_FACE_BORE, 32, &voids, &p);
            sm_patcher_level(&p, w, &sums);
            const double area = flat + sides + rolls;
            cr_expect_float_eq(sums.front[SM_VOLUME], area, (n == 1 ? 2e-4 : 1e-3) * area,
                               "%d voids, w %g: %.9g, not %.9g", n, w, sums.front[SM_VOLUME], area);
        }
    sm_arena_release(&arena);
}

/* A slanted bore through a grain whose ends both burn: every plane across it is a circle's ellipse, so until the wall is
 * reached the volume is (pi R^2 - pi (r + w)^2 / cos tilt) (L - 2 w) exactly, and its first moments follow from the middle,
 * which moves along the bore's axis. Tolerance: 1e-3 of
 * the area at fineness 32, 3e-4 of the grain for volumes, 1e-4 of its unit for the product of inertia, which is 2e-3. */
Test(grain_voids, slanted_bore)
{
    const double tilt = 0.25, r = 0.2, length = 2.0;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_void v = {.count = 1};
    v.solid = solid(SM_SOLID_CONE, r, r, 4.0, tilt);
    v.solid.at = sm_triple_add((struct sm_triple){0.0, 0.0, 0.5 * length}, -2.0, v.solid.axes[2]);
    const struct sm_voids voids = {&v, 1, 1.0, length, SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END, 32};
    struct sm_geometry g;
    struct sm_error err = {0};
    cr_assert_eq(sm_voids_geometry(&arena, &voids, 1, &g, &err), SM_OK, "%s", err.message);
    struct sm_geometry_at at;
    sm_geometry_eval(&g, 0.0, &at);
    for (int i = 0; i < 20; i++) {
        const double w = 0.4 * i / 20, ellipse = M_PI * (r + w) * (r + w) / cos(tilt);
        const double left = M_PI - ellipse, high = length - 2 * w;
        const double area = 2 * M_PI * (r + w) / cos(tilt) * high + 2 * left;
        sm_geometry_eval(&g, w, &at);
        cr_expect_float_eq(-at.slope[SM_VOLUME], area, 1e-3 * area, "w %g: area %.9g, not %.9g", w,
                           -at.slope[SM_VOLUME], area);
        cr_expect_float_eq(at.value[SM_VOLUME], left * high, 3e-4 * g.envelope, "w %g: volume", w);
        cr_expect_float_eq(at.value[SM_Z], left * high * 0.5 * length, 3e-4 * g.envelope, "w %g: z", w);
        const double slide =
            tan(tilt) * cos(0.4) * sin(0.4) * tan(tilt); /* of the bore's middle, x times y */
        const double own =
            -ellipse * 0.25 * (r + w) * (r + w) * (1 / pow(cos(tilt), 2) - 1) * cos(0.4) * sin(0.4);
        cr_expect_float_eq(at.value[SM_XY], own * high - ellipse * slide * pow(high, 3) / 12, 1e-4,
                           "w %g: xy", w);
    }
    sm_arena_release(&arena);
}

/* ---- the same finocyl by slices ---- */

enum { FINS = 6 };
static const double bore = 0.35, half = 0.06, tip = 0.76, joint = 0.9, length = 2.0;

static struct sm_spliced sliced(struct sm_arena *arena, struct sm_splice items[2])
{
    const double s = M_PI / FINS, mouth = sqrt(bore * bore - half * half);
    items[0] = (struct sm_splice){.z1 = joint};
    items[1] = (struct sm_splice){.z0 = joint, .z1 = length};
    for (int i = 0; i < 2; i++) {
        struct sm_contour *c = &items[i].contour;
        sm_contour_init(c, arena);
        if (i == 0) {
            sm_contour_start(c, tip, 0.0);
            sm_contour_line(c, tip, half);
            sm_contour_line(c, mouth, half);
        } else {
            sm_contour_start(c, bore, 0.0);
        }
        sm_contour_arc(c, bore * cos(s), bore * sin(s), 0.0, 0.0, 1);
    }
    return (struct sm_spliced){items, 2, FINS, 1.0, SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END};
}

static void fin_voids(struct sm_void v[2])
{
    v[0] = (struct sm_void){.solid = {.form = SM_SOLID_CONE, .a = bore, .b = bore, .c = length}, .count = 1};
    v[1] = (struct sm_void){.solid = {.form = SM_SOLID_BOX,
                                      .at = {0.5 * tip, 0.0, 0.5 * joint},
                                      .a = 0.5 * tip,
                                      .b = half,
                                      .c = 0.5 * joint},
                            .count = FINS};
    sm_solid_aim(&v[0].solid, 0.0, 0.0, 0.0);
    sm_solid_aim(&v[1].solid, 0.0, 0.0, 0.0);
}

/* Slices and patches share nothing but the port. Tolerances at fineness 32: 3e-4 at worst, and 5e-5 on
 * average; both of the area at the start. Twice the fineness: at least three times better on
 * average, second order being four. */
Test(grain_voids, finocyl_by_slices)
{
    enum { LEVELS = 40 };
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_splice items[2];
    struct sm_void v[2];
    struct sm_slicer slicer;
    const struct sm_spliced grain = sliced(&arena, items);
    double mean[2] = {0.0}, worst[2] = {0.0}, start = 0.0;
    cr_assert_eq(sm_slicer_init(&arena, &grain, &slicer, NULL), SM_OK);
    fin_voids(v);
    for (int i = 0; i < LEVELS; i++) {
        struct sm_geometry_knot knot;
        const double w = 0.64 * (i + 0.3) / LEVELS;
        cr_assert_eq(sm_slicer_knot(&slicer, w, &knot, NULL), SM_OK);
        start = i == 0 ? -knot.slope[SM_VOLUME] : start;
        for (int k = 0; k < 2; k++) {
            const struct sm_voids voids = {v, 2, 1.0, length, grain.burning, 32 << k};
            struct sm_patcher p;
            struct sm_patch_sums sums;
            cr_assert_eq(sm_patcher_init(&arena, &voids, &p, NULL), SM_OK);
            sm_patcher_level(&p, w, &sums);
            const double error = (sums.front[SM_VOLUME] + knot.slope[SM_VOLUME]) / start;
            mean[k] += error * error / LEVELS;
            worst[k] = fmax(worst[k], fabs(error));
            for (int q = 0; q < SM_N_INTEGRALS; q++)
                cr_expect_float_eq(sums.front[q], -knot.slope[q], 4 * 1.5e-3 * start, "w %g, integral %d", w,
                                   q);
        }
    }
    cr_expect_lt(worst[0], 3e-4, "worst %g", worst[0]);
    cr_expect_lt(sqrt(mean[0]), 5e-5, "rms %g", sqrt(mean[0]));
    cr_expect_lt(sqrt(mean[1]), sqrt(mean[0]) / 3, "rms %g, then %g", sqrt(mean[0]), sqrt(mean[1]));
    sm_arena_release(&arena);
}

struct plane {
    const struct sm_patcher *patcher;
    double z; /* [m] */
};

static double plane_distance(void *user, struct sm_point p)
{
    const struct plane *plane = user;
    return sm_patcher_distance(plane->patcher, (struct sm_triple){p.x, p.y, plane->z});
}

/* In one plane across the axis the slices are exact, and the solids' distances know nothing of them: in the fins, where they have
 * just ended, and in the bore. Tolerances for fronts of two dozen corners: 6e-5 of the circle, 3e-4 of its circumference; in root
 * mean square 1e-5 and 1e-4. */
Test(grain_voids, planes_of_a_finocyl_by_slices)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_splice items[2];
    struct sm_void v[2];
    struct sm_slicer slicer;
    struct sm_patcher patcher;
    const struct sm_spliced grain = sliced(&arena, items);
    const struct sm_voids voids = {v, 2, 1.0, length, SM_FACE_BORE, 32};
    fin_voids(v);
    cr_assert_eq(sm_slicer_init(&arena, &grain, &slicer, NULL), SM_OK);
    cr_assert_eq(sm_patcher_init(&arena, &voids, &patcher, NULL), SM_OK);
    double squares[2] = {0.0};
    int n = 0;
    static const double places[] = {0.65, 0.87, 0.983, 1.33};
    for (size_t i = 0; i < SM_COUNT(places); i++)
        for (double w = 0.0; w < 0.6; w += 0.07) {
            struct plane plane = {&patcher, places[i]};
            const struct sm_across across = {plane_distance, &plane, 1.0, patcher.sectors};
            double left, perimeter, area, front;
            cr_assert_eq(sm_slicer_slice(&slicer, w, places[i], &left, &perimeter, NULL), SM_OK);
            sm_across_measure(&across, w, &area, &front);
            const double misses[2] = {(area - (M_PI - left)) / M_PI, (front - perimeter) / (2.0 * M_PI)};
            cr_expect(fabs(misses[0]) <= 6e-5, "z %g, w %g: area %.9g, not %.9g", places[i], w, area,
                      M_PI - left);
            cr_expect(fabs(misses[1]) <= 3e-4, "z %g, w %g: perimeter %.9g, not %.9g", places[i], w, front,
                      perimeter);
            for (int k = 0; k < 2; k++)
                squares[k] += misses[k] * misses[k];
            n++;
        }
    cr_expect(sqrt(squares[0] / n) <= 1e-5 && sqrt(squares[1] / n) <= 1e-4, "%g, %g", sqrt(squares[0] / n),
              sqrt(squares[1] / n));
    sm_arena_release(&arena);
}

/* The table of the same grain is that of the slices; any number of threads makes the same one, bit by bit. */
Test(grain_voids, threads_make_one_table)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_splice items[2];
    struct sm_void v[2];
    struct sm_geometry sliced_table, one, four;
    const struct sm_spliced grain = sliced(&arena, items);
    fin_voids(v);
    const struct sm_voids voids = {v, 2, 1.0, length, grain.burning, 24};
    cr_assert_eq(sm_spliced_geometry(&arena, &grain, &sliced_table, NULL), SM_OK);
    cr_assert_eq(sm_voids_geometry(&arena, &voids, 1, &one, NULL), SM_OK);
    cr_assert_eq(sm_voids_geometry(&arena, &voids, 4, &four, NULL), SM_OK);
    cr_assert_eq(one.n_pieces, four.n_pieces);
    cr_expect_arr_eq(one.pieces, four.pieces, one.n_pieces * sizeof *one.pieces);
    cr_expect_float_eq(one.web, sliced_table.web, 1e-3 * one.web);
    for (int i = 0; i < 30; i++) {
        struct sm_geometry_at a, b;
        const double w = one.web * (i + 0.4) / 30;
        sm_geometry_eval(&one, w, &a);
        sm_geometry_eval(&sliced_table, w, &b);
        cr_expect_float_eq(a.slope[SM_VOLUME], b.slope[SM_VOLUME], 3e-3 * 14.4, "w %g: %g, not %g", w,
                           a.slope[SM_VOLUME], b.slope[SM_VOLUME]);
        cr_expect_float_eq(a.value[SM_VOLUME], b.value[SM_VOLUME], 1e-3 * one.envelope, "w %g", w);
    }
    sm_arena_release(&arena);
}

/* Any set of instructions makes the same front, bit by bit, of every form of solid. */
Test(grain_voids, sets_make_one_front)
{
    enum { LEVELS = 12 };
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    double of_barrel[3];
    const struct sm_void v[] = {{solid(SM_SOLID_CONE, 0.2, 0.2, 1.1, 0.3), 1},
                                {solid(SM_SOLID_CONE, 0.3, 0.1, 0.6, 0.9), 3},
                                {solid(SM_SOLID_BOX, 0.4, 0.1, 0.3, 0.5), 4},
                                {solid(SM_SOLID_BALL, 0.25, 0.0, 0.0, 0.0), 2},
                                {solid(SM_SOLID_RING, 0.4, 0.1, 0.0, 0.2), 1},
                                {rounded_box(0.3, 0.15, 0.4, 0.1), 3},
                                {round_sided_ring(&arena, &of_barrel[0]), 1},
                                {turned_barrel(&arena, &of_barrel[0], &of_barrel[1], &of_barrel[2]), 2}};
    struct sm_voids voids;
    struct sm_patcher p;
    one_void(&arena, v, SM_COUNT(v), SM_FACE_BORE | SM_FACE_AFT_END, 16, &voids, &p);
    cr_expect_eq(p.set, sm_lane_set_best());
    for (int i = 0; i < LEVELS; i++) {
        struct sm_patch_sums plain, sums;
        p.set = SM_LANE_PLAIN;
        sm_patcher_level(&p, 0.05 * i, &plain);
        for (int set = SM_LANE_PLAIN + 1; set <= (int)sm_lane_set_best(); set++) {
            p.set = (enum sm_lane_set)set;
            sm_patcher_level(&p, 0.05 * i, &sums);
            cr_expect_arr_eq(&sums, &plain, sizeof sums, "set %d, level %d", set, i);
        }
    }
    sm_arena_release(&arena);
}

/* ---- voids that leave aslant through ends that don't burn ---- */

/* Distance from p to a bore of radius r along the z axis leaning by tilt towards x, cut at z = 0 and z = high: to its wall if the
 * nearest point of that lies between the ends, else to the rim that an end cuts out of it, found from place to place round it. */
static double cut_bore_distance(struct sm_triple p, double r, double tilt, double high)
{
    const struct sm_triple way = {sin(tilt), 0.0, cos(tilt)};
    const double along = sm_triple_dot(p, way);
    const struct sm_triple off = sm_triple_add(p, -along, way);
    const double d = sqrt(sm_triple_dot(off, off)), foot = p.z - (1.0 - r / d) * off.z;
    if (d <= r)
        return 0.0;
    if (foot >= 0.0 && foot <= high)
        return d - r;
    const double z = foot < 0.0 ? 0.0 : high;
    double least = HUGE_VAL;
    for (int i = 0; i < 256; i++) {
        const double a = 2.0 * M_PI * i / 256, x = z * tan(tilt) + r * cos(a) / cos(tilt), y = r * sin(a);
        least = fmin(least, hypot(hypot(p.x - x, p.y - y), p.z - z));
    }
    return least;
}

/* A slanted bore through both ends, neither of which burns: places of a net that its fronts have not come to, against the table,
 * and what is left at first, pi (R^2 - r^2 / cos tilt) long. Tolerance: that of counting, 2.5 n^(-2/3), as of the other shapes. */
Test(grain_voids, leaving_aslant)
{
    enum { PLACES = 2048, LEVELS = 6 };
    const double tilt = 0.3, r = 0.2, high = 1.6;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_void v = {.count = 1};
    v.solid = (struct sm_solid){.form = SM_SOLID_CONE, .a = r, .b = r, .c = 6.0};
    sm_solid_aim(&v.solid, tilt, 0.0, 0.0);
    v.solid.at = sm_triple_add((struct sm_triple){-0.25, 0.0, 0.0}, -3.0, v.solid.axes[2]);
    const struct sm_voids voids = {&v, 1, 1.0, high, SM_FACE_BORE, 16};
    struct sm_geometry g;
    struct sm_error err = {0};
    cr_assert(sm_voids_lean_out(&voids));
    cr_assert_eq(sm_voids_geometry(&arena, &voids, 1, &g, &err), SM_OK, "%s", err.message);
    struct sm_geometry_at at;
    sm_geometry_eval(&g, 0.0, &at);
    cr_expect_float_eq(at.value[SM_VOLUME], M_PI * (1.0 - r * r / cos(tilt)) * high, 1e-3 * g.envelope);
    cr_expect_float_eq(g.port_area, M_PI * r * r / cos(tilt), 2e-2 * g.port_area, "port %g", g.port_area);
    int left[LEVELS] = {0};
    gsl_qrng *net = gsl_qrng_alloc(gsl_qrng_sobol, 3);
    for (int i = 0; i < PLACES; i++) {
        double u[3];
        gsl_qrng_get(net, u);
        const double rho = sqrt(u[0]), a = 2.0 * M_PI * u[1];
        const struct sm_triple p = {rho * cos(a) + 0.25, rho * sin(a), high * u[2]};
        const double w = cut_bore_distance(p, r, tilt, high);
        for (int k = 0; k < LEVELS; k++)
            left[k] += w > g.web * k / LEVELS;
    }
    gsl_qrng_free(net);
    for (int k = 0; k < LEVELS; k++) {
        sm_geometry_eval(&g, g.web * k / LEVELS, &at);
        cr_expect_float_eq((double)left[k] / PLACES, at.value[SM_VOLUME] / g.envelope,
                           2.5 * pow(PLACES, -2.0 / 3.0), "level %d", k);
    }
    sm_arena_release(&arena);
}

/* Flares that go on beyond a face that doesn't burn, either way up, against the exact trimmer, and one that burns with its face. Tolerance:
 * Gauss's 1e-6. */
Test(grain_voids, flares_end_in_faces)
{
    enum { LEVELS = 12 };
    const double span = 1.6;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (int i = 0; i < 8; i++) {
        const bool to_aft = i & 1, is_turned = i & 2;
        const unsigned burning = SM_FACE_BORE | (i & 4 ? to_aft ? SM_FACE_FORE_END : SM_FACE_AFT_END : 0);
        const double slope = to_aft ? 0.1 : -0.1, first = to_aft ? 0.2 : 0.36; /* radius at the fore face */
        const double low = -0.5, high = span + 0.7;
        struct sm_void v = {.solid = {.form = SM_SOLID_CONE, .c = high - low}, .count = 1};
        v.solid.a = first + slope * (is_turned ? high : low);
        v.solid.b = first + slope * (is_turned ? low : high);
        v.solid.at.z = is_turned ? high : low;
        sm_solid_aim(&v.solid, is_turned ? M_PI : 0.0, 0.0, 0.0);
        const struct sm_voids voids = {&v, 1, 1.0, span, burning, 16};
        struct sm_meridian m = {.length = span, .radius = 1.0, .burning = burning};
        struct sm_geometry g;
        struct sm_patcher p;
        sm_contour_init(&m.bore, &arena);
        sm_contour_start(&m.bore, span, first + slope * span);
        sm_contour_line(&m.bore, 0.0, first);
        cr_assert_eq(sm_meridian_geometry(&arena, &m, &g, NULL), SM_OK);
        cr_assert_eq(sm_patcher_init(&arena, &voids, &p, NULL), SM_OK);
        cr_expect(!sm_voids_lean_out(&voids));
        for (int k = 0; k < LEVELS; k++) {
            struct sm_geometry_at at;
            struct sm_patch_sums sums;
            const double w = g.web * (k + 0.3) / LEVELS;
            sm_geometry_eval(&g, w, &at);
            sm_patcher_level(&p, w, &sums);
            cr_expect_float_eq(sums.front[SM_VOLUME], -at.slope[SM_VOLUME], 1e-6 * 10.0,
                               "case %d, w %g: %g, not %g", i, w, sums.front[SM_VOLUME],
                               -at.slope[SM_VOLUME]);
            cr_expect_eq(sums.astray, 0u, "case %d, w %g", i, w);
        }
    }
    sm_arena_release(&arena);
}

/* What leans outwards at an end that doesn't burn: not what is straight, nor a cone along the axis. */
Test(grain_voids, leaning_out)
{
    const struct {
        struct sm_solid solid;
        double tilt;
        unsigned burning;
        bool leans;
    } rows[] = {
        {{.form = SM_SOLID_CONE, .a = 0.2, .b = 0.2, .c = 3.0}, 0.0, SM_FACE_BORE, false},
        {{.form = SM_SOLID_CONE, .a = 0.2, .b = 0.4, .c = 3.0},
         0.0,
         SM_FACE_BORE,
         false}, /* ends in the face */
        {{.form = SM_SOLID_CONE, .a = 0.4, .b = 0.2, .c = 3.0}, 0.0, SM_FACE_BORE, false},
        {{.form = SM_SOLID_CONE, .a = 0.2, .b = 0.4, .c = 3.0}, 0.1, SM_FACE_BORE, true},
        {{.form = SM_SOLID_CONE, .a = 0.2, .b = 0.2, .c = 3.0}, 0.2, SM_FACE_BORE, true},
        {{.form = SM_SOLID_CONE, .a = 0.2, .b = 0.2, .c = 1.0}, 0.2, SM_FACE_BORE, false}, /* ends within */
        {{.form = SM_SOLID_BOX, .a = 0.2, .b = 0.1, .c = 3.0}, 0.0, SM_FACE_BORE, false},
        {{.form = SM_SOLID_BOX, .a = 0.2, .b = 0.1, .c = 3.0}, 0.2, SM_FACE_BORE, true},
        {{.form = SM_SOLID_BALL, .a = 1.9}, 0.0, SM_FACE_BORE, true},
        {{.form = SM_SOLID_RING, .a = 0.5, .b = 0.2}, 0.0, SM_FACE_BORE, false},
    };
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        struct sm_void v = {rows[i].solid, 1};
        v.solid.at = (struct sm_triple){0.0, 0.0, 0.5};
        sm_solid_aim(&v.solid, rows[i].tilt, 0.3, 0.0);
        v.solid.at.z += v.solid.form == SM_SOLID_BOX ? 2.6 : 0.0;
        const struct sm_voids voids = {&v, 1, 1.0, 2.0, rows[i].burning, 16};
        cr_expect_eq(sm_voids_lean_out(&voids), rows[i].leans, "row %zu", i);
    }
}

/* Facets of every form bound it: the volume of the form, to the chords. */
Test(grain_voids, facets_bound_what_they_stand_for)
{
    struct {
        struct sm_solid solid;
        double volume; /* [m3] */
    } rows[] = {
        {{.form = SM_SOLID_CONE, .a = 0.2, .b = 0.2, .c = 0.7}, M_PI * 0.04 * 0.7},
        {{.form = SM_SOLID_CONE, .a = 0.3, .b = 0.0, .c = 0.7}, M_PI * 0.09 * 0.7 / 3},
        {{.form = SM_SOLID_BOX, .a = 0.2, .b = 0.1, .c = 0.3}, 8 * 0.006},
        {{.form = SM_SOLID_BALL, .a = 0.3}, 4 * M_PI * 0.027 / 3},
        {{.form = SM_SOLID_RING, .a = 0.4, .b = 0.1}, 2 * M_PI * M_PI * 0.4 * 0.01},
        {{.form = SM_SOLID_BOX, .a = 0.2, .b = 0.1, .c = 0.3, .fillet = 0.04},
         0.6 * (0.08 - (4 - M_PI) * 0.04 * 0.04)},
        {{.form = SM_SOLID_TURNED}, 0.0}, /* a barrel, and a ring with a round side: filled in below */
        {{.form = SM_SOLID_TURNED}, 0.0},
    };
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        struct sm_arena arena;
        sm_arena_init(&arena, NULL);
        if (i + 2 == SM_COUNT(rows)) {
            double area, curvature;
            rows[i].solid = turned_barrel(&arena, &rows[i].volume, &area, &curvature);
        } else if (i + 1 == SM_COUNT(rows)) {
            rows[i].solid = round_sided_ring(&arena, &rows[i].volume);
        }
        struct sm_void v = {rows[i].solid, 2};
        v.solid.at = (struct sm_triple){0.1, 0.3, 1.0};
        sm_solid_aim(&v.solid, 0.7, 0.3, 0.2);
        const struct sm_voids voids = {&v, 1, 1.0, 2.0, SM_FACE_BORE, 16};
        struct sm_meshport port;
        cr_assert_eq(sm_voids_facets(&arena, &voids, &port, NULL), SM_OK);
        const struct sm_mesh mesh = {port.vertices.items, port.facets.items, port.vertices.n, port.facets.n,
                                     NULL};
        struct sm_error err = {0};
        cr_expect_eq(sm_mesh_check(&arena, &mesh, &err), SM_OK, "row %zu: %s", i, err.message);
        double sum = 0.0; /* of tetrahedra from the origin, of both copies */
        for (size_t k = 0; k < mesh.n_facets; k++) {
            const struct sm_vertex *a = &mesh.vertices[mesh.facets[k].a],
                                   *b = &mesh.vertices[mesh.facets[k].b],
                                   *c = &mesh.vertices[mesh.facets[k].c];
            sum += (a->x * (b->y * c->z - b->z * c->y) - a->y * (b->x * c->z - b->z * c->x) +
                    a->z * (b->x * c->y - b->y * c->x)) /
                   6.0;
        }
        cr_expect_float_eq(sum, 2.0 * rows[i].volume, 2e-3 * rows[i].volume, "row %zu: %g, not %g", i, sum,
                           2.0 * rows[i].volume);
        sm_arena_release(&arena);
    }
}

/* ---- turned and mirrored ---- */

/* The port turned about the axis, or mirrored in the x-z plane, burns alike: its area and volume stay and its first moments go with
 * it. Two voids without any symmetry. Tolerance: 1e-3 of the largest area at fineness 24, 3e-4 of the grain for volumes; places of
 * cells move with the solids, so that a turn's is rounding alone. */
Test(grain_voids, turned_and_mirrored)
{
    const double angle = 0.7;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_void one[2] = {{.count = 1}, {.count = 1}}, turned[2], mirrored[2];
    one[0].solid =
        (struct sm_solid){.form = SM_SOLID_CONE, .at = {0.1, -0.05, 0.0}, .a = 0.3, .b = 0.3, .c = 2.0};
    sm_solid_aim(&one[0].solid, 0.0, 0.0, 0.0);
    one[1].solid =
        (struct sm_solid){.form = SM_SOLID_BOX, .at = {0.3, 0.2, 1.1}, .a = 0.35, .b = 0.1, .c = 0.2};
    sm_solid_aim(&one[1].solid, 0.5, 0.4, 0.3);
    for (int i = 0; i < 2; i++) {
        turned[i] = mirrored[i] = one[i];
        turned[i].solid = sm_solid_turned(&one[i].solid, angle);
        mirrored[i].solid.at.y *= -1.0;
        for (int k = 0; k < 3; k++)
            mirrored[i].solid.axes[k].y *= -1.0;
        /* right-handed again: boxes and cylinders are their own images */
        mirrored[i].solid.axes[1] = sm_triple_add((struct sm_triple){0}, -1.0, mirrored[i].solid.axes[1]);
    }
    struct sm_geometry g[3];
    const struct sm_void *ports[3] = {one, turned, mirrored};
    for (int i = 0; i < 3; i++) {
        const struct sm_voids voids = {ports[i], 2, 1.0, 2.0, SM_FACE_BORE | SM_FACE_AFT_END, 24};
        struct sm_error err = {0};
        cr_assert_eq(sm_voids_geometry(&arena, &voids, 1, &g[i], &err), SM_OK, "%s", err.message);
        cr_expect_float_eq(g[i].web, g[0].web, 1e-3 * g[0].web);
    }
    const double c = cos(angle), s = sin(angle);
    for (int k = 0; k < 8; k++) {
        struct sm_geometry_at a, b, m;
        const double w = g[0].web * (k + 0.4) / 8;
        sm_geometry_eval(&g[0], w, &a);
        sm_geometry_eval(&g[1], w, &b);
        sm_geometry_eval(&g[2], w, &m);
        const double area = -a.slope[SM_VOLUME], volume = a.value[SM_VOLUME], x = a.value[SM_X],
                     y = a.value[SM_Y];
        cr_expect_float_eq(-b.slope[SM_VOLUME], area, 2e-3 * 12.0, "w %g", w);
        cr_expect_float_eq(-m.slope[SM_VOLUME], area, 2e-3 * 12.0, "w %g", w);
        cr_expect_float_eq(b.value[SM_VOLUME], volume, 3e-4 * g[0].envelope, "w %g", w);
        cr_expect_float_eq(m.value[SM_VOLUME], volume, 3e-4 * g[0].envelope, "w %g", w);
        cr_expect_float_eq(b.value[SM_X], c * x - s * y, 3e-4 * g[0].envelope, "w %g", w);
        cr_expect_float_eq(b.value[SM_Y], s * x + c * y, 3e-4 * g[0].envelope, "w %g", w);
        cr_expect_float_eq(m.value[SM_X], x, 3e-4 * g[0].envelope, "w %g", w);
        cr_expect_float_eq(m.value[SM_Y], -y, 3e-4 * g[0].envelope, "w %g", w);
    }
    sm_arena_release(&arena);
}

/* ---- bad input ---- */

static void refused(const char *words, const char *path, const struct sm_void *v, size_t n, unsigned burning)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_voids voids = {v, n, 1.0, 2.0, burning, 16};
    struct sm_geometry g;
    struct sm_error err = {0};
    cr_expect_eq(sm_voids_geometry(&arena, &voids, 1, &g, &err), SM_E_GEOMETRY, "%s", words);
    cr_expect_not_null(strstr(err.message, words), "'%s' is not in '%s'", words, err.message);
    cr_expect_str_eq(err.at.path, path);
    sm_arena_release(&arena);
}

Test(grain_voids, refusals)
{
    struct sm_void v[2];
    fin_voids(v);
    refused("bore must burn", "/burning", v, 1, SM_FACE_FORE_END);
    v[1] = (struct sm_void){solid(SM_SOLID_BALL, 0.1, 0, 0, 0), 1};
    v[1].solid.at = (struct sm_triple){0.7, 0.0, 1.0};
    refused("closed off", "/voids/1", v, 2, SM_FACE_BORE);
    v[1].solid.at.x = 1.2;
    refused("outside the grain", "/voids/1", v, 2, SM_FACE_BORE);
    v[1] = (struct sm_void){solid(SM_SOLID_CONE, 0.1, 0.1, 3.0, 0.6), 1};
    sm_solid_aim(&v[1].solid, 1.2, 0.4, 0.3);
    refused("cuts the wall aslant", "/voids/1", v, 2, SM_FACE_BORE);
    v[0].solid.a = v[0].solid.b = 1.0;
    refused("nothing of the grain", "/voids", v, 1, SM_FACE_BORE);
}

/* The port at the aft face: a bore through all of the grain, and one that widens to it. Tolerance: 0.5 %, the second order of
 * 32 cells to the radius. */
Test(grain_voids, port_at_the_aft_face)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (int widens = 0; widens < 2; widens++) {
        const double end = widens ? 0.5 : 0.3;
        struct sm_void v[2] = {
            {.solid = {.form = SM_SOLID_CONE, .a = 0.3, .b = 0.3, .c = 2.0}, .count = 1},
            {.solid = {.form = SM_SOLID_CONE, .at = {0.0, 0.0, 1.5}, .a = 0.3, .b = end, .c = 0.5},
             .count = 1}};
        for (int i = 0; i < 2; i++)
            sm_solid_aim(&v[i].solid, 0.0, 0.0, 0.0);
        struct sm_voids voids;
        struct sm_patcher patcher;
        one_void(&arena, v, 2, SM_FACE_BORE, 32, &voids, &patcher);
        const double port = M_PI - sm_patcher_aft_area(&patcher), want = M_PI * end * end;
        cr_expect(fabs(port - want) <= 5e-3 * want, "%g, not %g", port, want);
    }
    sm_arena_release(&arena);
}
