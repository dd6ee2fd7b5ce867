/* The grains to scale with the burning surface at equal times, as SVG; asked for apart, so that curves need not wait for it. */
#include "../bench.h"

static void answer(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    struct sm_error err = {0};
    struct sm_result *result = NULL;
    const struct sm_run_options options = {.without_warnings = true};
    struct sm_motor *motor = web_motor(bench, request, 0, reply);
    if (!motor)
        return;
    struct sm_sink sink = web_sink(reply);
    enum sm_status status = sm_simulate(motor, &options, request->context, &result, &err);
    if (status == SM_OK)
        status = sm_draw_grains(motor, result, SM_PICTURE_SVG, &sink, &err);
    reply->type = "image/svg+xml";
    if (status != SM_OK)
        web_problem(reply, &err);
    sm_result_free(result);
    sm_motor_free(motor);
}

const struct web_route web_route_grainpicture = {.path = "section", .is_post = true, .answer = answer};
