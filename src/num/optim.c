#include "num/optim.h"

#include <math.h>
#include <nlopt.h>
#include <string.h>

#include "base/arena.h"
#include "num/points.h"

enum {
    SCAN_EACH = 24,    /* points of the scan a variable; a handful in each direction and diagonal */
    GLOBAL_EACH = 120, /* evaluations of one global search a variable: about ten generations */
    STARTS = 4,        /* local searches after a global one */
    QUADRATIC_STEPS = 100,
    LINEAR_EACH = 80,
    MAX_TRIES = 4000 /* kept from which local searches start */
};
static const double slope_step = 1e-3; /* of the box [1] */
static const double long_step = 0.03,
                    short_step = 0.002;   /* first steps of the linear models, of the box [1] */
static const double reached = 1e-7;       /* of the box: where a local search ends [1] */
static const double apart = 0.05;         /* starts nearer than this count as one [1] */
static const double goal_agrees = 1e-3;   /* [1] */
static const double no_point_merit = 1e6; /* worse than any limit broken [1] */

/* A point in the unit cube, and what came of it. */
struct tried {
    double u[SM_OPTIM_VARIABLES]; /* [1] */
    double merit;                 /* [1] */
};

struct search {
    const struct sm_optim_problem *problem;
    const struct sm_optim_options *options;
    struct sm_optim_result *best;
    double best_u[SM_OPTIM_VARIABLES]; /* [1] */
    double best_merit;                 /* [1] */
    struct tried *tries;               /* of the scan and the global searches */
    size_t n_tries;
    int keeps_tries, is_stopped;
    nlopt_opt running;
    size_t moving[SM_OPTIM_VARIABLES]; /* variables of the search that runs */
    size_t n_moving;
    double held[SM_OPTIM_VARIABLES]; /* the others [1] */
    /* The last point of a local search, since goal and limits are asked for apart. */
    double last_u[SM_OPTIM_VARIABLES];   /* [1] */
    double last_goal;                    /* [1] */
    double last_limits[SM_OPTIM_LIMITS]; /* [1] */
    int has_last;
    /* Slopes there, since those of goal and limits are asked for apart too. */
    double slope_at[SM_OPTIM_VARIABLES];                       /* [1] */
    double goal_slope[SM_OPTIM_VARIABLES];                     /* [1] */
    double limit_slopes[SM_OPTIM_LIMITS * SM_OPTIM_VARIABLES]; /* of each limit by n_moving variables [1] */
    int has_slopes;
};

/* ---- points ---- */

double sm_optim_violation(const double *limits, size_t m, double tolerance)
{
    double sum = 0.0;
    for (size_t i = 0; i < m; i++)
        if (!(limits[i] <= tolerance))
            sum += isnan(limits[i]) ? 1.0 : limits[i];
    return sum;
}

/* Feasible-first order as one number: below 1 what keeps the limits, above what breaks them. */
static double merit_of(double goal, double violation)
{
    static const double pi = 3.14159265358979323846;
    return violation > 0.0 ? 1.0 + violation : 0.5 + atan(goal) / pi;
}

static double in_unit(double u)
{
    return u < 0.0 ? 0.0 : u > 1.0 ? 1.0 : u;
}

static double value_of(const struct sm_optim_variable *v, double u)
{
    if (v->is_whole) /* equal shares of the cube for each number */
        return fmin(v->high, v->low + floor(u * (v->high - v->low + 1.0)));
    return u >= 1.0 ? v->high : v->low + u * (v->high - v->low);
}

static double unit_of(const struct sm_optim_variable *v, double x)
{
    if (v->is_whole)
        return in_unit((rint(x) - v->low + 0.5) / (v->high - v->low + 1.0));
    return in_unit((x - v->low) / (v->high - v->low));
}

static enum sm_optim_answer try_point(struct search *s, const double *u, double *goal, double *limits,
                                      double *merit)
{
    const struct sm_optim_problem *p = s->problem;
    double x[SM_OPTIM_VARIABLES], violation = 0.0;
    for (size_t i = 0; i < p->n; i++)
        x[i] = value_of(&p->variables[i], u[i]);
    s->best->evaluations++;
    enum sm_optim_answer answer = p->eval(p->user, x, goal, limits);
    if (answer == SM_OPTIM_STOP) {
        s->is_stopped = 1;
        if (s->running)
            nlopt_force_stop(s->running);
        return answer;
    }
    if (answer == SM_OPTIM_GOOD && isfinite(*goal))
        violation = sm_optim_violation(limits, p->m, s->options->tolerance);
    else
        answer = SM_OPTIM_NO_SUCH_POINT;
    *merit = answer == SM_OPTIM_GOOD ? merit_of(*goal, violation) : no_point_merit;
    if (s->keeps_tries && s->n_tries < MAX_TRIES && answer == SM_OPTIM_GOOD) {
        memcpy(s->tries[s->n_tries].u, u, p->n * sizeof *u);
        s->tries[s->n_tries++].merit = *merit;
    }
    if (answer == SM_OPTIM_GOOD && *merit < s->best_merit) {
        s->best_merit = *merit;
        s->best->found = 1;
        s->best->goal = *goal;
        s->best->violation = violation;
        memcpy(s->best->x, x, p->n * sizeof *x);
        memcpy(s->best_u, u, p->n * sizeof *u);
        memcpy(s->best->limits, limits, p->m * sizeof *limits);
    }
    return answer;
}

/* ---- global ---- */

static double global_goal(unsigned n, const double *u, double *slope, void *user)
{
    struct search *s = user;
    double goal = 0.0, limits[SM_OPTIM_LIMITS], merit = no_point_merit;
    (void)n;
    (void)slope;
    try_point(s, u, &goal, limits, &merit);
    return merit;
}

static enum sm_status scan(struct search *s, uint64_t seed, struct sm_arena *arena, struct sm_error *err)
{
    const size_t n = s->problem->n, points = SCAN_EACH * n;
    double *u = sm_arena_alloc(arena, n * points, sizeof *u);
    if (!u)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(sm_points(points, n, seed, 0, u, err));
    for (size_t i = 0; i < points && !s->is_stopped; i++) {
        double at[SM_OPTIM_VARIABLES], goal, limits[SM_OPTIM_LIMITS], merit;
        for (size_t j = 0; j < n; j++)
            at[j] = u[j * points + i];
        try_point(s, at, &goal, limits, &merit);
    }
    return SM_OK;
}

/* Of n answers to settings, for most of which the library takes memory. */
static nlopt_result first_failure(size_t n, const nlopt_result *answers)
{
    for (size_t i = 0; i < n; i++)
        if (answers[i] != NLOPT_SUCCESS)
            return answers[i];
    return NLOPT_SUCCESS;
}

static enum sm_status search_globally(struct search *s, uint64_t seed, struct sm_error *err)
{
    const unsigned n = (unsigned)s->problem->n;
    double u[SM_OPTIM_VARIABLES], merit;
    nlopt_opt opt = nlopt_create(NLOPT_GN_CRS2_LM, n);
    if (!opt)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (unsigned i = 0; i < n; i++)
        u[i] = s->best->found ? s->best_u[i] : 0.5;
    nlopt_srand((unsigned long)(seed & 0xffffffffu));
    nlopt_result ended = first_failure(5, (nlopt_result[]){nlopt_set_lower_bounds1(opt, 0.0),
                                                           nlopt_set_upper_bounds1(opt, 1.0),
                                                           nlopt_set_min_objective(opt, global_goal, s),
                                                           nlopt_set_maxeval(opt, GLOBAL_EACH * ((int)n + 1)),
                                                           nlopt_set_ftol_abs(opt, 1e-9)});
    s->running = opt;
    if (ended == NLOPT_SUCCESS)
        ended = nlopt_optimize(opt, u, &merit);
    s->running = NULL;
    nlopt_destroy(opt);
    return ended == NLOPT_OUT_OF_MEMORY ? sm_fail(err, SM_E_NOMEM, "out of memory") : SM_OK;
}

/* ---- local ---- */

static void place(const struct search *s, const double *moving, double *u)
{
    memcpy(u, s->held, s->problem->n * sizeof *u);
    for (size_t i = 0; i < s->n_moving; i++)
        u[s->moving[i]] = in_unit(moving[i]);
}

/* A point without an answer is told as worse than the last in every way, by a step of order one. */
static void look(struct search *s, const double *moving)
{
    double u[SM_OPTIM_VARIABLES], goal = 0.0, limits[SM_OPTIM_LIMITS] = {0}, merit;
    place(s, moving, u);
    if (s->has_last && memcmp(u, s->last_u, s->problem->n * sizeof *u) == 0)
        return;
    if (try_point(s, u, &goal, limits, &merit) != SM_OPTIM_GOOD) {
        goal = s->best->found ? s->best->goal + 1.0 : 1.0;
        for (size_t i = 0; i < s->problem->m; i++)
            limits[i] = 1.0;
    }
    memcpy(s->last_u, u, s->problem->n * sizeof *u);
    s->last_goal = goal;
    for (size_t i = 0; i < s->problem->m; i++)
        s->last_limits[i] = isnan(limits[i]) ? 1.0 : limits[i];
    s->has_last = 1;
}

/* Slopes of goal and limits over both neighbours within the box. */
static void find_slopes(struct search *s, const double *moving)
{
    const size_t m = s->problem->m, n = s->n_moving;
    double at[SM_OPTIM_VARIABLES], low[SM_OPTIM_LIMITS];
    if (s->has_slopes && memcmp(moving, s->slope_at, n * sizeof *moving) == 0)
        return;
    memcpy(at, moving, n * sizeof *at);
    for (size_t i = 0; i < n; i++) {
        const double a = fmax(0.0, moving[i] - slope_step), b = fmin(1.0, moving[i] + slope_step);
        at[i] = a;
        look(s, at);
        const double low_goal = s->last_goal;
        memcpy(low, s->last_limits, m * sizeof *low);
        at[i] = b;
        look(s, at);
        s->goal_slope[i] = (s->last_goal - low_goal) / (b - a);
        for (size_t k = 0; k < m; k++)
            s->limit_slopes[k * n + i] = (s->last_limits[k] - low[k]) / (b - a);
        at[i] = moving[i];
    }
    memcpy(s->slope_at, moving, n * sizeof *moving);
    s->has_slopes = 1;
}

static double local_goal(unsigned n, const double *moving, double *slope, void *user)
{
    struct search *s = user;
    if (slope) {
        find_slopes(s, moving);
        memcpy(slope, s->goal_slope, n * sizeof *slope);
    }
    look(s, moving);
    return s->last_goal;
}

static void local_limits(unsigned m, double *out, unsigned n, const double *moving, double *slope, void *user)
{
    struct search *s = user;
    if (slope) {
        find_slopes(s, moving);
        memcpy(slope, s->limit_slopes, (size_t)m * n * sizeof *slope);
    }
    look(s, moving);
    memcpy(out, s->last_limits, m * sizeof *out);
}

static enum sm_status run_local(struct search *s, nlopt_algorithm algorithm, double *moving, int most,
                                double first_step, struct sm_error *err)
{
    double tolerances[SM_OPTIM_LIMITS] = {0}, goal;
    nlopt_opt opt = nlopt_create(algorithm, (unsigned)s->n_moving);
    if (!opt)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    nlopt_result ended = first_failure(
        7,
        (nlopt_result[]){nlopt_set_lower_bounds1(opt, 0.0), nlopt_set_upper_bounds1(opt, 1.0),
                         nlopt_set_min_objective(opt, local_goal, s),
                         s->problem->m == 0 ? NLOPT_SUCCESS
                                            : nlopt_add_inequality_mconstraint(opt, (unsigned)s->problem->m,
                                                                               local_limits, s, tolerances),
                         nlopt_set_initial_step1(opt, first_step), nlopt_set_maxeval(opt, most),
                         nlopt_set_xtol_abs1(opt, reached)});
    s->running = opt;
    s->has_last = s->has_slopes = 0;
    if (ended == NLOPT_SUCCESS)
        ended = nlopt_optimize(opt, moving, &goal);
    s->running = NULL;
    nlopt_destroy(opt);
    return ended == NLOPT_OUT_OF_MEMORY ? sm_fail(err, SM_E_NOMEM, "out of memory") : SM_OK;
}

/* From one place: quadratic models along slopes, then linear ones that need none, from wherever that came best. *ended is
 * its best goal, or a thousand and what limits are broken by. */
static enum sm_status search_locally(struct search *s, const double *start, int is_last, double *ended,
                                     struct sm_error *err)
{
    double moving[SM_OPTIM_VARIABLES];
    struct sm_optim_result *const all = s->best;
    struct sm_optim_result own = {0};
    double all_u[SM_OPTIM_VARIABLES];
    const double all_merit = s->best_merit;
    enum sm_status status = SM_OK;
    memcpy(all_u, s->best_u, sizeof all_u);
    memcpy(s->held, start, s->problem->n * sizeof *start);
    s->n_moving = 0;
    for (size_t i = 0; i < s->problem->n; i++)
        if (!s->problem->variables[i].is_whole)
            s->moving[s->n_moving++] = i;
    s->best = &own;
    s->best_merit = SM_INF;
    for (size_t i = 0; i < s->n_moving; i++)
        moving[i] = start[s->moving[i]];
    look(s, moving);
    if (s->n_moving > 0 && !s->is_stopped)
        status = run_local(s, NLOPT_LD_SLSQP, moving, QUADRATIC_STEPS, 0.1, err);
    /* What the quadratic models leave broken, and what is to be the end, linear ones look at too: they bear kinks. */
    const int is_broken = !own.found || own.violation > 0.0;
    const int first = is_broken ? 0 : 1;
    for (int again = first; again < 2 && (is_last || is_broken) && s->n_moving > 0; again++) {
        const double before = s->best_merit;
        if (s->is_stopped || status != SM_OK)
            break;
        for (size_t i = 0; i < s->n_moving; i++)
            moving[i] = own.found ? s->best_u[s->moving[i]] : start[s->moving[i]];
        status = run_local(s, NLOPT_LN_COBYLA, moving, LINEAR_EACH * ((int)s->n_moving + 1),
                           again ? short_step : long_step, err);
        if (s->best_merit > before - 1e-7) /* no better: a second one would not be either */
            break;
    }
    *ended = own.found ? own.violation > 0.0 ? 1e3 + own.violation : own.goal : SM_INF;
    s->best = all;
    all->evaluations += own.evaluations;
    if (s->best_merit < all_merit) {
        own.evaluations = all->evaluations;
        own.searches = all->searches;
        own.agreeing = all->agreeing;
        *all = own;
    } else {
        s->best_merit = all_merit;
        memcpy(s->best_u, all_u, sizeof all_u);
    }
    s->has_last = 0;
    return status;
}

/* ---- all of it ---- */

static int same_whole(const struct search *s, const double *a, const double *b)
{
    for (size_t i = 0; i < s->problem->n; i++) {
        const struct sm_optim_variable *v = &s->problem->variables[i];
        if (v->is_whole && fabs(value_of(v, a[i]) - value_of(v, b[i])) > 0.5)
            return 0;
    }
    return 1;
}

static int is_near(const struct search *s, const double *a, const double *b)
{
    double largest = 0.0;
    for (size_t i = 0; i < s->problem->n; i++)
        if (!s->problem->variables[i].is_whole)
            largest = fmax(largest, fabs(a[i] - b[i]));
    return largest < apart && same_whole(s, a, b);
}

/* The best of the tries that is far from all starts used before; NULL if none is left. */
static struct tried *next_start(struct search *s, struct tried *const *used, size_t n_used)
{
    struct tried *best = NULL;
    for (size_t i = 0; i < s->n_tries; i++) {
        int is_new = !best || s->tries[i].merit < best->merit;
        for (size_t k = 0; k < n_used && is_new; k++)
            is_new = !is_near(s, s->tries[i].u, used[k]->u);
        if (is_new)
            best = &s->tries[i];
    }
    return best;
}

/* Counts local searches that came to the best so far. */
static void count(struct search *s, const double *ended, size_t n)
{
    struct sm_optim_result *const best = s->best;
    const double end = best->violation > 0.0 ? 1e3 + best->violation : best->goal;
    best->searches = n;
    best->agreeing = 0;
    for (size_t i = 0; i < n; i++)
        best->agreeing += fabs(ended[i] - end) <= goal_agrees * fmax(fabs(end), 0.01) ? 1 : 0;
}

static enum sm_status search_from_tries(struct search *s, struct sm_error *err)
{
    enum { MOST = 64 };
    struct tried *used[MOST];
    double ended[MOST];
    const size_t restarts = s->options->restarts;
    const size_t most = STARTS + restarts < MOST ? STARTS + restarts : MOST;
    size_t n = 0;
    for (; n < most && !s->is_stopped; n++) {
        used[n] = next_start(s, used, n);
        if (!used[n])
            break;
        SM_TRY(search_locally(s, used[n]->u, 0, &ended[n], err));
    }
    count(s, ended, n);
    return SM_OK;
}

/* Each whole number one up and one down from the best, until none of these is better. */
static enum sm_status search_neighbours(struct search *s, struct sm_error *err)
{
    for (int improved = 1; improved && s->best->found && !s->is_stopped;) {
        const double before = s->best_merit;
        double from[SM_OPTIM_VARIABLES], ended;
        memcpy(from, s->best->x, sizeof from);
        for (size_t i = 0; i < s->problem->n; i++) {
            const struct sm_optim_variable *v = &s->problem->variables[i];
            for (int side = -1; side <= 1 && v->is_whole && !s->is_stopped; side += 2) {
                double u[SM_OPTIM_VARIABLES];
                for (size_t k = 0; k < s->problem->n; k++)
                    u[k] = unit_of(&s->problem->variables[k], from[k] + (k == i ? side : 0));
                if (from[i] + side >= v->low && from[i] + side <= v->high)
                    SM_TRY(search_locally(s, u, 0, &ended, err));
            }
        }
        improved = s->best_merit < before - 1e-9;
    }
    return SM_OK;
}

static enum sm_status run(struct search *s, const double *start, struct sm_arena *arena, struct sm_error *err)
{
    const struct sm_optim_options *o = s->options;
    double u[SM_OPTIM_VARIABLES], goal, limits[SM_OPTIM_LIMITS], merit;
    for (size_t i = 0; i < s->problem->n && start; i++)
        u[i] = unit_of(&s->problem->variables[i], start[i]);
    s->tries = sm_arena_alloc(arena, MAX_TRIES, sizeof *s->tries);
    if (!s->tries)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    if (o->restarts == 0) {
        SM_TRY(search_locally(s, u, 1, &merit, err));
        count(s, &merit, 1);
    } else {
        s->keeps_tries = 1;
        if (start)
            try_point(s, u, &goal, limits, &merit);
        SM_TRY(scan(s, o->seed, arena, err));
        for (size_t i = 0; i < o->restarts && !s->is_stopped; i++)
            SM_TRY(search_globally(s, sm_random(o->seed, i), err));
        s->keeps_tries = 0;
        SM_TRY(search_from_tries(s, err));
        memcpy(u, s->best_u, sizeof u);
        if (s->best->found)
            SM_TRY(search_locally(s, u, 1, &merit, err));
    }
    SM_TRY(search_neighbours(s, err));
    return s->is_stopped ? sm_fail(err, SM_E_CANCELLED, "stopped before its end") : SM_OK;
}

enum sm_status sm_optim_search(const struct sm_optim_problem *problem, const double *start,
                               const struct sm_optim_options *options, struct sm_optim_result *result,
                               struct sm_error *err)
{
    struct sm_arena arena;
    *result = (struct sm_optim_result){0};
    if (problem->n < 1 || problem->n > SM_OPTIM_VARIABLES || problem->m > SM_OPTIM_LIMITS ||
        (!start && options->restarts == 0))
        return sm_fail(err, SM_E_INTERNAL, "a search of %zu variables and %zu limits", problem->n,
                       problem->m);
    struct search s = {.problem = problem, .options = options, .best = result, .best_merit = SM_INF};
    sm_arena_init(&arena, NULL);
    const enum sm_status status = run(&s, start, &arena, err);
    sm_arena_release(&arena);
    return status;
}
