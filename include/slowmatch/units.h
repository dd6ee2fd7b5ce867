/*
 * Quantities with units as people write them, "38 mm", to SI doubles.
 *
 * Use one struct sm_units from one thread at a time, and open and parse in one thread of the program: the
 * library below keeps state of its own. Opening also silences that library's messages for the whole process.
 */
#ifndef SLOWMATCH_UNITS_H
#define SLOWMATCH_UNITS_H

#include "slowmatch/param.h"

#ifdef __cplusplus
extern "C" {
#endif

struct sm_units;

/* Loads the unit data (about 5 ms). Returned: *units, caller frees with sm_units_free. Status: SM_E_IO if the
 * data of UDUNITS-2 is not installed. */
SM_API enum sm_status sm_units_open(struct sm_units **units, struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_units_free(struct sm_units *units);

/*
 * Reads a number and a unit.
 *
 * Given:
 *   text  one plain decimal number, then a unit: "38 mm", "0.368 in/s", "21 degC", "0.2 %/K", "2.4e-5 kg m2"
 *   dim   the dimension it must have; SM_DIM_NONE takes a bare number or per cent
 * Returned:
 *   *si   in the SI unit of dim (sm_dim_unit); untouched on failure
 * Status:
 *   SM_E_UNIT    no number, no unit, unknown unit or wrong dimension; the message says what would be right
 *   SM_E_RANGE   the value is too large for a double, or a temperature is below absolute zero
 * Notes:
 *   1) A temperature keeps its origin (25 degC is 298.15 K); a temperature difference has none (25 degC is 25 K).
 *   2) An angle must name an angle unit, and nothing else may: "80 rpm" is no frequency.
 *   3) Units are those of UDUNITS-2, and deg, lbm, psia. A slug is exactly lbf s2/ft.
 * Reference: UDUNITS-2 manual; NIST SP 811 (2008) for the factors.
 */
SM_API enum sm_status sm_units_parse(struct sm_units *units, const char *text, enum sm_dim dim, double *si,
                                     struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
