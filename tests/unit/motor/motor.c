/* What a motor refuses, where it says so, and what it reckons from a file: gas space, ambient pressure, places. */
#include "unit/ballistics/bench_motor.h"

static const double pi = 3.14159265358979323846;

static void refuses(const char *text, const char *place, const char *value, enum sm_status expected,
                    const char *pointer, const char *says)
{
    const struct sm_override change[] = {{place, value}};
    const struct sm_load_options options = {
        .overrides = change, .n_overrides = 1, .propellant_folder = SM_SOURCE_DIR "/propellants"};
    struct sm_motor *motor = NULL;
    struct sm_diag diag = {0};
    const enum sm_status status = sm_motor_parse(text, strlen(text), "test", &options, NULL, &motor, &diag);
    cr_assert(motor == NULL && diag.n > 0, "%s = %s is taken", place, value);
    cr_expect(status == expected, "%s = %s: %s", place, value, sm_status_text(status));
    cr_expect_str_eq(diag.items[0].at.path, pointer, "%s", diag.items[0].at.path);
    cr_expect(strstr(diag.items[0].message, says) != NULL, "%s", diag.items[0].message);
    sm_diag_release(&diag);
}

Test(motor, what_can_not_be_is_refused_at_its_place)
{
    refuses(tubes_text, "grains.0.outer_diameter", "39 mm", SM_E_GEOMETRY, "/grains/0/outer_diameter",
            "bore");
    refuses(tubes_text, "grains.0.count", "5", SM_E_GEOMETRY, "/case/length", "long");
    refuses(tubes_text, "nozzle.throat_diameter", "40 mm", SM_E_GEOMETRY, "/nozzle/exit_diameter", "smaller");
    refuses(tubes_text, "nozzle", "{\"throat_diameter\":\"38 mm\",\"exit_diameter\":\"40 mm\"}",
            SM_E_GEOMETRY, "/nozzle/throat_diameter", "not narrower");
    refuses(tubes_text, "case.burst_pressure", "14 m", SM_E_UNIT, "/case/burst_pressure", "m");
    refuses(tubes_text, "case.margin", "0.5", SM_E_RANGE, "/case/margin", "1");
    refuses(tubes_text, "conditions", "{\"ambient_pressure\":\"1 bar\",\"altitude\":\"100 m\"}", SM_E_FIELD,
            "/conditions/altitude", "not both");
    refuses(tubes_text, "conditions", "{\"ambient_pressure\":\"2 MPa\"}", SM_E_RANGE, "/ignition/pressure",
            "below");
    refuses(tubes_text, "hardware", "{\"mass\":\"1 kg\"}", SM_E_FIELD, "/hardware", "center_of_mass");
    refuses(tubes_text, "hardware",
            "{\"mass\":\"1 kg\",\"center_of_mass\":\"1 cm\",\"parts\":[{\"mass\":\"1 g\",\"at\":\"0 m\"}]}",
            SM_E_FIELD, "/hardware/parts", "not both");
    refuses(tubes_text, "hardware", "{\"parts\":[{\"mass\":\"1 g\",\"at\":\"0 m\",\"form\":\"tube\"}]}",
            SM_E_FIELD, "/hardware/parts/0/outer_diameter", "outer_diameter");
    refuses(
        tubes_text, "hardware",
        "{\"parts\":[{\"mass\":\"1 g\",\"at\":\"0 m\"},{\"mass\":\"1 g\",\"at\":\"0 m\",\"form\":\"tube\","
        "\"outer_diameter\":\"1 cm\",\"inner_diameter\":\"2 cm\"}]}",
        SM_E_GEOMETRY, "/hardware/parts/1/inner_diameter", "not smaller");
}

Test(motor, gas_space_is_what_case_and_cone_leave)
{
    /* cylinder, and a cone frustum of 45 degrees from the bore to the throat, less the grains */
    struct sm_motor *motor = load_text(tubes_text, NULL, 0);
    const double big = 19e-3, small = 5.5e-3, bore = 7e-3, outer = 18e-3;
    const double cylinder = pi * big * big * 250e-3;
    const double cone = pi / 3.0 * (big - small) * (big * big + big * small + small * small);
    const double grains = 4.0 * pi * (outer * outer - bore * bore) * 58e-3;
    cr_expect(relative(motor->case_volume, cylinder + cone) < 1e-12);
    cr_expect(relative(motor->free_volume, cylinder + cone - grains) < 1e-12);
    cr_expect(relative(motor->propellant_mass, 1770.0 * grains) < 1e-12);
    sm_motor_free(motor);
    static const struct sm_override given[] = {{"case.free_volume", "77 cm3"}};
    motor = load_text(tubes_text, given, 1);
    cr_expect(relative(motor->free_volume, 77e-6) < 1e-12);
    sm_motor_free(motor);
}

Test(motor, altitude_gives_the_standard_pressure)
{
    /* U.S. Standard Atmosphere 1976: 89876 Pa at 1 km and 54048 Pa at 5 km of geometric altitude, 101325 Pa at sea level */
    static const struct {
        const char *conditions;
        double pressure; /* [Pa] */
    } rows[] = {{"{\"altitude\":\"1 km\"}", 89876.0},
                {"{\"altitude\":\"5 km\"}", 54048.0},
                {"{\"altitude\":\"0 m\"}", 101325.0},
                {"{}", 101325.0}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        const struct sm_override at[] = {{"conditions", rows[i].conditions}};
        struct sm_motor *motor = load_text(tubes_text, at, 1);
        cr_expect(relative(motor->ambient, rows[i].pressure) < 1e-5, "%s: %g Pa", rows[i].conditions,
                  motor->ambient);
        sm_motor_free(motor);
    }
}

Test(motor, grains_stand_behind_one_another_with_their_gaps)
{
    static const struct sm_override two[] = {
        {"grains",
         "[{\"shape\":\"tube\",\"outer_diameter\":\"36 mm\",\"bore_diameter\":\"14 mm\",\"length\":\"40 mm\","
         "\"count\":2,\"spacing\":\"3 mm\"},{\"shape\":\"end-burner\",\"outer_diameter\":\"30 mm\","
         "\"length\":\"50 mm\"}]"}};
    struct sm_motor *motor = load_text(tubes_text, two, 1);
    cr_expect(relative(motor->place[1], 86e-3) < 1e-12, "two grains and two gaps: %g m", motor->place[1]);
    struct sm_geometry_at at;
    sm_geometry_eval(&motor->stack, 0.0, &at);
    const double tube = pi * (18e-3 * 18e-3 - 7e-3 * 7e-3) * 40e-3, end = pi * 15e-3 * 15e-3 * 50e-3;
    cr_expect(relative(at.value[SM_VOLUME], 2.0 * tube + end) < 1e-12);
    cr_expect(relative(at.value[SM_Z], tube * 20e-3 + tube * 63e-3 + end * 111e-3) < 1e-12);
    struct sm_motor_facts facts;
    sm_motor_describe(motor, &facts);
    cr_expect(facts.n_grains == 3 && sm_motor_grains(motor) == 2);
    sm_motor_free(motor);
}
