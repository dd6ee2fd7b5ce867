/*
 * Slowmatch: solid-motor grains and thrust curves.
 *
 * A tour: load a motor, burn it, read the result, free both.
 *
 *     struct sm_motor *motor;
 *     struct sm_result *result;
 *     struct sm_diag problems = {0};
 *     struct sm_error err;
 *     if (sm_motor_load("heron.json", NULL, NULL, &motor, &problems) != SM_OK)
 *         ... problems.items[0 .. problems.n) say what is wrong, and where ...
 *     if (sm_simulate(motor, NULL, NULL, &result, &err) != SM_OK)
 *         ... err.message says why ...
 *     printf("%s: %.1f N s in %.2f s\n", result->designation, result->thrust.total_impulse, result->thrust.burn_time);
 *     sm_result_free(result);
 *     sm_motor_free(motor);
 *
 * Numbers are SI throughout; NaN stands for what does not exist. It predicts; it does not certify.
 */
#ifndef SLOWMATCH_SLOWMATCH_H
#define SLOWMATCH_SLOWMATCH_H

#include "slowmatch/catalog.h"
#include "slowmatch/context.h"
#include "slowmatch/curve.h"
#include "slowmatch/design.h"
#include "slowmatch/error.h"
#include "slowmatch/export.h"
#include "slowmatch/firing.h"
#include "slowmatch/fit.h"
#include "slowmatch/grain.h"
#include "slowmatch/lift.h"
#include "slowmatch/limits.h"
#include "slowmatch/motor.h"
#include "slowmatch/needs.h"
#include "slowmatch/page.h"
#include "slowmatch/param.h"
#include "slowmatch/plot.h"
#include "slowmatch/show.h"
#include "slowmatch/simulate.h"
#include "slowmatch/sink.h"
#include "slowmatch/spread.h"
#include "slowmatch/units.h"

#endif
