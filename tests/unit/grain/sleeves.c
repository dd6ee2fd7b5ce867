/* Bores inhibited in part: fronts that go round edges, against their exact forms. */
#include <criterion/criterion.h>
#include <math.h>

#include "grain/geodesic.h"
#include "grain/shape.h"
#include "grain/walls.h"

static double area_at(const struct sm_geometry *g, double w)
{
    struct sm_geometry_at at;
    sm_geometry_eval(g, w, &at);
    return -at.slope[SM_VOLUME];
}

/* A narrow bore that burns, a step outwards and a wide bore, both under a sleeve. The wide one lies behind the step's corner,
 * so the front runs up the step and then goes round the corner as an arc about it. */
static const double R = 0.03, L = 0.1, narrow = 0.008, wide = 0.012, step = 0.06;

static struct sm_meridian stepped(struct sm_arena *arena, const struct sm_sleeve *sleeve, bool is_geodesic)
{
    struct sm_meridian m = {.length = L,
                            .radius = R,
                            .burning = SM_FACE_BORE,
                            .sleeves = sleeve,
                            .n_sleeves = 1,
                            .is_geodesic = is_geodesic};
    sm_contour_init(&m.bore, arena);
    sm_contour_start(&m.bore, L, wide);
    sm_contour_line(&m.bore, step, wide);
    sm_contour_line(&m.bore, step, narrow);
    sm_contour_line(&m.bore, 0.0, narrow);
    return m;
}

/* The cylinder of radius narrow + w up to the step, and behind it the arc of radius q = w - (wide - narrow) about the step's
 * corner, from the corner's plane to the wide bore: by Pappus 2 pi (wide q pi/2 + q^2), as long as it meets neither the case
 * nor the aft end. */
static double exact_area(double w)
{
    const double q = fmax(w - (wide - narrow), 0.0);
    return 2 * M_PI * (narrow + w) * step + 2 * M_PI * (wide * q * M_PI / 2 + q * q);
}

/* Root mean square error over the burn up to the case, share of the largest area; *worst is the largest outside of two boxes
 * from where the arc is born, for a smaller arc lies in one box. */
static double error_at(int resolution, struct sm_geometry *g, double *worst)
{
    enum { LEVELS = 400 };
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_sleeve sleeve = {step, L};
    const struct sm_meridian m = stepped(&arena, &sleeve, true);
    struct sm_error err = {0};
    cr_assert_eq(sm_geodesic_geometry(&arena, &m, resolution, g, &err), SM_OK, "%s", err.message);
    double sum = 0.0;
    *worst = 0.0;
    for (int i = 0; i < LEVELS; i++) {
        const double w = 0.99 * (R - wide) * (i + 0.5) / LEVELS;
        const double error = fabs(area_at(g, w) - exact_area(w)) / exact_area(R - wide);
        sum += error * error / LEVELS;
        if (fabs(w - (wide - narrow)) > 2.0 * R / resolution)
            *worst = fmax(*worst, error);
    }
    sm_arena_release(&arena);
    return sqrt(sum);
}

/* Second order: each doubling of the boxes is to take away a half of the error at least. */
Test(grain_sleeves, converges_to_the_arc_about_the_edge)
{
    double error[3], worst[3];
    for (int k = 0; k < 3; k++) {
        struct sm_geometry g;
        error[k] = error_at(64 << k, &g, &worst[k]);
    }
    cr_expect_lt(error[0], 1.5e-4, "64: %g", error[0]);
    for (int k = 0; k < 3; k++)
        cr_expect_lt(worst[k], 3e-4 / (1 << k), "%d: %g at most", 64 << k, worst[k]);
    cr_expect_lt(error[1], 0.6 * error[0], "128: %g after %g", error[1], error[0]);
    cr_expect_lt(error[2], 0.6 * error[1], "256: %g after %g", error[2], error[1]);
}

/* Ways themselves are exact: straight before the step, up to its corner and on from there behind it. */
Test(grain_sleeves, ways_are_exact)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_sleeve sleeve = {step, L};
    const struct sm_meridian m = stepped(&arena, &sleeve, true);
    struct sm_walls walls;
    cr_assert_eq(sm_walls_init(&arena, &m, 16, &walls, NULL), SM_OK);
    for (int i = 0; i <= 20; i++)
        for (int j = 0; j <= 20; j++) {
            const struct sm_point p = {L * (i + 0.001) / 20.01, wide + (R - wide) * (j + 0.001) / 20.01};
            const double want = p.x <= step ? p.y - narrow : wide - narrow + hypot(p.x - step, p.y - wide);
            struct sm_way way;
            sm_walls_way(&walls, p, &way);
            cr_expect_float_eq(way.length, want, 1e-15, "at %g, %g: %g, not %g", p.x, p.y, way.length, want);
        }
    sm_arena_release(&arena);
}

/* What is inhibited is never taken for burning: it is refused unless asked for, with the place and the way out. */
Test(grain_sleeves, refused_unless_asked_for)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_sleeve sleeve = {step, L};
    struct sm_meridian m = stepped(&arena, &sleeve, false);
    struct sm_geometry g;
    struct sm_error err = {0};
    cr_expect_eq(sm_meridian_geometry(&arena, &m, &g, &err), SM_E_GEOMETRY);
    cr_expect_str_eq(err.at.path, "/sleeves");
    m.n_sleeves = 0;
    m.burning = SM_FACE_AFT_END;
    cr_expect_eq(sm_meridian_geometry(&arena, &m, &g, &err), SM_E_GEOMETRY);
    m.is_geodesic = true;
    cr_expect_eq(sm_meridian_geometry(&arena, &m, &g, &err), SM_OK);
    /* nothing to go round until the wide part is gone: a flat ring that moves at unit speed */
    cr_expect_float_eq(area_at(&g, 0.02), M_PI * (R * R - wide * wide), 1e-3 * M_PI * R * R);
    sm_arena_release(&arena);
}

/* With nothing inhibited the ways are straight, and the table must be that of the exact trimmer. */
Test(grain_sleeves, without_sleeves_as_the_trimmer)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_meridian m = stepped(&arena, NULL, false);
    m.n_sleeves = 0;
    m.burning |= SM_FACE_AFT_END;
    struct sm_geometry exact, g;
    cr_assert_eq(sm_meridian_geometry(&arena, &m, &exact, NULL), SM_OK);
    cr_assert_eq(sm_geodesic_geometry(&arena, &m, 128, &g, NULL), SM_OK);
    double sum = 0.0;
    for (int i = 0; i < 40; i++) {
        const double w = exact.web * (i + 0.5) / 40;
        sum += pow((area_at(&g, w) - area_at(&exact, w)) / area_at(&exact, 0.0), 2) / 40;
    }
    cr_expect_lt(sqrt(sum), 1e-3, "%g", sqrt(sum));
    sm_arena_release(&arena);
}
