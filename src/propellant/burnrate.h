/* The burning-rate law at one grain temperature, ready for the inner loop. */
#ifndef SM_PROPELLANT_BURNRATE_H
#define SM_PROPELLANT_BURNRATE_H

#include "propellant/propellant.h"

/* Segments are numbered from 0 in rising pressure. Segment i holds from joint i - 1 to joint i; the first and
 * the last are used beyond the range given, which sm_burn_law_outside tells. The law may step at a joint:
 * both values are kept. */
struct sm_burn_law {
    const struct sm_burn_segment *segments; /* borrowed from the propellant */
    size_t n;
    double factor; /* exp(sigma_p (T - T_ref)) [1] */
};

/* The law of a propellant at grain temperature T [K]. */
void sm_burn_law_init(struct sm_burn_law *law, const struct sm_propellant *propellant, double temperature);

/* Which segment holds at pressure P [Pa]; at a joint the upper one. */
size_t sm_burn_law_segment(const struct sm_burn_law *law, double pressure);

/* Rate [m/s] and its slope dr/dP [m/s/Pa] by segment i's formula, at any P > 0 [Pa]; slope may be NULL. */
double sm_burn_law_rate(const struct sm_burn_law *law, size_t i, double pressure, double *slope);

/* Pressure between segments i and i + 1 [Pa], i < n - 1. */
double sm_burn_law_joint(const struct sm_burn_law *law, size_t i);

/* Is P [Pa] outside the range that the file gives? */
int sm_burn_law_outside(const struct sm_burn_law *law, double pressure);

#endif
