#include "grain/annulus.h"

#include <math.h>

#include "grain/shape.h"

enum { N = 6 }; /* coefficients of a quintic */

static void multiply(const double a[N], const double b[N], double out[N])
{
    double sum[N] = {0};
    for (int i = 0; i < N; i++)
        for (int j = 0; i + j < N && a[i] != 0.0; j++)
            sum[i + j] += a[i] * b[j];
    for (int i = 0; i < N; i++)
        out[i] = sum[i];
}

/* out = k (a - b) */
static void subtract(const double a[N], const double b[N], double k, double out[N])
{
    for (int i = 0; i < N; i++)
        out[i] = k * (a[i] - b[i]);
}

/* With u = w / web, all four walls move linearly: the section is pi (ro^2 - ri^2) and the integrals over z
 * run from z0 to z1. Second moments across are pi/4 (ro^4 - ri^4) each way. */
static void integrals(const double inner[N], const double outer[N], const double z0[N], const double z1[N],
                      double c[SM_N_INTEGRALS][N])
{
    double ri2[N], ro2[N], ri4[N], ro4[N], section[N], second[N];
    multiply(inner, inner, ri2);
    multiply(outer, outer, ro2);
    multiply(ri2, ri2, ri4);
    multiply(ro2, ro2, ro4);
    subtract(ro2, ri2, M_PI, section);
    subtract(ro4, ri4, 0.25 * M_PI, second);

    double z02[N], z12[N], z03[N], z13[N], l0[N], l1[N], l2[N];
    multiply(z0, z0, z02);
    multiply(z1, z1, z12);
    multiply(z02, z0, z03);
    multiply(z12, z1, z13);
    subtract(z1, z0, 1.0, l0);
    subtract(z12, z02, 0.5, l1);
    subtract(z13, z03, 1.0 / 3.0, l2);

    multiply(section, l0, c[SM_VOLUME]);
    multiply(section, l1, c[SM_Z]);
    multiply(section, l2, c[SM_ZZ]);
    multiply(second, l0, c[SM_XX]);
    multiply(second, l0, c[SM_YY]);
}

static double rate(unsigned burning, enum sm_face face)
{
    return burning & face ? 1.0 : 0.0;
}

enum sm_status sm_annulus_geometry(struct sm_arena *arena, double inner, double outer, double length,
                                   unsigned burning, struct sm_geometry *g, struct sm_error *err)
{
    const double bore = inner > 0.0 ? rate(burning, SM_FACE_BORE) : 0.0, wall = rate(burning, SM_FACE_OUTER);
    const double fore = rate(burning, SM_FACE_FORE_END), aft = rate(burning, SM_FACE_AFT_END);
    const double across = bore + wall > 0.0 ? (outer - inner) / (bore + wall) : SM_INF;
    const double along = fore + aft > 0.0 ? length / (fore + aft) : SM_INF;
    const double web = fmin(across, along);

    struct sm_piece *piece = sm_arena_alloc(arena, 1, sizeof *piece);
    if (!piece)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    piece->w1 = web;
    const double ri[N] = {inner, bore * web}, ro[N] = {outer, -wall * web};
    const double z0[N] = {0.0, fore * web}, z1[N] = {length, -aft * web};
    integrals(ri, ro, z0, z1, piece->c);
    *g = (struct sm_geometry){.pieces = piece,
                              .n_pieces = 1,
                              .length = length,
                              .outer_radius = outer,
                              .envelope = M_PI * outer * outer * length};
    sm_geometry_finish(g);
    return SM_OK;
}
