/*
 * What changes with time alone: the lit share of the surface, the igniter's flow, the onset of wear.
 *
 * Time is cut into epochs at every instant where one of these changes its formula; within an epoch all of them are straight
 * lines. The march ends a step at each cut.
 */
#ifndef SM_BALLISTICS_IGNITION_H
#define SM_BALLISTICS_IGNITION_H

#include "motor/motor.h"

struct sm_epoch {
    double from, until;          /* [s]; the last one's until is infinite */
    double lit, lit_slope;       /* share of the surface that burns, at from [1], and its growth [1/s] */
    double inflow, inflow_slope; /* from the igniter, at from [kg/s], and its growth [kg/s2] */
    int erodes, deposits;        /* is the throat's wall worn; does slag settle on it? */
};

static inline double sm_epoch_lit(const struct sm_epoch *epoch, double t)
{
    return epoch->lit + epoch->lit_slope * (t - epoch->from);
}

static inline double sm_epoch_inflow(const struct sm_epoch *epoch, double t)
{
    return epoch->inflow + epoch->inflow_slope * (t - epoch->from);
}

/*
 * The epochs of a motor from ignition on, in the arena. The last has all lit and no inflow.
 *
 * The lit share is that of the surface as it is before burning: it grows in a straight line over the spread time, or with a
 * flame that runs aft from the foremost burning surface at the spread speed, over walls taken as even along each grain and
 * over each end at once. Status: SM_E_NOMEM.
 */
enum sm_status sm_epochs_make(const struct sm_motor *motor, struct sm_arena *arena, struct sm_epoch **epochs,
                              size_t *n, struct sm_error *err) SM_MUST_CHECK;

/* What the igniter has given off by time t [kg]. */
double sm_epochs_delivered(const struct sm_epoch *epochs, size_t n, double t);

#endif
