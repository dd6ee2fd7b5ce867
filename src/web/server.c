#include "server.h"

#include <microhttpd.h>

#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "assets.h"
#include "joblines.h"

enum {
    MOST_CONNECTIONS = 64,
    IDLE_SECONDS = 20,       /* of a connection on which nothing comes */
    BODY_SECONDS = 20,       /* for a whole request */
    WORK_SECONDS = 10,       /* for an answer that is not a long one */
    HEADER_BYTES = 16 << 10, /* of one request, all headers together */
    MOST_LONG = 2            /* long answers at once */
};

/* ---- one request ---- */

struct call {
    struct web_server *server;
    const struct web_route *route;
    struct web_asset asset; /* if route is NULL */
    struct web_request request;
    struct web_reply body;
    bool is_too_big;
    time_t started;
};

static time_t seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec;
}

/* What a page of ours may do, and that no other page may hold it in a frame or read it. */
static const struct {
    const char *name, *value;
} always[] = {
    {"Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src blob:; "
                                "connect-src 'self'; base-uri 'none'; "
                                "form-action 'none'; frame-ancestors 'none'"},
    {"X-Content-Type-Options", "nosniff"},
    {"Referrer-Policy", "no-referrer"},
    {"Cache-Control", "no-store"},
    {"Cross-Origin-Resource-Policy", "same-origin"},
    {"Cross-Origin-Opener-Policy", "same-origin"},
};

static enum MHD_Result send_with(struct MHD_Connection *connection, unsigned status, const char *type,
                                 const char *name, struct MHD_Response *response)
{
    char disposition[160];
    if (!response)
        return MHD_NO;
    for (size_t i = 0; i < sizeof always / sizeof always[0]; i++)
        MHD_add_response_header(response, always[i].name, always[i].value);
    MHD_add_response_header(response, MHD_HTTP_HEADER_CONTENT_TYPE, type);
    if (name[0]) {
        snprintf(disposition, sizeof disposition, "attachment; filename=\"%s\"", name);
        MHD_add_response_header(response, MHD_HTTP_HEADER_CONTENT_DISPOSITION, disposition);
    }
    const enum MHD_Result queued = MHD_queue_response(connection, status, response);
    MHD_destroy_response(response);
    return queued;
}

/* Sends a reply, which is used up. */
static enum MHD_Result send_reply(struct MHD_Connection *connection, struct web_reply *reply)
{
    if (reply->is_full) {
        web_reply_release(reply);
        return MHD_NO; /* nothing half-said */
    }
    struct MHD_Response *response =
        MHD_create_response_from_buffer(reply->n, reply->bytes, MHD_RESPMEM_MUST_FREE);
    if (!response)
        web_reply_release(reply);
    return send_with(connection, reply->status, reply->type, reply->name, response);
}

static enum MHD_Result refuse(struct MHD_Connection *connection, unsigned status, const char *text)
{
    struct web_reply reply;
    web_reply_init(&reply);
    web_refuse(&reply, status, text);
    return send_reply(connection, &reply);
}

/* ---- who asks, and for what ---- */

static const char *header(struct MHD_Connection *connection, const char *name)
{
    return MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name);
}

/* 0, or the status to refuse with, and why. */
static unsigned judge(const struct web_server *server, struct MHD_Connection *connection, const char *url,
                      const char *method, struct call *call, const char **why)
{
    const char *origin = header(connection, MHD_HTTP_HEADER_ORIGIN);
    const char *site = header(connection, "Sec-Fetch-Site");
    const bool is_post = strcmp(method, MHD_HTTP_METHOD_POST) == 0;
    *why = "this is not for you";
    if (!web_host_is_ours(header(connection, MHD_HTTP_HEADER_HOST), server->port))
        return MHD_HTTP_FORBIDDEN;
    if ((origin || is_post) && !web_origin_is_ours(origin, server->port))
        return MHD_HTTP_FORBIDDEN;
    const char *path = web_token_path(server->token, url);
    if (!path)
        return MHD_HTTP_FORBIDDEN;
    /* The start address may be followed from anywhere; what it leads to is for our own page. */
    if (path[0] && site && strcmp(site, "same-origin") != 0)
        return MHD_HTTP_FORBIDDEN;
    *why = "there is no such place";
    call->route = web_route_find(path);
    if (!call->route && !web_asset_find(path, &call->asset))
        return MHD_HTTP_NOT_FOUND;
    *why = "that is not how to ask for it";
    const bool wants_post = call->route && call->route->is_post;
    if (wants_post ? !is_post : strcmp(method, MHD_HTTP_METHOD_GET) != 0)
        return MHD_HTTP_METHOD_NOT_ALLOWED;
    return 0;
}

static enum MHD_Result take_query(void *user, enum MHD_ValueKind kind, const char *key, const char *value)
{
    struct web_request *r = user;
    (void)kind;
    if (r->n_query == WEB_MAX_QUERY || strlen(key) >= WEB_QUERY_NAME ||
        (value && strlen(value) >= WEB_QUERY_VALUE)) {
        r->n_query = WEB_MAX_QUERY + 1;
        return MHD_NO;
    }
    strcpy(r->query[r->n_query].name, key);
    strcpy(r->query[r->n_query++].value, value ? value : "");
    return MHD_YES;
}

static enum MHD_Result begin(struct web_server *server, struct MHD_Connection *connection, const char *url,
                             const char *method, void **state)
{
    struct call *call = calloc(1, sizeof *call);
    const char *why, *length = header(connection, MHD_HTTP_HEADER_CONTENT_LENGTH);
    if (!call)
        return MHD_NO;
    *state = call;
    call->server = server;
    call->started = seconds();
    web_reply_init(&call->body);
    const unsigned status = judge(server, connection, url, method, call, &why);
    if (status != 0)
        return refuse(connection, status, why);
    MHD_get_connection_values(connection, MHD_GET_ARGUMENT_KIND, take_query, &call->request);
    if (call->request.n_query > WEB_MAX_QUERY)
        return refuse(connection, MHD_HTTP_BAD_REQUEST, "the query is too long");
    if (length && strtoull(length, NULL, 10) > WEB_MAX_BODY)
        return refuse(connection, MHD_HTTP_CONTENT_TOO_LARGE, "that is more than a motor takes");
    return MHD_YES;
}

static enum MHD_Result take_body(struct call *call, const char *bytes, size_t *n)
{
    if (seconds() - call->started > BODY_SECONDS || call->body.is_full)
        return MHD_NO;
    call->is_too_big = call->is_too_big || call->body.n + *n > WEB_MAX_BODY;
    if (!call->is_too_big)
        web_put(&call->body, bytes, *n);
    *n = 0;
    return MHD_YES;
}

/* ---- answers ---- */

struct limit {
    const struct web_bench *bench;
    time_t until;
};

static int is_over(void *user, double fraction)
{
    const struct limit *limit = user;
    (void)fraction;
    return atomic_load(&limit->bench->is_stopping) || seconds() > limit->until;
}

static enum MHD_Result answer_now(struct call *call, struct MHD_Connection *connection)
{
    struct web_reply reply;
    struct limit limit = {call->server->bench, seconds() + WORK_SECONDS};
    const struct sm_context context = {.progress = {.step = is_over, .user = &limit}};
    web_reply_init(&reply);
    call->request.context = &context;
    call->route->answer(call->server->bench, &call->request, &reply);
    return send_reply(connection, &reply);
}

static enum MHD_Result answer_long(struct call *call, struct MHD_Connection *connection)
{
    struct web_server *server = call->server;
    if (atomic_fetch_add(&server->n_long, 1) >= MOST_LONG) {
        atomic_fetch_sub(&server->n_long, 1);
        return refuse(connection, MHD_HTTP_SERVICE_UNAVAILABLE,
                      "two such searches are under way: stop one of them first");
    }
    struct MHD_Response *response =
        web_job_response(server->bench, call->route, &call->request, &call->body, &server->n_long);
    return send_with(connection, MHD_HTTP_OK, "text/plain; charset=utf-8", "", response);
}

static enum MHD_Result answer(struct call *call, struct MHD_Connection *connection)
{
    if (call->is_too_big)
        return refuse(connection, MHD_HTTP_CONTENT_TOO_LARGE, "that is more than a motor takes");
    if (!call->route) {
        /* MHD copies nothing of a persistent buffer, nor does it write there */
        struct MHD_Response *response = MHD_create_response_from_buffer(
            call->asset.n, (void *)(size_t)call->asset.bytes, MHD_RESPMEM_PERSISTENT);
        return send_with(connection, MHD_HTTP_OK, call->asset.type, "", response);
    }
    call->request.body = call->body.bytes;
    call->request.n_body = call->body.n;
    return call->route->is_long ? answer_long(call, connection) : answer_now(call, connection);
}

static enum MHD_Result on_request(void *user, struct MHD_Connection *connection, const char *url,
                                  const char *method, const char *version, const char *upload,
                                  size_t *n_upload, void **state)
{
    (void)version;
    if (!*state)
        return begin(user, connection, url, method, state);
    if (*n_upload > 0)
        return take_body(*state, upload, n_upload);
    return answer(*state, connection);
}

static void on_end(void *user, struct MHD_Connection *connection, void **state,
                   enum MHD_RequestTerminationCode how)
{
    struct call *call = *state;
    (void)user;
    (void)connection;
    (void)how;
    if (call)
        web_reply_release(&call->body);
    free(call);
    *state = NULL;
}

/* ---- start and stop ---- */

bool web_server_start(struct web_server *server, struct web_bench *bench, unsigned port)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons((uint16_t)port)};
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    *server = (struct web_server){.bench = bench};
    if (!web_token_make(server->token))
        return false;
    server->daemon = MHD_start_daemon(
        MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_THREAD_PER_CONNECTION | MHD_USE_ITC, (uint16_t)port, NULL,
        NULL, on_request, server, MHD_OPTION_SOCK_ADDR, (const struct sockaddr *)&address,
        MHD_OPTION_NOTIFY_COMPLETED, on_end, NULL, MHD_OPTION_CONNECTION_LIMIT, (unsigned)MOST_CONNECTIONS,
        MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)IDLE_SECONDS, MHD_OPTION_CONNECTION_MEMORY_LIMIT,
        (size_t)HEADER_BYTES, MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_END);
    if (!server->daemon)
        return false;
    const union MHD_DaemonInfo *info = MHD_get_daemon_info(server->daemon, MHD_DAEMON_INFO_BIND_PORT);
    server->port = info ? info->port : port;
    return server->port != 0;
}

void web_server_stop(struct web_server *server)
{
    atomic_store(&server->bench->is_stopping, true);
    MHD_stop_daemon(server->daemon);
}
