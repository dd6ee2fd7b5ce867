#include "num/lsq.h"
#include "slowmatch/context.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>
#include <string.h>

#define DEFAULT_STEP 5e-5

enum { DEFAULT_ITERATIONS = 500 };

/* A residual that is worse than any real one, where there is no answer: the trust region then shrinks. */
#define NO_ANSWER 1e30

struct search {
    const struct sm_lsq_problem *problem;
    double *x;     /* in the user's terms [unit of x] */
    double *at[4]; /* residuals beside x, for differences [unit of r] */
    double *jac;   /* row by row [unit of r per unit of x] */
    double *kept;  /* another point [unit of x] */
    size_t evaluations;
};

/* ---- bounds ---- */

static int has_low(const struct sm_lsq_problem *p, size_t j)
{
    return p->low && isfinite(p->low[j]);
}

static int has_high(const struct sm_lsq_problem *p, size_t j)
{
    return p->high && isfinite(p->high[j]);
}

static double to_user(const struct sm_lsq_problem *p, size_t j, double u)
{
    if (has_low(p, j) && has_high(p, j))
        return p->low[j] + 0.5 * (p->high[j] - p->low[j]) * (1.0 + sin(u));
    if (has_low(p, j))
        return p->low[j] - 1.0 + sqrt(1.0 + u * u);
    if (has_high(p, j))
        return p->high[j] + 1.0 - sqrt(1.0 + u * u);
    return u;
}

/* dx/du */
static double slope(const struct sm_lsq_problem *p, size_t j, double u)
{
    if (has_low(p, j) && has_high(p, j))
        return 0.5 * (p->high[j] - p->low[j]) * cos(u);
    if (has_low(p, j))
        return u / sqrt(1.0 + u * u);
    if (has_high(p, j))
        return -u / sqrt(1.0 + u * u);
    return 1.0;
}

/* At a bound dx/du is zero, so a start there is moved in a little. */
static double to_search(const struct sm_lsq_problem *p, size_t j, double x)
{
    const double inset = 1e-3;
    if (has_low(p, j) && has_high(p, j)) {
        const double share = 2.0 * (x - p->low[j]) / (p->high[j] - p->low[j]) - 1.0;
        return asin(fmin(1.0 - inset, fmax(-1.0 + inset, share)));
    }
    if (!has_low(p, j) && !has_high(p, j))
        return x;
    const double in = 1.0 + fmax(inset, has_low(p, j) ? x - p->low[j] : p->high[j] - x);
    return sqrt(in * in - 1.0);
}

/* ---- differences ---- */

static int evaluate(struct search *s, const double *x, double *r)
{
    s->evaluations++;
    if (!s->problem->residuals(s->problem->user, x, r))
        return 0;
    for (size_t i = 0; i < s->problem->n_residuals; i++)
        if (!isfinite(r[i]))
            return 0;
    return 1;
}

/* Residuals with parameter j moved by a step, into room k; false if out of bounds or without an answer. */
static int moved(struct search *s, size_t j, double step, int k)
{
    const struct sm_lsq_problem *p = s->problem;
    const double kept = s->x[j], to = kept + step;
    if ((p->low && to < p->low[j]) || (p->high && to > p->high[j]))
        return 0;
    s->x[j] = to;
    const int good = evaluate(s, s->x, s->at[k]);
    s->x[j] = kept;
    return good;
}

/* Column j of the Jacobian at s->x, where the residuals are r. */
static int difference(struct search *s, size_t j, const double *r)
{
    const struct sm_lsq_problem *p = s->problem;
    const size_t n = p->n_residuals, m = p->n_params;
    const double size = p->size && p->size[j] > 0.0 ? p->size[j] : fabs(s->x[j]);
    const double h = (p->step > 0.0 ? p->step : DEFAULT_STEP) * (size > 0.0 ? size : 1.0);
    if (moved(s, j, h, 0) && moved(s, j, -h, 1)) {
        const int is_fourth = moved(s, j, 2.0 * h, 2) && moved(s, j, -2.0 * h, 3);
        for (size_t i = 0; i < n; i++) {
            const double near = s->at[0][i] - s->at[1][i];
            s->jac[i * m + j] =
                is_fourth ? (8.0 * near - (s->at[2][i] - s->at[3][i])) / (12.0 * h) : near / (2.0 * h);
        }
        return 1;
    }
    for (int sign = 1; sign >= -1; sign -= 2) {
        const double step = sign * h;
        if (!moved(s, j, step, 0) || !moved(s, j, 2.0 * step, 2))
            continue;
        for (size_t i = 0; i < n; i++)
            s->jac[i * m + j] = (4.0 * s->at[0][i] - s->at[2][i] - 3.0 * r[i]) / (2.0 * step);
        return 1;
    }
    return 0;
}

/* ---- what GSL calls ---- */

static void read_point(struct search *s, const gsl_vector *u)
{
    for (size_t j = 0; j < s->problem->n_params; j++)
        s->x[j] = to_user(s->problem, j, gsl_vector_get(u, j));
}

static int call_residuals(const gsl_vector *u, void *user, gsl_vector *f)
{
    struct search *s = user;
    read_point(s, u);
    if (!evaluate(s, s->x, s->at[0]))
        gsl_vector_set_all(f, NO_ANSWER);
    else
        for (size_t i = 0; i < s->problem->n_residuals; i++)
            gsl_vector_set(f, i, s->at[0][i]);
    return GSL_SUCCESS;
}

/* The user's Jacobian at s->x, into s->jac. */
static int make_jacobian(struct search *s, double *r)
{
    const struct sm_lsq_problem *p = s->problem;
    if (p->jacobian)
        return p->jacobian(p->user, s->x, s->jac);
    if (!evaluate(s, s->x, r))
        return 0;
    for (size_t j = 0; j < p->n_params; j++)
        if (!difference(s, j, r))
            return 0;
    return 1;
}

struct calls {
    struct search *search;
    double *r; /* residuals at the point of a Jacobian [unit of r] */
};

static int call_residuals_of(const gsl_vector *u, void *user, gsl_vector *f)
{
    return call_residuals(u, ((struct calls *)user)->search, f);
}

static int call_jacobian(const gsl_vector *u, void *user, gsl_matrix *out)
{
    const struct calls *c = user;
    struct search *s = c->search;
    const size_t m = s->problem->n_params;
    read_point(s, u);
    if (!make_jacobian(s, c->r))
        return GSL_EDOM;
    for (size_t j = 0; j < m; j++) {
        const double rate = slope(s->problem, j, gsl_vector_get(u, j));
        for (size_t i = 0; i < s->problem->n_residuals; i++)
            gsl_matrix_set(out, i, j, rate * s->jac[i * m + j]);
    }
    return GSL_SUCCESS;
}

/* ---- the search ---- */

static enum sm_status check(const struct sm_lsq_problem *p, const double *start, struct sm_error *err)
{
    if (p->n_params == 0 || p->n_residuals < p->n_params)
        return sm_fail(err, SM_E_RANGE, "%zu residuals cannot determine %zu parameters", p->n_residuals,
                       p->n_params);
    for (size_t j = 0; j < p->n_params; j++) {
        if (has_low(p, j) && has_high(p, j) && !(p->low[j] < p->high[j]))
            return sm_fail(err, SM_E_RANGE, "the bounds %g and %g of parameter %zu are not in order",
                           p->low[j], p->high[j], j + 1);
        if (!isfinite(start[j]) || (has_low(p, j) && start[j] < p->low[j]) ||
            (has_high(p, j) && start[j] > p->high[j]))
            return sm_fail(err, SM_E_RANGE, "the start %g of parameter %zu is not within its bounds",
                           start[j], j + 1);
    }
    return SM_OK;
}

static enum sm_status make_room(struct search *s, struct sm_arena *arena, struct sm_lsq_fit *fit, double **r,
                                struct sm_error *err)
{
    const size_t n = s->problem->n_residuals, m = s->problem->n_params;
    int is_full = 0;
    for (int k = 0; k < 4; k++) {
        s->at[k] = sm_arena_alloc(arena, n, sizeof(double));
        is_full |= !s->at[k];
    }
    s->x = sm_arena_alloc(arena, m, sizeof(double));
    s->kept = sm_arena_alloc(arena, m, sizeof(double));
    s->jac = sm_arena_alloc(arena, n * m, sizeof(double));
    *r = sm_arena_alloc(arena, n, sizeof(double));
    *fit = (struct sm_lsq_fit){.x = s->x, .residuals = *r, .jacobian = s->jac};
    return !is_full && s->x && s->kept && s->jac && *r ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

static enum sm_status gsl_failed(int code, const char *what, struct sm_error *err)
{
    return sm_fail(err, code == GSL_ENOMEM ? SM_E_NOMEM : SM_E_NUMERIC, "%s: %s", what, gsl_strerror(code));
}

/* Steps until a test of convergence holds. */
static enum sm_status iterate(gsl_multifit_nlinear_workspace *w, size_t most, double tolerance,
                              struct sm_lsq_fit *fit, struct sm_error *err)
{
    /* The gradient's and the sum's tests are left out: they depend on the residuals' unit. A step of 1e-14 is rounding. */
    const double small_step = tolerance > 0.0 ? tolerance : 1e-14, small_gradient = 0.0, small_change = 0.0;
    int why = 0;
    fit->end = SM_LSQ_MANY_ITERATIONS;
    for (size_t k = 0; k < most; k++) {
        const int code = gsl_multifit_nlinear_iterate(w);
        fit->iterations++;
        if (code == GSL_ENOPROG) {
            fit->end = SM_LSQ_NO_PROGRESS;
            return SM_OK;
        }
        if (code != GSL_SUCCESS)
            return gsl_failed(code, "the least-squares search failed", err);
        const int met = gsl_multifit_nlinear_test(small_step, small_gradient, small_change, &why, w);
        if (met == GSL_SUCCESS) {
            fit->end = SM_LSQ_SMALL_STEP;
            return SM_OK;
        }
        if (met != GSL_CONTINUE)
            return sm_fail(err, SM_E_INTERNAL, "the least-squares search can't be judged: %s",
                           gsl_strerror(met));
    }
    return SM_OK;
}

/* What the last steps work with. */
struct polish {
    gsl_matrix *a;
    gsl_vector *tau, *b, *step, *rest;
    double *kept; /* the point before a step [unit of x] */
};

/* The step of Gauss and Newton at s->x, where the Jacobian is s->jac and the residuals are r; *length is that of J step,
 * the change of the residuals. Returned: is there one within the bounds? */
static int newton_step(struct search *s, const double *r, struct polish *w, double *length)
{
    const struct sm_lsq_problem *p = s->problem;
    for (size_t i = 0; i < p->n_residuals; i++) {
        gsl_vector_set(w->b, i, -r[i]);
        for (size_t j = 0; j < p->n_params; j++)
            gsl_matrix_set(w->a, i, j, s->jac[i * p->n_params + j]);
    }
    if (gsl_linalg_QR_decomp(w->a, w->tau) != GSL_SUCCESS ||
        gsl_linalg_QR_lssolve(w->a, w->tau, w->b, w->step, w->rest) != GSL_SUCCESS)
        return 0;
    *length = 0.0;
    for (size_t i = 0; i < p->n_residuals; i++) {
        double change = 0.0;
        for (size_t j = 0; j < p->n_params; j++)
            change += s->jac[i * p->n_params + j] * gsl_vector_get(w->step, j);
        *length += change * change;
    }
    for (size_t j = 0; j < p->n_params; j++) {
        const double to = s->x[j] + gsl_vector_get(w->step, j);
        if (!isfinite(to) || (p->low && to < p->low[j]) || (p->high && to > p->high[j]))
            return 0;
    }
    return isfinite(*length);
}

static double sum_of_squares(const double *r, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += r[i] * r[i];
    return sum;
}

/* Takes the step, or stays and answers false if the sum of squares grows by more than rounding. */
static int take_step(struct search *s, double *r, const struct polish *w)
{
    const double rounding =
        1e-9; /* of a sum: differences of models, not of numbers, so far above 1e-16 [1] */
    const size_t n = s->problem->n_residuals, m = s->problem->n_params;
    const double before = sum_of_squares(r, n);
    memcpy(w->kept, s->x, m * sizeof *w->kept);
    for (size_t j = 0; j < m; j++)
        s->x[j] += gsl_vector_get(w->step, j);
    if (evaluate(s, s->x, s->at[0]) && sum_of_squares(s->at[0], n) <= before * (1.0 + rounding))
        return 1;
    memcpy(s->x, w->kept, m * sizeof *w->kept);
    return 0;
}

/*
 * The sum of squares can't tell steps apart that are shorter than the root of the rounding. From where that stops the
 * search, steps of Gauss and Newton go on for as long as each is shorter than the one before.
 */
static int polish_end(struct search *s, double *r, struct polish *w)
{
    enum { MOST_STEPS = 60 };
    const double contraction = 0.9; /* of the squared length: less is no convergence worth waiting for [1] */
    double last = SM_INF, length = 0.0;
    for (int k = 0; k < MOST_STEPS; k++) {
        if (!newton_step(s, r, w, &length) || !(length < contraction * last) || !take_step(s, r, w))
            break;
        if (!make_jacobian(s, r) || !evaluate(s, s->x, r))
            return 0;
        last = length;
    }
    return 1;
}

static enum sm_status no_slope(struct sm_error *err)
{
    return sm_fail(err, SM_E_NUMERIC, "there is no slope where the least-squares search ended");
}

static enum sm_status polish(struct search *s, double *r, struct sm_error *err)
{
    const size_t n = s->problem->n_residuals, m = s->problem->n_params;
    struct polish w = {gsl_matrix_alloc(n, m), gsl_vector_alloc(m), gsl_vector_alloc(n),
                       gsl_vector_alloc(m),    gsl_vector_alloc(n), s->kept};
    enum sm_status status = SM_OK;
    if (!w.a || !w.tau || !w.b || !w.step || !w.rest)
        status = sm_fail(err, SM_E_NOMEM, "out of memory");
    else if (!polish_end(s, r, &w))
        status = no_slope(err);
    gsl_matrix_free(w.a);
    gsl_vector_free(w.tau);
    gsl_vector_free(w.b);
    gsl_vector_free(w.step);
    gsl_vector_free(w.rest);
    return status;
}

/* Residuals, their sum and the Jacobian where the search ended. */
static enum sm_status finish(struct search *s, double *r, struct sm_lsq_fit *fit, struct sm_error *err)
{
    if (!make_jacobian(s, r) || !evaluate(s, s->x, r))
        return no_slope(err);
    if (s->problem->tolerance == 0.0)
        SM_TRY(polish(s, r, err));
    fit->sum = sum_of_squares(r, s->problem->n_residuals);
    fit->evaluations = s->evaluations;
    return SM_OK;
}

/* One search from s->x, which is moved to where it ends. */
static enum sm_status search(struct search *s, const gsl_multifit_nlinear_trs *method, double *r,
                             struct sm_lsq_fit *fit, struct sm_error *err)
{
    const struct sm_lsq_problem *p = s->problem;
    gsl_multifit_nlinear_parameters how = gsl_multifit_nlinear_default_parameters();
    how.trs = method;
    gsl_multifit_nlinear_workspace *w =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &how, p->n_residuals, p->n_params);
    gsl_vector *u = gsl_vector_alloc(p->n_params);
    struct calls calls = {s, r};
    gsl_multifit_nlinear_fdf fdf = {
        .f = call_residuals_of, .df = call_jacobian, .n = p->n_residuals, .p = p->n_params, .params = &calls};
    enum sm_status status = w && u ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK) {
        for (size_t j = 0; j < p->n_params; j++)
            gsl_vector_set(u, j, to_search(p, j, s->x[j]));
        const int code = gsl_multifit_nlinear_init(u, &fdf, w);
        if (code != GSL_SUCCESS)
            status = gsl_failed(code, "the least-squares search can't start", err);
    }
    if (status == SM_OK)
        status = iterate(w, p->max_iterations > 0 ? p->max_iterations : DEFAULT_ITERATIONS, p->tolerance, fit,
                         err);
    if (status == SM_OK)
        read_point(s, gsl_multifit_nlinear_position(w));
    gsl_vector_free(u);
    gsl_multifit_nlinear_free(w);
    return status;
}

enum sm_status sm_lsq_fit(const struct sm_lsq_problem *problem, const double *start, struct sm_arena *arena,
                          struct sm_lsq_fit *fit, struct sm_error *err)
{
    struct search s = {.problem = problem};
    double *r = NULL;
    sm_init();
    SM_TRY(check(problem, start, err));
    SM_TRY(make_room(&s, arena, fit, &r, err));
    if (!evaluate(&s, start, r))
        return sm_fail(err, SM_E_NUMERIC, "there is no answer at the start of the least-squares search");
    memcpy(s.x, start, problem->n_params * sizeof *s.x);
    /* The dogleg's first step is short, so that it is not thrown out of the valley; Levenberg and Marquardt's way is the
     * better one along the floor of a flat one. */
    SM_TRY(search(&s, gsl_multifit_nlinear_trs_dogleg, r, fit, err));
    SM_TRY(search(&s, gsl_multifit_nlinear_trs_lm, r, fit, err));
    return finish(&s, r, fit, err);
}

/* ---- covariance ---- */

/* Copies jac with its columns brought to length one. Returned: are all columns longer than nothing? */
static int scale_columns(const double *jac, size_t n, size_t p, gsl_matrix *out, double *length)
{
    int good = 1;
    for (size_t j = 0; j < p; j++) {
        double sum = 0.0;
        for (size_t i = 0; i < n; i++)
            sum += jac[i * p + j] * jac[i * p + j];
        length[j] = sqrt(sum);
        good &= length[j] > 0.0 && isfinite(length[j]);
        for (size_t i = 0; i < n; i++)
            gsl_matrix_set(out, i, j, length[j] > 0.0 ? jac[i * p + j] / length[j] : 0.0);
    }
    return good;
}

/* From the singular values s and the right vectors v of the scaled Jacobian. */
static void invert(const gsl_matrix *v, const gsl_vector *s, const double *length, size_t p, double *inverse)
{
    for (size_t i = 0; i < p; i++)
        for (size_t j = 0; j < p; j++) {
            double sum = 0.0;
            for (size_t k = 0; k < p; k++) {
                const double value = gsl_vector_get(s, k);
                sum += gsl_matrix_get(v, i, k) * gsl_matrix_get(v, j, k) / (value * value);
            }
            inverse[i * p + j] = sum / (length[i] * length[j]);
        }
}

static enum sm_status decompose(gsl_matrix *a, gsl_matrix *v, gsl_vector *s, gsl_vector *room, size_t p,
                                double *condition, double *worst, struct sm_error *err)
{
    const double rounding =
        1e-10; /* slopes by differences are good to some 1e-11: columns that agree to this are one */
    const int code = gsl_linalg_SV_decomp(a, v, s, room);
    if (code != GSL_SUCCESS)
        return sm_fail(err, code == GSL_ENOMEM ? SM_E_NOMEM : SM_E_INTERNAL,
                       "the singular values of the Jacobian can't be found: %s", gsl_strerror(code));
    const double largest = gsl_vector_get(s, 0), least = gsl_vector_get(s, p - 1);
    *condition = least > 0.0 ? largest / least : SM_INF;
    for (size_t j = 0; j < p; j++)
        worst[j] = gsl_matrix_get(v, j, p - 1);
    if (!(least > rounding * largest))
        return sm_fail(err, SM_E_NUMERIC, "the residuals don't tell the parameters apart");
    return SM_OK;
}

enum sm_status sm_lsq_covariance(const double *jac, size_t n, size_t p, struct sm_arena *arena,
                                 double *inverse, double *condition, double *worst, struct sm_error *err)
{
    sm_init();
    double *length = sm_arena_alloc(arena, p, sizeof *length);
    gsl_matrix *a = gsl_matrix_alloc(n, p), *v = gsl_matrix_alloc(p, p);
    gsl_vector *s = gsl_vector_alloc(p), *room = gsl_vector_alloc(p);
    enum sm_status status = length && a && v && s && room ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
    *condition = SM_INF;
    if (status == SM_OK) {
        scale_columns(jac, n, p, a, length);
        status = decompose(a, v, s, room, p, condition, worst, err);
    }
    if (status == SM_OK)
        invert(v, s, length, p, inverse);
    gsl_matrix_free(a);
    gsl_matrix_free(v);
    gsl_vector_free(s);
    gsl_vector_free(room);
    return status;
}

/* Adds weight times the products of the scores of one record at one lag, both ways. */
static void add_lag(const double *score, size_t from, size_t to, size_t lag, size_t p, double weight,
                    double *sum)
{
    for (size_t i = from + lag; i < to; i++)
        for (size_t a = 0; a < p; a++)
            for (size_t b = 0; b < p; b++) {
                const double product = score[i * p + a] * score[(i - lag) * p + b];
                sum[a * p + b] += weight * product;
                if (lag > 0)
                    sum[b * p + a] += weight * product;
            }
}

/* out = left right, both p by p */
static void multiply(const double *left, const double *right, size_t p, double *out)
{
    for (size_t i = 0; i < p; i++)
        for (size_t j = 0; j < p; j++) {
            out[i * p + j] = 0.0;
            for (size_t k = 0; k < p; k++)
                out[i * p + j] += left[i * p + k] * right[k * p + j];
        }
}

enum sm_status sm_lsq_robust(const double *jac, const double *residuals, size_t n, size_t p,
                             const double *inverse, const size_t *group_end, size_t n_groups, size_t lags,
                             struct sm_arena *arena, double *out, struct sm_error *err)
{
    double *score = sm_arena_alloc(arena, n * p, sizeof *score);
    double *sum = sm_arena_alloc(arena, p * p, sizeof *sum),
           *half = sm_arena_alloc(arena, p * p, sizeof *half);
    if (!score || !sum || !half)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < p; j++)
            score[i * p + j] = jac[i * p + j] * residuals[i];
    for (size_t k = 0; k < n_groups; k++) {
        const size_t from = k > 0 ? group_end[k - 1] : 0;
        for (size_t lag = 0; lag <= lags && from + lag < group_end[k]; lag++)
            add_lag(score, from, group_end[k], lag, p, 1.0 - (double)lag / (double)(lags + 1), sum);
    }
    multiply(inverse, sum, p, half);
    multiply(half, inverse, p, out);
    const double finite = (double)n / (double)(n - p);
    for (size_t i = 0; i < p * p; i++)
        out[i] *= finite;
    return SM_OK;
}
