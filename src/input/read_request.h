/* Requests for a motor, slowmatch-request/1. */
#ifndef SM_INPUT_READ_REQUEST_H
#define SM_INPUT_READ_REQUEST_H

#include "design/request.h"
#include "doc/json_write.h"
#include "input/read_params.h"

/*
 * Reads all of a request but what is free, which takes the motor's word for what its values are.
 *
 * Returned: spec, whose texts and lists live in the reader's arena. Problems go to the reader's list.
 */
enum sm_status sm_read_request(struct sm_reader *reader, const struct sm_json *root,
                               struct sm_request_spec *spec) SM_MUST_CHECK;

/* Then its free values: those of this motor. */
enum sm_status sm_read_free(struct sm_reader *reader, const struct sm_json *root,
                            const struct sm_motor *motor, struct sm_request_spec *spec) SM_MUST_CHECK;

/* Schema of "free", as write of a property. */
void sm_schema_free(struct sm_json_writer *w, const void *user);

#endif
