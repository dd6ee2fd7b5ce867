#include "num/percentile.h"

#include <gsl/gsl_sort.h>
#include <math.h>

void sm_sort(double *x, size_t n)
{
    gsl_sort(x, 1, n);
}

/* Value at a rank counted from 1. */
static double at_rank(const double *x, size_t n, double rank)
{
    const double held = fmin((double)n, fmax(1.0, rank));
    const size_t i = (size_t)held;
    return i >= n ? x[n - 1] : x[i - 1] + (held - (double)i) * (x[i] - x[i - 1]);
}

double sm_percentile(const double *x, size_t n, double p, double *error)
{
    const double rank = p * ((double)n + 1.0), off = sqrt((double)n * p * (1.0 - p));
    if (error)
        *error = 0.5 * (at_rank(x, n, rank + off) - at_rank(x, n, rank - off));
    return at_rank(x, n, rank);
}
