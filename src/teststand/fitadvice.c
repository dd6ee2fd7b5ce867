#include "teststand/fitadvice.h"

#include <math.h>
#include <string.h>

#include "base/fail.h"
#include "base/text.h"

#define WANDERS       1.0  /* Durbin-Watson below this is no noise: 2 +- 0.18 for 120 independent parts [1] */
#define EXPONENT_WIDE 0.10 /* an exponent not known to this is not told [1] */

const struct sm_fit_value *sm_fit_value_of(const struct sm_fit *fit, enum sm_fit_parameter which,
                                           size_t *place)
{
    for (size_t j = 0; j < fit->n_values; j++)
        if (fit->values[j].parameter == which) {
            *place = j;
            return &fit->values[j];
        }
    return NULL;
}

/* A firing that would tell: at a lower pressure, which no case minds, if the propellant burns there. */
static void add_other_throat(const struct sm_motor *base, double exponent, double pressure,
                             struct sm_fit *fit)
{
    const double wider = 1.25, narrower = 0.8, steep = -2.0 / (1.0 - fmin(exponent, 0.7));
    const double low = pressure * pow(wider, steep), high = pressure * pow(narrower, steep);
    const size_t n = strlen(fit->advice);
    const int is_low = low > base->spec.propellant.minimum_pressure;
    sm_text_format(
        fit->advice + n, sizeof fit->advice - n,
        " Fire the same propellant at another pressure, in a motor that is else the same: a throat "
        "%g times as wide burns at about %.3g MPa%s.",
        is_low ? wider : narrower, (is_low ? low : high) / 1e6,
        is_low ? "" : ", if the case bears that with its margin");
}

static void set_advice(const struct sm_motor *base, struct sm_fit *fit)
{
    size_t i = 0, k = 0;
    const struct sm_fit_value *rate = sm_fit_value_of(fit, SM_FIT_RATE, &i),
                              *n = sm_fit_value_of(fit, SM_FIT_EXPONENT, &k);
    double from = SM_INF, to = 0.0;
    for (size_t f = 0; f < fit->n_firings; f++) {
        from = fmin(from, fit->firings[f].pressure_from);
        to = fmax(to, fit->firings[f].pressure_to);
    }
    const int wide = n && fit->is_separable &&
                     hypot(0.5 * (n->high - n->low), 2.0 * n->calibration) > EXPONENT_WIDE; /* 2: 95 % */
    if (rate && n && (!fit->is_separable || wide)) {
        fit->is_separable = false;
        sm_text_format(
            fit->advice, sizeof fit->advice,
            "These firings burn between %.3g and %.3g MPa, too alike to tell the coefficient from the "
            "exponent: any pair that gives the same rate there fits as well. Known is the rate%s.",
            from / 1e6, to / 1e6, isnan(fit->rate) ? "" : " as given at its own pressure");
        add_other_throat(base, n->value, 0.5 * (from + to), fit);
    } else if (!fit->is_separable) {
        sm_text_format(
            fit->advice, sizeof fit->advice,
            "The firings can't tell these values from one another; fit fewer, or record pressure too: "
            "thrust alone does not tell c* from thrust efficiency.");
    }
}

/* What the residuals say of the model, behind the rest. */
static void add_doubt(struct sm_fit *fit)
{
    size_t n = strlen(fit->advice);
    double least = SM_INF;
    for (size_t f = 0; f < fit->n_firings; f++)
        least = fmin(least, fit->firings[f].durbin_watson);
    if (least < WANDERS)
        n += (size_t)sm_text_format(
            fit->advice + n, sizeof fit->advice - n,
            "%sThe model does not follow the firings: what is left is no noise, so the "
            "intervals are too narrow.",
            n > 0 ? " " : "");
    if (2 * fit->n_agreed <= fit->n_starts && fit->n_starts > 1 && n < sizeof fit->advice)
        sm_text_format(
            fit->advice + n, sizeof fit->advice - n,
            "%sMost searches ended elsewhere: take the values with caution, and try more --starts.",
            n > 0 ? " " : "");
}

void sm_fit_advise(const struct sm_motor *base, struct sm_fit *fit)
{
    set_advice(base, fit);
    add_doubt(fit);
}
