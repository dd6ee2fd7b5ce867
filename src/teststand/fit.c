/*
 * A motor's constants from firings, by least squares on means over equal parts of each.
 *
 * Unknowns are the chosen values, then the time of ignition of every firing, which no logger tells. The slopes to the values
 * are central differences of whole burns; those to the times are exact for the lines between the burn's nodes. Means over
 * parts rather than samples: their noise is smaller and as good as independent, and the steep ends of the curve, where a
 * sample is either on or off, count for what they weigh in impulse.
 */
#include "slowmatch/fit.h"
#include "base/pointer.h"
#include "base/text.h"
#include "curve/curve.h"
#include "motor/motor.h"
#include "motor/vary.h"
#include "num/lsq.h"
#include "num/stats.h"
#include "slowmatch/limits.h"
#include "teststand/fitadvice.h"

#include <math.h>
#include <string.h>

enum { PARTS = 120, CHANGES = SM_MAX_BURN_SEGMENTS + 8, LAGS = 3 };

/* Choices of our own. */
#define STEP                                                                                                 \
    2e-3 /* of differences, share of the value: 1e-6 of a burn's accuracy is a thousandth of it [1] */
#define ACCURACY     1e-5 /* of the burns [1] */
#define TOLERANCE    1e-6 /* of the search [1] */
#define LEAST_WEIGHT 1e-3 /* of the maximum: no channel is trusted further [1] */
#define ERODES_AT    3e6  /* [Pa] */
#define ERODES_SIZE  1e-5 /* a speed of the throat's wall that matters [m/s] */
#define SAME_END     1e-2 /* two searches ended alike if their sums differ by less [1] */
#define OFF_PIVOT    0.01 /* a pivot so near the burns' own is at it [1] */

static const char *const names[] = {"rate", "exponent", "cstar", "thrust", "erosion", "sensitivity", NULL};
static const char *const pointers[SM_N_FIT_PARAMETERS] = {
    "/propellant/burn_rate/0/rate", "/propellant/burn_rate/0/exponent",
    "/propellant/cstar_efficiency", "/nozzle/thrust_efficiency",
    "/nozzle/erosion/rate",         "/propellant/temperature_sensitivity"};

const char *const *sm_fit_names(void)
{
    return names;
}

/* One firing as the search sees it: `parts` means of thrust, then as many of pressure over the ambient. */
struct target {
    const struct sm_firing *firing;
    size_t parts, n;        /* n: of all means */
    double from, wide;      /* start of the first part, length of each [s] */
    double *mean;           /* n, of thrust [N], then of pressure over the ambient [Pa] */
    double *weight;         /* n, standard deviations of the means [N], then [Pa] */
    struct sm_result *burn; /* at the point last reckoned; borrowed from `same` if that is not NULL */
    struct target *same;    /* an earlier firing under the same conditions, which burns alike */
};

struct problem {
    const struct sm_motor *base;
    struct sm_arena *arena;
    enum sm_fit_parameter vary[SM_N_FIT_PARAMETERS];
    size_t k, n_firings, n_residuals;
    struct target *targets;
    double low[SM_N_FIT_PARAMETERS + SM_MAX_MOTORS],
        high[SM_N_FIT_PARAMETERS + SM_MAX_MOTORS];    /* [unit of each] */
    double size[SM_N_FIT_PARAMETERS + SM_MAX_MOTORS]; /* [unit of each] */
    double *r_up, *r_down;                            /* n_residuals [1] */
    size_t evaluations;
    int rate_at, exponent_at;             /* places of the two in vary; -1 */
    double moved[2][SM_N_FIT_PARAMETERS]; /* by gains of thrust, of pressure, that are off [unit of each] */
    double pivot;        /* log of the pressure at which the search has the rate, over the law's own [1] */
    struct sm_error err; /* of the last burn that failed */
    int is_starved;      /* was memory out in a burn? Then a search led past it is no search */
    int is_stopped;      /* likewise, by who asked for it */
    struct sm_progress progress;
};

/* ---- motors ---- */

static size_t change_one(const struct problem *p, enum sm_fit_parameter which, double value,
                         struct sm_change *c)
{
    static const char *const rates[] = {"/propellant/burn_rate/0/rate", "/propellant/burn_rate/1/rate",
                                        "/propellant/burn_rate/2/rate", "/propellant/burn_rate/3/rate",
                                        "/propellant/burn_rate/4/rate", "/propellant/burn_rate/5/rate",
                                        "/propellant/burn_rate/6/rate", "/propellant/burn_rate/7/rate"};
    const struct sm_list *law = &p->base->spec.propellant.burn_rate;
    const struct sm_burn_segment *s = law->items;
    if (which == SM_FIT_RATE) {
        for (size_t i = 0; i < law->n && i < SM_COUNT(rates); i++)
            c[i] = (struct sm_change){rates[i], s[i].rate * value / s[0].rate};
        return law->n < SM_COUNT(rates) ? law->n : SM_COUNT(rates);
    }
    c[0] = (struct sm_change){pointers[which], value};
    if (which != SM_FIT_EROSION || !isnan(p->base->spec.nozzle.erosion.rate))
        return 1;
    c[1] = (struct sm_change){"/nozzle/erosion/at", ERODES_AT};
    c[2] =
        (struct sm_change){"/nozzle/erosion/exponent", 0.8}; /* turbulent convection, see nozzle/erosion.h */
    c[3] = (struct sm_change){"/nozzle/erosion/onset", 0.0};
    return 4;
}

/*
 * Coefficient and exponent tell nearly the same story: what firings know is the rate at their own pressure. So where both
 * are sought, the search has the rate there in the coefficient's place, q = a (P/at)^n with ln(P/at) = pivot.
 */
static double coefficient_of(const struct problem *p, const double *x)
{
    return p->exponent_at < 0 ? x[p->rate_at] : x[p->rate_at] * exp(-p->pivot * x[p->exponent_at]);
}

static int has_pivot(const struct problem *p)
{
    return p->rate_at >= 0 && p->exponent_at >= 0;
}

/* Between 10 % and 90 % of the burn time, in the burn last reckoned. */
static void pressures_of(const struct sm_result *burn, double *from, double *to)
{
    const struct sm_series *s = &burn->series;
    const double start = burn->thrust.burn_start, length = burn->thrust.burn_time;
    *from = SM_INF;
    *to = 0.0;
    for (size_t i = 0; i < s->n; i++)
        if (s->time[i] > start + 0.1 * length && s->time[i] < start + 0.9 * length) {
            *from = fmin(*from, s->pressure[i]);
            *to = fmax(*to, s->pressure[i]);
        }
}

/* Of the burns last reckoned. */
static double pivot_of_burns(const struct problem *p)
{
    const struct sm_burn_segment *s = p->base->spec.propellant.burn_rate.items;
    double sum = 0.0;
    for (size_t f = 0; f < p->n_firings; f++) {
        double from, to;
        pressures_of(p->targets[f].burn, &from, &to);
        sum += 0.5 * (from + to);
    }
    return log(sum / (double)p->n_firings / s->at);
}

/* Moves the point x, the bounds and the size of the rate with it. */
static void move_pivot(struct problem *p, double to, double *x)
{
    const double factor = exp((to - p->pivot) * x[p->exponent_at]);
    x[p->rate_at] *= factor;
    p->low[p->rate_at] *= factor;
    p->high[p->rate_at] *= factor;
    p->size[p->rate_at] *= factor;
    p->pivot = to;
}

/* Brings a search's end and its slopes back to coefficient and exponent. */
static void leave_pivot(const struct problem *p, struct sm_lsq_fit *best)
{
    if (!has_pivot(p))
        return;
    const size_t i = (size_t)p->rate_at, k = (size_t)p->exponent_at, m = p->k + p->n_firings;
    const double q = best->x[i], factor = exp(p->pivot * best->x[k]);
    for (size_t row = 0; row < p->n_residuals; row++) {
        double *jac = best->jacobian + row * m;
        jac[k] += jac[i] * q * p->pivot;
        jac[i] *= factor;
    }
    best->x[i] = q / factor;
}

/* The motor with the values x, of one firing's conditions (NULL: its own). */
static enum sm_status make_motor(const struct problem *p, const double *x, const struct sm_firing *firing,
                                 struct sm_motor **out, struct sm_error *err)
{
    struct sm_change c[CHANGES];
    size_t n = 0;
    if (firing && !isnan(firing->grain_temperature))
        c[n++] = (struct sm_change){"/conditions/grain_temperature", firing->grain_temperature};
    if (firing && !isnan(firing->throat_diameter))
        c[n++] = (struct sm_change){"/nozzle/throat_diameter", firing->throat_diameter};
    for (size_t j = 0; j < p->k; j++)
        n += change_one(p, p->vary[j], (int)j == p->rate_at ? coefficient_of(p, x) : x[j], c + n);
    return sm_motor_vary(p->base, c, n, NULL, out, err);
}

static enum sm_status burn_one(struct problem *p, const double *x, struct target *t)
{
    static const struct sm_run_options options = {.accuracy = ACCURACY, .without_warnings = true};
    struct sm_motor *motor;
    if (t->same) {
        t->burn = t->same->burn;
        return SM_OK;
    }
    if (p->is_stopped || (p->progress.step && p->progress.step(p->progress.user, 0.0))) {
        p->is_stopped = 1;
        return sm_fail(&p->err, SM_E_CANCELLED, "stopped before the first search came to its end");
    }
    sm_result_free(t->burn);
    t->burn = NULL;
    enum sm_status status = make_motor(p, x, t->firing, &motor, &p->err);
    if (status == SM_OK)
        status = sm_simulate(motor, &options, NULL, &t->burn, &p->err);
    if (t->burn)
        t->burn->motor = NULL; /* it borrows the name of the motor that goes */
    sm_motor_free(motor);
    p->is_starved |= status == SM_E_NOMEM;
    return status;
}

/* ---- residuals ---- */

static void residuals_of(const struct problem *p, const struct target *t, double shift, double *r)
{
    const struct sm_series *s = &t->burn->series;
    const double ambient = t->firing->ambient_pressure;
    (void)p;
    for (size_t i = 0; i < t->n; i++) {
        const size_t part = i % t->parts;
        const int is_pressure = i >= t->parts;
        const double a = t->from + t->wide * (double)part + shift, b = a + t->wide;
        double mean = sm_curve_integral(s->time, is_pressure ? s->pressure : s->thrust, s->n, a, b) / t->wide;
        if (is_pressure) /* over the ambient where the burn has a pressure */
            mean -= ambient * fmax(0.0, fmin(b, s->time[s->n - 1]) - fmax(a, 0.0)) / t->wide;
        r[i] = (t->mean[i] - mean) / t->weight[i];
    }
}

static int residuals(void *user, const double *x, double *r)
{
    struct problem *p = user;
    p->evaluations++;
    for (size_t f = 0; f < p->n_firings; f++) {
        if (burn_one(p, x, &p->targets[f]) != SM_OK)
            return 0;
        residuals_of(p, &p->targets[f], x[p->k + f], r);
        r += p->targets[f].n;
    }
    return 1;
}

/* To the time of ignition: what enters at the end of a part less what leaves at its start. */
static void slope_to_time(const struct problem *p, const double *x, double *jac, size_t n_params)
{
    size_t row = 0;
    for (size_t f = 0; f < p->n_firings; f++) {
        const struct target *t = &p->targets[f];
        const struct sm_series *s = &t->burn->series;
        for (size_t i = 0; i < t->n; i++, row++) {
            const int is_pressure = i >= t->parts;
            const double *y = is_pressure ? s->pressure : s->thrust;
            const double off = is_pressure ? t->firing->ambient_pressure : 0.0;
            double ends[2];
            for (int e = 0; e < 2; e++) {
                const double at = t->from + t->wide * (double)(i % t->parts + (size_t)e) + x[p->k + f];
                ends[e] = at < 0.0 || at > s->time[s->n - 1] ? 0.0 : sm_curve_at(s->time, y, s->n, at) - off;
            }
            jac[row * n_params + p->k + f] = -(ends[1] - ends[0]) / t->wide / t->weight[i];
        }
    }
}

static int jacobian(void *user, const double *x, double *jac)
{
    struct problem *p = user;
    const size_t n_params = p->k + p->n_firings;
    double at[SM_N_FIT_PARAMETERS + SM_MAX_MOTORS];
    memcpy(at, x, n_params * sizeof *at);
    memset(jac, 0, p->n_residuals * n_params * sizeof *jac);
    for (size_t j = 0; j < p->k; j++) {
        const double h = STEP * p->size[j];
        const double up = fmin(x[j] + h, p->high[j]), down = fmax(x[j] - h, p->low[j]);
        at[j] = up;
        if (!residuals(p, at, p->r_up))
            return 0;
        at[j] = down;
        if (!residuals(p, at, p->r_down))
            return 0;
        at[j] = x[j];
        for (size_t i = 0; i < p->n_residuals; i++)
            jac[i * n_params + j] = (p->r_up[i] - p->r_down[i]) / (up - down);
    }
    if (!residuals(p, x, p->r_up))
        return 0;
    slope_to_time(p, x, jac, n_params);
    return 1;
}

/* ---- setting up ---- */

/* Standard deviation of a row's pressure, from second differences in the middle of the burn. */
static double pressure_noise(const struct sm_firing *f, struct sm_arena *arena)
{
    double *d = sm_arena_alloc(arena, f->m, sizeof *d);
    size_t n = 0;
    for (size_t i = f->m / 10 + 1; d && i + 1 < f->m - f->m / 10; i++)
        d[n++] = (f->p[i + 1] - 2.0 * f->p[i] + f->p[i - 1]) / sqrt(6.0);
    return n > 2 ? sm_stats_scatter(d, n, 0.0) : 0.0;
}

/*
 * A mean strays by the noise of its rows; and where the curve is steep by the rows' own spacing, since where between two rows
 * an edge lies is not told: an even spread of one interval times the step across the part (JCGM 100, 4.3.7).
 */
static void set_weights(const struct problem *p, struct target *t)
{
    const struct sm_firing *f = t->firing;
    const double rows = fmax((double)f->m / (double)t->parts / f->correlation, 1.0);
    const double thrust = fmax(f->noise / sqrt(rows), LEAST_WEIGHT * f->figures[SM_FIGURE_MAXIMUM].value);
    const double pressure = f->p ? fmax(pressure_noise(f, p->arena) / sqrt(rows),
                                        LEAST_WEIGHT * f->figures[SM_FIGURE_PRESSURE_MAXIMUM].value)
                                 : 0.0;
    for (size_t i = 0; i < t->n; i++) {
        const size_t part = i % t->parts, first = i - part;
        const double before = part > 0 ? t->mean[i - 1] : 0.0;
        const double after = part + 1 < t->parts ? t->mean[first + part + 1] : 0.0;
        const double step = 0.5 * (fabs(t->mean[i] - before) + fabs(after - t->mean[i]));
        t->weight[i] = hypot(i < t->parts ? thrust : pressure, step * f->interval / (sqrt(12.0) * t->wide));
    }
}

/* Equal, or absent both. */
static int is_same(double a, double b)
{
    return !(a < b) && !(a > b) && isnan(a) == isnan(b);
}

static struct target *burns_alike(const struct problem *p, size_t f)
{
    const struct sm_firing *firing = p->targets[f].firing;
    for (size_t g = 0; g < f; g++)
        if (is_same(p->targets[g].firing->throat_diameter, firing->throat_diameter) &&
            is_same(p->targets[g].firing->grain_temperature, firing->grain_temperature) &&
            !p->targets[g].same)
            return &p->targets[g];
    return NULL;
}

static enum sm_status make_target(struct problem *p, const struct sm_firing *f, struct target *t,
                                  struct sm_error *err)
{
    const double end = f->t[f->m - 1];
    const size_t most = f->m / 3 > 4 ? f->m / 3 : 4;
    *t = (struct target){.firing = f, .parts = most < PARTS ? most : PARTS, .from = f->t[0]};
    t->wide = (end - t->from) / (double)t->parts;
    t->n = f->p ? 2 * t->parts : t->parts;
    t->mean = sm_arena_alloc(p->arena, t->n, sizeof *t->mean);
    t->weight = sm_arena_alloc(p->arena, t->n, sizeof *t->weight);
    if (!t->mean || !t->weight)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < t->n; i++) {
        const double a = t->from + t->wide * (double)(i % t->parts);
        t->mean[i] =
            sm_curve_integral(f->t, i < t->parts ? f->thrust : f->p, f->m, a, a + t->wide) / t->wide -
            (i < t->parts ? 0.0 : f->ambient_pressure);
    }
    set_weights(p, t);
    p->n_residuals += t->n;
    return SM_OK;
}

static enum sm_status check_choice(const struct problem *p, const struct sm_firing *const *firings, size_t n,
                                   struct sm_error *err)
{
    const size_t n_segments = p->base->spec.propellant.burn_rate.n;
    for (size_t j = 0; j < p->k; j++) {
        if (p->vary[j] == SM_FIT_EXPONENT && n_segments > 1)
            return sm_fail(
                err, SM_E_RANGE,
                "the exponent of a law of %zu segments can't be fitted; fit the rate, or give the motor a "
                "propellant whose law has one",
                n_segments);
        double least = SM_INF, most = -SM_INF;
        for (size_t i = 0; i < n; i++) {
            least = fmin(least, firings[i]->grain_temperature);
            most = fmax(most, firings[i]->grain_temperature);
        }
        if (p->vary[j] == SM_FIT_SENSITIVITY && !(most - least >= 5.0))
            return sm_fail(
                err, SM_E_RANGE,
                "the sensitivity to temperature needs firings at grain temperatures 5 K apart or more, told "
                "by \"grain_temperature\" in their stand files");
    }
    return SM_OK;
}

/* Bounds, sizes and the motor's own values, which the search starts from. */
static enum sm_status set_bounds(struct problem *p, double *start, struct sm_error *err)
{
    for (size_t j = 0; j < p->k; j++) {
        const struct sm_param *row;
        SM_TRY(sm_motor_value(p->base, pointers[p->vary[j]], &start[j], &row, err));
        p->low[j] = row->min;
        p->high[j] = row->max;
        p->size[j] = fabs(start[j]);
        if (p->vary[j] == SM_FIT_RATE) {
            p->low[j] = 0.1 * start[j];
            p->high[j] = 10.0 * start[j];
        } else if (p->vary[j] == SM_FIT_EXPONENT) {
            p->low[j] = -0.5;
            p->high[j] = 0.95;
            p->size[j] = 0.4;
        } else if (p->vary[j] == SM_FIT_EROSION) {
            p->size[j] = ERODES_SIZE;
            if (isnan(start[j]))
                start[j] = 0.1 * ERODES_SIZE;
        } else if (p->vary[j] == SM_FIT_SENSITIVITY) {
            p->size[j] = 2e-3; /* that of most propellants [1/K] */
        }
        /* Within the bounds, not at one. */
        const double room = 1e-3 * (p->high[j] - p->low[j]);
        start[j] = fmin(fmax(start[j], p->low[j] + room * (p->vary[j] == SM_FIT_EROSION ? 1e-3 : 1.0)),
                        p->high[j] - room);
    }
    return SM_OK;
}

/* The times of ignition that lay the starts of the burns over each other. */
static enum sm_status set_times(struct problem *p, double *x, struct sm_error *err)
{
    for (size_t f = 0; f < p->n_firings; f++) {
        struct target *t = &p->targets[f];
        const double length = t->firing->figures[SM_FIGURE_BURN_TIME].value;
        if (burn_one(p, x, t) != SM_OK) {
            if (err)
                *err = p->err;
            return p->err.status;
        }
        if (t->firing->p && !t->burn->series.pressure)
            return sm_fail(err, SM_E_INTERNAL, "a burn without pressure");
        x[p->k + f] = t->burn->thrust.burn_start;
        p->low[p->k + f] = x[p->k + f] - 0.5 * length;
        p->high[p->k + f] = x[p->k + f] + 0.5 * length;
        p->size[p->k + f] = 0.01 * length;
    }
    return SM_OK;
}

/* ---- searching ---- */

/* Start number i: the first is the motor's own, others go round it by the golden section, up to 30 %. */
static void spread_start(const struct problem *p, const double *own, int i, double *x)
{
    const double golden = 0.6180339887498949;
    memcpy(x, own, p->k * sizeof *x);
    for (size_t j = 0; j < p->k && i > 0; j++) {
        const double u = fmod(golden * (double)(i * (int)(j + 1)), 1.0);
        x[j] += 0.3 * (2.0 * u - 1.0) * p->size[j];
        const double room = 1e-3 * (p->high[j] - p->low[j]);
        x[j] = fmin(fmax(x[j], p->low[j] + room), p->high[j] - room);
    }
}

/*
 * A search from x, and again from where it ended for as long as the pivot is not the pressure of the burns there. Beside it a
 * difference to the exponent moves the end of the burn, and the kinks that this makes in the means tell exponent from rate
 * where the firings don't: an exponent would come out as known that is not. It ends in coefficient and exponent.
 */
static enum sm_status search_once(struct problem *p, const struct sm_lsq_problem *problem, double *x,
                                  struct sm_lsq_fit *one, struct sm_error *err)
{
    enum { MOST_MOVES = 4 };
    const size_t r = (size_t)(p->rate_at < 0 ? 0 : p->rate_at);
    const double pivot = p->pivot, low = p->low[r], high = p->high[r], size = p->size[r];
    enum sm_status status = sm_lsq_fit(problem, x, p->arena, one, err);
    for (int k = 0; k < MOST_MOVES && status == SM_OK && has_pivot(p); k++) {
        const double to = pivot_of_burns(p); /* a search reckons its end last */
        if (!(fabs(to - p->pivot) > OFF_PIVOT))
            break;
        memcpy(x, one->x, problem->n_params * sizeof *x);
        move_pivot(p, to, x);
        status = sm_lsq_fit(problem, x, p->arena, one, err);
    }
    if (status == SM_OK)
        leave_pivot(p, one);
    p->pivot = pivot;
    p->low[r] = low;
    p->high[r] = high;
    p->size[r] = size;
    return status;
}

static enum sm_status search(struct problem *p, const double *own, int starts, struct sm_fit *fit,
                             struct sm_lsq_fit *best, struct sm_error *err)
{
    const struct sm_lsq_problem problem = {
        .n_params = p->k + p->n_firings,
        .n_residuals = p->n_residuals,
        .user = p,
        .residuals = residuals,
        .jacobian = jacobian,
        .low = p->low,
        .high = p->high,
        .size = p->size,
        .tolerance = TOLERANCE,
        .max_iterations = 60,
    };
    struct sm_error last = {0};
    double sums[16];
    for (int i = 0; i < starts && !p->is_stopped; i++) {
        double x[SM_N_FIT_PARAMETERS + SM_MAX_MOTORS];
        struct sm_lsq_fit one;
        spread_start(p, own, i, x);
        enum sm_status status = set_times(p, x, &last);
        if (status == SM_OK)
            status = search_once(p, &problem, x, &one, &last);
        if (p->is_starved || status == SM_E_NOMEM)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        if (status != SM_OK || p->is_stopped) /* one that was stopped is no search */
            continue;
        sums[fit->n_starts++] = one.sum;
        if (fit->n_starts == 1 || one.sum < best->sum)
            *best = one;
    }
    if (fit->n_starts == 0) {
        if (err)
            *err = p->err.status != SM_OK ? p->err : last;
        return p->err.status != SM_OK ? p->err.status : last.status;
    }
    fit->complete = !p->is_stopped;
    p->is_stopped = 0; /* what is left is short, and makes a fit of it */
    p->progress = (struct sm_progress){0};
    for (int i = 0; i < fit->n_starts; i++)
        fit->n_agreed += sums[i] <= best->sum * (1.0 + SAME_END);
    return SM_OK;
}

/* ---- what came out ---- */

/* What a gain that is off by its standard uncertainty does to the values: -inverse J' dr/dgain. */
static void add_calibration(struct problem *p, const double *jac, const double *inverse, struct sm_fit *fit)
{
    const size_t n_params = p->k + p->n_firings;
    for (int channel = 0; channel < 2; channel++) {
        double slope[SM_N_FIT_PARAMETERS + SM_MAX_MOTORS] = {0.0};
        size_t row = 0;
        for (size_t f = 0; f < p->n_firings; f++) {
            const struct target *t = &p->targets[f];
            const double u = channel ? t->firing->pressure_gain_uncertainty : t->firing->gain_uncertainty;
            for (size_t i = 0; i < t->n; i++, row++)
                for (size_t j = 0; (i >= t->parts) == channel && j < n_params; j++)
                    slope[j] += jac[row * n_params + j] * u * t->mean[i] / t->weight[i];
        }
        for (size_t j = 0; j < p->k; j++)
            for (size_t l = 0; l < n_params; l++)
                p->moved[channel][j] -= inverse[j * n_params + l] * slope[l];
    }
    for (size_t j = 0; j < p->k; j++)
        fit->values[j].calibration = hypot(p->moved[0][j], p->moved[1][j]);
}

static enum sm_status set_uncertainty(struct problem *p, const struct sm_lsq_fit *best, struct sm_fit *fit,
                                      double *covariance, struct sm_error *err)
{
    const size_t n_params = p->k + p->n_firings, n = p->n_residuals;
    double *inverse = sm_arena_alloc(p->arena, n_params * n_params, sizeof *inverse);
    double *robust = sm_arena_alloc(p->arena, n_params * n_params, sizeof *robust);
    double *worst = sm_arena_alloc(p->arena, n_params, sizeof *worst);
    size_t ends[2 * SM_MAX_MOTORS], n_ends = 0, at = 0;
    if (!inverse || !robust || !worst)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t f = 0; f < p->n_firings; f++)
        for (size_t i = 0; i < p->targets[f].n; i += p->targets[f].parts)
            ends[n_ends++] = at += p->targets[f].parts;
    const enum sm_status status =
        sm_lsq_covariance(best->jacobian, n, n_params, p->arena, inverse, &fit->condition, worst, err);
    if (status == SM_E_NOMEM)
        return status;
    fit->is_separable = status == SM_OK;
    for (size_t j = 0; j < p->k; j++)
        fit->values[j].uncertainty = fit->values[j].calibration = fit->values[j].low = fit->values[j].high =
            SM_ABSENT;
    if (!fit->is_separable)
        return SM_OK;
    SM_TRY(sm_lsq_robust(best->jacobian, best->residuals, n, n_params, inverse, ends, n_ends, LAGS, p->arena,
                         robust, err));
    const double freedom = (double)(n - n_params), square = best->sum / freedom;
    const double t = sm_stats_student_quantile(0.975, freedom);
    for (size_t j = 0; j < p->k; j++) {
        const double own = square * inverse[j * n_params + j], other = robust[j * n_params + j];
        struct sm_fit_value *v = &fit->values[j];
        v->uncertainty = sqrt(fmax(own, other));
        v->low = v->value - t * v->uncertainty;
        v->high = v->value + t * v->uncertainty;
        for (size_t l = 0; l < p->k; l++) {
            fit->correlation[j * p->k + l] =
                inverse[j * n_params + l] / sqrt(inverse[j * n_params + j] * inverse[l * n_params + l]);
            covariance[j * p->k + l] = square * inverse[j * n_params + l];
        }
    }
    add_calibration(p, best->jacobian, inverse, fit);
    return SM_OK;
}

static void set_firing(const struct problem *p, size_t f, const double *r, double shift,
                       struct sm_fit_firing *out)
{
    const struct target *t = &p->targets[f];
    double sum = 0.0;
    for (size_t i = 0; i < t->parts; i++)
        sum += r[i] * r[i] * t->weight[i] * t->weight[i];
    out->shift = shift;
    out->residual = sqrt(sum / (double)t->parts);
    out->durbin_watson = sm_stats_durbin_watson(r, t->parts);
    out->runs = sm_stats_runs(r, t->parts);
    pressures_of(t->burn, &out->pressure_from, &out->pressure_to);
}

/* The rate at the pressure where rate and exponent are independent, which is where it is known best:
 * ln r = ln a + n ln(P/at), least variance at ln(P/at) = -cov(ln a, n) / var(n). */
static void set_rate(const struct problem *p, const double *covariance, struct sm_fit *fit)
{
    size_t i = 0, k = 0;
    const struct sm_fit_value *rate = sm_fit_value_of(fit, SM_FIT_RATE, &i),
                              *n = sm_fit_value_of(fit, SM_FIT_EXPONENT, &k);
    const struct sm_burn_segment *s = p->base->spec.propellant.burn_rate.items;
    fit->rate_pressure = fit->rate = fit->rate_uncertainty = fit->rate_calibration = SM_ABSENT;
    if (!rate || !fit->is_separable)
        return;
    double x = log(s->at), variance = pow(rate->uncertainty / rate->value, 2.0);
    double exponent = s->exponent;
    if (n) {
        const double own = covariance[k * p->k + k], both = covariance[i * p->k + k] / rate->value;
        const double inflation = pow(rate->uncertainty, 2.0) / covariance[i * p->k + i];
        x -= both / own;
        exponent = n->value;
        variance = inflation * (covariance[i * p->k + i] / (rate->value * rate->value) - both * both / own);
    }
    fit->rate_pressure = exp(x);
    fit->rate = rate->value * pow(fit->rate_pressure / s->at, exponent);
    fit->rate_uncertainty = fit->rate * sqrt(fmax(variance, 0.0));
    double share[2]; /* of the rate, by each channel's gain [1] */
    for (int c = 0; c < 2; c++)
        share[c] =
            p->moved[c][i] / rate->value + (n ? log(fit->rate_pressure / s->at) * p->moved[c][k] : 0.0);
    fit->rate_calibration = fit->rate * hypot(share[0], share[1]);
}

struct owned {
    struct sm_fit fit; /* first, so that a pointer to it is one to the whole */
    struct sm_arena arena;
};

static void forget_burns(struct problem *p)
{
    for (size_t f = 0; p->targets && f < p->n_firings; f++) {
        if (!p->targets[f].same)
            sm_result_free(p->targets[f].burn);
        p->targets[f].burn = NULL;
    }
}

static enum sm_status residuals_before(struct problem *p, const double *own, struct sm_fit *fit,
                                       struct sm_error *err)
{
    double x[SM_N_FIT_PARAMETERS + SM_MAX_MOTORS];
    memcpy(x, own, p->k * sizeof *x);
    SM_TRY(set_times(p, x, err));
    if (!residuals(p, x, p->r_up)) {
        if (err)
            *err = p->err;
        return p->err.status;
    }
    const double *r = p->r_up;
    for (size_t f = 0; f < p->n_firings; f++) {
        set_firing(p, f, r, x[p->k + f], &fit->firings[f]);
        fit->firings[f].residual_before = fit->firings[f].residual;
        r += p->targets[f].n;
    }
    return SM_OK;
}

static enum sm_status work(struct problem *p, const struct sm_firing *const *firings,
                           const struct sm_fit_options *options, struct sm_fit *fit, struct sm_error *err)
{
    double own[SM_N_FIT_PARAMETERS], covariance[SM_N_FIT_PARAMETERS * SM_N_FIT_PARAMETERS] = {0.0};
    struct sm_lsq_fit best = {0};
    p->targets = sm_arena_alloc(p->arena, p->n_firings, sizeof *p->targets);
    fit->firings = sm_arena_alloc(p->arena, p->n_firings, sizeof *fit->firings);
    if (!p->targets || !fit->firings)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t f = 0; f < p->n_firings; f++) {
        SM_TRY(make_target(p, firings[f], &p->targets[f], err));
        p->targets[f].same = burns_alike(p, f);
    }
    p->r_up = sm_arena_alloc(p->arena, p->n_residuals, sizeof *p->r_up);
    p->r_down = sm_arena_alloc(p->arena, p->n_residuals, sizeof *p->r_down);
    if (!p->r_up || !p->r_down)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(check_choice(p, firings, p->n_firings, err));
    SM_TRY(set_bounds(p, own, err));
    SM_TRY(residuals_before(p, own, fit, err));
    if (has_pivot(p))
        move_pivot(p, pivot_of_burns(p), own);
    SM_TRY(search(p, own, options && options->starts > 0 ? options->starts : 3, fit, &best, err));
    p->pivot = 0.0;
    if (!residuals(p, best.x, p->r_up)) { /* leaves the burns of the best point */
        if (err)
            *err = p->err;
        return p->err.status;
    }
    for (size_t j = 0; j < p->k; j++) {
        const struct sm_param *row;
        struct sm_fit_value *v = &fit->values[j];
        v->parameter = p->vary[j];
        v->value = best.x[j];
        SM_TRY(sm_motor_value(p->base, pointers[p->vary[j]], &v->before, &row, err));
        v->dim = row->dim;
    }
    SM_TRY(set_uncertainty(p, &best, fit, covariance, err));
    const double *r = p->r_up;
    for (size_t f = 0; f < p->n_firings; f++) {
        set_firing(p, f, r, best.x[p->k + f], &fit->firings[f]);
        r += p->targets[f].n;
    }
    set_rate(p, covariance, fit);
    sm_fit_advise(p->base, fit);
    fit->evaluations = p->evaluations;
    return make_motor(p, best.x, NULL, &fit->motor, err);
}

enum sm_status sm_fit_firings(const struct sm_motor *motor, const struct sm_firing *const *firings, size_t n,
                              const struct sm_fit_options *options, struct sm_fit **fit, struct sm_error *err)
{
    const unsigned vary =
        options && options->vary ? options->vary : 1u << SM_FIT_RATE | 1u << SM_FIT_EXPONENT;
    struct sm_arena arena;
    *fit = NULL;
    if (n < 1 || n > SM_MAX_MOTORS)
        return sm_fail(err, SM_E_RANGE, "1 to %d firings can be fitted, not %zu", SM_MAX_MOTORS, n);
    if (options && options->starts > 16)
        return sm_fail(err, SM_E_RANGE, "at most 16 starts, not %d", options->starts);
    if (motor->spec.is_curve)
        return sm_fail(err, SM_E_FIELD, "a motor given by its bare curve has no constants to fit");
    sm_arena_init(&arena, NULL);
    struct owned *o = sm_arena_alloc(&arena, 1, sizeof *o);
    struct problem *p = o ? sm_arena_alloc(&arena, 1, sizeof *p) : NULL;
    if (!p) {
        sm_arena_release(&arena);
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    o->arena = arena;
    p->base = motor;
    p->arena = &o->arena;
    p->n_firings = o->fit.n_firings = n;
    p->rate_at = p->exponent_at = -1;
    if (options)
        p->progress = options->progress;
    for (unsigned i = 0; i < SM_N_FIT_PARAMETERS; i++) {
        if (!(vary & 1u << i))
            continue;
        if (i == SM_FIT_RATE)
            p->rate_at = (int)p->k;
        else if (i == SM_FIT_EXPONENT)
            p->exponent_at = (int)p->k;
        p->vary[p->k++] = (enum sm_fit_parameter)i;
    }
    o->fit.n_values = p->k;
    const enum sm_status status = work(p, firings, options, &o->fit, err);
    forget_burns(p);
    o->fit.n_residuals = p->n_residuals;
    if (status == SM_OK)
        *fit = &o->fit;
    else
        sm_fit_free(&o->fit);
    return status;
}

void sm_fit_free(struct sm_fit *fit)
{
    if (!fit)
        return;
    sm_motor_free(fit->motor);
    struct sm_arena arena = ((struct owned *)fit)->arena; /* it lives in its own arena */
    sm_arena_release(&arena);
}
