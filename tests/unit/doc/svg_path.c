/* SVG path data to lines and arcs. */
#include "doc/svg_path.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static struct sm_svg_outline read(struct sm_arena *arena, const char *d, double tolerance)
{
    struct sm_svg_outline out = {0};
    struct sm_error err = {0};
    cr_assert_eq(sm_svg_path_read(arena, d, tolerance, &out, &err), SM_OK, "%s: %s", d, err.message);
    return out;
}

/* Area that a loop goes round anticlockwise: its polygon's and a segment of a circle an edge. */
static double area(const struct sm_svg_loop *loop)
{
    double sum = 0.0;
    for (size_t i = 0; i < loop->n; i++) {
        const struct sm_svg_point *a = &loop->points[i], *b = &loop->points[(i + 1) % loop->n];
        sum += 0.5 * (a->x * b->y - a->y * b->x);
        if (a->radius == 0.0)
            continue;
        const double r = fabs(a->radius),
                     angle = 2.0 * asin(fmin(0.5 * hypot(b->x - a->x, b->y - a->y) / r, 1.0));
        sum += copysign(0.5 * r * r * (angle - sin(angle)), a->radius);
    }
    return sum;
}

/* The same square by absolute and relative commands; y turns upwards, so that what runs right and then down in the file
 * runs clockwise. */
Test(doc_svg_path, lines)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    static const char *const squares[] = {"M1 2L5,2 5 6 1 6Z", "m1,2h4v4h-4z", "M 1 2 H 5 V 6 H 1 Z",
                                          "m1 2 4 0 0 4 -4 0 0 -4", "M1e0,2.0l+4-0l0 4-4 0z"};
    for (size_t i = 0; i < sizeof squares / sizeof squares[0]; i++) {
        const struct sm_svg_outline o = read(&arena, squares[i], 0.01);
        cr_expect_eq(o.n, 1u);
        cr_expect_eq(o.loops[0].n, 4u, "%s", squares[i]);
        cr_expect(o.loops[0].is_closed, "%s", squares[i]);
        cr_expect_float_eq(area(&o.loops[0]), -16.0, 1e-12, "%s", squares[i]);
    }
    const struct sm_svg_outline two = read(&arena, "M0 0h1v1z M3 3h1v1", 0.01);
    cr_expect_eq(two.n, 2u);
    cr_expect(two.loops[0].is_closed && !two.loops[1].is_closed);
    cr_expect_eq(two.loops[1].n, 3u, "an open one keeps its last point");
    sm_arena_release(&arena);
}

/* Circles and their segments: pi r^2, and r^2 (a - sin a)/2 over the angle a. All four arcs of one chord, flags written
 * without blanks; SVG 2, 9.3.8: the large one and the direction. A radius too small is made half the chord. */
Test(doc_svg_path, arcs)
{
    static const struct {
        const char *d;
        double area;
    } cases[] = {
        {"M-3 0a3 3 0 1 0 6 0a3 3 0 1 0-6 0z", 9 * M_PI},
        {"M-3 0a3 3 0 1 1 6 0a3 3 0 1 1-6 0z", -9 * M_PI},
        {"M0 0A5 5 0 01 5 5z", -25 * (M_PI_2 - 1) / 2},
        {"M0 0A5 5 0 00 5 5z", 25 * (M_PI_2 - 1) / 2},
        {"M0 0A5 5 0 11 5 5z", -25 * (1.5 * M_PI + 1) / 2},
        {"M0 0A5 5 0 10 5 5z", 25 * (1.5 * M_PI + 1) / 2},
        {"M0 0A1 1 0 00 6 0z", 4.5 * M_PI},
    };
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct sm_svg_outline o = read(&arena, cases[i].d, 1e-3);
        cr_expect_float_eq(area(&o.loops[0]), cases[i].area, 1e-9, "%s: %.12g", cases[i].d,
                           area(&o.loops[0]));
    }
    sm_arena_release(&arena);
}

/* Ellipses (pi a b, also tilted) and cubic curves (a parabola's area by Archimedes: two thirds of chord times height): the area
 * is off by no more than the tolerance times the length, and a hundredth of the tolerance gives more arcs and a smaller
 * error. */
Test(doc_svg_path, curves_within_tolerance)
{
    static const struct {
        const char *d;
        double area, length;
    } cases[] = {
        {"M10 0A10 5 0 0 0-10 0 10 5 0 0 0 10 0z", 50 * M_PI, 49},
        {"M6 8A10 5 53.13010235415598 0 0 -6 -8 10 5 53.13010235415598 0 0 6 8z", 50 * M_PI, 49},
        {"M0 0C2 4 4 4 6 0z", -12, 16}, /* rises to 3 over a chord of 6 */
        {"m1 1c2 4 4 4 6 0z", -12, 16},
    };
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        size_t n_before = 0;
        for (double tolerance = 0.1; tolerance > 1e-6; tolerance *= 0.01) {
            const struct sm_svg_outline o = read(&arena, cases[i].d, tolerance);
            cr_expect(o.loops[0].is_closed);
            cr_expect_gt(o.loops[0].n, n_before);
            cr_expect(fabs(fabs(area(&o.loops[0])) - fabs(cases[i].area)) <= tolerance * cases[i].length,
                      "%s, %g: %.9g", cases[i].d, tolerance, area(&o.loops[0]));
            n_before = o.loops[0].n;
        }
    }
    sm_arena_release(&arena);
}

Test(doc_svg_path, refusals)
{
    static const char *const cases[][2] = {
        {"L1 1", "'L' at character 1"},
        {" ,h1", "'h' at character 2"},
        {"z", "'z' at character 1"},
        {"M0 0 Q1 1 2 2", "'Q' at character 6"},
        {"M0", "number 2 is not one, at character 3"},
        {"M0 0 A1 1 0 2 0 3 3", "number 4 is not one, at character 13"},
        {"M0 0 L 1 x", "number 2 is not one, at character 10"},
        {"M0 0 C 1 1 2 2 3", "needs 6 numbers"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sm_arena arena;
        struct sm_svg_outline out = {0};
        struct sm_error err = {0};
        sm_arena_init(&arena, NULL);
        cr_expect_eq(sm_svg_path_read(&arena, cases[i][0], 0.01, &out, &err), SM_E_SYNTAX, "%s", cases[i][0]);
        cr_expect_not_null(strstr(err.message, cases[i][1]), "%s", err.message);
        sm_arena_release(&arena);
    }
}
