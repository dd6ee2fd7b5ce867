/*
 * Reads a JSON object by tables of parameter rows into blocks, and collects what is wrong with it.
 */
#ifndef SM_INPUT_READ_PARAMS_H
#define SM_INPUT_READ_PARAMS_H

#include <stddef.h>

#include "base/arena.h"
#include "base/fail.h"
#include "doc/json.h"
#include "slowmatch/param.h"
#include "units/units.h"

/* What a reading needs, handed down; all borrowed. */
struct sm_reader {
    struct sm_arena *arena; /* texts and lists of the result live here */
    struct sm_units *units;
    struct sm_diag *diag; /* every problem goes here, with its pointer; locate them with sm_json_locate_all */
};

/* Rows, and the block that they fill. */
struct sm_param_table {
    const struct sm_param *rows;
    size_t n_rows;
    void *block;
};

/*
 * Reads one object.
 *
 * Given:
 *   object    the value; a problem if it is not an object
 *   pointer   where it stands in the document, "" for the root
 *   tables    n_tables of them read the same object, each into its own block (what all grains say, what one
 *             shape adds); names must not meet
 *   handled   NULL-terminated names that the caller reads itself; NULL for none
 * Returned:
 *   the blocks, every row set: to what the file says, else to its fallback, else to "absent" as param.h tells
 *   (a whole number or flag without a fallback: 0, false)
 * Status:
 *   SM_OK if nothing was wrong, else the status of the first problem of this call; all are in reader->diag.
 *   Reading goes on past a problem, so the caller may too, to find more; the value in question is left as if
 *   absent.
 * Notes:
 *   1) "$schema" and "note" are allowed everywhere and say nothing.
 *   2) A quantity with a dimension is a string with a unit; one without is a bare number.
 *   3) Bounds of a row that are both 0 mean none.
 *   4) A problem's pointer is that of the value; of an unknown or missing key, of that key.
 *   5) Status of a problem: SM_E_FIELD for an unknown or missing key, SM_E_SYNTAX for a wrong type,
 *      SM_E_UNIT, and SM_E_RANGE for a number out of bounds, an unknown word, and a list or text of the wrong length.
 */
enum sm_status sm_read_params(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                              const struct sm_param_table *tables, size_t n_tables,
                              const char *const *handled) SM_MUST_CHECK;

/* Sets every row of a block to its fallback or to absent, as for an object that says nothing. */
void sm_params_default(const struct sm_param *rows, size_t n_rows, void *block);

/* Adds a problem found by the caller, at pointer, to the reader's list; returns status. */
enum sm_status sm_read_problem(struct sm_reader *reader, const char *pointer, enum sm_status status,
                               const char *fmt, ...) SM_PRINTF(4, 5);

/*
 * One value on its own, for what a caller reads itself. A problem is added to the reader's list and returned.
 * Returned: *si in SI, *text copied into the arena, *place in words; untouched on failure.
 */
enum sm_status sm_read_quantity(struct sm_reader *reader, const struct sm_json *value, const char *pointer,
                                enum sm_dim dim, double *si) SM_MUST_CHECK;
enum sm_status sm_read_text(struct sm_reader *reader, const struct sm_json *value, const char *pointer,
                            const char **text) SM_MUST_CHECK;
enum sm_status sm_read_choice(struct sm_reader *reader, const struct sm_json *value, const char *pointer,
                              const char *const *words, int *place) SM_MUST_CHECK;

#endif
