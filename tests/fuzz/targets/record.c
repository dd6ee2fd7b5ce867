/* Records of firings, reduced. The first byte says how little the stand file tells. */
#include "fuzz.h"

#include <math.h>

static void run(const uint8_t *bytes, size_t n)
{
    struct sm_stand stand;
    struct sm_firing *firing = NULL;
    struct sm_error err = {0};
    if (n < 1)
        return;
    sm_stand_init(&stand);
    if (bytes[0] & 1u)
        stand.propellant_mass = 0.14;
    const enum sm_status status =
        sm_firing_load(fuzz_file(bytes + 1, n - 1, ".csv"), &stand, fuzz_units(),
                       bytes[0] & 2u ? SM_BURN_END_LAST : SM_BURN_END_CONTIGUOUS, &firing, &err);
    fuzz_expect((status == SM_OK) == (firing != NULL), "a firing comes with success alone");
    fuzz_expect(status == SM_OK || err.message[0] != '\0', "a refusal says why");
    for (int k = 0; firing && k < SM_N_FIGURES; k++)
        fuzz_expect(!isinf(firing->figures[k].value), "a figure is finite or absent");
    struct sm_sink sink = fuzz_nowhere();
    const struct sm_firing *const list[] = {firing};
    if (firing)
        fuzz_expect(sm_firings_write_csv(list, 1, NULL, &sink, &err) == SM_OK &&
                        sm_firings_write_json(list, 1, NULL, NULL, &sink, &err) == SM_OK,
                    "a firing can be written");
    sm_firing_free(firing);
}

const struct fuzz_target fuzz_target_record = {"record", run};
