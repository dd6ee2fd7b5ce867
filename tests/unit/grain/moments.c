/*
 * Integrals over the fronts, summed over the burn, are those over the grain: dX/dw is minus the integral of the same over the
 * front (coarea formula), for volume, first and second moments. The trimmer reckons both apart, one along the fronts and one by
 * the divergence theorem along the whole boundary, so each tests the other; tables are made of both and would hide it.
 */
#include <criterion/criterion.h>
#include <math.h>

#include "num/gauss.h"
#include "unit/grain/example.h"

/* Places in a stage that crowd next to its ends, where a front may go like a root, and their shares of its length. */
struct places {
    int n;
    double at[SM_MOST_GAUSS], share[SM_MOST_GAUSS]; /* [1] */
};

static struct places crowded(void)
{
    struct sm_gauss g;
    struct places out = {.n = SM_MOST_GAUSS};
    cr_assert_eq(sm_gauss_make(SM_MOST_GAUSS, &g), SM_OK);
    for (int i = 0; i < g.n; i++) {
        const double x = g.place[i];
        out.at[i] = x * x * (3.0 - 2.0 * x);
        out.share[i] = 6.0 * x * (1.0 - x) * g.share[i];
    }
    return out;
}

/* Tolerance: 1e-9 of the whole, for sixteen places where an area goes like a root at both ends of a stage. */
static void expect_sums(const char *name, int n, const double *sum, const double *value, const double *scale)
{
    for (int q = 0; q < n; q++)
        cr_expect(fabs(sum[q] - value[q]) <= 1e-9 * scale[q], "%s, integral %d: %.12g, not %.12g", name, q,
                  sum[q], value[q]);
}

Test(grain_moments, of_sections)
{
    const struct places p = crowded();
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++) {
        if (!(*shape)->section)
            continue;
        struct sm_arena arena;
        struct sm_section section;
        struct sm_burning_section b;
        struct sm_planar_knot knot;
        double sum[SM_N_PLANAR] = {0.0};
        sm_arena_init(&arena, NULL);
        const struct example e = example_read(&arena, *shape);
        cr_assert_eq(sm_shape_section(*shape, &arena, &e.common, e.params, &section, NULL), SM_OK);
        cr_assert_eq(sm_section_burn(&arena, &section, &b, NULL), SM_OK);
        for (size_t k = 0; k < b.stages.n; k++)
            for (int i = 0; i < p.n; i++) {
                const double from = b.stages.items[k].w0, span = b.stages.items[k].w1 - from;
                sm_section_knot(&b, k, from + p.at[i] * span, &knot);
                for (int q = 0; q < SM_N_PLANAR; q++)
                    sum[q] -= p.share[i] * span * knot.slope[q];
            }
        sm_section_knot(&b, 0, 0.0, &knot);
        const double r = b.radius, a = M_PI * r * r,
                     scale[SM_N_PLANAR] = {a, a * r, a * r, a * r * r, a * r * r, a * r * r};
        expect_sums((*shape)->name, SM_N_PLANAR, sum, knot.value, scale);
        sm_arena_release(&arena);
    }
}

/* A body of revolution has ways of its own to areas and slopes alone: they are the knot's, level by level, to 1e-13. */
static void same_alone(struct sm_arena *arena, const char *name, const struct sm_burning_meridian *b,
                       size_t stage, const double *w, size_t n)
{
    double area[SM_MOST_GAUSS], slope[SM_N_INTEGRALS];
    struct sm_geometry_knot knot;
    cr_assert_eq(sm_meridian_areas(arena, b, w, n, area, NULL), SM_OK);
    for (size_t i = 0; i < n; i++) {
        sm_meridian_knot(b, stage, w[i], &knot);
        sm_meridian_slopes(b, stage, w[i], slope);
        const double size = b->fronts.size;
        cr_expect(fabs(area[i] + knot.slope[SM_VOLUME]) <= 1e-13 * size * size,
                  "%s, w %g: area %.17g, not %.17g", name, w[i], area[i], -knot.slope[SM_VOLUME]);
        for (int q = 0; q < SM_N_INTEGRALS; q++)
            cr_expect(fabs(slope[q] - knot.slope[q]) <= 1e-13 * size * size * fmax(size * size, 1.0),
                      "%s, w %g, integral %d: %.17g, not %.17g", name, w[i], q, slope[q], knot.slope[q]);
    }
}

Test(grain_moments, of_bodies_of_revolution)
{
    const struct places p = crowded();
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++) {
        if (!(*shape)->meridian)
            continue;
        struct sm_arena arena;
        struct sm_meridian meridian;
        struct sm_burning_meridian b;
        struct sm_geometry_knot knot;
        double sum[SM_N_INTEGRALS] = {0.0};
        sm_arena_init(&arena, NULL);
        const struct example e = example_read(&arena, *shape);
        cr_assert_eq(sm_shape_meridian(*shape, &arena, &e.common, e.params, &meridian, NULL), SM_OK);
        cr_assert_eq(sm_meridian_burn(&arena, &meridian, &b, NULL), SM_OK);
        for (size_t k = 0; k < b.stages.n; k++) {
            const double from = b.stages.items[k].w0, span = b.stages.items[k].w1 - from;
            double w[SM_MOST_GAUSS];
            for (int i = 0; i < p.n; i++) {
                w[i] = from + p.at[i] * span;
                sm_meridian_knot(&b, k, w[i], &knot);
                for (int q = 0; q < SM_N_INTEGRALS; q++)
                    sum[q] -= p.share[i] * span * knot.slope[q];
            }
            same_alone(&arena, (*shape)->name, &b, k, w, (size_t)p.n);
        }
        sm_meridian_knot(&b, 0, 0.0, &knot);
        const double r = meridian.radius, l = meridian.length, v = M_PI * r * r * l,
                     scale[SM_N_INTEGRALS] = {v,         v * r,     v * r,     v * l,     v * r * r,
                                              v * r * r, v * l * l, v * r * r, v * r * l, v * r * l};
        expect_sums((*shape)->name, SM_N_INTEGRALS, sum, knot.value, scale);
        sm_arena_release(&arena);
    }
}

/* Areas alone from before the start to past the web, over all stages in one call: pi (d + 2w)(L - 2w) + pi/2 (D^2 - (d + 2w)^2)
 * for a tube with both ends burning (Wikipedia, "BATES"), to 1e-14 of the largest; and of an end burner with a recess their
 * integral, which is its volume, a cylinder less a cylinder and a cone. */
Test(grain_moments, areas_alone)
{
    enum { LEVELS = 50 };
    struct sm_arena arena;
    struct sm_burning_meridian b;
    double w[LEVELS], area[LEVELS];
    sm_arena_init(&arena, NULL);
    struct sm_meridian tube = {
        .length = 0.085, .radius = 0.025, .burning = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END};
    sm_contour_init(&tube.bore, &arena);
    sm_contour_start(&tube.bore, tube.length, 0.01);
    sm_contour_line(&tube.bore, 0.0, 0.01);
    cr_assert_eq(sm_meridian_burn(&arena, &tube, &b, NULL), SM_OK);
    for (int i = 0; i < LEVELS; i++)
        w[i] = -0.001 + 0.017 * i / (LEVELS - 1);
    cr_assert_eq(sm_meridian_areas(&arena, &b, w, LEVELS, area, NULL), SM_OK);
    for (int i = 0; i < LEVELS; i++) {
        const double x = fmax(w[i], 0.0), e = 0.02 + 2.0 * x;
        const double want =
            x < 0.015 ? M_PI * e * (0.085 - 2.0 * x) + 0.5 * M_PI * (0.05 * 0.05 - e * e) : 0.0;
        cr_expect(fabs(area[i] - want) <= 1e-14 * 9.7e-3, "w %g: %.17g, not %.17g", w[i], area[i], want);
    }

    struct sm_meridian burner = {.length = 2.0, .radius = 1.0, .burning = SM_FACE_BORE | SM_FACE_AFT_END};
    sm_contour_init(&burner.bore, &arena);
    sm_contour_start(&burner.bore, 2.0, 0.2);
    sm_contour_line(&burner.bore, 1.7, 0.2);
    sm_contour_line(&burner.bore, 1.3, 0.0);
    cr_assert_eq(sm_meridian_burn(&arena, &burner, &b, NULL), SM_OK);
    const struct places p = crowded();
    double sum = 0.0;
    for (size_t k = 0; k < b.stages.n; k++) {
        const double from = b.stages.items[k].w0, span = b.stages.items[k].w1 - from;
        for (int i = 0; i < p.n; i++)
            w[i] = from + p.at[i] * span;
        cr_assert_eq(sm_meridian_areas(&arena, &b, w, (size_t)p.n, area, NULL), SM_OK);
        for (int i = 0; i < p.n; i++)
            sum += p.share[i] * span * area[i];
    }
    const double volume = 2.0 * M_PI - M_PI * 0.04 * (0.3 + 0.4 / 3.0);
    cr_expect(fabs(sum - volume) <= 1e-12 * volume, "%.17g, not %.17g", sum, volume);
    sm_arena_release(&arena);
}

/* Two slots side by side, 2 g apart with flat walls a long: each is a rectangle a by b whose front has the perimeter
 * 2 (a + b) + 2 pi w (Steiner's formula); at w = g both walls of the strip between them go at once, 2 a. */
Test(grain_moments, parallel_walls_that_meet_go_at_once)
{
    const double a = 0.03, b = 0.004, g = 0.0025, R = 0.04;
    struct sm_arena arena;
    struct sm_section section = {.radius = R, .outer = SM_OUTER_HELD};
    struct sm_burning_section burning;
    sm_arena_init(&arena, NULL);
    sm_contour_init(&section.contour, &arena);
    for (int side = -1; side <= 1; side += 2) { /* the void on the left: anticlockwise */
        const double y0 = side > 0 ? g : -g - b, y1 = y0 + b;
        sm_contour_start(&section.contour, -0.5 * a, y0);
        sm_contour_line(&section.contour, 0.5 * a, y0);
        sm_contour_line(&section.contour, 0.5 * a, y1);
        sm_contour_line(&section.contour, -0.5 * a, y1);
        sm_contour_line(&section.contour, -0.5 * a, y0);
    }
    cr_assert_eq(sm_section_burn(&arena, &section, &burning, NULL), SM_OK);
    const double w[2] = {g * (1.0 - 1e-12), g * (1.0 + 1e-12)}, one = 2.0 * (a + b) + 2.0 * M_PI * g;
    double area[2], perimeter[2];
    sm_section_table(&burning, w, 2, area, perimeter);
    cr_expect_float_eq(perimeter[0], 2.0 * one, 1e-12);
    cr_expect(fabs(perimeter[1] - (2.0 * one - 2.0 * a)) <= 1e-6, "%.12g, not %.12g", perimeter[1],
              2.0 * one - 2.0 * a); /* the rounded ends pass each other steeply behind it */
    cr_expect_float_eq(area[0], 2.0 * (a * b + 2.0 * (a + b) * g + M_PI * g * g), 1e-14);
    cr_expect_float_eq(area[1], area[0], 1e-12);
    sm_arena_release(&arena);
}
