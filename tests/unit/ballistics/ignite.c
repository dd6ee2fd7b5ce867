/* Igniters, flames that spread, and closures. */
#include "bench_motor.h"

#include "ballistics/ignition.h"

/* So slow a propellant that it gives nothing to speak of in a tenth of a second: 0.011 mm/s. */
static const char inert[] =
    "{\"format\":\"slowmatch-propellant/1\",\"name\":\"inert\",\"density\":\"1700 kg/m3\","
    "\"burn_rate\":[{\"from\":\"1 kPa\",\"to\":\"50 MPa\",\"rate\":\"0.011 mm/s\",\"at\":\"1 "
    "MPa\",\"exponent\":0}],"
    "\"characteristic_velocity\":\"1400 m/s\",\"gamma\":1.22,\"source\":\"invented for this test\","
    "\"standing\":\"invented\"}";

/* A closed chamber of fixed volume takes all that the igniter gives: P = P0 + RT m(t) / V. The propellant's share, below
 * 2e-4 of it, and the closure's opening at that pressure follow from arithmetic. */
Test(ignite, an_igniter_fills_a_closed_chamber)
{
    static const struct sm_override change[] = {
        {"propellant", inert},
        {"nozzle.closure_pressure", "2 MPa"},
        {"ignition",
         "{\"spread_time\":\"10 s\",\"igniter\":{\"peak_flow\":\"20 g/s\",\"peak_time\":\"30 ms\","
         "\"duration\":\"100 ms\"}}"},
        {"conditions.ambient_pressure", "101325 Pa"}};
    struct sm_motor *motor = load_text(end_burner_text, change, SM_COUNT(change));
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
    const struct sm_series *s = &r->series;
    cr_expect_eq(s->pressure[0], 101325.0);
    size_t closed = 0;
    for (size_t i = 0; i < s->n && s->pressure[i] < 2e6 * (1.0 - 1e-9); i++, closed++) {
        const double t = s->time[i];
        const double given = t < 0.03 ? 0.5 * 0.02 * t * t / 0.03
                                      : 0.5 * 0.02 * 0.1 - 0.5 * 0.02 * (0.1 - t) * (0.1 - t) / 0.07;
        const double pressure = 101325.0 + motor->gas.rt * given / motor->free_volume;
        cr_expect(relative(s->pressure[i], pressure) < 2e-4, "%g s: %g Pa, not %g", t, s->pressure[i],
                  pressure);
        cr_expect_eq(s->thrust[i], 0.0);
        cr_expect_eq(s->mass_flow[i], 0.0);
    }
    cr_expect(closed > 3 && closed + 3 < s->n, "%zu of %zu rows closed", closed, s->n);
    cr_expect(s->thrust[closed + 1] > 0.0);
    cr_expect(r->statistics.mass_residual < 1e-9, "%g", r->statistics.mass_residual);
    sm_result_free(r);
    sm_motor_free(motor);
}

/* With a table in its place: the same triangle by its three points gives the same run. */
Test(ignite, a_table_says_what_a_triangle_says)
{
    static const char *const ways[] = {
        "{\"peak_flow\":\"20 g/s\",\"peak_time\":\"30 ms\",\"duration\":\"100 ms\"}",
        "{\"flow\":[{\"time\":\"0 s\",\"mass_flow\":\"0 g/s\"},{\"time\":\"30 ms\",\"mass_flow\":\"20 g/s\"},"
        "{\"time\":\"100 ms\",\"mass_flow\":\"0 g/s\"}]}"};
    double impulse[2], peak[2];
    for (int i = 0; i < 2; i++) {
        const struct sm_override change[] = {{"ignition.igniter", ways[i]}};
        struct sm_motor *motor = load_text(tubes_text, change, 1);
        struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
        cr_expect(r->statistics.mass_residual < 1e-9, "%g", r->statistics.mass_residual);
        impulse[i] = r->thrust.total_impulse;
        peak[i] = r->chamber.pressure_maximum;
        sm_result_free(r);
        sm_motor_free(motor);
    }
    cr_expect_eq(impulse[0], impulse[1]);
    cr_expect_eq(peak[0], peak[1]);
}

/* A table that begins and ends with flow jumps there; what it gives in all is the area under it. */
Test(ignite, a_table_may_begin_and_end_at_once)
{
    static const struct sm_override change[] = {
        {"ignition", "{\"pressure\":\"1 MPa\",\"spread_time\":\"15 ms\",\"igniter\":{\"flow\":[{\"time\":\"5 "
                     "ms\",\"mass_flow\":\"40 g/s\"},{\"time\":\"25 ms\",\"mass_flow\":\"60 g/s\"}]}}"}};
    struct sm_motor *motor = load_text(tubes_text, change, 1);
    struct sm_arena arena;
    struct sm_epoch *epochs;
    size_t n;
    sm_arena_init(&arena, NULL);
    cr_assert_eq(sm_epochs_make(motor, &arena, &epochs, &n, NULL), SM_OK);
    cr_assert_eq(n, 4);
    cr_expect_eq(sm_epoch_inflow(&epochs[0], 4e-3), 0.0);
    cr_expect_float_eq(sm_epoch_inflow(&epochs[1], 10e-3), 45e-3, 1e-15);
    cr_expect_float_eq(sm_epoch_lit(&epochs[1], 10e-3), 10.0 / 15.0, 1e-15);
    cr_expect_float_eq(sm_epoch_inflow(&epochs[2], 20e-3), 55e-3, 1e-15);
    cr_expect_eq(sm_epoch_lit(&epochs[2], 20e-3), 1.0);
    cr_expect_eq(sm_epoch_inflow(&epochs[3], 30e-3), 0.0);
    cr_expect_float_eq(sm_epochs_delivered(epochs, n, 15e-3), 10e-3 * 45e-3, 1e-15);
    cr_expect_float_eq(sm_epochs_delivered(epochs, n, 1.0), 20e-3 * 50e-3, 1e-15);
    sm_arena_release(&arena);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
    cr_expect(r->statistics.mass_residual < 1e-9, "%g", r->statistics.mass_residual);
    sm_result_free(r);
    sm_motor_free(motor);
}

/* ---- flames ---- */

/* Share of the surface of four tubes within z of the first one's fore face: walls in proportion, ends at once. */
static double tubes_within(double z)
{
    const double outer = 18e-3, bore = 7e-3, length = 58e-3, pitch = 60e-3;
    const double wall = 2.0 * bore * length, end = outer * outer - bore * bore;
    double lit = 0.0;
    for (int k = 0; k < 4; k++) {
        const double from = k * pitch;
        lit += wall * fmin(1.0, fmax(0.0, (z - from) / length));
        lit += (z > from) * end + (z > from + length) * end;
    }
    return lit / (4.0 * (wall + 2.0 * end));
}

Test(ignite, a_flame_lights_walls_as_it_runs_and_ends_at_once)
{
    static const struct sm_override change[] = {{"ignition.spread_speed", "20 m/s"}};
    struct sm_motor *motor = load_text(tubes_text, change, 1);
    struct sm_arena arena;
    struct sm_epoch *epochs;
    size_t n;
    sm_arena_init(&arena, NULL);
    cr_assert_eq(sm_epochs_make(motor, &arena, &epochs, &n, NULL), SM_OK);
    for (size_t i = 0; i < n; i++)
        for (double share = 0.1; share < 1.0; share += 0.2) {
            const double until = fmin(epochs[i].until, epochs[i].from + 1e-3);
            const double t = epochs[i].from + share * (until - epochs[i].from);
            cr_expect_float_eq(sm_epoch_lit(&epochs[i], t), tubes_within(20.0 * t), 1e-12, "at %g s", t);
        }
    cr_expect_float_eq(epochs[n - 1].from, 238e-3 / 20.0, 1e-12);
    sm_arena_release(&arena);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
    cr_expect(r->statistics.mass_residual < 1e-9, "%g", r->statistics.mass_residual);
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(ignite, an_end_burner_has_no_bore_for_a_flame_to_run_along)
{
    static const struct sm_override at_once[] = {{"ignition.spread_time", "0 s"}},
                                    slow[] = {{"ignition.spread_speed", "0.01 m/s"}};
    struct sm_motor *a = load_text(end_burner_text, at_once, 1), *b = load_text(end_burner_text, slow, 1);
    struct sm_result *ra = run_motor(a, SM_MODEL_TRANSIENT, 1e-6),
                     *rb = run_motor(b, SM_MODEL_TRANSIENT, 1e-6);
    cr_expect_eq(ra->thrust.total_impulse, rb->thrust.total_impulse);
    sm_result_free(ra);
    sm_result_free(rb);
    sm_motor_free(a);
    sm_motor_free(b);
}

static double burned_at(const struct sm_result *r)
{
    const struct sm_series *s = &r->series;
    size_t i = s->n - 1;
    while (i > 0 && !(s->burn_area[i] > 0.0))
        i--;
    return s->time[i];
}

/* What is lit late burns late: the quicker the flame, the nearer to a surface lit at once, in proportion. */
Test(ignite, a_quick_flame_is_all_at_once)
{
    static const char *const speeds[] = {"20 m/s", "100 m/s", "500 m/s"};
    static const struct sm_override at_once[] = {{"ignition.spread_time", "0 s"}};
    struct sm_motor *motor = load_text(tubes_text, at_once, 1);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6);
    double last = 0.0;
    for (size_t i = 0; i < SM_COUNT(speeds); i++) {
        const struct sm_override change[] = {{"ignition.spread_speed", speeds[i]}};
        struct sm_motor *other = load_text(tubes_text, change, 1);
        struct sm_result *q = run_motor(other, SM_MODEL_TRANSIENT, 1e-6);
        const double late = burned_at(q) - burned_at(r);
        cr_expect(late > 0.0 && late < 0.25 / (20.0 * pow(5.0, (double)i)), "%s: %g s", speeds[i], late);
        if (i > 0)
            cr_expect(fabs(5.0 * late / last - 1.0) < 0.3, "%s: %g s after %g s", speeds[i], late, last);
        last = late;
        sm_result_free(q);
        sm_motor_free(other);
    }
    sm_result_free(r);
    sm_motor_free(motor);
}

/* ---- closures ---- */

Test(ignite, a_closure_holds_until_its_pressure)
{
    static const struct sm_override change[] = {{"nozzle.closure_pressure", "3 MPa"}};
    struct sm_motor *motor = load_text(tubes_text, change, 1), *open = load_text(tubes_text, NULL, 0);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-6),
                     *q = run_motor(open, SM_MODEL_TRANSIENT, 1e-6);
    const struct sm_series *s = &r->series;
    size_t i = 0;
    while (i < s->n && s->thrust[i] == 0.0)
        i++;
    cr_expect(relative(s->pressure[i - 1], 3e6) < 1e-9 || relative(s->pressure[i], 3e6) < 1e-9);
    cr_expect(i > 2);
    cr_expect(r->statistics.mass_residual < 1e-9, "%g", r->statistics.mass_residual);
    /* nothing is lost by it but a little time: both burn all, from the same gas */
    cr_expect(relative(r->thrust.total_impulse, q->thrust.total_impulse) < 1e-5);
    sm_result_free(r);
    sm_result_free(q);
    sm_motor_free(motor);
    sm_motor_free(open);
}

Test(ignite, a_closure_that_never_opens_is_an_error)
{
    static const struct sm_override change[] = {
        {"nozzle.closure_pressure", "90 MPa"}, {"case.length", "30 m"}, {"propellant", inert}};
    struct sm_motor *motor = load_text(end_burner_text, change, SM_COUNT(change));
    struct sm_result *result = NULL;
    struct sm_error err = {0};
    cr_expect_eq(sm_simulate(motor, NULL, NULL, &result, &err), SM_E_PHYSICS);
    cr_expect_str_eq(err.at.path, "/nozzle/closure_pressure");
    cr_expect(strstr(err.message, "closure holds"), "%s", err.message);
    sm_motor_free(motor);
}

/* ---- bad input ---- */

static void refuse(const char *place, const char *value, const char *pointer, const char *words)
{
    const struct sm_override change[] = {{place, value}};
    const struct sm_load_options options = {
        .overrides = change, .n_overrides = 1, .propellant_folder = SM_SOURCE_DIR "/propellants"};
    struct sm_motor *motor = NULL;
    struct sm_diag diag = {0};
    cr_expect_neq(sm_motor_parse(tubes_text, strlen(tubes_text), "test", &options, NULL, &motor, &diag),
                  SM_OK);
    cr_assert_eq(diag.n, 1, "%s: %zu problems", value, diag.n);
    cr_expect_str_eq(diag.items[0].at.path, pointer);
    cr_expect(strstr(diag.items[0].message, words), "%s", diag.items[0].message);
    sm_diag_release(&diag);
    sm_motor_free(motor);
}

Test(ignite, each_field_has_its_error)
{
    refuse("ignition.spread_speed", "1500 m/s", "/ignition/spread_speed", "outrun sound");
    refuse("ignition.spread_speed", "-2 m/s", "/ignition/spread_speed", "must be from");
    refuse("ignition.igniter", "{\"peak_flow\":\"1 g/s\"}", "/ignition/igniter/duration", "needs");
    refuse("ignition.igniter", "{\"duration\":\"1 s\"}", "/ignition/igniter/peak_flow", "needs");
    refuse("ignition.igniter", "{\"peak_flow\":\"-1 g/s\",\"duration\":\"1 s\"}",
           "/ignition/igniter/peak_flow", "must be from");
    refuse("ignition.igniter", "{\"peak_flow\":\"1 g/s\",\"duration\":\"0 s\"}", "/ignition/igniter/duration",
           "longer than 0");
    refuse("ignition.igniter", "{\"peak_flow\":\"1 g/s\",\"duration\":\"1 s\",\"peak_time\":\"2 s\"}",
           "/ignition/igniter/peak_time", "past");
    refuse(
        "ignition.igniter",
        "{\"flow\":[{\"time\":\"1 s\",\"mass_flow\":\"1 g/s\"},{\"time\":\"1 s\",\"mass_flow\":\"1 g/s\"}]}",
        "/ignition/igniter/flow/1/time", "not after");
    refuse("ignition.igniter",
           "{\"peak_flow\":\"1 g/s\",\"flow\":[{\"time\":\"1 s\",\"mass_flow\":\"1 g/s\"},{\"time\":\"2 "
           "s\",\"mass_flow\":\"1 g/s\"}]}",
           "/ignition/igniter/flow", "not both");
    refuse("nozzle.closure_pressure", "-1 MPa", "/nozzle/closure_pressure", "must be from");
}
