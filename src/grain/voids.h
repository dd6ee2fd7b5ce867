/*
 * Grains whose port is any union of balls, cylinders, cones, boxes and tori, tilted and off the axis as well.
 *
 * The front is where the nearest void is w away in a straight line. That is right where all of the port's wall burns and
 * nothing that doesn't burn stands between. A line that would have to leave the grain is noticed: through an end, the void is cut there and
 * burned as a mesh; through the wall, it is refused.
 */
#ifndef SM_GRAIN_VOIDS_H
#define SM_GRAIN_VOIDS_H

#include "grain/patches.h"

/*
 * Geometry of a grain with such a port.
 *
 * Given:
 *   voids    fineness 8 to 256
 *   threads  0: as many as OpenMP thinks fit; the result is the same for any number
 * Status:
 *   SM_E_NOMEM
 *   SM_E_RANGE     more than 256 voids
 *   SM_E_GEOMETRY  a void outside the grain or closed off from its ends, an outer face or no bore that burns, a void that cuts
 *                  the wall aslant, nothing left to burn
 * Notes:
 *   1) The error of the area falls with the square of the fineness: about 2e-5 of the largest area at 32, on average over the
 *      burn, and 2e-4 next to an event; flat ends of two voids that lie in one another within the grain add 1e-3. accuracy
 *      says what was met at a few levels against twice the fineness, and what the pieces add.
 *   2) A void that leaves aslant through an end that doesn't burn burns from the rim there too: that port is burned as a mesh
 *      (grain/facets.h), whose accuracy is a few thousandths.
 *   3) Volume and moments are the integrals of the front's; they end at nothing at the web.
 */
enum sm_status sm_voids_geometry(struct sm_arena *arena, const struct sm_voids *voids, int threads,
                                 struct sm_geometry *out, struct sm_error *err) SM_MUST_CHECK;

#endif
