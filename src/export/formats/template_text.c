/* The table in a layout of the user's own, by a Mustache template. Reference: the Mustache specification, version 1.4. */
#include "export/template_data.h"

static enum sm_status parse(const struct sm_export *e, struct sm_arena *arena, struct sm_template **t,
                            struct sm_error *err)
{
    const struct sm_export_options *o = &e->options;
    return sm_template_parse(o->template_text, o->n_template,
                             o->template_name ? o->template_name : "template", arena, t, err);
}

/* Before any work: is there a template, and is it sound? */
static enum sm_status check(const struct sm_export *e, struct sm_error *err)
{
    struct sm_arena scratch;
    struct sm_template *t;
    if (!e->options.template_text)
        return sm_fail(err, SM_E_FIELD, "the form template needs a template");
    sm_arena_init(&scratch, NULL);
    const enum sm_status status = parse(e, &scratch, &t, err);
    sm_arena_release(&scratch);
    return status;
}

static enum sm_status fill(const struct sm_export *e, struct sm_units *units, struct sm_arena *scratch,
                           struct sm_sink *sink, struct sm_error *err)
{
    struct sm_fields fields;
    struct sm_template_data data;
    struct sm_template *t;
    const struct sm_template_options options = {e->options.for_html, e->options.unknown_is_empty};
    SM_TRY(sm_fields_check_numbers(e, err));
    SM_TRY(parse(e, scratch, &t, err));
    sm_fields_init(&fields, e, units, &data);
    return sm_template_render(t, &data, &options, sink, err);
}

static enum sm_status write(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_arena scratch;
    struct sm_units *units;
    SM_TRY(sm_units_open(&units, err));
    sm_arena_init(&scratch, NULL);
    const enum sm_status status = fill(e, units, &scratch, sink, err);
    sm_arena_release(&scratch);
    sm_units_free(units);
    return status;
}

const struct sm_format sm_format_template_text = {
    .name = "template",
    .summary = "a plain-text layout of your own, by a Mustache template",
    .ending = "",
    .check = check,
    .write = write,
};
