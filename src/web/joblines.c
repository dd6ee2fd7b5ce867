#include "joblines.h"

#include <microhttpd.h>

#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { BLOCK = 4096, EVERY_MS = 200 };

struct job {
    struct web_bench *bench;
    const struct web_route *route;
    struct web_request request;
    struct web_reply body, reply;
    struct sm_context context;
    atomic_int *n_long;
    pthread_t thread;
    pthread_mutex_t lock; /* of the two below */
    pthread_cond_t changed;
    double fraction; /* done [1] */
    bool is_done;
    atomic_bool is_unwanted;
    size_t sent;
};

static int step(void *user, double fraction)
{
    struct job *job = user;
    pthread_mutex_lock(&job->lock);
    job->fraction = fraction;
    pthread_mutex_unlock(&job->lock);
    return atomic_load(&job->is_unwanted) || atomic_load(&job->bench->is_stopping);
}

static void *work(void *user)
{
    struct job *job = user;
    job->route->answer(job->bench, &job->request, &job->reply);
    pthread_mutex_lock(&job->lock);
    job->is_done = true;
    pthread_cond_signal(&job->changed);
    pthread_mutex_unlock(&job->lock);
    return NULL;
}

/* Waits a little for the end. True if it is there; else *percent is how far it is. */
static bool wait_a_little(struct job *job, int *percent)
{
    struct timespec until;
    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_nsec += EVERY_MS * 1000000L;
    until.tv_sec += until.tv_nsec / 1000000000L;
    until.tv_nsec %= 1000000000L;
    pthread_mutex_lock(&job->lock);
    int late = 0;
    while (!job->is_done && late == 0)
        late = pthread_cond_timedwait(&job->changed, &job->lock, &until);
    const bool is_done = job->is_done;
    *percent = (int)(100.0 * job->fraction);
    pthread_mutex_unlock(&job->lock);
    return is_done;
}

static ssize_t read_lines(void *user, uint64_t position, char *buffer, size_t room)
{
    struct job *job = user;
    int percent;
    (void)position;
    if (!wait_a_little(job, &percent))
        return snprintf(buffer, room, "%d\n", percent);
    if (job->reply.is_full)
        return MHD_CONTENT_READER_END_WITH_ERROR;
    const size_t left = job->reply.n - job->sent, n = left < room ? left : room;
    if (n == 0)
        return MHD_CONTENT_READER_END_OF_STREAM;
    memcpy(buffer, job->reply.bytes + job->sent, n);
    job->sent += n;
    return (ssize_t)n;
}

static void release(struct job *job)
{
    atomic_fetch_sub(job->n_long, 1);
    web_reply_release(&job->body);
    web_reply_release(&job->reply);
    pthread_mutex_destroy(&job->lock);
    pthread_cond_destroy(&job->changed);
    free(job);
}

static void let_go(void *user)
{
    struct job *job = user;
    atomic_store(&job->is_unwanted, true);
    pthread_join(job->thread, NULL);
    release(job);
}

struct MHD_Response *web_job_response(struct web_bench *bench, const struct web_route *route,
                                      const struct web_request *request, struct web_reply *body,
                                      atomic_int *n_long)
{
    struct job *job = calloc(1, sizeof *job);
    if (!job) {
        atomic_fetch_sub(n_long, 1);
        return NULL;
    }
    *job = (struct job){.bench = bench, .route = route, .request = *request, .body = *body, .n_long = n_long};
    web_reply_init(body);
    web_reply_init(&job->reply);
    pthread_mutex_init(&job->lock, NULL);
    pthread_cond_init(&job->changed, NULL);
    job->context = (struct sm_context){.progress = {.step = step, .user = job}};
    job->request.context = &job->context;
    if (pthread_create(&job->thread, NULL, work, job) != 0) {
        release(job);
        return NULL;
    }
    struct MHD_Response *response =
        MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, BLOCK, read_lines, job, let_go);
    if (!response)
        let_go(job);
    return response;
}
