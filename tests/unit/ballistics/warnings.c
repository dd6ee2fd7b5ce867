/* Each warning is raised by a motor that deserves it and not by its neighbour that does not. */
#include "bench_motor.h"

#include "ballistics/warning.h"

/* A cored motor that nothing is said of. */
static const char clean_text[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"clean\",\"propellant\":\"demo-slow-composite\","
    "\"case\":{\"bore\":\"40 mm\",\"length\":\"120 mm\",\"burst_pressure\":\"20 MPa\"},"
    "\"grains\":[{\"shape\":\"tube\",\"outer_diameter\":\"38 mm\",\"bore_diameter\":\"16 "
    "mm\",\"length\":\"50 mm\",\"count\":2,"
    "\"spacing\":\"1 mm\"}],"
    "\"nozzle\":{\"throat_diameter\":\"7 mm\",\"exit_diameter\":\"14 mm\"},"
    "\"ignition\":{\"pressure\":\"1 MPa\",\"spread_time\":\"10 ms\"}}";

static int raises(const struct sm_override *overrides, size_t n, const char *code)
{
    struct sm_motor *motor = load_text(clean_text, overrides, n);
    struct sm_result *result = NULL;
    struct sm_error err = {0};
    cr_assert(sm_simulate(motor, NULL, NULL, &result, &err) == SM_OK, "%s", err.message);
    int found = 0;
    for (size_t i = 0; i < result->n_warnings; i++) {
        found += strcmp(result->warnings[i].code, code) == 0;
        cr_expect(strlen(result->warnings[i].text) > 40, "says what to do");
        cr_expect(result->warnings[i].pointer[0] == '/');
    }
    sm_result_free(result);
    sm_motor_free(motor);
    return found;
}

#define LAW(n)                                                                                               \
    "[{\"from\":\"0.3 MPa\",\"to\":\"8 MPa\",\"rate\":\"4.1 mm/s\",\"at\":\"1 MPa\",\"exponent\":" n "}]"
#define END(length) "[{\"shape\":\"end-burner\",\"outer_diameter\":\"38 mm\",\"length\":\"" length "\"}]"

static const struct {
    const char *code;
    struct sm_override doubtful[4], good[4];
} rows[] = {
    {"case-pressure", {{"case.burst_pressure", "6 MPa"}}, {{"case.burst_pressure", "15 MPa"}}},
    {"case-unknown",
     {{"case", "{\"bore\":\"40 mm\",\"length\":\"120 mm\"}"}},
     {{"case", "{\"bore\":\"40 mm\",\"length\":\"120 mm\",\"burst_pressure\":\"900 MPa\"}"}}},
    {"erosive-burning", {{"grains.0.bore_diameter", "9 mm"}}, {{"grains.0.bore_diameter", "18 mm"}}},
    {"outside-burn-law", {{"propellant.burn_rate.0.to", "2 MPa"}}, {{"propellant.burn_rate.0.to", "9 MPa"}}},
    {"low-pressure", {{"propellant.minimum_pressure", "5 MPa"}}, {{"propellant.minimum_pressure", "1 MPa"}}},
    {"separated-flow", {{"nozzle.exit_diameter", "40 mm"}}, {{"nozzle.exit_diameter", "15 mm"}}},
    {"class-border", {{"grains.0.length", "55 mm"}}, {{"grains.0.length", "50 mm"}}},
    {"high-exponent",
     {{"propellant.burn_rate", LAW("0.75")}, {"nozzle.throat_diameter", "11 mm"}},
     {{"propellant.burn_rate", LAW("0.65")}, {"nozzle.throat_diameter", "11 mm"}}},
    {"high-kn",
     {{"grains", END("40 mm")}, {"nozzle.throat_diameter", "1.1 mm"}, {"nozzle.exit_diameter", "3 mm"}},
     {{"grains", END("40 mm")}, {"nozzle.throat_diameter", "1.3 mm"}, {"nozzle.exit_diameter", "3 mm"}}},
    {"small-throat",
     {{"grains", END("40 mm")}, {"nozzle.throat_diameter", "2.9 mm"}},
     {{"grains", END("40 mm")}, {"nozzle.throat_diameter", "3.1 mm"}}},
    {"long-tail",
     {{"case.free_volume", "500 cm3"}, {"grains", END("10 mm")}, {"nozzle.throat_diameter", "3 mm"}},
     {{"grains", END("60 mm")}, {"nozzle.throat_diameter", "4 mm"}}},
    {"long-burn",
     {{"grains", END("60 mm")}, {"nozzle.throat_diameter", "3.5 mm"}},
     {{"grains", END("10 mm")}, {"nozzle.throat_diameter", "3.5 mm"}}},
};

static size_t count(const struct sm_override *overrides)
{
    size_t n = 0;
    while (n < 4 && overrides[n].place)
        n++;
    return n;
}

Test(warnings, each_can_be_provoked_and_stays_away)
{
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        cr_expect(raises(rows[i].doubtful, count(rows[i].doubtful), rows[i].code) == 1, "%s is not raised",
                  rows[i].code);
        cr_expect(raises(rows[i].good, count(rows[i].good), rows[i].code) == 0, "%s is raised for nothing",
                  rows[i].code);
    }
}

Test(warnings, every_registered_one_is_tested_here_or_beside_its_model)
{
    size_t n = 0;
    for (const struct sm_warning *const *w = sm_warning_list; *w; w++, n++) {
        cr_expect((*w)->code[0] && (*w)->summary[0] && (*w)->pointer[0] == '/' && (*w)->judge);
        for (const struct sm_warning *const *other = sm_warning_list; other < w; other++)
            cr_expect(strcmp((*w)->code, (*other)->code) != 0, "%s twice", (*w)->code);
    }
    cr_expect(n >= SM_COUNT(rows));
}

Test(warnings, a_clean_motor_has_none)
{
    for (size_t i = 0; i < SM_COUNT(rows); i++)
        cr_expect(raises(NULL, 0, rows[i].code) == 0, "%s", rows[i].code);
}

Test(warnings, what_a_small_throat_does_is_told_in_numbers)
{
    /* P goes as d to the power -2/(1 - n): 2 mm, n 0.42: 0.02 mm less is +3.5 %, 0.1 mm of diameter +19 % (closed form). */
    static const struct sm_override small[] = {{"grains", END("40 mm")}, {"nozzle.throat_diameter", "2 mm"}};
    struct sm_motor *motor = load_text(clean_text, small, SM_COUNT(small));
    struct sm_result *result = NULL;
    cr_assert(sm_simulate(motor, NULL, NULL, &result, NULL) == SM_OK);
    int told = 0;
    for (size_t i = 0; i < result->n_warnings; i++)
        told += strstr(result->warnings[i].text, "by 3.5 %") && strstr(result->warnings[i].text, "by 19 %");
    cr_expect(told == 1);
    sm_result_free(result);
    sm_motor_free(motor);
}
