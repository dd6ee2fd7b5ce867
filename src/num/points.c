#include "num/points.h"

#include <gsl/gsl_qrng.h>
#include <math.h>
#include <stdlib.h>

uint64_t sm_random(uint64_t seed, uint64_t k)
{
    uint64_t z = seed + (k + 1) * 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

/* A stream of its own for each column, so that columns don't depend on one another. */
static uint64_t stream(uint64_t seed, size_t column)
{
    return sm_random(sm_random(seed, 0), column + 1);
}

enum { BITS = 30 }; /* of GSL's Sobol points */

/* Exclusive or of every coordinate's binary digits with one random word a column; then the middle of the cell, so that neither
 * 0 nor 1 comes out. */
static enum sm_status sobol(size_t n, size_t d, uint64_t seed, double *u, struct sm_error *err)
{
    const double cells = ldexp(1.0, BITS);
    double x[SM_SOBOL_COLUMNS];
    gsl_qrng *q = gsl_qrng_alloc(gsl_qrng_sobol, (unsigned)d);
    if (!q)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++) {
        gsl_qrng_get(q, x);
        for (size_t j = 0; j < d; j++) {
            const uint64_t shift = stream(seed, j) >> (64 - BITS);
            u[j * n + i] = ((double)((uint64_t)(x[j] * cells) ^ shift) + 0.5) / cells;
        }
    }
    gsl_qrng_free(q);
    return SM_OK;
}

/* One point in each of n equal strata, the strata in random order. */
static void latin(size_t n, uint64_t seed, size_t *order, double *u)
{
    const double steps = ldexp(1.0, 53);
    for (size_t i = 0; i < n; i++)
        order[i] = i;
    for (size_t i = n; i-- > 1;) {
        const size_t k = (size_t)(sm_random(seed, i) % (i + 1));
        const size_t other = order[k];
        order[k] = order[i];
        order[i] = other;
    }
    for (size_t i = 0; i < n; i++) {
        const double within = ((double)(sm_random(seed, n + i) >> 11) + 0.5) / steps;
        u[i] = ((double)order[i] + within) / (double)n;
    }
}

enum sm_status sm_points(size_t n, size_t d, uint64_t seed, int is_latin, double *u, struct sm_error *err)
{
    const size_t n_sobol = is_latin ? 0 : d < SM_SOBOL_COLUMNS ? d : SM_SOBOL_COLUMNS;
    if (n_sobol > 0)
        SM_TRY(sobol(n, n_sobol, seed, u, err));
    if (n_sobol == d)
        return SM_OK;
    size_t *order = malloc(n * sizeof *order);
    if (!order)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t j = n_sobol; j < d; j++)
        latin(n, stream(seed, j), order, u + j * n);
    free(order);
    return SM_OK;
}
