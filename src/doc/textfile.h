/* A whole file in memory, for readers that need it at once. */
#ifndef SM_DOC_TEXTFILE_H
#define SM_DOC_TEXTFILE_H

#include <stddef.h>

#include "base/fail.h"

/*
 * Returned: *text with a NUL behind its n bytes, caller frees with free(); NULL on failure.
 * Status: SM_E_IO (not there, a folder, no permission; the message and err->at.file name it), SM_E_RANGE
 * (more than limit bytes), SM_E_NOMEM.
 */
enum sm_status sm_textfile_read(const char *path, size_t limit, char **text, size_t *n,
                                struct sm_error *err) SM_MUST_CHECK;

/* SM_E_IO with a plain message for errno code about a file that could not be read. */
enum sm_status sm_textfile_fail(const char *path, int code, struct sm_error *err);

#endif
