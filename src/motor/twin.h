/* A motor like another but for one thing. */
#ifndef SM_MOTOR_TWIN_H
#define SM_MOTOR_TWIN_H

#include "motor/motor.h"

/* The larger of bond_line_ratio and axis_ratio of any grain [1]; 1 where no fire runs ahead. */
double sm_motor_haste(const struct sm_motor *motor);

/*
 * The same motor without fire that runs ahead: every ratio is 1.
 *
 * Returned: *twin, which borrows the motor's texts and lists; release it with sm_motor_twin_release before the motor.
 * Status: SM_E_NOMEM, or as sm_motor_assemble.
 */
enum sm_status sm_motor_twin_flat(const struct sm_motor *motor, struct sm_motor **twin,
                                  struct sm_error *err) SM_MUST_CHECK;
void sm_motor_twin_release(struct sm_motor *twin); /* accepts NULL */

#endif
