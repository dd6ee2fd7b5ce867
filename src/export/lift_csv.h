/* What the tables of a lift study share. */
#ifndef SM_EXPORT_LIFT_CSV_H
#define SM_EXPORT_LIFT_CSV_H

#include "base/sink.h"
#include "slowmatch/lift.h"

/* Ends a row with the field of the next caution, empty when all are said. Given: *said, zeroed before the first row. */
enum sm_status sm_lift_put_caution(struct sm_sink *sink, size_t *said, struct sm_error *err) SM_MUST_CHECK;

/* Rows of those that are still unsaid, behind so many empty fields: a table of few rows, or of none, says them all. */
enum sm_status sm_lift_put_rest(struct sm_sink *sink, size_t fields, size_t *said,
                                struct sm_error *err) SM_MUST_CHECK;

#endif
