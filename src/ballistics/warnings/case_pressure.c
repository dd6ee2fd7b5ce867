/* Margin of the case against bursting on the hottest day. */
#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const struct sm_case *chamber = &c->motor->spec.chamber;
    const double own_pressure = c->result->chamber.pressure_maximum;
    if (isnan(chamber->burst_pressure))
        return 0;
    if (isnan(c->hot_pressure)) {
        sm_text_format(
            text, size,
            "with the grain at %.0f degC the motor can't be reckoned, so the case can't be said to "
            "hold: %.200s",
            c->hot_temperature - 273.15, c->why_not);
        return 1;
    }
    /* A grain hotter already than the hottest day is judged as it is. */
    const int is_hot = c->hot_pressure >= own_pressure;
    const double peak = is_hot ? c->hot_pressure : own_pressure;
    const double temperature = is_hot ? c->hot_temperature : c->temperature;
    if (peak * chamber->margin <= chamber->burst_pressure)
        return 0;
    sm_text_format(
        text, size,
        "peak pressure with the grain at %.0f degC is %.2f MPa; the case bursts at %.2f MPa, %.2f "
        "times that, and %.2f is wanted. Widen the throat, shorten the grain or use a stronger case",
        temperature - 273.15, peak * 1e-6, chamber->burst_pressure * 1e-6, chamber->burst_pressure / peak,
        chamber->margin);
    return 1;
}

const struct sm_warning sm_warning_case_pressure = {
    .code = "case-pressure",
    .summary = "peak pressure with the hottest grain times the wanted margin exceeds the burst pressure",
    .pointer = "/case/burst_pressure",
    .judge = judge,
};
