/* How far a run's numbers can be trusted: its motor's tolerances, carried through. */
#ifndef SM_BALLISTICS_ONESIGMA_H
#define SM_BALLISTICS_ONESIGMA_H

#include "ballistics/result.h"

/* All absent. */
void sm_one_sigma_absent(struct sm_one_sigma *out);

/*
 * Fills the run's one-sigma: for each value that strays, the motor is burned again one standard deviation to either side, and
 * what half the difference is adds in quadrature.
 *
 * Notes: of the axial model, a burn of which takes many times as long, shares are those of the chamber without dimension.
 * Status: SM_E_NOMEM. Where a stray motor has no answer the other side alone counts; where neither has, all is absent.
 * Reference: JCGM 100:2008, sec. 5.1.2 and 5.1.3, for independent inputs.
 */
enum sm_status sm_one_sigma_reckon(const struct sm_motor *motor, const struct sm_run_options *options,
                                   struct sm_run *run, struct sm_error *err) SM_MUST_CHECK;

#endif
