/* The free passage along a grain as it burns: what a reckoning of the flow through the port needs. */
#ifndef SM_GRAIN_PASSAGE_H
#define SM_GRAIN_PASSAGE_H

#include "grain/shape.h"

/* Immutable once made. A prism has one station, which holds for all of its length. */
struct sm_passage {
    size_t n_stations, n_levels;
    const double *z;    /* of the stations, rising, from the fore face [m] */
    const double *w;    /* distances burned, rising, from 0 to the web; twice where something jumps [m] */
    const double *area; /* free section at [station * n_levels + level] [m2] */
    const double *perimeter; /* of its burning wall, in the plane across the axis [m] */
    const double *through;   /* free volume between the first station and this one; NULL of a prism [m3] */
    double length;           /* of the grain [m] */
    double circle;           /* section of the cylinder it was cast in [m2] */
    bool fore_burns, aft_burns;
};

/*
 * Makes the passage of a grain that has a port.
 *
 * Returned: out, in the arena.
 * Status: as sm_shape_geometry; SM_E_INTERNAL for a shape that has none of them.
 * Notes:
 *   1) 32 levels from event to event; 257 stations along a body of revolution, and two at a step of its bore.
 *   2) Where a port changes its cross-section, each length has stations at its ends and, evenly, between them; their slices are
 *      cut by the fronts of all lengths.
 *   3) A perimeter is that of the plane section; the burning area of a metre of a cone is larger by one over the cosine of
 *      its slope.
 *   4) Along a body of revolution free volumes are the section's integral from front to front, so that a step of the bore
 *      that runs along the axis is where it is at every level; elsewhere straight lines between stations are integrated.
 *   5) A port of solids has 33 stations, each cut by a net of 48 rings: areas to about 1e-3 of the circle, perimeters to
 *      1e-2. That of a mesh is cut likewise, at the nodes of its lattice.
 */
enum sm_status sm_shape_passage(const struct sm_shape *shape, struct sm_arena *arena,
                                const struct sm_grain_common *common, const void *params,
                                struct sm_passage *out, struct sm_error *err) SM_MUST_CHECK;

/* Free section [m2] and burning perimeter [m] of a body of revolution in the plane just inside of its aft end as it burns, at n
 * distances burned w [m]: exact. A domed end is where the front comes out of the dome. Status: as sm_meridian_burn. */
enum sm_status sm_meridian_aft_port(struct sm_arena *scratch, const struct sm_meridian *meridian,
                                    const double *w, size_t n, double *area, double *perimeter,
                                    struct sm_error *err) SM_MUST_CHECK;

#endif
