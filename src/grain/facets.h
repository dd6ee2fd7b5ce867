/* Voids as facets, for ports that straight lines from whole solids are wrong for: those that leave the grain aslant through an end. */
#ifndef SM_GRAIN_FACETS_H
#define SM_GRAIN_FACETS_H

#include "grain/meshport.h"
#include "grain/patches.h"

/*
 * Does a void leave through an end that doesn't burn, leaning outwards there? Some fronts then start from the rim where the end cuts
 * it, not from the solid's surface, whose nearest point lies beyond the end.
 */
bool sm_voids_lean_out(const struct sm_voids *voids);

/*
 * The surfaces of all solids, which may overlap: round ones by chords of as much area, 96 to the turn.
 *
 * Returned: *out, a port of that mesh with as many boxes across the grain as its fineness, 64 at most; in the arena. Status: SM_E_NOMEM.
 */
enum sm_status sm_voids_facets(struct sm_arena *arena, const struct sm_voids *voids, struct sm_meshport *out,
                               struct sm_error *err) SM_MUST_CHECK;

#endif
