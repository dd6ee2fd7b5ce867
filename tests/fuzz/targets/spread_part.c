/* Parts of a spread, as another machine may hand them over. */
#include "fuzz.h"

static void run(const uint8_t *bytes, size_t n)
{
    const struct sm_spread_part part = {(const char *)bytes, n, "input"};
    struct sm_spread *spread = NULL;
    struct sm_error err = {0};
    struct sm_sink sink = fuzz_nowhere();
    const enum sm_status status = sm_spread_merge(&part, 1, &spread, &err);
    fuzz_expect((status == SM_OK) == (spread != NULL), "a spread comes with success alone");
    fuzz_expect(status == SM_OK || err.message[0] != '\0', "a refusal says why");
    if (spread)
        fuzz_expect(sm_spread_write_json(spread, &sink, &err) == SM_OK &&
                        sm_spread_write_csv(spread, &sink, &err) == SM_OK,
                    "a spread can be written");
    sm_spread_free(spread);
}

const struct fuzz_target fuzz_target_spread_part = {"spread_part", run};
