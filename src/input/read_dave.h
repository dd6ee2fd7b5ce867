/* Thrust against time out of DAVE-ML files. */
#ifndef SM_INPUT_READ_DAVE_H
#define SM_INPUT_READ_DAVE_H

#include "base/arena.h"
#include "curve/curve.h"
#include "input/read_curve.h"
#include "units/units.h"

/*
 * Reads the one variable that is a force and changes with time: gridded tables of any number of dimensions, tables within
 * functions, points given in the function itself, and calculations of plus, minus, times, divide, max and min. Other inputs
 * stand at their initial values. Where several forces change with time the standard's thrustBodyForce_X is taken, else the
 * only output.
 *
 * Given: text[n], called name in errors; wanted, name or varID of the force, NULL for the above.
 * Returned: *curve in the arena: [s], [N], at the tables' own times; *ends, unless NULL, the first and last values of the
 *   variables propellantMass, motorMass and motorCenterOfMass.
 * Status: SM_E_SYNTAX, SM_E_FIELD for no such force or one that can't be reckoned, SM_E_UNIT, SM_E_RANGE.
 * Reference: ANSI/AIAA S-119-2011; DAVEfunc.dtd 2.0.2.
 */
enum sm_status sm_read_dave(struct sm_arena *arena, struct sm_units *units, const char *text, size_t n,
                            const char *name, const char *wanted, struct sm_curve *curve,
                            struct sm_mass_ends *ends, struct sm_error *err) SM_MUST_CHECK;

#endif
