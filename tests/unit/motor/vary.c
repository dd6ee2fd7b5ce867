/* A varied motor burns to the same bits as one loaded with the value overridden in its text: two routes to one motor. */
#include <string.h>

#include "motor/vary.h"
#include "unit/ballistics/bench_motor.h"

static const char star_text[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"star and tube\",\"propellant\":\"demo-slow-composite\","
    "\"case\":{\"bore\":\"60 mm\",\"length\":\"250 mm\"},"
    "\"grains\":[{\"shape\":\"tube\",\"outer_diameter\":\"58 mm\",\"bore_diameter\":\"20 "
    "mm\",\"length\":\"80 mm\"},"
    "{\"shape\":\"end-burner\",\"outer_diameter\":\"58 mm\",\"length\":\"40 mm\"}],"
    "\"nozzle\":{\"throat_diameter\":\"7 mm\",\"exit_diameter\":\"14 mm\"},"
    "\"hardware\":{\"parts\":[{\"mass\":\"200 g\",\"at\":\"100 mm\"},{\"mass\":\"50 g\",\"at\":\"-5 mm\"}]},"
    "\"ignition\":{\"pressure\":\"0.6 MPa\",\"spread_time\":\"20 ms\"}}";

static void expect_same(const struct sm_motor *a, const struct sm_motor *b, const char *what)
{
    struct sm_result *x = run_motor(a, SM_MODEL_TRANSIENT, 0.0), *y = run_motor(b, SM_MODEL_TRANSIENT, 0.0);
    cr_assert_eq(x->series.n, y->series.n, "%s: %zu and %zu samples", what, x->series.n, y->series.n);
    for (size_t i = 0; i < x->series.n; i++)
        cr_assert(x->series.time[i] == y->series.time[i] && x->series.thrust[i] == y->series.thrust[i] &&
                      x->series.motor_mass[i] == y->series.motor_mass[i],
                  "%s: sample %zu", what, i);
    cr_expect(x->thrust.total_impulse == y->thrust.total_impulse, "%s", what);
    sm_result_free(x);
    sm_result_free(y);
}

Test(vary, is_the_motor_that_an_override_gives)
{
    const struct {
        const char *pointer, *text;
        double value;
    } cases[] = {
        {"/propellant/burn_rate/0/rate", "5 mm/s", 5e-3},
        {"/propellant/burn_rate/0/exponent", "0.3", 0.3},
        {"/propellant/cstar_efficiency", "0.9", 0.9},
        {"/propellant/temperature_sensitivity", "0.003 1/K", 0.003},
        {"/propellant/density", "1700 kg/m3", 1700.0},
        {"/nozzle/throat_diameter", "8 mm", 8e-3},
        {"/nozzle/thrust_efficiency", "0.9", 0.9},
        {"/case/length", "0.3 m", 0.3},
        {"/ignition/spread_time", "0.05 s", 0.05},
        {"/conditions/grain_temperature", "300 K", 300.0},
        {"/hardware/parts/1/mass", "70 g", 0.07},
        {"/grains/0/bore_diameter", "24 mm", 24e-3},
        {"/grains/0/length", "70 mm", 70e-3},
        {"/grains/1/outer_diameter", "50 mm", 50e-3},
        {"/grains/1/spacing", "3 mm", 3e-3},
        {"/grains/0/count", "2", 2.0},
    };
    struct sm_motor *base = load_text(star_text, NULL, 0), *again = load_text(star_text, NULL, 0);
    for (size_t i = 0; i < SM_COUNT(cases); i++) {
        const struct sm_change change = {cases[i].pointer, cases[i].value};
        const struct sm_override set = {cases[i].pointer, cases[i].text};
        struct sm_error err = {0};
        struct sm_motor *varied = NULL, *loaded = load_text(star_text, &set, 1);
        const struct sm_param *row;
        double value;
        cr_assert_eq(sm_motor_vary(base, &change, 1, NULL, &varied, &err), SM_OK, "%s: %s", cases[i].pointer,
                     err.message);
        expect_same(varied, loaded, cases[i].pointer);
        cr_assert_eq(sm_motor_value(varied, cases[i].pointer, &value, &row, &err), SM_OK);
        cr_expect(value == cases[i].value && strstr(cases[i].pointer, row->name), "%s", cases[i].pointer);
        sm_motor_free(varied);
        sm_motor_free(loaded);
    }
    expect_same(base, again, "the base is untouched");
    sm_motor_free(base);
    sm_motor_free(again);
}

Test(vary, takes_several_changes_at_once)
{
    const struct sm_change changes[] = {
        {"/grains/0/length", 60e-3}, {"/grains/0/bore_diameter", 22e-3}, {"/nozzle/throat_diameter", 6e-3}};
    const struct sm_override set[] = {{"/grains/0/length", "60 mm"},
                                      {"/grains/0/bore_diameter", "22 mm"},
                                      {"/nozzle/throat_diameter", "6 mm"}};
    struct sm_error err = {0};
    struct sm_motor *base = load_text(star_text, NULL, 0), *loaded = load_text(star_text, set, 3), *varied;
    cr_assert_eq(sm_motor_vary(base, changes, 3, NULL, &varied, &err), SM_OK, "%s", err.message);
    expect_same(varied, loaded, "three");
    sm_motor_free(varied);
    sm_motor_free(loaded);
    sm_motor_free(base);
}

Test(vary, refuses_with_the_pointer)
{
    const struct {
        struct sm_change change;
        enum sm_status status;
        const char *says; /* in the message */
    } cases[] = {
        {{"/nozzle/throat_diametre", 1e-3}, SM_E_FIELD, "throat_diameter"},
        {{"/nozzel/throat_diameter", 1e-3}, SM_E_FIELD, "names no number"},
        {{"", 1.0}, SM_E_FIELD, "names no number"},
        {{"/propellant/burn_rate/1/rate", 1e-3}, SM_E_RANGE, ""},
        {{"/propellant/name", 1.0}, SM_E_FIELD, "not a number"},
        {{"/grains/x/length", 1.0}, SM_E_FIELD, "number"},
        {{"/grains/2/length", 1.0}, SM_E_RANGE, "there are 2"},
        {{"/grains/0/web", 1.0}, SM_E_FIELD, ""},
        {{"/propellant/cstar_efficiency", 1.5}, SM_E_RANGE, "1"},
        {{"/propellant/burn_rate/0/exponent", 1.2}, SM_E_RANGE, "below 1"},
        {{"/propellant/burn_rate", 20.0}, SM_E_RANGE, "outside 0.1 to 10"},
        {{"/grains/0/bore_diameter", 58e-3}, SM_E_GEOMETRY, ""},
        {{"/curve/loaded_mass", 1.0}, SM_E_FIELD, "names no number"},
    };
    struct sm_motor *base = load_text(star_text, NULL, 0);
    for (size_t i = 0; i < SM_COUNT(cases); i++) {
        struct sm_error err = {0};
        struct sm_motor *varied = NULL;
        cr_expect_eq(sm_motor_vary(base, &cases[i].change, 1, NULL, &varied, &err), cases[i].status,
                     "%zu: %s", i, err.message);
        cr_expect_null(varied);
        cr_expect(strstr(err.message, cases[i].says), "%zu: %s", i, err.message);
        cr_expect(strncmp(err.at.path, cases[i].change.pointer, 7) == 0, "%zu: %s", i, err.at.path);
    }
    sm_motor_free(base);
}

/* A rate that is set and all rates multiplied come together, whichever is named first: both may stray. */
Test(vary, multiplies_rates_last)
{
    const struct sm_change first[] = {{SM_VARY_RATES, 1.1}, {"/propellant/burn_rate/0/rate", 5e-3}};
    const struct sm_change last[] = {{"/propellant/burn_rate/0/rate", 5e-3}, {SM_VARY_RATES, 1.1}};
    struct sm_motor *base = load_text(star_text, NULL, 0), *a, *b;
    const struct sm_param *row;
    double rate;
    cr_assert_eq(sm_motor_vary(base, first, SM_COUNT(first), NULL, &a, NULL), SM_OK);
    cr_assert_eq(sm_motor_vary(base, last, SM_COUNT(last), NULL, &b, NULL), SM_OK);
    cr_assert_eq(sm_motor_value(a, "/propellant/burn_rate/0/rate", &rate, &row, NULL), SM_OK);
    cr_expect_float_eq(rate, 5.5e-3, 1e-15);
    expect_same(a, b, "either order");
    sm_motor_free(a);
    sm_motor_free(b);
    sm_motor_free(base);
}
