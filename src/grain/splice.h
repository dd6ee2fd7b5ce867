/*
 * Grains whose port changes its cross-section from one length to the next, as where fins end: three-dimensional burnback by
 * slices across the axis.
 *
 * A void of one cross-section between z0 and z1 has burned by w inside that length, and by q = sqrt(w^2 - d^2) at a distance d
 * beyond it. So every slice is a plane union of voids burned unequally far, which the plane trimmer cuts exactly; what is left
 * is one smooth integral along the axis, done by Gauss points between the places where a slice's make-up changes.
 */
#ifndef SM_GRAIN_SPLICE_H
#define SM_GRAIN_SPLICE_H

#include "grain/geometry.h"
#include "grain/section.h"
#include "grain/sheet.h"

/* A length of the grain and its port: closed chains, or a half-sector's between its rays, void on the left. */
struct sm_splice {
    double z0, z1; /* [m] */
    struct sm_contour contour;
};

/* Splices end to end from the fore face to the aft face; their ports share the symmetry, and each two of them meet. */
struct sm_spliced {
    const struct sm_splice *items;
    size_t n;
    int sectors;      /* as of a section */
    double radius;    /* of the cylinder, which does not burn [m] */
    unsigned burning; /* faces, enum sm_face: the bore always, and the ends */
};

/*
 * Geometry of a spliced grain.
 *
 * Status:
 *   SM_E_NOMEM
 *   SM_E_GEOMETRY  a splice's section is not sound; the bore is inhibited, or the outer face burns
 * Notes:
 *   1) The table holds the area to 1e-5 of the largest. Kinks are looked for where a splice's own section has them and where
 *      the make-up of slices changes at the edge of what is sliced; pieces shrink around any others.
 */
enum sm_status sm_spliced_geometry(struct sm_arena *arena, const struct sm_spliced *grain,
                                   struct sm_geometry *out, struct sm_error *err) SM_MUST_CHECK;

/* The grain cut along its axis, for a drawing: z to the right, x upwards, n squares to the radius and more lines where the port
 * changes. Status: SM_E_NOMEM. */
enum sm_status sm_spliced_sheet(struct sm_arena *arena, const struct sm_spliced *grain, int n,
                                struct sm_sheet *out, struct sm_error *err) SM_MUST_CHECK;

#endif
