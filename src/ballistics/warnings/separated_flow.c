/* A nozzle too wide for its pressure: the flow leaves the wall. */
#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>

/* Pressure under which the chamber is for as long as a state may hold unwarned, by bisection: an exit that suits it keeps
 * the flow attached for the rest [Pa]. */
static double lowest_pressure(const struct sm_warning_case *c)
{
    double low = 0.0, high = c->result->chamber.pressure_maximum;
    for (int i = 0; i < 50; i++) {
        const double middle = 0.5 * (low + high);
        if (sm_share_below(c, c->result->series.pressure, middle) < sm_warning_share)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* Share of the burn in which the pressure is below what fills the cone of the throat as it then is. */
static double separated_share(const struct sm_warning_case *c)
{
    const struct sm_chamber *chamber = c->chamber;
    const struct sm_series *s = &c->result->series;
    if (!chamber->wears)
        return sm_share_below(c, s->pressure, chamber->jet.attached_pressure);
    double held = 0.0;
    for (size_t i = c->first; i < c->last; i++) {
        struct sm_jet room;
        const double growth = 0.5 * s->throat_diameter[i] - chamber->throat_radius;
        if (s->pressure[i] < sm_chamber_jet(chamber, growth, &room)->attached_pressure)
            held += s->time[i + 1] - s->time[i];
    }
    return held > 0.0 ? held / (s->time[c->last] - s->time[c->first]) : 0.0;
}

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const struct sm_jet *jet = &c->chamber->jet;
    const double share = separated_share(c);
    if (!(jet->attached_pressure > 0.0) || share <= sm_warning_share)
        return 0;
    sm_text_format(
        text, size,
        "for %.0f %% of the burn the flow leaves the exit cone's wall before its end (below %.2f MPa "
        "in the chamber%s); side forces may come with it. An exit of %.2f mm would suit",
        100.0 * share, jet->attached_pressure * 1e-6,
        c->chamber->wears ? ", through the throat as it is at first" : "",
        1e3 * sm_jet_fitting_exit(jet, lowest_pressure(c)));
    return 1;
}

const struct sm_warning sm_warning_separated_flow = {
    .code = "separated-flow",
    .summary = "flow separates from the exit cone",
    .pointer = "/nozzle/exit_diameter",
    .judge = judge,
};
