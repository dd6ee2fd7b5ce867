/* Where a writer's bytes go. */
#ifndef SLOWMATCH_SINK_H
#define SLOWMATCH_SINK_H

#include <stddef.h>

#include "slowmatch/error.h"

#ifdef __cplusplus
extern "C" {
#endif

/* write takes bytes[0..n) and answers 0, or an errno value if it could not take them all. */
struct sm_sink {
    int (*write)(void *user, const char *bytes, size_t n);
    void *user;
};

/* A file that appears under its name only when complete: bytes go to a temporary beside it, which commit
 * flushes, checks and renames. abandon (or a failed commit) removes the temporary and leaves what was there.
 * A symbolic link is written through; a target that is not a regular file (/dev/stdout, a pipe) is written
 * directly. */
struct sm_file_sink {
    struct sm_sink sink;
    struct sm_file_sink_state *state;
};
SM_API enum sm_status sm_file_sink_open(struct sm_file_sink *file, const char *path,
                                        struct sm_error *err) SM_MUST_CHECK;
SM_API enum sm_status sm_file_sink_commit(struct sm_file_sink *file, struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_file_sink_abandon(struct sm_file_sink *file);

#ifdef __cplusplus
}
#endif
#endif
