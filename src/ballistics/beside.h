/* What other runs beside the one asked for say about it. */
#ifndef SM_BALLISTICS_BESIDE_H
#define SM_BALLISTICS_BESIDE_H

#include "ballistics/result.h"

/* No end burner: all absent. */
void sm_end_burner_absent(struct sm_end_burner_summary *summary);

/* Fills the end burner's summary, if the motor is one: a run with a flat face, and two with heat to the wall, at rest. A run
 * without an answer leaves its values absent. */
void sm_end_burner_summarize(const struct sm_motor *motor, const struct sm_chamber *chamber,
                             const struct sm_run_options *options, struct sm_run *run);

#endif
