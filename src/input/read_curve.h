/* Bare thrust curves: inside a motor file, or as delimited text. */
#ifndef SM_INPUT_READ_CURVE_H
#define SM_INPUT_READ_CURVE_H

#include "input/read_params.h"
#include "motor/motor.h"
#include "slowmatch/catalog.h"

/*
 * Reads a curve from a file into the arena: delimited text with a header or without, W3C metadata beside it (its name and
 * "-metadata.json") giving columns and units; DAVE-ML; or a result as "burn --json" and "export --to json" write it. Which it
 * is its first bytes tell.
 *
 * Given: columns, of which the thrust's name also picks a force in a DAVE-ML file.
 * Status: SM_E_IO, SM_E_SYNTAX with line and column, SM_E_FIELD for a column that is not there, SM_E_UNIT.
 * Reference: RFC 4180; W3C, Metadata Vocabulary for Tabular Data (2015); ANSI/AIAA S-119-2011.
 */
enum sm_status sm_read_curve_file(struct sm_arena *arena, struct sm_units *units, const char *path,
                                  const struct sm_curve_columns *columns, struct sm_curve *curve,
                                  struct sm_error *err) SM_MUST_CHECK;

/* The same for delimited text alone, whatever stands beside it. */
enum sm_status sm_read_delimited_curve(struct sm_arena *arena, struct sm_units *units, const char *path,
                                       const struct sm_curve_columns *columns, struct sm_curve *curve,
                                       struct sm_error *err) SM_MUST_CHECK;

/* Does a file hold a curve where a motor file might stand: XML, a name that ends in .csv, a result as JSON? */
int sm_is_curve_file(const char *path);

/* Reads a motor file's "curve" object, at pointer. */
enum sm_status sm_read_bare_curve(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                                  const char *folder, struct sm_bare_curve *bare) SM_MUST_CHECK;

#endif
