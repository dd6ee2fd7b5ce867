/*
 * Nonlinear least squares: parameters x that make the sum of the squared residuals r(x) least, within bounds, with what
 * the residuals say of how well each is known.
 *
 * The search is GSL's trust region, by Powell's dogleg and then by Levenberg and Marquardt, with More's scaling. Bounds are kept by searching in
 * u with x = low + (high - low) (1 + sin u) / 2 between two bounds, x = low - 1 + sqrt(1 + u^2) above one.
 *
 * Reference: M. Galassi et al., GNU Scientific Library Reference Manual, 2.7, ch. "Nonlinear Least-Squares Fitting";
 * F. James, M. Roos, Comp. Phys. Comm. 10 (1975) 343, for the bounds.
 */
#ifndef SM_NUM_LSQ_H
#define SM_NUM_LSQ_H

#include "base/arena.h"
#include "base/fail.h"

struct sm_lsq_problem {
    size_t n_params, n_residuals; /* at least as many residuals as parameters */
    void *user;
    /* r[n_residuals] at x[n_params]. False where there is no answer: such a point is never stepped to. */
    int (*residuals)(void *user, const double *x, double *r);
    /* jac[i * n_params + j] = dr_i/dx_j. NULL: by differences. */
    int (*jacobian)(void *user, const double *x, double *jac);
    const double *low, *high; /* n_params each, infinite for none; NULL: no bounds [unit of x] */
    const double *size;       /* typical sizes of the parameters, for steps; NULL: their values [unit of x] */
    double step;              /* of differences, share of the size; 0: 5e-5 [1] */
    double
        tolerance; /* steps below this share of each parameter end the search [1]; 0: as far as the arithmetic goes, which
                         only smooth residuals are worth */
    size_t max_iterations; /* of either way; 0: 500 */
};

enum sm_lsq_end {
    SM_LSQ_SMALL_STEP,  /* the next step would not matter */
    SM_LSQ_NO_PROGRESS, /* no step helps, which at the limit of the arithmetic is as good */
    SM_LSQ_MANY_ITERATIONS
};

/* Everything lives in the arena that was given. */
struct sm_lsq_fit {
    double *x;                      /* n_params [unit of x] */
    double *residuals;              /* n_residuals [unit of r] */
    double *jacobian;               /* row by row, n_residuals times n_params [unit of r per unit of x] */
    double sum;                     /* of the squared residuals [unit of r squared] */
    size_t iterations, evaluations; /* evaluations of all residuals */
    enum sm_lsq_end end;
};

/*
 * Given: problem; start[n_params] within the bounds.
 * Status: SM_E_RANGE for counts, or bounds or a start out of order; SM_E_NUMERIC if there is no answer at the start, or
 * the search fails; SM_E_NOMEM. A search that ends for SM_LSQ_MANY_ITERATIONS is no failure: it is told in the fit.
 * Notes: differences are of fourth order (two steps either way), one-sided of second order next to a bound or where there
 * is no answer on the other side.
 */
enum sm_status sm_lsq_fit(const struct sm_lsq_problem *problem, const double *start, struct sm_arena *arena,
                          struct sm_lsq_fit *fit, struct sm_error *err) SM_MUST_CHECK;

/*
 * The inverse of J'J for a Jacobian jac[n x p], row by row, and how well conditioned it is.
 *
 * Returned: inverse[p * p]; *condition, of J with its columns scaled to length one [1]; worst[p], the direction in those
 * scaled parameters that the residuals see least.
 * Status: SM_E_NUMERIC if GSL fails or the columns depend on one another to within rounding: *condition and worst are then
 * set all the same, inverse is not.
 */
enum sm_status sm_lsq_covariance(const double *jac, size_t n, size_t p, struct sm_arena *arena,
                                 double *inverse, double *condition, double *worst,
                                 struct sm_error *err) SM_MUST_CHECK;

/*
 * Covariance of the parameters when the residuals are neither of one size nor independent: inverse S inverse, S being
 * the sum of the products of the scores jac_i r_i at lags up to `lags`, with Bartlett's weights, times n / (n - p).
 *
 * Given: the residuals fall into n_groups records that have nothing to do with one another; record k ends before
 * group_end[k].
 * Returned: out[p * p]. Status: SM_E_NOMEM.
 * Reference: W. Newey, K. West, Econometrica 55 (1987) 703.
 */
enum sm_status sm_lsq_robust(const double *jac, const double *residuals, size_t n, size_t p,
                             const double *inverse, const size_t *group_end, size_t n_groups, size_t lags,
                             struct sm_arena *arena, double *out, struct sm_error *err) SM_MUST_CHECK;

#endif
