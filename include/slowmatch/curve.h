/*
 * Thrust curves, impulse classes and the published thresholds: what can be said of a motor from its curve
 * alone.
 */
#ifndef SLOWMATCH_CURVE_H
#define SLOWMATCH_CURVE_H

#include <stddef.h>

#include "slowmatch/error.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ---- a curve and the numbers the standards read off it ---- */

/* Straight lines between samples; time never falls, and may stand twice at a jump. */
struct sm_curve {
    const double *time;     /* n of them, from ignition [s] */
    const double *thrust;   /* n of them [N] */
    const double *pressure; /* n of them, chamber, absolute [Pa]; NULL if unknown */
    size_t n;
};

/* How the burn is bounded: from the first rise through 5 % of the maximum to the last fall through it, or the
 * stretch about the maximum that stays above it. */
enum sm_burn_end { SM_BURN_END_LAST, SM_BURN_END_CONTIGUOUS };

struct sm_curve_rule {
    enum sm_burn_end burn_end;
    double threshold; /* share of maximum thrust that bounds the burn time [1]; 0 means 0.05 */
    double action;    /* share of maximum pressure that bounds the action time [1]; 0 means 0.10 */
    double noise; /* standard deviation of a measured curve's quiet span [N]; 0 for a computed curve, whose
                     total impulse is then the whole integral */
    double
        ambient; /* taken off the pressure before the action share is [Pa]; 0: the share is of the absolute */
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
    double initial;               /* at the top of the ignition rise: see the notes below [N] */
    double pressure_maximum;      /* [Pa]; SM_ABSENT without pressure */
    double pressure_average;      /* time mean over the burn time [Pa]; SM_ABSENT without pressure */
};

/*
 * Given: rule, NULL for the usual one, all zeros.
 * Status: SM_E_RANGE for fewer than two samples, time that falls, a value that is not finite (the message has
 * the row), no thrust above zero or the noise, a burn of no length. *out is then untouched.
 * Notes:
 *   1) With noise, total impulse runs from the start of the burn to the last instant at which thrust exceeds
 *      three times it.
 *   2) An ignition spike is the highest thrust of the first W of the burn (W: 5 % of it, at most 0.2 s) if
 *      nothing exceeds it until W later, it stands more than a tenth above the 2 W after that, and thrust falls
 *      by less than half that height over them. The steady maximum is that of all later than W after its peak.
 *   3) The initial thrust is that W after a spike; without one, that at the knee: the first sample whose height
 *      above the straight line from the start of the burn to the last sample within a hundredth of the maximum
 *      is not exceeded within W after it.
 * Reference: burn time and average as NFPA 1125 is quoted at second hand; action time as textbooks define it;
 * spike and initial thrust are definitions of our own.
 */
SM_API enum sm_status sm_curve_numbers(const struct sm_curve *curve, const struct sm_curve_rule *rule,
                                       struct sm_curve_numbers *out, struct sm_error *err) SM_MUST_CHECK;

/* Value at time t of a column y[n] over time[n], straight between samples, held outside; n >= 1. At a jump the
 * later value. */
SM_API double sm_curve_at(const double *time, const double *y, size_t n, double t);

/* Integral of y over time between a and b [unit of y times s], exact for the straight lines; nothing is counted
 * outside the samples, nor if b <= a; n >= 1. */
SM_API double sm_curve_integral(const double *time, const double *y, size_t n, double a, double b);

/* ---- impulse classes: 1/8A, 1/4A, 1/2A, A, B, ... doubling ---- */

struct sm_impulse_class {
    char letter[8];   /* "1/8A" ... "O", "P" ... "Z", "AA" past that */
    double above, to; /* impulse above the first and up to and including the second [N s] */
    double margin;    /* left to the upper limit [N s] */
};

/* total impulse > 0 [N s], else the letter is empty and the limits 0. A whisker of rounding (1e-12 relative) above
 * a limit still counts as at it. */
SM_API void sm_impulse_class_of(double total_impulse, struct sm_impulse_class *out);

/* "H13": class letter and average thrust to the nearest newton, at least 1; with "-7" for a delay of 7 s,
 * "-P" plugged (delay negative); delay SM_ABSENT: nothing. buf holds size bytes. */
SM_API void sm_impulse_designation(const struct sm_impulse_class *c, double average_thrust, double delay,
                                   char *buf, size_t size);

/* ---- certification levels and legal thresholds: guidance from one sourced table ---- */

/* What is to be flown; unknown values are NaN. */
struct sm_rule_case {
    double impulse_each;    /* total impulse of one motor [N s] */
    double thrust_average;  /* of one motor [N] */
    double propellant_each; /* of one motor [kg] */
    double vehicle_mass;    /* at lift-off, with motors [kg] */
    int count;              /* motors installed together */
    int own_design;         /* not a certified motor on sale */
    double
        installed_impulse; /* of a mixed cluster, whose largest motor stands above; 0: count times each [N s] */
    double installed_propellant; /* the same; 0: count times each, SM_ABSENT (NaN): unknown [kg] */
};

/* One line of guidance that holds for the case. */
struct sm_rule_finding {
    const char *code;     /* e.g. "level-2" */
    char text[256];       /* what it means, with the number that decides and how far the case is from it */
    const char *source;   /* citation */
    const char *standing; /* "published", "second hand" or "from memory" */
    const char *brief;    /* the source in a word or two, as "14 CFR 101.22"; NULL for none */
};

enum { SM_MAX_FINDINGS = 24 };

/* Fills found[SM_MAX_FINDINGS], returns how many. Always ends with the advice to check the current edition
 * and the local rules; for a motor of one's own design it says that such a motor is not a certified one,
 * whatever its class. */
SM_API size_t sm_rules_judge(const struct sm_rule_case *c, struct sm_rule_finding *found);

/* The table itself, for documents: row i < sm_rules_count(). */
struct sm_rule_row {
    const char *code, *what; /* plain sentence */
    double limit;            /* [SI unit of the quantity]; SM_ABSENT (NaN) if the row has no number */
    const char *unit;        /* "N s", "N", "kg", "" */
    const char *source, *standing, *brief; /* as in a finding */
};
SM_API size_t sm_rules_count(void);
SM_API const struct sm_rule_row *sm_rules_row(size_t i);

#ifdef __cplusplus
}
#endif
#endif
