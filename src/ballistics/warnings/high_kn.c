/* More burning area for its throat than motors usually have. */
#include "ballistics/warning.h"
#include "base/text.h"

static const double limit = 1000.0; /* [1] */

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const double share = sm_share_above(c, c->result->series.kn, limit);
    if (share <= sm_warning_share)
        return 0;
    sm_text_format(
        text, size,
        "Kn, burning area over throat area, is over %.0f for %.0f %% of the burn and reaches %.0f: few "
        "propellants are known there. Check the throat and the burning rate",
        limit, 100.0 * share, c->result->chamber.kn_maximum);
    return 1;
}

const struct sm_warning sm_warning_high_kn = {
    .code = "high-kn",
    .summary = "Kn over 1000",
    .pointer = "/nozzle/throat_diameter",
    .judge = judge,
};
