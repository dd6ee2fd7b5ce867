/* From a trace of nodes to the result that every face shows. */
#ifndef SM_BALLISTICS_RESULT_H
#define SM_BALLISTICS_RESULT_H

#include "ballistics/trace.h"
#include "slowmatch/simulate.h"

/* A result with the arena that it lives in. */
struct sm_run {
    struct sm_result result; /* first, so that a result is also its run */
    struct sm_arena arena;
    double temperature; /* of the grain [K]; 0 for a bare curve */
};

/* Columns for n rows in the arena; the motor_ ones only if with_hardware, the chamber's and grain's only if
 * with_grain. */
enum sm_status sm_series_init(struct sm_series *series, size_t n, int with_grain, int with_hardware,
                              struct sm_arena *arena, struct sm_error *err) SM_MUST_CHECK;

/* Fills the series from the nodes. */
enum sm_status sm_series_from_trace(const struct sm_motor *motor, const struct sm_chamber *chamber,
                                    const struct sm_trace *trace, struct sm_arena *arena,
                                    struct sm_series *series, struct sm_error *err) SM_MUST_CHECK;

/* Fills mass, centre of mass and inertia of row i from the propellant's body, joined to the hardware if there
 * is any. */
void sm_series_body(struct sm_series *series, size_t i, const struct sm_body *propellant,
                    const struct sm_body *hardware);

/* Summaries from the finished series; total_impulse is the march's own integral, or SM_ABSENT for the
 * curve's. */
enum sm_status sm_result_summarize(const struct sm_motor *motor, const struct sm_chamber *chamber,
                                   double total_impulse, struct sm_run *run,
                                   struct sm_error *err) SM_MUST_CHECK;

/* The run of a bare curve with its grain at temperature [K]: scaled as the motor says, brought to the ambient pressure if its
 * exit is known, mass flow in proportion to thrust. */
enum sm_status sm_run_bare_curve(const struct sm_motor *motor, double temperature, struct sm_run *run,
                                 struct sm_error *err) SM_MUST_CHECK;

/* Area of the port at the aft end of the last cored grain at distance burned w [m2]; 0 if no grain is cored.
 */
double sm_port_area(const struct sm_motor *motor, double w);

#endif
