/* Pieces, tables and stacks. */
#include <criterion/criterion.h>
#include <math.h>

#include "grain/shape.h"
#include "grain/table.h"

/* A function whose area has a root at both ends: V = -(2/3) (w^1.5 - (1 - w)^1.5) + const, A = sqrt(w) +
 * sqrt(1 - w). */
static void two_roots(void *user, size_t k, double w, struct sm_geometry_knot *out)
{
    (void)user;
    (void)k;
    *out = (struct sm_geometry_knot){.w = w};
    for (int i = 0; i < SM_N_INTEGRALS; i++) {
        out->value[i] = 2.0 - (pow(w, 1.5) - pow(1.0 - w, 1.5)) / 1.5;
        out->slope[i] = -(sqrt(w) + sqrt(1.0 - w));
        out->bend[i] = -0.5 * (1.0 / sqrt(w) - 1.0 / sqrt(1.0 - w));
    }
}

/* Tolerance: as asked of the table, with a factor 4 for places where nobody checked. */
Test(grain_pieces, roots_are_followed)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const double breaks[] = {0.0, 1.0};
    const struct sm_table_source source = {
        .knot = two_roots, .breaks = breaks, .n_stretches = 1, .reach = 1.0, .tolerance = 1e-9};
    struct sm_geometry g = {0};
    cr_assert_eq(sm_table_build(&arena, &source, &g, NULL), SM_OK);
    /* Regression: 52 were counted, and 963 with the even pace alone. */
    cr_expect_lt(g.n_pieces, 60u, "%zu pieces", g.n_pieces);
    double worst = 0.0;
    for (int i = 0; i < 100000; i++) {
        const double w = (i + 0.5) / 100000;
        double area, volume;
        sm_piece_area(&g.pieces[sm_geometry_find(&g, w)], w, &area, &volume);
        worst = fmax(worst, fabs(area - sqrt(w) - sqrt(1.0 - w)));
    }
    cr_expect_lt(worst, 4e-9 * sqrt(2.0), "%g", worst);
    cr_expect_lt(g.accuracy, 1e-9);
    for (size_t i = 0; i + 1 < g.n_pieces; i++)
        cr_expect_eq(g.pieces[i].w1, g.pieces[i + 1].w0);
    sm_arena_release(&arena);
}

/* A piece's own value, slope and curvature give the piece back, whatever its pace and however far its root.
 */
static void round_trip(enum sm_pace pace, double root)
{
    struct sm_piece piece = {.w0 = 0.3, .w1 = 0.7, .pace = pace, .root = root}, back;
    const double at0 = sqrt(fabs(0.3 - root)), at1 = sqrt(fabs(0.7 - root));
    piece.near = pace == SM_ROOT_BEHIND ? at1 : at0;
    piece.far = pace == SM_ROOT_BEHIND ? at0 : at1;
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        for (int j = 0; j < 6; j++)
            piece.c[i][j] = j == 1 && piece.near == 0.0 && pace != SM_EVEN ? 0.0 : 1.0 + 0.1 * i - 0.3 * j;
    struct sm_geometry_knot a, b;
    sm_piece_knot(&piece, 0.3, &a);
    sm_piece_knot(&piece, 0.7, &b);
    sm_piece_from_knots(&a, &b, pace, root, NULL, &back);
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        for (int j = 0; j < 6; j++)
            cr_expect_float_eq(back.c[i][j], piece.c[i][j], 1e-11, "pace %d, c[%d][%d]", (int)pace, i, j);
}

Test(grain_pieces, knots_round_trip)
{
    round_trip(SM_EVEN, 0.0);
    round_trip(SM_ROOT_BEFORE, 0.3);
    round_trip(SM_ROOT_BEFORE, 0.1);
    round_trip(SM_ROOT_BEHIND, 0.7);
    round_trip(SM_ROOT_BEHIND, 0.9);
}

static struct sm_geometry tube(struct sm_arena *arena, double outer, double bore, double length,
                               unsigned burning)
{
    const struct sm_grain_common common = {.outer_diameter = outer, .length = length, .burning = burning};
    struct sm_geometry g;
    cr_assert_eq(sm_shape_geometry(sm_shape_find("tube"), arena, &common, &bore, &g, NULL), SM_OK);
    return g;
}

/* The sum over copies, each moved along z, by the parallel-axis theorem done the long way. */
static void sum_of(const struct sm_stack_item *items, size_t n, double w, struct sm_geometry_at *out)
{
    *out = (struct sm_geometry_at){0};
    for (size_t i = 0; i < n; i++)
        for (int k = 0; k < items[i].count; k++) {
            struct sm_geometry_at at;
            sm_geometry_eval(items[i].geometry, w, &at);
            const double s = items[i].shift + k * items[i].pitch;
            at.value[SM_ZZ] += 2 * s * at.value[SM_Z] + s * s * at.value[SM_VOLUME];
            at.slope[SM_ZZ] += 2 * s * at.slope[SM_Z] + s * s * at.slope[SM_VOLUME];
            at.value[SM_Z] += s * at.value[SM_VOLUME];
            at.slope[SM_Z] += s * at.slope[SM_VOLUME];
            for (int q = 0; q < SM_N_INTEGRALS; q++) {
                out->value[q] += at.value[q];
                out->slope[q] += at.slope[q];
            }
        }
}

static void compare_stack(const struct sm_stack_item *items, size_t n)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_geometry g;
    cr_assert_eq(sm_geometry_stack(&arena, items, n, &g, NULL), SM_OK);
    for (int i = 0; i < 50; i++) {
        const double w = g.web * (i + 0.3) / 50;
        struct sm_geometry_at got, want;
        sm_geometry_eval(&g, w, &got);
        sum_of(items, n, w, &want);
        for (int q = 0; q < SM_N_INTEGRALS; q++) {
            cr_expect_float_eq(got.value[q], want.value[q], 1e-14, "value %d", q);
            cr_expect_float_eq(got.slope[q], want.slope[q], 1e-12, "slope %d", q);
        }
    }
    sm_arena_release(&arena);
}

Test(grain_pieces, stacks_are_sums)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_geometry a =
        tube(&arena, 0.05, 0.02, 0.085, SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END);
    const struct sm_geometry b = tube(&arena, 0.05, 0.03, 0.06, SM_FACE_BORE);
    const struct sm_stack_item items[] = {{&a, 0.0, 0.087, 3}, {&b, 0.261, 0.0, 1}};
    compare_stack(items, 1);
    compare_stack(items, 2);
    struct sm_geometry g;
    cr_assert_eq(sm_geometry_stack(&arena, items, 2, &g, NULL), SM_OK);
    cr_expect_eq(g.n_pieces, 2u, "%zu", g.n_pieces);
    cr_expect_float_eq(g.length, 0.321, 1e-15);
    cr_expect_float_eq(g.port_area, M_PI * 0.015 * 0.015, 1e-15);
    cr_expect_eq(sm_geometry_stack(&arena, items, 0, &g, NULL), SM_E_INTERNAL);
    sm_arena_release(&arena);
}
