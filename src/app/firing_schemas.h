/* JSON Schemas of what firing and fit write. */
#ifndef SM_APP_FIRING_SCHEMAS_H
#define SM_APP_FIRING_SCHEMAS_H

#include "doc/json_write.h"

void sm_schema_firing_document(struct sm_json_writer *w, const char *id);
void sm_schema_fit_document(struct sm_json_writer *w, const char *id);

#endif
