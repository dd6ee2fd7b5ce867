/* Bodies of revolution with parts of their bore inhibited: fronts that go round edges. */
#ifndef SM_GRAIN_GEODESIC_H
#define SM_GRAIN_GEODESIC_H

#include "grain/geometry.h"
#include "grain/meridian.h"
#include "grain/sheet.h"

enum { SM_GEODESIC_STEPS = 16 }; /* lines that a quarter of an arc of the bore becomes */

/*
 * Geometry of the body by shortest ways within the propellant.
 *
 * Given: meridian without domes and hasty walls; resolution, boxes to the radius, 8 to 1024.
 * Status:
 *   SM_E_NOMEM
 *   SM_E_GEOMETRY  a domed end, a hasty wall, or nothing that burns
 * Notes:
 *   1) The front's time at a place is its shortest way to what burns, which bends only about edges of what is inhibited; for
 *      a body of revolution that way lies in the meridian. Ways are exact (grain/walls.h); fronts are taken from their
 *      tangents in a net of boxes, as in grain/crease.h, with an error of second order but at jumps of the area.
 *   2) Volume and first area are exact; the table is made as grain/levels.h says.
 */
enum sm_status sm_geodesic_geometry(struct sm_arena *arena, const struct sm_meridian *meridian,
                                    int resolution, struct sm_geometry *out,
                                    struct sm_error *err) SM_MUST_CHECK;

/* The grain cut along its axis: z to the right. */
struct sm_geodesic_drawing {
    struct sm_sheet grain;     /* both halves: distance from the bore, above nothing in propellant [m] */
    struct sm_sheet ways;      /* both halves: way to what burns; below nothing in the void [m] */
    struct sm_contour *fronts; /* one a distance burned: loose edges of the half above the axis */
};

/* Given: n boxes to the radius; w[n_w], distances burned [m]. Returned: out, in the arena. Status: likewise. */
enum sm_status sm_geodesic_draw(struct sm_arena *arena, const struct sm_meridian *meridian, int n,
                                const double *w, size_t n_w, struct sm_geodesic_drawing *out,
                                struct sm_error *err) SM_MUST_CHECK;

#endif
