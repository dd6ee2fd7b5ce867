/* The table of losses, line by line, against closed forms and published coefficients. In a vacuum with the flow choked and
 * full, specific impulse does not depend on pressure, so each line is a product of numbers that a book has. */
#include "bench_motor.h"

static const double gravity = 9.80665; /* CGPM 1901 */

/* gamma 1.20 and c* 1600 m/s; the exit 4 times the throat's diameter, 16 times its area. */
static const char gas[] =
    "{\"format\":\"slowmatch-propellant/1\",\"name\":\"gas\",\"density\":\"1700 kg/m3\","
    "\"burn_rate\":[{\"from\":\"0.1 MPa\",\"to\":\"50 MPa\",\"rate\":\"5 mm/s\",\"at\":\"5 "
    "MPa\",\"exponent\":0.3}],"
    "\"characteristic_velocity\":\"1600 m/s\",\"gamma\":1.2,\"source\":\"invented for this "
    "test\",\"standing\":"
    "\"invented\"}";

static const struct sm_loss *line_of(const struct sm_result *r, const char *name)
{
    for (size_t i = 0; i < r->n_losses; i++)
        if (strcmp(r->losses[i].name, name) == 0)
            return &r->losses[i];
    return NULL;
}

static struct sm_result *run_with(const char *place, const char *value)
{
    const struct sm_override change[] = {{"propellant", gas},
                                         {"nozzle.exit_diameter", "8 mm"},
                                         {"nozzle.half_angle", "0 deg"},
                                         {place, value}};
    struct sm_motor *motor = load_text(end_burner_text, change, SM_COUNT(change));
    struct sm_result *r = run_whole(motor);
    r->motor = NULL; /* the motor goes first here */
    sm_motor_free(motor);
    return r;
}

static double impulse_after(const struct sm_result *r, const char *name)
{
    const struct sm_loss *line = line_of(r, name);
    cr_assert_not_null(line, "no line %s", name);
    return line->specific_impulse;
}

/* CF in a vacuum at gamma 1.20 and 16 is 1.7971, and p_e/p_c 6.770e-3 [D. Davis, PROPULSION, module 3]. */
Test(losses, the_ideal_is_the_book_s)
{
    struct sm_result *r = run_with("nozzle.thrust_efficiency", "1");
    cr_expect(relative(impulse_after(r, "ideal"), 1600.0 * 1.7971 / gravity) < 3e-5);
    cr_expect(relative(impulse_after(r, "divergence"), impulse_after(r, "ideal")) < 1e-9);
    cr_expect(relative(impulse_after(r, "nozzle"), impulse_after(r, "ideal")) < 1e-9);
    /* what is left over: gas in the chamber at the end, a thousandth, less that at the start */
    cr_expect(fabs(line_of(r, "left over")->loss) < 2e-3 * impulse_after(r, "ideal"));
    cr_expect_eq(r->losses[r->n_losses - 1].specific_impulse, r->thrust.specific_impulse);
    sm_result_free(r);
}

Test(losses, each_efficiency_takes_its_share)
{
    struct sm_result *r = run_with("propellant.cstar_efficiency", "0.93");
    cr_expect(relative(impulse_after(r, "combustion"), 0.93 * impulse_after(r, "ideal")) < 1e-9);
    sm_result_free(r);
    r = run_with("nozzle.thrust_efficiency", "0.91");
    cr_expect(relative(impulse_after(r, "nozzle"), 0.91 * impulse_after(r, "divergence")) < 1e-9);
    sm_result_free(r);
    r = run_with("propellant.lag_efficiency", "0.97");
    cr_expect(relative(impulse_after(r, "particle lag"), 0.97 * impulse_after(r, "divergence")) < 1e-9);
    sm_result_free(r);
}

/* (1 + cos 15 deg)/2 = 0.9830 [K. Niemeyer, Rocket Propulsion] of the momentum, not of the pressure's part. */
Test(losses, divergence_takes_from_the_momentum_alone)
{
    struct sm_result *r = run_with("nozzle.half_angle", "15 deg");
    const double share = 1.0 - (1.0 - 0.98296) * (1.7971 - 16.0 * 6.770e-3) / 1.7971;
    cr_expect(relative(impulse_after(r, "divergence"), share * impulse_after(r, "ideal")) < 2e-5);
    sm_result_free(r);
}

/* A stream of 16/20 of the throat's area has the cone of an area ratio of 20: CF 1.8205 beside 1.7971 (isentropic tables). */
Test(losses, a_narrower_stream_expands_further)
{
    struct sm_result *r = run_with("nozzle.discharge_coefficient", "0.8");
    cr_expect(relative(impulse_after(r, "throat") / impulse_after(r, "ideal"), 1.8205 / 1.7971) < 1e-4);
    cr_expect(line_of(r, "throat")->loss < 0.0, "a gain");
    sm_result_free(r);
}

/* The nozzle's own gamma of 1.25: CF 1.7632 at 16 in a vacuum, from the isentropic relations by hand; c* stays. */
Test(losses, expansion_may_have_its_own_gamma)
{
    struct sm_result *r = run_with("nozzle.gamma", "1.25");
    const double g = 1.25;
    double low = 1.0, high = 10.0; /* Mach number at A/A* = 16 by bisection */
    for (int i = 0; i < 100; i++) {
        const double m = 0.5 * (low + high);
        const double area =
            pow(2.0 / (g + 1.0) * (1.0 + 0.5 * (g - 1.0) * m * m), (g + 1.0) / (2.0 * (g - 1.0))) / m;
        *(area < 16.0 ? &low : &high) = m;
    }
    const double p = pow(1.0 + 0.5 * (g - 1.0) * low * low, -g / (g - 1.0));
    const double cf = 16.0 * p * (1.0 + g * low * low);
    cr_expect(relative(impulse_after(r, "expansion"), 1600.0 * cf / gravity) < 1e-8);
    cr_expect(relative(impulse_after(r, "ideal"), 1600.0 * 1.7971 / gravity) < 3e-5);
    sm_result_free(r);
}

/* Fifth of the flow condensed, its heat that of the gas: gamma falls from 1.2 to 1/(0.8/1.2 + 0.2). c* is given for the
 * mixture, so the ideal is higher. */
Test(losses, particles_cost_what_gas_dynamics_says)
{
    struct sm_result *r = run_with("propellant.condensed_fraction", "0.2");
    const double mixed = 1.0 / (0.8 / 1.2 + 0.2);
    cr_expect(impulse_after(r, "ideal") > impulse_after(r, "condensed phase"));
    const double function = sqrt(mixed) * pow(2.0 / (mixed + 1.0), 0.5 * (mixed + 1.0) / (mixed - 1.0));
    const double bare = 1600.0 * function / (0.6485 * sqrt(0.8)); /* Gamma(1.20) [D. Davis, module 3] */
    cr_expect(relative(impulse_after(r, "ideal"), bare * 1.7971 / gravity) < 1e-4);
    sm_result_free(r);
}

Test(losses, at_sea_level_the_lines_end_at_what_is_delivered)
{
    static const struct sm_override change[] = {
        {"nozzle", "{\"throat_diameter\":\"2 mm\",\"exit_diameter\":\"7 mm\",\"erosion\":{\"rate\":"
                   "\"0.05 mm/s\",\"at\":\"3 MPa\"}}"},
        {"conditions.ambient_pressure", "101325 Pa"},
        {"case.heat_transfer", "200 W m-2 K-1"}};
    struct sm_motor *motor = load_text(end_burner_text, change, SM_COUNT(change));
    struct sm_result *r = run_whole(motor);
    double sum = r->losses[0].specific_impulse;
    for (size_t i = 0; i < r->n_losses; i++)
        sum -= r->losses[i].loss;
    cr_expect(relative(sum, r->thrust.specific_impulse) < 1e-12);
    cr_expect(line_of(r, "heat to the wall")->loss > 0.0);
    cr_expect(line_of(r, "combustion")->loss > 0.0);
    cr_expect(line_of(r, "separation")->loss < 0.0, "a cone too wide sucks; to leave it early is a gain");
    cr_expect_null(line_of(r, "condensed phase"));
    sm_result_free(r);
    sm_motor_free(motor);
}
