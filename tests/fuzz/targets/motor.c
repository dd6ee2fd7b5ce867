/* Motor files, assembled too. */
#include "fuzz.h"

static void run(const uint8_t *bytes, size_t n)
{
    const char *what = NULL;
    struct sm_diag diag = {0};
    const enum sm_status status = sm_file_check(fuzz_file(bytes, n, ".json"), fuzz_options(), &what, &diag);
    fuzz_expect((status == SM_OK) == (diag.n == 0), "a refusal says why, and success says nothing");
    sm_diag_release(&diag);
}

const struct fuzz_target fuzz_target_motor = {"motor", run};
