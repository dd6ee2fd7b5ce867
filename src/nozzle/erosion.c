#include "nozzle/erosion.h"

#include <math.h>
#include <stddef.h>

#define QUANTITY(field, d, lo, hi, def, text)                                                                \
    {                                                                                                        \
        .name = #field, .kind = SM_QUANTITY, .dim = SM_DIM_##d, .offset = offsetof(struct sm_wear, field),   \
        .min = lo, .max = hi, .fallback = def, .help = text                                                  \
    }

/* Graphite throats wear at up to some 0.3 mm/s (from memory); a hundred times that is a slip of unit. */
const struct sm_param sm_wear_params[SM_N_WEAR_PARAMS] = {
    QUANTITY(rate, SPEED, 0.0, 0.03, SM_REQUIRED, "speed of the throat's wall at the pressure `at`"),
    QUANTITY(at, PRESSURE, 1e3, 1e8, SM_REQUIRED, "pressure at which the speed is `rate`"),
    QUANTITY(exponent, NONE, -2.0, 3.0, 0.8, "power of pressure with which the speed goes"),
    QUANTITY(onset, TIME, 0.0, 1e4, 0.0, "time after ignition until which nothing happens"),
};

double sm_wear_speed(const struct sm_wear *wear, double pressure, double *slope)
{
    if (slope)
        *slope = 0.0;
    if (!(wear->rate > 0.0))
        return 0.0;
    const double speed = wear->rate * pow(pressure / wear->at, wear->exponent);
    if (slope)
        *slope = wear->exponent * speed / pressure;
    return speed;
}
