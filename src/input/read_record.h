/* Records of test firings, and the file that tells of the stand. */
#ifndef SM_INPUT_READ_RECORD_H
#define SM_INPUT_READ_RECORD_H

#include "input/read_params.h"
#include "teststand/record.h"

#define SM_STAND_FORMAT "slowmatch-stand/1"

/* Reads a record, row by row, into columns in the arena. Status: as the reader of delimited text; SM_E_FIELD and SM_E_UNIT
 * for columns; SM_E_RANGE for a clock that goes back. Each with file and line. */
enum sm_status sm_read_record(struct sm_arena *arena, struct sm_units *units, const char *path,
                              const struct sm_stand *stand, struct sm_record *record,
                              struct sm_error *err) SM_MUST_CHECK;

/* Reads a stand object and its format. Problems go to the reader's list. */
enum sm_status sm_read_stand(struct sm_reader *reader, const struct sm_json *object,
                             struct sm_stand *stand) SM_MUST_CHECK;

#endif
