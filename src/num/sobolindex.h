/*
 * Which input the scatter of an output comes from: Sobol indices of first order and total.
 *
 * Reference: A. Saltelli et al., Comput. Phys. Commun. 181 (2010) 259: first order by its table 2 (b), total by M. Jansen,
 * ibid. 117 (1999) 35, its table 2 (f).
 */
#ifndef SM_NUM_SOBOLINDEX_H
#define SM_NUM_SOBOLINDEX_H

#include <stdint.h>

#include "base/fail.h"
#include "slowmatch/context.h"

enum { SM_SOBOL_BATCH = 8 };

struct sm_sobol_study {
    size_t n;    /* base points; the model is called n (d + 2) times */
    size_t d, k; /* inputs and outputs */
    uint64_t seed;
    int is_latin; /* as sm_points takes it, of 2 d columns */
    int threads;
    /* out[count * k] at count <= SM_SOBOL_BATCH rows u[count * d], 0 < u < 1; NaN where there is no answer: the point is then
     * left out */
    void (*model)(void *user, int worker, size_t count, const double *u, double *out);
    void *user;
    const struct sm_progress *progress;
};

struct sm_sobol_index {
    double first, first_error; /* [1] */
    double total, total_error; /* [1] */
};

/*
 * Returned: out[d * k], that of input i and output j at i * k + j, NaN for an output that does not vary; *n_used, calls of the
 * model that gave an answer.
 * Status: SM_E_NOMEM; SM_E_CANCELLED if the progress asked to stop; SM_E_NUMERIC if fewer than two points are left.
 * Notes: errors are those of the means over independent points, the variance taken as known.
 */
enum sm_status sm_sobol_indices(const struct sm_sobol_study *study, struct sm_sobol_index *out,
                                size_t *n_used, struct sm_error *err) SM_MUST_CHECK;

#endif
