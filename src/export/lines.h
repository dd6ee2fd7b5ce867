/* Lines of a table, put together in one place and handed to a sink whole. */
#ifndef SM_EXPORT_LINES_H
#define SM_EXPORT_LINES_H

#include "export/export.h"

/* The columns that an export has, in their order. Returned: how many; places[SM_N_OUT]. */
size_t sm_lines_columns(const struct sm_export *e, enum sm_out places[SM_N_OUT]);

/* Row i of those columns as numbers with a separator between them and an end, which are put out as they are. */
enum sm_status sm_lines_row(const struct sm_export *e, const enum sm_out *places, size_t n, size_t i,
                            const char *separator, const char *end, struct sm_sink *sink,
                            struct sm_error *err) SM_MUST_CHECK;

/* Every fact on a line of its own, between what goes before and behind it. */
enum sm_status sm_lines_facts(const struct sm_export *e, const char *before, const char *behind,
                              struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;

#endif
