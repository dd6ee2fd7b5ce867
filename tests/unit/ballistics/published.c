/*
 * Complete cases published in D. Davis, PROPULSION: A Rocket Propulsion Engineering Course (open course notes), modules 20
 * and 21, and closed forms of every text. The notes' examples are quasi-steady, so they are held against the equilibrium
 * model; the tolerances are those of the digits printed.
 */
#include "bench_motor.h"

#include <stdio.h>

static const double pi = 3.14159265358979323846;

/* Module 21, worked example 21.1: a cylindrical perforation, ends inhibited. */
static const char cylinder_text[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"cylinder\",\"propellant\":\"generic-p-1770\","
    "\"case\":{\"bore\":\"0.6 m\",\"length\":\"3 m\"},"
    "\"grains\":[{\"shape\":\"tube\",\"outer_diameter\":\"0.6 m\",\"bore_diameter\":\"0.3 m\",\"length\":\"3 "
    "m\","
    "\"burning\":[\"bore\"]}],"
    "\"nozzle\":{\"throat_diameter\":\"0.133 m\",\"exit_diameter\":\"0.3 m\"},"
    "\"ignition\":{\"pressure\":\"5 MPa\",\"spread_time\":\"0 s\"},\"conditions\":{\"ambient_pressure\":\"0 "
    "Pa\"}}";

/* The course leaves out the gas that fills the burned volume, a share P/(R T rho) of what is made. This is the pressure that
 * its formula gives where ours, with that gas, gives p: larger by the share to the power 1/(1 - n). */
static double without_filling(const struct sm_motor *motor, double p)
{
    const struct sm_burn_segment *law = motor->spec.propellant.burn_rate.items;
    const double share = p / (motor->gas.rt * motor->spec.propellant.density);
    return p * pow(1.0 - share, -1.0 / (1.0 - law[0].exponent));
}

/* Value of a column where the distance burned is w. */
static double at_web(const struct sm_result *r, const double *column, double w)
{
    return sm_curve_at(r->series.web, column, r->series.n, w);
}

Test(published, a_cylinder_burns_as_the_course_says)
{
    /* distance burned, area, pressure in MPa, time: recomputed to more digits from the example's inputs */
    static const double rows[][4] = {{0.03, 3.393, 6.6159, 3.2493},
                                     {0.06, 3.958, 8.3865, 6.2181},
                                     {0.09, 4.524, 10.2991, 8.9662},
                                     {0.12, 5.089, 12.3451, 11.5349},
                                     {0.15, 5.655, 14.5175, 13.9539}};
    struct sm_motor *motor = load_text(cylinder_text, NULL, 0);
    struct sm_result *r = run_motor(motor, SM_MODEL_EQUILIBRIUM, 1e-6);
    cr_expect(relative(motor->propellant_mass, 1126.0) < 1e-3, "mass %g", motor->propellant_mass);
    cr_expect(relative(without_filling(motor, r->series.pressure[0]), 4.9977e6) < 1e-4);
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        const double w = rows[i][0] * (1.0 - 1e-12);
        cr_expect(relative(at_web(r, r->series.burn_area, w), rows[i][1]) < 2e-4, "area at %g m", w);
        const double p = without_filling(motor, at_web(r, r->series.pressure, w));
        cr_expect(relative(p, rows[i][2] * 1e6) < 1e-4, "pressure at %g m: %g", w, p);
        /* Times keep the filling's effect: up to 1.2 % of pressure, to the power n, averaged over the burn. */
        cr_expect(relative(at_web(r, r->series.time, w), rows[i][3]) < 3e-3, "time at %g m: %g", w,
                  at_web(r, r->series.time, w));
    }
    /* The integral of pressure is mass times c* over throat area, whatever the grain. */
    const double integral = sm_curve_integral(r->series.time, r->series.pressure, r->series.n, 0.0, 20.0);
    cr_expect(relative(integral, 128.0596e6) < 6e-3, "integral %g, with the gas that stays as filling",
              integral);
    /* P goes as area to the power 1 / (1 - n): twice the area here. */
    const double ratio =
        without_filling(motor, r->chamber.pressure_maximum) / without_filling(motor, r->series.pressure[0]);
    cr_expect(relative(ratio, pow(2.0, 1.0 / 0.65)) < 1e-4);
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(published, an_end_burner_is_neutral_and_lasts_as_the_course_says)
{
    /* Worked example 21.2: 4 MPa, 120 s; L 0.9747 m, D 0.2689 m, throat 20.27 mm, Kn 176.1, 98.0 kg, 8.1225 mm/s. */
    static const struct sm_override end[] = {
        {"grains", "[{\"shape\":\"end-burner\",\"outer_diameter\":\"0.2689 m\",\"length\":\"0.9747 m\"}]"},
        {"case.bore", "0.27 m"},
        {"case.length", "1.2 m"},
        {"nozzle.throat_diameter", "20.27 mm"},
        {"nozzle.exit_diameter", "50 mm"}};
    struct sm_motor *motor = load_text(cylinder_text, end, SM_COUNT(end));
    struct sm_result *r = run_motor(motor, SM_MODEL_EQUILIBRIUM, 1e-6);
    cr_expect(relative(motor->propellant_mass, 98.0) < 1e-3);
    cr_expect(relative(r->chamber.kn_initial, 176.1) < 1e-3, "Kn %g", r->chamber.kn_initial);
    const double p = without_filling(motor, r->chamber.pressure_maximum);
    cr_expect(relative(p, 4.0e6) < 1e-3, "pressure %g", p);
    cr_expect(relative(r->thrust.burn_time, 120.0) < 2e-3, "burn time %g", r->thrust.burn_time);
    cr_expect(relative(r->series.pressure[0], r->chamber.pressure_maximum) < 1e-9, "neutral");
    sm_result_free(r);
    sm_motor_free(motor);
}

/* A propellant G motor of the course's module 20, an end-inhibited bore so long that it has this Kn with a throat of 0.1 m;
 * more is a list of overrides behind that. */
static struct sm_motor *motor_g(double kn, const struct sm_override *more, size_t n)
{
    char text[1024];
    const double throat = 0.25 * pi * 0.1 * 0.1, bore = 0.3;
    snprintf(
        text, sizeof text,
        "{\"format\":\"slowmatch-motor/1\",\"name\":\"g\",\"propellant\":\"generic-g\","
        "\"case\":{\"bore\":\"0.6 m\",\"length\":\"%.12g m\"},"
        "\"grains\":[{\"shape\":\"tube\",\"outer_diameter\":\"0.6 m\",\"bore_diameter\":\"%g "
        "m\",\"length\":\"%.12g m\","
        "\"burning\":[\"bore\"]}],\"nozzle\":{\"throat_diameter\":\"0.1 m\",\"exit_diameter\":\"0.2 m\"},"
        "\"conditions\":{\"ambient_pressure\":\"0 Pa\"}}",
        kn * throat / (pi * bore) + 0.01, bore, kn * throat / (pi * bore));
    return load_text(text, more, n);
}

/* Its pressure at first, without what fills the burned volume [Pa]; *time, if asked for, how long its web lasts [s]. */
static double pressure_g(double kn, const struct sm_override *more, size_t n, double *time)
{
    struct sm_motor *motor = motor_g(kn, more, n);
    struct sm_result *r = run_motor(motor, SM_MODEL_EQUILIBRIUM, 1e-4);
    const double pressure = without_filling(motor, r->series.pressure[0]);
    if (time)
        *time = r->series.time[r->series.n - 1];
    sm_result_free(r);
    sm_motor_free(motor);
    return pressure;
}

static double pressure_at_kn(double kn, const char *temperature)
{
    const struct sm_override o[] = {{"conditions.grain_temperature", temperature}};
    return pressure_g(kn, o, 1, NULL);
}

Test(published, pressure_follows_kn_as_the_course_says)
{
    /* Module 20, worked example 5, and its chain of sensitivities: Kn, MPa. */
    static const double rows[][2] = {{350, 7.488}, {300, 5.907}, {330, 6.840}, {352, 7.554},
                                     {358, 7.753}, {332, 6.904}, {296, 5.787}, {250, 4.462},
                                     {190, 2.926}, {120, 1.443}, {55, 0.434}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        const double p = pressure_at_kn(rows[i][0], "21 degC");
        cr_expect(relative(p, rows[i][1] * 1e6) < 1e-3, "Kn %g: %g", rows[i][0], p);
    }
}

Test(published, temperature_acts_by_sigma_over_one_minus_n)
{
    /* +40 K and -40 K at sigma_p 0.002 / K and n 0.35: ratios 1.1310 and 0.8842 (module 20). */
    const double nominal = pressure_at_kn(350.0, "21 degC");
    cr_expect(relative(pressure_at_kn(350.0, "61 degC") / nominal, 1.1310) < 1e-3);
    cr_expect(relative(pressure_at_kn(350.0, "-19 degC") / nominal, 0.8842) < 1e-3);
}

/* The course's module 20 and its problems, each through a whole motor: what a change of area or of the grain's temperature
 * does to pressure at other exponents (printed to three or four digits). */
Test(published, area_acts_by_one_over_one_minus_n)
{
    static const struct {
        const char *exponent, *rate, *sigma, *temperature;
        double area, ratio; /* [1] */
    } rows[] = {{"0.35", "8 mm/s", "0.002 1/K", "21 degC", 1.04, 1.0622},
                {"0.45", "8 mm/s", "0.002 1/K", "21 degC", 1.04, 1.0739},
                {"0.55", "8 mm/s", "0.002 1/K", "21 degC", 1.04, 1.0911},
                {"0.42", "8 mm/s", "0.002 1/K", "21 degC", 1.05, 1.0878},
                {"0.40", "8 mm/s", "0.0025 1/K", "101 degC", 1.0, 1.3956}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        struct sm_override o[] = {{"propellant.burn_rate.0.exponent", rows[i].exponent},
                                  {"propellant.burn_rate.0.rate", rows[i].rate},
                                  {"propellant.burn_rate.0.at", "7 MPa"},
                                  {"propellant.temperature_sensitivity", rows[i].sigma},
                                  {"conditions.grain_temperature", "21 degC"}};
        const double before = pressure_g(350.0, o, SM_COUNT(o), NULL);
        o[4].value = rows[i].temperature;
        const double after = pressure_g(350.0 * rows[i].area, o, SM_COUNT(o), NULL);
        cr_expect(relative(after / before, rows[i].ratio) < 4e-4, "row %zu: %.5f", i, after / before);
    }
}

/* Likewise: a throat 3 % larger in area, printed 7.155 MPa; throats 2, 4 and 6 % larger, 7.264, 7.050 and 6.846 MPa; a grain
 * twice as long with the same throat, pressure 2.904 times and burn time 0.693 times as before. Times keep the effect of the
 * gas that fills the burned volume, about a hundredth. */
Test(published, throat_and_length_act_as_the_course_says)
{
    static const struct {
        const char *throat; /* 0.1 m times the root of the area's growth */
        double pressure;    /* [MPa] */
    } rows[] = {{"101.488916 mm", 7.155},
                {"100.995049 mm", 7.264},
                {"101.980390 mm", 7.050},
                {"102.956301 mm", 6.846}};
    double time, longer_time;
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        const struct sm_override o[] = {{"nozzle.throat_diameter", rows[i].throat}};
        const double p = pressure_g(350.0, o, 1, NULL);
        cr_expect(relative(1e-6 * p, rows[i].pressure) < 5e-4, "%s: %.6g", rows[i].throat, p);
    }
    const double plain = pressure_g(200.0, NULL, 0, &time), longer = pressure_g(400.0, NULL, 0, &longer_time);
    cr_expect(relative(longer / plain, 2.904) < 5e-4, "%.5f", longer / plain);
    cr_expect(relative(longer_time / time, 0.693) < 1e-2, "%.5f", longer_time / time);
}

/* With inhibited ends the area of a tube goes as its radius, A = 2 pi r L, and pressure as A^(1/(1 - n)) (course, module 20), so
 * p at the end over p at the start is (Ro/Ri)^(1/(1 - n)): elementary, for any radii and exponent. */
Test(published, a_tube_with_inhibited_ends_rises_by_its_radii)
{
    static const struct {
        double bore; /* [m], in a grain 0.6 m across */
        const char *exponent;
    } rows[] = {{0.30, "0.35"}, {0.40, "0.35"}, {0.48, "0.50"}, {0.24, "0.10"}, {0.45, "-0.20"}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        char bore[32];
        snprintf(bore, sizeof bore, "%.3f m", rows[i].bore);
        const struct sm_override o[] = {{"grains.0.bore_diameter", bore},
                                        {"propellant.burn_rate.0.exponent", rows[i].exponent}};
        struct sm_motor *motor = load_text(cylinder_text, o, SM_COUNT(o));
        struct sm_result *r = run_motor(motor, SM_MODEL_EQUILIBRIUM, 1e-6);
        const struct sm_burn_segment *law = motor->spec.propellant.burn_rate.items;
        const double n = law[0].exponent;
        const double last = at_web(r, r->series.pressure, motor->stack.web * (1.0 - 1e-12));
        const double rise = without_filling(motor, last) / without_filling(motor, r->series.pressure[0]);
        cr_expect(relative(rise, pow(0.6 / rows[i].bore, 1.0 / (1.0 - n))) < 1e-6, "row %zu: %.9g", i, rise);
        sm_result_free(r);
        sm_motor_free(motor);
    }
}

Test(published, a_bates_grain_has_its_hump)
{
    /* Neutral-ended length (3 D + d) / 2; D 50, d 20, L 85 mm: 8639.38 mm2 at both ends, 9699.67 at the middle (closed form). */
    static const struct sm_override bates[] = {
        {"grains", "[{\"shape\":\"tube\",\"outer_diameter\":\"50 mm\",\"bore_diameter\":\"20 "
                   "mm\",\"length\":\"85 mm\"}]"},
        {"case.bore", "50 mm"},
        {"case.length", "90 mm"},
        {"nozzle.throat_diameter", "8 mm"},
        {"nozzle.exit_diameter", "16 mm"}};
    struct sm_motor *motor = load_text(cylinder_text, bates, SM_COUNT(bates));
    struct sm_geometry_at at;
    static const double rows[][2] = {{0.0, 8639.38},
                                     {3.75e-3, 9434.60},
                                     {7.5e-3, 9699.67},
                                     {11.25e-3, 9434.60},
                                     {15e-3 * (1.0 - 1e-12), 8639.38}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        sm_geometry_eval(&motor->stack, rows[i][0], &at);
        cr_expect(relative(-at.slope[SM_VOLUME], rows[i][1] * 1e-6) < 1e-6);
    }
    sm_motor_free(motor);
}

/* Worked example 21.3 of the course, a neutral star: 8 points, fillet centres at 0.2024 m, fillets of 8 mm, half angle 15 +
 * 22.5 deg, outer radius 0.300 m, 3 m long, ends inhibited, throat 0.184 m. Printed: pressures to four digits, 9.55 s, 1132
 * kg, loading 0.754, port over throat 2.62. */
Test(published, a_neutral_star_burns_as_the_course_says)
{
    static const struct sm_override star[] = {
        {"grains", "[{\"shape\":\"star\",\"outer_diameter\":\"0.6 m\",\"length\":\"3 m\",\"points\":8,"
                   "\"web\":\"89.6 mm\",\"fillet_radius\":\"8 mm\",\"half_angle\":\"37.5 deg\","
                   "\"burning\":[\"bore\"]}]"},
        {"nozzle.throat_diameter", "0.184 m"},
        {"nozzle.exit_diameter", "0.4 m"}};
    static const double rows[][2] = {/* distance burned [m], pressure [MPa] */
                                     {0.0, 6.023},
                                     {0.0224, 6.032},
                                     {0.0448, 6.042},
                                     {0.0672, 6.051},
                                     {0.0896, 6.061}};
    static const double kn[] = {229.8, 230.0, 230.2, 230.5, 230.7},
                        area[] = {6.109, 6.116, 6.122, 6.128, 6.134}, /* [m2] */
        rate[] = {9.374e-3, 9.379e-3, 9.384e-3, 9.389e-3, 9.394e-3};  /* [m/s] */
    struct sm_motor *motor = load_text(cylinder_text, star, SM_COUNT(star));
    struct sm_result *r = run_motor(motor, SM_MODEL_EQUILIBRIUM, 1e-6);
    struct sm_burn_law law;
    sm_burn_law_init(&law, &motor->spec.propellant, motor->spec.propellant.reference_temperature);
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        const double w = rows[i][0] * (1.0 - 1e-9);
        const double p = without_filling(motor, at_web(r, r->series.pressure, w));
        cr_expect(relative(p, rows[i][1] * 1e6) < 2e-4, "pressure at %g m: %g", w, p);
        cr_expect(relative(at_web(r, r->series.kn, w), kn[i]) < 3e-4, "Kn at %g m", w);
        cr_expect(relative(at_web(r, r->series.burn_area, w), area[i]) < 1e-4, "area at %g m", w);
        const double burns = sm_burn_law_rate(&law, 0, p, NULL);
        cr_expect(relative(burns, rate[i]) < 1e-4, "rate at %g m: %g", w, burns);
    }
    /* Times keep the filling's effect, as above. */
    const double time = at_web(r, r->series.time, 0.0896 * (1.0 - 1e-9));
    cr_expect(relative(time, 9.55) < 3e-3, "time %g", time);
    cr_expect(relative(motor->propellant_mass, 1132.0) < 1e-3, "mass %g", motor->propellant_mass);
    cr_expect_float_eq(r->grain.filling, 0.754, 1e-3, "loading %g", r->grain.filling);
    cr_expect_float_eq(r->grain.port_to_throat, 2.62, 5e-3, "port %g", r->grain.port_to_throat);
    sm_result_free(r);
    sm_motor_free(motor);
}

/* A tube of the neutral-ended length has its largest area at a quarter of D - d: over that at the ends, by the closed form
 * pi (d + 2x)(L - 2x) + pi/2 (D^2 - (d + 2x)^2), worked to four digits. The last two are where it falls to the 3 %
 * that Wikipedia, "BATES", tells of the first such motor. */
Test(published, neutral_tubes_have_humps_by_their_bores)
{
    static const double rows[][2] = {/* d over D, hump */
                                     {0.2, 1.300},  {0.3, 1.1934},  {0.4, 1.1227},
                                     {0.5, 1.0750}, {0.6, 1.0429},  {0.7, 1.0218},
                                     {0.8, 1.0088}, {0.65, 1.0311}, {0.66, 1.0291}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        char grain[256];
        const double bore = 50.0 * rows[i][0];
        snprintf(grain, sizeof grain,
                 "[{\"shape\":\"tube\",\"outer_diameter\":\"50 mm\",\"bore_diameter\":\"%.9g mm\",\"length\":"
                 "\"%.9g mm\"}]",
                 bore, 0.5 * (150.0 + bore));
        const struct sm_override tube[] = {{"grains", grain},
                                           {"case.bore", "50 mm"},
                                           {"case.length", "100 mm"},
                                           {"nozzle.throat_diameter", "8 mm"},
                                           {"nozzle.exit_diameter", "16 mm"}};
        struct sm_motor *motor = load_text(cylinder_text, tube, SM_COUNT(tube));
        struct sm_geometry_figures f;
        sm_geometry_figures(&motor->stack, &f);
        cr_expect_float_eq(f.area_maximum / f.area_initial, rows[i][1], 6e-5, "d/D %g: %g", rows[i][0],
                           f.area_maximum / f.area_initial);
        sm_motor_free(motor);
    }
}

Test(published, the_tail_blows_down_by_its_time_constant)
{
    /* Isothermal blow-down, choked: P = P0 exp(-t / tau), tau = V / (c* A_t Gamma^2) (course, module 20 key; any text). */
    struct sm_motor *motor = load_text(end_burner_text, NULL, 0);
    struct sm_result *r = run_motor(motor, SM_MODEL_TRANSIENT, 1e-7);
    const struct sm_series *s = &r->series;
    size_t i = s->n - 1;
    while (i > 0 && !(s->burn_area[i - 1] > 0.0))
        i--;
    const double g = sm_gas_vandenkerckhove(motor->gas.gamma), throat = 0.25 * pi * 2e-3 * 2e-3;
    const double tau = motor->case_volume / (motor->gas.cstar * throat * g * g);
    for (size_t j = i + 1; j < s->n; j++)
        cr_expect(relative(s->pressure[j], s->pressure[i] * exp(-(s->time[j] - s->time[i]) / tau)) < 1e-5,
                  "row %zu", j);
    cr_expect(s->n - i > 10);
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(published, cored_and_end_burners_last_as_flown)
{
    /* Common practice, no source: a cored motor of hobby size burns one to two seconds, an end burner of class H averaging
     * near 13 N more than thirteen, and their times stand roughly as length to radial web. */
    struct sm_motor *motors[2] = {NULL};
    struct sm_result *r[2];
    static const char *const files[] = {SM_SOURCE_DIR "/examples/sandpiper-end-burner.json",
                                        SM_SOURCE_DIR "/examples/sandpiper-cored.json"};
    const struct sm_load_options options = {.propellant_folder = SM_SOURCE_DIR "/propellants"};
    for (int i = 0; i < 2; i++) {
        struct sm_diag diag = {0};
        cr_assert(sm_motor_load(files[i], &options, NULL, &motors[i], &diag) == SM_OK);
        r[i] = run_motor(motors[i], SM_MODEL_TRANSIENT, 1e-4);
    }
    cr_expect_str_eq(r[0]->impulse_class.letter, "H");
    cr_expect(fabs(r[0]->thrust.average - 13.0) < 0.5 && r[0]->thrust.burn_time > 13.0);
    cr_expect(r[1]->thrust.burn_time > 1.0 && r[1]->thrust.burn_time < 2.0);
    cr_expect(relative(motors[0]->propellant_mass, motors[1]->propellant_mass) < 1e-3);
    const double times = r[0]->thrust.burn_time / r[1]->thrust.burn_time;
    cr_expect(relative(times, motors[0]->stack.web / motors[1]->stack.web) < 0.1, "times %g", times);
    for (int i = 0; i < 2; i++) {
        sm_result_free(r[i]);
        sm_motor_free(motors[i]);
    }
}
