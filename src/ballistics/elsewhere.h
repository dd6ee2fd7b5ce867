/* The thrust of a finished run as it would be with another pressure around the nozzle. */
#ifndef SM_BALLISTICS_ELSEWHERE_H
#define SM_BALLISTICS_ELSEWHERE_H

#include "motor/motor.h"
#include "slowmatch/simulate.h"

/* Does thrust depend on the ambient pressure as far as is known? Not for a bare curve without exit diameter. */
int sm_thrust_varies(const struct sm_motor *motor);

/*
 * Thrust at another ambient pressure, row by row.
 *
 * Given:
 *   result   of this motor
 *   ambient  pressure around the nozzle, >= 0 [Pa]
 *   arena    for what the nozzle needs
 * Returned:
 *   thrust[result->series.n]  [N]; not below zero
 * Status: SM_E_NOMEM; SM_E_RANGE for a negative pressure.
 * Notes:
 *   1) The chamber's pressure and the burning are taken as they were. That is exact while the throat is choked, which
 *      is all of a burn but its last breath.
 *   2) A bare curve's thrust changes by the exit area times the difference of pressures, where it is above zero.
 */
enum sm_status sm_thrust_elsewhere(const struct sm_motor *motor, const struct sm_result *result,
                                   double ambient, struct sm_arena *arena, double *thrust,
                                   struct sm_error *err) SM_MUST_CHECK;

#endif
