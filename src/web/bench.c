#include "bench.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum sm_status web_bench_init(struct web_bench *bench, const char *file, const char *program,
                              struct sm_error *err)
{
    *bench = (struct web_bench){.file = file};
    pthread_mutex_init(&bench->reading, NULL);
    pthread_mutex_init(&bench->saving, NULL);
    sm_init();
    bench->load.program = program;
    return sm_units_open(&bench->load.units, err);
}

void web_bench_release(struct web_bench *bench)
{
    sm_units_free(bench->load.units);
    pthread_mutex_destroy(&bench->reading);
    pthread_mutex_destroy(&bench->saving);
}

/* ---- requests ---- */

const char *web_query(const struct web_request *request, const char *name)
{
    for (size_t i = 0; i < request->n_query; i++)
        if (strcmp(request->query[i].name, name) == 0)
            return request->query[i].value;
    return NULL;
}

bool web_query_whole(const struct web_request *request, const char *name, long long least, long long most,
                     long long fallback, long long *out, struct web_reply *reply)
{
    const char *text = web_query(request, name);
    char *rest = NULL, line[160];
    *out = fallback;
    if (!text || !text[0])
        return true;
    errno = 0;
    *out = strtoll(text, &rest, 10);
    if (errno == 0 && *rest == '\0' && *out >= least && *out <= most)
        return true;
    snprintf(line, sizeof line, "%s is a whole number from %lld to %lld, not '%.40s'", name, least, most,
             text);
    struct sm_error err = {.status = SM_E_RANGE};
    snprintf(err.message, sizeof err.message, "%s", line);
    web_problem(reply, &err);
    return false;
}

enum sm_unit_system web_query_units(const struct web_request *request)
{
    const char *text = web_query(request, "units");
    return text && strcmp(text, "us") == 0 ? SM_UNITS_US : SM_UNITS_SI;
}

bool web_part(const struct web_request *request, size_t i, const char **text, size_t *n)
{
    const char *at = request->body;
    size_t left = request->n_body;
    if (!at)
        return false;
    for (; i > 0; i--) {
        const char *end = memchr(at, '\0', left);
        if (!end)
            return false;
        left -= (size_t)(end - at) + 1;
        at = end + 1;
    }
    const char *end = memchr(at, '\0', left);
    *text = at;
    *n = end ? (size_t)(end - at) : left;
    return true;
}

const struct web_route *web_route_find(const char *path)
{
    for (size_t i = 0; web_route_list[i]; i++)
        if (strcmp(web_route_list[i]->path, path) == 0)
            return web_route_list[i];
    return NULL;
}

/* ---- problems ---- */

void web_problems(struct web_reply *reply, const struct sm_error *items, size_t n)
{
    reply->n = 0;
    reply->is_later = false;
    reply->type = "application/json";
    reply->name[0] = '\0';
    web_open(reply, '{');
    web_key(reply, "problems");
    web_open(reply, '[');
    for (size_t i = 0; i < n; i++) {
        web_open(reply, '{');
        web_member(reply, "text", items[i].message);
        web_member(reply, "pointer", items[i].at.path);
        web_member(reply, "file", items[i].at.file);
        web_key(reply, "line");
        web_whole(reply, items[i].at.line);
        web_close(reply, '}');
    }
    web_close(reply, ']');
    web_close(reply, '}');
}

void web_problem(struct web_reply *reply, const struct sm_error *err)
{
    web_problems(reply, err, 1);
}

/* ---- motors ---- */

struct sm_motor *web_motor(struct web_bench *bench, const struct web_request *request, size_t i,
                           struct web_reply *reply)
{
    struct sm_diag problems = {0};
    struct sm_motor *motor = NULL;
    const char *text;
    size_t n;
    if (!web_part(request, i, &text, &n)) {
        web_refuse(reply, 400, "a motor is wanted");
        return NULL;
    }
    pthread_mutex_lock(&bench->reading);
    const enum sm_status status = sm_motor_parse(text, n, bench->file ? bench->file : "motor", &bench->load,
                                                 request->context, &motor, &problems);
    pthread_mutex_unlock(&bench->reading);
    if (status != SM_OK)
        web_problems(reply, problems.items, problems.n);
    sm_diag_release(&problems);
    return motor;
}

static bool run_options(const struct web_request *request, struct sm_run_options *options,
                        struct web_reply *reply)
{
    static const char *const models[] = {"transient", "equilibrium", "axial"};
    const char *model = web_query(request, "model");
    *options = (struct sm_run_options){0};
    for (size_t i = 0; i < sizeof models / sizeof models[0]; i++)
        if (!model || strcmp(model, models[i]) == 0) {
            options->model = (enum sm_model)i;
            return true;
        }
    web_refuse(reply, 400, "model is transient, equilibrium or axial");
    return false;
}

bool web_burn(struct web_bench *bench, const struct web_request *request, size_t i, struct sm_motor **motor,
              struct sm_result **result, struct web_reply *reply)
{
    struct sm_run_options options;
    struct sm_error err = {0};
    *motor = NULL;
    *result = NULL;
    if (!run_options(request, &options, reply) || !(*motor = web_motor(bench, request, i, reply)))
        return false;
    enum sm_status status = sm_simulate(*motor, &options, request->context, result, &err);
    if (status == SM_OK && (*result)->complete)
        return true;
    if (status == SM_OK)
        snprintf(err.message, sizeof err.message,
                 "this burn took longer than a workbench waits for; "
                 "slowmatch burn has no such limit");
    web_problem(reply, &err);
    sm_result_free(*result);
    sm_motor_free(*motor);
    *result = NULL;
    *motor = NULL;
    return false;
}

/* ---- numbers ---- */

void web_digits(struct web_reply *reply, const double *values, size_t n, enum sm_dim dim,
                enum sm_unit_system system)
{
    struct web_reply text;
    char digits[SM_SHOW_TEXT];
    web_reply_init(&text);
    for (size_t i = 0; i < n; i++) {
        if (i > 0)
            web_put(&text, " ", 1);
        const char *word = isnan(values[i]) ? "-" : sm_show_digits(digits, values[i], dim, system);
        web_put(&text, word, strlen(word));
    }
    reply->is_full = reply->is_full || text.is_full;
    web_textn(reply, text.bytes ? text.bytes : "", text.n);
    web_reply_release(&text);
}
