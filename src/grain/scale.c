/* The same grain in another size: its table multiplied. */
#include <math.h>

#include "grain/geometry.h"

/* How often a length across and a length along the axis enters each integral. */
static const int across[SM_N_INTEGRALS] = {2, 3, 3, 2, 4, 4, 2, 4, 3, 3};
static const int along[SM_N_INTEGRALS] = {1, 1, 1, 2, 1, 1, 3, 1, 2, 2};

static double power(double k, int n)
{
    double product = 1.0;
    for (int i = 0; i < n; i++)
        product *= k;
    return product;
}

/* Distances burned go across. A root's pace runs in the square root of a distance. */
static void scale_piece(const struct sm_piece *in, double kr, double kz, struct sm_piece *out)
{
    *out = *in;
    out->w0 *= kr;
    out->w1 *= kr;
    out->root *= kr;
    out->near *= sqrt(kr);
    out->far *= sqrt(kr);
    for (int q = 0; q < SM_N_INTEGRALS; q++)
        for (int j = 0; j < 6; j++)
            out->c[q][j] *= power(kr, across[q]) * power(kz, along[q]);
}

static enum sm_status scale(struct sm_arena *arena, const struct sm_geometry *g, double kr, double kz,
                            struct sm_geometry *out, struct sm_error *err)
{
    if (!(kr > 0.0 && kz > 0.0 && isfinite(kr) && isfinite(kz)))
        return sm_fail(err, SM_E_INTERNAL, "a grain can't be made %g by %g times as large", kr, kz);
    struct sm_piece *pieces = sm_arena_alloc(arena, g->n_pieces, sizeof *pieces);
    if (!pieces)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < g->n_pieces; i++)
        scale_piece(&g->pieces[i], kr, kz, &pieces[i]);
    *out = *g;
    out->pieces = pieces;
    out->web = g->web * kr;
    out->web_main = g->web_main * kr;
    out->length = g->length * kz;
    out->outer_radius = g->outer_radius * kr;
    out->envelope = g->envelope * kr * kr * kz;
    out->port_area = g->port_area * kr * kr;
    return SM_OK;
}

enum sm_status sm_geometry_scale(struct sm_arena *arena, const struct sm_geometry *g, double k,
                                 struct sm_geometry *out, struct sm_error *err)
{
    return scale(arena, g, k, k, out, err);
}

enum sm_status sm_geometry_stretch(struct sm_arena *arena, const struct sm_geometry *g, double k,
                                   struct sm_geometry *out, struct sm_error *err)
{
    return scale(arena, g, 1.0, k, out, err);
}
