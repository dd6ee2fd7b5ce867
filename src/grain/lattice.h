/* Signed distance to a mesh at the nodes and middles of a lattice of boxes, with its direction. */
#ifndef SM_GRAIN_LATTICE_H
#define SM_GRAIN_LATTICE_H

#include <stdbool.h>

#include "grain/mesh.h"
#include "grain/nearest.h"

enum { SM_MAX_LATTICE = 2 * 1000 * 1000 }; /* boxes */

struct sm_distance {
    double d;    /* to the nearest facet, negative within the void; deep in it not less than four steps [m] */
    double n[3]; /* its gradient, a unit vector [1] */
};

struct sm_lattice {
    int n[3];                          /* boxes along x, y and z */
    double origin[2], step;            /* across the axis [m] */
    const double *z;                   /* of the nodes, n[2] + 1 of them, from the fore to the aft face [m] */
    const struct sm_distance *nodes;   /* (n[0] + 1) (n[1] + 1) (n[2] + 1) of them, x fastest */
    const struct sm_distance *middles; /* n[0] n[1] n[2] of them */
    bool has_overlap;                  /* bodies of the mesh overlap somewhere */
};

/*
 * Fills a lattice round the cylinder of the given radius and length [m] with `across` boxes to its diameter.
 *
 * Given: mesh, found sound; tree of it, or of what lies within the length.
 * Status: SM_E_NOMEM; SM_E_RANGE for more than SM_MAX_LATTICE boxes, at /resolution.
 * Notes:
 *   1) The boxes stand a little aside of the axis, and of the middle of the length, so that no sample of a symmetric mesh is
 *      equally far from two facets and the choice between them left to rounding.
 *   2) What is void is told by winding numbers along columns in z.
 */
enum sm_status sm_lattice_fill(struct sm_arena *arena, const struct sm_mesh *mesh, const struct sm_tree *tree,
                               double radius, double length, int across, struct sm_lattice *out,
                               struct sm_error *err) SM_MUST_CHECK;

/* Distances in the plane of z and x, y = 0: nx places across the diameter, the faster, and nz along the length. */
enum sm_status sm_lattice_plane(struct sm_arena *arena, const struct sm_mesh *mesh,
                                const struct sm_tree *tree, double radius, double length, int nx, int nz,
                                const struct sm_distance **out, struct sm_error *err) SM_MUST_CHECK;

#endif
