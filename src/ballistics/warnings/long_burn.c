/* The case is hot by the end of a long burn, and weaker. */
#include "ballistics/warning.h"
#include "base/text.h"

static const double limit = 5.0; /* [s] */

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    if (c->result->thrust.burn_time <= limit)
        return 0;
    sm_text_format(text, size,
                   "it burns for %.1f s and case heating is not reckoned: burst_pressure must be that of the "
                   "hot case, and "
                   "insulation, nozzle and seals must last as long",
                   c->result->thrust.burn_time);
    return 1;
}

const struct sm_warning sm_warning_long_burn = {
    .code = "long-burn",
    .summary = "a burn over five seconds: case heating is not reckoned",
    .pointer = "/case/burst_pressure",
    .judge = judge,
};
