/* Burnback tables as callers get them: port, wetted perimeter, moments and derivatives against closed forms. */
#include "slowmatch/slowmatch.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

#include "example_motor.h"

#define NEAR(got, want, tolerance)                                                                           \
    cr_expect(fabs((got) - (want)) <= (tolerance), "row %zu: %.15g, not %.15g", i, (double)(got),            \
              (double)(want))

static const double pi = 3.14159265358979323846;

static struct sm_grain_tables *tables_with(const char *file, size_t rows, struct sm_motor **motor)
{
    struct sm_error err = {0};
    struct sm_grain_tables *tables = NULL;
    *motor = example_motor(SM_SOURCE_DIR, file, NULL, 0);
    cr_assert(*motor, "%s", file);
    cr_assert_eq(sm_grain_tables_make(*motor, rows, &tables, &err), SM_OK, "%s", err.message);
    return tables;
}

static struct sm_grain_tables *tables_of(const char *file, struct sm_motor **motor)
{
    return tables_with(file, 17, motor);
}

/* A tube of 29 mm by 49.94 mm with a bore of 10 mm, both ends burning. With r = 5 mm + w, h = the length less 2 w and R = 14.5 mm:
 * port pi r^2, wetted perimeter 2 pi r, dA/dw = d/dw (2 pi r h + 2 pi (R^2 - r^2)) = 2 pi (h - 4 r), xx = pi/4 (R^4 - r^4) h. */
Test(tables, of_a_tube)
{
    struct sm_motor *motor;
    struct sm_grain_tables *tables = tables_of("sandpiper-cored.json", &motor);
    const struct sm_grain_table *t = &tables->tables[0];
    const double R = 0.0145, L = 0.04994, rounding = 1e-12;
    cr_assert(t->port_area && t->perimeter);
    for (size_t i = 0; i < t->n; i++) {
        const double w = t->web[i], r = 0.005 + w, h = L - 2.0 * w,
                     xx = pi / 4.0 * (pow(R, 4) - pow(r, 4)) * h;
        NEAR(t->port_area[i], pi * r * r,
             1e-11 * R * R); /* the last row is taken 1e-12 of the web before it */
        NEAR(t->perimeter[i], 2.0 * pi * r, 1e-9 * R);
        NEAR(t->area_slope[i], 2.0 * pi * (h - 4.0 * r), 1e-9 * L);
        NEAR(t->center_x[i], 0.0, rounding);
        NEAR(t->moments[0][i], 0.0, rounding * pow(R, 4));
        NEAR(t->moments[3][i], xx, rounding * pow(R, 4) * L);
        NEAR(t->moments[4][i], xx, rounding * pow(R, 4) * L);
        NEAR(t->moments[2][i], t->volume[i] * 0.5 * L, rounding * R * R * L * L);
        NEAR(t->moments[6][i], 0.0, rounding * pow(R, 4) * L);
    }
    cr_expect_float_eq(t->figures.port_perimeter, 2.0 * pi * 0.005, 1e-12);
    const struct sm_grain_table *all = &tables->tables[tables->n - 1];
    cr_assert(all->port_area && all->perimeter, "of the stack, its last port");
    for (size_t i = 0; i + 1 < all->n; i++) {
        const double r = 0.005 + all->web[i];
        NEAR(all->port_area[i], pi * r * r, 1e-12 * R * R);
        NEAR(all->perimeter[i], 2.0 * pi * r, 1e-9 * R);
    }
    sm_grain_tables_free(tables);
    sm_motor_free(motor);
}

/* A round port of radius a = 4.5 mm + w beside the axis, at e = 9 mm, until it meets the wall at w = 1 mm: port pi a^2, perimeter
 * 2 pi a; what is left is a disc less a disc, so x = -e a^2/(R^2 - a^2) and xx = L pi (R^4/4 - a^4/4 - a^2 e^2). */
Test(tables, of_an_offset_bore)
{
    struct sm_motor *motor;
    struct sm_grain_tables *tables = tables_of("sandpiper-offset-bore.json", &motor);
    struct sm_grain_facts facts;
    const struct sm_grain_table *t = &tables->tables[0];
    const double R = 0.0145, e = 0.009;
    sm_motor_grain(motor, 0, &facts);
    size_t n_seen = 0;
    for (size_t i = 0; i < t->n && t->web[i] < 0.001; i++, n_seen++) {
        const double a = 0.0045 + t->web[i], a2 = a * a;
        NEAR(t->port_area[i], pi * a2, 1e-12 * R * R);
        NEAR(t->perimeter[i], 2.0 * pi * a, 1e-9 * R);
        NEAR(t->center_x[i], -e * a2 / (R * R - a2), 1e-9 * R);
        NEAR(t->center_y[i], 0.0, 1e-12 * R);
        NEAR(t->moments[3][i], facts.length * pi * (0.25 * (pow(R, 4) - a2 * a2) - a2 * e * e),
             1e-9 * pow(R, 4) * facts.length);
        NEAR(t->moments[4][i], facts.length * pi * 0.25 * (pow(R, 4) - a2 * a2),
             1e-9 * pow(R, 4) * facts.length);
    }
    cr_expect_geq(n_seen, 1u);
    sm_grain_tables_free(tables);
    sm_motor_free(motor);
}

/* A burner of the end has no port, and so no such column. */
Test(tables, without_a_port)
{
    struct sm_motor *motor;
    struct sm_grain_tables *tables = tables_of("sandpiper-end-burner.json", &motor);
    cr_expect_null(tables->tables[0].port_area);
    cr_expect_null(tables->tables[0].perimeter);
    cr_expect(isnan(tables->tables[0].figures.port_perimeter));
    sm_grain_tables_free(tables);
    sm_motor_free(motor);
}

/* A wide bore of radius 6.5 mm behind a step at 55 mm, under a sleeve to the end at 80 mm: the fire comes up the step, 2.5 mm high,
 * and goes round its edge as an arc. At the aft face it is there once that has reached 25 mm: with q = w - 2.5 mm the radius is
 * 6.5 mm + sqrt(q^2 - 25^2). Before that nothing burns there. Elementary. */
Test(tables, round_an_edge)
{
    struct sm_motor *motor;
    struct sm_grain_tables *tables = tables_with("sandpiper-sleeve.json", 33, &motor);
    const struct sm_grain_table *t = &tables->tables[0];
    int n_lit = 0;
    cr_assert(t->port_area && t->perimeter);
    for (size_t i = 0; i + 1 < t->n; i++) {
        const double q = t->web[i] - 0.0025;
        const double out = q > 0.025 ? sqrt(q * q - 0.025 * 0.025) : 0.0, r = 0.0065 + out;
        if (r > 0.0145)
            continue;
        n_lit += out > 0.0;
        NEAR(t->port_area[i], pi * r * r, 1e-6 * pi * 0.0145 * 0.0145);
        NEAR(t->perimeter[i], out > 0.0 ? 2.0 * pi * r : 0.0, 1e-6 * pi * 0.029);
    }
    cr_expect_geq(n_lit, 1);
    sm_grain_tables_free(tables);
    sm_motor_free(motor);
}

/* Tables of the example with a bore, given other grains. */
static struct sm_grain_tables *tables_of_grains(const char *grains, size_t rows, struct sm_motor **motor)
{
    const struct sm_override overrides[] = {{"grains", grains}};
    struct sm_error err = {0};
    struct sm_grain_tables *tables = NULL;
    *motor = example_motor(SM_SOURCE_DIR, "sandpiper-cored.json", overrides, 1);
    cr_assert(*motor, "%s", grains);
    cr_assert_eq(sm_grain_tables_make(*motor, rows, &tables, &err), SM_OK, "%s", err.message);
    cr_assert(tables->tables[0].port_area && tables->tables[0].perimeter);
    return tables;
}

/* A bore of 10 mm told as a cylinder that ends in the aft face, one that goes beyond both, and one that an inner box makes no
 * wider: all are the tube's port, pi r^2 and 2 pi r with r = 5 mm + w, whether the ends burn or not. Tolerances: 1e-5 of the circle,
 * 2e-4 of its circumference. */
Test(tables, of_voids_that_are_a_tube)
{
    static const char *const voids[] = {
        "{\"form\":\"cylinder\",\"z\":\"0 mm\",\"diameter\":\"10 mm\",\"length\":\"60 mm\"}",
        "{\"form\":\"cylinder\",\"z\":\"-3 mm\",\"diameter\":\"10 mm\",\"length\":\"66 mm\"}",
        "{\"form\":\"cylinder\",\"z\":\"-3 mm\",\"diameter\":\"10 mm\",\"length\":\"66 mm\"},"
        "{\"form\":\"box\",\"x\":\"0 mm\",\"z\":\"30 mm\",\"width\":\"6 mm\",\"height\":\"7 "
        "mm\",\"length\":\"70 mm\"}"};
    static const char *const faces[] = {"\"bore\"", "\"bore\",\"aft-end\"",
                                        "\"bore\",\"fore-end\",\"aft-end\""};
    for (int k = 0; k < 3; k++) {
        char grains[1024];
        struct sm_motor *motor;
        snprintf(grains, sizeof grains,
                 "[{\"shape\":\"joined-voids\",\"outer_diameter\":\"29 mm\",\"length\":\"60 mm\","
                 "\"fineness\":8,\"burning\":[%s],\"voids\":[%s]}]",
                 faces[k], voids[k]);
        struct sm_grain_tables *tables = tables_of_grains(grains, 9, &motor);
        const struct sm_grain_table *t = &tables->tables[0];
        for (size_t i = 0; t->web[i] < 0.0095 * (1.0 - 1e-6); i++) {
            const double r = 0.005 + t->web[i], R = 0.0145;
            NEAR(t->port_area[i], pi * r * r, 1e-5 * pi * R * R);
            NEAR(t->perimeter[i], 2.0 * pi * r, 2e-4 * 2.0 * pi * R);
        }
        cr_expect_float_eq(t->figures.port_perimeter, t->perimeter[0], 0.0);
        sm_grain_tables_free(tables);
        sm_motor_free(motor);
    }
}

/* Bodies of revolution at their aft ends: a bore that widens to 14 mm there over 50 mm from 10 mm, with both ends burning, where it
 * is 7 mm - w tan a + w / cos a wide with tan a = 2/50; and a straight bore out of a half-sphere, which is a circle of 5 mm + w where
 * it comes out. Elementary; to 1e-9 of the circle and its circumference. */
Test(tables, of_bores_that_widen_and_that_leave_a_dome)
{
    static const char *const grains[] = {
        "[{\"shape\":\"tapered-tube\",\"outer_diameter\":\"29 mm\",\"length\":\"50 "
        "mm\",\"fore_bore_diameter\":\"10 mm\",\"aft_bore_diameter\":\"14 mm\",\"burning\":[\"bore\","
        "\"fore-end\",\"aft-end\"]}]",
        "[{\"shape\":\"domed-tube\",\"outer_diameter\":\"29 mm\",\"length\":\"50 "
        "mm\",\"bore_diameter\":\"10 mm\",\"fore_dome\":\"0 mm\",\"aft_dome\":\"14.5 mm\"}]"};
    const double R = 0.0145, slope = 0.04;
    for (int k = 0; k < 2; k++) {
        struct sm_motor *motor;
        struct sm_grain_tables *tables = tables_of_grains(grains[k], 25, &motor);
        const struct sm_grain_table *t = &tables->tables[0];
        int n_seen = 0;
        for (size_t i = 0; i < t->n; i++) {
            const double w = t->web[i], r = k == 0 ? 0.007 + w * (hypot(1.0, slope) - slope) : 0.005 + w;
            if (r > 0.999 * R)
                continue;
            n_seen++;
            NEAR(t->port_area[i], pi * r * r, 1e-8 * pi * R * R);
            NEAR(t->perimeter[i], 2.0 * pi * r, 1e-8 * 2.0 * pi * R);
        }
        cr_expect_gt(n_seen, 15);
        sm_grain_tables_free(tables);
        sm_motor_free(motor);
    }
}
