/* A result as slowmatch-result/1 JSON, into a writer. */
#ifndef SM_EXPORT_RESULT_JSON_H
#define SM_EXPORT_RESULT_JSON_H

#include "doc/json_write.h"
#include "slowmatch/simulate.h"

struct sm_export;

/* from: the export whose facts become "provenance"; NULL: none is written. */
void sm_result_put_json(struct sm_json_writer *w, const struct sm_result *result,
                        const struct sm_export *from);

/* n warnings as the member "warnings" of an open object. */
void sm_warnings_put_json(struct sm_json_writer *w, const struct sm_warning_found *warnings, size_t n);

/* What "provenance" may hold. */
struct sm_provenance_key {
    const char *key;
    int is_text;
    const char *meaning;
};
size_t sm_provenance_keys(const struct sm_provenance_key **keys);

#endif
