/* Hardware as totals or as parts. */
#ifndef SM_MOTOR_HARDWARE_H
#define SM_MOTOR_HARDWARE_H

#include "motor/motor.h"

/* Adds the hardware up. *has is 0 if the file gives none. */
enum sm_status sm_hardware_body(const struct sm_hardware *hardware, int *has, struct sm_body *body,
                                struct sm_error *err) SM_MUST_CHECK;

#endif
