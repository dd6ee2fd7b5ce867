/* JSON Schema of what a wished flight needs. */
#ifndef SM_APP_NEEDS_SCHEMA_H
#define SM_APP_NEEDS_SCHEMA_H

#include "doc/json_write.h"

void sm_schema_needs_document(struct sm_json_writer *w, const char *id);

#endif
