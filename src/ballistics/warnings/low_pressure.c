/* Too little pressure to burn steadily. */
#include "ballistics/warning.h"
#include "base/text.h"

/* A fiftieth of the burn after its beginning, when the rise is over. */
static int is_low_at_start(const struct sm_warning_case *c, double least)
{
    const struct sm_series *s = &c->result->series;
    const double start = s->time[c->first], end = s->time[c->last];
    return sm_curve_at(s->time, s->pressure, s->n, start + sm_warning_share * (end - start)) < least;
}

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const double least = c->motor->spec.propellant.minimum_pressure;
    const double share = sm_share_below(c, c->result->series.pressure, least);
    if (share <= sm_warning_share)
        return 0;
    sm_text_format(text, size,
                   "for %.0f %% of the burn%s the pressure is under %.3g MPa, the least at which this "
                   "propellant is taken "
                   "to burn steadily: it may not light, or may go out. Narrow the throat or add burning area",
                   100.0 * share, is_low_at_start(c, least) ? ", its start among it," : "", least * 1e-6);
    return 1;
}

const struct sm_warning sm_warning_low_pressure = {
    .code = "low-pressure",
    .summary = "pressure under the propellant's minimum_pressure: may not light, or may go out",
    .pointer = "/nozzle/throat_diameter",
    .judge = judge,
};
