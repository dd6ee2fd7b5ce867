/* A bought motor whose thrust and propellant mass do not go together. */
#include "ballistics/warning.h"
#include "base/text.h"
#include "curve/impulse.h"

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const double seconds = c->result->thrust.specific_impulse;
    if (!sm_specific_impulse_is_odd(seconds))
        return 0;
    sm_text_format(text, size,
                   "a specific impulse of %.3g s is no solid propellant's (about 80 to 300 s): look at "
                   "propellant_mass, and at the units of the curve",
                   seconds);
    return 1;
}

const struct sm_warning sm_warning_odd_impulse = {
    .code = "odd-impulse",
    .summary = "of a bought motor, a specific impulse outside 50 to 330 s",
    .pointer = "/curve/propellant_mass",
    .of = SM_OF_CURVES,
    .judge = judge,
};
