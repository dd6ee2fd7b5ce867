/* Gas rushing through a narrow port burns its wall faster than pressure alone would. Both limits are rules of
 * thumb, from memory; the ratio also stands in open course notes (D. Davis, Propulsion). */
#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>

static const double flux_limit = 700.0; /* [kg m-2 s-1] */
static const double ratio_limit = 2.0;  /* port over throat area [1] */

/* Longest web of a cored grain, past which no port is left [m]. */
static double cored_web(const struct sm_motor *motor)
{
    double web = 0.0;
    for (size_t i = 0; i < motor->spec.n_grains; i++)
        if (motor->geometry[i].port_area > 0.0)
            web = fmax(web, motor->geometry[i].web);
    return web;
}

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const struct sm_series *s = &c->result->series;
    const double throat = c->chamber->throat_area, web = cored_web(c->motor);
    double held = 0.0;
    for (size_t i = c->first; i < c->last && s->web[i] < web; i++) {
        const double port = sm_port_area(c->motor, s->web[i]);
        if (s->mass_flow[i] / port > flux_limit || port / throat < ratio_limit)
            held += s->time[i + 1] - s->time[i];
    }
    if (!(web > 0.0) || held <= sm_warning_share * (s->time[c->last] - s->time[c->first]))
        return 0;
    sm_text_format(
        text, size,
        "erosive burning is likely and not reckoned: the port is %.2f times the throat's area at the start "
        "and "
        "the mass flux reaches %.0f kg/m2s (rules of thumb: at least %.0f, at most %.0f). Expect an early "
        "pressure peak; widen the aft port",
        c->result->grain.port_to_throat, c->result->grain.mass_flux_maximum, ratio_limit, flux_limit);
    return 1;
}

const struct sm_warning sm_warning_erosive_burning = {
    .code = "erosive-burning",
    .summary =
        "mass flux at the port exit over 700 kg/m2s, or port under twice the throat area, for a cored grain",
    .pointer = "/grains",
    .judge = judge,
};
