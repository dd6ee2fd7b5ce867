/* The burning-rate law used at pressures it was not given for. */
#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const struct sm_burn_law *law = &c->chamber->law;
    const double low = law->segments[0].from, high = law->segments[law->n - 1].to;
    const double below = sm_share_below(c, c->result->series.pressure, low);
    const double above = sm_share_above(c, c->result->series.pressure, high);
    if (below + above <= sm_warning_share)
        return 0;
    const double least = 0.005; /* a share that rounds to no per cent is not told [1] */
    size_t n = (size_t)sm_text_format(text, size,
                                      "the burning-rate law is given for %.3g to %.3g MPa; the pressure is ",
                                      low * 1e-6, high * 1e-6);
    if (below >= least)
        n += (size_t)sm_text_format(text + n, size - n, "below that for %.0f %% of the burn%s", 100.0 * below,
                                    above >= least ? " and " : "");
    if (above >= least)
        n += (size_t)sm_text_format(text + n, size - n, "above it for %.0f %%%s", 100.0 * above,
                                    below >= least ? "" : " of the burn");
    sm_text_format(text + n, size - n,
                   ", where the nearest stretch is carried on. Treat those parts as a guess");
    return 1;
}

const struct sm_warning sm_warning_outside_burn_law = {
    .code = "outside-burn-law",
    .summary = "pressure outside the range that the burning-rate law is given for",
    .pointer = "/propellant/burn_rate",
    .judge = judge,
};
