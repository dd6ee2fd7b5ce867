/* A record as read, and its stand's rows. */
#ifndef SM_TESTSTAND_RECORD_H
#define SM_TESTSTAND_RECORD_H

#include "base/arena.h"
#include "base/fail.h"
#include "slowmatch/firing.h"

struct sm_record {
    const char *name;
    double *time;     /* [s] */
    double *thrust;   /* readings times the unit's size, no baseline taken off [N] */
    double *pressure; /* the same; NULL without [Pa] */
    unsigned *line;   /* where each row stands */
    size_t n;
    size_t *start; /* places at which the clock starts anew, n_starts of them; the first is 0 */
    size_t n_starts;
    size_t n_skipped;
    unsigned first_skipped; /* line */
    double thrust_unit;     /* newtons of one reading, with its sign [N] */
    double pressure_unit;   /* [Pa] */
};

extern const struct sm_param sm_stand_params[];
extern const size_t sm_n_stand_params;

/*
 * Reduces a record.
 * Given: record; stand; arena in which all of *firing lives. Returned: *firing. Status: as sm_firing_load.
 */
enum sm_status sm_reduce(const struct sm_record *record, const struct sm_stand *stand,
                         enum sm_burn_end burn_end, struct sm_arena *arena, struct sm_firing *firing,
                         struct sm_error *err) SM_MUST_CHECK;

/* Adds a note, the text cut to fit; beyond SM_MAX_FIRING_NOTES it is dropped. */
void sm_firing_note(struct sm_firing *firing, const char *code, unsigned line, const char *fmt, ...)
    SM_PRINTF(4, 5);

/* Fills figures, class and chances from the curve of the firing: see figures.c. */
enum sm_status sm_firing_figures(struct sm_firing *firing, const struct sm_stand *stand,
                                 enum sm_burn_end burn_end, double tare_uncertainty, struct sm_arena *arena,
                                 struct sm_error *err) SM_MUST_CHECK;

#endif
