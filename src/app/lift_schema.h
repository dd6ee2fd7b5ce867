/* JSON Schema of what lift writes. */
#ifndef SM_APP_LIFT_SCHEMA_H
#define SM_APP_LIFT_SCHEMA_H

#include "doc/json_write.h"

void sm_schema_lift_document(struct sm_json_writer *w, const char *id);

#endif
