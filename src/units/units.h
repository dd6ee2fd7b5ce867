/*
 * Quantities with units as people write them, "38 mm", to SI doubles and back. The only code that sees
 * UDUNITS-2.
 *
 * Use one struct sm_units from one thread at a time, and open and parse in one thread of the program: the
 * library below keeps state of its own. Opening also silences that library's messages for the whole process.
 */
#ifndef SM_UNITS_UNITS_H
#define SM_UNITS_UNITS_H

#include <stddef.h>

#include "base/fail.h"
#include "slowmatch/param.h"
#include "slowmatch/units.h"

/* si = scale * x + offset for x in some unit. */
struct sm_unit_scale {
    double scale;  /* [SI unit of the dimension per unit] */
    double offset; /* [SI unit of the dimension], 0 but for temperatures */
};

/* value in that unit as SI. */
double sm_unit_to_si(const struct sm_unit_scale *scale, double value);

/* For many values in one unit, as a column of a table: unit alone, "psi". Status as sm_units_parse. */
enum sm_status sm_units_scale(struct sm_units *units, const char *unit, enum sm_dim dim,
                              struct sm_unit_scale *scale, struct sm_error *err) SM_MUST_CHECK;

/* An SI value in the unit that a person wants to see. Status as sm_units_parse. */
enum sm_status sm_units_to(struct sm_units *units, double si, enum sm_dim dim, const char *unit,
                           double *value, struct sm_error *err) SM_MUST_CHECK;

#endif
