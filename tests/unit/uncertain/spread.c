/* Spreads of an end burner against closed forms, of pairs against what independence and sameness mean, and shards against one
 * process. */
#include <math.h>
#include <string.h>

#include "base/sink.h"
#include "base/text.h"
#include "slowmatch/spread.h"
#include "uncertain/samples.h"
#include "unit/ballistics/bench_motor.h"

#define END(tolerances)                                                                                      \
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"end\",\"propellant\":\"demo-slow-composite\","             \
    "\"case\":{\"bore\":\"30 mm\",\"length\":\"120 mm\",\"burst_pressure\":\"14 MPa\"},"                     \
    "\"grains\":[{\"shape\":\"end-burner\",\"outer_diameter\":\"29 mm\",\"length\":\"88 mm\"}],"             \
    "\"nozzle\":{\"throat_diameter\":\"2 mm\",\"exit_diameter\":\"4 mm\"},\"tolerances\":[" tolerances "]}"

#define CURVE(tolerances)                                                                                    \
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"bought\",\"curve\":{"                                      \
    "\"time\":{\"unit\":\"s\",\"values\":[0,0.1,2,2.1]},\"thrust\":{\"unit\":\"N\",\"values\":[0,10,10,0]}," \
    "\"loaded_mass\":\"80 g\",\"propellant_mass\":\"12 g\",\"length\":\"0.1 m\",\"diameter\":\"29 mm\","     \
    "\"ignition_delay\":\"0.1 s\",\"tolerances\":[" tolerances "]}}"

static struct sm_spread *spread_of(const char *text, struct sm_spread_options options)
{
    struct sm_motor *motor = load_text(text, NULL, 0);
    struct sm_spread *spread = NULL;
    struct sm_error err = {0};
    cr_assert_eq(sm_spread_run(motor, &options, NULL, &spread, &err), SM_OK, "%s", err.message);
    sm_motor_free(motor);
    return spread;
}

static const struct sm_distribution *find(const struct sm_spread *s, const char *name)
{
    for (size_t i = 0; i < s->n_distributions; i++)
        if (strcmp(s->distributions[i].name, name) == 0)
            return &s->distributions[i];
    cr_assert_fail("no %s", name);
    return NULL;
}

/* Pressure of an end burner goes as rate^(1/(1-n)), so the median of one is that of the other and the percentiles are
 * P0 exp(z sigma)-like: at z = -+0.99446 (16 and 84 %) they are P0 (1 -+ 0.99446 sigma)^(1/(1-n)). Sutton and Biblarz, Rocket
 * Propulsion Elements, ch. 12, equilibrium pressure. Impulse goes as the mass, all else staying. */
Test(spread, of_an_end_burner_is_the_closed_form)
{
    const double z = 0.99445788320975, sigma = 0.02, n = 0.42; /* the exponent of demo-slow-composite */
    struct sm_spread *s = spread_of(END("{\"of\":\"/propellant/burn_rate\",\"normal\":\"2 %\"}"),
                                    (struct sm_spread_options){.n = 1024, .seed = 1});
    const struct sm_distribution *p = find(s, "pressure_maximum");
    cr_expect(fabs(p->level[3] / p->level[2] / pow(1.0 + z * sigma, 1.0 / (1.0 - n)) - 1.0) < 1e-3, "%g",
              p->level[3] / p->level[2]);
    cr_expect(fabs(p->level[1] / p->level[2] / pow(1.0 - z * sigma, 1.0 / (1.0 - n)) - 1.0) < 1e-3, "%g",
              p->level[1] / p->level[2]);
    sm_spread_free(s);
    s = spread_of(END("{\"of\":\"/grains/0/length\",\"uniform\":\"1 %\"}"),
                  (struct sm_spread_options){.n = 1024, .seed = 1});
    const struct sm_distribution *i = find(s, "total_impulse");
    cr_expect(fabs(i->deviation / i->mean / (0.01 / sqrt(3.0)) - 1.0) < 5e-3, "%g", i->deviation / i->mean);
    sm_spread_free(s);
}

/* The difference of two that are independent has sqrt(2) times the deviation of one, of two that share all it has none. */
Test(spread, of_a_pair_is_root_two_or_nothing)
{
    const struct sm_spread_options options = {.n = 4096, .seed = 3, .pair = {.is_pair = true}};
    struct sm_spread *own = spread_of(CURVE("{\"of\":\"/impulse_scale\",\"normal\":\"2 %\"}"), options);
    struct sm_spread *shared =
        spread_of(CURVE("{\"of\":\"/impulse_scale\",\"normal\":\"2 %\",\"batch\":true}"), options);
    const double one = find(own, "total_impulse")->deviation,
                 two = find(own, "impulse_difference")->deviation;
    cr_expect(fabs(two / one / sqrt(2.0) - 1.0) < 0.01, "%g", two / one);
    cr_expect_eq(own->n_inputs, 2);
    cr_expect_eq(shared->n_inputs, 1);
    cr_expect(find(shared, "impulse_difference")->maximum == 0.0);
    cr_expect(find(shared, "thrust_difference_maximum")->maximum == 0.0);
    sm_spread_free(own);
    sm_spread_free(shared);
}

/* Moment of a difference of thrusts: dF ((s/2) cos d - L sin d), none at tan d = s / (2 L); plane statics. The scatter of two
 * igniters differs by sqrt(2) times one's. */
Test(spread, of_a_pair_has_the_moment_of_statics)
{
    const double s_ = 0.04, arm = 0.5, splay = 0.05, scatter = 0.01;
    struct sm_spread *s = spread_of(
        CURVE("{\"of\":\"/impulse_scale\",\"normal\":\"2 %\"}"),
        (struct sm_spread_options){
            .n = 2048,
            .seed = 3,
            .pair = {
                .is_pair = true, .spacing = s_, .arm = arm, .splay = splay, .ignition_scatter = scatter}});
    const struct sm_distribution *ignition = find(s, "ignition_difference");
    cr_expect_float_eq(s->moment_arm, 0.5 * s_ * cos(splay) - arm * sin(splay), 1e-15);
    cr_expect_float_eq(tan(s->neutral_splay), s_ / (2.0 * arm), 1e-15);
    cr_expect(fabs(ignition->deviation / scatter / sqrt(2.0) - 1.0) < 0.02, "%g", ignition->deviation);
    for (size_t i = 0; i < s->n_bands; i++)
        if (strcmp(s->bands[i].name, "moment") == 0)
            for (size_t k = 0; k < s->n_instants; k++) /* a negative arm here: high is low */
                cr_expect_float_eq(s->bands[i].level[0][k], s->moment_arm * s->bands[i - 1].level[4][k],
                                   1e-12);
    sm_spread_free(s);
}

/* Ten newtons from 0.2 s to 2.1 s of twenty newton seconds in all: at 1.15 s half is left of motors that share their shape in time, and L is
 * half way from arm to arm_empty; plane statics. */
Test(spread, of_a_pair_has_an_arm_that_moves)
{
    const double splay = 0.05;
    struct sm_spread *s = spread_of(
        CURVE("{\"of\":\"/impulse_scale\",\"normal\":\"2 %\"}"),
        (struct sm_spread_options){
            .n = 256,
            .seed = 3,
            .pair = {.is_pair = true, .spacing = 0.0, .arm = 0.5, .arm_empty = 0.3, .splay = splay}});
    size_t b = 0, k = 0;
    while (b < s->n_bands && strcmp(s->bands[b].name, "moment") != 0)
        b++;
    cr_assert(b > 0 && b < s->n_bands);
    while (s->time[k + 1] < 1.15)
        k++;
    const double left = 1.0 - (0.5 + 10.0 * (s->time[k] - 0.2)) / 20.0, arm = 0.3 + 0.2 * left;
    const double want = -arm * sin(splay) * s->bands[b - 1].level[4][k];
    cr_expect(fabs(s->bands[b].level[0][k] / want - 1.0) < 2e-3, "%g, %g", s->bands[b].level[0][k], want);
    sm_spread_free(s);
}

/* Hotter by dT burns faster by exp(sigma_p dT / (1 - n)), Sutton and Biblarz, Rocket Propulsion Elements, ch. 12, so it burns
 * out earlier by that share of the time that the web takes, L / (rate (P/at)^n). */
Test(spread, of_a_pair_in_the_sun_is_offset)
{
    struct sm_spread *s =
        spread_of(END("{\"of\":\"/propellant/density\",\"normal\":\"0.1 %\",\"batch\":true}"),
                  (struct sm_spread_options){
                      .n = 16, .seed = 1, .pair = {.is_pair = true, .temperature_difference = 10.0}});
    /* demo-slow-composite: 4.1 mm/s at 1 MPa, n 0.42, sigma_p 0.002 1/K */
    const double web_time = 0.088 / (4.1e-3 * pow(find(s, "pressure_maximum")->mean / 1e6, 0.42));
    const double earlier = find(s, "burnout_difference")->mean;
    cr_expect(fabs(earlier / (web_time * (1.0 - exp(-0.02 / 0.58))) - 1.0) < 0.01, "%g s", earlier);
    sm_spread_free(s);
}

/* Two motors that differ by nothing but the instants of their igniters, each a normal law's: the offset is half-normal, its mean
 * 2 scatter / sqrt(pi), and on a rise of 100 N/s the thrusts then differ by 100 N/s times it; N. Johnson, S. Kotz, N. Balakrishnan,
 * Continuous Univariate Distributions 1, 1994, sec. 13.10 (from memory). A millisecond, far less than the time between instants. */
Test(spread, of_a_pair_sees_ignitions_that_lie_close_together)
{
    const double scatter = 1e-3, splay = 0.05;
    struct sm_spread *s = spread_of(
        CURVE("{\"of\":\"/impulse_scale\",\"normal\":\"0.1 %\",\"batch\":true}"),
        (struct sm_spread_options){
            .n = 4096,
            .seed = 3,
            .pair = {
                .is_pair = true, .spacing = 0.04, .arm = 0.5, .splay = splay, .ignition_scatter = scatter}});
    const double mean = 2.0 * scatter / sqrt(3.14159265358979323846);
    const double alone = find(s, "alone_at_ignition")->mean,
                 most = find(s, "thrust_difference_maximum")->mean;
    cr_expect(fabs(alone / mean - 1.0) < 0.01, "%g s", alone);
    cr_expect(fabs(find(s, "alone_at_burnout")->mean / mean - 1.0) < 0.01);
    cr_expect(fabs(most / (100.0 * mean) - 1.0) < 0.01, "%g N", most);
    cr_expect(fabs(find(s, "lateral_force_maximum")->mean / (most * sin(splay)) - 1.0) < 1e-12);
    cr_expect(fabs(find(s, "moment_maximum")->mean / (most * fabs(s->moment_arm)) - 1.0) < 1e-12);
    const struct sm_spread_band *lateral = &s->bands[s->n_bands - 1], *difference = s->bands;
    while (strcmp(difference->name, "thrust_difference") != 0)
        difference++;
    cr_expect_str_eq(lateral->name, "lateral_force");
    for (size_t k = 0; k < s->n_instants; k++)
        cr_expect_float_eq(lateral->level[4][k], sin(splay) * difference->level[4][k], 1e-15);
    sm_spread_free(s);
}

/* What is usual leaves no motor impossible, whatever stands at a bound: c* told as delivered, its efficiency 1, strays by 1 %
 * all the same, and impulse of an end burner with it by as much at least. */
Test(spread, by_what_is_usual_is_of_possible_motors)
{
    static const char *const gas[] = {"\"characteristic_velocity\":\"1300 m/s\"",
                                      "\"flame_temperature\":\"2300 K\",\"molar_mass\":\"23.5 g/mol\""};
    for (size_t k = 0; k < SM_COUNT(gas); k++) {
        char text[1200];
        sm_text_format(
            text, sizeof text,
            "{\"format\":\"slowmatch-motor/1\",\"name\":\"end\",\"propellant\":{\"format\":"
            "\"slowmatch-propellant/1\",\"name\":\"own\",\"density\":\"1680 kg/m3\",\"burn_rate\":[{"
            "\"from\":\"0.3 MPa\",\"to\":\"8 MPa\",\"rate\":\"4.1 mm/s\",\"at\":\"1 MPa\","
            "\"exponent\":0.42}],%s,\"gamma\":1.22,\"source\":\"invented\",\"standing\":\"invented\"},"
            "\"case\":{\"bore\":\"30 mm\",\"length\":\"120 mm\"},"
            "\"grains\":[{\"shape\":\"end-burner\",\"outer_diameter\":\"29 mm\",\"length\":\"88 mm\"}],"
            "\"nozzle\":{\"throat_diameter\":\"2 mm\",\"exit_diameter\":\"4 mm\","
            "\"thrust_efficiency\":%s}}",
            gas[k], k ? "1" : "0.99");
        struct sm_spread *s = spread_of(text, (struct sm_spread_options){.n = 512, .seed = 1});
        cr_expect_eq(s->n_impossible, 0, "%s: %s", gas[k], s->reasons[0]);
        cr_expect_eq(s->n_inputs, k ? 5 : 6, "an efficiency of 1 has nowhere to stray");
        const struct sm_distribution *i = find(s, "total_impulse");
        cr_expect(i->deviation / i->mean > 0.01, "%g", i->deviation / i->mean);
        sm_spread_free(s);
    }
}

static void write_json(const struct sm_spread *s, struct sm_memory_sink *to)
{
    sm_memory_sink_init(to, NULL);
    cr_assert_eq(sm_spread_write_json(s, &to->sink, NULL), SM_OK);
}

static void expect_same(const struct sm_spread *a, const struct sm_spread *b, const char *what)
{
    struct sm_memory_sink x, y;
    write_json(a, &x);
    write_json(b, &y);
    cr_expect(x.n == y.n && memcmp(x.bytes, y.bytes, x.n) == 0, "%s", what);
    sm_memory_sink_release(&x);
    sm_memory_sink_release(&y);
}

#define SOME                                                                                                 \
    "{\"of\":\"/impulse_scale\",\"normal\":\"2 %\"},{\"of\":\"/ignition_delay\",\"normal\":\"0.05 s\"},"     \
    "{\"of\":\"/time_scale\",\"triangular\":\"3 %\",\"batch\":true}"

Test(spread, has_the_same_bits_from_any_number_of_threads)
{
    struct sm_spread_options options = {.n = 200, .seed = 9, .threads = 1};
    struct sm_spread *one = spread_of(CURVE(SOME), options);
    options.threads = 5;
    struct sm_spread *five = spread_of(CURVE(SOME), options);
    expect_same(one, five, "threads");
    options.seed = 10;
    struct sm_spread *other = spread_of(CURVE(SOME), options);
    cr_expect(find(other, "total_impulse")->mean != find(one, "total_impulse")->mean);
    sm_spread_free(one);
    sm_spread_free(five);
    sm_spread_free(other);
}

/* Delays of 0.1 s that stray by 0.05 s fall below 0, which can't be, with the chance Phi(-2) = 0.02275. */
Test(spread, counts_what_is_impossible)
{
    struct sm_spread *s = spread_of(CURVE(SOME), (struct sm_spread_options){.n = 4096, .seed = 2});
    cr_expect_eq(s->n_done, 4096);
    cr_expect(fabs((double)s->n_impossible / 4096.0 - 0.02275) < 0.001, "%zu", s->n_impossible);
    cr_expect(strstr(s->reasons[0], "ignition_delay"), "%s", s->reasons[0]);
    cr_expect_eq(find(s, "total_impulse")->n, 4096 - s->n_impossible);
    sm_spread_free(s);
}

Test(spread, shards_merge_to_the_same_bits)
{
    enum { K = 3 };
    struct sm_spread_options options = {.n = 200, .seed = 9, .pair = {.is_pair = true, .spacing = 0.05}};
    struct sm_spread *whole = spread_of(CURVE(SOME), options), *merged = NULL;
    struct sm_memory_sink bytes[K];
    struct sm_spread_part parts[K];
    struct sm_error err = {0};
    for (size_t k = 0; k < K; k++) {
        options.shard = K - k;
        options.of = K;
        struct sm_spread *shard = spread_of(CURVE(SOME), options);
        sm_memory_sink_init(&bytes[k], NULL);
        cr_assert_eq(sm_spread_pack(shard, &bytes[k].sink, NULL), SM_OK);
        parts[k] = (struct sm_spread_part){bytes[k].bytes, bytes[k].n, "part"};
        sm_spread_free(shard);
    }
    cr_assert_eq(sm_spread_merge(parts, K, &merged, &err), SM_OK, "%s", err.message);
    expect_same(whole, merged, "shards");
    sm_spread_free(merged);
    cr_expect_eq(sm_spread_merge(parts, K - 1, &merged, &err), SM_E_RANGE);
    cr_expect_str_eq(err.message, "shard 1/3 is missing");
    const struct sm_spread_part twice[] = {parts[0], parts[0], parts[1]};
    cr_expect_eq(sm_spread_merge(twice, K, &merged, &err), SM_E_RANGE);
    for (size_t n = 0; n < parts[0].n; n += 997) { /* cut anywhere */
        const struct sm_spread_part cut = {parts[0].bytes, n, "cut"};
        cr_expect_eq(sm_spread_merge(&cut, 1, &merged, NULL), SM_E_SYNTAX, "%zu bytes", n);
    }
    for (size_t k = 0; k < K; k++)
        sm_memory_sink_release(&bytes[k]);
    sm_spread_free(whole);
}

/* More values than Sobol points have columns: the others come from a Latin hypercube, and it says so. */
Test(spread, of_more_than_forty_values_uses_latin_columns)
{
    char text[12000];
    size_t n = (size_t)sm_text_format(
        text, sizeof text,
        "{\"format\":\"slowmatch-motor/1\",\"name\":\"many\",\"propellant\":\"demo-slow-composite\","
        "\"case\":{\"bore\":\"30 mm\",\"length\":\"1 m\"},"
        "\"nozzle\":{\"throat_diameter\":\"2 mm\",\"exit_diameter\":\"4 mm\"},\"grains\":[");
    for (int i = 0; i < 41; i++)
        n += (size_t)sm_text_format(
            text + n, sizeof text - n,
            "%s{\"shape\":\"end-burner\",\"outer_diameter\":\"29 mm\",\"length\":\"2 mm\"}", i ? "," : "");
    n += (size_t)sm_text_format(text + n, sizeof text - n, "],\"tolerances\":[");
    for (int i = 0; i < 41; i++)
        n += (size_t)sm_text_format(text + n, sizeof text - n,
                                    "%s{\"of\":\"/grains/%d/length\",\"normal\":\"1 %%\"}", i ? "," : "", i);
    sm_text_format(text + n, sizeof text - n, "]}");
    struct sm_spread *s = spread_of(text, (struct sm_spread_options){.n = 64, .seed = 1});
    cr_assert_eq(s->n_inputs, 41);
    cr_expect_not(s->inputs[39].is_latin);
    cr_expect(s->inputs[40].is_latin);
    /* Forty-one lengths that stray alone: impulse by 1 %/sqrt(41). */
    const struct sm_distribution *i = find(s, "total_impulse");
    cr_expect(fabs(i->deviation / i->mean / (0.01 / sqrt(41.0)) - 1.0) < 0.3, "%g", i->deviation / i->mean);
    sm_spread_free(s);
}

/* An additive output's indices are shares of the variance: impulse and thrust scale with 1.5 and 3 % make thrust stray by
 * 1.5^2 : 3^2. */
Test(spread, sensitivities_share_the_variance)
{
    struct sm_spread *s = spread_of(CURVE("{\"of\":\"/impulse_scale\",\"normal\":\"1.5 %\"},"
                                          "{\"of\":\"/thrust_scale\",\"normal\":\"3 %\"}"),
                                    (struct sm_spread_options){.n = 2048, .seed = 4, .sensitivity = true});
    cr_assert(s->sensitivity);
    cr_expect_float_eq(s->sensitivity[0 * SM_SENSITIVITY_FIGURES + 2].first, 0.2, 0.01);
    cr_expect_float_eq(s->sensitivity[1 * SM_SENSITIVITY_FIGURES + 2].total, 0.8, 0.01);
    cr_expect_float_eq(s->sensitivity[0 * SM_SENSITIVITY_FIGURES + 0].elasticity, 1.0, 1e-6);
    cr_expect_float_eq(s->sensitivity[1 * SM_SENSITIVITY_FIGURES + 1].elasticity, -1.0, 1e-2);
    sm_spread_free(s);
}

static int stop(void *user, double fraction)
{
    (void)user;
    return fraction > 0.3;
}

Test(spread, that_is_stopped_keeps_what_is_done)
{
    const struct sm_context context = {.progress = {.step = stop}};
    const struct sm_spread_options options = {.n = 400, .seed = 9, .threads = 1};
    struct sm_motor *motor = load_text(CURVE(SOME), NULL, 0);
    struct sm_spread *s = NULL;
    cr_assert_eq(sm_spread_run(motor, &options, &context, &s, NULL), SM_OK);
    cr_expect_not(s->complete);
    cr_expect_eq(s->n_done, 128); /* the first whole number of eights past three tenths */
    cr_expect_eq(find(s, "total_impulse")->n + s->n_impossible, 128);
    sm_spread_free(s);
    sm_motor_free(motor);
}

/* Once room was made for the first samples nothing more is asked for. */
struct counting {
    struct sm_allocator allocator;
    size_t n;
};
static void *count_alloc(void *user, size_t bytes)
{
    ((struct counting *)user)->n++;
    return malloc(bytes);
}
static void count_free(void *user, void *memory)
{
    (void)user;
    free(memory);
}

Test(spread, allocates_no_more_for_more_samples)
{
#ifdef SM_ARENA_DEBUG
    cr_skip("every request is its own in this build");
#endif
    struct counting counting = {{count_alloc, count_free, &counting}, 0};
    const struct sm_context context = {.allocator = &counting.allocator};
    struct sm_motor *motor = load_text(END("{\"of\":\"/grains/0/length\",\"normal\":\"1 %\"}"), NULL, 0);
    size_t asked[2];
    for (int i = 0; i < 2; i++) {
        const struct sm_spread_options options = {.n = i ? 400 : 100, .seed = 1, .threads = 1};
        struct sm_spread *s = NULL;
        counting.n = 0;
        cr_assert_eq(sm_spread_run(motor, &options, &context, &s, NULL), SM_OK);
        asked[i] = counting.n;
        sm_spread_free(s);
    }
    cr_expect(asked[1] <= asked[0] + 2, "%zu requests for 100 samples, %zu for 400", asked[0], asked[1]);
    sm_motor_free(motor);
}

/* Percentiles from motors burned in lanes against those of the same motors burned one by one by the general march, which an
 * accuracy below that of lanes asks for. Impulse and peak pressure to 1e-4 and 1e-3 of themselves, burn time to 1e-3. Regression
 * of one of our integrators against another, which the published cases of tests/unit/ballistics hold. */
Test(spread, in_lanes_is_that_of_the_general_march)
{
    const char *const files[] = {tubes_text, end_burner_text};
    for (size_t i = 0; i < SM_COUNT(files); i++) {
        struct sm_spread *fast = spread_of(files[i], (struct sm_spread_options){.n = 200, .seed = 5});
        struct sm_spread *slow =
            spread_of(files[i], (struct sm_spread_options){.n = 200, .seed = 5, .run = {.accuracy = 1e-6}});
        const struct {
            const char *name;
            double allowed; /* [1] */
        } rows[] = {{"total_impulse", 1e-4}, {"burn_time", 1e-3}, {"pressure_maximum", 1e-3}};
        for (size_t k = 0; k < SM_COUNT(rows); k++)
            for (int j = 0; j < SM_SPREAD_LEVELS; j++)
                cr_expect(relative(find(fast, rows[k].name)->level[j], find(slow, rows[k].name)->level[j]) <
                              rows[k].allowed,
                          "%s, level %d: %.9g, %.9g", rows[k].name, j, find(fast, rows[k].name)->level[j],
                          find(slow, rows[k].name)->level[j]);
        /* Where thrust falls by all of its peak in some milliseconds a hair of time is much of it: so the mean over time. */
        double off = 0.0;
        for (size_t k = 0; k < fast->n_instants; k++)
            off += fabs(fast->bands[0].level[2][k] - slow->bands[0].level[2][k]) / (double)fast->n_instants;
        cr_expect(off < 1e-3 * find(slow, "maximum")->level[2], "median thrust off by %g N on average", off);
        sm_spread_free(fast);
        sm_spread_free(slow);
    }
}

/* Parts of which no sample was done, as those of a spread stopped at once may be. */
Test(spread, of_nothing_done_is_told)
{
    struct sm_spread_samples *s =
        (struct sm_spread_samples *)spread_of(END("{\"of\":\"/propellant/burn_rate\",\"normal\":\"2 %\"}"),
                                              (struct sm_spread_options){.n = 4, .seed = 1});
    struct sm_error err = {0};
    memset(s->state, SM_SAMPLE_OPEN, s->count);
    cr_expect_eq(sm_samples_reckon(s, 1, &err), SM_E_CANCELLED);
    cr_expect(strstr(err.message, "stopped before the first sample was done"), "%s", err.message);
    sm_spread_free(&s->spread);
}
