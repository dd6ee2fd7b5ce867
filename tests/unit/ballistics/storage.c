/*
 * What the transient march adds to the quasi-steady one, to the number. With a chamber that stores gas, pressure lags its
 * rest by tau / (1 - n) times the rate at which that moves, tau = V / (c* A_t Gamma^2) (D. Davis, PROPULSION: A Rocket
 * Propulsion Engineering Course, module 20, key: relaxation of the pressure); and the gas in the chamber at the end leaves
 * after the propellant is gone.
 */
#include "bench_motor.h"

static const double pi = 3.14159265358979323846;

/* The course's worked example 21.1, a cylinder of 1126 kg; in a vacuum, lit at its resting pressure. */
static const char cylinder_text[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"cylinder\",\"propellant\":\"generic-p-1770\","
    "\"case\":{\"bore\":\"0.6 m\",\"length\":\"3 m\"},"
    "\"grains\":[{\"shape\":\"tube\",\"outer_diameter\":\"0.6 m\",\"bore_diameter\":\"0.3 m\",\"length\":\"3 "
    "m\","
    "\"burning\":[\"bore\"]}],"
    "\"nozzle\":{\"throat_diameter\":\"0.133 m\",\"exit_diameter\":\"0.3 m\"},"
    "\"ignition\":{\"pressure\":\"5 MPa\",\"spread_time\":\"0 s\"},\"conditions\":{\"ambient_pressure\":\"0 "
    "Pa\"}}";

Test(storage, pressure_lags_its_rest_by_the_relaxation_time)
{
    struct sm_motor *motor = load_text(cylinder_text, NULL, 0);
    struct sm_result *lagging = run_motor(motor, SM_MODEL_TRANSIENT, 1e-7);
    struct sm_result *resting = run_motor(motor, SM_MODEL_EQUILIBRIUM, 1e-7);
    const struct sm_series *a = &lagging->series, *b = &resting->series;
    const double throat = 0.25 * pi * 0.133 * 0.133, n = 0.35, bore = 0.15, length = 3.0;
    const double g = sm_gas_vandenkerckhove(motor->gas.gamma);
    for (double w = 0.03; w < 0.14; w += 0.02) {
        const double volume = motor->free_volume + pi * length * ((bore + w) * (bore + w) - bore * bore);
        const double tau = volume / (1580.0 * throat * g * g);
        const double here = sm_curve_at(b->web, b->pressure, b->n, w);
        const double lag = 1.0 - sm_curve_at(a->web, a->pressure, a->n, w) / here;
        /* d ln P/dt = r d ln P/dw, by a difference over 2 mm */
        const double rise = log(sm_curve_at(b->web, b->pressure, b->n, w + 1e-3) /
                                sm_curve_at(b->web, b->pressure, b->n, w - 1e-3)) /
                            2e-3;
        const double rate = 5.0e-3 * pow(1e-6 * here, n);
        const double expected = tau / (1.0 - n) * rate * rise;
        /* First order in the lag, which is up to 1 %; the gas that stays, another per cent, is left out. */
        cr_expect(fabs(lag - expected) < 0.05 * expected, "at %g m: lags by %g, expected %g", w, lag,
                  expected);
        cr_expect(expected > 1e-3 && expected < 1e-2);
    }
    sm_result_free(lagging);
    sm_result_free(resting);
    sm_motor_free(motor);
}

Test(storage, the_integral_of_pressure_is_mass_times_cstar_over_the_throat)
{
    /* 128.0596 MPa s for the course's cylinder (from its inputs, 1126 kg x 1580 m/s / 0.0138929 m2), here with the gas it was
     * lit with and without that which is left when thrust is a thousandth of its peak. */
    struct sm_motor *motor = load_text(cylinder_text, NULL, 0);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
    const struct sm_series *s = &r->series;
    const double gas = (s->pressure[0] * motor->free_volume - s->pressure[s->n - 1] * motor->case_volume) /
                       (motor->gas.rt * motor->propellant_mass);
    const double integral = sm_curve_integral(s->time, s->pressure, s->n, 0.0, s->time[s->n - 1]);
    cr_expect(relative(integral, 128.0596e6 * (1.0 + gas)) < 1e-5, "%.9g", integral);
    cr_expect(gas > 1e-4 && gas < 1e-2, "a share of %g", gas);
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(storage, thrust_in_a_vacuum_is_more_by_ambient_pressure_on_the_exit)
{
    /* Whatever share of the stream's thrust is delivered, here 0.9 of it: the pressure outside acts on the exit in full. */
    static const struct sm_override sea[] = {{"conditions.ambient_pressure", "101325 Pa"},
                                             {"nozzle.thrust_efficiency", "0.9"},
                                             {"nozzle.exit_diameter", "20 mm"}};
    static const struct sm_override none[] = {{"nozzle.thrust_efficiency", "0.9"},
                                              {"nozzle.exit_diameter", "20 mm"}};
    struct sm_motor *low = load_text(tubes_text, sea, SM_COUNT(sea));
    struct sm_motor *high = load_text(tubes_text, none, SM_COUNT(none));
    struct sm_result *at_sea = run_motor(low, SM_MODEL_TRANSIENT, 1e-6);
    struct sm_result *in_vacuum = run_motor(high, SM_MODEL_TRANSIENT, 1e-6);
    const double slope = in_vacuum->series.thrust[0] / in_vacuum->series.pressure[0];
    const double push = 101325.0 * 0.25 * pi * 20e-3 * 20e-3;
    size_t attached = 0;
    for (size_t i = 0; i < at_sea->series.n; i++) {
        const double p = at_sea->series.pressure[i];
        if (p < 2e6) /* this cone flows full from 1.3 MPa on */
            continue;
        cr_expect(relative(slope * p - at_sea->series.thrust[i], push) < 1e-9, "at %g Pa", p);
        attached++;
    }
    cr_expect(attached > 100, "%zu rows", attached);
    sm_result_free(at_sea);
    sm_result_free(in_vacuum);
    sm_motor_free(low);
    sm_motor_free(high);
}

/* The run ends where thrust has fallen to a thousandth of its peak, wherever the peak is. */
static void ends_at_a_thousandth(const struct sm_override *overrides, size_t n)
{
    struct sm_motor *motor = load_text(tubes_text, overrides, n);
    double first = 0.0;
    for (double a = 1e-3; a > 1e-7; a *= 0.1) {
        struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, a);
        const double last = r->series.thrust[r->series.n - 1];
        /* The peak is that at the ends of steps: it may be missed by the error allowed in one. */
        cr_expect(relative(last, 1e-3 * r->thrust.maximum) < fmax(a, 1e-9), "%g N of %g N at accuracy %g",
                  last, r->thrust.maximum, a);
        if (first > 0.0)
            cr_expect(relative(r->thrust.total_impulse, first) < 10.0 * a, "impulse moves by %g at %g",
                      relative(r->thrust.total_impulse, first), a);
        first = r->thrust.total_impulse;
        sm_result_free(r);
    }
    sm_motor_free(motor);
}

Test(storage, a_run_ends_at_a_thousandth_of_its_peak)
{
    static const struct sm_override rising[] = {
        {"grains", "[{\"shape\":\"tube\",\"outer_diameter\":\"36 mm\",\"bore_diameter\":\"10 mm\","
                   "\"length\":\"200 mm\",\"burning\":[\"bore\"]}]"},
        {"conditions.ambient_pressure", "101325 Pa"}};
    static const struct sm_override spike[] = {{"ignition.pressure", "20 MPa"}};
    /* Two grains of very different webs: the thick one goes on under a thousandth of the peak for long after half of the
     * propellant is gone. */
    static const struct sm_override sliver[] = {
        {"grains", "[{\"shape\":\"tube\",\"outer_diameter\":\"36 mm\",\"bore_diameter\":\"30 mm\","
                   "\"length\":\"150 mm\"},{\"shape\":\"end-burner\",\"outer_diameter\":\"12 mm\","
                   "\"length\":\"40 mm\"}]"},
        {"nozzle.throat_diameter", "14 mm"}};
    ends_at_a_thousandth(rising, SM_COUNT(rising));
    ends_at_a_thousandth(spike, SM_COUNT(spike));
    ends_at_a_thousandth(sliver, SM_COUNT(sliver));
}
