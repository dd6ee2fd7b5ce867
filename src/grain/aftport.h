/* The port at the aft end of a grain as it burns: what its table says of the flow. */
#ifndef SM_GRAIN_AFTPORT_H
#define SM_GRAIN_AFTPORT_H

#include "grain/shape.h"

/*
 * Free section [m2] and burning perimeter [m] at the aft end of what is left, at n distances burned w [m], below the web, of a grain
 * that has a port there; of a prism they hold all along.
 *
 * Given: scratch, which takes what is needed on the way.
 * Status: as sm_shape_geometry.
 * Notes:
 *   1) Those of prisms, of bodies of revolution and of spliced ports are exact.
 *   2) Ports of solids and meshes are cut by exact distances (grain/across.h): to 5e-5 of the circle and 3e-4 of its
 *      circumference; of the facets, where it is a mesh.
 *   3) Where fronts go round the edges of an inhibited bore, places along one radius are asked for their shortest ways; only what
 *      the fire has come to counts as burning, not the inhibited wall.
 */
enum sm_status sm_shape_aft_port(const struct sm_shape *shape, struct sm_arena *scratch,
                                 const struct sm_grain_common *common, const void *params, const double *w,
                                 size_t n, double *area, double *perimeter,
                                 struct sm_error *err) SM_MUST_CHECK;

#endif
