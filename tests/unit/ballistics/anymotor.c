/*
 * Motors drawn at random from every registered shape: all numbers finite and in order, the books closed, impulse the area
 * under the curve, and in a vacuum the two models apart by the gas they leave in the chamber, which is an identity.
 */
#include "bench_motor.h"

#include <stdint.h>
#include <stdio.h>

#include "grain/shape.h"

static const double pi = 3.14159265358979323846;

/* Uniform in [low, high), by a linear congruential generator (Knuth's MMIX constants). */
static double uniform(uint64_t *state, double low, double high)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return low + (high - low) * (double)(*state >> 11) * 0x1p-53;
}

/* Size and burning area of a shape's own example. */
struct sample {
    const struct sm_shape *shape;
    double outer, length, area; /* [m], [m], mean [m2] */
};

static void write_motor(const char *example, const char *propellant, double bore, double length,
                        double throat, double exit, double ignition, double spread, double ambient,
                        char *text, size_t size)
{
    snprintf(text, size,
             "{\"format\":\"slowmatch-motor/1\",\"name\":\"any\",\"propellant\":\"%s\","
             "\"case\":{\"bore\":\"%.9g m\",\"length\":\"%.9g m\"},\"grains\":[%s],"
             "\"nozzle\":{\"throat_diameter\":\"%.9g m\",\"exit_diameter\":\"%.9g m\"},"
             "\"ignition\":{\"pressure\":\"%.9g Pa\",\"spread_time\":\"%.9g s\"},"
             "\"conditions\":{\"ambient_pressure\":\"%.9g Pa\"}}",
             propellant, bore, length, example, throat, exit, ignition, spread, ambient);
}

static struct sample sample_of(const struct sm_shape *shape, struct sm_units *units)
{
    char text[4096];
    write_motor(shape->example, "generic-g", 1.0, 1.0, 0.01, 0.02, 1e6, 0.0, 0.0, text, sizeof text);
    struct sm_motor *motor = load_sharing(text, NULL, 0, units);
    struct sm_grain_facts facts;
    sm_motor_grain(motor, 0, &facts);
    const struct sample s = {shape, facts.outer_diameter, facts.length, facts.area_mean};
    sm_motor_free(motor);
    return s;
}

static void expect_order(const struct sm_result *r, const char *text)
{
    const struct sm_series *s = &r->series;
    const struct sm_column *columns;
    const size_t n = sm_result_columns(r, &columns);
    for (size_t c = 0; c < n; c++) {
        const double *y = sm_result_column(r, c);
        for (size_t i = 0; y && i < s->n; i++)
            cr_assert(isfinite(y[i]), "%s, row %zu: %g\n%s", columns[c].name, i, y[i], text);
    }
    /* rounding of the volumes, which come of differences */
    const double grain = 1e-9 * s->propellant_mass[0];
    for (size_t i = 1; i < s->n; i++) {
        cr_expect(s->time[i] >= s->time[i - 1] && s->web[i] >= s->web[i - 1], "row %zu\n%s", i, text);
        cr_expect(s->propellant_mass[i] <= s->propellant_mass[i - 1] + grain, "row %zu: mass grows\n%s", i,
                  text);
        cr_expect(s->thrust[i] >= 0.0 && s->mass_flow[i] >= 0.0 && s->pressure[i] > 0.0 &&
                      s->burn_area[i] >= 0.0,
                  "row %zu\n%s", i, text);
        cr_expect(s->inertia_axial[i] >= -1e-9 * s->inertia_axial[0] && s->inertia_transverse[i] >= 0.0,
                  "row %zu\n%s", i, text);
    }
}

static void expect_impulse(const struct sm_motor *motor, const struct sm_result *r, const char *text)
{
    const struct sm_series *s = &r->series;
    double sum = 0.0, slope = 0.0;
    const double exit = motor->spec.nozzle.exit_diameter, push = motor->ambient * 0.25 * pi * exit * exit;
    for (size_t i = 0; i < s->n; i++) {
        slope = fmax(slope, (s->thrust[i] + push) / s->pressure[i]);
        sum += i > 0 ? 0.5 * (s->thrust[i] + s->thrust[i - 1]) * (s->time[i] - s->time[i - 1]) : 0.0;
    }
    /* Straight lines are true to the accuracy of the peak pressure: ballistics/trace.h. */
    const double most = slope * r->chamber.pressure_maximum * s->time[s->n - 1] * r->statistics.accuracy;
    cr_expect(fabs(sum - r->thrust.total_impulse) < most, "impulse %.9g, area %.9g\n%s",
              r->thrust.total_impulse, sum, text);
}

/* In a vacuum impulse is mass let out times one velocity. What the transient model lets out is propellant burned and gas at the
 * start less gas at the end; the quasi-steady one keeps, at every instant, the gas that fills what has burned. */
static void expect_storage(const struct sm_motor *motor, const struct sm_result *transient,
                           const struct sm_result *steady, const char *text)
{
    const struct sm_series *a = &transient->series, *b = &steady->series;
    const double rt = motor->gas.rt, density = motor->spec.propellant.density;
    const double velocity = a->thrust[0] / a->mass_flow[0];
    const double burned = a->propellant_mass[0] - a->propellant_mass[a->n - 1];
    const double left = a->pressure[a->n - 1] * (motor->case_volume - a->propellant_mass[a->n - 1] / density);
    const double out = burned + (a->pressure[0] * motor->free_volume - left) / rt;
    cr_expect(relative(transient->thrust.total_impulse, velocity * out) < 1e-4, "impulse %.9g, mass %.9g\n%s",
              transient->thrust.total_impulse, velocity * out, text);
    double kept = 0.0;
    for (size_t i = 1; i < b->n; i++)
        kept += 0.5 * (b->pressure[i] + b->pressure[i - 1]) *
                (b->propellant_mass[i - 1] - b->propellant_mass[i]) / (density * rt);
    const double out_steady = b->propellant_mass[0] - b->propellant_mass[b->n - 1] - kept;
    cr_expect(relative(steady->thrust.total_impulse, velocity * out_steady) < 1e-4,
              "impulse %.9g, mass %.9g\n%s", steady->thrust.total_impulse, velocity * out_steady, text);
}

static void try_one(uint64_t *state, const struct sample *samples, size_t n, struct sm_units *units,
                    size_t *unanswered)
{
    char text[4096];
    struct sm_error err = {0};
    const struct sample *s = &samples[(size_t)uniform(state, 0.0, (double)n)];
    const char *propellant =
        shipped_propellants[(size_t)uniform(state, 0.0, (double)SM_COUNT(shipped_propellants))];
    const double kn = uniform(state, 100.0, 400.0),
                 throat = fmin(0.9 * s->outer, sqrt(4.0 / pi * s->area / kn));
    const double ambient = uniform(state, 0.0, 1.0) < 0.5 ? 0.0 : uniform(state, 1e3, 101325.0);
    const double exit = throat * uniform(state, 1.1, 3.5), ignition = uniform(state, 0.3e6, 4e6);
    const double spread = fmax(0.0, uniform(state, -0.05, 0.1));
    write_motor(s->shape->example, propellant, 1.03 * s->outer, s->length + uniform(state, 0.001, 0.03),
                throat, exit, ignition, spread, ambient, text, sizeof text);
    struct sm_motor *motor = load_sharing(text, NULL, 0, units);
    struct sm_result *r[2] = {NULL, NULL};
    for (int m = 0; m < 2; m++) {
        const struct sm_run_options options = {.model = m == 0 ? SM_MODEL_TRANSIENT : SM_MODEL_EQUILIBRIUM,
                                               .accuracy = 1e-4,
                                               .without_warnings = true};
        const enum sm_status status = sm_simulate(motor, &options, NULL, &r[m], &err);
        cr_expect(status == SM_OK || status == SM_E_PHYSICS, "%s\n%s", err.message, text);
        *unanswered += status == SM_E_PHYSICS;
        if (r[m]) {
            expect_order(r[m], text);
            cr_expect(r[m]->complete && r[m]->statistics.mass_residual < 1e-5, "books off by %g\n%s",
                      r[m]->statistics.mass_residual, text);
        }
    }
    if (r[0])
        expect_impulse(motor, r[0], text);
    if (r[0] && r[1] && ambient == 0.0)
        expect_storage(motor, r[0], r[1], text);
    sm_result_free(r[0]);
    sm_result_free(r[1]);
    if (s->shape->section || s->shape->meridian) {
        r[0] = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
        cr_expect(r[0]->statistics.mass_residual < 1e-9, "books off by %g\n%s",
                  r[0]->statistics.mass_residual, text);
        sm_result_free(r[0]);
    }
    sm_motor_free(motor);
}

Test(anymotor, keeps_its_books_whatever_its_shape)
{
    enum { N = 200, MOST_SHAPES = 64 };
    const uint64_t seed = 1976;
    uint64_t state = seed;
    struct sample samples[MOST_SHAPES];
    size_t n = 0, unanswered = 0;
    struct sm_units *units = NULL;
    cr_assert(sm_units_open(&units, NULL) == SM_OK);
    for (; sm_shape_list[n] && n < MOST_SHAPES; n++)
        samples[n] = sample_of(sm_shape_list[n], units);
    for (int i = 0; i < N; i++)
        try_one(&state, samples, n, units, &unanswered);
    cr_expect(unanswered <= 2 * N / 20, "seed %llu: %zu runs without an answer", (unsigned long long)seed,
              unanswered);
    sm_units_free(units);
}
