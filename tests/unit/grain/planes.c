/* Sections of a port by distances from it alone, against closed forms. */
#include <criterion/criterion.h>
#include <math.h>

#include "grain/across.h"

/* What stands in the plane of radius 1: a circle, or a rectangle, about (x, 0), or six rectangles about the axis and a circle. */
struct port {
    double x;     /* [m] */
    double a, b;  /* radius, or half width and half height [m] */
    double least; /* distances inside are no less than minus that [m] */
};

static double rectangle(const struct port *s, double x, double y)
{
    const double u = fabs(x - s->x) - s->a, v = fabs(y) - s->b;
    return u > 0.0 && v > 0.0 ? hypot(u, v) : fmax(fmax(u, v), -s->least);
}

static double from_circle(void *user, struct sm_point p)
{
    const struct port *s = user;
    return fmax(hypot(p.x - s->x, p.y) - s->a, -s->least);
}

static double from_rectangle(void *user, struct sm_point p)
{
    return rectangle(user, p.x, p.y);
}

/* Bore of radius 0.35 and fins 0.12 wide out to 0.76. */
static double from_fins(void *user, struct sm_point p)
{
    (void)user;
    const struct port fin = {.x = 0.38, .a = 0.38, .b = 0.06, .least = 1.0};
    double least = hypot(p.x, p.y) - 0.35;
    for (int k = 0; k < 6; k++) {
        const double c = cos(k * M_PI / 3.0), s = sin(k * M_PI / 3.0);
        least = fmin(least, rectangle(&fin, c * p.x + s * p.y, c * p.y - s * p.x));
    }
    return least;
}

/* Slacks as shares of the circle and of its circumference [1]. */
static void expect(const struct sm_across *plane, double w, double want_area, double want_length,
                   double in_area, double in_length)
{
    double area, length;
    sm_across_measure(plane, w, &area, &length);
    cr_expect(fabs(area - want_area) <= in_area * M_PI, "w %g: area %.9g, not %.9g", w, area, want_area);
    cr_expect(fabs(length - want_length) <= in_length * 2.0 * M_PI, "w %g: length %.9g, not %.9g", w, length,
              want_length);
}

/* A circle's front is one, wherever it stands: to 1e-6, and to 3e-5 where its void is as flat as the end of a solid that ends in
 * the plane. */
Test(grain_planes, circles)
{
    for (int i = 0; i < 6; i++) {
        struct port s = {.x = 0.13 * (5 - i), .a = 0.3, .least = i % 2 == 0 ? 1.0 : 1e-6};
        const struct sm_across plane = {from_circle, &s, 1.0, 1};
        for (double w = 0.0; s.x + s.a + w < 0.99; w += 0.17) {
            const double r = s.a + w;
            expect(&plane, w, M_PI * r * r, 2.0 * M_PI * r, i % 2 == 0 ? 1e-6 : 3e-5,
                   i % 2 == 0 ? 1e-6 : 3e-5);
        }
    }
}

/* Steiner's formula for a convex body: area a b + 2 (a + b) w + pi w^2, perimeter 2 (a + b) + 2 pi w. Sharp corners at w = 0 are cut
 * off in a cell each; one rectangle is a slit. */
Test(grain_planes, rectangles)
{
    for (int i = 0; i < 4; i++) {
        struct port s = {.x = -0.21 + 0.14 * i, .a = 0.4, .b = 0.01 + 0.06 * i, .least = 1.0};
        const struct sm_across plane = {from_rectangle, &s, 1.0, 1};
        for (double w = 0.0; w < 0.34; w += 0.06) {
            const double sides = 4.0 * (s.a + s.b);
            expect(&plane, w, 4.0 * s.a * s.b + sides * w + M_PI * w * w, sides + 2.0 * M_PI * w, 2e-5, 5e-4);
        }
    }
}

/* A bore with six fins, by equal parts and as a whole. At the start the bore's arcs between the fins' mouths, their sides and tips;
 * elementary. Twenty-four sharp corners then. */
Test(grain_planes, fins)
{
    struct sm_across plane = {from_fins, NULL, 1.0, 6};
    const double mouth = sqrt(0.35 * 0.35 - 0.06 * 0.06), edge = asin(0.06 / 0.35);
    const double sector = 0.5 * 0.35 * 0.35 * (M_PI / 3.0 - 2.0 * edge) + 0.06 * mouth,
                 fin = 0.12 * (0.76 - mouth);
    expect(&plane, 0.0, 6.0 * (sector + fin),
           6.0 * (0.35 * (M_PI / 3.0 - 2.0 * edge) + 2.0 * (0.76 - mouth) + 0.12), 1e-5, 3e-4);
    for (double w = 0.02; w < 0.24; w += 0.05) {
        double area, length;
        plane.sectors = 6;
        sm_across_measure(&plane, w, &area, &length);
        plane.sectors = 1;
        expect(&plane, w, area, length, 2e-5, 3e-4);
    }
}

/* Nothing burned, and nothing left. */
Test(grain_planes, empty_and_full)
{
    struct port s = {.a = -0.1, .least = 1.0}; /* void nowhere */
    const struct sm_across plane = {from_circle, &s, 1.0, 3};
    expect(&plane, 0.0, 0.0, 0.0, 1e-12, 0.0);
    expect(&plane, 1.2, M_PI, 0.0, 1e-12, 0.0);
}
