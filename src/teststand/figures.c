/*
 * The numbers of a firing by the code that reads them off any curve, and how uncertain they are.
 *
 * What all rows share (gain, level, the clock's rate, propellant mass, throat, the pressure's gain) is carried through by
 * differences; noise, which rows have each for itself, by what it does to an integral, a crossing and a maximum.
 * Reference: JCGM 100:2008, sec. 5.1 and 5.2.
 */
#include "base/text.h"
#include "curve/curve.h"
#include "curve/impulse.h"
#include "num/propagate.h"
#include "num/stats.h"
#include "teststand/record.h"

#include <math.h>
#include <string.h>

#define STANDARD_GRAVITY 9.80665 /* CGPM 1901 [m/s2] */

static const struct sm_figure_info infos[SM_N_FIGURES] = {
    [SM_FIGURE_TOTAL_IMPULSE] = {"total_impulse", "total impulse", SM_DIM_IMPULSE, false},
    [SM_FIGURE_IMPULSE_IN_BURN_TIME] = {"impulse_in_burn_time", "in the burn time", SM_DIM_IMPULSE, false},
    [SM_FIGURE_BURN_TIME] = {"burn_time", "burn time", SM_DIM_TIME, false},
    [SM_FIGURE_ACTION_TIME] = {"action_time", "action time", SM_DIM_TIME, false},
    [SM_FIGURE_AVERAGE] = {"average", "average", SM_DIM_FORCE, false},
    [SM_FIGURE_AVERAGE_IN_BURN_TIME] = {"average_in_burn_time", "in the burn time", SM_DIM_FORCE, false},
    [SM_FIGURE_MAXIMUM] = {"maximum", "maximum", SM_DIM_FORCE, false},
    [SM_FIGURE_MAXIMUM_STEADY] = {"maximum_steady", "without a spike", SM_DIM_FORCE, false},
    [SM_FIGURE_INITIAL] = {"initial", "initial", SM_DIM_FORCE, false},
    [SM_FIGURE_SPECIFIC_IMPULSE] = {"specific_impulse", "specific impulse", SM_DIM_TIME, false},
    [SM_FIGURE_EXHAUST_VELOCITY] = {"exhaust_velocity", "exhaust velocity", SM_DIM_SPEED, true},
    [SM_FIGURE_PRESSURE_MAXIMUM] = {"pressure_maximum", "pressure, maximum", SM_DIM_PRESSURE, false},
    [SM_FIGURE_PRESSURE_AVERAGE] = {"pressure_average", "pressure, average", SM_DIM_PRESSURE, false},
    [SM_FIGURE_CSTAR] = {"cstar_delivered", "c*, delivered", SM_DIM_SPEED, true},
    [SM_FIGURE_THRUST_COEFFICIENT] = {"thrust_coefficient", "thrust coefficient", SM_DIM_NONE, false},
};

const struct sm_figure_info *sm_figure_describe(enum sm_firing_figure figure)
{
    return &infos[figure];
}

enum { GAIN, LEVEL, CLOCK, MASS, THROAT, PRESSURE_GAIN, N_INPUTS };

struct model {
    const struct sm_firing *firing;
    const struct sm_stand *stand;
    struct sm_curve_rule rule;
    double *t, *f, *p; /* m of each [s], [N], [Pa] */
    struct sm_curve_numbers numbers;
};

/* Mean of the throat's area before and after [m2]. */
static double throat_area(const struct sm_stand *stand, double more)
{
    const double before = stand->throat_diameter + more;
    const double after = isnan(stand->throat_diameter_after) ? before : stand->throat_diameter_after + more;
    return 3.14159265358979323846 / 8.0 * (before * before + after * after);
}

static enum sm_status eval(void *user, const double *in, double *out, struct sm_error *err)
{
    struct model *md = user;
    const struct sm_firing *firing = md->firing;
    const double ambient = md->stand->ambient_pressure;
    for (size_t i = 0; i < firing->m; i++) {
        md->t[i] = firing->t[i] * in[CLOCK];
        md->f[i] = (firing->thrust[i] - in[LEVEL]) * in[GAIN];
        if (firing->p)
            md->p[i] = ambient + (firing->p[i] - ambient) * in[PRESSURE_GAIN];
    }
    const struct sm_curve curve = {md->t, md->f, firing->p ? md->p : NULL, firing->m};
    struct sm_curve_numbers *n = &md->numbers;
    SM_TRY(sm_curve_numbers(&curve, &md->rule, n, err));
    const double area = throat_area(md->stand, in[THROAT]);
    const double pressure =
        firing->p ? sm_curve_integral(md->t, md->p, firing->m, md->t[0], md->t[firing->m - 1]) : SM_ABSENT;
    /* At rest the gauge shows the ambient pressure, and nothing flows. */
    const double over =
        firing->p ? pressure - ambient * (md->t[firing->m - 1] - md->t[0] - n->burn_time) : SM_ABSENT;
    const double values[SM_N_FIGURES] = {
        [SM_FIGURE_TOTAL_IMPULSE] = n->total_impulse,
        [SM_FIGURE_IMPULSE_IN_BURN_TIME] = n->impulse_in_burn_time,
        [SM_FIGURE_BURN_TIME] = n->burn_time,
        [SM_FIGURE_ACTION_TIME] = n->action_time,
        [SM_FIGURE_AVERAGE] = n->average,
        [SM_FIGURE_AVERAGE_IN_BURN_TIME] = n->average_in_burn_time,
        [SM_FIGURE_MAXIMUM] = n->maximum,
        [SM_FIGURE_MAXIMUM_STEADY] = n->maximum_steady,
        [SM_FIGURE_INITIAL] = n->initial,
        [SM_FIGURE_SPECIFIC_IMPULSE] = n->total_impulse / (in[MASS] * STANDARD_GRAVITY),
        [SM_FIGURE_EXHAUST_VELOCITY] = n->total_impulse / in[MASS],
        [SM_FIGURE_PRESSURE_MAXIMUM] = n->pressure_maximum,
        [SM_FIGURE_PRESSURE_AVERAGE] = n->pressure_average,
        [SM_FIGURE_CSTAR] = over * area / in[MASS],
        [SM_FIGURE_THRUST_COEFFICIENT] = n->total_impulse / (over * area),
    };
    memcpy(out, values, sizeof values);
    return SM_OK;
}

/* Standard deviation of a crossing's time: noise over the slope there, and the rows' own spacing as an even spread. */
static double crossing_uncertainty(const struct sm_firing *firing, double at)
{
    size_t i = 0;
    while (i + 2 < firing->m && firing->t[i + 1] < at)
        i++;
    const double wide = firing->t[i + 1] - firing->t[i];
    const double rise = fabs(firing->thrust[i + 1] - firing->thrust[i]);
    const double by_noise = rise > 0.0 ? fmin(firing->noise * wide / rise, 10.0 * wide) : wide;
    return sqrt(by_noise * by_noise + wide * wide / 12.0);
}

/* Adds what noise does, row by row. */
static void add_noise(struct sm_firing *firing, const struct sm_curve_numbers *n, double *u)
{
    const double edges =
        hypot(crossing_uncertainty(firing, n->burn_start), crossing_uncertainty(firing, n->burn_end));
    const double integral = firing->noise * sqrt(firing->correlation * firing->interval *
                                                 fmax(firing->t[firing->m - 1] - n->burn_start, 0.0));
    const double impulse = n->total_impulse;
    double noise[SM_N_FIGURES] = {0.0};
    noise[SM_FIGURE_TOTAL_IMPULSE] = noise[SM_FIGURE_IMPULSE_IN_BURN_TIME] = integral;
    noise[SM_FIGURE_BURN_TIME] = edges;
    noise[SM_FIGURE_AVERAGE] = noise[SM_FIGURE_AVERAGE_IN_BURN_TIME] =
        n->average * hypot(integral / impulse, edges / n->burn_time);
    noise[SM_FIGURE_MAXIMUM] = noise[SM_FIGURE_MAXIMUM_STEADY] = noise[SM_FIGURE_INITIAL] = firing->noise;
    noise[SM_FIGURE_ACTION_TIME] = edges;
    for (int k = SM_FIGURE_SPECIFIC_IMPULSE; k < SM_N_FIGURES; k++)
        if (k != SM_FIGURE_PRESSURE_MAXIMUM && k != SM_FIGURE_PRESSURE_AVERAGE && k != SM_FIGURE_CSTAR)
            noise[k] = firing->figures[k].value * integral / impulse;
    for (int k = 0; k < SM_N_FIGURES; k++)
        u[k] = hypot(u[k], noise[k]);
}

static void set_class(struct sm_firing *firing)
{
    const struct sm_figure *impulse = &firing->figures[SM_FIGURE_TOTAL_IMPULSE];
    struct sm_impulse_class *c = &firing->impulse_class;
    sm_impulse_class_of(impulse->value, c);
    sm_impulse_designation(c, firing->figures[SM_FIGURE_AVERAGE].value, SM_ABSENT, firing->designation,
                           sizeof firing->designation);
    firing->chance_above = 1.0 - sm_stats_normal_below((c->to - impulse->value) / impulse->uncertainty);
    firing->chance_below = sm_stats_normal_below((c->above - impulse->value) / impulse->uncertainty);
}

/* Peak and burn time of the filtered curve, and time from the start of the burn. */
static enum sm_status finish(struct sm_firing *firing, struct model *md, struct sm_error *err)
{
    const struct sm_curve filtered = {firing->t, firing->filtered, NULL, firing->m};
    struct sm_curve_numbers n;
    SM_TRY(sm_curve_numbers(&filtered, &md->rule, &n, err));
    firing->maximum_filtered = n.maximum;
    firing->burn_time_filtered = n.burn_time;
    return SM_OK;
}

static void shift_time(struct sm_firing *firing, double *t)
{
    for (size_t i = 0; i < firing->m; i++)
        t[i] = firing->t[i] - firing->burn.from;
    firing->t = t;
}

enum sm_status sm_firing_figures(struct sm_firing *firing, const struct sm_stand *stand,
                                 enum sm_burn_end burn_end, double tare_uncertainty, struct sm_arena *arena,
                                 struct sm_error *err)
{
    struct model md = {firing,
                       stand,
                       {.burn_end = burn_end, .noise = firing->noise, .ambient = stand->ambient_pressure},
                       sm_arena_alloc(arena, firing->m, sizeof(double)),
                       sm_arena_alloc(arena, firing->m, sizeof(double)),
                       sm_arena_alloc(arena, firing->m, sizeof(double)),
                       {.total_impulse = 0.0}};
    if (!md.t || !md.f || !md.p)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    const double inputs[N_INPUTS] = {1.0, 0.0, 1.0, stand->propellant_mass, 0.0, 1.0};
    const double u[N_INPUTS] = {stand->thrust.gain_uncertainty, tare_uncertainty,
                                stand->time_uncertainty,        stand->propellant_mass_uncertainty,
                                stand->throat_uncertainty,      stand->pressure.gain_uncertainty};
    double covariance[N_INPUTS * N_INPUTS] = {0.0}, out[SM_N_FIGURES], spread[SM_N_FIGURES];
    double *of_outputs = sm_arena_alloc(arena, SM_N_FIGURES * SM_N_FIGURES, sizeof(double));
    double *slopes = sm_arena_alloc(arena, SM_N_FIGURES * N_INPUTS, sizeof(double));
    if (!of_outputs || !slopes)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (int i = 0; i < N_INPUTS; i++)
        covariance[i * N_INPUTS + i] = u[i] * u[i];
    const struct sm_propagation p = {N_INPUTS, SM_N_FIGURES, inputs, covariance, &md, eval};
    SM_TRY(sm_propagate(&p, arena, out, of_outputs, slopes, err));
    SM_TRY(eval(&md, inputs, out, err)); /* leaves the numbers of the record as it is */
    for (int k = 0; k < SM_N_FIGURES; k++) {
        firing->figures[k].value = out[k];
        spread[k] = sqrt(fmax(of_outputs[k * SM_N_FIGURES + k], 0.0));
    }
    firing->burn = (struct sm_span){md.numbers.burn_start, md.numbers.burn_end};
    firing->total = (struct sm_span){md.numbers.burn_start, firing->t[firing->m - 1]};
    add_noise(firing, &md.numbers, spread);
    for (int k = 0; k < SM_N_FIGURES; k++)
        firing->figures[k].uncertainty = isnan(out[k]) ? SM_ABSENT : spread[k];
    set_class(firing);
    SM_TRY(finish(firing, &md, err));
    shift_time(firing, md.t);
    return SM_OK;
}
