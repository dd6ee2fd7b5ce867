/* Burning fronts in a lattice: in each box the distance is the least, or the greatest, of a few planes, so that creases are
 * straight cuts and not lost corners. */
#ifndef SM_GRAIN_CREASE_H
#define SM_GRAIN_CREASE_H

#include "grain/geometry.h"
#include "grain/lattice.h"

struct sm_creased {
    const struct sm_lattice *lattice;
    double radius, length;  /* of the grain's cylinder [m] */
    bool fore, aft, outer;  /* faces that burn besides the mesh */
    struct sm_span *boxes;  /* one a box, its planes among all planes */
    struct sm_span *layers; /* one a layer of boxes */
    struct sm_plane *planes;
    double reach; /* no front of the mesh lies farther [m] */
    double *sums; /* integrals over each layer's fronts, while they are summed [m2], [m3], [m4] */
};

enum sm_status sm_creased_init(struct sm_arena *arena, struct sm_creased *creased,
                               struct sm_error *err) SM_MUST_CHECK;

/*
 * Integrals, on as many threads as there are processors, over all burning fronts at distance burned w [m]: flux[SM_VOLUME] is their area [m2], flux[SM_X] that of x
 * [m3], and so on.
 *
 * Notes:
 *   1) A box's planes are the distance's tangents at its middle and those corners where the middle's tangent misses the
 *      true distance. Where it lies above (fronts meet), the box's distance is the planes' least, else (a front widens
 *      round an edge) their greatest; either way second order, and exact for flat facets.
 */
void sm_creased_flux(const struct sm_creased *creased, double w, double flux[SM_N_INTEGRALS]);

#endif
