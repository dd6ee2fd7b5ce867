/*
 * A curve at fewer points: which samples to keep, and what to make of them so that totals stay.
 *
 * Samples are ranked by how much the lines between those already kept miss them (top-down refinement, each step at
 * the worst place); the first N of the ranking are the knots for N points, so a longer table holds all knots of a
 * shorter one. Reference: the splitting step is that of D. H. Douglas, T. K. Peucker, Cartographica 10 (1973) 112.
 */
#ifndef SM_CURVE_RESAMPLE_H
#define SM_CURVE_RESAMPLE_H

#include "base/arena.h"
#include "base/fail.h"

/* One column that the lines between knots must follow. */
struct sm_resample_column {
    const double *y; /* n values [any] */
    double scale;    /* what deviations are measured in, > 0 [unit of y] */
};

/*
 * Ranks samples as knots.
 *
 * Given:
 *   time[n]      strictly rising [s]; n >= 2
 *   columns      n_columns of them
 *   forced       places of samples to be kept in any case, n_forced of them, in any order; the first and last
 *                sample always are
 * Returned:
 *   order[n]     places of samples, most needed first: the forced ones by place, then by falling deviation
 *   *n_kept      how many are forced
 * Status: SM_E_NOMEM.
 */
enum sm_status sm_resample_rank(const double *time, size_t n, const struct sm_resample_column *columns,
                                size_t n_columns, const size_t *forced, size_t n_forced,
                                struct sm_arena *arena, size_t *order, size_t *n_kept,
                                struct sm_error *err) SM_MUST_CHECK;

/*
 * Makes the integral of the straight lines through y[n] over time what it should be, by one factor on all values
 * but those at the cap; what would pass the cap is put on it and the factor found anew.
 *
 * Given: time[n], strictly rising [s]; y[n] >= 0; integral >= 0 [unit of y times s]; cap [unit of y].
 * Returned: y changed in place, zeros still zero and nothing below zero or above the cap; 0 and y spoiled if there
 * is no such factor.
 */
int sm_resample_conserve(const double *time, double *y, size_t n, double integral, double cap);

/* Largest distance between y[n] over time and the lines through knots[m] over knot_time, at the samples; *at is
 * its time [s]. m >= 1; ends are held. */
double sm_resample_deviation(const double *time, const double *y, size_t n, const double *knot_time,
                             const double *knots, size_t m, double *at);

#endif
