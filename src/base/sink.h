/* Where bytes go. Writers see only struct sm_sink; a file, a growing buffer and a socket are three of them.
 */
#ifndef SM_BASE_SINK_H
#define SM_BASE_SINK_H

#include <stddef.h>

#include "base/arena.h"
#include "base/fail.h"
#include "slowmatch/sink.h"

enum sm_status sm_sink_bytes(struct sm_sink *sink, const char *bytes, size_t n,
                             struct sm_error *err) SM_MUST_CHECK;
enum sm_status sm_sink_text(struct sm_sink *sink, const char *text, struct sm_error *err) SM_MUST_CHECK;
/* At most 1024 bytes a call. */
enum sm_status sm_sink_format(struct sm_sink *sink, struct sm_error *err, const char *fmt, ...)
    SM_PRINTF(3, 4) SM_MUST_CHECK;

/* Bytes kept in memory; a NUL always stands behind them. Release with sm_memory_sink_release. */
struct sm_memory_sink {
    struct sm_sink sink;
    const struct sm_allocator *allocator;
    char *bytes;
    size_t n, capacity;
};
void sm_memory_sink_init(struct sm_memory_sink *memory, const struct sm_allocator *allocator);
void sm_memory_sink_release(struct sm_memory_sink *memory);

#endif
