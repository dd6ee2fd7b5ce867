/*
 * The form of a quantity: a number and the text of its unit, before anybody knows what the unit means.
 *
 *   unit     = ("1" | factor) { operator factor }, "1" only before "/" or "per"
 *   factor   = (symbol | "(" unit ")") [power]
 *   operator = blank | "." | "*" | middle dot | "/" | "per" | "-" before a symbol
 *   power    = ["^" | "**"] [sign] digits; superscripts count as part of a symbol
 *
 * So no sums, numbers as factors, shifted origins or logarithms reach the library below, which reads them in
 * ways that surprise, ends at a bracket that closes nothing, and loses memory over some texts that are not well
 * formed.
 */
#ifndef SM_UNITS_QUANTITY_H
#define SM_UNITS_QUANTITY_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fail.h"
#include "slowmatch/param.h"

enum { SM_UNIT_TEXT = 128 }; /* room for a unit's text */

/*
 * Splits text. Signs that look alike are brought to one (minus, dot, micro, blanks); blanks round the unit go, and
 * a leading "/" or "per" becomes "1/".
 *
 * Returned: *number; unit[SM_UNIT_TEXT], empty if there is none, else not yet known to be well formed.
 * Status: SM_E_UNIT if there is no number, or more than a number and a unit; the message gives dim's example.
 */
enum sm_status sm_quantity_split(const char *text, enum sm_dim dim, double *number, char unit[SM_UNIT_TEXT],
                                 struct sm_error *err) SM_MUST_CHECK;

/* The same for a unit alone. */
enum sm_status sm_quantity_unit(const char *text, enum sm_dim dim, char unit[SM_UNIT_TEXT],
                                struct sm_error *err) SM_MUST_CHECK;

/* Does unit follow the grammar above? */
bool sm_quantity_unit_is_formed(const char *unit);

#endif
