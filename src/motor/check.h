/* What the rows of a motor can't see: values that must fit one another. */
#ifndef SM_MOTOR_CHECK_H
#define SM_MOTOR_CHECK_H

#include "motor/motor.h"

/* Ignition, igniter, closure and heat loss. Wants the motor's gas and ambient pressure; sets start_pressure and
 * has_igniter. Status: SM_E_RANGE, SM_E_FIELD with the pointer of the value at fault. */
enum sm_status sm_motor_check_start(struct sm_motor *motor, struct sm_error *err) SM_MUST_CHECK;

#endif
