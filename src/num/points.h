/*
 * Points that fill the unit cube evenly, for studies of many inputs: the same for the same seed, wherever it runs.
 *
 * Reference: I. Sobol', USSR Comput. Maths. Math. Phys. 7 (1967) 86, as GSL has it; the digital shift as in P. L'Ecuyer and C.
 * Lemieux, Recent advances in randomized quasi-Monte Carlo methods, 2002; the Latin hypercube, M. McKay, R. Beckman, W.
 * Conover, Technometrics 21 (1979) 239 (all from memory). Random numbers: SplitMix64, G. Steele, D. Lea, C. Flood, OOPSLA 2014.
 */
#ifndef SM_NUM_POINTS_H
#define SM_NUM_POINTS_H

#include <stddef.h>
#include <stdint.h>

#include "base/fail.h"

/* GSL's direction numbers end here. */
enum { SM_SOBOL_COLUMNS = 40 };

/*
 * Returned: u[d * n], column by column: coordinate j of point i in u[j * n + i], 0 < u < 1.
 *
 * Given: n >= 1 points of d >= 1 coordinates; seed; is_latin for a Latin hypercube throughout, else the first
 * SM_SOBOL_COLUMNS columns are Sobol points with a digital shift and those after them a Latin hypercube.
 * Status: SM_E_NOMEM.
 * Notes: a column does not depend on how many there are.
 */
enum sm_status sm_points(size_t n, size_t d, uint64_t seed, int is_latin, double *u,
                         struct sm_error *err) SM_MUST_CHECK;

/* The k-th of the random numbers that go with a seed; all 64 bits are good. */
uint64_t sm_random(uint64_t seed, uint64_t k);

#endif
