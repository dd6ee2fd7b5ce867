/* Several firings together, and beside a prediction. */
#include "base/arena.h"
#include "base/fail.h"
#include "curve/curve.h"
#include "num/stats.h"
#include "slowmatch/firing.h"
#include "slowmatch/limits.h"
#include "slowmatch/simulate.h"

#include <math.h>

enum { INSTANTS = 201 };

#define CONTENT      0.90 /* share of firings that a tolerance band holds [1] */
#define CONFIDENCE   0.95 /* [1] */
#define SIGNIFICANCE 0.05 /* of the outlier test [1] */

struct owned {
    struct sm_firing_set set; /* first, so that a pointer to it is one to the whole */
    struct sm_arena arena;
};

static void spread_of(const struct sm_firing *const *firings, size_t n, int k, struct sm_firing_spread *s)
{
    double values[SM_MAX_MOTORS], statistic, critical;
    size_t who[SM_MAX_MOTORS], place;
    *s = (struct sm_firing_spread){0, SM_ABSENT, SM_ABSENT, SM_ABSENT, -1};
    for (size_t i = 0; i < n; i++)
        if (!isnan(firings[i]->figures[k].value)) {
            who[s->n] = i;
            values[s->n++] = firings[i]->figures[k].value;
        }
    if (s->n < 2)
        return;
    s->mean = sm_stats_mean(values, s->n);
    s->deviation = sm_stats_deviation(values, s->n);
    s->variation = s->deviation / fabs(s->mean);
    if (s->n >= 3 && sm_stats_grubbs(values, s->n, SIGNIFICANCE, &place, &statistic, &critical) &&
        statistic > critical)
        s->outlier = (int)who[place];
}

/* Thrust of a firing at a time from the start of its burn, 0 outside. */
static double thrust_at(const struct sm_firing *firing, double t)
{
    if (t < firing->t[0] || t > firing->t[firing->m - 1])
        return 0.0;
    return sm_curve_at(firing->t, firing->filtered, firing->m, t);
}

static enum sm_status lay_over(const struct sm_firing *const *firings, size_t n, struct owned *o,
                               struct sm_error *err)
{
    double *columns[4], start = 0.0, end = 0.0, values[SM_MAX_MOTORS];
    for (int c = 0; c < 4; c++)
        if (!(columns[c] = sm_arena_alloc(&o->arena, INSTANTS, sizeof(double))))
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++) {
        start = fmin(start, firings[i]->t[0]);
        end = fmax(end, firings[i]->t[firings[i]->m - 1]);
    }
    o->set.factor = sm_stats_tolerance_factor(n, CONTENT, CONFIDENCE);
    for (size_t j = 0; j < INSTANTS; j++) {
        const double t = start + (end - start) * (double)j / (INSTANTS - 1);
        for (size_t i = 0; i < n; i++)
            values[i] = thrust_at(firings[i], t);
        const double mean = sm_stats_mean(values, n), off = o->set.factor * sm_stats_deviation(values, n);
        columns[0][j] = t;
        columns[1][j] = mean;
        columns[2][j] = mean - off;
        columns[3][j] = mean + off;
    }
    o->set.n_at = INSTANTS;
    o->set.at = columns[0];
    o->set.mean = columns[1];
    o->set.low = columns[2];
    o->set.high = columns[3];
    return SM_OK;
}

enum sm_status sm_firing_compare(const struct sm_firing *const *firings, size_t n, struct sm_firing_set **set,
                                 struct sm_error *err)
{
    struct sm_arena arena;
    *set = NULL;
    if (n < 2 || n > SM_MAX_MOTORS)
        return sm_fail(err, SM_E_RANGE, "2 to %d firings can be compared, not %zu", SM_MAX_MOTORS, n);
    sm_arena_init(&arena, NULL);
    struct owned *o = sm_arena_alloc(&arena, 1, sizeof *o);
    if (!o)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    o->arena = arena;
    o->set.n = n;
    for (int k = 0; k < SM_N_FIGURES; k++)
        spread_of(firings, n, k, &o->set.figures[k]);
    o->set.is_steady = o->set.figures[SM_FIGURE_TOTAL_IMPULSE].variation <= SM_SPREAD_LIMIT;
    const enum sm_status status = lay_over(firings, n, o, err);
    if (status == SM_OK)
        *set = &o->set;
    else
        sm_firing_set_free(&o->set);
    return status;
}

void sm_firing_set_free(struct sm_firing_set *set)
{
    if (!set)
        return;
    struct sm_arena arena = ((struct owned *)set)->arena; /* it lives in its own arena */
    sm_arena_release(&arena);
}

double sm_figure_predicted(const struct sm_result *r, enum sm_firing_figure figure)
{
    const double impulse = r->thrust.total_impulse;
    const double values[SM_N_FIGURES] = {
        [SM_FIGURE_TOTAL_IMPULSE] = impulse,
        [SM_FIGURE_IMPULSE_IN_BURN_TIME] = r->thrust.impulse_in_burn_time,
        [SM_FIGURE_BURN_TIME] = r->thrust.burn_time,
        [SM_FIGURE_ACTION_TIME] = r->thrust.action_time,
        [SM_FIGURE_AVERAGE] = r->thrust.average,
        [SM_FIGURE_AVERAGE_IN_BURN_TIME] = r->thrust.average_in_burn_time,
        [SM_FIGURE_MAXIMUM] = r->thrust.maximum,
        [SM_FIGURE_MAXIMUM_STEADY] = r->thrust.maximum_steady,
        [SM_FIGURE_INITIAL] = r->thrust.initial,
        [SM_FIGURE_SPECIFIC_IMPULSE] = r->thrust.specific_impulse,
        [SM_FIGURE_EXHAUST_VELOCITY] = r->thrust.exhaust_velocity,
        [SM_FIGURE_PRESSURE_MAXIMUM] = r->chamber.pressure_maximum,
        [SM_FIGURE_PRESSURE_AVERAGE] = r->chamber.pressure_average,
        [SM_FIGURE_CSTAR] = r->is_curve ? SM_ABSENT : r->chamber.cstar_delivered,
        [SM_FIGURE_THRUST_COEFFICIENT] =
            r->is_curve ? SM_ABSENT : r->thrust.exhaust_velocity / r->chamber.cstar_delivered,
    };
    return values[figure];
}

double sm_firing_residual(const struct sm_firing *firing, const struct sm_result *predicted)
{
    const struct sm_series *s = &predicted->series;
    const double end = fmax(firing->t[firing->m - 1], s->time[s->n - 1] - predicted->thrust.burn_start);
    double sum = 0.0;
    for (size_t j = 0; j < INSTANTS; j++) {
        const double t = end * (double)j / (INSTANTS - 1), there = t + predicted->thrust.burn_start;
        const double thrust = there > s->time[s->n - 1] ? 0.0 : sm_curve_at(s->time, s->thrust, s->n, there);
        const double off = thrust_at(firing, t) - thrust;
        sum += off * off;
    }
    return sqrt(sum / INSTANTS);
}
