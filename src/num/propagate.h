/*
 * Uncertainty of what is reckoned from uncertain inputs.
 *
 * Reference: JCGM 100:2008, Evaluation of measurement data - Guide to the expression of uncertainty in measurement, sec.
 * 5.2, and H.2 for outputs that share inputs: cov(y) = C cov(x) C', C being the slopes.
 */
#ifndef SM_NUM_PROPAGATE_H
#define SM_NUM_PROPAGATE_H

#include "base/arena.h"
#include "base/fail.h"

struct sm_propagation {
    size_t n_inputs, n_outputs;
    const double *inputs;     /* best estimates [unit of each] */
    const double *covariance; /* n_inputs squared, row by row [unit of each times unit of each] */
    void *user;
    /* outputs[n_outputs] at inputs[n_inputs] */
    enum sm_status (*model)(void *user, const double *inputs, double *outputs, struct sm_error *err);
};

/*
 * Returned: outputs[n_outputs] at the best estimates; covariance[n_outputs squared]; slopes[n_outputs * n_inputs], by
 * differences one standard uncertainty to either side (0 for an input without any), as sec. 5.1.3, note 2 allows.
 * Status: that of the model; SM_E_NOMEM.
 */
enum sm_status sm_propagate(const struct sm_propagation *p, struct sm_arena *arena, double *outputs,
                            double *covariance, double *slopes, struct sm_error *err) SM_MUST_CHECK;

#endif
