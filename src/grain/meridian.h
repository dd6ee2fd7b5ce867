/*
 * Bodies of revolution: the plane trimmer on the meridian, x along the axis and y the radius, weighed by the circle that
 * each point describes.
 */
#ifndef SM_GRAIN_MERIDIAN_H
#define SM_GRAIN_MERIDIAN_H

#include "grain/geometry.h"
#include "grain/stage.h"

/* Of a grain's end: flat, or bulging into a dome of the case, half an ellipsoid of this depth [m]; 0 for flat. */
struct sm_sleeve {
    double from, to; /* places along the axis between which the bore is inhibited, steps at them too [m] */
};

struct sm_meridian {
    struct sm_contour
        bore; /* one chain of the port's wall, from the aft face (or dome) towards the fore end, void on its
                               left, to the fore face, a dome, or the axis; no chain for a solid grain */
    double length;              /* from end to end, domes included [m] */
    double radius;              /* of the cylinder round it [m] */
    double fore_dome, aft_dome; /* depths [m] */
    unsigned burning;           /* faces, enum sm_face */
    double
        bond_line_ratio; /* burning rate along the outer wall over the propellant's own, from one burning end on; 0 or 1
                               for no haste there [1] */
    const struct sm_sleeve *sleeves; /* n_sleeves of them */
    size_t n_sleeves;
    bool is_geodesic;  /* fronts may go round edges */
    double axis_ratio; /* the same along the axis, as of a wire cast in [1] */
};

/*
 * Geometry of a body of revolution.
 *
 * Status:
 *   SM_E_NOMEM
 *   SM_E_GEOMETRY  the bore leaves the grain, crosses itself or ends in the open; it or a part of it is inhibited and the
 *                  meridian is not geodesic, for straight lines would be wrong; a domed end burns
 * Notes:
 *   1) Areas are exact to rounding, as in the plane; by Pappus' theorem a line of the meridian sweeps 2 pi r ds and its
 *      moments. Volumes are fluxes through the boundary of fields that point along the radius, so that flat ends and the
 *      axis add nothing.
 *   2) Along a wall that burns k times faster the fire runs ahead and lights the propellant beside it, whose front is then
 *      a cone with its slope to the wall at sin = 1/k. It is the offset of a line through the wall's burning end that leans
 *      outwards by that angle and lies wholly beyond the wall, so the trimmer needs to know no more than that line.
 *   3) What happens in a gap between stages (grain/stage.h), or within as little of an event where the volume would jump else, is
 *      left out of the areas, not of the volumes: the area there is the mean of what burns.
 *   4) A dome that is no half-sphere is drawn by arcs that touch each other and the ellipse: 4e-6 of the volume off it for
 *      depths of 0.3 to 1.6 radii.
 */
enum sm_status sm_meridian_geometry(struct sm_arena *arena, const struct sm_meridian *meridian,
                                    struct sm_geometry *out, struct sm_error *err) SM_MUST_CHECK;

/* A meridian ready to be asked for any w. */
struct sm_burning_meridian {
    struct sm_fronts fronts;
    struct sm_stages stages;
};
/* How far behind its crown a dome of that depth [m] on a cylinder of that radius [m] is r wide of the axis [m]: of the arcs
 * that it is drawn by, where a bore comes out of it. 0 <= r <= radius. */
double sm_meridian_dome_depth(double radius, double depth, double r);

/* Is a part of the bore inhibited, so that fronts go round edges (grain/geodesic.h)? */
bool sm_meridian_bends(const struct sm_meridian *meridian);

enum sm_status sm_meridian_burn(struct sm_arena *arena, const struct sm_meridian *meridian,
                                struct sm_burning_meridian *out, struct sm_error *err) SM_MUST_CHECK;

/* The body in a stage at w, which lies in it or on one of its ends, as seen from inside. */
void sm_meridian_knot(const struct sm_burning_meridian *meridian, size_t stage, double w,
                      struct sm_geometry_knot *out);

/* The slopes of that alone: the same numbers [m2], [m3], [m4]. */
void sm_meridian_slopes(const struct sm_burning_meridian *meridian, size_t stage, double w,
                        double slope[SM_N_INTEGRALS]);

/* Burning area [m2] of the whole body at n given w [m], not before one another; past the web none. What does not change from
 * level to level within a stage is reckoned once. scratch takes plans of the stages. Status: SM_E_NOMEM. */
enum sm_status sm_meridian_areas(struct sm_arena *scratch, const struct sm_burning_meridian *meridian,
                                 const double *w, size_t n, double *area, struct sm_error *err) SM_MUST_CHECK;

#endif
