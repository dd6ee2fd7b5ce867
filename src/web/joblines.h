/* An answer that takes long, as lines: the per cent done as it goes, and at the end the reply as one line. */
#ifndef WEB_JOBLINES_H
#define WEB_JOBLINES_H

#include "bench.h"

struct MHD_Response;

/*
 * Starts the work in a thread of its own. It is stopped when the page lets the connection go.
 *
 * Given: body, whose bytes change hands; n_long, which is counted down when the work is over, even if NULL is returned.
 * Returned: NULL if no thread can be had.
 */
struct MHD_Response *web_job_response(struct web_bench *bench, const struct web_route *route,
                                      const struct web_request *request, struct web_reply *body,
                                      atomic_int *n_long);

#endif
