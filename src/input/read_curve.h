/* Bare thrust curves: inside a motor file, or as delimited text. */
#ifndef SM_INPUT_READ_CURVE_H
#define SM_INPUT_READ_CURVE_H

#include "input/read_params.h"
#include "motor/motor.h"
#include "slowmatch/catalog.h"

/*
 * Reads a curve from a delimited text file into the arena.
 * Status: SM_E_IO, SM_E_SYNTAX with line and column, SM_E_FIELD for a column that is not there, SM_E_UNIT.
 */
enum sm_status sm_read_curve_file(struct sm_arena *arena, struct sm_units *units, const char *path,
                                  const struct sm_curve_columns *columns, struct sm_curve *curve,
                                  struct sm_error *err) SM_MUST_CHECK;

/* Reads a motor file's "curve" object, at pointer. */
enum sm_status sm_read_bare_curve(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                                  const char *folder, struct sm_bare_curve *bare) SM_MUST_CHECK;

#endif
