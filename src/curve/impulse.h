/* Impulse classes. */
#ifndef SM_CURVE_IMPULSE_H
#define SM_CURVE_IMPULSE_H

#include "base/fail.h"
#include "slowmatch/curve.h"

/* Is it no solid propellant's, so that a mass or a unit is likely to be wrong? Outside 50 to 330 s; also false where it is absent.
 * Reference: black powder delivers about 80 s and the best composites about 300 s in vacuum; [SB9] ch. 13 (from memory). */
int sm_specific_impulse_is_odd(double seconds); /* [s] */

#endif
