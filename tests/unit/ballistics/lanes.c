/*
 * The march in lanes against the general one at a hundredfold and more of its accuracy, on motors drawn at random from every
 * registered shape, shipped propellant and kind of ignition; what holds of it exactly: the books, and independence of
 * neighbours and of the instruction set.
 */
#include "ballistics/lanes.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "bench_motor.h"
#include "curve/curve.h"
#include "grain/shape.h"

static const double pi = 3.14159265358979323846;

/* Uniform in [low, high), by a linear congruential generator (Knuth's MMIX constants). */
static double uniform(uint64_t *state, double low, double high)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return low + (high - low) * (double)(*state >> 11) * 0x1p-53;
}

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

/* Facts of each shape's example, made once: some take long. */
static struct sm_grain_facts facts_of(size_t shape, struct sm_units *units)
{
    static struct sm_grain_facts known[256];
    char text[4096];
    cr_assert(shape < SM_COUNT(known));
    if (known[shape].length > 0.0)
        return known[shape];
    write_motor(sm_shape_list[shape]->example, "generic-g", 1.0, 1.0, 0.01, 0.02, 1e6, 0.0, 0.0, text,
                sizeof text);
    struct sm_motor *sample = load_sharing(text, NULL, 0, units);
    sm_motor_grain(sample, 0, &known[shape]);
    sm_motor_free(sample);
    return known[shape];
}

/* A motor whose Kn is usual, with the exit wide or narrow, lit at once or slowly, in vacuum or on the ground. */
static struct sm_motor *draw(uint64_t *state, struct sm_units *units)
{
    char text[4096];
    size_t n_shapes = 0;
    while (sm_shape_list[n_shapes])
        n_shapes++;
    const size_t shape = (size_t)uniform(state, 0.0, (double)n_shapes);
    const char *propellant =
        shipped_propellants[(size_t)uniform(state, 0.0, (double)SM_COUNT(shipped_propellants))];
    const struct sm_grain_facts facts = facts_of(shape, units);
    const double kn = uniform(state, 100.0, 400.0);
    const double throat = fmin(0.9 * facts.outer_diameter, sqrt(4.0 / pi * facts.area_mean / kn));
    const double ambient = uniform(state, 0.0, 1.0) < 0.3 ? 0.0 : uniform(state, 5e4, 101325.0);
    const double exit = throat * uniform(state, 1.1, 3.5), ignition = uniform(state, 0.3e6, 4e6);
    const double spread = fmax(0.0, uniform(state, -0.02, 0.06));
    write_motor(sm_shape_list[shape]->example, propellant, 1.03 * facts.outer_diameter,
                facts.length + uniform(state, 0.001, 0.03), throat, exit, ignition, spread, ambient, text,
                sizeof text);
    return load_sharing(text, NULL, 0, units);
}

struct drawn {
    struct sm_motor *motor;
    struct sm_chamber chamber;
    struct sm_lane_table table;
    struct sm_arena arena;
    int is_carried;
};

static void ready(struct drawn *d, struct sm_motor *motor)
{
    d->motor = motor;
    sm_arena_init(&d->arena, NULL);
    cr_assert_eq(sm_chamber_init(&d->chamber, motor, motor->spec.conditions.grain_temperature, SM_ABSENT,
                                 &d->arena, NULL),
                 SM_OK);
    d->is_carried = sm_lane_table_make(&d->table, &d->chamber);
}

static void release(struct drawn *d)
{
    sm_arena_release(&d->arena);
    sm_motor_free(d->motor);
}

struct tally {
    size_t n, carried, failed;
    double impulse, time, pressure; /* largest deviations of total impulse, burn time, peak pressure [1] */
    double mean_impulse, mean_time; /* [1] */
};

static void compare(const struct drawn *d, const struct sm_lane_curve *c, struct tally *tally)
{
    struct sm_result *r = NULL;
    const struct sm_run_options options = {.accuracy = 1e-6, .without_warnings = true};
    if (sm_simulate(d->motor, &options, NULL, &r, NULL) != SM_OK)
        return;
    struct sm_curve_numbers numbers;
    const struct sm_curve curve = {.time = c->time, .thrust = c->thrust, .pressure = c->pressure, .n = c->n};
    cr_assert_eq(
        sm_curve_numbers(&curve, &(struct sm_curve_rule){.ambient = d->motor->ambient}, &numbers, NULL),
        SM_OK);
    const double impulse = relative(c->impulse, r->thrust.total_impulse);
    const double time = relative(numbers.burn_time, r->thrust.burn_time);
    const double pressure = relative(numbers.pressure_maximum, r->chamber.pressure_maximum);
    tally->n++;
    tally->impulse = fmax(tally->impulse, impulse);
    tally->time = fmax(tally->time, time);
    tally->pressure = fmax(tally->pressure, pressure);
    tally->mean_impulse += impulse;
    tally->mean_time += time;
    sm_result_free(r);
}

static void try_eight(uint64_t *state, struct sm_units *units, struct sm_lanes *lanes, struct tally *tally)
{
    static struct drawn drawn[SM_LANES];
    struct sm_lane_curve curve;
    sm_lanes_clear(lanes);
    for (int i = 0; i < SM_LANES; i++) {
        ready(&drawn[i], draw(state, units));
        drawn[i].is_carried =
            drawn[i].is_carried && sm_lanes_load(lanes, i, &drawn[i].chamber, &drawn[i].table);
    }
    sm_lanes_march(lanes, sm_lane_set_best());
    for (int i = 0; i < SM_LANES; i++) {
        struct sm_lane_nozzle nozzle;
        sm_lane_nozzle_make(&nozzle, &drawn[i].chamber.jet);
        const int done = drawn[i].is_carried && sm_lanes_curve(lanes, i, &nozzle, &curve);
        tally->carried += (size_t)drawn[i].is_carried;
        tally->failed += drawn[i].is_carried && !done;
        if (done)
            compare(&drawn[i], &curve, tally);
        release(&drawn[i]);
    }
}

Test(lanes, keep_to_the_general_march)
{
    enum { ROUNDS = 12 };
    uint64_t state = 20;
    struct tally tally = {0};
    struct sm_units *units = NULL;
    struct sm_lanes *lanes = malloc(sizeof *lanes);
    cr_assert(lanes && sm_units_open(&units, NULL) == SM_OK);
    for (int i = 0; i < ROUNDS; i++)
        try_eight(&state, units, lanes, &tally);
    cr_expect(tally.impulse < 1e-4, "impulse off by %g", tally.impulse);
    /* A burn that ends in a long sliver has its 5 % of thrust on a flat slope. */
    cr_expect(tally.time < 1e-2, "burn time off by %g", tally.time);
    cr_expect(tally.mean_time / (double)tally.n < 5e-4, "%g on average", tally.mean_time / (double)tally.n);
    cr_expect(tally.pressure < 2e-3, "peak pressure off by %g", tally.pressure);
    cr_expect(tally.mean_impulse / (double)tally.n < 1e-5, "%g on average",
              tally.mean_impulse / (double)tally.n);
    cr_expect(tally.n >= 80, "%zu were carried and compared", tally.n);
    free(lanes);
    sm_units_free(units);
}

/* All sets give the same bits, and so does a lane whatever stands beside it. */
Test(lanes, give_the_same_bits_everywhere)
{
    enum { N = SM_LANES };
    static struct drawn drawn[N];
    static struct sm_lanes first, other;
    struct sm_units *units = NULL;
    uint64_t state = 7;
    cr_assert(sm_units_open(&units, NULL) == SM_OK);
    sm_lanes_clear(&first);
    for (int i = 0; i < N; i++) {
        ready(&drawn[i], draw(&state, units));
        if (drawn[i].is_carried)
            sm_lanes_load(&first, i, &drawn[i].chamber, &drawn[i].table);
    }
    sm_lanes_march(&first, SM_LANE_PLAIN);
    for (int set = SM_LANE_PLAIN; set <= (int)sm_lane_set_best(); set++) {
        for (int alone = 0; alone < N; alone++) {
            sm_lanes_clear(&other);
            if (!drawn[alone].is_carried ||
                !sm_lanes_load(&other, N - 1 - alone, &drawn[alone].chamber, &drawn[alone].table))
                continue;
            sm_lanes_march(&other, (enum sm_lane_set)set);
            cr_expect_eq(first.failed[alone], other.failed[N - 1 - alone]);
            for (int k = 0; k < SM_LANE_MARCHED && !first.failed[alone]; k++)
                cr_expect(first.time[k][alone] == other.time[k][N - 1 - alone] &&
                              first.pressure[k][alone] == other.pressure[k][N - 1 - alone] &&
                              first.area_under[k][alone] == other.area_under[k][N - 1 - alone],
                          "set %d, motor %d, node %d", set, alone, k);
        }
    }
    for (int i = 0; i < N; i++)
        release(&drawn[i]);
    sm_units_free(units);
}

/* In a vacuum impulse is mass let out times one velocity, thrust a pascal times c* over A_t: propellant and the gas at the start less what
 * is left at the end, when thrust is a thousandth of its peak. Conservation of mass. */
Test(lanes, close_their_books)
{
    struct drawn d;
    static struct sm_lanes lanes;
    struct sm_lane_curve curve;
    struct sm_lane_nozzle nozzle;
    ready(&d, load_text(tubes_text, NULL, 0));
    sm_lane_nozzle_make(&nozzle, &d.chamber.jet);
    sm_lanes_clear(&lanes);
    cr_assert(sm_lanes_load(&lanes, 3, &d.chamber, &d.table));
    sm_lanes_march(&lanes, sm_lane_set_best());
    cr_assert(sm_lanes_curve(&lanes, 3, &nozzle, &curve));
    const double velocity = d.chamber.jet.thrust_slope * d.chamber.jet.cstar / d.chamber.jet.throat_area;
    const double left = curve.pressure[curve.n - 1] * d.chamber.volume_empty / d.chamber.rt;
    cr_expect(relative(curve.impulse, velocity * (d.chamber.loaded - left)) < 1e-9, "%g",
              relative(curve.impulse, velocity * (d.chamber.loaded - left)));
    release(&d);
}
