/* Bare thrust curves: CSV, DAVE-ML or a result as JSON, as the first bytes tell; burned if they are read. */
#include "fuzz.h"

static void burn(const char *path)
{
    struct sm_diag diag = {0};
    struct sm_motor *motor = NULL;
    struct sm_result *result = NULL;
    struct sm_error err = {0};
    if (sm_motor_load(path, fuzz_options(), NULL, &motor, &diag) == SM_OK &&
        sm_simulate(motor, NULL, NULL, &result, &err) == SM_OK) {
        fuzz_expect_finite(result->series.thrust, result->series.n, "thrust");
        fuzz_expect_finite(&result->thrust.total_impulse, 1, "total impulse");
        sm_result_free(result);
    }
    sm_motor_free(motor);
    sm_diag_release(&diag);
}

static void run(const uint8_t *bytes, size_t n)
{
    struct sm_curve_owner *owner = NULL;
    struct sm_curve curve = {0};
    struct sm_error err = {0};
    const char *path = fuzz_file(bytes, n, ".csv");
    const enum sm_status status = sm_curve_load(path, NULL, fuzz_units(), &owner, &curve, &err);
    fuzz_expect(status == SM_OK || err.message[0] != '\0', "a refusal says why");
    if (status != SM_OK)
        return;
    fuzz_expect_finite(curve.time, curve.n, "time");
    fuzz_expect_finite(curve.thrust, curve.n, "thrust");
    sm_curve_free(owner);
    burn(path);
}

const struct fuzz_target fuzz_target_curve = {"curve", run};
