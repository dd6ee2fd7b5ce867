/*
 * Plain statistics of samples.
 *
 * Functions that return a double give SM_NAN where there are too few samples or an argument is out of range.
 */
#ifndef SM_NUM_STATS_H
#define SM_NUM_STATS_H

#include <stddef.h>

#include "base/fail.h"

double sm_stats_mean(const double *x, size_t n);
/* With n - 1 in the denominator; n >= 2. */
double sm_stats_deviation(const double *x, size_t n);

/* The middle sample, or the mean of the two middle ones. Reorders x. */
double sm_stats_median(double *x, size_t n);
/* 1.4826 times the median distance from center: the standard deviation of a normal sample, blind to a few that stray.
 * Reorders and overwrites x. */
double sm_stats_scatter(double *x, size_t n, double center);

/* y = at_middle + slope (t - middle), by least squares. */
struct sm_stats_line {
    double middle;    /* mean of t [unit of t] */
    double at_middle; /* [unit of y] */
    double slope;     /* [unit of y per unit of t] */
    double deviation; /* of the residuals, with n - 2 in the denominator [unit of y] */
};
/* n >= 3 samples at times that are not all one; false, with *out untouched, if not. */
int sm_stats_line_fit(const double *t, const double *y, size_t n, struct sm_stats_line *out);

/*
 * How many neighbouring samples carry the information of one independent sample: 1 + 2 sum of the autocorrelations, at
 * least 1. The mean of n such samples has the variance of n over this many.
 *
 * Notes: the sum ends at the first lag that exceeds five times the sum so far, or n/2.
 * Reference: A. Sokal, Monte Carlo methods in statistical mechanics, 1996, sec. 3 (from memory): self-consistent window.
 */
double sm_stats_correlation_length(const double *y, size_t n);

/* ---- distributions ---- */

double sm_stats_normal_below(double z);                         /* P(Z < z) */
double sm_stats_normal_quantile(double p);                      /* z with P(Z < z) = p */
double sm_stats_student_quantile(double p, double freedom);     /* t with P(T < t) = p */
double sm_stats_chi_squared_quantile(double p, double freedom); /* x with P(X < x) = p */
double sm_stats_chi_squared_above(double x, double freedom);    /* P(X > x) */

/*
 * Factor k of a two-sided tolerance interval mean +- k deviation that holds the share `content` of a normal population
 * with the given confidence, from n samples.
 * Reference: W. Howe, J. Am. Stat. Assoc. 64 (1969) 610, as in the NIST/SEMATECH e-Handbook of Statistical Methods,
 * sec. 7.2.6.3; 0.8 % more than the exact factor at three samples.
 */
double sm_stats_tolerance_factor(size_t n, double content, double confidence);

/* ---- tests ---- */

/*
 * Grubbs' test for one outlier on either side: statistic max |x - mean| / deviation, at place; critical for
 * significance alpha. n >= 3 samples that are not all one; false if not.
 * Reference: NIST/SEMATECH e-Handbook, sec. 1.3.5.17.1.
 */
int sm_stats_grubbs(const double *x, size_t n, double alpha, size_t *place, double *statistic,
                    double *critical);

/* Do the signs of y come in fewer or more runs than chance gives: the normal deviate of the number of runs, 0 where all
 * have one sign is -infinity. Reference: NIST/SEMATECH e-Handbook, sec. 1.3.5.13. */
double sm_stats_runs(const double *y, size_t n);

/* Sum of squared steps over sum of squares: 2 for independent residuals, towards 0 for slowly wandering ones.
 * Reference: J. Durbin, G. Watson, Biometrika 37 (1950) 409. */
double sm_stats_durbin_watson(const double *y, size_t n);

#endif
