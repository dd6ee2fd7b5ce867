/*
 * Handing a curve over: open forms that other programs read.
 *
 *     struct sm_export *export;
 *     if (sm_export_open(motor, result, sm_format_place("dave-ml", NULL), NULL, &export, &err) == SM_OK)
 *         ... sm_export_write(export, &sink, &err) ...
 *     sm_export_close(export);
 */
#ifndef SLOWMATCH_EXPORT_H
#define SLOWMATCH_EXPORT_H

#include <stdbool.h>
#include <stddef.h>

#include "slowmatch/motor.h"
#include "slowmatch/simulate.h"
#include "slowmatch/sink.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ---- forms ---- */

struct sm_format_info {
    const char *name, *summary;
    const char *ending;    /* of its files, ".csv" */
    const char *companion; /* what is put behind the output's name for its second file; NULL: it has none */
    bool is_binary;
};
SM_API size_t sm_format_count(void);
SM_API void sm_format_describe(size_t i, struct sm_format_info *info);
/* Place of a form by name; on failure sm_format_count(), and *near the nearest name or NULL. near may be NULL. */
SM_API size_t sm_format_place(const char *name, const char **near);
/* The one form whose files end like path; sm_format_count() if there is none. */
SM_API size_t sm_format_of_file(const char *path);

/* ---- options ---- */

/* How one quantity's numbers are written by a template: "thrust", "%.2f". */
struct sm_export_number {
    const char *quantity;
    const char
        *format; /* one of %e, %f, %g with flags out of "-+ 0", a width and a precision, and nothing else */
};

/* All zeros: usual values. Borrowed until the export is closed. */
struct sm_export_options {
    size_t
        points; /* rows of the table, 2 or more; 0: as many as the form usually has, which for most is all there are */
    const char
        *file_name; /* of the output without folder, for forms that name it; NULL: made of the motor's name */
    const char *date;                    /* "2026-01-31", for forms that have a date; NULL: none */
    const char *input_name;              /* of the motor file, without folder; NULL: unknown */
    const char *input_hash;              /* its SHA-256 as sm_hash_file gives it; NULL: unknown */
    const struct sm_override *overrides; /* values set over the file's, n_overrides of them */
    size_t n_overrides;
    bool fixed_point; /* c-header: whole numbers in place of floats */
    /* of the form "template" */
    const char *template_text; /* n_template bytes */
    size_t n_template;
    const char *template_name;              /* what errors call it */
    const struct sm_export_number *numbers; /* n_numbers of them */
    size_t n_numbers;
    bool for_html;         /* {{x}} escapes & < > " */
    bool unknown_is_empty; /* a name that is not known renders nothing, as the Mustache specification says */
};

/* ---- writing ---- */

struct sm_export;

/*
 * Brings a run's columns to the table that is handed over.
 *
 * Given: motor and its result, both borrowed until the export is closed; form < sm_format_count(); options, NULL for
 * the usual ones.
 * Returned: *export, caller closes.
 * Status: SM_E_RANGE for a run that was stopped before its end, for points < 2 or too few to keep total impulse to
 * 1e-6 and maximum thrust to 0.1 % (the message says how many would do); SM_E_FIELD and SM_E_SYNTAX for options that
 * don't fit.
 */
SM_API enum sm_status sm_export_open(const struct sm_motor *motor, const struct sm_result *result,
                                     size_t form, const struct sm_export_options *options,
                                     struct sm_export **export_, struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_export_close(struct sm_export *export_);

/* The file, and the second file of a form that has one (SM_E_INTERNAL if it has none). The same bytes for the same
 * input and options. */
SM_API enum sm_status sm_export_write(const struct sm_export *export_, struct sm_sink *sink,
                                      struct sm_error *err) SM_MUST_CHECK;
SM_API enum sm_status sm_export_write_companion(const struct sm_export *export_, struct sm_sink *sink,
                                                struct sm_error *err) SM_MUST_CHECK;

/* What the table is worth against the run. */
struct sm_export_report {
    size_t rows, of;      /* rows written, of so many there are */
    double thrust_off;    /* largest difference of thrust, lines between rows against the run [N] */
    double thrust_off_at; /* when [s] */
    double impulse_off;   /* of total impulse, relative [1] */
    double peak_off;      /* of maximum thrust, relative [1] */
    size_t n_negative;    /* rows of a given curve below zero, written as zero */
    bool knows_masses;    /* is propellant mass known at all? */
    bool whole_motor; /* are mass, centre and inertia of the whole motor given, or of the propellant only? */
    bool by_ambient;  /* is thrust given against ambient pressure? */
};
SM_API void sm_export_report(const struct sm_export *export_, struct sm_export_report *report);

/* ---- provenance ---- */

enum { SM_HASH_TEXT = 65 };
/* SHA-256 of a file as hexadecimal digits. Status: SM_E_IO. Reference: FIPS 180-4. */
SM_API enum sm_status sm_hash_file(const char *path, char hex[SM_HASH_TEXT],
                                   struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
