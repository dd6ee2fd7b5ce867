/*
 * Addresses inside a document or a parameter block: JSON pointers (RFC 6901), their dotted short form, and
 * the way from a pointer through parameter rows to a number.
 */
#ifndef SM_BASE_POINTER_H
#define SM_BASE_POINTER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fail.h"
#include "slowmatch/param.h"

enum {
    SM_POINTER_MAX = 1024, /* room for a pointer with its NUL */
    SM_TOKEN_MAX = 256     /* room for one decoded token with its NUL */
};

/*
 * "grains.0.length" and "/grains/0/length" to the latter form.
 *
 * Given: text, a JSON pointer if it is empty or starts with '/', else tokens joined by dots ('~' and '/'
 * stand for themselves there; a key that holds a dot needs the pointer form).
 * Returned: out[SM_POINTER_MAX].
 * Status: SM_E_SYNTAX for an empty dotted token, a '~' not followed by 0 or 1, or a text that is too long.
 * Reference: RFC 6901, sections 3 and 4.
 */
enum sm_status sm_pointer_from_text(const char *text, char out[SM_POINTER_MAX],
                                    struct sm_error *err) SM_MUST_CHECK;

/*
 * Takes the first token off a valid pointer. Returned: what is left after it; NULL, with token untouched, if
 * the pointer is empty, a token is longer than SM_TOKEN_MAX - 1 bytes, or the escapes are wrong.
 */
const char *sm_pointer_token(const char *pointer, char token[SM_TOKEN_MAX]);

/* Writes key with '~' and '/' escaped into out, cut to fit; returns out. */
const char *sm_pointer_escape(const char *key, char *out, size_t size);

/* Is token an array place: 0, or digits that do not start with 0? */
bool sm_pointer_index(const char *token, size_t *index);

/* A value [SI] in a unit that people use for one of its size: "34 mm"; no unit for a bare number. Returned: buf. */
enum { SM_PARAM_TEXT = 64 };
const char *sm_param_text(char buf[SM_PARAM_TEXT], enum sm_dim dim, double value);

/*
 * Is value [SI] within the row's bounds? Bounds that are both 0 mean none.
 * Status: SM_E_RANGE, with the value and the bounds in the message, each in a unit that people use.
 */
enum sm_status sm_param_in_bounds(const struct sm_param *row, double value,
                                  struct sm_error *err) SM_MUST_CHECK;

/* The number at a pointer in a block: its row (for bounds, dimension and kind) and where it is stored. */
struct sm_pointer_target {
    const struct sm_param *row; /* of kind SM_QUANTITY or SM_WHOLE */
    void *value;                /* double or int, within the block or its lists */
};

/*
 * Follows a pointer through rows, records and lists to a quantity or whole number.
 *
 * Given: rows[n_rows] that describe block; pointer relative to the block, e.g. "/holes/3/x".
 * Status: SM_E_FIELD if there is no such value (the message says which part is unknown and what is near it)
 * or it is not a number; SM_E_RANGE if a list has no such place.
 */
enum sm_status sm_pointer_find(const struct sm_param *rows, size_t n_rows, void *block, const char *pointer,
                               struct sm_pointer_target *target, struct sm_error *err) SM_MUST_CHECK;

/* The value as a double, SI; SM_ABSENT if it was not given. */
double sm_pointer_get(const struct sm_pointer_target *target);

/* Status: SM_E_RANGE if the value is not finite, is outside the row's bounds, or a whole number would get a
 * fraction; the block is then unchanged. */
enum sm_status sm_pointer_set(const struct sm_pointer_target *target, double value,
                              struct sm_error *err) SM_MUST_CHECK;

#endif
