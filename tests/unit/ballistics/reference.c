/*
 * The march against GSL's Runge-Kutta-Prince-Dormand integrator of order 8 on the same chamber equations, written again
 * here without the library's own terms: areas and volumes of the grains in closed form, choked flow into a vacuum.
 */
#include "bench_motor.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

static const double pi = 3.14159265358979323846;

/* One chamber, in plain numbers. */
struct chamber {
    int n_grains;               /* tubes with bore and both ends burning, or one end burner if bore is 0 */
    double outer, bore, length; /* radii and length of a grain [m] */
    double density, at, exponent, rate; /* [kg/m3], [Pa], [1], [m/s] */
    double throat, cstar, rt, free;     /* [m2], [m/s], [J/kg], free volume before burning [m3] */
    double spread, thrust_slope;        /* [s], thrust over pressure in a vacuum [m2] */
    double back;                        /* thrust that the ambient pressure takes off [N] */
    int lit_all, burned_out;
};

static double area_of(const struct chamber *c, double w)
{
    if (!(c->bore > 0.0))
        return pi * c->outer * c->outer;
    const double r = c->bore + w, l = c->length - 2.0 * w;
    return c->n_grains * (2.0 * pi * r * l + 2.0 * pi * (c->outer * c->outer - r * r));
}

static double volume_of(const struct chamber *c, double w)
{
    if (!(c->bore > 0.0))
        return pi * c->outer * c->outer * (c->length - w);
    const double r = c->bore + w;
    return c->n_grains * pi * (c->outer * c->outer - r * r) * (c->length - 2.0 * w);
}

static double web_of(const struct chamber *c)
{
    return c->bore > 0.0 ? c->outer - c->bore : c->length;
}

/* y = pressure, distance burned, impulse. */
static int slope(double t, const double y[], double dy[], void *user)
{
    const struct chamber *c = user;
    const double w = c->burned_out ? web_of(c) : y[1];
    const double lit = c->burned_out ? 0.0 : c->lit_all ? 1.0 : t / c->spread;
    const double rate = c->rate * pow(y[0] / c->at, c->exponent);
    const double volume = c->free + volume_of(c, 0.0) - volume_of(c, w);
    const double made = lit * (c->density - y[0] / c->rt) * area_of(c, w) * rate;
    dy[0] = c->rt / volume * (made - y[0] * c->throat / c->cstar);
    dy[1] = lit * rate;
    dy[2] = c->thrust_slope * y[0] - c->back;
    return GSL_SUCCESS;
}

struct driver {
    gsl_odeiv2_step *step;
    gsl_odeiv2_control *control;
    gsl_odeiv2_evolve *evolve;
    gsl_odeiv2_system system;
    double t, h, y[3], peak; /* [s], [s], as in slope, [Pa] */
};

static void advance(struct driver *d, double end)
{
    while (d->t < end) {
        cr_assert(gsl_odeiv2_evolve_apply(d->evolve, d->control, d->step, &d->system, &d->t, end, &d->h,
                                          d->y) == GSL_SUCCESS);
        d->peak = fmax(d->peak, d->y[0]);
    }
}

/* Marches until the web is burned, when the impulse is *burned [N s], then blows down to where the library stops: a thousandth of the peak thrust. */
static void integrate(struct chamber *c, double start_pressure, double *burned, double *impulse, double *peak)
{
    struct driver d = {.step = gsl_odeiv2_step_alloc(gsl_odeiv2_step_rk8pd, 3),
                       .control = gsl_odeiv2_control_y_new(1e-14, 1e-12),
                       .evolve = gsl_odeiv2_evolve_alloc(3),
                       .system = {slope, NULL, 3, c},
                       .h = 1e-6,
                       .y = {start_pressure, 0.0, 0.0},
                       .peak = start_pressure};
    advance(&d, c->spread);
    c->lit_all = 1;
    /* Near the web each step is bounded by what the present rate needs, and Newton's last one lands on it. */
    const double web = web_of(c);
    for (int i = 0; i < 2000000 && web - d.y[1] > 1e-13 * web; i++) {
        double dy[3];
        slope(d.t, d.y, dy, c);
        const double left = (web - d.y[1]) / dy[1];
        advance(&d, d.t + fmin(left, fmax(0.5 * left, 1e-4)));
    }
    /* A tail from P with time constant tau in closed form: P falls as exp(-t / tau) in a vacuum. */
    const double tau = (c->free + volume_of(c, 0.0)) * c->cstar / (c->throat * c->rt);
    const double end = 1e-3 * d.peak;
    *burned = d.y[2];
    *impulse = d.y[2] + c->thrust_slope * tau * (d.y[0] - end);
    *peak = d.peak;
    gsl_odeiv2_evolve_free(d.evolve);
    gsl_odeiv2_control_free(d.control);
    gsl_odeiv2_step_free(d.step);
}

/* The motor's numbers; the thrust of a unit of pressure is left to the caller. */
static struct chamber chamber_of(const struct sm_motor *motor)
{
    const struct sm_motor_spec *spec = &motor->spec;
    const struct sm_burn_segment *law = spec->propellant.burn_rate.items;
    cr_assert(spec->propellant.burn_rate.n == 1);
    cr_assert(spec->conditions.grain_temperature == spec->propellant.reference_temperature);
    /* Bore of the library's own grain, from its volume: V = pi (R^2 - r^2) L. */
    const double outer = 0.5 * spec->grains[0].common.outer_diameter, length = spec->grains[0].common.length;
    const double section = motor->geometry[0].port_area / pi;
    return (struct chamber){
        .n_grains = spec->grains[0].count,
        .outer = outer,
        .bore = sqrt(section),
        .length = length,
        .density = spec->propellant.density,
        .at = law[0].at,
        .exponent = law[0].exponent,
        .rate = law[0].rate, /* the grain is at the reference temperature */
        .throat = 0.25 * pi * spec->nozzle.throat_diameter * spec->nozzle.throat_diameter,
        .cstar = motor->gas.cstar,
        .rt = motor->gas.rt,
        .free = motor->free_volume,
        .spread = spec->ignition.spread_time,
    };
}

static void compare(const char *text, const struct sm_override *overrides, size_t n)
{
    struct sm_motor *motor = load_text(text, overrides, n);
    struct sm_result *result = run_motor(motor, SM_MODEL_TRANSIENT, 1e-7);
    struct chamber c = chamber_of(motor);
    c.thrust_slope = result->series.thrust[0] / result->series.pressure[0];
    double burned, impulse, peak;
    integrate(&c, motor->spec.ignition.pressure, &burned, &impulse, &peak);
    cr_expect(relative(result->thrust.total_impulse, impulse) < 1e-6, "impulse %.12g against GSL's %.12g",
              result->thrust.total_impulse, impulse);
    cr_expect(relative(result->chamber.pressure_maximum, peak) < 1e-6, "peak %.12g against GSL's %.12g",
              result->chamber.pressure_maximum, peak);
    sm_result_free(result);
    sm_motor_free(motor);
}

Test(reference, end_burner_agrees_with_gsl)
{
    compare(end_burner_text, NULL, 0);
}

Test(reference, tubes_agree_with_gsl)
{
    compare(tubes_text, NULL, 0);
}

Test(reference, a_sugar_propellant_agrees_with_gsl)
{
    static const struct sm_override sugar[] = {{"propellant", "knsu"}, {"nozzle.throat_diameter", "12 mm"}};
    compare(tubes_text, sugar, SM_COUNT(sugar));
}

Test(reference, at_sea_level_tubes_agree_with_gsl_until_they_are_burned)
{
    /* A short cone stays attached and choked while propellant burns, so thrust is that in a vacuum less the ambient pressure
     * on the exit (any text; the thrust efficiency takes its share of the gas's thrust alone). The tail, where that ends, is
     * left out. */
    static const struct sm_override sea[] = {{"nozzle.exit_diameter", "14 mm"},
                                             {"conditions.ambient_pressure", "101325 Pa"}};
    struct sm_motor *motor = load_text(tubes_text, sea, SM_COUNT(sea));
    struct sm_result *result = run_motor(motor, SM_MODEL_TRANSIENT, 1e-7);
    const struct sm_series *s = &result->series;
    struct chamber c = chamber_of(motor);
    c.back = 101325.0 * 0.25 * pi * 14e-3 * 14e-3;
    c.thrust_slope = (s->thrust[0] + c.back) / s->pressure[0];
    double burned, impulse, peak, sum = 0.0;
    integrate(&c, motor->spec.ignition.pressure, &burned, &impulse, &peak);
    for (size_t i = 1; i < s->n && s->web[i - 1] < motor->stack.web * (1.0 - 1e-12); i++)
        sum += 0.5 * (s->thrust[i] + s->thrust[i - 1]) * (s->time[i] - s->time[i - 1]);
    cr_expect(relative(sum, burned) < 1e-6, "impulse %.12g against GSL's %.12g", sum, burned);
    cr_expect(relative(result->chamber.pressure_maximum, peak) < 1e-6, "peak %.12g against GSL's %.12g",
              result->chamber.pressure_maximum, peak);
    sm_result_free(result);
    sm_motor_free(motor);
}
