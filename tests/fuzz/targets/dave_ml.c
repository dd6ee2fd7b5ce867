/* Thrust out of DAVE-ML, and XML itself. */
#include "fuzz.h"

#include "input/read_dave.h"
#include "units/units.h"

static void run(const uint8_t *bytes, size_t n)
{
    struct sm_arena arena;
    struct sm_mass_ends ends;
    struct sm_curve curve = {0};
    struct sm_error err = {0};
    sm_arena_init(&arena, NULL);
    const enum sm_status status =
        sm_read_dave(&arena, fuzz_units(), (const char *)bytes, n, "input", NULL, &curve, &ends, &err);
    fuzz_expect(status == SM_OK || err.message[0] != '\0', "a refusal says why");
    if (status == SM_OK) {
        fuzz_expect_finite(curve.time, curve.n, "time");
        fuzz_expect_finite(curve.thrust, curve.n, "thrust");
    }
    sm_arena_release(&arena);
}

const struct fuzz_target fuzz_target_dave_ml = {"dave_ml", run};
