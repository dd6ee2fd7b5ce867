/* Records made of a curve that is known: what was put in must come out. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "slowmatch/firing.h"

/* Thrust of a half sine wave, 100 N high and 2 s long, from 1 s on; its impulse is 2 h T / pi. */
static const double height = 100.0, length = 2.0, start = 1.0;
#define PI 3.14159265358979323846

struct disturbance {
    double offset, drift, noise, ringing; /* [N], [N/s], [N], [N] */
    double weight;                        /* leaves with the impulse [N] */
};

static double even(
    unsigned long long *state) /* MMIX's generator: D. Knuth, The Art of Computer Programming, 3.3.4 */
{
    *state = *state * 6364136223846793005ull + 1442695040888963407ull;
    return (double)(*state >> 11) / 9007199254740992.0;
}

static double normal(unsigned long long *state) /* G. Box, M. Muller, Ann. Math. Stat. 29 (1958) 610 */
{
    const double u = 1.0 - even(state);
    return sqrt(-2.0 * log(u)) * cos(2.0 * PI * even(state));
}

static struct sm_firing *fire(const struct disturbance *d, unsigned long long seed,
                              void (*set)(struct sm_stand *))
{
    char path[] = "/tmp/slowmatch-record-XXXXXX";
    FILE *file = fdopen(mkstemp(path), "w");
    cr_assert(file);
    fputs("time,thrust\n", file);
    for (int i = 0; i < 4000; i++) {
        const double t = i * 1e-3, u = fmin(fmax((t - start) / length, 0.0), 1.0);
        const double ring =
            t < start ? 0.0 : d->ringing * exp(-(t - start) / 0.3) * sin(2.0 * PI * 60.0 * (t - start));
        fprintf(file, "%.3f,%.5f\n", t,
                height * sin(PI * u) + d->offset + d->drift * t + ring + d->noise * normal(&seed) -
                    d->weight * 0.5 * (1.0 - cos(PI * u)));
    }
    fclose(file);
    struct sm_stand stand;
    struct sm_units *units;
    struct sm_firing *f = NULL;
    struct sm_error err = {0};
    sm_stand_init(&stand);
    stand.thrust.gain_uncertainty = 0.0;
    if (set)
        set(&stand);
    cr_assert_eq(sm_units_open(&units, &err), SM_OK);
    const enum sm_status status = sm_firing_load(path, &stand, units, SM_BURN_END_CONTIGUOUS, &f, &err);
    unlink(path);
    sm_units_free(units);
    cr_assert_eq(status, SM_OK, "%s", err.message);
    return f;
}

/* Closed forms: sin(pi u) passes 5 % at u = asin(0.05)/pi and the like from the end; between them lies h T 2/pi
 * sqrt(1 - 0.05^2). An edge may move by what shakes the thrust, `shake` [N], over its slope there. */
static void check(const struct sm_firing *f, double tolerance, double shake)
{
    const double edge = asin(0.05) / PI;
    const double impulse = height * length * 2.0 / PI * sqrt(1.0 - 0.05 * 0.05);
    cr_expect_float_eq(f->figures[SM_FIGURE_IMPULSE_IN_BURN_TIME].value, impulse, tolerance * impulse,
                       "impulse %.6g", f->figures[SM_FIGURE_IMPULSE_IN_BURN_TIME].value);
    cr_expect_float_eq(f->figures[SM_FIGURE_BURN_TIME].value, length * (1.0 - 2.0 * edge),
                       2e-3 + 2.0 * shake / (height * PI / length));
    cr_expect(fabs(f->impulse_kept) <= 1e-4, "the low-pass costs %g", f->impulse_kept);
}

Test(synthetic, an_offset_is_taken_off)
{
    struct sm_firing *f = fire(&(struct disturbance){.offset = -7.0}, 1, NULL);
    check(f, 1e-5, 0.0); /* of the trapezoid rule at 1 ms, and of the five digits written */
    cr_expect_float_eq(f->tare, -7.0, 1e-6);
    sm_firing_free(f);
}

static void lie_down(struct sm_stand *stand)
{
    stand->orientation = SM_STAND_HORIZONTAL;
}

/* The 0.1 % on impulse is what the reduction is to keep with noise, drift and ringing together. */
Test(synthetic, noise_drift_and_ringing_cost_a_thousandth_at_most)
{
    for (unsigned long long seed = 1; seed <= 10; seed++) {
        struct sm_firing *f = fire(
            &(struct disturbance){.offset = 3.0, .drift = 0.2, .noise = 0.3, .ringing = 1.5}, seed, lie_down);
        check(f, 1e-3, 1.5 + 3.0 * 0.3);
        cr_expect_float_eq(f->ringing, 60.0, 5.0, "rings at %g", f->ringing);
        cr_expect_float_eq(f->noise, 0.3, 0.06);
        cr_expect_float_eq(f->maximum_filtered, height, 2.0);
        sm_firing_free(f);
    }
}

static void stand_up(struct sm_stand *stand)
{
    stand->orientation = SM_STAND_NOZZLE_UP;
}

static void stand_up_weighed(struct sm_stand *stand)
{
    stand->orientation = SM_STAND_NOZZLE_UP;
    stand->propellant_mass = 4.0 / 9.80665;
}

Test(synthetic, weight_that_leaves_is_put_back)
{
    struct sm_firing *f = fire(&(struct disturbance){.weight = 4.0}, 1, stand_up);
    check(f, 1e-3, 0.0);
    cr_expect_float_eq(f->shift, -4.0, 1e-3);
    sm_firing_free(f);
    f = fire(&(struct disturbance){.weight = 4.0}, 1, stand_up_weighed);
    check(f, 1e-3, 0.0);
    sm_firing_free(f);
}

/* Over many records the impulse must scatter as its stated uncertainty says; with 60 of them the scatter of the ratio
 * is one part in 11, so a quarter is nearly three of its deviations. */
Test(synthetic, uncertainty_is_what_the_scatter_shows)
{
    enum { TRIALS = 60 };
    double sum = 0.0, square = 0.0, stated = 0.0;
    for (int i = 0; i < TRIALS; i++) {
        struct sm_firing *f = fire(&(struct disturbance){.noise = 1.0}, 100u + (unsigned)i, NULL);
        const double impulse = f->figures[SM_FIGURE_IMPULSE_IN_BURN_TIME].value;
        sum += impulse;
        square += impulse * impulse;
        stated += f->figures[SM_FIGURE_IMPULSE_IN_BURN_TIME].uncertainty / TRIALS;
        sm_firing_free(f);
    }
    const double scatter = sqrt((square - sum * sum / TRIALS) / (TRIALS - 1));
    cr_expect_float_eq(scatter / stated, 1.0, 0.25, "scatter %.4g, stated %.4g", scatter, stated);
}

/* Spread: mean and standard deviation by their definitions. */
Test(synthetic, several_firings)
{
    struct sm_firing *f[3];
    const struct sm_firing *list[3];
    struct sm_firing_set *set;
    struct sm_error err = {0};
    double sum = 0.0, square = 0.0;
    for (int i = 0; i < 3; i++) {
        list[i] = f[i] = fire(&(struct disturbance){.noise = 0.5}, 7u + (unsigned)i, NULL);
        sum += f[i]->figures[SM_FIGURE_MAXIMUM].value;
        square += f[i]->figures[SM_FIGURE_MAXIMUM].value * f[i]->figures[SM_FIGURE_MAXIMUM].value;
    }
    cr_assert_eq(sm_firing_compare(list, 3, &set, &err), SM_OK);
    cr_expect_float_eq(set->figures[SM_FIGURE_MAXIMUM].mean, sum / 3.0, 1e-9);
    cr_expect_float_eq(set->figures[SM_FIGURE_MAXIMUM].deviation, sqrt((square - sum * sum / 3.0) / 2.0),
                       1e-6);
    cr_expect(set->is_steady);
    sm_firing_set_free(set);
    for (int i = 0; i < 3; i++)
        sm_firing_free(f[i]);
}
