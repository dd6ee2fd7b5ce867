/*
 * Writes JSON (RFC 8259) to a sink as it is told. Errors stick: after the first nothing more is written, so
 * calls need not be checked one by one; the last call, sm_json_write_end, gives the outcome.
 *
 * Objects and arrays stand one member or element a line, indented by two blanks; what is opened as a row, and
 * arrays of doubles, stand on one line.
 */
#ifndef SM_DOC_JSON_WRITE_H
#define SM_DOC_JSON_WRITE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fail.h"
#include "doc/json.h"
#include "slowmatch/sink.h"

enum { SM_JSON_WRITE_DEPTH = 64, SM_JSON_WRITE_BUFFER = 4096 };

/* Fill with sm_json_write_init; the fields are the writer's own but for the options. */
struct sm_json_writer {
    bool for_script; /* option: '<' as \u003c, so that the text can stand in a script element of a page */
    struct sm_sink *sink;
    enum sm_status status;
    struct sm_error error;
    size_t depth;
    struct sm_json_level {
        char close;   /* '}' or ']' */
        bool is_row;  /* on one line */
        bool is_used; /* holds something */
    } levels[SM_JSON_WRITE_DEPTH];
    bool has_key; /* a key waits for its value */
    bool is_done; /* the one value is complete */
    size_t n;
    char buffer[SM_JSON_WRITE_BUFFER];
};

void sm_json_write_init(struct sm_json_writer *w, struct sm_sink *sink);

/* Writes what is buffered and a line end, and gives the first error of all the calls. Status: that of the
 * sink; SM_E_INTERNAL if the calls did not make one JSON value (a value without key in an object, something
 * left open). */
enum sm_status sm_json_write_end(struct sm_json_writer *w, struct sm_error *err) SM_MUST_CHECK;

void sm_json_open_object(struct sm_json_writer *w);
void sm_json_open_array(struct sm_json_writer *w);
void sm_json_open_row(struct sm_json_writer *w);        /* an array on one line, with all that it holds */
void sm_json_open_object_row(struct sm_json_writer *w); /* an object on one line */
void sm_json_close(struct sm_json_writer *w);           /* the innermost that is open */
void sm_json_put_key(struct sm_json_writer *w, const char *key);

/* Text is UTF-8; a byte that is not comes out as U+FFFD. NULL is written as null. */
void sm_json_put_string(struct sm_json_writer *w, const char *text);
/* Shortest decimal that reads back to the same double; NaN and infinities as null. */
void sm_json_put_number(struct sm_json_writer *w, double value);
void sm_json_put_whole(struct sm_json_writer *w, long long value);
void sm_json_put_bool(struct sm_json_writer *w, bool value);
void sm_json_put_null(struct sm_json_writer *w);
void sm_json_put_doubles(struct sm_json_writer *w, const double *values, size_t n);
/* A value of a document that was read, with all that it holds; NULL as null. */
void sm_json_put_value(struct sm_json_writer *w, const struct sm_json *value);

/* A key and its value in one call. */
void sm_json_member_object(struct sm_json_writer *w, const char *key); /* opens it */
void sm_json_member_array(struct sm_json_writer *w, const char *key);  /* opens it */
void sm_json_member_string(struct sm_json_writer *w, const char *key, const char *text);
void sm_json_member_number(struct sm_json_writer *w, const char *key, double value);
void sm_json_member_whole(struct sm_json_writer *w, const char *key, long long value);
void sm_json_member_bool(struct sm_json_writer *w, const char *key, bool value);
void sm_json_member_null(struct sm_json_writer *w, const char *key);
void sm_json_member_doubles(struct sm_json_writer *w, const char *key, const double *values, size_t n);

#endif
