/* A radial slot of even width in the wall of a round bore. */
#ifndef SM_GRAIN_SLOT_H
#define SM_GRAIN_SLOT_H

#include "grain/contour.h"
#include "grain/gauge.h"

/* On the x axis. */
struct sm_slot {
    double bore;       /* radius of the bore [m] */
    double half_width; /* [m] */
    double reach;      /* distance of its end from the axis [m] */
    double fillet;     /* rounding of its outer corners, up to half_width for a round end [m] */
};

/* width_name is the parameter that holds the width; half is the angle from the slot's middle to that of the wall beside it [rad]. */
enum sm_status sm_slot_check(const struct sm_slot *slot, const char *width_name, double half,
                             struct sm_error *err) SM_MUST_CHECK;

/* A new chain from the middle of the slot's end round its upper corner. */
void sm_slot_add_tip(const struct sm_slot *slot, struct sm_contour *contour);

/* On along the slot's side to the bore, and along the bore to the ray at the given angle [rad]. */
void sm_slot_add_side(const struct sm_slot *slot, double ray, struct sm_contour *contour);

/* Where a drawing shows its width and its corners' rounding, if it is not round at its end; by their parameters' names, NULL
 * for none. */
void sm_slot_gauges(const struct sm_slot *slot, const char *width_name, const char *fillet_name,
                    struct sm_gauges *out);

#endif
