/*
 * Delimited text, row by row: RFC 4180 (quotes doubled within quoted fields, which may hold line ends), with
 * other delimiters, LF as well as CR LF, comment lines and the decimal comma. A file is never held whole.
 *
 * Refused, with their line: NUL and other control characters, a quote that is never closed, a quote inside an
 * unquoted field, text behind a closing quote, CR alone as a line end. Blank lines are skipped, and a
 * byte-order mark at the start. Bytes above 0x7F are not looked at.
 */
#ifndef SM_DOC_CSV_H
#define SM_DOC_CSV_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fail.h"

/* All zeros: delimiter and decimal sign are guessed, no comments, the limits of limits.h. */
struct sm_csv_options {
    char delimiter;      /* ',', ';', '\t'; ' ' for any run of blanks and tabs; 0: guessed */
    char decimal;        /* '.' or ','; 0: guessed */
    const char *comment; /* lines that start so, blanks apart, are skipped; NULL or "": none */
    size_t max_bytes;    /* 0: SM_MAX_CSV_BYTES */
    size_t max_rows;     /* 0: SM_MAX_CSV_ROWS */
};

struct sm_csv_field {
    const char *text; /* n bytes, quotes taken off; no NUL behind it; borrowed for the length of the call */
    size_t n;
    size_t column; /* of its first byte in its line, from 1 */
    bool is_quoted;
};

struct sm_csv_row {
    const struct sm_csv_field *fields;
    size_t n_fields;
    size_t n_first; /* fields of the first row, for a callback that wants all rows alike */
    unsigned line;  /* where the row starts, from 1 */
    size_t number;  /* of the row, from 0; comments and blank lines don't count */
    char delimiter; /* in use */
    char decimal;   /* in use */
};

/* Takes one row. A status other than SM_OK ends the reading, which adds file, line and excerpt to err. */
struct sm_csv_reader {
    enum sm_status (*row)(void *user, const struct sm_csv_row *row, struct sm_error *err);
    void *user;
};

/*
 * Reads all rows.
 *
 * Given: text[n], called name in errors, or the file at path; options may be NULL for all zeros.
 * Status: SM_E_IO; SM_E_SYNTAX for what is refused; SM_E_RANGE for too many bytes, rows or fields, or too
 * long a row; that of the callback. A text without rows is no error.
 */
enum sm_status sm_csv_read(const char *text, size_t n, const char *name, const struct sm_csv_options *options,
                           const struct sm_csv_reader *reader, struct sm_error *err) SM_MUST_CHECK;
enum sm_status sm_csv_read_file(const char *path, const struct sm_csv_options *options,
                                const struct sm_csv_reader *reader, struct sm_error *err) SM_MUST_CHECK;

/*
 * Guesses delimiter and decimal sign, where they are 0, from the first lines of text[0..n): the pair under
 * which most fields are numbers and rows are alike; on a tie a tab before ';' before ',' before blanks, and
 * '.' before ','.
 */
void sm_csv_guess(const char *text, size_t n, struct sm_csv_options *options);

/* The number in a field, blanks round it apart; false if the field is anything else, or empty. May be
 * infinite. */
bool sm_csv_number(const struct sm_csv_row *row, size_t field, double *value);

/* Does some field hold text that is no number? So a first row looks that names the columns. */
bool sm_csv_is_header(const struct sm_csv_row *row);

/* For a callback: puts the column of a field into err, behind sm_fail. Returns status. */
enum sm_status sm_csv_at(const struct sm_csv_row *row, size_t field, enum sm_status status,
                         struct sm_error *err);

#endif
