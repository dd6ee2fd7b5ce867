#include "motor/tolerance.h"

#include <math.h>
#include <string.h>

#include "num/stats.h"

const char *const sm_tolerance_laws[] = {"normal", "uniform", "triangular", NULL};

/* ---- what is usual ---- */

/* A standard deviation as a share of the value, or where that is 0 as it stands. All are common practice, no source: what a
 * careful workshop that weighs, measures and fires a few motors of a batch may expect. */
struct usual {
    const char *of;
    double share;    /* [1] */
    double absolute; /* [unit of the value] */
    int is_batch;
};

static const struct usual of_grains[] = {
    {SM_VARY_RATES, 0.02, 0.0, 1},
    {"/propellant/density", 0.005, 0.0, 1},
    {"/propellant/cstar_efficiency", 0.01, 0.0, 1},
    {"/nozzle/throat_diameter", 0.0, 0.02e-3, 0},
    {"/nozzle/thrust_efficiency", 0.01, 0.0, 0},
    {"/conditions/grain_temperature", 0.0, 3.0, 1},
};

static const struct usual of_curves[] = {
    {"/curve/impulse_scale", 0.02, 0.0, 0},
    {"/curve/thrust_scale", 0.03, 0.0, 0},
};

static enum sm_status make_usual(const struct sm_motor *motor, const struct usual *usual,
                                 struct sm_tolerance *t, struct sm_error *err)
{
    const struct sm_param *row;
    *t = (struct sm_tolerance){.of = usual->of, .truncated = SM_ABSENT, .is_batch = usual->is_batch};
    SM_TRY(sm_motor_value(motor, t->of, &t->middle, &row, err));
    t->size = usual->share > 0.0 ? usual->share * fabs(t->middle) : usual->absolute;
    t->dim = row->dim;
    t->least = row->min;
    t->most = row->max;
    return SM_OK;
}

/* How far a value may go to either side and still be one [its unit]. */
static double room_of(const struct sm_tolerance *t)
{
    return t->least == 0.0 && t->most == 0.0 ? SM_INF : fmin(t->middle - t->least, t->most - t->middle);
}

/* More deviations than any of the most samples allowed strays by: one in two million does. */
static const double far_enough = 5.0;

/* c* strays by its efficiency; where that stands at 1 or all but, for the file tells c* as delivered, by what the file tells. */
static const struct usual *by_what_is_told(const struct sm_motor *motor, const struct usual *usual)
{
    static const struct usual told = {"/propellant/characteristic_velocity", 0.01, 0.0, 1},
                              flame = {"/propellant/flame_temperature", 0.02, 0.0, 1}; /* c* as its root */
    struct sm_tolerance t;
    if (strcmp(usual->of, "/propellant/cstar_efficiency") != 0 ||
        make_usual(motor, usual, &t, NULL) != SM_OK || room_of(&t) >= far_enough * t.size)
        return usual;
    return isnan(motor->spec.propellant.characteristic_velocity) ? &flame : &told;
}

/* Is it, or a part of it, among those that are told? */
static int is_told(const struct sm_tolerances *out, size_t n, const char *of)
{
    const size_t length = strlen(of);
    for (size_t i = 0; i < n; i++)
        if (strncmp(out->items[i].of, of, length) == 0 &&
            (out->items[i].of[length] == '\0' || out->items[i].of[length] == '/'))
            return 1;
    return 0;
}

/* A motor that the usual law itself makes impossible says nothing of the design: the law is cut at the value's bounds, and a
 * value that stands at one does not stray. */
static enum sm_status take_usual(const struct sm_motor *motor, const struct usual *usual, size_t n,
                                 struct sm_tolerances *out, struct sm_error *err)
{
    const size_t n_told = out->n;
    out->is_usual = 1;
    for (size_t i = 0; i < n && out->n < SM_MAX_TOLERANCES; i++) {
        struct sm_tolerance t;
        if (is_told(out, n_told, usual[i].of))
            continue;
        SM_TRY(make_usual(motor, by_what_is_told(motor, &usual[i]), &t, err));
        const double room = room_of(&t);
        if (room < far_enough * t.size)
            t.truncated = room;
        if (room > 1e-3 * t.size) /* else nothing is left of it */
            out->items[out->n++] = t;
    }
    return SM_OK;
}

/* ---- lists ---- */

static int is_named(const struct sm_tolerances *out, const char *of)
{
    for (size_t i = 0; i < out->n; i++)
        if (strcmp(out->items[i].of, of) == 0)
            return 1;
    return 0;
}

static enum sm_status take_list(const struct sm_list *list, struct sm_tolerances *out, struct sm_error *err)
{
    const struct sm_tolerance *items = list->items;
    for (size_t i = 0; i < list->n; i++) {
        if (is_named(out, items[i].of))
            continue;
        if (out->n >= SM_MAX_TOLERANCES)
            return sm_at(err,
                         sm_fail(err, SM_E_RANGE, "more than %d tolerances in all", (int)SM_MAX_TOLERANCES),
                         "/tolerances");
        out->items[out->n++] = items[i];
    }
    return SM_OK;
}

enum sm_status sm_tolerances_of(const struct sm_motor *motor, struct sm_tolerances *out, struct sm_error *err)
{
    const struct sm_motor_spec *spec = &motor->spec;
    out->n = 0;
    out->is_usual = 0;
    SM_TRY(take_list(&spec->tolerances, out, err));
    SM_TRY(take_list(spec->is_curve ? &spec->bare.tolerances : &spec->propellant.tolerances, out, err));
    for (size_t i = 0; i < out->n; i++) {
        const struct sm_param *row; /* a motor under change has other values than its file */
        SM_TRY(sm_motor_value(motor, out->items[i].of, &out->items[i].middle, &row, err));
    }
    /* What a propellant's file tells is how far that strays, not the rest of the motor. */
    if (spec->tolerances.n > 0 || (spec->is_curve && out->n > 0))
        return SM_OK;
    return spec->is_curve ? take_usual(motor, of_curves, SM_COUNT(of_curves), out, err)
                          : take_usual(motor, of_grains, SM_COUNT(of_grains), out, err);
}

/* ---- the laws ---- */

/* Of a standard normal cut at +-c: 1 - 2 c phi(c) / (2 Phi(c) - 1).
 * Reference: N. Johnson, S. Kotz, N. Balakrishnan, Continuous Univariate Distributions 1, 1994, sec. 13.10.1 (from memory). */
static double cut_variance(double c)
{
    const double density = exp(-0.5 * c * c) / sqrt(2.0 * 3.14159265358979323846);
    return 1.0 - 2.0 * c * density / (2.0 * sm_stats_normal_below(c) - 1.0);
}

double sm_tolerance_sigma(const struct sm_tolerance *t)
{
    if (t->law == SM_LAW_UNIFORM)
        return t->size / sqrt(3.0);
    if (t->law == SM_LAW_TRIANGULAR)
        return t->size / sqrt(6.0);
    return isnan(t->truncated) ? t->size : t->size * sqrt(cut_variance(t->truncated / t->size));
}

double sm_tolerance_quantile(const struct sm_tolerance *t, double u)
{
    if (t->law == SM_LAW_UNIFORM)
        return t->middle + t->size * (2.0 * u - 1.0);
    if (t->law == SM_LAW_TRIANGULAR)
        return t->middle + t->size * (u < 0.5 ? sqrt(2.0 * u) - 1.0 : 1.0 - sqrt(2.0 * (1.0 - u)));
    const double tail = isnan(t->truncated) ? 0.0 : sm_stats_normal_below(-t->truncated / t->size);
    return t->middle + t->size * sm_stats_normal_quantile(tail + u * (1.0 - 2.0 * tail));
}
