/* Margin of the case against bursting on the hottest day. */
#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const struct sm_case *chamber = &c->motor->spec.chamber;
    if (isnan(chamber->burst_pressure))
        return 0;
    const double hot = isnan(c->hot_pressure) ? SM_INF : c->hot_pressure;
    const double peak = fmax(hot, c->result->chamber.pressure_maximum);
    if (peak * chamber->margin <= chamber->burst_pressure)
        return 0;
    sm_text_format(text, size,
                   "peak pressure with the grain at %.0f degC is %.2f MPa; the case bursts at %.2f MPa, %.2f "
                   "times that, "
                   "and %.2f is wanted. Widen the throat, shorten the grain or use a stronger case",
                   c->hot_temperature - 273.15, peak * 1e-6, chamber->burst_pressure * 1e-6,
                   chamber->burst_pressure / peak, chamber->margin);
    return 1;
}

const struct sm_warning sm_warning_case_pressure = {
    .code = "case-pressure",
    .summary = "peak pressure with the hottest grain times the wanted margin exceeds the burst pressure",
    .pointer = "/case/burst_pressure",
    .judge = judge,
};
