#include "propellant/burnrate.h"

#include <math.h>

void sm_burn_law_init(struct sm_burn_law *law, const struct sm_propellant *propellant, double temperature)
{
    const double warmer = temperature - propellant->reference_temperature;
    law->segments = propellant->burn_rate.items;
    law->n = propellant->burn_rate.n;
    law->factor = exp(propellant->temperature_sensitivity * warmer);
}

size_t sm_burn_law_segment(const struct sm_burn_law *law, double pressure)
{
    size_t i = 0;
    while (i + 1 < law->n && pressure >= law->segments[i].to)
        i++;
    return i;
}

double sm_burn_law_rate(const struct sm_burn_law *law, size_t i, double pressure, double *slope)
{
    const struct sm_burn_segment *s = &law->segments[i];
    const double rate = law->factor * s->rate * pow(pressure / s->at, s->exponent);
    if (slope)
        *slope = s->exponent * rate / pressure;
    return rate;
}

double sm_burn_law_joint(const struct sm_burn_law *law, size_t i)
{
    return law->segments[i].to;
}

int sm_burn_law_outside(const struct sm_burn_law *law, double pressure)
{
    return pressure < law->segments[0].from || pressure > law->segments[law->n - 1].to;
}
