/* A motor of which only a curve is known. */
#ifndef SM_APP_CURVE_MOTOR_H
#define SM_APP_CURVE_MOTOR_H

#include "base/fail.h"
#include "motor/motor.h"
#include "slowmatch/units.h"

/*
 * Fills a new motor from a file that holds a curve: its thrust, its name that of the file, masses and size unknown.
 *
 * Given: motor, in whose arena all is kept. Status: as sm_read_curve_file; SM_E_FIELD if values are to be set.
 */
enum sm_status sm_curve_motor_fill(struct sm_motor *motor, const char *path,
                                   const struct sm_load_options *options, struct sm_units *units,
                                   struct sm_error *err) SM_MUST_CHECK;

#endif
