/* Requests for a grain and throat, with motors from the examples to start from. */
#include "fuzz.h"

static void run(const uint8_t *bytes, size_t n)
{
    struct sm_diag diag = {0};
    struct sm_request *request = NULL;
    const enum sm_status status =
        sm_request_load(fuzz_file(bytes, n, ".json"), fuzz_options(), NULL, &request, &diag);
    fuzz_expect((status == SM_OK) == (request != NULL), "a request comes with success alone");
    fuzz_expect((status == SM_OK) == (diag.n == 0), "a refusal says why, and success says nothing");
    sm_request_free(request);
    sm_diag_release(&diag);
}

const struct fuzz_target fuzz_target_request = {"request", run};
