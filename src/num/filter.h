/*
 * A low-pass that does not shift anything in time: Butterworth's, run forwards and then backwards.
 *
 * The gain of both passes together at frequency f is 1 / (1 + (sqrt(2) - 1) (tan(pi f h) / tan(pi fc h))^4), h the
 * sampling interval: 1 at rest, 1 / sqrt(2) at the cut-off fc, 1 / 36 at twice fc where both are slow. A constant and a
 * straight line pass unchanged, so the area under a curve that starts and ends at rest does too.
 *
 * Reference: Butterworth's squared gain 1 / (1 + (f/fc)^2N), here N = 2, by the bilinear transform with the frequency
 * warped beforehand (A. Oppenheim, R. Schafer, Discrete-Time Signal Processing, ch. 7; from memory); the correction of
 * the cut-off for two passes: D. Winter, Biomechanics and Motor Control of Human Movement, ch. 3 (from memory).
 */
#ifndef SM_NUM_FILTER_H
#define SM_NUM_FILTER_H

#include <stddef.h>

#include "base/fail.h"

/* y[i] = b0 x[i] + b1 x[i-1] + b2 x[i-2] - a1 y[i-1] - a2 y[i-2], one pass. */
struct sm_filter {
    double b0, b1, b2, a1, a2; /* [1] */
    double cutoff;             /* of both passes, times the sampling interval [1] */
};

/*
 * Given: cutoff of both passes times the sampling interval, 0 < cutoff < 0.5.
 * Status: SM_E_RANGE; *out is then untouched.
 */
enum sm_status sm_filter_design(double cutoff, struct sm_filter *out, struct sm_error *err) SM_MUST_CHECK;

/* Gain of both passes at a frequency times the sampling interval, 0 to 0.5 [1]. */
double sm_filter_gain(const struct sm_filter *filter, double frequency);

/* How many samples past either end the filter wants to see. */
size_t sm_filter_reach(const struct sm_filter *filter);

/*
 * Filters x[n], equally spaced, into y[n] (not x itself), forwards and backwards. Beyond the ends the samples are
 * taken to go on turned about the end sample, as odd functions do.
 *
 * Given: room[n + 2 sm_filter_reach(filter)]; n >= 1.
 */
void sm_filter_apply(const struct sm_filter *filter, const double *x, size_t n, double *room, double *y);

#endif
