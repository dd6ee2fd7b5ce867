/* Gas rushing through a narrow port burns its wall faster than pressure alone would. Both limits are rules of
 * thumb, from memory; the ratio also stands in open course notes (D. Davis, Propulsion). */
#include "ballistics/axial.h"
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

/* Erosive peak over the lumped chamber's pressure by the axial model: this run's own, or one beside it. */
static double erosive_peak(const struct sm_warning_case *c, char *why, size_t size)
{
    const struct sm_run_options options = {.model = SM_MODEL_AXIAL,
                                           .accuracy = 1e-3,
                                           .stations = 40,
                                           .grain_temperature = c->temperature,
                                           .without_warnings = true};
    struct sm_result *beside = NULL;
    struct sm_error err = {0};
    double ratio = SM_ABSENT;
    if (c->result->model == SM_MODEL_AXIAL)
        return c->result->axial.erosive_peak;
    if (sm_simulate(c->motor, &options, NULL, &beside, &err) == SM_OK)
        ratio = sm_axial_ratio(&beside->series, &c->result->series);
    else
        sm_text_format(why, size, "%s", err.message);
    sm_result_free(beside);
    return ratio;
}

static void quantify(const struct sm_warning_case *c, char *text, size_t size)
{
    struct sm_erosive_law law;
    char why[120] = "";
    const struct sm_propellant *propellant = &c->motor->spec.propellant;
    const char *by = c->result->model == SM_MODEL_AXIAL ? "this run" : "the axial model";
    sm_erosive_init(&law, &propellant->erosive, propellant->density, c->temperature,
                    propellant->flame_temperature);
    const double ratio = erosive_peak(c, why, sizeof why);
    if (isnan(ratio))
        sm_text_format(text, size, "The axial model has no answer: %s",
                       why[0] ? why : "nor has the lumped one");
    else if (law.form == SM_EROSIVE_NONE)
        sm_text_format(
            text, size,
            "The propellant gives no constants for it; the flow alone brings the head end to %.2f x the "
            "lumped pressure, by %s. Expect an early peak above that; widen the aft port",
            ratio, by);
    else
        sm_text_format(text, size, "Erosive peak %.2f x the lumped one, by %s; widen the aft port", ratio,
                       by);
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
    char how[280];
    quantify(c, how, sizeof how);
    sm_text_format(
        text, size,
        "erosive burning is likely%s: the port is %.2f times the throat's area at the start and the mass "
        "flux reaches %.0f kg/m2s (at least %.0f, at most %.0f). %s",
        how[0] == 'E' ? "" : " and not reckoned", c->result->grain.port_to_throat,
        c->result->grain.mass_flux_maximum, ratio_limit, flux_limit, how);
    return 1;
}

const struct sm_warning sm_warning_erosive_burning = {
    .code = "erosive-burning",
    .summary =
        "mass flux at the port exit over 700 kg/m2s, or port under twice the throat area, for a cored grain",
    .pointer = "/grains",
    .judge = judge,
};
