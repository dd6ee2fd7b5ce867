/* A curve that breaks off while the motor still burns, as a file that was cut short. */
#include "ballistics/warning.h"
#include "base/text.h"

/* Of the maximum: what the burn time ends at, by common practice, so that a curve which stops above it has no end of burn [1]. */
static const double end_of_burn = 0.05;

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const struct sm_series *s = &c->result->series;
    const double last = s->thrust[s->n - 1], maximum = c->result->thrust.maximum;
    if (!(last > end_of_burn * maximum))
        return 0;
    sm_text_format(
        text, size,
        "the curve breaks off at %.3g s with %.3g N, %.0f %% of its maximum: is it cut short? Total "
        "impulse, burn time and class are those of what is there",
        s->time[s->n - 1], last, 100.0 * last / maximum);
    return 1;
}

const struct sm_warning sm_warning_cut_short = {
    .code = "cut-short",
    .summary = "of a curve, a last thrust over 5 % of its maximum",
    .pointer = "/curve/thrust",
    .of = SM_OF_CURVES,
    .judge = judge,
};
