/*
 * When warnings are raised, to the number: each limit is approached from both sides, and what a warning says is compared with
 * runs of the motor as it advises. The limits themselves are rules of thumb; their sources stand beside each warning.
 */
#include "bench_motor.h"

#include <stdio.h>
#include <stdlib.h>

/* A cored motor that burns progressively, so that it passes through a range of pressures. */
static const char cored_text[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"cored\",\"propellant\":\"demo-slow-composite\","
    "\"case\":{\"bore\":\"40 mm\",\"length\":\"160 mm\"},"
    "\"grains\":[{\"shape\":\"tube\",\"outer_diameter\":\"38 mm\",\"bore_diameter\":\"18 "
    "mm\",\"length\":\"150 mm\","
    "\"burning\":[\"bore\"]}],"
    "\"nozzle\":{\"throat_diameter\":\"8 mm\",\"exit_diameter\":\"14 mm\"},"
    "\"ignition\":{\"pressure\":\"1 MPa\",\"spread_time\":\"0 s\"}}";

/* A motor and its run, warnings judged. */
struct judged {
    struct sm_motor *motor;
    struct sm_result *result;
};

static struct judged judge(const char *text, const struct sm_override *overrides, size_t n)
{
    struct judged j = {.motor = load_text(text, overrides, n)};
    struct sm_error err = {0};
    cr_assert(sm_simulate(j.motor, NULL, NULL, &j.result, &err) == SM_OK, "%s", err.message);
    return j;
}

static void let_go(struct judged *j)
{
    sm_result_free(j->result);
    sm_motor_free(j->motor);
}

/* What it says, or NULL if it is silent. */
static const char *said(const struct judged *j, const char *code)
{
    for (size_t i = 0; i < j->result->n_warnings; i++)
        if (strcmp(j->result->warnings[i].code, code) == 0)
            return j->result->warnings[i].text;
    return NULL;
}

static int raises(const char *text, const struct sm_override *overrides, size_t n, const char *code)
{
    struct judged j = judge(text, overrides, n);
    const int found = said(&j, code) != NULL;
    let_go(&j);
    return found;
}

/* The number that stands behind a phrase of a text. */
static double number_after(const char *text, const char *phrase)
{
    const char *at = text ? strstr(text, phrase) : NULL;
    cr_assert(at != NULL, "\"%s\" does not say \"%s\"", text ? text : "", phrase);
    return strtod(at + strlen(phrase), NULL);
}

/* Pressure that is exceeded for a share of the time from the rise through 5 % of thrust to burn-out, by bisection on a count
 * of finely sampled instants, written here. */
static double exceeded_for(const struct sm_result *r, double share)
{
    enum { N = 20000 };
    const struct sm_series *s = &r->series;
    double end = 0.0;
    for (size_t i = 0; i < s->n; i++)
        if (s->burn_area[i] > 0.0)
            end = s->time[i];
    double low = 0.0, high = r->chamber.pressure_maximum;
    for (int k = 0; k < 40; k++) {
        const double level = 0.5 * (low + high), start = r->thrust.burn_start;
        int above = 0;
        for (int i = 0; i < N; i++)
            above += sm_curve_at(s->time, s->pressure, s->n, start + (end - start) * (i + 0.5) / N) > level;
        if (above > share * N)
            low = level;
        else
            high = level;
    }
    return 0.5 * (low + high);
}

Test(warninglimits, a_state_counts_from_a_fiftieth_of_the_burn)
{
    static const double shares[] = {0.01, 0.03};
    struct judged plain = judge(cored_text, NULL, 0);
    for (size_t i = 0; i < SM_COUNT(shares); i++) {
        char above[64], below[64];
        snprintf(above, sizeof above, "%.9g Pa", exceeded_for(plain.result, shares[i]));
        snprintf(below, sizeof below, "%.9g Pa", exceeded_for(plain.result, 1.0 - shares[i]));
        const struct sm_override top[] = {{"propellant.burn_rate.0.to", above}};
        const struct sm_override bottom[] = {{"propellant.burn_rate.0.from", below}};
        const struct sm_override least[] = {{"propellant.minimum_pressure", below}};
        const int expected = shares[i] > 0.02;
        cr_expect(raises(cored_text, top, 1, "outside-burn-law") == expected, "above for %g", shares[i]);
        cr_expect(raises(cored_text, bottom, 1, "outside-burn-law") == expected, "below for %g", shares[i]);
        cr_expect(raises(cored_text, least, 1, "low-pressure") == expected, "under the least for %g",
                  shares[i]);
    }
    let_go(&plain);
}

Test(warninglimits, the_share_outside_the_law_is_told)
{
    struct judged plain = judge(cored_text, NULL, 0);
    char above[64], below[64];
    snprintf(above, sizeof above, "%.9g Pa", exceeded_for(plain.result, 0.2));
    snprintf(below, sizeof below, "%.9g Pa", exceeded_for(plain.result, 0.7));
    const struct sm_override narrow[] = {{"propellant.burn_rate.0.to", above},
                                         {"propellant.burn_rate.0.from", below}};
    struct judged j = judge(cored_text, narrow, 2);
    const char *text = said(&j, "outside-burn-law");
    cr_expect(fabs(number_after(text, "below that for ") - 30.0) <= 1.0, "%s", text);
    cr_expect(fabs(number_after(text, "above it for ") - 20.0) <= 1.0, "%s", text);
    let_go(&j);
    let_go(&plain);
}

Test(warninglimits, the_tail_after_burning_does_not_count)
{
    /* So much gas space that thrust stays over 5 % of its peak for long after the propellant is gone. */
    static const struct sm_override roomy[] = {{"case.free_volume", "2000 cm3"},
                                               {"propellant.minimum_pressure", "0.6 MPa"},
                                               {"propellant.burn_rate.0.from", "0.6 MPa"},
                                               {"nozzle.exit_diameter", "12 mm"}};
    struct judged j = judge(cored_text, roomy, SM_COUNT(roomy));
    cr_expect(said(&j, "long-tail") != NULL, "the tail is long");
    cr_expect(said(&j, "low-pressure") == NULL && said(&j, "outside-burn-law") == NULL &&
              said(&j, "separated-flow") == NULL);
    let_go(&j);
}

Test(warninglimits, low_pressure_tells_whether_the_start_is_among_it)
{
    /* Lit at 1 MPa; a progressive burn is lowest at its start, a regressive one at its end. */
    static const struct sm_override least[] = {{"propellant.minimum_pressure", "2.5 MPa"}};
    static const struct sm_override falls[] = {
        {"propellant.minimum_pressure", "2 MPa"},
        {"nozzle.throat_diameter", "13 mm"},
        {"nozzle.exit_diameter", "20 mm"},
        {"grains",
         "[{\"shape\":\"tube\",\"outer_diameter\":\"38 mm\",\"bore_diameter\":\"12 mm\","
         "\"length\":\"36 mm\",\"count\":4,\"burning\":[\"bore\",\"fore-end\",\"aft-end\",\"outer\"]}]"}};
    struct judged j = judge(cored_text, least, 1);
    const char *text = said(&j, "low-pressure");
    cr_expect(text && strstr(text, "its start among it"), "%s", text ? text : "silent");
    let_go(&j);
    j = judge(cored_text, falls, SM_COUNT(falls));
    text = said(&j, "low-pressure");
    cr_expect(text && !strstr(text, "its start among it"), "%s", text ? text : "silent");
    let_go(&j);
}

Test(warninglimits, the_case_is_judged_on_the_hottest_day)
{
    /* Hot, the rate is higher by exp(sigma (T - T0)), and pressure by that to the power 1 / (1 - n): a neutral motor. */
    static const struct sm_override neutral[] = {
        {"grains", "[{\"shape\":\"end-burner\",\"outer_diameter\":\"38 mm\",\"length\":\"30 mm\"}]"},
        {"nozzle.throat_diameter", "3.2 mm"},
        {"nozzle.exit_diameter", "6 mm"},
        {"propellant.burn_rate.0.exponent", "0.6"}};
    struct judged plain = judge(cored_text, neutral, SM_COUNT(neutral));
    const double hot = plain.result->chamber.pressure_maximum * exp(0.002 * (45.0 - 21.0) / (1.0 - 0.6));
    let_go(&plain);
    /* within the chamber's lag and the gas that stays: 2 % */
    static const double margins[] = {1.5, 2.0};
    for (size_t i = 0; i < SM_COUNT(margins); i++) {
        char weak[64], strong[64], margin[32];
        snprintf(margin, sizeof margin, "%g", margins[i]);
        snprintf(weak, sizeof weak, "%.9g Pa", 0.98 * margins[i] * hot);
        snprintf(strong, sizeof strong, "%.9g Pa", 1.02 * margins[i] * hot);
        struct sm_override with[6] = {neutral[0], neutral[1], neutral[2], neutral[3]};
        with[4] = (struct sm_override){"case.margin", margin};
        with[5] = (struct sm_override){"case.burst_pressure", weak};
        struct judged j = judge(cored_text, with, 6);
        const char *text = said(&j, "case-pressure");
        cr_expect(relative(number_after(text, "45 degC is "), hot * 1e-6) < 0.02, "%s", text);
        let_go(&j);
        with[5] = (struct sm_override){"case.burst_pressure", strong};
        cr_expect(!raises(cored_text, with, 6, "case-pressure"));
    }
    /* a day hotter still, and a motor that is itself hotter than the hottest day */
    char burst[64];
    snprintf(burst, sizeof burst, "%.9g Pa", 1.02 * 1.5 * hot);
    struct sm_override with[6] = {
        neutral[0], neutral[1], neutral[2], neutral[3], {"case.burst_pressure", burst}};
    with[5] = (struct sm_override){"conditions", "{\"hottest_temperature\":\"60 degC\"}"};
    cr_expect(raises(cored_text, with, 6, "case-pressure"));
    with[5] = (struct sm_override){"conditions", "{\"grain_temperature\":\"60 degC\"}"};
    struct judged j = judge(cored_text, with, 6);
    const char *text = said(&j, "case-pressure");
    cr_expect(text && strstr(text, "at 60 degC"), "%s", text ? text : "silent");
    let_go(&j);
}

Test(warninglimits, the_exit_that_separated_flow_advises_suits)
{
    static const struct sm_override wide[] = {{"nozzle.exit_diameter", "26 mm"}};
    struct judged j = judge(cored_text, wide, 1);
    const double fitting = number_after(said(&j, "separated-flow"), "An exit of ");
    cr_expect(fitting > 8.0 && fitting < 26.0, "%g mm", fitting);
    let_go(&j);
    /* Told to a hundredth of a millimetre: by so much less it stays attached, by a fiftieth more it does not. */
    static const struct {
        double times, more; /* [1], [mm] */
        int separates;
    } rows[] = {{1.0, -0.01, 0}, {1.02, 0.0, 1}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        char exit[64];
        snprintf(exit, sizeof exit, "%.9g mm", rows[i].times * fitting + rows[i].more);
        const struct sm_override advised[] = {{"nozzle.exit_diameter", exit}};
        cr_expect(raises(cored_text, advised, 1, "separated-flow") == rows[i].separates, "%s", exit);
    }
}

Test(warninglimits, what_a_small_throat_would_do_it_does)
{
    static const struct sm_override small[] = {
        {"grains", "[{\"shape\":\"end-burner\",\"outer_diameter\":\"38 mm\",\"length\":\"30 mm\"}]"},
        {"nozzle.throat_diameter", "2.4 mm"},
        {"nozzle.exit_diameter", "5 mm"}};
    struct judged j = judge(cored_text, small, SM_COUNT(small));
    const char *text = said(&j, "small-throat");
    static const struct {
        const char *throat, *phrase;
    } rows[] = {{"2.38 mm", "raises the pressure by "}, {"2.3 mm", "on its wall by "}};
    struct sm_result *base = run_motor(j.motor, SM_MODEL_EQUILIBRIUM, 1e-6);
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        struct sm_override narrow[] = {small[0], {"nozzle.throat_diameter", rows[i].throat}, small[2]};
        struct sm_motor *motor = load_text(cored_text, narrow, 3);
        struct sm_result *r = run_motor(motor, SM_MODEL_EQUILIBRIUM, 1e-6);
        const double rise = 100.0 * (r->chamber.pressure_maximum / base->chamber.pressure_maximum - 1.0);
        /* it is printed to a tenth and to one percent, and leaves out the gas that stays */
        cr_expect(fabs(number_after(text, rows[i].phrase) - rise) < 0.05 + 0.05 * rise, "%g %%: %s", rise,
                  text);
        sm_result_free(r);
        sm_motor_free(motor);
    }
    sm_result_free(base);
    let_go(&j);
}

Test(warninglimits, class_borders_count_within_a_twentieth_on_both_sides)
{
    /* Impulse goes as the grain's length; the class from 80 to 160 N s. */
    struct judged plain = judge(cored_text, NULL, 0);
    const double per_length = plain.result->thrust.total_impulse / 150.0;
    let_go(&plain);
    static const struct {
        double impulse; /* [N s] */
        int near;
    } rows[] = {{147.0, 0}, {155.0, 1}, {161.0, 1}, {163.0, 1}, {172.0, 0}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        char length[64], throat[64];
        const double mm = rows[i].impulse / per_length;
        snprintf(length, sizeof length, "%.9g mm", mm);
        snprintf(throat, sizeof throat, "%.9g mm", 8.0 * sqrt(mm / 150.0)); /* the same Kn */
        const struct sm_override change[] = {{"grains.0.length", length},
                                             {"nozzle.throat_diameter", throat},
                                             {"case.length", "300 mm"},
                                             {"case.free_volume", "120 cm3"}};
        struct judged j = judge(cored_text, change, SM_COUNT(change));
        const double total = j.result->thrust.total_impulse;
        const int near = fabs(total / 160.0 - 1.0) < 0.05;
        cr_expect((said(&j, "class-border") != NULL) == near, "%g N s", total);
        cr_expect(near == rows[i].near, "%g N s meant to be %g", total, rows[i].impulse);
        let_go(&j);
    }
}

Test(warninglimits, erosion_is_feared_for_cored_grains_alone)
{
    /* The port's limit of twice the throat's area: 12 mm of bore on 8.6 and 8.3 mm of throat; and the flux's of 700 kg/m2s
     * with a port that is wide enough. Both for long enough, by long slow grains. */
    static const struct sm_override tight[] = {{"grains.0.bore_diameter", "12 mm"},
                                               {"nozzle.throat_diameter", "9 mm"}};
    static const struct sm_override wide[] = {{"grains.0.bore_diameter", "18 mm"},
                                              {"nozzle.throat_diameter", "9 mm"}};
    static const struct sm_override fast[] = {{"grains.0.bore_diameter", "18 mm"},
                                              {"nozzle.throat_diameter", "9 mm"},
                                              {"propellant.burn_rate.0.rate", "9 mm/s"}};
    static const struct sm_override end[] = {
        {"grains", "[{\"shape\":\"end-burner\",\"outer_diameter\":\"38 mm\",\"length\":\"30 mm\"}]"},
        {"nozzle.throat_diameter", "2.5 mm"},
        {"nozzle.exit_diameter", "5 mm"}};
    struct judged j = judge(cored_text, wide, 2);
    cr_expect(said(&j, "erosive-burning") == NULL && j.result->grain.port_to_throat > 2.0 &&
                  j.result->grain.mass_flux_maximum < 700.0,
              "flux %g", j.result->grain.mass_flux_maximum);
    let_go(&j);
    j = judge(cored_text, tight, 2);
    cr_expect(said(&j, "erosive-burning") != NULL && j.result->grain.port_to_throat < 2.0);
    let_go(&j);
    j = judge(cored_text, fast, 3);
    cr_expect(said(&j, "erosive-burning") != NULL && j.result->grain.port_to_throat > 2.0 &&
                  j.result->grain.mass_flux_maximum > 700.0,
              "flux %g", j.result->grain.mass_flux_maximum);
    let_go(&j);
    j = judge(cored_text, end, 3);
    cr_expect(said(&j, "erosive-burning") == NULL && isnan(j.result->grain.port_to_throat));
    let_go(&j);
}
