/*
 * A warning is one file in ballistics/warnings/ that defines one row, struct sm_warning sm_warning_<file>.
 *
 * Each looks at a finished run and says, if need be, what is doubtful and what to do about it. A design that
 * is doubtful but computable is computed.
 */
#ifndef SM_BALLISTICS_WARNING_H
#define SM_BALLISTICS_WARNING_H

#include "ballistics/result.h"

struct sm_warning_case {
    const struct sm_motor *motor;
    const struct sm_chamber *chamber; /* NULL for a bare curve */
    const struct sm_result *result;
    double temperature;     /* of the grain as it was run [K] */
    double hot_pressure;    /* peak with the hottest grain [Pa]; SM_ABSENT if that run had no answer */
    double hot_temperature; /* of that grain [K] */
    char why_not[256];      /* why it had none */
    size_t first, last;     /* rows of the series between the 5 % instants while propellant burns */
};

/* Whether a warning is judged for grains, for bare curves, or for both. */
enum sm_warning_of { SM_OF_GRAINS, SM_OF_CURVES, SM_OF_ALL };

struct sm_warning {
    const char *code;    /* "erosive-burning" */
    const char *summary; /* when it is raised, one line for the manual */
    const char *pointer; /* the value that is best changed */
    enum sm_warning_of of;
    /* Fills text[size] and returns 1 if the warning holds. */
    int (*judge)(const struct sm_warning_case *c, char *text, size_t size);
};

/* Generated from the files in ballistics/warnings/; NULL-terminated. */
extern const struct sm_warning *const sm_warning_list[];

/* Share of the burn time (of the judged rows) for which y[i] is above, or below, a limit; straight lines
 * between rows. */
double sm_share_above(const struct sm_warning_case *c, const double *y, double limit);
double sm_share_below(const struct sm_warning_case *c, const double *y, double limit);

/* A state must hold for more than this share of the burn time to be warned of. */
extern const double sm_warning_share;

/* Judges all that apply; the found ones live in the run's arena. */
enum sm_status sm_warnings_judge(const struct sm_motor *motor, const struct sm_chamber *chamber,
                                 struct sm_run *run, struct sm_error *err) SM_MUST_CHECK;

#endif
