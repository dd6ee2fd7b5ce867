/* How far values of a motor stray from what its file says. */
#ifndef SM_MOTOR_TOLERANCE_H
#define SM_MOTOR_TOLERANCE_H

#include "motor/vary.h"
#include "slowmatch/limits.h"

enum sm_tolerance_law { SM_LAW_NORMAL, SM_LAW_UNIFORM, SM_LAW_TRIANGULAR };
extern const char *const sm_tolerance_laws[]; /* "normal", "uniform", "triangular", NULL */

struct sm_tolerance {
    const char *of; /* pointer into the motor as loaded, as motor/vary.h takes it */
    double middle;  /* what the motor says [unit of the value pointed to] */
    double size;    /* normal: standard deviation; else half-width [unit of the value] */
    double
        truncated; /* normal: no further from the middle than this; SM_ABSENT: no bound [unit of the value] */
    double least, most; /* bounds of the value's row; both 0: none [unit of the value] */
    enum sm_dim dim;    /* of the value */
    int law;            /* enum sm_tolerance_law */
    int is_batch;       /* motors of one batch share the deviation */
};

struct sm_tolerances {
    struct sm_tolerance items[SM_MAX_TOLERANCES];
    size_t n;
    int is_usual; /* not from the file: what is usual for such a motor */
};

/*
 * What strays in a motor: its own list; of the propellant's or curve's list, what its own does not name; and where there
 * is none at all, what is usual.
 *
 * Status: SM_E_RANGE for more than SM_MAX_TOLERANCES.
 * Notes: the usual ones are common practice, no source; docs/spread.md lists them.
 */
enum sm_status sm_tolerances_of(const struct sm_motor *motor, struct sm_tolerances *out,
                                struct sm_error *err) SM_MUST_CHECK;

/* Standard deviation [unit of the value]. */
double sm_tolerance_sigma(const struct sm_tolerance *t);

/* The value that a share u of all falls short of, 0 < u < 1 [unit of the value]. */
double sm_tolerance_quantile(const struct sm_tolerance *t, double u);

#endif
