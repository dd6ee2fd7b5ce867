/* Edges of what can be reached, and of the tube, with drag and with splay that takes its time: flown, where reach.h and tube.h have
 * sums of integrals. */
#ifndef SM_VEHICLE_OUTLINE_H
#define SM_VEHICLE_OUTLINE_H

#include "vehicle/flight.h"

enum { SM_OUTLINE_POINTS = 33 };

/* Columns of n <= SM_OUTLINE_POINTS, of what is at one time. */
struct sm_outline {
    size_t n;
    double at[SM_OUTLINE_POINTS]; /* speed of a reachable set [m/s]; height of a tube [m] */
    double low[SM_OUTLINE_POINTS],
        high[SM_OUTLINE_POINTS]; /* height of a reachable set [m]; speed of a tube [m/s] */
};

/*
 * What can be reached at t from a start at least splay, above ground.
 *
 * Notes:
 *   1) With drag too an edge is flown by one switch: in the adjoint equations the height's multiplier stays as it is, and that
 *      of speed can cross zero in one direction alone. A ramp begins where the command switches.
 *   2) Each point of the upper edge is flown; the lower edge is interpolated by cubics between flights, to 1e-4 m (a test).
 */
void sm_outline_reachable(const struct sm_flight_model *model, const struct sm_flight_state *start, double t,
                          struct sm_outline *out);

/* Least and greatest height at which it stands still at t. Returned: 0 if it can't. */
int sm_outline_hover(const struct sm_flight_model *model, const struct sm_flight_state *start, double t,
                     double *lowest, double *highest);

/*
 * From where a landing still exists at t.
 *
 * Given: limit, speed of contact [m/s]; last, the latest contact that helps, sm_tube_latest's [s].
 * Notes:
 *   1) Splay may be where it is wanted at t; what changes after that is ramped.
 *   2) Each point of the edge of fastest speeds is flown, the other interpolated by cubics, to 1e-4 m/s (a test).
 */
void sm_outline_tube(const struct sm_flight_model *model, double limit, double t, double last,
                     struct sm_outline *out);

#endif
