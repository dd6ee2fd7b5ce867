/* A ZIP archive in memory: the same bytes for the same parts. The only code that sees libzip. */
#ifndef SM_EXPORT_ARCHIVE_H
#define SM_EXPORT_ARCHIVE_H

#include "base/sink.h"

struct sm_archive;

/* Returned: *archive, caller ends with sm_archive_end. Status: SM_E_NOMEM. */
enum sm_status sm_archive_begin(struct sm_archive **archive, struct sm_error *err) SM_MUST_CHECK;

/* Adds a part, deflated; bytes are borrowed until the end. */
enum sm_status sm_archive_add(struct sm_archive *archive, const char *name, const void *bytes, size_t n,
                              int is_program, struct sm_error *err) SM_MUST_CHECK;

/* Writes the archive to a sink, unless sink is NULL, and frees it in any case; archive may be NULL. */
enum sm_status sm_archive_end(struct sm_archive *archive, struct sm_sink *sink,
                              struct sm_error *err) SM_MUST_CHECK;

#endif
