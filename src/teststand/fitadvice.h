/* What a fit's values tell, and what its firings can't tell. */
#ifndef SM_TESTSTAND_FITADVICE_H
#define SM_TESTSTAND_FITADVICE_H

#include "motor/motor.h"
#include "slowmatch/fit.h"

/* The value of a parameter, and its place among all; NULL if it was not fitted. */
const struct sm_fit_value *sm_fit_value_of(const struct sm_fit *fit, enum sm_fit_parameter which,
                                           size_t *place);

/* Puts into words what the firings can't tell, and what firing of the motor would; values that they can't tell from one another
 * are marked so. Given: a fit with its rate, firings and searches. */
void sm_fit_advise(const struct sm_motor *base, struct sm_fit *fit);

#endif
