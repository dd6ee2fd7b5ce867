/*
 * Firings made with constants that are known, and what the fit makes of them.
 *
 * The search itself is tried on NIST's certified sets in tests/unit/num/nist.c. Here: do the 95 % intervals hold the true
 * constants as often as they say? Of 400 trials (SM_LONG_TESTS=1) it must be 95 +- 3 % (three standard deviations of a
 * share of 95 % of 400 are 3.3 %); the ordinary run has 40, of which at least 33 must (fewer have a chance of 1 in 1 000
 * by the binomial law).
 */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "slowmatch/fit.h"

#define MOTOR         SM_SOURCE_DIR "/examples/sandpiper-cored.json"
#define END_BURNER    SM_SOURCE_DIR "/examples/sandpiper-end-burner.json"
#define TRUE_RATE     4.5e-3
#define TRUE_EXPONENT 0.36

static double even(
    unsigned long long *state) /* MMIX's generator: D. Knuth, The Art of Computer Programming, 3.3.4 */
{
    *state = *state * 6364136223846793005ull + 1442695040888963407ull;
    return (double)(*state >> 11) / 9007199254740992.0;
}

static double normal(unsigned long long *state) /* G. Box, M. Muller, Ann. Math. Stat. 29 (1958) 610 */
{
    const double u = 1.0 - even(state);
    return sqrt(-2.0 * log(u)) * cos(2.0 * 3.14159265358979323846 * even(state));
}

static struct sm_motor *load_of(const char *file, const struct sm_override *overrides, size_t n)
{
    const struct sm_load_options options = {
        .overrides = overrides, .n_overrides = n, .propellant_folder = SM_SOURCE_DIR "/propellants"};
    struct sm_motor *motor;
    struct sm_diag problems = {0};
    cr_assert_eq(sm_motor_load(file, &options, NULL, &motor, &problems), SM_OK);
    return motor;
}

static struct sm_motor *load_with(const struct sm_override *overrides, size_t n)
{
    return load_of(MOTOR, overrides, n);
}

static struct sm_motor *load(const char *rate, const char *exponent, const char *temperature)
{
    const struct sm_override o[] = {{"propellant.burn_rate.0.rate", rate},
                                    {"propellant.burn_rate.0.exponent", exponent},
                                    {"conditions.grain_temperature", temperature}};
    return load_with(o, sizeof o / sizeof o[0]);
}

/* A record of a burn with noise of 0.4 N, an offset, a drift and a stand that rings, reduced; thrust alone. */
static struct sm_firing *record(const struct sm_result *burn, unsigned long long seed, double temperature)
{
    char path[] = "/tmp/slowmatch-fit-XXXXXX";
    FILE *file = fdopen(mkstemp(path), "w");
    const struct sm_series *s = &burn->series;
    cr_assert(file);
    fputs("time,thrust\n", file);
    const double phase = 2.5e-3 * even(&seed); /* where between two rows it is lit [s] */
    const int rows = (int)fmax(1400.0, 400.0 * (s->time[s->n - 1] + 2.0));
    for (int i = 0; i < rows; i++) {
        const double t = i * 2.5e-3 - 1.0 - phase;
        const double thrust =
            t < 0.0 || t > s->time[s->n - 1] ? 0.0 : sm_curve_at(s->time, s->thrust, s->n, t);
        const double ring =
            t < 0.0 ? 0.0 : 2.0 * exp(-t / 0.1) * sin(2.0 * 3.14159265358979323846 * 60.0 * t);
        fprintf(file, "%.4f,%.5f\n", i * 2.5e-3, thrust + ring + 2.0 + 0.02 * t + 0.4 * normal(&seed));
    }
    fclose(file);
    struct sm_stand stand;
    struct sm_units *units;
    struct sm_firing *f = NULL;
    struct sm_error err = {0};
    sm_stand_init(&stand);
    stand.orientation = SM_STAND_HORIZONTAL;
    stand.grain_temperature = temperature;
    cr_assert_eq(sm_units_open(&units, &err), SM_OK);
    const enum sm_status status = sm_firing_load(path, &stand, units, SM_BURN_END_CONTIGUOUS, &f, &err);
    unlink(path);
    sm_units_free(units);
    cr_assert_eq(status, SM_OK, "%s", err.message);
    return f;
}

static struct sm_result *burn(struct sm_motor *motor)
{
    static const struct sm_run_options options = {.accuracy = 1e-6, .without_warnings = true};
    struct sm_result *result;
    struct sm_error err = {0};
    cr_assert_eq(sm_simulate(motor, &options, NULL, &result, &err), SM_OK);
    return result;
}

Test(fits, intervals_hold_the_truth_as_often_as_they_say, .timeout = 600)
{
    const int is_long = getenv("SM_LONG_TESTS") != NULL, trials = is_long ? 400 : 40;
    struct sm_motor *truth = load("4.5 mm/s", "0.36", "21 degC"),
                    *start = load("4.1 mm/s", "0.42", "21 degC");
    struct sm_result *result = burn(truth);
    const struct sm_fit_options options = {.starts = 1};
    int rate_inside = 0, exponent_inside = 0;
    for (int i = 0; i < trials; i++) {
        struct sm_firing *f = record(result, 1000u + (unsigned)i, 294.15);
        const struct sm_firing *list[] = {f};
        struct sm_fit *fit;
        struct sm_error err = {0};
        cr_assert_eq(sm_fit_firings(start, list, 1, &options, &fit, &err), SM_OK, "%s", err.message);
        rate_inside += fit->values[0].low <= TRUE_RATE && TRUE_RATE <= fit->values[0].high;
        exponent_inside += fit->values[1].low <= TRUE_EXPONENT && TRUE_EXPONENT <= fit->values[1].high;
        cr_expect_float_eq(f->figures[SM_FIGURE_TOTAL_IMPULSE].value, result->thrust.total_impulse,
                           1e-3 * result->thrust.total_impulse, "impulse %g",
                           f->figures[SM_FIGURE_TOTAL_IMPULSE].value);
        sm_fit_free(fit);
        sm_firing_free(f);
    }
    if (is_long) {
        printf("of %d intervals %d held the rate and %d the exponent\n", trials, rate_inside,
               exponent_inside);
        cr_expect(abs(rate_inside - 380) <= 12, "%d", rate_inside);
        cr_expect(abs(exponent_inside - 380) <= 12, "%d", exponent_inside);
    }
    cr_expect_geq(rate_inside, 33 * trials / 40, "%d of %d", rate_inside, trials);
    cr_expect_geq(exponent_inside, 33 * trials / 40, "%d of %d", exponent_inside, trials);
    sm_result_free(result);
    sm_motor_free(start);
    sm_motor_free(truth);
}

/*
 * An end burner holds one pressure, so its firings know the rate there and hardly the exponent, wherever the search began: no
 * interval may be narrow because the search had the rate at another pressure. That an interval holds the truth is its own
 * definition (JCGM 100, 6.2).
 */
Test(fits, an_end_burner_does_not_tell_its_exponent)
{
    const struct sm_override true_law[] = {{"propellant.burn_rate.0.rate", "4.9 mm/s"},
                                           {"propellant.burn_rate.0.exponent", "0.36"}};
    struct sm_motor *truth = load_of(END_BURNER, true_law, 2);
    struct sm_result *result = burn(truth);
    struct sm_firing *f = record(result, 7u, 294.15);
    const struct sm_firing *list[] = {f};
    const char *const begins[][2] = {{"4.1 mm/s", "0.42"}, {"4.9 mm/s", "0.36"}, {"5.6 mm/s", "0.25"}};
    for (size_t i = 0; i < sizeof begins / sizeof begins[0]; i++) {
        const struct sm_override law[] = {{"propellant.burn_rate.0.rate", begins[i][0]},
                                          {"propellant.burn_rate.0.exponent", begins[i][1]}};
        struct sm_motor *start = load_of(END_BURNER, law, 2);
        struct sm_fit *fit;
        struct sm_error err = {0};
        cr_assert_eq(sm_fit_firings(start, list, 1, NULL, &fit, &err), SM_OK, "%s", err.message);
        const struct sm_fit_value *n = &fit->values[1];
        cr_expect(n->low <= 0.36 && 0.36 <= n->high, "%g to %g from start %zu", n->low, n->high, i);
        cr_expect_gt(n->high - n->low, 0.05, "%g to %g from start %zu", n->low, n->high, i);
        cr_expect(!fit->is_separable);
        cr_expect_eq(fit->n_agreed, fit->n_starts);
        /* The rate at its own pressure is known: that of the true law there, within the load cell's own 1 %. */
        cr_expect_float_eq(fit->rate, 4.9e-3 * pow(fit->rate_pressure / 1e6, 0.36), 0.01 * fit->rate);
        sm_fit_free(fit);
        sm_motor_free(start);
    }
    sm_firing_free(f);
    sm_result_free(result);
    sm_motor_free(truth);
}

static int stop_at(void *user, double fraction)
{
    int *left = user;
    (void)fraction;
    return (*left)-- <= 0;
}

/* A fit that is stopped is what the searches that had come to their end say, and nothing before the first one has. */
Test(fits, that_are_stopped_keep_whole_searches)
{
    struct sm_motor *truth = load("4.5 mm/s", "0.36", "21 degC"),
                    *start = load("4.1 mm/s", "0.42", "21 degC");
    struct sm_result *result = burn(truth);
    struct sm_firing *f = record(result, 7, 294.15);
    const struct sm_firing *list[] = {f};
    int n_nothing = 0, n_part = 0, last = 0;
    for (int burns = 0; last < 3; burns = burns * 3 / 2 + 8) {
        int left = burns;
        const struct sm_fit_options options = {.starts = 3, .progress = {stop_at, &left}};
        struct sm_fit *fit;
        struct sm_error err = {0};
        const enum sm_status status = sm_fit_firings(start, list, 1, &options, &fit, &err);
        if (status != SM_OK) {
            cr_expect_eq(status, SM_E_CANCELLED, "%s", err.message);
            cr_expect(last == 0 && strstr(err.message, "before the first search"), "%s", err.message);
            n_nothing++;
            continue;
        }
        cr_expect_eq(fit->complete, fit->n_starts == 3);
        cr_expect_geq(fit->n_starts, last);
        cr_expect_float_eq(fit->values[0].value, TRUE_RATE, 5.0 * fit->values[0].uncertainty);
        n_part += fit->complete ? 0 : 1;
        last = fit->n_starts;
        sm_fit_free(fit);
    }
    cr_expect(n_nothing > 0 && n_part > 0, "%d and %d", n_nothing, n_part);
    sm_firing_free(f);
    sm_result_free(result);
    sm_motor_free(start);
    sm_motor_free(truth);
}

/* Firings at two temperatures tell the sensitivity; the example's propellant has 0.002 1/K. */
Test(fits, two_temperatures_tell_the_sensitivity)
{
    struct sm_motor *warm = load("4.1 mm/s", "0.42", "45 degC"), *cold = load("4.1 mm/s", "0.42", "-5 degC");
    struct sm_motor *start = load("4.3 mm/s", "0.42", "21 degC");
    struct sm_result *a = burn(warm), *b = burn(cold);
    struct sm_firing *list[] = {record(a, 1, 318.15), record(b, 2, 268.15)};
    const struct sm_firing *const firings[] = {list[0], list[1]};
    const struct sm_fit_options options = {.vary = 1u << SM_FIT_RATE | 1u << SM_FIT_SENSITIVITY, .starts = 1};
    struct sm_fit *fit;
    struct sm_error err = {0};
    cr_assert_eq(sm_fit_firings(start, firings, 2, &options, &fit, &err), SM_OK, "%s", err.message);
    cr_expect_float_eq(fit->values[0].value, 4.1e-3, 4.0 * fit->values[0].uncertainty);
    cr_expect_float_eq(fit->values[1].value, 0.002, 4.0 * fit->values[1].uncertainty, "%g +- %g",
                       fit->values[1].value, fit->values[1].uncertainty);
    cr_expect_lt(fit->values[1].uncertainty, 2e-4);
    sm_fit_free(fit);
    cr_expect_eq(sm_fit_firings(start, firings, 1, &options, &fit, &err), SM_E_RANGE);
    cr_expect(strstr(err.message, "5 K apart"), "%s", err.message);
    for (int i = 0; i < 2; i++)
        sm_firing_free(list[i]);
    sm_result_free(a);
    sm_result_free(b);
    sm_motor_free(warm);
    sm_motor_free(cold);
    sm_motor_free(start);
}

/* A throat that wears, and a nozzle that gives less: both are found from thrust, with what the propellant does known. */
Test(fits, tells_a_throat_that_wears_and_a_poorer_nozzle)
{
    static const struct sm_override wears[] = {
        {"nozzle.erosion", "{\"rate\": \"0.15 mm/s\", \"at\": \"3 MPa\", \"exponent\": 0.8}"},
        {"nozzle.thrust_efficiency", "0.92"}};
    struct sm_motor *truth = load_with(wears, 2), *start = load_with(NULL, 0);
    struct sm_result *result = burn(truth);
    struct sm_firing *f = record(result, 3, 294.15);
    const struct sm_firing *const list[] = {f};
    const struct sm_fit_options options = {.vary = 1u << SM_FIT_THRUST | 1u << SM_FIT_EROSION, .starts = 1};
    struct sm_fit *fit;
    struct sm_error err = {0};
    cr_assert_eq(sm_fit_firings(start, list, 1, &options, &fit, &err), SM_OK, "%s", err.message);
    cr_expect_float_eq(fit->values[0].value, 0.92, 4.0 * fit->values[0].uncertainty, "%g +- %g",
                       fit->values[0].value, fit->values[0].uncertainty);
    cr_expect_float_eq(fit->values[1].value, 0.15e-3, 4.0 * fit->values[1].uncertainty, "%g +- %g",
                       fit->values[1].value, fit->values[1].uncertainty);
    cr_expect_lt(fit->values[1].uncertainty, 0.02e-3);
    cr_expect_lt(fit->values[0].uncertainty, 0.01);
    sm_fit_free(fit);
    sm_firing_free(f);
    sm_result_free(result);
    sm_motor_free(truth);
    sm_motor_free(start);
}
