/* A case of which nothing is told is a case of which nothing is said. */
#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    if (!isnan(c->motor->spec.chamber.burst_pressure))
        return 0;
    sm_text_format(text, size,
                   "the file gives no burst_pressure of the case, so nothing here says that it holds the "
                   "%.2f MPa that are reckoned",
                   1e-6 * fmax(c->result->chamber.pressure_maximum, c->result->axial.head_maximum));
    return 1;
}

const struct sm_warning sm_warning_case_unknown = {
    .code = "case-unknown",
    .summary = "the case's burst pressure is not given, so its margin is not judged",
    .pointer = "/case",
    .judge = judge,
};
