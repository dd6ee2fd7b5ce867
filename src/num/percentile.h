/*
 * Percentiles of samples, with their standard errors.
 *
 * Reference: NIST/SEMATECH e-Handbook of Statistical Methods, sec. 7.2.6.2: the value at rank p (n + 1) of the sorted samples,
 * straight between ranks and held at the ends. The error is half the distance between the ranks one binomial standard deviation
 * sqrt(n p (1 - p)) to either side, H. David and H. Nagaraja, Order Statistics, 2003, sec. 7.1: right for independent samples,
 * and more than the truth for evenly spread ones. Where one of these ranks lies beyond the samples the larger distance is taken
 * whole, and where p (n + 1) itself does the error is NaN: the samples are too few to tell it.
 */
#ifndef SM_NUM_PERCENTILE_H
#define SM_NUM_PERCENTILE_H

#include <stddef.h>

/* Sorts x[0..n) upwards. */
void sm_sort(double *x, size_t n);

/* Of sorted x[0..n), n >= 1; share p within 0 to 1. error may be NULL. */
double sm_percentile(const double *x, size_t n, double p, double *error);

/*
 * Percentiles of unsorted x[0..n), n >= 1, for n_shares rising shares: the same numbers as from a sorted one, sooner. x is left in
 * another order.
 */
void sm_percentiles(double *x, size_t n, const double *shares, size_t n_shares, double *out);

#endif
