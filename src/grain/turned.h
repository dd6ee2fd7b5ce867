/*
 * Bodies of revolution by their meridian: distances from one, and its parallel surfaces.
 *
 * The meridian (x along the axis, y the radius) is trimmed as in the plane, so that the parts of each parallel surface are
 * known exactly: lines that turn into cones, cylinders and discs, arcs that turn into parts of tori. It need not be convex.
 */
#ifndef SM_GRAIN_TURNED_H
#define SM_GRAIN_TURNED_H

#include "grain/contour.h"
#include "grain/stage.h"

/* An edge as distances ask for it. */
struct sm_turned_edge {
    struct sm_point a, b; /* [m] */
    struct sm_point u;    /* unit, from a to b [1] */
    double length;        /* from a to b [m] */
    bool is_arc;
    struct sm_point centre; /* [m] */
    double radius;          /* [m] */
};

/* Immutable once made: any number of threads may ask it. */
struct sm_turned {
    struct sm_contour profile; /* as given */
    struct sm_turned_edge *edges;
    size_t n_edges;
    double low, high, radius; /* what it lies between along its axis, and its largest radius [m] */
    struct sm_fronts fronts;
    struct sm_stages stages; /* of its parallel surfaces */
};

/*
 * A body ready to be asked.
 *
 * Given:
 *   profile  one chain with the body on its left, closed or from the axis to the axis; its arcs turn left, and none of the other
 *            edges lies between an arc and its chord
 *   reach    distance up to which parallel surfaces are asked for [m]
 * Returned: *out, which keeps the profile's edges; in the arena.
 * Status:
 *   SM_E_NOMEM
 *   SM_E_GEOMETRY  the profile crosses itself
 */
enum sm_status sm_turned_make(struct sm_arena *arena, const struct sm_contour *profile, double reach,
                              struct sm_turned *out, struct sm_error *err) SM_MUST_CHECK;

/* Distance of a place from the body's surface, negative inside: exact [m]. p.y >= 0. */
double sm_turned_distance(const struct sm_turned *turned, struct sm_point p);

/* The place on the surface nearest to p. */
struct sm_point sm_turned_nearest(const struct sm_turned *turned, struct sm_point p);

/* The most of z along + r across over the body [m]; along, across: of a unit direction [1], across >= 0. */
double sm_turned_extent(const struct sm_turned *turned, double along, double across);

/* Does the body, beyond the plane across its axis at z [m], get wider away from it? end: +1 above the plane, -1 below. */
bool sm_turned_widens(const struct sm_turned *turned, double z, int end);

/* The profile of what lies before the plane across the axis at z [m], with a flat end there. Returned: false, with nothing made, unless
 * the profile is of straight edges from the axis to the axis and crosses the plane once. */
bool sm_turned_cut(const struct sm_contour *profile, double z, int end, struct sm_contour *out);

/* The parts of the surface parallel to it at w [m], 0 <= w <= reach, as they lie at *at: w, or a place so near to it that the
 * difference is of no account. */
const struct sm_parts *sm_turned_parts(const struct sm_turned *turned, double w, double *at);

#endif
