/* The JSON Schemas of slowmatch-request/1, slowmatch-sizing/1 and slowmatch-trade/1. */
#ifndef SM_APP_SIZING_SCHEMA_H
#define SM_APP_SIZING_SCHEMA_H

#include "doc/json_write.h"

void sm_schema_request_document(struct sm_json_writer *w, const char *id);
void sm_schema_sizing_document(struct sm_json_writer *w, const char *id);
void sm_schema_trade_document(struct sm_json_writer *w, const char *id);

#endif
