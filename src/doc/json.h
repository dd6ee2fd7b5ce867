/*
 * JSON documents (RFC 8259), read strictly, with the place of every value kept.
 *
 * Refused: anything outside the grammar, a byte-order mark, ill-formed UTF-8, \u0000, lone surrogates,
 * repeated keys, numbers too large for a double, text after the value, nesting deeper than SM_MAX_JSON_DEPTH,
 * more than SM_MAX_JSON_BYTES. The library under the tree is seen by doc/json*.c alone.
 */
#ifndef SM_DOC_JSON_H
#define SM_DOC_JSON_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fail.h"

struct sm_json_doc; /* owns texts, tree and places */
struct sm_json;     /* one value of a tree; borrowed until its document is edited there or freed */

/*
 * Given:
 *   text[n]  need not end in NUL; copied
 *   name     what errors call the file; copied
 * Returned:
 *   *doc     caller frees with sm_json_free; NULL on failure
 * Status:
 *   SM_E_SYNTAX  not strict JSON; err holds line, column, excerpt and caret
 *   SM_E_FIELD   a key stands twice in one object; likewise
 *   SM_E_RANGE   too long, too deep or a number too large; likewise
 */
enum sm_status sm_json_parse(const char *text, size_t n, const char *name, struct sm_json_doc **doc,
                             struct sm_error *err) SM_MUST_CHECK;
/* The same from a file. Status: also SM_E_IO. */
enum sm_status sm_json_read_file(const char *path, struct sm_json_doc **doc,
                                 struct sm_error *err) SM_MUST_CHECK;
void sm_json_free(struct sm_json_doc *doc);

const struct sm_json *sm_json_root(const struct sm_json_doc *doc);
const char *sm_json_name(const struct sm_json_doc *doc); /* borrowed until the document is freed */

/* ---- values ---- */

enum sm_json_type {
    SM_JSON_NULL,
    SM_JSON_BOOL,
    SM_JSON_NUMBER,
    SM_JSON_STRING,
    SM_JSON_ARRAY,
    SM_JSON_OBJECT
};

/* All of these take NULL for a value that is not there: the type is then SM_JSON_NULL. */
enum sm_json_type sm_json_type(const struct sm_json *value);
bool sm_json_is(const struct sm_json *value, enum sm_json_type type); /* false for NULL */
const char *sm_json_type_name(enum sm_json_type type);                /* "an object", "a string", ... */

/* Members of an object and elements of an array, in the order of the file; NULL at the end or for other
 * types. */
const struct sm_json *sm_json_first(const struct sm_json *value);
const struct sm_json *sm_json_next(const struct sm_json *value);
size_t sm_json_count(const struct sm_json *value);    /* walks them */
const char *sm_json_key(const struct sm_json *value); /* of a member of an object, else NULL */

/* The member called key, case counting; NULL if there is none or value is not an object. Walks the members.
 */
const struct sm_json *sm_json_get(const struct sm_json *value, const char *key);
/* The value at a JSON pointer relative to value; NULL if there is none. */
const struct sm_json *sm_json_find(const struct sm_json *value, const char *pointer);

const char *sm_json_string(const struct sm_json *value); /* UTF-8 without NUL inside; NULL for other types */
double sm_json_number(const struct sm_json *value);      /* NaN for other types */
bool sm_json_bool(const struct sm_json *value);          /* false for other types */

/* ---- editing ---- */

/*
 * Sets the value at where, replacing what is there, or adding a key to an object or the next element to an
 * array.
 *
 * Given:
 *   where   JSON pointer or dotted short form (base/pointer.h); "-" as an array place means after the last
 *   value   read as JSON if it is JSON, else taken as a string; what starts as an object, array or quoted
 *           string must be JSON
 *   origin  what errors in this value call its source, such as "--set"
 * Status:
 *   SM_E_SYNTAX  where or value is not well formed
 *   SM_E_FIELD   what where passes through is not there; the message names it
 *   SM_E_RANGE   nested too deeply
 * On failure the document is unchanged.
 */
enum sm_status sm_json_set(struct sm_json_doc *doc, const char *where, const char *value, const char *origin,
                           struct sm_error *err) SM_MUST_CHECK;

/*
 * Puts a copy of the value at pointer in another document at where. Errors located there later name the file,
 * line and pointer of that other document. Status as sm_json_set.
 */
enum sm_status sm_json_splice(struct sm_json_doc *doc, const char *where, const struct sm_json_doc *from,
                              const char *pointer, struct sm_error *err) SM_MUST_CHECK;

/* Removes the member or element at where, if there is one. Returned: was there one? */
bool sm_json_remove(struct sm_json_doc *doc, const char *where);

/* ---- places ---- */

/*
 * Turns err->at.path, a pointer into doc, into file, line, column, excerpt and caret.
 *
 * Notes:
 *   1) The place is that of the value, and for SM_E_FIELD that of its key where it has one.
 *   2) If the pointer leads to nothing (a missing key), the place is that of the nearest value on the way.
 *   3) A value that was set or spliced in is located where it came from: in "--set" and its text, or in the
 *      other file, in whose terms the pointer is then given.
 *   4) An error that has a line already is left alone.
 */
void sm_json_locate(const struct sm_json_doc *doc, struct sm_error *err);
/* The same for each problem of a list. */
void sm_json_locate_all(const struct sm_json_doc *doc, struct sm_diag *diag);

/* Line of a value in the file it came from, 0 if unknown. */
unsigned sm_json_line(const struct sm_json_doc *doc, const struct sm_json *value);

#endif
