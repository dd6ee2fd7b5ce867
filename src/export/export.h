/*
 * A form is one file in export/formats/ that defines one row, struct sm_format sm_format_<file>.
 *
 * It is given a table that is ready to be handed over: SI, time strictly rising from 0, ending in two equal rows of
 * nothing, numbers of twelve digits, thrust never below zero, total impulse that of the run. It writes to a sink.
 */
#ifndef SM_EXPORT_EXPORT_H
#define SM_EXPORT_EXPORT_H

#include "base/sink.h"
#include "export/facts.h"
#include "motor/motor.h"
#include "slowmatch/export.h"

/* The columns, in the order in which forms write them. */
enum sm_out {
    SM_OUT_TIME,
    SM_OUT_THRUST,
    SM_OUT_THRUST_VACUUM,
    SM_OUT_IMPULSE,
    SM_OUT_MASS_FLOW,
    SM_OUT_PRESSURE,
    SM_OUT_PROPELLANT_MASS,
    SM_OUT_CENTER_OF_MASS,
    SM_OUT_INERTIA_AXIAL,
    SM_OUT_INERTIA_TRANSVERSE,
    SM_OUT_MOTOR_MASS,
    SM_OUT_MOTOR_CENTER_OF_MASS,
    SM_OUT_MOTOR_INERTIA_AXIAL,
    SM_OUT_MOTOR_INERTIA_TRANSVERSE,
    SM_N_OUT
};

struct sm_out_column {
    const char *name;       /* "mass_flow" */
    const char *short_name; /* of at most 19 letters, for old numerical tools */
    const char *title;      /* "Mass flow" */
    enum sm_dim dim;
    const char *meaning; /* one sentence without full stop */
    size_t series;       /* offset of the pointer in struct sm_series [bytes]; SM_OUT_OWN: reckoned here */
};
#define SM_OUT_OWN ((size_t)-1)
extern const struct sm_out_column sm_out_columns[SM_N_OUT];

enum { SM_MAX_AMBIENT = 16 };

struct sm_format;
struct sm_export {
    struct sm_arena arena;
    const struct sm_motor *motor;
    const struct sm_result *result;
    const struct sm_format *format;
    struct sm_export_options options;
    const char *name;         /* of the motor, on one line */
    const char *identifier;   /* made of it: lower-case letters, digits, underscores; starts with a letter */
    size_t n;                 /* rows */
    double *column[SM_N_OUT]; /* n values each [SI]; NULL: the motor has no such thing */
    size_t *source;           /* of each row: the run's row that it stands for, or is held from */
    char *is_made;            /* of each row: 1 if it was put in at the start, before a jump or at the end */
    size_t n_ambient;         /* 1: thrust is known at one pressure only */
    double ambient[SM_MAX_AMBIENT]; /* rising [Pa] */
    double *thrust[SM_MAX_AMBIENT]; /* at each, n values [N] */
    size_t own;                     /* place of the run's own pressure among them */
    struct sm_fact *facts;          /* what holds for the table as a whole */
    size_t n_facts;
    bool is_starved; /* memory ran out while the facts were gathered */
    struct sm_export_report report;
};

struct sm_format {
    const char *name, *summary;
    const char *ending;    /* of its files, ".csv" */
    const char *companion; /* behind the output's name for the second file; NULL: none */
    int is_binary;
    size_t usual_points; /* rows if none are asked for; 0: all */
    enum sm_status (*check)(const struct sm_export *e,
                            struct sm_error *err); /* of the options; may be NULL */
    enum sm_status (*write)(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err);
    enum sm_status (*write_companion)(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err);
};

/* Generated from the files in export/formats/; NULL-terminated. */
extern const struct sm_format *const sm_format_list[];

/* Makes the table: n, columns, ambient pressures and report, from motor, result and options. */
enum sm_status sm_export_tabulate(struct sm_export *e, struct sm_error *err) SM_MUST_CHECK;

/* Text on one line: control characters become blanks. In the arena; NULL if memory is out. */
char *sm_export_one_line(struct sm_arena *arena, const char *text);

/* The value rounded to twelve digits, so that what is written is short and reads back to the same number. */
double sm_export_round(double value);

#endif
