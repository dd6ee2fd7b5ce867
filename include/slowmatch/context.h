/* What a caller may hand down to every call: where memory comes from, how to report progress and to stop. */
#ifndef SLOWMATCH_CONTEXT_H
#define SLOWMATCH_CONTEXT_H

#include <stddef.h>

#include "slowmatch/error.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Both functions must be given. alloc returns NULL when memory is out; its memory need not be zeroed. Work that is asked to
 * run on several threads calls them from each. */
struct sm_allocator {
    void *(*alloc)(void *user, size_t bytes);
    void (*release)(void *user, void *memory);
    void *user;
};

/* Called now and then with the share done, 0 to 1, always from the thread that made the call. A non-zero
 * answer stops the work at the next step; what was done is kept. */
struct sm_progress {
    int (*step)(void *user, double fraction);
    void *user;
};

/* All zeros means: malloc, no progress. Borrowed for the length of the call, and by what the call returns for
 * the allocator's sake until that is freed. */
struct sm_context {
    const struct sm_allocator *allocator;
    struct sm_progress progress;
};

/* Turns off the error handler of GSL, which would end the process; the library looks at every code that GSL returns
 * instead. It is one setting for the whole process, so a program with threads, or with a handler of its own, calls this
 * once before it starts them; calls that need it make it themselves too. */
SM_API void sm_init(void);

#ifdef __cplusplus
}
#endif
#endif
