/* A run in one of the forms that other programs read, as a page of one file, or as a picture. */
#include "../bench.h"

#include <ctype.h>
#include <string.h>

struct handover {
    struct sm_motor *motor;
    struct sm_result *result;
    enum sm_unit_system system;
};

/* A motor's name as a file's: letters, digits and hyphens. */
static void name_file(struct web_reply *reply, const char *motor, const char *ending)
{
    char stem[64];
    size_t n = 0;
    for (size_t i = 0; motor[i] && n + 1 < sizeof stem; i++)
        if (isalnum((unsigned char)motor[i]) && (unsigned char)motor[i] < 0x80)
            stem[n++] = (char)tolower((unsigned char)motor[i]);
        else if (n > 0 && stem[n - 1] != '-')
            stem[n++] = '-';
    while (n > 0 && stem[n - 1] == '-')
        n--;
    stem[n] = '\0';
    snprintf(reply->name, sizeof reply->name, "%.60s%.30s", n > 0 ? stem : "motor", ending);
}

static bool fill_options(const struct web_bench *bench, const struct web_request *request,
                         struct sm_export_options *o, struct web_reply *reply)
{
    long long points;
    const char *fixed = web_query(request, "fixed");
    if (!web_query_whole(request, "points", 2, 1000000, 0, &points, reply))
        return false;
    *o = (struct sm_export_options){.points = (size_t)points,
                                    .input_name = bench->file,
                                    .fixed_point = fixed && strcmp(fixed, "yes") == 0};
    if (web_part(request, 1, &o->template_text, &o->n_template))
        o->template_name = "template";
    return true;
}

static enum sm_status write_form(const struct web_bench *bench, const struct handover *h, size_t form,
                                 const struct web_request *request, struct web_reply *reply,
                                 struct sm_error *err)
{
    struct sm_export_options options;
    struct sm_format_info info;
    struct sm_export *export = NULL;
    char name[sizeof reply->name];
    const char *part = web_query(request, "part");
    const bool is_companion = part && strcmp(part, "companion") == 0;
    struct sm_sink sink = web_sink(reply);
    sm_format_describe(form, &info);
    if (!fill_options(bench, request, &options, reply))
        return SM_OK; /* said already */
    name_file(reply, h->result->motor, info.ending);
    snprintf(name, sizeof name, "%s", reply->name);
    options.file_name = name;
    enum sm_status status = sm_export_open(h->motor, h->result, form, &options, &export, err);
    if (status == SM_OK)
        status = is_companion ? sm_export_write_companion(export, &sink, err)
                              : sm_export_write(export, &sink, err);
    sm_export_close(export);
    reply->type = "application/octet-stream";
    if (is_companion && info.companion)
        snprintf(reply->name, sizeof reply->name, "%.60s%.30s", name, info.companion);
    return status;
}

static enum sm_status write_page(const struct web_bench *bench, const struct handover *h,
                                 const struct web_request *request, struct web_reply *reply,
                                 struct sm_error *err)
{
    struct sm_sink sink = web_sink(reply);
    const struct sm_report_options options = {.system = h->system, .input_name = bench->file};
    (void)request;
    name_file(reply, h->result->motor, ".html");
    reply->type = "application/octet-stream";
    return sm_report_write(h->motor, h->result, &options, &sink, err);
}

static enum sm_status write_plot(const struct handover *h, struct web_reply *reply, struct sm_error *err)
{
    struct sm_sink sink = web_sink(reply);
    name_file(reply, h->result->motor, "-curves.svg");
    reply->type = "application/octet-stream";
    return sm_plot_results((const struct sm_result *const *)&h->result, 1, h->system, SM_PICTURE_SVG, &sink,
                           err);
}

static enum sm_status write_section(const struct handover *h, struct web_reply *reply, struct sm_error *err)
{
    struct sm_sink sink = web_sink(reply);
    name_file(reply, h->result->motor, "-section.svg");
    reply->type = "application/octet-stream";
    return sm_draw_grains(h->motor, h->result, SM_PICTURE_SVG, &sink, err);
}

static enum sm_status write_as(const struct web_bench *bench, const char *form, const struct handover *h,
                               const struct web_request *request, struct web_reply *reply,
                               struct sm_error *err)
{
    if (strcmp(form, "report") == 0)
        return write_page(bench, h, request, reply, err);
    if (strcmp(form, "plot") == 0)
        return write_plot(h, reply, err);
    if (strcmp(form, "section") == 0)
        return write_section(h, reply, err);
    return write_form(bench, h, sm_format_place(form, NULL), request, reply, err);
}

static bool is_known(const char *form)
{
    static const char *const pictures[] = {"report", "plot", "section"};
    for (size_t i = 0; i < sizeof pictures / sizeof pictures[0]; i++)
        if (strcmp(form, pictures[i]) == 0)
            return true;
    return sm_format_place(form, NULL) < sm_format_count();
}

static void answer(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    struct handover h = {.system = web_query_units(request)};
    struct sm_error err = {0};
    const char *form = web_query(request, "form");
    if (!form || !is_known(form)) {
        web_refuse(reply, 400, "there is no such form");
        return;
    }
    if (!web_burn(bench, request, 0, &h.motor, &h.result, reply))
        return;
    if (write_as(bench, form, &h, request, reply, &err) != SM_OK)
        web_problem(reply, &err);
    sm_result_free(h.result);
    sm_motor_free(h.motor);
}

const struct web_route web_route_handover = {.path = "export", .is_post = true, .answer = answer};
