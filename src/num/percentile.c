#include "num/percentile.h"

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>

#include "base/fail.h"

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
    const double value = at_rank(x, n, rank);
    const double above = at_rank(x, n, rank + off) - value, below = value - at_rank(x, n, rank - off);
    const int is_whole = rank - off >= 1.0 && rank + off <= (double)n;
    if (error)
        *error = rank < 1.0 || rank > (double)n ? SM_NAN
                 : is_whole                     ? 0.5 * (above + below)
                                                : fmax(above, below);
    return value;
}

/* Puts x[k] and, unless it is beyond `to`, x[k + 1] where sorting x[from..to) would. */
static void place(double *x, size_t from, size_t to, size_t k)
{
    size_t least = k + 1;
    gsl_stats_select(x + from, 1, to - from, k - from);
    for (size_t i = least; i < to; i++)
        if (x[i] < x[least])
            least = i;
    if (k + 1 < to) {
        const double next = x[least];
        x[least] = x[k + 1];
        x[k + 1] = next;
    }
}

/* Shares first..last, whose ranks are known to lie in x[from..to): the middle one first, so that the others have less to go
 * through. Each is read at once, for what is placed later moves its neighbours. */
static void read_shares(double *x, size_t n, size_t from, size_t to, const double *shares, size_t first,
                        size_t last, double *out)
{
    if (first >= last)
        return;
    const size_t middle = first + (last - first) / 2;
    const double rank = fmin((double)n, fmax(1.0, shares[middle] * ((double)n + 1.0)));
    const size_t k = (size_t)rank - 1;
    place(x, from, to, k);
    out[middle] = at_rank(x, n, rank);
    read_shares(x, n, from, k + 1, shares, first, middle, out);
    read_shares(x, n, k, to, shares, middle + 1, last, out);
}

void sm_percentiles(double *x, size_t n, const double *shares, size_t n_shares, double *out)
{
    read_shares(x, n, 0, n, shares, 0, n_shares, out);
}
