/* Motors for tests, from JSON text with overrides. */
#ifndef TESTS_BENCH_MOTOR_H
#define TESTS_BENCH_MOTOR_H

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "motor/motor.h"
#include "slowmatch/slowmatch.h"

/* An end burner and a stack of tubes, to be varied by overrides. No outside pressure: the flow is choked and attached
 * throughout, so that a reference can be written in a few lines. */
static const char end_burner_text[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"end burner\",\"propellant\":\"demo-slow-composite\","
    "\"case\":{\"bore\":\"30 mm\",\"length\":\"120 mm\"},"
    "\"grains\":[{\"shape\":\"end-burner\",\"outer_diameter\":\"29 mm\",\"length\":\"88 mm\"}],"
    "\"nozzle\":{\"throat_diameter\":\"2 mm\",\"exit_diameter\":\"4 mm\"},"
    "\"ignition\":{\"pressure\":\"0.6 MPa\",\"spread_time\":\"20 ms\"},"
    "\"conditions\":{\"ambient_pressure\":\"0 Pa\"}}";
static const char tubes_text[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"tubes\",\"propellant\":\"generic-p-1770\","
    "\"case\":{\"bore\":\"38 mm\",\"length\":\"250 mm\"},"
    "\"grains\":[{\"shape\":\"tube\",\"outer_diameter\":\"36 mm\",\"bore_diameter\":\"14 "
    "mm\",\"length\":\"58 mm\","
    "\"count\":4,\"spacing\":\"2 mm\"}],"
    "\"nozzle\":{\"throat_diameter\":\"11 mm\",\"exit_diameter\":\"22 mm\"},"
    "\"ignition\":{\"pressure\":\"1 MPa\",\"spread_time\":\"10 ms\"},"
    "\"conditions\":{\"ambient_pressure\":\"0 Pa\"}}";

/* With units opened once for many loads, or NULL. */
static inline struct sm_motor *load_sharing(const char *text, const struct sm_override *overrides, size_t n,
                                            struct sm_units *units)
{
    struct sm_motor *motor = NULL;
    struct sm_diag diag = {0};
    const struct sm_load_options options = {.overrides = overrides,
                                            .n_overrides = n,
                                            .units = units,
                                            .propellant_folder = SM_SOURCE_DIR "/propellants"};
    const enum sm_status status = sm_motor_parse(text, strlen(text), "test", &options, NULL, &motor, &diag);
    cr_assert(status == SM_OK, "%s [%s]\n%s", diag.n ? diag.items[0].message : "?",
              diag.n ? diag.items[0].at.path : "", text);
    sm_diag_release(&diag);
    return motor;
}

/* Those in propellants/. */
static const char *const shipped_propellants[] = {"demo-slow-composite",
                                                  "generic-booster-b",
                                                  "generic-dual-thrust-d",
                                                  "generic-g",
                                                  "generic-p-1770",
                                                  "generic-x",
                                                  "kndx",
                                                  "knsb",
                                                  "knsu",
                                                  "slow-composite"};

static inline struct sm_motor *load_text(const char *text, const struct sm_override *overrides, size_t n)
{
    return load_sharing(text, overrides, n, NULL);
}

static inline struct sm_result *run_motor(const struct sm_motor *motor, enum sm_model model, double accuracy)
{
    struct sm_result *result = NULL;
    struct sm_error err = {0};
    const struct sm_run_options options = {.model = model, .accuracy = accuracy, .without_warnings = true};
    const enum sm_status status = sm_simulate(motor, &options, NULL, &result, &err);
    cr_assert(status == SM_OK, "%s", err.message);
    return result;
}

/* With warnings and all that is run beside. */
static inline struct sm_result *run_whole(const struct sm_motor *motor)
{
    struct sm_result *result = NULL;
    struct sm_error err = {0};
    const struct sm_run_options options = {.accuracy = 1e-6};
    cr_assert_eq(sm_simulate(motor, &options, NULL, &result, &err), SM_OK, "%s", err.message);
    return result;
}

static inline double relative(double value, double reference)
{
    return fabs(value / reference - 1.0);
}

#endif
