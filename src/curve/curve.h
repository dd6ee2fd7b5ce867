/* A thrust curve as samples, and what the standards read off it. Knows nothing of motors: measured, bought and computed
 * curves are all this. */
#ifndef SM_CURVE_CURVE_H
#define SM_CURVE_CURVE_H

#include <stddef.h>

#include "base/fail.h"

/* Straight lines between samples; time never falls, and may stand twice at a jump. */
struct sm_curve {
    const double *time;     /* n of them, from ignition [s] */
    const double *thrust;   /* n of them [N] */
    const double *pressure; /* n of them, chamber, absolute [Pa]; NULL if unknown */
    size_t n;
};

/* How the end of the burn is found: the last fall through 5 % of the maximum, or the end of the stretch about the
 * maximum that stays above it. */
enum sm_burn_end { SM_BURN_END_LAST, SM_BURN_END_CONTIGUOUS };

struct sm_curve_rule {
    enum sm_burn_end burn_end;
    double threshold;       /* share of maximum thrust that bounds the burn time [1]; 0 means 0.05 */
    double action;          /* share of maximum pressure that bounds the action time [1]; 0 means 0.10 */
    double noise;           /* standard deviation of a measured curve's quiet span [N]; 0 for a computed curve, whose
                               total impulse is then the whole integral */
};

struct sm_curve_numbers {
    double total_impulse;         /* [N s] */
    double impulse_in_burn_time;  /* [N s] */
    double burn_start, burn_end;  /* [s] */
    double burn_time;             /* [s] */
    double action_time;           /* [s]; SM_ABSENT without pressure */
    double average;               /* total impulse over burn time [N] */
    double average_in_burn_time;  /* [N] */
    double maximum, maximum_time; /* [N], [s] */
    double maximum_steady;        /* maximum outside an ignition spike [N]; = maximum where there is none */
    double initial;               /* at the start of the burn, after the rise: see curve.c [N] */
    double pressure_maximum;      /* [Pa]; SM_ABSENT without pressure */
    double pressure_average;      /* time mean over the burn time [Pa]; SM_ABSENT without pressure */
};

/*
 * Status: SM_E_RANGE for fewer than two samples, time that falls, a value that is not finite (the message has the
 * row), no thrust above zero.
 * Reference: burn time and average as NFPA 1125 is quoted at second hand; action time as textbooks define it.
 */
enum sm_status sm_curve_numbers(const struct sm_curve *curve, const struct sm_curve_rule *rule,
                                struct sm_curve_numbers *out, struct sm_error *err) SM_MUST_CHECK;

/* Value at time t of a column y[n] over time[n], straight between samples, held outside. At a jump the later value. */
double sm_curve_at(const double *time, const double *y, size_t n, double t);

/* Integral of y over time between a and b [unit of y times s], exact for the straight lines. */
double sm_curve_integral(const double *time, const double *y, size_t n, double a, double b);

#endif
