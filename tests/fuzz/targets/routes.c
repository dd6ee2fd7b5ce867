/* What a page may ask of the workbench: "PATH?name=value&name=value", a line's end, and the body. Nothing is saved, since
 * no file was named. */
#include "fuzz.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "bench.h"

/* Spreads and searches take as long as they are let: they are stopped after this many of their steps. */
enum { MOST_STEPS = 20 };

static int step(void *user, double fraction)
{
    int *n = user;
    fuzz_expect(fraction >= 0.0 && fraction <= 1.0, "what is done is a part of the whole");
    return ++*n > MOST_STEPS;
}

static struct web_bench *shared_bench(void)
{
    static struct web_bench bench;
    static int is_open;
    if (!is_open) {
        struct sm_error err = {0};
        fuzz_expect(web_bench_init(&bench, NULL, NULL, &err) == SM_OK, "the unit data can be read");
        bench.load.propellant_folder = fuzz_options()->propellant_folder;
        is_open = 1;
    }
    return &bench;
}

/* As the server does: a query that is too long is refused before any route sees it. */
static int take_query(char *text, struct web_request *request)
{
    char *rest = NULL;
    for (char *pair = text ? strtok_r(text, "&", &rest) : NULL; pair; pair = strtok_r(NULL, "&", &rest)) {
        const char *value = strchr(pair, '=');
        const size_t name = value ? (size_t)(value - pair) : strlen(pair);
        if (request->n_query == WEB_MAX_QUERY || name >= WEB_QUERY_NAME ||
            (value && strlen(value + 1) >= WEB_QUERY_VALUE))
            return 0;
        memcpy(request->query[request->n_query].name, pair, name);
        strcpy(request->query[request->n_query++].value, value ? value + 1 : "");
    }
    return 1;
}

static void ask(char *head, const uint8_t *body, size_t n_body)
{
    int n_steps = 0;
    const struct sm_context context = {.progress = {.step = step, .user = &n_steps}};
    struct web_request request = {.body = (const char *)body, .n_body = n_body, .context = &context};
    char *query = strchr(head, '?');
    if (query)
        *query++ = '\0';
    const struct web_route *route = web_route_find(head);
    if (!route || !take_query(query, &request))
        return;
    struct web_reply reply;
    web_reply_init(&reply);
    route->answer(shared_bench(), &request, &reply);
    fuzz_expect(reply.is_full || reply.n > 0, "every question has an answer");
    fuzz_expect(reply.status >= 200 && reply.status < 500, "nothing that is asked breaks the server");
    web_reply_release(&reply);
}

static void run(const uint8_t *bytes, size_t n)
{
    const uint8_t *end = n > 0 ? memchr(bytes, '\n', n) : NULL;
    if (!end)
        return;
    const size_t length = (size_t)(end - bytes);
    char *head = strndup((const char *)bytes, length);
    if (head)
        ask(head, n > length + 1 ? end + 1 : NULL, n - length - 1);
    free(head);
}

const struct fuzz_target fuzz_target_routes = {"routes", run};
