/* What callers of the library can ask for in vain: options and motors out of range, each refused in its own words. What files
 * and command lines can hold is walked by tests/cli/ and tests/badinput/. */
#include "slowmatch/slowmatch.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "example_motor.h"

static struct sm_motor *example(const char *file, const struct sm_override *overrides, size_t n)
{
    struct sm_motor *motor = example_motor(SM_SOURCE_DIR, file, overrides, n);
    cr_assert(motor, "%s", file);
    return motor;
}

static void expect(enum sm_status status, const struct sm_error *err, enum sm_status expected,
                   const char *words)
{
    cr_expect_eq(status, expected, "%s: status %d, %s", words, (int)status, err->message);
    cr_expect(strstr(err->message, words), "'%s' is not in '%s'", words, err->message);
}

/* ---- burns ---- */

Test(refusals, burns_have_bounds)
{
    static const struct {
        struct sm_run_options options;
        const char *words;
    } rows[] = {{{.accuracy = 0.5}, "an accuracy of 0.5 is outside"},
                {{.accuracy = 1e-12}, "an accuracy of 1e-12 is outside"},
                {{.grain_temperature = 500.0}, "a grain temperature of 500 K"},
                {{.heat_transfer = 2e4}, "a heat transfer coefficient of 2e+04"},
                {{.stations = 1, .model = SM_MODEL_AXIAL}, "1 stations"}};
    struct sm_motor *motor = example("sandpiper-cored.json", NULL, 0);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sm_error err = {0};
        struct sm_result *result = NULL;
        expect(sm_simulate(motor, &rows[i].options, NULL, &result, &err), &err, SM_E_RANGE, rows[i].words);
        cr_expect_null(result);
    }
    sm_motor_free(motor);
}

/* A throat of a pinhole, and one that no grain of the example can feed, under each model. The gas of the first is hot and light,
 * since none can be denser than the propellant, which most reach below 1 GPa. */
Test(refusals, motors_that_cannot_be)
{
    static const struct sm_override pinhole[] = {{"nozzle.throat_diameter", "0.3 mm"},
                                                 {"propellant.burn_rate.0.exponent", "0.9"},
                                                 {"propellant.burn_rate.0.to", "100 MPa"},
                                                 {"propellant.flame_temperature", "3600 K"},
                                                 {"propellant.molar_mass", "18 g/mol"}},
                                    open[] = {{"nozzle.throat_diameter", "17 mm"},
                                              {"nozzle.exit_diameter", "17 mm"},
                                              {"propellant.burn_rate.0.rate", "0.02 mm/s"},
                                              {"ignition.pressure", "101326 Pa"}};
    static const struct {
        enum sm_model model;
        const struct sm_override *overrides;
        size_t n;
        const char *words;
    } rows[] = {
        {SM_MODEL_TRANSIENT, pinhole, 5, "1 GPa"},    {SM_MODEL_AXIAL, pinhole, 5, "1 GPa"},
        {SM_MODEL_EQUILIBRIUM, pinhole, 5, "1 GPa"},  {SM_MODEL_TRANSIENT, open, 4, "makes no thrust"},
        {SM_MODEL_AXIAL, open, 4, "makes no thrust"}, {SM_MODEL_EQUILIBRIUM, open, 4, "makes no thrust"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sm_motor *motor = example("sandpiper-end-burner.json", rows[i].overrides, rows[i].n);
        const struct sm_run_options options = {.model = rows[i].model};
        struct sm_error err = {0};
        struct sm_result *result = NULL;
        expect(sm_simulate(motor, &options, NULL, &result, &err), &err, SM_E_PHYSICS, rows[i].words);
        sm_result_free(result);
        sm_motor_free(motor);
    }
}

/* ---- spreads ---- */

Test(refusals, spreads_have_bounds)
{
    static const struct {
        struct sm_spread_options options;
        const char *words;
    } rows[] = {
        {{.n = 1}, "1 samples; 2 to"},
        {{.n = 8, .shard = 3, .of = 2}, "there is no shard 3 of 2 of 8 samples"},
        {{.n = 8, .sensitivity = true, .shard = 1, .of = 2}, "sensitivities are those of a single motor"},
        {{.n = 8, .pressure = -1.0}, "a pressure of -1 Pa"},
        {{.n = 8, .pair = {.is_pair = true, .spacing = -1.0}}, "a spacing of -1 m"},
        {{.n = 8, .pair = {.is_pair = true, .spacing = 0.1, .splay = 2.0}}, "a splay of 2 rad"},
        {{.n = 8, .pair = {.is_pair = true, .spacing = 0.1, .arm = -1.0}}, "the arm to the centre of mass"},
        {{.n = 8, .pair = {.is_pair = true, .spacing = 0.1, .temperature_difference = 200.0}},
         "a temperature difference of 200 K"},
        {{.n = 8, .pair = {.is_pair = true, .spacing = 0.1, .ignition_scatter = 20.0}},
         "an ignition scatter of 20 s"},
    };
    struct sm_motor *motor = example("curlew-tolerances.json", NULL, 0);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sm_error err = {0};
        struct sm_spread *spread = NULL;
        expect(sm_spread_run(motor, &rows[i].options, NULL, &spread, &err), &err, SM_E_RANGE, rows[i].words);
        cr_expect_null(spread);
    }
    sm_motor_free(motor);
}

static int stop(void *user, double fraction)
{
    (void)user, (void)fraction;
    return 1;
}

Test(refusals, a_spread_stopped_at_once_has_nothing)
{
    static const struct sm_context context = {.progress = {.step = stop}};
    static const struct sm_spread_options options = {.n = 100000, .threads = 1};
    struct sm_motor *motor = example("sandpiper-cored.json", NULL, 0);
    struct sm_error err = {0};
    struct sm_spread *spread = NULL;
    const enum sm_status status = sm_spread_run(motor, &options, &context, &spread, &err);
    cr_expect(status == SM_OK ? !spread->complete && spread->n_done < spread->n : status == SM_E_CANCELLED);
    sm_spread_free(spread);
    sm_motor_free(motor);
}

Test(refusals, shards_of_nothing)
{
    struct sm_error err = {0};
    struct sm_spread *spread = NULL;
    expect(sm_spread_merge(NULL, 0, &spread, &err), &err, SM_E_RANGE, "there are no shards to merge");
}

/* ---- sizings ---- */

static struct sm_request *request(void)
{
    struct sm_request *made = NULL;
    struct sm_diag diag = {0};
    static const struct sm_load_options options = {.propellant_folder = SM_SOURCE_DIR "/propellants"};
    cr_assert_eq(
        sm_request_load(SM_SOURCE_DIR "/examples/requests/sandpiper.json", &options, NULL, &made, &diag),
        SM_OK);
    sm_diag_release(&diag);
    return made;
}

Test(refusals, sizings_have_bounds)
{
    static const struct {
        struct sm_size_options options;
        const char *words;
    } rows[] = {{{.restarts = 51}, "51 restarts are outside"},
                {{.robust = 0.1}, "a share of 10 % is outside"},
                {{.robust = 0.9, .samples = 5}, "5 samples are outside"}};
    struct sm_request *r = request();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sm_error err = {0};
        struct sm_sizing *sizing = NULL;
        expect(sm_size_run(r, &rows[i].options, NULL, &sizing, &err), &err, SM_E_RANGE, rows[i].words);
    }
    const size_t same[2] = {1, 1};
    const int sense[2] = {0, 0};
    struct sm_error err = {0};
    struct sm_trade *trade = NULL;
    const struct sm_size_options options = {.restarts = 1};
    expect(sm_trade_run(r, same, sense, 9, &options, NULL, &trade, &err), &err, SM_E_RANGE,
           "a trade is between two figures");
    sm_request_free(r);
}

/* ---- records and fits ---- */

Test(refusals, records_and_fits_have_bounds)
{
    struct sm_motor *motor = example("sandpiper-cored.json", NULL, 0);
    struct sm_units *units;
    struct sm_stand stand;
    struct sm_stand_owner *owner = NULL;
    struct sm_firing *firing = NULL;
    struct sm_diag diag = {0};
    struct sm_error err = {0};
    cr_assert_eq(sm_units_open(&units, &err), SM_OK);
    cr_assert_eq(sm_stand_load(SM_SOURCE_DIR "/examples/stand/bench.json", units, &owner, &stand, &diag),
                 SM_OK);
    cr_assert_eq(sm_firing_load(SM_SOURCE_DIR "/examples/stand/sandpiper-firing-1.csv", &stand, units,
                                SM_BURN_END_LAST, &firing, &err),
                 SM_OK, "%s", err.message);
    const struct sm_firing *one[] = {firing};
    const struct sm_fit_options many = {.starts = 17};
    struct sm_firing_set *set = NULL;
    struct sm_fit *fit = NULL;
    expect(sm_firing_compare(one, 1, &set, &err), &err, SM_E_RANGE, "firings can be compared, not 1");
    expect(sm_fit_firings(motor, one, 0, NULL, &fit, &err), &err, SM_E_RANGE, "firings can be fitted, not 0");
    expect(sm_fit_firings(motor, one, 1, &many, &fit, &err), &err, SM_E_RANGE, "at most 16 starts, not 17");
    sm_firing_free(firing);
    sm_stand_free(owner);
    sm_diag_release(&diag);
    sm_units_free(units);
    sm_motor_free(motor);
}

/* ---- tables and drawings ---- */

static int swallow(void *user, const char *bytes, size_t n)
{
    (void)user, (void)bytes, (void)n;
    return 0;
}

Test(refusals, tables_and_drawings_have_bounds)
{
    struct sm_motor *cored = example("sandpiper-cored.json", NULL, 0),
                    *bought = example("curlew-bought.json", NULL, 0);
    struct sm_sink sink = {swallow, NULL};
    struct sm_error err = {0};
    struct sm_grain_tables *tables = NULL;
    expect(sm_grain_tables_make(cored, 1, &tables, &err), &err, SM_E_RANGE, "1 rows are outside");
    expect(sm_draw_grains(bought, NULL, SM_PICTURE_SVG, &sink, &err), &err, SM_E_FIELD,
           "has no grain to draw");
    expect(sm_motor_write_inputs(SM_SOURCE_DIR "/examples/curlew-curve.csv", NULL, &sink, &err), &err,
           SM_E_FIELD, "a curve's file is no motor file");
    sm_motor_free(cored);
    sm_motor_free(bought);
}

/* ---- parts of spreads ---- */

struct growing {
    char bytes[1 << 20];
    size_t n;
};

static int gather(void *user, const char *bytes, size_t n)
{
    struct growing *g = user;
    if (g->n + n > sizeof g->bytes)
        return 28; /* ENOSPC */
    memcpy(g->bytes + g->n, bytes, n);
    g->n += n;
    return 0;
}

/* A part cut short, with more behind it, and with each of its bytes spoiled: refused, or as good as before. */
Test(refusals, parts_that_are_hurt)
{
    static struct growing part;
    static const struct sm_spread_options options = {.n = 4, .shard = 1, .of = 2, .threads = 1};
    struct sm_motor *motor = example("curlew-tolerances.json", NULL, 0);
    struct sm_spread *spread = NULL;
    struct sm_sink sink = {gather, &part};
    struct sm_error err = {0};
    int n_places = 0, n_samples = 0;
    part.n = 0;
    cr_assert_eq(sm_spread_run(motor, &options, NULL, &spread, &err), SM_OK, "%s", err.message);
    cr_assert_eq(sm_spread_pack(spread, &sink, &err), SM_OK, "%s", err.message);
    sm_spread_free(spread);
    sm_motor_free(motor);
    for (size_t n = 0; n < part.n; n += 1 + part.n / 97) {
        const struct sm_spread_part cut = {part.bytes, n, "cut"};
        cr_expect(sm_spread_merge(&cut, 1, &spread, &err) == SM_E_SYNTAX, "%zu bytes: %s", n, err.message);
    }
    const struct sm_spread_part more = {part.bytes, part.n + 1, "more"};
    expect(sm_spread_merge(&more, 1, &spread, &err), &err, SM_E_SYNTAX, "there is more behind its end");
    for (size_t i = 0; i < part.n; i += i < 9000 ? 1 : 61) {
        const struct sm_spread_part one = {part.bytes, part.n, "spoiled"};
        const char kept = part.bytes[i];
        part.bytes[i] = (char)(kept ^ 0x5A);
        cr_expect(sm_spread_merge(&one, 1, &spread, &err) != SM_OK, "a shard of two is no spread");
        n_places += strstr(err.message, "its place among the samples makes no sense") != NULL;
        n_samples += strstr(err.message, "a sample is neither done nor to be done") != NULL;
        part.bytes[i] = kept;
    }
    cr_expect(n_places > 0, "some byte spoils the place");
    (void)n_samples; /* looked at only once all parts are there */
}

/* Both parts of a spread, the samples' states spoiled: seen when they are put together. */
Test(refusals, samples_that_are_hurt)
{
    static struct growing part[2];
    struct sm_motor *motor = example("curlew-tolerances.json", NULL, 0);
    struct sm_spread *spread = NULL;
    struct sm_error err = {0};
    int n = 0;
    for (size_t k = 0; k < 2; k++) {
        const struct sm_spread_options options = {.n = 4, .shard = k + 1, .of = 2, .threads = 1};
        struct sm_sink sink = {gather, &part[k]};
        part[k].n = 0;
        cr_assert_eq(sm_spread_run(motor, &options, NULL, &spread, &err), SM_OK, "%s", err.message);
        cr_assert_eq(sm_spread_pack(spread, &sink, &err), SM_OK, "%s", err.message);
        sm_spread_free(spread);
    }
    sm_motor_free(motor);
    const struct sm_spread_part parts[] = {{part[0].bytes, part[0].n, "one"},
                                           {part[1].bytes, part[1].n, "two"}};
    cr_assert_eq(sm_spread_merge(parts, 2, &spread, &err), SM_OK, "%s", err.message);
    sm_spread_free(spread);
    int n_early = 0;
    for (size_t cut = 0; cut < part[1].n; cut += 1 + part[1].n / 97) {
        const struct sm_spread_part short_one[] = {parts[0], {part[1].bytes, cut, "two"}};
        cr_expect_eq(sm_spread_merge(short_one, 2, &spread, &err), SM_E_SYNTAX, "%zu bytes", cut);
        n_early += strstr(err.message, "it ends too early") != NULL;
    }
    cr_expect(n_early > 1);
    for (size_t i = 0; i < part[0].n && n == 0; i++) {
        const char kept = part[0].bytes[i];
        part[0].bytes[i] = (char)(kept ^ 0x5A);
        if (sm_spread_merge(parts, 2, &spread, &err) == SM_OK)
            sm_spread_free(spread);
        else
            n += strstr(err.message, "a sample is neither done nor to be done") != NULL;
        part[0].bytes[i] = kept;
    }
    cr_expect(n > 0, "some byte spoils a sample");
}

/* Every sample impossible: the motor itself is possible, and near it only one in a million, whose twenty grains are all small
 * enough for their case. */
Test(refusals, spreads_of_motors_that_cannot_be)
{
    char grains[4096] = "[", strays[4096] = "[";
    for (int i = 0; i < 20; i++) {
        snprintf(grains + strlen(grains), sizeof grains - strlen(grains),
                 "%s{\"shape\": \"tube\", \"outer_diameter\": \"30 mm\", \"bore_diameter\": \"10 mm\", "
                 "\"length\": \"5 mm\"}",
                 i ? "," : "");
        snprintf(strays + strlen(strays), sizeof strays - strlen(strays),
                 "%s{\"of\": \"/grains/%d/outer_diameter\", \"uniform\": \"0.5 mm\"}", i ? "," : "", i);
    }
    strcat(grains, "]");
    strcat(strays, "]");
    const struct sm_override o[] = {{"grains", grains}, {"tolerances", strays}};
    static const struct sm_spread_options options = {.n = 2, .threads = 1};
    struct sm_motor *motor = example("sandpiper-cored.json", o, 2);
    struct sm_error err = {0};
    struct sm_spread *spread = NULL;
    expect(sm_spread_run(motor, &options, NULL, &spread, &err), &err, SM_E_PHYSICS,
           "none of 2 samples has an answer");
    cr_expect_null(spread);
    sm_motor_free(motor);
}

/* ---- vehicles ---- */

static int after_some(void *user, double fraction)
{
    int *left = user;
    (void)fraction;
    return (*left)-- <= 0;
}

static struct sm_vehicle *vehicle_of(const char *name, const struct sm_override *o, size_t n)
{
    const struct sm_load_options load = {
        .overrides = o, .n_overrides = n, .propellant_folder = SM_SOURCE_DIR "/propellants"};
    struct sm_vehicle *vehicle = NULL;
    struct sm_diag diag = {0};
    char path[1024];
    snprintf(path, sizeof path, SM_SOURCE_DIR "/examples/vehicles/%s.json", name);
    cr_assert_eq(sm_vehicle_load(path, &load, NULL, &vehicle, &diag), SM_OK, "%s",
                 diag.n ? diag.items[0].message : "?");
    sm_diag_release(&diag);
    return vehicle;
}

/* Stopped while motors burn, and while flights are drawn: nothing is told of half a study. */
Test(refusals, studies_that_are_stopped)
{
    static const struct sm_override slow = {"motors.0.motor", "../sandpiper-offset-bore.json"};
    static const struct sm_lift_options options = {.samples = 40, .threads = 1};
    for (int i = 0; i < 2; i++) {
        int left = i;
        struct sm_vehicle *vehicle = i ? vehicle_of("curlew", NULL, 0) : vehicle_of("dunlin", &slow, 1);
        struct sm_lift *lift = NULL;
        struct sm_error err = {0};
        const struct sm_context context = {.progress = {after_some, &left}};
        expect(sm_lift_study(vehicle, &options, &context, &lift, &err), &err, SM_E_CANCELLED,
               "stopped on request");
        cr_expect_null(lift);
        sm_vehicle_free(vehicle);
    }
}

Test(refusals, needs_that_are_stopped)
{
    static const struct sm_override slow = {"motors.0.motor", "../sandpiper-offset-bore.json"};
    static const struct sm_load_options load = {.propellant_folder = SM_SOURCE_DIR "/propellants"};
    int left = 0;
    const struct sm_context context = {.progress = {after_some, &left}};
    const struct sm_needs_wish wish = {.hover_height = 6.0,
                                       .hover_time = 6.0,
                                       .reserve = (double)NAN,
                                       .lift_ratio = (double)NAN,
                                       .burn_time = (double)NAN};
    struct sm_vehicle *vehicle = vehicle_of("dunlin", &slow, 1);
    struct sm_needs *needs = NULL;
    struct sm_diag diag = {0};
    cr_expect_eq(sm_needs_study(vehicle, NULL, &wish, &load, &context, &needs, &diag), SM_E_CANCELLED);
    cr_expect(diag.n == 1 && strstr(diag.items[0].message, "stopped on request"), "%s",
              diag.n ? diag.items[0].message : "?");
    cr_expect_null(needs);
    sm_diag_release(&diag);
    sm_vehicle_free(vehicle);
}

/* ---- pages ---- */

static int fill(void *user, const char *bytes, size_t n)
{
    size_t *left = user;
    (void)bytes;
    if (n > *left)
        return 28; /* ENOSPC */
    *left -= n;
    return 0;
}

/* A full disk is told in words wherever in the page it fills, as every other failure is. */
Test(refusals, pages_that_find_no_room)
{
    struct sm_motor *motor = example("sandpiper-cored.json", NULL, 0);
    struct sm_result *result = NULL;
    struct sm_error err = {0};
    if (!sm_pages_built())
        cr_skip_test("built without pages");
    cr_assert_eq(sm_simulate(motor, NULL, NULL, &result, &err), SM_OK, "%s", err.message);
    for (size_t room = 0; room < 200000; room = 2 * room + 1000) {
        size_t left = room;
        struct sm_sink sink = {fill, &left};
        err = (struct sm_error){0};
        expect(sm_report_write(motor, result, NULL, &sink, &err), &err, SM_E_IO, "can't write: ");
        left = room;
        err = (struct sm_error){0};
        expect(sm_lesson_write(NULL, &sink, &err), &err, SM_E_IO, "can't write: ");
    }
    sm_result_free(result);
    sm_motor_free(motor);
}
