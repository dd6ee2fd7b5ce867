/* A steep burning-rate law makes pressure run away with small changes. */
#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>

static const double limit = 0.7; /* [1] */

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const struct sm_burn_law *law = &c->chamber->law;
    double share = 0.0, steepest = 0.0;
    for (size_t i = 0; i < law->n; i++) {
        if (law->segments[i].exponent <= limit)
            continue;
        const double *p = c->result->series.pressure;
        const double from = i == 0 ? 0.0 : sm_share_below(c, p, sm_burn_law_joint(law, i - 1));
        const double to = i + 1 == law->n ? 1.0 : sm_share_below(c, p, sm_burn_law_joint(law, i));
        if (to > from)
            steepest = fmax(steepest, law->segments[i].exponent);
        share += to - from;
    }
    if (share <= sm_warning_share)
        return 0;
    sm_text_format(text, size,
                   "the burning-rate exponent is %.2f for %.0f %% of the burn: a change of 1 %% in burning "
                   "area or throat "
                   "area changes pressure by %.1f %%. Choose another propellant or pressure",
                   steepest, 100.0 * share, 1.0 / (1.0 - steepest));
    return 1;
}

const struct sm_warning sm_warning_high_exponent = {
    .code = "high-exponent",
    .summary = "burning-rate exponent over 0.7",
    .pointer = "/propellant/burn_rate",
    .judge = judge,
};
