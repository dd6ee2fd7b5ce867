/* From ideal to delivered specific impulse, loss by loss. */
#ifndef SM_BALLISTICS_LOSSES_H
#define SM_BALLISTICS_LOSSES_H

#include "ballistics/result.h"

/*
 * Fills the result's table of losses from its series.
 *
 * Each line is the specific impulse that the motor would have with all losses down to that line and none below, at the
 * pressures of the run itself: thrust and mass flow are integrated over the run with the formulas of that line. So the lines
 * add up to the whole exactly, and each loss is what is lost at its place in the order. Status: SM_E_NOMEM, or as
 * sm_jet_init.
 */
enum sm_status sm_losses_reckon(const struct sm_motor *motor, const struct sm_chamber *chamber,
                                struct sm_run *run, struct sm_error *err) SM_MUST_CHECK;

#endif
