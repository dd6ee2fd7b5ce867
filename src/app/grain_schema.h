/* JSON Schema of what grain --json writes. */
#ifndef SM_APP_GRAIN_SCHEMA_H
#define SM_APP_GRAIN_SCHEMA_H

#include "doc/json_write.h"

void sm_schema_grain_document(struct sm_json_writer *w, const char *id);

#endif
