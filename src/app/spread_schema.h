/* The JSON Schema of slowmatch-spread/1. */
#ifndef SM_APP_SPREAD_SCHEMA_H
#define SM_APP_SPREAD_SCHEMA_H

#include "doc/json_write.h"

void sm_schema_spread_document(struct sm_json_writer *w, const char *id);

#endif
