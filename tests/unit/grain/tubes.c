/* Tube and end burner against closed forms. */
#include <criterion/criterion.h>
#include <math.h>

#include "grain/shape.h"

/* The first member of a tube's block is its bore's diameter, of an end burner's its recess's; ratios of 0 are none. */
static struct sm_geometry make(struct sm_arena *arena, double outer, double bore, double length,
                               unsigned burning)
{
    const struct sm_grain_common common = {.outer_diameter = outer, .length = length, .burning = burning};
    const struct sm_shape *shape = sm_shape_find(bore > 0.0 ? "tube" : "end-burner");
    const double block[5] = {bore}; /* no recess for an end burner */
    cr_assert_not_null(shape);
    struct sm_geometry g;
    struct sm_error err;
    cr_assert_eq(sm_shape_geometry(shape, arena, &common, block, &g, &err), SM_OK, "%s", err.message);
    return g;
}

static double area_at(const struct sm_geometry *g, double w)
{
    struct sm_geometry_at at;
    sm_geometry_eval(g, w, &at);
    return -at.slope[SM_VOLUME];
}

static double value_at(const struct sm_geometry *g, enum sm_integral which, double w)
{
    struct sm_geometry_at at;
    sm_geometry_eval(g, w, &at);
    return at.value[which];
}

static void near_to(double got, double want, double tolerance, const char *what)
{
    cr_expect(fabs(got - want) <= tolerance * fabs(want), "%s: got %.17g, want %.17g", what, got, want);
}

/* Segment with bore and both ends burning, A = pi (d + 2x)(L - 2x) + pi/2 (D^2 - (d + 2x)^2), and its neutral
 * length L = (3D + d)/2: Wikipedia, "BATES". The numbers were computed from that formula by hand: equal areas
 * at both ends of the burn, and a hump of 12.27 % halfway, so neutral does not mean flat. Tolerance 1e-6: the
 * digits printed. */
Test(grain_tubes, segment_of_neutral_length)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const double D = 50.0, d = 20.0, L = 0.5 * (3.0 * D + d);
    cr_assert_float_eq(L, 85.0, 1e-12);
    const struct sm_geometry g =
        make(&arena, D / 1e3, d / 1e3, L / 1e3, SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END);
    near_to(g.web, 0.015, 1e-14, "web");
    near_to(area_at(&g, 0.0), 8639.38e-6, 1e-6, "area at the start");
    near_to(area_at(&g, 3.75e-3), 9434.60e-6, 1e-6, "area at a quarter");
    near_to(area_at(&g, 7.5e-3), 9699.67e-6, 1e-6, "area halfway");
    near_to(area_at(&g, 11.25e-3), 9434.60e-6, 1e-6, "area at three quarters");
    near_to(area_at(&g, 15e-3 * (1.0 - 1e-12)), 8639.38e-6, 1e-6, "area at the end");
    cr_expect_eq(area_at(&g, g.web), 0.0, "nothing is left at the web");
    for (double x = 0.0; x < 15.0; x += 0.37) {
        const double e = d + 2.0 * x;
        near_to(area_at(&g, x / 1e3), 1e-6 * (M_PI * e * (L - 2.0 * x) + 0.5 * M_PI * (D * D - e * e)), 1e-14,
                "area of the closed form");
    }
    near_to(g.port_area, M_PI * 100e-6, 1e-14, "port");
    near_to(g.envelope, M_PI * 625e-6 * 0.085, 1e-14, "envelope");
    cr_expect_eq(g.web_main, g.web);
    cr_expect_eq(g.n_pieces, 1u);
    sm_arena_release(&arena);
}

/* Cylindrical port with inhibited ends, A = 2 pi (r + w) L; the case of ri = 150, ro = 300, L = 3000 mm is
 * worked in D. Davis, "PROPULSION - A Rocket Propulsion Engineering Course", module 21, example 21.1, printed
 * to four digits. */
Test(grain_tubes, port_with_inhibited_ends)
{
    static const double printed[][2] = {
        {0.00, 2.827}, {0.03, 3.393}, {0.06, 3.958}, {0.09, 4.524}, {0.12, 5.089}};
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_geometry g = make(&arena, 0.6, 0.3, 3.0, SM_FACE_BORE);
    for (size_t i = 0; i < SM_COUNT(printed); i++)
        near_to(area_at(&g, printed[i][0]), printed[i][1], 2e-4, "printed area");
    near_to(area_at(&g, 0.15 * (1 - 1e-13)), 5.655, 2e-4, "printed area at the end");
    sm_arena_release(&arena);
}

/* Internal and external burning, ends inhibited: A = 2 pi L (ro + ri) all through; ro = 40, ri = 20, L = 300
 * mm gives 0.1130973 m2. Elementary. */
Test(grain_tubes, inside_and_outside_burn)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_geometry g = make(&arena, 0.08, 0.04, 0.3, SM_FACE_BORE | SM_FACE_OUTER);
    near_to(g.web, 0.01, 1e-14, "web");
    for (double w = 0.0; w < 0.01; w += 0.0013)
        near_to(area_at(&g, w), 2.0 * M_PI * 0.3 * 0.06, 1e-13, "area");
    near_to(area_at(&g, 0.0), 0.1130973, 1e-6, "printed area");
    sm_arena_release(&arena);
}

/* The same bore in a grain so short that its ends meet before the fire comes to the wall, at half the length: all of the area
 * before, 2 pi (ro^2 - (r + L/2)^2), goes at once. Elementary. */
Test(grain_tubes, ends_that_meet_end_it_at_once)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const double L = 0.02, r = 0.01, ro = 0.025, at = 0.5 * L;
    const struct sm_geometry g =
        make(&arena, 2 * ro, 2 * r, L, SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END);
    const double before = 2.0 * M_PI * (ro * ro - (r + at) * (r + at));
    near_to(g.web, at, 1e-14, "web");
    near_to(area_at(&g, at * (1.0 - 1e-12)), before, 1e-11, "area just before");
    cr_expect_eq(area_at(&g, at), 0.0);
    sm_arena_release(&arena);
}

/* A rod in a tube, ends inhibited: A = 2 pi L (rod + bore) while both burn, what grows at the bore going at the rod; then the rod's
 * alone, 2 pi L (rod - w). Elementary. */
Test(grain_tubes, rod_and_tube_are_neutral)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const double block[2] = {0.04, 0.024}, L = 0.15; /* bore, rod [m] */
    const struct sm_grain_common common = {.outer_diameter = 0.06, .length = L, .burning = SM_FACE_BORE};
    struct sm_geometry g;
    cr_assert_eq(sm_shape_geometry(sm_shape_find("rod-and-tube"), &arena, &common, block, &g, NULL), SM_OK);
    near_to(g.web, 0.012, 1e-13, "web");
    for (double w = 0.0; w < 0.01; w += 0.0013)
        near_to(area_at(&g, w), 2.0 * M_PI * L * 0.032, 1e-12, "area while both burn");
    for (double w = 0.0101; w < 0.012; w += 0.0005)
        near_to(area_at(&g, w), 2.0 * M_PI * L * (0.012 - w), 1e-10, "area of the rod");
    sm_arena_release(&arena);
}

/* All integrals of the annulus left at w, from the textbook moments of a hollow cylinder: the section is
 * pi (ro^2 - ri^2), the second moment across pi/4 (ro^4 - ri^4), and along z they are powers of z0 and z1. */
static void check_integrals(const struct sm_geometry *g, double ri, double ro, double z0, double z1, double w)
{
    const double whole[] = {value_at(g, SM_VOLUME, 0.0), value_at(g, SM_Z, 0.0), value_at(g, SM_ZZ, 0.0),
                            value_at(g, SM_XX, 0.0)};
    const double section = M_PI * (ro * ro - ri * ri), across = 0.25 * M_PI * (pow(ro, 4) - pow(ri, 4));
    cr_expect_float_eq(value_at(g, SM_VOLUME, w), section * (z1 - z0), 1e-14 * whole[0], "volume");
    cr_expect_float_eq(value_at(g, SM_Z, w), section * 0.5 * (z1 * z1 - z0 * z0), 1e-14 * whole[1], "z");
    cr_expect_float_eq(value_at(g, SM_ZZ, w), section * (pow(z1, 3) - pow(z0, 3)) / 3.0, 1e-14 * whole[2],
                       "zz");
    cr_expect_float_eq(value_at(g, SM_XX, w), across * (z1 - z0), 1e-14 * whole[3], "xx");
    cr_expect_float_eq(value_at(g, SM_YY, w), across * (z1 - z0), 1e-14 * whole[3], "yy");
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        if (i == SM_X || i == SM_Y || i == SM_XY || i == SM_XZ || i == SM_YZ)
            cr_expect_eq(value_at(g, (enum sm_integral)i, w), 0.0);
}

Test(grain_tubes, all_integrals_of_every_choice_of_faces)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    for (int solid = 0; solid < 2; solid++)
        for (unsigned burning = 1; burning < 16; burning++) {
            if (solid && burning & SM_FACE_BORE)
                continue;
            const double ri = solid ? 0.0 : 0.011, ro = 0.029, length = 0.047;
            const double bore = burning & SM_FACE_BORE ? 1 : 0, wall = burning & SM_FACE_OUTER ? 1 : 0;
            const double fore = burning & SM_FACE_FORE_END ? 1 : 0, aft = burning & SM_FACE_AFT_END ? 1 : 0;
            const struct sm_geometry g = make(&arena, 2 * ro, 2 * ri, length, burning);
            for (int i = 0; i < 8; i++) {
                const double w = g.web * i / 8.0;
                check_integrals(&g, ri + bore * w, ro - wall * w, fore * w, length - aft * w, w);
                const double across = M_PI * (pow(ro - wall * w, 2) - pow(ri + bore * w, 2));
                const double round = 2 * M_PI * (wall * (ro - wall * w) + bore * (ri + bore * w));
                near_to(area_at(&g, w), (fore + aft) * across + round * (length - (fore + aft) * w), 1e-12,
                        "area");
            }
            cr_expect_eq(value_at(&g, SM_VOLUME, g.web), 0.0);
        }
    sm_arena_release(&arena);
}

/* A solid cylinder burning at its wall alone loses area linearly, so that it falls below half its mean at
 * three quarters of the radius. */
Test(grain_tubes, web_main)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_geometry g = make(&arena, 0.08, 0.0, 0.3, SM_FACE_OUTER);
    near_to(g.web_main, 0.03, 1e-12, "web_main");
    sm_arena_release(&arena);
}
