/* Shards of a spread from files. */
#include <stdlib.h>

#include "base/fail.h"
#include "doc/textfile.h"
#include "slowmatch/limits.h"
#include "slowmatch/spread.h"

/* A shard holds at most a few kilobytes a sample. */
static const size_t largest_part = (size_t)SM_MAX_SAMPLES * 8192;

enum sm_status sm_spread_merge_files(const char *const *paths, size_t n, struct sm_spread **spread,
                                     struct sm_error *err)
{
    struct sm_spread_part *parts = calloc(n > 0 ? n : 1, sizeof *parts);
    char **texts = calloc(n > 0 ? n : 1, sizeof *texts);
    enum sm_status status = parts && texts ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
    *spread = NULL;
    for (size_t i = 0; i < n && status == SM_OK; i++) {
        status = sm_textfile_read(paths[i], largest_part, &texts[i], &parts[i].n, err);
        parts[i].bytes = texts[i];
        parts[i].name = paths[i];
    }
    if (status == SM_OK)
        status = sm_spread_merge(parts, n, spread, err);
    for (size_t i = 0; i < n && texts; i++)
        free(texts[i]);
    free(texts);
    free(parts);
    return status;
}
