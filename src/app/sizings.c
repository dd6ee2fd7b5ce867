/* Requests and the motors sized for them: the calls that outsiders make. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "app/data.h"
#include "app/session.h"
#include "base/pointer.h"
#include "base/sink.h"
#include "base/text.h"
#include "design/sizing.h"
#include "doc/json_write.h"
#include "input/read_request.h"

/* A request, the motor that it starts from, and that motor's file, into which new values are written. */
struct sm_request {
    struct sm_arena arena;
    struct sm_request_spec spec;
    struct sm_motor *motor;
    struct sm_json_doc *doc;    /* of the request */
    struct sm_json_doc *source; /* of the motor, propellant in place if it was named by path */
    const char *folder;         /* of the motor's file */
    struct sm_load_options options;
    struct sm_units *own;
};

/* ---- loading ---- */

struct loading {
    struct sm_request *request;
    const struct sm_load_options *given;
    const struct sm_context *context;
    struct sm_diag *diag;
};

static enum sm_status report(const struct loading *l, struct sm_error *problem)
{
    if (l->request && l->request->doc)
        sm_json_locate(l->request->doc, problem);
    sm_diag_add(l->diag, problem);
    return problem->status;
}

static enum sm_status out_of_memory(const struct loading *l)
{
    struct sm_error err = {0};
    sm_fail(&err, SM_E_NOMEM, "out of memory");
    return report(l, &err);
}

static enum sm_status apply_overrides(struct loading *l)
{
    for (size_t i = 0; l->given && i < l->given->n_overrides; i++) {
        const struct sm_override *o = &l->given->overrides[i];
        struct sm_error err = {0};
        if (sm_json_set(l->request->doc, o->place, o->value, "--set", &err) == SM_OK)
            continue;
        strcpy(err.at.file, "--set");
        if (err.at.line == 0) {
            err.at.line = err.at.column = err.caret = 1;
            sm_text_format(err.excerpt, sizeof err.excerpt, "%s=%s", o->place, o->value);
        }
        sm_diag_add(l->diag, &err);
        return err.status;
    }
    return SM_OK;
}

/* A fault of naming the motor stands at its name; one within its file stands there. */
static enum sm_status load_motor(struct loading *l, const char *path)
{
    struct sm_request *r = l->request;
    struct sm_diag problems = {0};
    const enum sm_status status = sm_motor_load(path, &r->options, l->context, &r->motor, &problems);
    for (size_t k = 0; k < problems.n; k++) {
        struct sm_error problem = problems.items[k];
        if (problem.status == SM_E_IO) {
            problem.at = (struct sm_loc){0};
            sm_at(&problem, problem.status, "/motor");
            sm_json_locate(r->doc, &problem);
        }
        sm_diag_add(l->diag, &problem);
    }
    if (l->diag)
        l->diag->n_found += problems.n_found - problems.n;
    sm_diag_release(&problems);
    return status;
}

/* All of the request but what is free. */
static enum sm_status read_wishes(struct loading *l, struct sm_reader *reader)
{
    struct sm_request *r = l->request;
    struct sm_error err = {0};
    if (!r->options.units && sm_units_open(&r->own, &err) != SM_OK)
        return report(l, &err);
    r->options.units = r->options.units ? r->options.units : r->own;
    SM_TRY(apply_overrides(l));
    const size_t before = l->diag->n;
    *reader = (struct sm_reader){.arena = &r->arena, .units = r->options.units, .diag = l->diag};
    const enum sm_status status = sm_read_request(reader, sm_json_root(r->doc), &r->spec);
    for (size_t i = before; i < l->diag->n; i++)
        sm_json_locate(r->doc, &l->diag->items[i]);
    return status;
}

/* What is free, now that the motor is known. */
static enum sm_status read_free(struct loading *l, struct sm_reader *reader)
{
    struct sm_request *r = l->request;
    const size_t before = l->diag->n;
    const enum sm_status status = sm_read_free(reader, sm_json_root(r->doc), r->motor, &r->spec);
    for (size_t i = before; i < l->diag->n; i++)
        sm_json_locate(r->doc, &l->diag->items[i]);
    return status;
}

static enum sm_status load(struct loading *l, const char *path)
{
    struct sm_request *r = l->request;
    struct sm_error err = {0};
    struct sm_reader reader;
    const char *folder = sm_data_folder(&r->arena, path);
    if (!folder)
        return out_of_memory(l);
    SM_TRY(read_wishes(l, &reader));
    const char *motor = sm_data_seen_from(&r->arena, folder, r->spec.motor);
    r->folder = motor ? sm_data_folder(&r->arena, motor) : NULL;
    if (!r->folder)
        return out_of_memory(l);
    SM_TRY(load_motor(l, motor));
    SM_TRY(read_free(l, &reader));
    return sm_json_read_file(motor, &r->source, &err) == SM_OK ? SM_OK : report(l, &err);
}

static enum sm_status parse(struct loading *l, const struct sm_request_text *text)
{
    struct sm_request *r = l->request;
    struct sm_error err = {0};
    struct sm_reader reader;
    SM_TRY(read_wishes(l, &reader));
    r->folder = "";
    SM_TRY(sm_motor_parse(text->motor, text->n_motor, text->motor_name, &r->options, l->context, &r->motor,
                          l->diag));
    SM_TRY(read_free(l, &reader));
    const enum sm_status status =
        sm_json_parse(text->motor, text->n_motor, text->motor_name, &r->source, &err);
    return status == SM_OK ? SM_OK : report(l, &err);
}

/* Room for a request. NULL, and told, if memory is out. */
static struct sm_request *new_request(struct loading *l)
{
    struct sm_arena arena;
    sm_arena_init(&arena, l->context ? l->context->allocator : NULL);
    struct sm_request *request = sm_arena_alloc(&arena, 1, sizeof *request);
    if (!request) {
        out_of_memory(l);
        return NULL;
    }
    request->arena = arena;
    if (l->given) {
        request->options = *l->given;
        request->options.overrides = NULL;
        request->options.n_overrides = 0;
    }
    return request;
}

/* From a file, or from text if that is given. */
static enum sm_status make_request(struct loading *l, const char *path, const struct sm_request_text *text,
                                   struct sm_request **request)
{
    struct sm_error err = {0};
    *request = NULL;
    l->request = new_request(l);
    if (!l->request)
        return SM_E_NOMEM;
    enum sm_status status =
        text ? sm_json_parse(text->request, text->n_request, text->request_name, &l->request->doc, &err)
             : sm_json_read_file(path, &l->request->doc, &err);
    if (status != SM_OK)
        status = report(l, &err);
    else
        status = text ? parse(l, text) : load(l, path);
    if (status == SM_OK)
        *request = l->request;
    else
        sm_request_free(l->request);
    return status;
}

enum sm_status sm_request_load(const char *path, const struct sm_load_options *options,
                               const struct sm_context *context, struct sm_request **request,
                               struct sm_diag *diag)
{
    struct loading l = {.given = options, .context = context, .diag = diag};
    return make_request(&l, path, NULL, request);
}

enum sm_status sm_request_parse(const struct sm_request_text *text, const struct sm_load_options *options,
                                const struct sm_context *context, struct sm_request **request,
                                struct sm_diag *diag)
{
    struct loading l = {.given = options, .context = context, .diag = diag};
    return make_request(&l, NULL, text, request);
}

void sm_request_free(struct sm_request *request)
{
    if (!request)
        return;
    sm_motor_free(request->motor);
    sm_json_free(request->doc);
    sm_json_free(request->source);
    sm_units_free(request->own);
    struct sm_arena arena = request->arena; /* the request lives in its own arena */
    sm_arena_release(&arena);
}

/* ---- the sized motor's file ---- */

/* Sets a value in the file, in a unit that people use; a section that was left out is started. */
static enum sm_status set_value(struct sm_json_doc *doc, const char *pointer, enum sm_dim dim, double si,
                                int is_whole, struct sm_error *err)
{
    char text[SM_MEASURE_TEXT], section[SM_TOKEN_MAX + 1] = "/";
    struct sm_error first = {0};
    if (is_whole)
        sm_text_format(text, sizeof text, "%.0f", si);
    else
        sm_measure_text(text, dim, si, 7);
    if (sm_json_set(doc, pointer, text, "sized value", &first) == SM_OK)
        return SM_OK;
    if (!sm_pointer_token(pointer, section + 1) || sm_json_get(sm_json_root(doc), section + 1))
        return sm_fail(err, first.status, "%s", first.message);
    SM_TRY(sm_json_set(doc, section, "{}", "sized value", err));
    return sm_json_set(doc, pointer, text, "sized value", err);
}

static int is_in_propellant(const struct sm_request_spec *spec)
{
    for (size_t i = 0; i < spec->n_free; i++)
        if (strncmp(spec->free[i].of, "/propellant/", 12) == 0)
            return 1;
    return 0;
}

/* A propellant that is named stays named unless one of its values is free; one named by path is put in place, for the new
 * file may stand elsewhere. */
static enum sm_status place_propellant(const struct sm_request *r, struct sm_json_doc *doc,
                                       struct sm_error *err)
{
    const char *name = sm_json_string(sm_json_find(sm_json_root(doc), "/propellant"));
    struct sm_arena arena;
    if (!name || (!is_in_propellant(&r->spec) && !strchr(name, '/') && !strstr(name, ".json")))
        return SM_OK;
    sm_arena_init(&arena, NULL);
    struct sm_session s = {.doc = doc, .options = &r->options, .arena = &arena, .folder = r->folder};
    const enum sm_status status = sm_session_place_propellant(&s, err);
    sm_arena_release(&arena);
    return status;
}

/* Outlines drawn in files are named by where they are, for the same reason. */
static enum sm_status place_files(const struct sm_request *r, struct sm_json_doc *doc, struct sm_error *err)
{
    const size_t n = sm_json_count(sm_json_find(sm_json_root(doc), "/grains"));
    for (size_t i = 0; i < n; i++) {
        char pointer[64];
        sm_text_format(pointer, sizeof pointer, "/grains/%zu/file", i);
        const char *file = sm_json_string(sm_json_find(sm_json_root(doc), pointer));
        if (!file || file[0] == '/')
            continue;
        struct sm_arena arena;
        sm_arena_init(&arena, NULL);
        const char *path = sm_data_path(&arena, r->folder, file, "");
        char *whole = path ? realpath(path, NULL) : NULL;
        const enum sm_status status = whole ? sm_json_set(doc, pointer, whole, "sized value", err)
                                            : sm_fail(err, SM_E_IO, "there is no file '%.200s'", file);
        free(whole);
        sm_arena_release(&arena);
        SM_TRY(status);
    }
    return SM_OK;
}

static enum sm_status fill(const struct sm_request *r, const double *x, struct sm_json_doc *doc,
                           struct sm_error *err)
{
    char text[SM_MAX_TEXT];
    SM_TRY(place_propellant(r, doc, err));
    SM_TRY(place_files(r, doc, err));
    sm_text_format(text, sizeof text, "%.1000s, sized", r->motor->spec.name);
    SM_TRY(sm_json_set(doc, "/name", text, "sized value", err));
    sm_text_format(
        text, sizeof text,
        "Sized by slowmatch for the request '%.1000s'. Predicted, not measured, and not a drawing for "
        "manufacture.",
        r->spec.name);
    SM_TRY(sm_json_set(doc, "/note", text, "sized value", err));
    for (size_t i = 0; i < r->spec.n_free; i++) {
        const struct sm_free_value *v = &r->spec.free[i];
        SM_TRY(set_value(doc, v->of, v->dim, x[i], v->is_whole, err));
        for (size_t k = 0; k < v->n_tied; k++)
            SM_TRY(set_value(doc, v->tied[k].of, v->dim, v->tied[k].factor * x[i] + v->tied[k].plus, 0, err));
    }
    return SM_OK;
}

static enum sm_status write_motor(const struct sm_request *r, const double *x, struct sm_sink *sink,
                                  struct sm_error *err)
{
    struct sm_json_doc *doc;
    struct sm_json_writer w;
    SM_TRY(sm_json_parse("{}", 2, "sized motor", &doc, err));
    enum sm_status status = sm_json_splice(doc, "", r->source, "", err);
    if (status == SM_OK)
        status = fill(r, x, doc, err);
    if (status == SM_OK) {
        sm_json_write_init(&w, sink);
        sm_json_put_value(&w, sm_json_root(doc));
        status = sm_json_write_end(&w, err);
    }
    sm_json_free(doc);
    return status;
}

enum sm_status sm_sizing_write_motor(const struct sm_request *request, const struct sm_sizing *sizing,
                                     struct sm_sink *sink, struct sm_error *err)
{
    double x[SM_OPTIM_VARIABLES];
    for (size_t i = 0; i < sizing->n_values; i++)
        x[i] = sizing->values[i].value;
    return write_motor(request, x, sink, err);
}

/* ---- runs ---- */

/* The motor of its file, so that tolerances in per cent are those of the new values. */
static enum sm_status make(void *user, const double *x, struct sm_motor **motor, struct sm_error *err)
{
    const struct sm_request *r = user;
    struct sm_memory_sink text;
    struct sm_diag problems = {0};
    *motor = NULL;
    sm_memory_sink_init(&text, NULL);
    enum sm_status status = write_motor(r, x, &text.sink, err);
    if (status == SM_OK) {
        status = sm_motor_parse(text.bytes, text.n, "sized motor", &r->options, NULL, motor, &problems);
        if (status != SM_OK && problems.n > 0 && err)
            *err = problems.items[0];
    }
    sm_diag_release(&problems);
    sm_memory_sink_release(&text);
    return status;
}

static enum sm_status locate(const struct sm_request *r, enum sm_status status, struct sm_error *err)
{
    /* A pointer into the motor leads to nothing here; its own file is not at fault. */
    if (status != SM_OK && err && err->at.path[0] && sm_json_find(sm_json_root(r->doc), err->at.path))
        sm_json_locate(r->doc, err);
    return status;
}

enum sm_status sm_size_run(const struct sm_request *request, const struct sm_size_options *options,
                           const struct sm_context *context, struct sm_sizing **sizing, struct sm_error *err)
{
    struct sm_design design;
    union {
        const struct sm_request *fixed;
        void *any;
    } user = {.fixed = request}; /* the maker does not write to it */
    const struct sm_design_maker maker = {make, user.any};
    *sizing = NULL;
    sm_init();
    enum sm_status status = sm_design_init(&design, request->motor, &request->spec, options, context, err);
    if (status == SM_OK)
        status = sm_design_size(&design, &maker, options, sizing, err);
    sm_design_release(&design);
    return locate(request, status, err);
}

enum sm_status sm_trade_run(const struct sm_request *request, const size_t figure[2], const int sense[2],
                            size_t n, const struct sm_size_options *options, const struct sm_context *context,
                            struct sm_trade **trade, struct sm_error *err)
{
    struct sm_design design;
    *trade = NULL;
    sm_init();
    enum sm_status status = sm_design_init(&design, request->motor, &request->spec, options, context, err);
    if (status == SM_OK)
        status = sm_design_trade(&design, figure, sense, n, trade, err);
    sm_design_release(&design);
    return locate(request, status, err);
}

const char *sm_size_caution(const struct sm_sizing *sizing, size_t i)
{
    static const char *const always[] = {
        "This is not a drawing for manufacture: it is where a model's numbers meet a request. Check the "
        "case, the "
        "nozzle and every dimension with somebody qualified, and test from a safe distance."};
    static const char low[] =
        "CAUTION: the burst margin asked for is under 1.5 and was accepted by name. The case may "
        "burst; people get hurt by what leaves it.";
    static const char unknown[] =
        "The motor file gives no burst pressure, so nothing here says that the case holds.";
    if (i == 0)
        return always[0];
    if (i == 1 && sizing->is_margin_low)
        return low;
    return i == 1 && isnan(sizing->burst_margin) ? unknown : NULL;
}
