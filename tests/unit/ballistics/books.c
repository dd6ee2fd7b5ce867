/*
 * The march's books and invariants: what any right answer must fulfil, whatever the motor. Conservation of mass and the
 * identities of the model need no source; tolerances are the accuracy asked for, or rounding where nothing else enters.
 */
#include "bench_motor.h"

#include <stdint.h>
#include <stdio.h>

static const double pi = 3.14159265358979323846;

/* Integral of y over time by the trapezoid rule, written here. */
static double quadrature(const double *t, const double *y, size_t n)
{
    double sum = 0.0;
    for (size_t i = 1; i < n; i++)
        sum += 0.5 * (t[i] - t[i - 1]) * (y[i] + y[i - 1]);
    return sum;
}

/* What the peak pressure would give for the whole run in a vacuum. The series promises straight lines true to the accuracy
 * of the peak pressure (ballistics/trace.h), so its quadrature errs by less than the accuracy of this. */
static double most_impulse(const struct sm_motor *motor, const struct sm_result *r)
{
    const struct sm_series *s = &r->series;
    const double exit = motor->spec.nozzle.exit_diameter, push = motor->ambient * 0.25 * pi * exit * exit;
    double slope = 0.0;
    for (size_t i = 0; i < s->n; i++)
        slope = fmax(slope, (s->thrust[i] + push) / s->pressure[i]);
    return slope * r->chamber.pressure_maximum * (s->time[s->n - 1] - s->time[0]);
}

static void balance_one(const char *propellant, const char *throat, const char *ambient)
{
    const struct sm_override change[] = {{"propellant", propellant},
                                         {"nozzle.throat_diameter", throat},
                                         {"conditions.ambient_pressure", ambient}};
    static const double accuracies[] = {1e-4, 1e-6};
    struct sm_motor *motor = load_text(tubes_text, change, SM_COUNT(change));
    for (size_t i = 0; i < SM_COUNT(accuracies); i++) {
        const double a = accuracies[i];
        struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, a);
        const struct sm_series *s = &r->series;
        const double most = a <= 1e-6 ? 1e-9 : 0.1 * a;
        cr_expect(r->statistics.mass_residual <= most, "%s, throat %s, accuracy %g: books off by %g",
                  propellant, throat, a, r->statistics.mass_residual);
        const double sum = quadrature(s->time, s->thrust, s->n), bound = a * most_impulse(motor, r);
        cr_expect(fabs(sum - r->thrust.total_impulse) < bound,
                  "%s, throat %s, accuracy %g: quadrature off by %g", propellant, throat, a,
                  relative(sum, r->thrust.total_impulse));
        sm_result_free(r);
    }
    sm_motor_free(motor);
}

Test(books, mass_is_kept_and_impulse_is_the_area_under_the_curve)
{
    for (size_t i = 0; i < SM_COUNT(shipped_propellants); i++) {
        balance_one(shipped_propellants[i], "8 mm", "101325 Pa");
        balance_one(shipped_propellants[i], "11 mm", "0 Pa");
        balance_one(shipped_propellants[i], "13 mm", "101325 Pa");
    }
}

Test(books, halving_the_accuracy_moves_totals_by_less_than_it)
{
    static const char *const texts[] = {end_burner_text, tubes_text};
    for (size_t i = 0; i < SM_COUNT(texts); i++) {
        struct sm_motor *motor = load_text(texts[i], NULL, 0);
        for (double a = 1e-3; a > 1e-8; a *= 0.1) {
            struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, a);
            struct sm_result *finer = run_motor(motor, SM_MODEL_TRANSIENT, 0.5 * a);
            cr_expect(relative(r->thrust.total_impulse, finer->thrust.total_impulse) < a, "impulse at %g", a);
            cr_expect(relative(r->chamber.pressure_maximum, finer->chamber.pressure_maximum) < a,
                      "peak at %g", a);
            cr_expect(relative(r->thrust.burn_time, finer->thrust.burn_time) < a, "burn time at %g", a);
            sm_result_free(r);
            sm_result_free(finer);
        }
        sm_motor_free(motor);
    }
}

Test(books, inches_and_millimetres_are_one_motor)
{
    /* 1 in is 25.4 mm exactly (international yard and pound agreement, 1959). */
    static const struct sm_override inches[] = {
        {"case.bore", "1.5 in"},
        {"case.length", "10 in"},
        {"grains", "[{\"shape\":\"tube\",\"outer_diameter\":\"1.4 in\",\"bore_diameter\":\"0.6 in\","
                   "\"length\":\"2.3 in\",\"count\":4,\"spacing\":\"0.1 in\"}]"},
        {"nozzle.throat_diameter", "0.45 in"},
        {"nozzle.exit_diameter", "0.9 in"}};
    static const struct sm_override millimetres[] = {
        {"case.bore", "38.1 mm"},
        {"case.length", "254 mm"},
        {"grains", "[{\"shape\":\"tube\",\"outer_diameter\":\"35.56 mm\",\"bore_diameter\":\"15.24 mm\","
                   "\"length\":\"58.42 mm\",\"count\":4,\"spacing\":\"2.54 mm\"}]"},
        {"nozzle.throat_diameter", "11.43 mm"},
        {"nozzle.exit_diameter", "22.86 mm"}};
    struct sm_motor *a = load_text(tubes_text, inches, SM_COUNT(inches));
    struct sm_motor *b = load_text(tubes_text, millimetres, SM_COUNT(millimetres));
    cr_expect(relative(a->propellant_mass, b->propellant_mass) < 1e-12);
    cr_expect(relative(a->free_volume, b->free_volume) < 1e-12);
    cr_expect(relative(a->stack.web, b->stack.web) < 1e-12);
    for (int i = 0; i <= 20; i++) {
        struct sm_geometry_at x, y;
        sm_geometry_eval(&a->stack, 0.049 * i * a->stack.web, &x);
        sm_geometry_eval(&b->stack, 0.049 * i * b->stack.web, &y);
        cr_expect(relative(x.slope[SM_VOLUME], y.slope[SM_VOLUME]) < 1e-12, "area at %d", i);
    }
    struct sm_result *ra = run_motor(a, SM_MODEL_TRANSIENT, 1e-6),
                     *rb = run_motor(b, SM_MODEL_TRANSIENT, 1e-6);
    cr_expect(relative(ra->thrust.total_impulse, rb->thrust.total_impulse) < 1e-9);
    cr_expect(relative(ra->chamber.pressure_maximum, rb->chamber.pressure_maximum) < 1e-9);
    cr_expect(relative(ra->thrust.burn_time, rb->thrust.burn_time) < 1e-9);
    sm_result_free(ra);
    sm_result_free(rb);
    sm_motor_free(a);
    sm_motor_free(b);
}

Test(books, a_vacuum_helps_at_every_pressure)
{
    static const struct sm_override sea[] = {{"conditions.ambient_pressure", "101325 Pa"}};
    struct sm_motor *here = load_text(tubes_text, sea, 1), *high = load_text(tubes_text, NULL, 0);
    struct sm_result *low = run_motor(here, SM_MODEL_TRANSIENT, 1e-5);
    struct sm_result *vacuum = run_motor(high, SM_MODEL_TRANSIENT, 1e-5);
    const double slope = vacuum->series.thrust[0] / vacuum->series.pressure[0];
    for (size_t i = 0; i < low->series.n; i++)
        cr_expect(low->series.thrust[i] <= slope * low->series.pressure[i] * (1.0 + 1e-12), "row %zu", i);
    cr_expect(vacuum->thrust.total_impulse > low->thrust.total_impulse);
    sm_result_free(low);
    sm_result_free(vacuum);
    sm_motor_free(here);
    sm_motor_free(high);
}

Test(books, thrust_does_not_jump_where_the_flow_changes)
{
    /* A wide cone at sea level: attached, separated and unchoked on the way down. */
    static const struct sm_override wide[] = {{"conditions.ambient_pressure", "101325 Pa"},
                                              {"nozzle.exit_diameter", "35 mm"}};
    struct sm_motor *motor = load_text(tubes_text, wide, SM_COUNT(wide));
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
    const struct sm_series *s = &r->series;
    for (size_t i = 1; i < s->n; i++) {
        if (fabs(s->pressure[i] - s->pressure[i - 1]) > 1e-3 * s->pressure[i])
            continue;
        cr_expect(fabs(s->thrust[i] - s->thrust[i - 1]) < 0.01 * fmax(s->thrust[i], 0.01 * r->thrust.maximum),
                  "%g N to %g N at %g Pa", s->thrust[i - 1], s->thrust[i], s->pressure[i]);
    }
    cr_expect(s->pressure[s->n - 1] < 1.8 * 101325.0, "the tail is unchoked at its end: %g Pa",
              s->pressure[s->n - 1]);
    sm_result_free(r);
    sm_motor_free(motor);
}

/* In a vacuum thrust is mass flow times one velocity, so impulses stand as the masses expelled: the quasi-steady model
 * keeps in the chamber the gas that the transient one blows out, less the igniter's. */
static void models_agree(const char *text)
{
    struct sm_motor *motor = load_text(text, NULL, 0);
    struct sm_result *transient = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
    struct sm_result *steady = run_motor(motor, SM_MODEL_EQUILIBRIUM, 1e-6);
    const struct sm_series *s = &steady->series;
    const double velocity = transient->series.thrust[0] / transient->series.mass_flow[0];
    const double left = transient->series.pressure[transient->series.n - 1];
    const double start = transient->series.pressure[0] * motor->free_volume;
    const double expelled = motor->propellant_mass + (start - left * motor->case_volume) / motor->gas.rt;
    cr_expect(relative(transient->thrust.total_impulse, velocity * expelled) < 1e-6);
    const double kept = s->pressure[s->n - 1] * motor->case_volume / (motor->gas.rt * motor->propellant_mass);
    const double difference = transient->thrust.total_impulse / steady->thrust.total_impulse - 1.0;
    cr_expect(fabs(difference) < 1.5 * kept + 1e-4, "impulses differ by %g; gas kept is %g", difference,
              kept);
    cr_expect(fabs(difference) < 0.02, "impulses differ by %g", difference);
    sm_result_free(transient);
    sm_result_free(steady);
    sm_motor_free(motor);
}

Test(books, both_models_expel_the_same_propellant)
{
    models_agree(end_burner_text);
    models_agree(tubes_text);
}

/* ---- random motors ---- */

/* Uniform in [low, high), by a linear congruential generator (Knuth's MMIX constants). */
static double uniform(uint64_t *state, double low, double high)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return low + (high - low) * (double)(*state >> 11) * 0x1p-53;
}

static void random_text(uint64_t *state, char *text, size_t size)
{
    const double outer = uniform(state, 10e-3, 100e-3), bore = outer * uniform(state, 0.2, 0.7);
    const double length = outer * uniform(state, 0.7, 4.0), kn = uniform(state, 120.0, 400.0);
    const int count = 1 + (int)uniform(state, 0.0, 5.0);
    const int is_end = uniform(state, 0.0, 1.0) < 0.3;
    const char *propellant =
        shipped_propellants[(size_t)uniform(state, 0.0, (double)SM_COUNT(shipped_propellants))];
    /* Kn for the initial surface; ends and bore burn, or one end. */
    const double area = is_end ? 0.25 * pi * outer * outer
                               : count * (pi * bore * length + 0.5 * pi * (outer * outer - bore * bore));
    const double throat = sqrt(area / kn * 4.0 / pi);
    char grains[256];
    snprintf(grains, sizeof grains,
             is_end ? "{\"shape\":\"end-burner\",\"outer_diameter\":\"%.9g m\",\"length\":\"%.9g m\"}"
                    : "{\"shape\":\"tube\",\"outer_diameter\":\"%.9g m\",\"length\":\"%.9g m\","
                      "\"bore_diameter\":\"%.9g m\",\"count\":%d,\"spacing\":\"1 mm\"}",
             outer, length, bore, count);
    snprintf(text, size,
             "{\"format\":\"slowmatch-motor/1\",\"name\":\"random\",\"propellant\":\"%s\","
             "\"case\":{\"bore\":\"%.9g m\",\"length\":\"%.9g m\"},\"grains\":[%s],"
             "\"nozzle\":{\"throat_diameter\":\"%.9g m\",\"exit_diameter\":\"%.9g m\"},"
             "\"ignition\":{\"pressure\":\"%.9g Pa\",\"spread_time\":\"%.9g s\"},"
             "\"conditions\":{\"ambient_pressure\":\"%.9g Pa\"}}",
             propellant, outer * 1.05, count * (length + 2e-3) + uniform(state, 0.0, 0.05), grains, throat,
             throat * uniform(state, 1.2, 4.0), uniform(state, 0.3e6, 3e6), uniform(state, 0.0, 0.1),
             uniform(state, 0.0, 101325.0));
}

static int is_finite_run(const struct sm_result *r)
{
    const struct sm_column *columns;
    const size_t n = sm_result_columns(r, &columns);
    for (size_t c = 0; c < n; c++) {
        const double *y = sm_result_column(r, c);
        for (size_t i = 0; y && i < r->series.n; i++)
            if (!isfinite(y[i]))
                return 0;
    }
    return isfinite(r->thrust.total_impulse) && isfinite(r->thrust.burn_time);
}

Test(books, random_motors_are_finite_and_balanced)
{
    enum { N = 200 };
    const uint64_t seed = 20261125;
    uint64_t state = seed;
    size_t n_unanswered = 0;
    struct sm_units *units = NULL;
    struct sm_error err = {0};
    cr_assert(sm_units_open(&units, &err) == SM_OK);
    for (int i = 0; i < N; i++) {
        char text[1400];
        struct sm_result *r = NULL;
        random_text(&state, text, sizeof text);
        struct sm_motor *motor = load_sharing(text, NULL, 0, units);
        const struct sm_run_options options = {.accuracy = 1e-4, .without_warnings = true};
        const enum sm_status status = sm_simulate(motor, &options, NULL, &r, &err);
        cr_expect(status == SM_OK || status == SM_E_PHYSICS, "seed %llu, motor %d: %s\n%s",
                  (unsigned long long)seed, i, err.message, text);
        n_unanswered += status == SM_E_PHYSICS;
        if (r) {
            cr_expect(is_finite_run(r) && r->complete, "seed %llu, motor %d\n%s", (unsigned long long)seed, i,
                      text);
            cr_expect(r->statistics.mass_residual < 1e-5, "seed %llu, motor %d: books off by %g\n%s",
                      (unsigned long long)seed, i, r->statistics.mass_residual, text);
        }
        sm_result_free(r);
        sm_motor_free(motor);
    }
    cr_expect(n_unanswered <= N / 20, "%zu motors without an answer", n_unanswered);
    sm_units_free(units);
}
