/* The grain bounded by two coaxial cylinders and two flat ends, each burning or not: closed form. */
#ifndef SM_GRAIN_ANNULUS_H
#define SM_GRAIN_ANNULUS_H

#include "grain/geometry.h"

/*
 * Given:
 *   inner, outer  radii [m], 0 <= inner < outer; inner = 0 is a solid cylinder
 *   length        [m]
 *   burning       faces, enum sm_face; SM_FACE_BORE is without effect if inner = 0
 * Returned:
 *   g             all of it but port_area; one exact piece, since the walls meet or the ends meet only when
 * nothing is left Status: SM_E_NOMEM Reference: elementary; the sum of faces of a cylinder with a concentric
 * hole.
 */
enum sm_status sm_annulus_geometry(struct sm_arena *arena, double inner, double outer, double length,
                                   unsigned burning, struct sm_geometry *g,
                                   struct sm_error *err) SM_MUST_CHECK;

#endif
