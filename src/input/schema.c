#include "input/schema.h"
#include "base/text.h"
#include "slowmatch/limits.h"

#include <math.h>
#include <string.h>

const char *sm_schema_quantity_pattern(void)
{
    /* A decimal number; then a unit, which starts with no sign of arithmetic, and with a digit only in "1/K". */
    return "^ *[+-]?([0-9]+[.]?[0-9]*|[.][0-9]+)([eE][+-]?[0-9]+)?"
           "( *[^0-9 .,*^+(@/-].*| */ *[^0-9 ].*| +1 *(/|per ).*)$";
}

static bool has_bounds(double min, double max)
{
    return min != 0.0 || max != 0.0;
}

/* ", 0.0001 m to 10 m" */
static void write_bounds(char *text, size_t size, enum sm_dim dim, double min, double max)
{
    const char *unit = sm_dim_unit(dim);
    text[0] = '\0';
    if (has_bounds(min, max) && isfinite(min) && isfinite(max))
        sm_text_format(text, size, ", %.9g %s to %.9g %s", min, unit, max, unit);
    else if (has_bounds(min, max) && isfinite(min))
        sm_text_format(text, size, ", at least %.9g %s", min, unit);
    else if (has_bounds(min, max) && isfinite(max))
        sm_text_format(text, size, ", at most %.9g %s", max, unit);
}

/* "help; length, 0.0001 m to 10 m" */
static void member_description(struct sm_json_writer *w, const char *help, enum sm_dim dim, double min,
                               double max)
{
    char bounds[128], text[512];
    write_bounds(bounds, sizeof bounds, dim, min, max);
    sm_text_format(text, sizeof text, "%.300s%s%s%s", help ? help : "", help ? "; " : "", sm_dim_name(dim),
                   bounds);
    sm_json_member_string(w, "description", text);
}

static void member_help(struct sm_json_writer *w, const char *help)
{
    if (help)
        sm_json_member_string(w, "description", help);
}

static void member_limits(struct sm_json_writer *w, double min, double max)
{
    if (has_bounds(min, max) && isfinite(min))
        sm_json_member_number(w, "minimum", min);
    if (has_bounds(min, max) && isfinite(max))
        sm_json_member_number(w, "maximum", max);
}

/* ---- values; each writes the members of an object that is open ---- */

static void quantity(struct sm_json_writer *w, enum sm_dim dim, double min, double max, const char *help)
{
    if (dim == SM_DIM_NONE) {
        sm_json_member_string(w, "type", "number");
        member_limits(w, min, max);
        member_help(w, help);
        return;
    }
    sm_json_member_string(w, "type", "string");
    sm_json_member_string(w, "pattern", sm_schema_quantity_pattern());
    member_description(w, help, dim, min, max);
    sm_json_put_key(w, "examples");
    sm_json_open_row(w);
    sm_json_put_string(w, sm_dim_example(dim));
    sm_json_close(w);
}

/* "help; time, 0 s to 10 s; or other help; length, 0.1 m to 10 m" */
static void either(struct sm_json_writer *w, const struct sm_param *row)
{
    const struct sm_param *const rows[] = {row, row->alternative};
    char bounds[2][128], text[700];
    for (size_t i = 0; i < SM_COUNT(rows); i++)
        write_bounds(bounds[i], sizeof bounds[i], rows[i]->dim, rows[i]->min, rows[i]->max);
    sm_text_format(text, sizeof text, "%.200s; %s%s; or %.200s; %s%s", row->help, sm_dim_name(row->dim),
                   bounds[0], row->alternative->help, sm_dim_name(row->alternative->dim), bounds[1]);
    sm_json_member_string(w, "type", "string");
    sm_json_member_string(w, "pattern", sm_schema_quantity_pattern());
    sm_json_member_string(w, "description", text);
    sm_json_put_key(w, "examples");
    sm_json_open_row(w);
    for (size_t i = 0; i < SM_COUNT(rows); i++)
        sm_json_put_string(w, sm_dim_example(rows[i]->dim));
    sm_json_close(w);
}

static void quantity_row(struct sm_json_writer *w, const struct sm_param *row)
{
    if (row->alternative)
        either(w, row);
    else
        quantity(w, row->dim, row->min, row->max, row->help);
    if (!isfinite(row->fallback))
        return;
    if (row->dim == SM_DIM_NONE) {
        sm_json_member_number(w, "default", row->fallback);
        return;
    }
    char number[SM_DOUBLE_TEXT], text[64];
    sm_text_format(text, sizeof text, "%s %s", sm_text_double(number, row->fallback), sm_dim_unit(row->dim));
    sm_json_member_string(w, "default", text);
}

static void whole_row(struct sm_json_writer *w, const struct sm_param *row)
{
    sm_json_member_string(w, "type", "integer");
    member_limits(w, row->min, row->max);
    member_help(w, row->help);
    if (isfinite(row->fallback))
        sm_json_member_number(w, "default", row->fallback);
}

static void flag_row(struct sm_json_writer *w, const struct sm_param *row)
{
    sm_json_member_string(w, "type", "boolean");
    member_help(w, row->help);
    if (isfinite(row->fallback))
        sm_json_member_bool(w, "default", row->fallback > 0.0);
}

static void member_enum(struct sm_json_writer *w, const char *const *words)
{
    sm_json_put_key(w, "enum");
    sm_json_open_row(w);
    for (size_t i = 0; words[i]; i++)
        sm_json_put_string(w, words[i]);
    sm_json_close(w);
}

static void choice_row(struct sm_json_writer *w, const struct sm_param *row)
{
    member_enum(w, row->words);
    member_help(w, row->help);
    if (isfinite(row->fallback))
        sm_json_member_string(w, "default", row->words[(int)row->fallback]);
}

static void choices_row(struct sm_json_writer *w, const struct sm_param *row)
{
    sm_json_member_string(w, "type", "array");
    sm_json_member_object(w, "items");
    member_enum(w, row->words);
    sm_json_close(w);
    sm_json_member_bool(w, "uniqueItems", true);
    member_help(w, row->help);
    if (!isfinite(row->fallback))
        return;
    sm_json_put_key(w, "default");
    sm_json_open_row(w);
    for (unsigned i = 0; row->words[i]; i++)
        if ((unsigned)row->fallback & 1u << i)
            sm_json_put_string(w, row->words[i]);
    sm_json_close(w);
}

static void text_members(struct sm_json_writer *w, const char *help)
{
    sm_json_member_string(w, "type", "string");
    sm_json_member_whole(w, "maxLength", SM_MAX_TEXT);
    member_help(w, help);
}

static void list_row(struct sm_json_writer *w, const struct sm_param *row)
{
    const struct sm_schema_rows element = {row->rows, row->n_rows};
    sm_json_member_string(w, "type", "array");
    sm_json_put_key(w, "items");
    sm_schema_object(w, NULL, &element, 1, NULL, 0);
    if (has_bounds(row->min, row->max)) {
        sm_json_member_whole(w, "minItems", (long long)row->min);
        if (isfinite(row->max))
            sm_json_member_whole(w, "maxItems", (long long)row->max);
    }
    member_help(w, row->help);
}

void sm_schema_row(struct sm_json_writer *w, const struct sm_param *row)
{
    if (row->kind == SM_RECORD) {
        const struct sm_schema_rows record = {row->rows, row->n_rows};
        sm_schema_object(w, row->help, &record, 1, NULL, 0);
        return;
    }
    static void (*const writers[])(struct sm_json_writer *, const struct sm_param *) = {
        [SM_QUANTITY] = quantity_row, [SM_WHOLE] = whole_row,     [SM_FLAG] = flag_row,
        [SM_CHOICE] = choice_row,     [SM_CHOICES] = choices_row, [SM_LIST] = list_row,
    };
    sm_json_open_object(w);
    if (row->kind == SM_TEXT)
        text_members(w, row->help);
    else
        writers[row->kind](w, row);
    sm_json_close(w);
}

void sm_schema_quantity(struct sm_json_writer *w, enum sm_dim dim, double min, double max, const char *help)
{
    sm_json_open_object(w);
    quantity(w, dim, min, max, help);
    sm_json_close(w);
}

void sm_schema_const(struct sm_json_writer *w, const void *user)
{
    sm_json_open_object_row(w);
    sm_json_member_string(w, "const", user);
    sm_json_close(w);
}

void sm_schema_text(struct sm_json_writer *w, const void *user)
{
    sm_json_open_object(w);
    text_members(w, user);
    sm_json_close(w);
}

/* {"type": type} or {"type": [type, other]}, and a description. */
static void typed(struct sm_json_writer *w, const char *type, const char *other, const char *description)
{
    sm_json_open_object(w);
    if (other) {
        sm_json_member_array(w, "type");
        sm_json_put_string(w, type);
        sm_json_put_string(w, other);
        sm_json_close(w);
    } else
        sm_json_member_string(w, "type", type);
    member_help(w, description);
    sm_json_close(w);
}

void sm_schema_number(struct sm_json_writer *w, const void *user)
{
    typed(w, "number", NULL, user);
}

void sm_schema_number_or_null(struct sm_json_writer *w, const void *user)
{
    typed(w, "number", "null", user);
}

void sm_schema_text_or_null(struct sm_json_writer *w, const void *user)
{
    typed(w, "string", "null", user);
}

void sm_schema_whole(struct sm_json_writer *w, const void *user)
{
    typed(w, "integer", NULL, user);
}

void sm_schema_flag(struct sm_json_writer *w, const void *user)
{
    typed(w, "boolean", NULL, user);
}

void sm_schema_null(struct sm_json_writer *w, const void *user)
{
    typed(w, "null", NULL, user);
}

void sm_schema_number_or_quantity(struct sm_json_writer *w, const char *description, const char *example)
{
    sm_json_open_object(w);
    sm_json_member_array(w, "type");
    sm_json_put_string(w, "string");
    sm_json_put_string(w, "number");
    sm_json_close(w);
    sm_json_member_string(w, "pattern", sm_schema_quantity_pattern());
    member_help(w, description);
    sm_json_put_key(w, "examples");
    sm_json_open_row(w);
    sm_json_put_string(w, example);
    sm_json_close(w);
    sm_json_close(w);
}

/* ---- objects ---- */

static void put_note(struct sm_json_writer *w)
{
    sm_json_put_key(w, "$schema");
    sm_json_open_object_row(w);
    sm_json_member_string(w, "type", "string");
    sm_json_close(w);
    sm_json_put_key(w, "note");
    sm_json_open_object_row(w);
    sm_json_member_string(w, "description", "anything; not read");
    sm_json_close(w);
}

static void member_required(struct sm_json_writer *w, const struct sm_schema_rows *tables, size_t n_tables,
                            const struct sm_schema_property *properties, size_t n_properties)
{
    sm_json_put_key(w, "required");
    sm_json_open_row(w);
    for (size_t i = 0; i < n_properties; i++)
        if (properties[i].is_required)
            sm_json_put_string(w, properties[i].name);
    for (size_t t = 0; t < n_tables; t++)
        for (size_t i = 0; i < tables[t].n_rows; i++)
            if (isinf(tables[t].rows[i].fallback))
                sm_json_put_string(w, tables[t].rows[i].name);
    sm_json_close(w);
}

static void object_members(struct sm_json_writer *w, const char *description,
                           const struct sm_schema_rows *tables, size_t n_tables,
                           const struct sm_schema_property *properties, size_t n_properties)
{
    sm_json_member_string(w, "type", "object");
    member_help(w, description);
    sm_json_member_object(w, "properties");
    for (size_t i = 0; i < n_properties; i++) {
        sm_json_put_key(w, properties[i].name);
        properties[i].write(w, properties[i].user);
    }
    for (size_t t = 0; t < n_tables; t++)
        for (size_t i = 0; i < tables[t].n_rows; i++) {
            sm_json_put_key(w, tables[t].rows[i].name);
            sm_schema_row(w, &tables[t].rows[i]);
        }
    put_note(w);
    sm_json_close(w);
    member_required(w, tables, n_tables, properties, n_properties);
    sm_json_member_bool(w, "additionalProperties", false);
}

void sm_schema_object(struct sm_json_writer *w, const char *description, const struct sm_schema_rows *tables,
                      size_t n_tables, const struct sm_schema_property *properties, size_t n_properties)
{
    sm_json_open_object(w);
    object_members(w, description, tables, n_tables, properties, n_properties);
    sm_json_close(w);
}

void sm_schema_document(struct sm_json_writer *w, const char *id, const char *title, const char *description,
                        const struct sm_schema_rows *tables, size_t n_tables,
                        const struct sm_schema_property *properties, size_t n_properties)
{
    sm_json_open_object(w);
    sm_json_member_string(w, "$schema", "https://json-schema.org/draft/2020-12/schema");
    sm_json_member_string(w, "$id", id);
    sm_json_member_string(w, "title", title);
    object_members(w, description, tables, n_tables, properties, n_properties);
    sm_json_close(w);
}

/* ---- combinations ---- */

static void combine(struct sm_json_writer *w, const char *key, size_t n,
                    void (*item)(struct sm_json_writer *w, size_t i, const void *user), const void *user)
{
    sm_json_open_object(w);
    sm_json_member_array(w, key);
    for (size_t i = 0; i < n; i++)
        item(w, i, user);
    sm_json_close(w);
    sm_json_close(w);
}

void sm_schema_one_of(struct sm_json_writer *w, size_t n,
                      void (*item)(struct sm_json_writer *w, size_t i, const void *user), const void *user)
{
    combine(w, "oneOf", n, item, user);
}

void sm_schema_any_of(struct sm_json_writer *w, size_t n,
                      void (*item)(struct sm_json_writer *w, size_t i, const void *user), const void *user)
{
    combine(w, "anyOf", n, item, user);
}

void sm_schema_array(struct sm_json_writer *w, const char *description, size_t min, size_t max,
                     const struct sm_schema_property *item)
{
    sm_json_open_object(w);
    sm_json_member_string(w, "type", "array");
    member_help(w, description);
    sm_json_put_key(w, "items");
    item->write(w, item->user);
    if (min > 0)
        sm_json_member_whole(w, "minItems", (long long)min);
    if (max > 0)
        sm_json_member_whole(w, "maxItems", (long long)max);
    sm_json_close(w);
}
