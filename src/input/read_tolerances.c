#include "input/read_tolerances.h"

#include <math.h>
#include <string.h>

#include "base/pointer.h"
#include "base/suggest.h"
#include "base/text.h"
#include "input/schema.h"

/* ---- one entry ---- */

static const char *const keys[] = {"of", "normal", "uniform", "triangular", "truncated", "batch", NULL};

/* What reading one list needs. */
struct list {
    struct sm_reader *reader;
    const char *prefix;
    sm_tolerance_look *look;
    const void *owner;
};

static enum sm_status check_keys(struct sm_reader *reader, const struct sm_json *entry, const char *pointer)
{
    enum sm_status first = SM_OK;
    for (const struct sm_json *member = sm_json_first(entry); member; member = sm_json_next(member)) {
        char place[SM_POINTER_MAX], escaped[SM_TOKEN_MAX], near[SM_SUGGEST_TEXT];
        const char *key = sm_json_key(member);
        int is_known = strcmp(key, "note") == 0 || strcmp(key, "$schema") == 0;
        for (size_t i = 0; keys[i]; i++)
            is_known = is_known || strcmp(key, keys[i]) == 0;
        if (is_known)
            continue;
        sm_text_format(place, sizeof place, "%s/%s", pointer,
                       sm_pointer_escape(key, escaped, sizeof escaped));
        const enum sm_status status = sm_read_problem(reader, place, SM_E_FIELD, "unknown key '%.60s'%s", key,
                                                      sm_suggest_text(near, sm_suggest_from(key, keys)));
        first = first != SM_OK ? first : status;
    }
    return first;
}

/* The one law that an entry names; NULL, told, for none or several. */
static const struct sm_json *find_law(struct sm_reader *reader, const struct sm_json *entry,
                                      const char *pointer, int *law)
{
    const struct sm_json *found = NULL;
    for (int i = 0; sm_tolerance_laws[i]; i++) {
        const struct sm_json *value = sm_json_get(entry, sm_tolerance_laws[i]);
        if (value && found) {
            char place[SM_POINTER_MAX];
            sm_text_format(place, sizeof place, "%s/%s", pointer, sm_tolerance_laws[i]);
            sm_read_problem(reader, place, SM_E_FIELD, "\"%s\" is given too; a value strays by one law",
                            sm_tolerance_laws[*law]);
            return NULL;
        }
        if (value) {
            found = value;
            *law = i;
        }
    }
    if (!found)
        sm_read_problem(reader, pointer, SM_E_FIELD,
                        "say how far the value strays, as \"normal\": \"0.02 mm\" or \"uniform\": \"2 %%\"");
    return found;
}

static int is_per_cent(const char *text)
{
    size_t n = text ? strlen(text) : 0;
    while (n > 0 && text[n - 1] == ' ')
        n--;
    return n > 0 && text[n - 1] == '%';
}

/* A share of the value, "2 %". */
static enum sm_status read_share(struct sm_reader *reader, const struct sm_json *json, const char *place,
                                 const struct sm_tolerance *t, double *given)
{
    struct sm_error err = {0};
    if (t->dim == SM_DIM_TEMPERATURE)
        return sm_read_problem(reader, place, SM_E_UNIT,
                               "a temperature strays by kelvins, as \"3 K\", not by a share of it");
    if (t->middle == 0.0)
        return sm_read_problem(reader, place, SM_E_RANGE, "a share of 0 is nothing; give it as \"%s\"",
                               sm_dim_example(t->dim));
    /* "2 %" is a number of the units' reader, but not of a value without dimension */
    const enum sm_status status =
        sm_units_parse(reader->units, sm_json_string(json), SM_DIM_NONE, given, &err);
    if (status != SM_OK)
        return sm_read_problem(reader, place, status, "%s", err.message);
    *given *= fabs(t->middle);
    return SM_OK;
}

/* With the value's own unit. */
static enum sm_status read_absolute(struct sm_reader *reader, const struct sm_json *json, const char *place,
                                    const struct sm_tolerance *t, double *given)
{
    const enum sm_dim dim = t->dim == SM_DIM_TEMPERATURE ? SM_DIM_TEMPERATURE_DIFFERENCE : t->dim;
    if (dim == SM_DIM_NONE && !sm_json_is(json, SM_JSON_NUMBER))
        return sm_read_problem(reader, place, SM_E_SYNTAX,
                               "it must be a bare number, as 0.01, or a share, as \"1 %%\"");
    return sm_read_quantity(reader, json, place, dim, given);
}

/* A spread as the file has it: "0.02 mm", "2 %". */
static const char *as_written(char buf[SM_DOUBLE_TEXT], const struct sm_json *json)
{
    const char *text = sm_json_string(json);
    return text ? text : sm_text_double(buf, sm_json_number(json));
}

/* Reads a deviation: with the value's own unit, or as a share of it. */
static enum sm_status read_size(struct sm_reader *reader, const struct sm_json *json, const char *place,
                                const struct sm_tolerance *t, double *size)
{
    double given = 0.0;
    char text[SM_DOUBLE_TEXT], middle[SM_PARAM_TEXT], least[SM_PARAM_TEXT], most[SM_PARAM_TEXT];
    SM_TRY(is_per_cent(sm_json_string(json)) ? read_share(reader, json, place, t, &given)
                                             : read_absolute(reader, json, place, t, &given));
    if (!(given > 0.0))
        return sm_read_problem(reader, place, SM_E_RANGE, "a spread must be above 0, not %.40s",
                               as_written(text, json));
    if ((t->least != 0.0 || t->most != 0.0) && (t->middle - given < t->least || t->middle + given > t->most))
        return sm_read_problem(reader, place, SM_E_RANGE,
                               "a spread of %.40s about %s leaves what the value may be, %s to %s",
                               as_written(text, json), sm_param_text(middle, t->dim, t->middle),
                               sm_param_text(least, t->dim, t->least), sm_param_text(most, t->dim, t->most));
    *size = given;
    return SM_OK;
}

/* Finds the value that "of" points to. */
static enum sm_status read_target(const struct list *l, const struct sm_json *entry, const char *pointer,
                                  struct sm_tolerance *t)
{
    char place[SM_POINTER_MAX], target[SM_POINTER_MAX];
    const char *text = NULL;
    const struct sm_param *row;
    struct sm_error err = {0};
    sm_text_format(place, sizeof place, "%s/of", pointer);
    if (!sm_json_get(entry, "of"))
        return sm_read_problem(l->reader, place, SM_E_FIELD,
                               "\"of\" is missing: the value that strays, as \"/nozzle/throat_diameter\"");
    SM_TRY(sm_read_text(l->reader, sm_json_get(entry, "of"), place, &text));
    enum sm_status status = sm_pointer_from_text(text, target, &err);
    if (status == SM_OK)
        status = l->look(l->owner, target, &t->middle, &row, &err);
    if (status == SM_OK && row->kind != SM_QUANTITY)
        status = sm_fail(&err, SM_E_FIELD, "'%.120s' is a whole number, and those don't stray", text);
    if (status == SM_OK && isnan(t->middle))
        status = sm_fail(&err, SM_E_FIELD,
                         "the file does not give '%.120s', so it can't stray: give its value as well", text);
    if (status != SM_OK)
        return sm_read_problem(l->reader, place, status, "%s", err.message);
    const size_t size = strlen(l->prefix) + strlen(target) + 1;
    char *of = sm_arena_alloc(l->reader->arena, size, 1);
    if (!of)
        return sm_read_problem(l->reader, place, SM_E_NOMEM, "out of memory");
    sm_text_format(of, size, "%s%s", l->prefix, target);
    t->of = of;
    t->dim = row->dim;
    t->least = row->min;
    t->most = row->max;
    return SM_OK;
}

static enum sm_status read_truncated(struct sm_reader *reader, const struct sm_json *entry,
                                     const char *pointer, struct sm_tolerance *t)
{
    char place[SM_POINTER_MAX];
    const struct sm_json *value = sm_json_get(entry, "truncated");
    t->truncated = SM_ABSENT;
    if (!value)
        return SM_OK;
    sm_text_format(place, sizeof place, "%s/truncated", pointer);
    if (t->law != SM_LAW_NORMAL)
        return sm_read_problem(reader, place, SM_E_FIELD,
                               "only a \"normal\" spread can be truncated; \"%s\" "
                               "has ends of its own",
                               sm_tolerance_laws[t->law]);
    return read_size(reader, value, place, t, &t->truncated);
}

static enum sm_status read_batch(struct sm_reader *reader, const struct sm_json *entry, const char *pointer,
                                 struct sm_tolerance *t)
{
    char place[SM_POINTER_MAX];
    const struct sm_json *value = sm_json_get(entry, "batch");
    if (!value)
        return SM_OK;
    sm_text_format(place, sizeof place, "%s/batch", pointer);
    if (!sm_json_is(value, SM_JSON_BOOL))
        return sm_read_problem(reader, place, SM_E_SYNTAX, "\"batch\" must be true or false, not %s",
                               sm_json_type_name(sm_json_type(value)));
    t->is_batch = sm_json_bool(value);
    return SM_OK;
}

static enum sm_status read_entry(const struct list *l, const struct sm_json *entry, const char *pointer,
                                 struct sm_tolerance *t)
{
    char place[SM_POINTER_MAX];
    struct sm_reader *reader = l->reader;
    if (!sm_json_is(entry, SM_JSON_OBJECT))
        return sm_read_problem(reader, pointer, SM_E_SYNTAX, "a tolerance must be an object, not %s",
                               sm_json_type_name(sm_json_type(entry)));
    SM_TRY(check_keys(reader, entry, pointer));
    SM_TRY(read_target(l, entry, pointer, t));
    const struct sm_json *size = find_law(reader, entry, pointer, &t->law);
    if (!size)
        return SM_E_FIELD;
    sm_text_format(place, sizeof place, "%s/%s", pointer, sm_tolerance_laws[t->law]);
    SM_TRY(read_size(reader, size, place, t, &t->size));
    SM_TRY(read_truncated(reader, entry, pointer, t));
    return read_batch(reader, entry, pointer, t);
}

/* ---- the list ---- */

/* No value may stray twice. */
static enum sm_status check_single(struct sm_reader *reader, const struct sm_tolerance *items, size_t i,
                                   const char *pointer)
{
    char place[SM_POINTER_MAX];
    for (size_t k = 0; k < i; k++)
        if (items[k].of && strcmp(items[k].of, items[i].of) == 0) {
            sm_text_format(place, sizeof place, "%s/of", pointer);
            return sm_read_problem(reader, place, SM_E_FIELD, "'%.120s' has a tolerance already",
                                   items[i].of);
        }
    return SM_OK;
}

enum sm_status sm_read_tolerances(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                                  const char *prefix, sm_tolerance_look *look, const void *owner,
                                  struct sm_list *list)
{
    char place[SM_POINTER_MAX];
    const struct list l = {reader, prefix, look, owner};
    const struct sm_json *array = sm_json_get(object, "tolerances");
    *list = (struct sm_list){0};
    if (!array)
        return SM_OK;
    sm_text_format(place, sizeof place, "%s/tolerances", pointer);
    if (!sm_json_is(array, SM_JSON_ARRAY))
        return sm_read_problem(reader, place, SM_E_SYNTAX, "\"tolerances\" must be a list, not %s",
                               sm_json_type_name(sm_json_type(array)));
    const size_t n = sm_json_count(array);
    if (n < 1 || n > SM_MAX_TOLERANCES)
        return sm_read_problem(reader, place, SM_E_RANGE,
                               "\"tolerances\" has %zu entries; 1 to %d are allowed", n,
                               (int)SM_MAX_TOLERANCES);
    struct sm_tolerance *items = sm_arena_alloc(reader->arena, n, sizeof *items);
    if (!items)
        return sm_read_problem(reader, place, SM_E_NOMEM, "out of memory");
    enum sm_status first = SM_OK;
    size_t i = 0;
    for (const struct sm_json *entry = sm_json_first(array); entry; entry = sm_json_next(entry), i++) {
        sm_text_format(place, sizeof place, "%s/tolerances/%zu", pointer, i);
        enum sm_status status = read_entry(&l, entry, place, &items[i]);
        if (status == SM_OK)
            status = check_single(reader, items, i, place);
        first = first != SM_OK ? first : status;
    }
    *list = (struct sm_list){items, n};
    return first;
}

/* ---- schema ---- */

/* A number, or a string that ends in a unit or in per cent. */
static void write_size(struct sm_json_writer *w, const void *user)
{
    sm_schema_number_or_quantity(w, user, "2 %");
}

static void write_entry(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"of", true, sm_schema_text, "JSON pointer to the value; burn_rate stands for all rates of the law"},
        {"normal", false, write_size, "standard deviation, in the value's unit or per cent of it"},
        {"uniform", false, write_size, "half-width, in place of normal"},
        {"triangular", false, write_size, "half-width, in place of normal"},
        {"truncated", false, write_size, "with normal: no further from the value than this"},
        {"batch", false, sm_schema_flag, "motors of one batch share it; false if not given"},
    };
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

void sm_schema_tolerances(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"tolerance", true, write_entry, NULL};
    (void)user;
    sm_schema_array(w, "How far values stray.", 1, SM_MAX_TOLERANCES, &item);
}
