/* One-sigma against closed forms of an end burner, whose burning area does not change: pressure goes as
 * (K a rho c*)^(1/(1-n)), so a share of the rate or of the throat's area comes out 1/(1-n) times in pressure; impulse goes as
 * mass. Sutton and Biblarz, Rocket Propulsion Elements, ch. 12, equilibrium pressure. */
#include <math.h>

#include "ballistics/onesigma.h"
#include "motor/tolerance.h"
#include "num/stats.h"
#include "unit/ballistics/bench_motor.h"

#define MOTOR(extra)                                                                                         \
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"end\",\"propellant\":\"demo-slow-composite\","             \
    "\"case\":{\"bore\":\"30 mm\",\"length\":\"120 mm\"},"                                                   \
    "\"grains\":[{\"shape\":\"end-burner\",\"outer_diameter\":\"29 mm\",\"length\":\"88 mm\"}],"             \
    "\"nozzle\":{\"throat_diameter\":\"2 mm\",\"exit_diameter\":\"4 mm\"},\"tolerances\":[" extra "]}"

static struct sm_result *burn(const char *text, struct sm_motor **motor)
{
    struct sm_result *result = NULL;
    struct sm_error err = {0};
    *motor = load_text(text, NULL, 0);
    cr_assert_eq(sm_simulate(*motor, NULL, NULL, &result, &err), SM_OK, "%s", err.message);
    return result;
}

static void expect_share(double sigma, double value, double share, double rel, const char *what)
{
    cr_expect(fabs(sigma / value / share - 1.0) < rel, "%s: %.5g instead of %.5g", what, sigma / value,
              share);
}

/* The tolerances allow for the run's accuracy of 1e-4 over a step of a hundredth, and for the curvature of the power. */
static const double run_error = 0.02;

Test(onesigma, of_pressure_is_that_of_the_rate_over_one_less_n)
{
    struct sm_motor *motor;
    struct sm_result *r = burn(MOTOR("{\"of\":\"/propellant/burn_rate\",\"normal\":\"1 %\"}"), &motor);
    const struct sm_burn_segment *law = motor->spec.propellant.burn_rate.items;
    const struct sm_figures *s = &r->one_sigma.figures;
    const double gain = 1.0 / (1.0 - law[0].exponent);
    expect_share(s->pressure_average, r->chamber.pressure_average, 0.01 * gain, run_error, "pressure");
    expect_share(s->burn_time, r->thrust.burn_time, 0.01 * gain, run_error, "burn time");
    cr_expect_not(r->one_sigma.is_usual);
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(onesigma, of_impulse_is_that_of_the_mass)
{
    struct sm_motor *motor;
    struct sm_result *r = burn(MOTOR("{\"of\":\"/grains/0/length\",\"uniform\":\"2 %\"}"), &motor);
    expect_share(r->one_sigma.figures.total_impulse, r->thrust.total_impulse, 0.02 / sqrt(3.0), run_error,
                 "impulse");
    expect_share(r->one_sigma.figures.burn_time, r->thrust.burn_time, 0.02 / sqrt(3.0), run_error,
                 "burn time");
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(onesigma, adds_in_quadrature)
{
    struct sm_motor *motor;
    struct sm_result *r = burn(MOTOR("{\"of\":\"/propellant/burn_rate\",\"normal\":\"1 %\"},"
                                     "{\"of\":\"/nozzle/throat_diameter\",\"normal\":\"0.02 mm\"}"),
                               &motor);
    const struct sm_burn_segment *law = motor->spec.propellant.burn_rate.items;
    const double gain = 1.0 / (1.0 - law[0].exponent);
    /* The throat's area strays by twice the diameter's hundredth. */
    expect_share(r->one_sigma.figures.pressure_average, r->chamber.pressure_average,
                 gain * sqrt(0.01 * 0.01 + 0.02 * 0.02), run_error, "pressure");
    cr_assert_eq(r->one_sigma.n_influences, 2);
    cr_expect(r->one_sigma.influences[1].effect.pressure_maximum < 0.0);
    sm_result_free(r);
    sm_motor_free(motor);
}

/* The inverse of each law's distribution: sample moments over equal shares against the closed forms of the laws (any
 * textbook; the cut normal's variance by quadrature of its density here). */
Test(tolerance, laws_have_their_deviations)
{
    enum { N = 20000 };
    static const struct sm_tolerance laws[] = {
        {.middle = 5.0, .size = 0.3, .truncated = SM_ABSENT, .law = SM_LAW_NORMAL},
        {.middle = 5.0, .size = 0.3, .truncated = 0.45, .law = SM_LAW_NORMAL},
        {.middle = 5.0, .size = 0.3, .truncated = SM_ABSENT, .law = SM_LAW_UNIFORM},
        {.middle = 5.0, .size = 0.3, .truncated = SM_ABSENT, .law = SM_LAW_TRIANGULAR},
    };
    static double x[N];
    for (size_t k = 0; k < SM_COUNT(laws); k++) {
        for (size_t i = 0; i < N; i++)
            x[i] = sm_tolerance_quantile(&laws[k], ((double)i + 0.5) / N);
        cr_expect_float_eq(sm_stats_mean(x, N), 5.0, 1e-12);
        cr_expect(fabs(sm_stats_deviation(x, N) / sm_tolerance_sigma(&laws[k]) - 1.0) < 1e-3, "law %zu", k);
        cr_expect(isnan(laws[k].truncated) || fabs(x[0] - 5.0) <= laws[k].truncated);
    }
}
