/* A grain of one cross-section all along, with flat ends. */
#ifndef SM_GRAIN_PRISM_H
#define SM_GRAIN_PRISM_H

#include "grain/geometry.h"
#include "grain/section.h"

/*
 * Geometry of a prismatic grain.
 *
 * Given:
 *   arena    takes the pieces
 *   section  of the grain; what burns of it is said there and in burning
 *   length   [m]
 *   burning  faces, enum sm_face
 * Returned:
 *   out      all of it
 * Status:
 *   SM_E_NOMEM
 *   SM_E_GEOMETRY  the section is not sound, or its outer face burns and its bore does not
 * Notes:
 *   1) What is left at w is the section left at w, between the ends left at w: the nearest of two burning surfaces
 *      decides, whichever it is. So all ten integrals are products of plane ones and powers of the two ends' places.
 *   2) With the bore inhibited, the way from the outer face to some places may lead through the bore, where
 *      straight-line distance is wrong: refused.
 */
enum sm_status sm_prism_geometry(struct sm_arena *arena, const struct sm_section *section, double length,
                                 unsigned burning, struct sm_geometry *out,
                                 struct sm_error *err) SM_MUST_CHECK;

/* The same per metre of an endless grain, so that only its walls burn: value[SM_VOLUME] is the propellant's section [m2],
 * -slope[SM_VOLUME] the wetted perimeter [m]. */
enum sm_status sm_prism_slice(struct sm_arena *arena, const struct sm_section *section,
                              struct sm_geometry *out, struct sm_error *err) SM_MUST_CHECK;

#endif
