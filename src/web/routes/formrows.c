/* What a form needs to know of every value: the library's own parameter rows, and the names it may choose from. */
#include "../bench.h"

#include <math.h>
#include <string.h>

static const char *const kinds[] = {
    [SM_QUANTITY] = "quantity", [SM_WHOLE] = "whole", [SM_FLAG] = "flag", [SM_CHOICE] = "choice",
    [SM_CHOICES] = "choices",   [SM_TEXT] = "text",   [SM_LIST] = "list", [SM_RECORD] = "record",
};

static void put_number(struct web_reply *r, const char *key, const struct sm_param *row, double value,
                       enum sm_unit_system system)
{
    char text[SM_SHOW_TEXT];
    if (row->kind == SM_QUANTITY)
        sm_show_number(text, value, row->dim, system);
    else
        snprintf(text, sizeof text, "%.0f", value);
    web_member(r, key, text);
}

static void put_usual(struct web_reply *r, const struct sm_param *row, enum sm_unit_system system)
{
    web_key(r, "required");
    web_flag(r, isinf(row->fallback));
    if (!isfinite(row->fallback))
        return;
    if (row->kind == SM_QUANTITY || row->kind == SM_WHOLE)
        put_number(r, "usual", row, row->fallback, system);
    else if (row->kind == SM_CHOICE)
        web_member(r, "usual", row->words[(size_t)row->fallback]);
    else if (row->kind == SM_FLAG)
        web_member(r, "usual", row->fallback > 0.0 ? "yes" : "no");
}

static void put_words(struct web_reply *r, const char *key, const char *const *words)
{
    web_key(r, key);
    web_open(r, '[');
    for (size_t i = 0; words && words[i]; i++)
        web_text(r, words[i]);
    web_close(r, ']');
}

static void put_rows(struct web_reply *r, const struct sm_param *rows, size_t n, enum sm_unit_system system);

static void put_row(struct web_reply *r, const struct sm_param *row, enum sm_unit_system system)
{
    web_open(r, '{');
    web_member(r, "name", row->name);
    web_member(r, "kind", kinds[row->kind]);
    web_member(r, "help", row->help);
    if (row->kind == SM_QUANTITY || row->kind == SM_WHOLE) {
        web_key(r, "dim");
        web_whole(r, row->kind == SM_WHOLE ? SM_DIM_NONE : row->dim);
        web_member(r, "example", row->kind == SM_WHOLE ? "1" : sm_dim_example(row->dim));
        put_number(r, "least", row, row->min, system);
        put_number(r, "most", row, row->max, system);
        web_key(r, "min");
        web_double(r, row->min);
        web_key(r, "max");
        web_double(r, row->max);
    }
    put_usual(r, row, system);
    if (row->words)
        put_words(r, "words", row->words);
    if (row->rows) {
        web_key(r, "rows");
        put_rows(r, row->rows, row->n_rows, system);
    }
    web_close(r, '}');
}

static void put_rows(struct web_reply *r, const struct sm_param *rows, size_t n, enum sm_unit_system system)
{
    web_open(r, '[');
    for (size_t i = 0; i < n; i++)
        put_row(r, &rows[i], system);
    web_close(r, ']');
}

static void put_sections(struct web_reply *r, enum sm_unit_system system)
{
    web_key(r, "sections");
    web_open(r, '[');
    for (size_t i = 0; i < sm_section_count(); i++) {
        struct sm_section_info info;
        sm_section_describe(i, &info);
        web_open(r, '{');
        web_member(r, "name", info.name);
        web_member(r, "summary", info.summary);
        web_key(r, "rows");
        put_rows(r, info.params, info.n_params, system);
        web_close(r, '}');
    }
    web_close(r, ']');
}

static void put_faces(struct web_reply *r, const char *key, const char *const *faces, unsigned bits)
{
    web_key(r, key);
    web_open(r, '[');
    for (size_t i = 0; faces[i]; i++)
        if (bits & (1u << i))
            web_text(r, faces[i]);
    web_close(r, ']');
}

static void put_shapes(struct web_reply *r, enum sm_unit_system system)
{
    const struct sm_param *common;
    web_key(r, "shapes");
    web_open(r, '[');
    for (size_t i = 0; i < sm_shape_count(); i++) {
        struct sm_shape_info info;
        sm_shape_describe(i, &info);
        web_open(r, '{');
        web_member(r, "name", info.name);
        web_member(r, "summary", info.summary);
        web_member(r, "example", info.example);
        put_faces(r, "faces", info.faces, info.has_faces);
        put_faces(r, "burning", info.faces, info.burning);
        web_key(r, "rows");
        put_rows(r, info.params, info.n_params, system);
        web_close(r, '}');
    }
    web_close(r, ']');
    web_key(r, "grain");
    const size_t n = sm_grain_params(&common);
    put_rows(r, common, n, system);
}

static void put_propellant(void *user, const struct sm_propellant_info *info)
{
    struct web_reply *r = user;
    web_open(r, '{');
    web_member(r, "name", info->name);
    web_member(r, "standing", info->standing);
    web_member(r, "source", info->source);
    web_close(r, '}');
}

static void put_propellants(struct web_bench *bench, struct web_reply *r)
{
    struct sm_diag problems = {0};
    web_key(r, "propellants");
    web_open(r, '[');
    pthread_mutex_lock(&bench->reading);
    if (sm_propellant_each(&bench->load, put_propellant, r, &problems) != SM_OK)
        sm_diag_release(&problems); /* those that can be read are there; a motor that names another is told */
    pthread_mutex_unlock(&bench->reading);
    sm_diag_release(&problems);
    web_close(r, ']');
}

static void put_forms(struct web_reply *r)
{
    web_key(r, "forms");
    web_open(r, '[');
    for (size_t i = 0; i < sm_format_count(); i++) {
        struct sm_format_info info;
        sm_format_describe(i, &info);
        web_open(r, '{');
        web_member(r, "name", info.name);
        web_member(r, "summary", info.summary);
        web_member(r, "ending", info.ending);
        web_member(r, "companion", info.companion);
        web_close(r, '}');
    }
    web_close(r, ']');
}

static void put_figures(struct web_reply *r, enum sm_unit_system system)
{
    const struct sm_size_figure *figures;
    const size_t n = sm_size_figures(&figures);
    web_key(r, "figures");
    web_open(r, '[');
    for (size_t i = 0; i < n; i++) {
        web_open(r, '{');
        web_member(r, "name", figures[i].name);
        web_member(r, "help", figures[i].help);
        web_member(r, "unit", sm_show_unit(figures[i].dim, system));
        web_close(r, '}');
    }
    web_close(r, ']');
}

static void answer(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    const enum sm_unit_system system = web_query_units(request);
    web_open(reply, '{');
    web_member(reply, "version", sm_version());
    put_sections(reply, system);
    put_shapes(reply, system);
    put_propellants(bench, reply);
    put_forms(reply);
    put_figures(reply, system);
    web_close(reply, '}');
}

const struct web_route web_route_formrows = {.path = "rows", .answer = answer};
