/*
 * What all tabs of a workbench share, and the routes that answer them: bytes in, bytes out, without a socket.
 *
 * A route is one file in web/routes/ that defines one row, struct web_route web_route_<file>.
 */
#ifndef WEB_BENCH_H
#define WEB_BENCH_H

#include <pthread.h>
#include <stdatomic.h>

#include "reply.h"

struct web_bench {
    const char *file; /* that was named at the start, in the current folder; NULL: none */
    struct sm_load_options load;
    pthread_mutex_t reading; /* units are read by one thread at a time */
    pthread_mutex_t saving;
    atomic_bool is_stopping;
};

/* Opens the units. Ends with web_bench_release. */
enum sm_status web_bench_init(struct web_bench *bench, const char *file, const char *program,
                              struct sm_error *err) SM_MUST_CHECK;
void web_bench_release(struct web_bench *bench);

/* ---- requests ---- */

enum { WEB_MAX_QUERY = 16, WEB_QUERY_NAME = 24, WEB_QUERY_VALUE = 200, WEB_MAX_BODY = 8 << 20 };

struct web_request {
    struct {
        char name[WEB_QUERY_NAME], value[WEB_QUERY_VALUE];
    } query[WEB_MAX_QUERY];
    size_t n_query;
    const char *body; /* n_body bytes; NULL if there are none */
    size_t n_body;
    const struct sm_context *context; /* stops the work when time is up or nobody waits any more */
};

/* NULL if it is not given. */
const char *web_query(const struct web_request *request, const char *name);
/* A whole number of the query; fallback if it is not given. False, and the reply says so, if it is none from least to most. */
bool web_query_whole(const struct web_request *request, const char *name, long long least, long long most,
                     long long fallback, long long *out, struct web_reply *reply);
enum sm_unit_system web_query_units(const struct web_request *request);

/* Part i of the body, between NULs, which no text of ours may hold. False if there is no such part. */
bool web_part(const struct web_request *request, size_t i, const char **text, size_t *n);

/* ---- routes ---- */

struct web_route {
    const char *path;
    bool is_post; /* else GET */
    bool is_long; /* may take minutes: answers by lines, the per cent done and at the end the reply */
    void (*answer)(struct web_bench *bench, const struct web_request *request, struct web_reply *reply);
};
extern const struct web_route *const web_route_list[];
/* NULL if there is none. */
const struct web_route *web_route_find(const char *path);

/* ---- what several routes do ---- */

/* Part i of the body as a motor. NULL if it is none: the reply then lists the problems. */
struct sm_motor *web_motor(struct web_bench *bench, const struct web_request *request, size_t i,
                           struct web_reply *reply);
/* The same, burned as the query says. False if there is no result. */
bool web_burn(struct web_bench *bench, const struct web_request *request, size_t i, struct sm_motor **motor,
              struct sm_result **result, struct web_reply *reply);
/* {"problems": [...]} in place of all else. */
void web_problems(struct web_reply *reply, const struct sm_error *items, size_t n);
void web_problem(struct web_reply *reply, const struct sm_error *err);

/* A value of n columns each as one text, "1.20 1.25 -": digits as people read them. */
void web_digits(struct web_reply *reply, const double *values, size_t n, enum sm_dim dim,
                enum sm_unit_system system);

#endif
