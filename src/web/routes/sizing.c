/* The motor for what is wanted: values that are free within bounds are chosen so that limits hold. */
#include "../bench.h"

#include <math.h>
#include <string.h>

struct sizing_job {
    struct sm_request *request;
    struct sm_sizing *sizing;
    enum sm_unit_system system;
};

/* ---- what comes out ---- */

static void put_row(const char *of, const char *got, const char *note, struct web_reply *r)
{
    web_open(r, '{');
    web_member(r, "of", of);
    web_member(r, "got", got);
    web_member(r, "note", note);
    web_close(r, '}');
}

static void put_value(const struct sm_sized_value *v, enum sm_unit_system system, struct web_reply *r)
{
    char text[SM_SHOW_TEXT], from[SM_SHOW_TEXT], to[SM_SHOW_TEXT], range[3 * SM_SHOW_TEXT];
    if (v->is_whole)
        snprintf(text, sizeof text, "%.0f", v->value);
    else
        sm_show_measure(text, v->value, v->dim, system);
    snprintf(range, sizeof range, "%s to %s%s", sm_show_number(from, v->from, v->dim, system),
             sm_show_number(to, v->to, v->dim, system),
             v->at < 0   ? "; at its least"
             : v->at > 0 ? "; at its most"
                         : "");
    put_row(v->of, text, range, r);
}

static void put_wish(const struct sm_sized_wish *w, enum sm_unit_system system, struct web_reply *r)
{
    char wanted[SM_SHOW_TEXT], got[SM_SHOW_TEXT];
    if (w->aim != 0)
        snprintf(wanted, sizeof wanted, "as %s as can be", w->aim > 0 ? "great" : "small");
    else
        sm_show_measure(wanted, w->wanted, w->dim, system);
    put_row(w->what, sm_show_measure(got, w->got, w->dim, system), wanted, r);
}

static void put_limit(const struct sm_sized_limit *l, enum sm_unit_system system, struct web_reply *r)
{
    char got[SM_SHOW_TEXT], from[SM_SHOW_TEXT], to[SM_SHOW_TEXT], note[300] = "";
    if (l->is_active && !isnan(l->gains_from))
        snprintf(note, sizeof note, "active: 1 %% more room would bring %s from %s to %s", l->gains,
                 sm_show_measure(from, l->gains_from, l->gains_dim, system),
                 sm_show_measure(to, l->gains_to, l->gains_dim, system));
    else if (l->is_active)
        snprintf(note, sizeof note, "active");
    put_row(l->what, sm_show_measure(got, l->got, l->dim, system), note, r);
}

static void put_lists(const struct sizing_job *job, struct web_reply *r)
{
    const struct sm_sizing *s = job->sizing;
    web_key(r, "values");
    web_open(r, '[');
    for (size_t i = 0; i < s->n_values; i++)
        put_value(&s->values[i], job->system, r);
    web_close(r, ']');
    web_key(r, "wanted");
    web_open(r, '[');
    for (size_t i = 0; i < s->n_wishes; i++)
        put_wish(&s->wishes[i], job->system, r);
    web_close(r, ']');
    web_key(r, "limits");
    web_open(r, '[');
    for (size_t i = 0; i < s->n_limits; i++)
        put_limit(&s->limits[i], job->system, r);
    web_close(r, ']');
    web_key(r, "cautions");
    web_open(r, '[');
    for (size_t i = 0; sm_size_caution(s, i); i++)
        web_text(r, sm_size_caution(s, i));
    web_close(r, ']');
}

/* The sized motor's file as one text. */
static enum sm_status put_motor(struct web_bench *bench, const struct sizing_job *job, struct web_reply *r,
                                struct sm_error *err)
{
    struct web_reply text;
    web_reply_init(&text);
    struct sm_sink sink = web_sink(&text);
    pthread_mutex_lock(&bench->reading);
    const enum sm_status status = sm_sizing_write_motor(job->request, job->sizing, &sink, err);
    pthread_mutex_unlock(&bench->reading);
    web_key(r, "motor");
    web_textn(r, text.bytes ? text.bytes : "", text.n);
    r->is_full = r->is_full || text.is_full;
    web_reply_release(&text);
    return status;
}

static enum sm_status put_sizing(struct web_bench *bench, const struct sizing_job *job, struct web_reply *r,
                                 struct sm_error *err)
{
    char text[240];
    const struct sm_sizing *s = job->sizing;
    if (s->complete)
        snprintf(text, sizeof text, "seed %llu, %zu quick burns; %zu of %zu local searches came as far",
                 (unsigned long long)s->seed, s->evaluations, s->agreeing, s->searches);
    else
        snprintf(text, sizeof text, "seed %llu, stopped after %zu quick burns: the best found by then",
                 (unsigned long long)s->seed, s->evaluations);
    web_open(r, '{');
    web_member(r, "basis", text);
    put_lists(job, r);
    const enum sm_status status = put_motor(bench, job, r, err);
    web_close(r, '}');
    return status;
}

/* ---- what is asked ---- */

/* Parts of the body: the motor, and the request. */
static struct sm_request *read_request(struct web_bench *bench, const struct web_request *request,
                                       struct web_reply *reply)
{
    struct sm_request_text text = {.request_name = "request",
                                   .motor_name = bench->file ? bench->file : "motor"};
    struct sm_diag problems = {0};
    struct sm_request *out = NULL;
    if (!web_part(request, 0, &text.motor, &text.n_motor) ||
        !web_part(request, 1, &text.request, &text.n_request)) {
        web_refuse(reply, 400, "a motor and a request are wanted");
        return NULL;
    }
    pthread_mutex_lock(&bench->reading);
    if (sm_request_parse(&text, &bench->load, request->context, &out, &problems) != SM_OK)
        web_problems(reply, problems.items, problems.n);
    pthread_mutex_unlock(&bench->reading);
    sm_diag_release(&problems);
    return out;
}

static void answer(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    long long seed;
    struct sm_error err = {0};
    struct sizing_job job = {.system = web_query_units(request)};
    if (!web_query_whole(request, "seed", 0, INT64_MAX, 1, &seed, reply))
        return;
    job.request = read_request(bench, request, reply);
    if (!job.request)
        return;
    const struct sm_size_options options = {.seed = (uint64_t)seed};
    enum sm_status status = sm_size_run(job.request, &options, request->context, &job.sizing, &err);
    if (status == SM_OK)
        status = put_sizing(bench, &job, reply, &err);
    if (status != SM_OK)
        web_problem(reply, &err);
    sm_sizing_free(job.sizing);
    sm_request_free(job.request);
}

const struct web_route web_route_sizing = {
    .path = "size", .is_post = true, .is_long = true, .answer = answer};
