/* Where a writer's bytes go. */
#ifndef SLOWMATCH_SINK_H
#define SLOWMATCH_SINK_H

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* write takes bytes[0..n) and answers 0, or an errno value if it could not take them all. */
struct sm_sink {
    int (*write)(void *user, const char *bytes, size_t n);
    void *user;
};

#ifdef __cplusplus
}
#endif
#endif
