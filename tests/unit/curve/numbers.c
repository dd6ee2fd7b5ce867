/* Numbers read off thrust curves, against closed forms and the one published example. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "curve/curve.h"

#define N(a) (sizeof(a) / sizeof((a)[0]))

static struct sm_curve_numbers numbers_of(const struct sm_curve *curve, const struct sm_curve_rule *rule)
{
    struct sm_curve_numbers n;
    struct sm_error err;
    cr_assert_eq(sm_curve_numbers(curve, rule, &n, &err), SM_OK, "%s", err.message);
    return n;
}

#define EXPECT(got, expected) cr_expect_float_eq(got, expected, 1e-12 * (1.0 + fabs(expected)), "%.17g", got)

/* A triangle 0 to F at 2 s, to 0 at 10 s: all in closed form. */
Test(numbers, triangle)
{
    const double time[] = {0.0, 2.0, 10.0}, thrust[] = {0.0, 40.0, 0.0};
    const struct sm_curve_numbers n = numbers_of(&(struct sm_curve){time, thrust, NULL, 3}, NULL);
    EXPECT(n.total_impulse, 200.0);
    EXPECT(n.burn_start, 0.1);
    EXPECT(n.burn_end, 9.6);
    EXPECT(n.burn_time, 9.5);
    EXPECT(n.impulse_in_burn_time,
           200.0 * (1.0 - 0.0025)); /* the two cut corners are 0.05 as high and as long */
    EXPECT(n.average, 200.0 / 9.5);
    EXPECT(n.average_in_burn_time, 199.5 / 9.5);
    EXPECT(n.maximum, 40.0);
    EXPECT(n.maximum_time, 2.0);
    EXPECT(n.maximum_steady, 40.0);
    EXPECT(n.initial, 40.0);
    cr_expect(isnan(n.action_time) && isnan(n.pressure_maximum) && isnan(n.pressure_average));
}

/* A trapezoid with pressure: rise a, hold b, fall c. */
Test(numbers, trapezoid)
{
    const double time[] = {0.0, 0.5, 4.5, 6.5}, thrust[] = {0.0, 20.0, 20.0, 0.0};
    const double pressure[] = {0.0, 3e6, 3e6, 0.0};
    const struct sm_curve_numbers n = numbers_of(&(struct sm_curve){time, thrust, pressure, 4}, NULL);
    EXPECT(n.total_impulse, 20.0 * (0.25 + 4.0 + 1.0));
    EXPECT(n.burn_time, 6.5 - 0.05 * 2.5);
    EXPECT(n.initial, 20.0);
    EXPECT(n.maximum_time, 0.5);
    EXPECT(n.action_time, 6.5 - 0.10 * 2.5);
    EXPECT(n.pressure_maximum, 3e6);
    EXPECT(n.pressure_average, 3e6 * (5.25 - 0.0025 * 1.25) / n.burn_time);
}

/* Absolute pressure that ends at the surroundings': the action share is of what is above them. */
Test(numbers, action_time_above_the_ambient_pressure)
{
    const double time[] = {0.0, 1.0, 3.0, 4.0}, thrust[] = {0.0, 5.0, 5.0, 0.0};
    const double pressure[] = {0.1e6, 0.9e6, 0.9e6, 0.1e6};
    const struct sm_curve curve = {time, thrust, pressure, 4};
    const struct sm_curve_rule rule = {.ambient = 0.1e6};
    EXPECT(numbers_of(&curve, &rule).action_time, 4.0 - 0.2);
    EXPECT(numbers_of(&curve, NULL).action_time, 4.0); /* 10 % of 0.9 MPa is below them, and never reached */
}

/* NFPA 1125 as quoted at second hand: 80 N s, 1.36 s in all, 1.24 s between the 5 % points; 58.82 or 64.52 N. */
Test(numbers, published_example)
{
    const double time[] = {0.0, 0.05, 0.10, 1.20, 1.29, 1.36};
    const double shape[] = {0.0, 0.05, 1.0, 1.0, 0.05, 0.0};
    double thrust[6];
    const double area = sm_curve_integral(time, shape, 6, 0.0, 2.0);
    for (size_t i = 0; i < 6; i++)
        thrust[i] = 80.0 / area * shape[i];
    const struct sm_curve_numbers n = numbers_of(&(struct sm_curve){time, thrust, NULL, 6}, NULL);
    EXPECT(n.total_impulse, 80.0);
    EXPECT(n.burn_time, 1.24);
    cr_expect_float_eq(n.average, 64.52, 0.005);
    cr_expect_float_eq(n.total_impulse / (time[5] - time[0]), 58.82, 0.005);
}

/* Jumps: the same time twice, at the start, within and at the end; silence before and after. */
Test(numbers, jumps_heads_and_tails)
{
    const double time[] = {-2.0, 1.0, 1.0, 2.0, 2.0, 4.0, 4.0, 9.0},
                 thrust[] = {0.0, 0.0, 10.0, 10.0, 30.0, 30.0, 0.0, 0.0};
    const struct sm_curve curve = {time, thrust, NULL, N(time)};
    const struct sm_curve_numbers n = numbers_of(&curve, NULL);
    EXPECT(n.total_impulse, 70.0);
    EXPECT(n.burn_start, 1.0);
    EXPECT(n.burn_end, 4.0);
    EXPECT(n.impulse_in_burn_time, 70.0);
    EXPECT(n.average, 70.0 / 3.0);
    EXPECT(n.maximum_time, 2.0);
    EXPECT(n.initial, 10.0);
    EXPECT(sm_curve_at(time, thrust, N(time), 2.0), 30.0);
    EXPECT(sm_curve_at(time, thrust, N(time), 1.5), 10.0);
    EXPECT(sm_curve_at(time, thrust, N(time), -5.0), 0.0);
    EXPECT(sm_curve_at(time, thrust, N(time), 99.0), 0.0);
    EXPECT(sm_curve_integral(time, thrust, N(time), 1.5, 3.0), 5.0 + 30.0);
    EXPECT(sm_curve_integral(time, thrust, N(time), 2.0, 4.0), 60.0);
    EXPECT(sm_curve_integral(time, thrust, N(time), 3.0, 3.0), 0.0);
    EXPECT(sm_curve_integral(time, thrust, N(time), 3.0, 2.0), 0.0);
    EXPECT(sm_curve_integral(time, thrust, N(time), -50.0, 50.0), 70.0);
}

/* A curve cut off above the threshold at both ends. */
Test(numbers, cut_curve)
{
    const double time[] = {1.0, 3.0}, thrust[] = {10.0, 20.0};
    const struct sm_curve_numbers n = numbers_of(&(struct sm_curve){time, thrust, NULL, 2}, NULL);
    EXPECT(n.burn_start, 1.0);
    EXPECT(n.burn_end, 3.0);
    EXPECT(n.total_impulse, 30.0);
    EXPECT(n.initial, 10.0);
    EXPECT(n.maximum, 20.0);
}

/* An igniter's blip, a burn, a late afterburn: two readings of where the burn is. */
Test(numbers, last_and_contiguous)
{
    const double time[] = {0.0, 0.1, 0.2, 1.0, 1.5, 3.5, 4.0, 6.0, 6.5, 7.0};
    const double thrust[] = {0.0, 20.0, 0.0, 0.0, 100.0, 100.0, 0.0, 0.0, 10.0, 0.0};
    const struct sm_curve curve = {time, thrust, NULL, N(time)};
    struct sm_curve_numbers n = numbers_of(&curve, NULL);
    EXPECT(n.burn_start, 0.025);
    EXPECT(n.burn_end, 6.75);
    EXPECT(n.impulse_in_burn_time, 2.0 + 250.0 + 5.0 - 0.5 * 5.0 * (0.025 + 0.25));
    n = numbers_of(&curve, &(struct sm_curve_rule){.burn_end = SM_BURN_END_CONTIGUOUS});
    EXPECT(n.burn_start, 1.025);
    EXPECT(n.burn_end, 3.975);
    EXPECT(n.total_impulse, 257.0); /* the whole curve still */
    EXPECT(n.impulse_in_burn_time, 250.0 - 5.0 * 0.025);
}

/* Scaling thrust, stretching and moving time change the numbers as they must. */
Test(numbers, scaling)
{
    const double time[] = {0.0, 0.03, 0.06, 0.2, 1.1, 1.3, 1.4},
                 thrust[] = {0.0, 80.0, 55.0, 60.0, 70.0, 20.0, 0.0};
    double time2[7], thrust2[7];
    for (size_t i = 0; i < 7; i++) {
        time2[i] = 7.0 + 0.5 * time[i];
        thrust2[i] = 3.0 * thrust[i];
    }
    const struct sm_curve_numbers a = numbers_of(&(struct sm_curve){time, thrust, NULL, 7}, NULL);
    const struct sm_curve_numbers b = numbers_of(&(struct sm_curve){time2, thrust2, NULL, 7}, NULL);
    EXPECT(b.total_impulse, 1.5 * a.total_impulse);
    EXPECT(b.burn_start, 7.0 + 0.5 * a.burn_start);
    EXPECT(b.burn_time, 0.5 * a.burn_time);
    EXPECT(b.maximum_steady, 3.0 * a.maximum_steady);
    EXPECT(b.initial, 3.0 * a.initial);
}

/* Own threshold, to the closed form of a triangle. */
Test(numbers, other_threshold)
{
    const double time[] = {0.0, 1.0, 2.0}, thrust[] = {0.0, 1.0, 0.0};
    const struct sm_curve_rule rule = {.threshold = 0.2};
    EXPECT(numbers_of(&(struct sm_curve){time, thrust, NULL, 3}, &rule).burn_time, 1.6);
}

/* ---- noise ---- */

/* Thrust counts until it last exceeds three standard deviations, from the 5 % start on. */
Test(numbers, noise_ends_the_impulse)
{
    const double time[] = {0.0, 1.0, 2.0, 3.0, 13.0}, thrust[] = {0.0, 0.0, 100.0, 10.0, 0.0};
    const struct sm_curve curve = {time, thrust, NULL, 5};
    const struct sm_curve_rule rule = {.noise = 1.0};
    const struct sm_curve_numbers n = numbers_of(&curve, &rule);
    /* 3 N at 10 s; before the start a corner of 0.05 s by 5 N, after the end one of 3 s by 3 N */
    EXPECT(n.total_impulse, 50.0 + 55.0 + 50.0 - 0.5 * 0.05 * 5.0 - 0.5 * 3.0 * 3.0);
    struct sm_curve_numbers unused;
    struct sm_error err;
    const struct sm_curve_rule loud = {.noise = 50.0};
    cr_expect_eq(sm_curve_numbers(&curve, &loud, &unused, &err), SM_E_RANGE);
    cr_expect_not_null(strstr(err.message, "noise"));
}

/* ---- spike and initial thrust ---- */

Test(numbers, ignition_spike)
{
    /* peak 150 N at 20 ms, settled at 100 N by 60 ms, then slowly up to 110 N, over 4 s */
    const double time[] = {0.0, 0.02, 0.06, 3.8, 4.0}, thrust[] = {0.0, 150.0, 100.0, 110.0, 0.0};
    const struct sm_curve_numbers n = numbers_of(&(struct sm_curve){time, thrust, NULL, 5}, NULL);
    EXPECT(n.maximum, 150.0);
    EXPECT(n.maximum_steady, 110.0);
    const double settled = 0.02 + 0.05 * n.burn_time;
    EXPECT(n.initial, 100.0 + 10.0 * (settled - 0.06) / 3.74);
}

/* The same lower than the maximum that a progressive grain comes to. */
Test(numbers, spike_below_the_maximum)
{
    const double time[] = {0.0, 0.02, 0.06, 3.8, 4.0}, thrust[] = {0.0, 90.0, 60.0, 120.0, 0.0};
    const struct sm_curve_numbers n = numbers_of(&(struct sm_curve){time, thrust, NULL, 5}, NULL);
    EXPECT(n.maximum, 120.0);
    EXPECT(n.maximum_steady, 120.0);
    cr_expect(n.initial > 60.0 && n.initial < 65.0, "%g", n.initial);
}

/* What is no spike: a low one, a regressive burn however steep, a boost phase, a late peak. */
Test(numbers, no_spike)
{
    const double low_t[] = {0.0, 0.02, 0.06, 3.8, 4.0}, low_f[] = {0.0, 108.0, 100.0, 100.0, 0.0};
    struct sm_curve_numbers n = numbers_of(&(struct sm_curve){low_t, low_f, NULL, 5}, NULL);
    EXPECT(n.maximum_steady, 108.0);
    EXPECT(n.initial, 108.0);
    double t[201], f[201];
    for (size_t i = 0; i <= 200; i++) {
        t[i] = 0.01 * (double)i;
        f[i] = i ? 100.0 * exp(-2.0 * t[i]) : 0.0;
    }
    n = numbers_of(&(struct sm_curve){t, f, NULL, 201}, NULL);
    EXPECT(n.maximum_steady, n.maximum);
    EXPECT(n.initial, n.maximum);
    const double boost_t[] = {0.0, 0.02, 0.5, 0.6, 11.8, 12.0},
                 boost_f[] = {0.0, 300.0, 300.0, 60.0, 60.0, 0.0};
    n = numbers_of(&(struct sm_curve){boost_t, boost_f, NULL, 6}, NULL);
    EXPECT(n.maximum_steady, 300.0);
    EXPECT(n.initial, 300.0);
    const double late_t[] = {0.0, 0.02, 2.0, 2.02, 2.06, 4.0},
                 late_f[] = {0.0, 100.0, 100.0, 150.0, 100.0, 0.0};
    n = numbers_of(&(struct sm_curve){late_t, late_f, NULL, 6}, NULL);
    EXPECT(n.maximum_steady, 150.0);
    EXPECT(n.initial, 100.0);
}

/* The top of the ignition rise, whatever follows: progressive, saddle, and a rise that only creeps up. */
Test(numbers, initial_thrust)
{
    const double up_t[] = {0.0, 0.1, 9.0, 9.2}, up_f[] = {0.0, 50.0, 100.0, 0.0};
    EXPECT(numbers_of(&(struct sm_curve){up_t, up_f, NULL, 4}, NULL).initial, 50.0);
    const double saddle_t[] = {0.0, 0.1, 2.0, 4.0, 4.1}, saddle_f[] = {0.0, 100.0, 80.0, 120.0, 0.0};
    EXPECT(numbers_of(&(struct sm_curve){saddle_t, saddle_f, NULL, 5}, NULL).initial, 100.0);
    double t[1002], f[1002];
    const double tau = 0.05, end = 10.0;
    for (size_t i = 0; i <= 1000; i++) {
        t[i] = end * (double)i / 1000.0;
        f[i] = 13.0 * (1.0 - exp(-t[i] / tau)) * (1.0 - 0.002 * t[i] / end); /* highest at 0.37 s */
    }
    t[1001] = end + 0.1;
    f[1001] = 0.0;
    /* the knee is where the slope is the line's, about 13/10, short of the plateau by tau/end */
    const double initial = numbers_of(&(struct sm_curve){t, f, NULL, 1002}, NULL).initial;
    cr_expect_float_eq(initial, 13.0 * (1.0 - tau / end), 13.0 * 0.002, "%g", initial);
}

/* ---- what is refused ---- */

static void expect_refused(const struct sm_curve *curve, const char *word)
{
    struct sm_curve_numbers n, before;
    struct sm_error err = {0};
    memset(&n, 0x5a, sizeof n);
    before = n;
    cr_expect_eq(sm_curve_numbers(curve, NULL, &n, &err), SM_E_RANGE);
    cr_expect_not_null(strstr(err.message, word), "'%s' lacks '%s'", err.message, word);
    cr_expect_eq(memcmp(&n, &before, sizeof n), 0, "output touched on failure");
}

Test(numbers, refuses)
{
    const double nan = (double)NAN;
    const double time[] = {0.0, 1.0, 2.0}, thrust[] = {0.0, 1.0, 0.0}, back[] = {0.0, 1.0, 0.5};
    const double none[] = {0.0, -1.0, 0.0}, hole[] = {0.0, nan, 0.0}, flash_t[] = {0.0, 1.0, 1.0, 1.0, 2.0};
    const double flash[] = {0.0, 0.0, 9.0, 0.0, 0.0};
    expect_refused(&(struct sm_curve){time, thrust, NULL, 1}, "two samples");
    expect_refused(&(struct sm_curve){back, thrust, NULL, 3}, "row 3");
    expect_refused(&(struct sm_curve){time, none, NULL, 3}, "above zero");
    expect_refused(&(struct sm_curve){time, hole, NULL, 3}, "row 2");
    expect_refused(&(struct sm_curve){hole, thrust, NULL, 3}, "row 2");
    expect_refused(&(struct sm_curve){time, thrust, hole, 3}, "row 2");
    expect_refused(&(struct sm_curve){flash_t, flash, NULL, 5}, "no time");
    struct sm_curve_numbers n;
    const struct sm_curve good = {time, thrust, NULL, 3};
    cr_expect_eq(sm_curve_numbers(&good, &(struct sm_curve_rule){.threshold = 1.0}, &n, NULL), SM_E_RANGE);
    cr_expect_eq(sm_curve_numbers(&good, &(struct sm_curve_rule){.action = -0.1}, &n, NULL), SM_E_RANGE);
    cr_expect_eq(sm_curve_numbers(&good, &(struct sm_curve_rule){.noise = nan}, &n, NULL), SM_E_RANGE);
    cr_expect_eq(sm_curve_numbers(&good, &(struct sm_curve_rule){.ambient = -1.0}, &n, NULL), SM_E_RANGE);
}

/* The pieces of an integral add up, wherever it is cut. */
Test(numbers, integral_is_additive)
{
    const double time[] = {0.0, 0.3, 0.3, 1.1, 2.0, 2.0, 2.0, 3.5},
                 y[] = {1.0, 4.0, -2.0, 3.0, 3.0, 8.0, 1.0, 0.0};
    const double whole = sm_curve_integral(time, y, N(time), 0.0, 3.5);
    /* by hand: 0.75 + 0.4 + 2.7 + 0.75 */
    EXPECT(whole, 4.6);
    for (double cut = 0.0; cut <= 3.5; cut += 0.05)
        EXPECT(sm_curve_integral(time, y, N(time), 0.0, cut) + sm_curve_integral(time, y, N(time), cut, 3.5),
               whole);
}
