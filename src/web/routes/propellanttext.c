/* A shipped propellant's file, for putting it in place of its name in a motor. */
#include "../bench.h"

static void answer(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    struct web_reply text;
    struct sm_error err = {0};
    const char *name = web_query(request, "name");
    web_reply_init(&text);
    struct sm_sink sink = web_sink(&text);
    if (sm_propellant_write(name ? name : "", &bench->load, &sink, &err) == SM_OK) {
        web_open(reply, '{');
        web_key(reply, "text");
        web_textn(reply, text.bytes ? text.bytes : "", text.n);
        web_close(reply, '}');
    } else
        web_problem(reply, &err);
    web_reply_release(&text);
}

const struct web_route web_route_propellanttext = {.path = "propellant", .answer = answer};
