/*
 * A power law asked for again and again at nearly the same place: y = c x^n from its value nearby.
 *
 * Within 2 % of the place y/y0 = (1 + e)^n is its binomial series to the seventh power of e; the first term left out is below
 * 3e-14 of y for |n| <= 1. Always from the place where y was exact, so nothing drifts.
 */
#ifndef SM_NUM_POWER_H
#define SM_NUM_POWER_H

struct sm_power {
    double exponent; /* n, between -1 and 1 [1] */
    double place;    /* x0; 0: none yet [any] */
    double value;    /* y0 [any] */
};

/* Returned: 1 and *value, or 0 if x is not near: then the caller finds y and keeps x and y as place and value. */
static inline int sm_power_near(const struct sm_power *power, double x, double *value)
{
    const double off = x - power->place, n = power->exponent;
    if (!(power->place > 0.0) || off > 0.02 * power->place || off < -0.02 * power->place)
        return 0;
    const double e = off / power->place;
    double sum = 1.0 + e * (n - 6.0) * (1.0 / 7.0);
    sum = 1.0 + sum * (e * (n - 5.0) * (1.0 / 6.0));
    sum = 1.0 + sum * (e * (n - 4.0) * 0.2);
    sum = 1.0 + sum * (e * (n - 3.0) * 0.25);
    sum = 1.0 + sum * (e * (n - 2.0) * (1.0 / 3.0));
    sum = 1.0 + sum * (e * (n - 1.0) * 0.5);
    *value = power->value * (1.0 + sum * (e * n));
    return 1;
}

#endif
