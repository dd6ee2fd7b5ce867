/* A throat so small that a drill's tolerance or a little slag decides the pressure. */
#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>

static const double limit = 3e-3;      /* [m] */
static const double drill = 0.02e-3;   /* how well a throat is drilled, of its diameter [m] */
static const double deposit = 0.05e-3; /* a thin layer on the wall [m] */

/* P goes as the throat area to the power -1/(1 - n), by the balance of gas made and let out. */
static double pressure_factor(double diameter, double change, double n)
{
    return pow((diameter + change) / diameter, -2.0 / (1.0 - n));
}

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const double d = c->motor->spec.nozzle.throat_diameter;
    if (d >= limit)
        return 0;
    const struct sm_burn_law *law = &c->chamber->law;
    const double n = law->segments[sm_burn_law_segment(law, c->result->chamber.pressure_average)].exponent;
    sm_text_format(text, size,
                   "the throat is %.2f mm: drilled 0.02 mm too small it raises the pressure by %.1f %%, and "
                   "a deposit of "
                   "0.05 mm on its wall by %.0f %%. Measure it, and allow for both",
                   1e3 * d, 100.0 * (pressure_factor(d, -drill, n) - 1.0),
                   100.0 * (pressure_factor(d, -2.0 * deposit, n) - 1.0));
    return 1;
}

const struct sm_warning sm_warning_small_throat = {
    .code = "small-throat",
    .summary = "throat under 3 mm: what 0.02 mm and a 0.05 mm deposit do to the pressure",
    .pointer = "/nozzle/throat_diameter",
    .judge = judge,
};
