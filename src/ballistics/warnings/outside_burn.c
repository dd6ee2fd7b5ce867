/* A curve with impulse outside its burn time, as a record's level at rest makes it. */
#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>

/* Of the total impulse. A thrust that rises and falls in straight lines to nothing has less outside its 5 % instants; a level at
 * rest of a fiftieth of the average, over as long as the burn, has this much [1]. */
static const double limit = 0.02;

static const double at_rest =
    1e-3; /* of the maximum: a curve that begins and ends lower has no level left in it [1] */

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const struct sm_thrust_summary *thrust = &c->result->thrust;
    const struct sm_series *s = &c->result->series;
    const double outside = 1.0 - thrust->impulse_in_burn_time / thrust->total_impulse;
    const double end = fmax(fabs(s->thrust[0]), fabs(s->thrust[s->n - 1]));
    if (!(outside > limit) || !(end > at_rest * thrust->maximum))
        return 0;
    sm_text_format(
        text, size,
        "%.1f %% of the total impulse lies outside the burn time, and counts for the class: the curve "
        "begins at %.3g N and ends at %.3g N. Is it a stand's record with its level at rest still in "
        "it? 'slowmatch firing' takes that off",
        100.0 * outside, s->thrust[0], s->thrust[s->n - 1]);
    return 1;
}

const struct sm_warning sm_warning_outside_burn = {
    .code = "outside-burn",
    .summary = "of a curve, over 2 % of the impulse outside the burn time",
    .pointer = "/curve/thrust",
    .of = SM_OF_CURVES,
    .judge = judge,
};
