#include "input/read_request.h"

#include <math.h>
#include <string.h>

#include "base/pointer.h"
#include "base/suggest.h"
#include "base/text.h"
#include "input/read_propellant.h"
#include "input/schema.h"
#include "motor/vary.h"

static const char *const free_keys[] = {"of", "from", "to", "tied", NULL};
static const char *const tied_keys[] = {"of", "factor", "plus", NULL};

/* One object that is read by hand. */
struct entry {
    struct sm_reader *reader;
    const struct sm_json *object;
    const char *pointer;
    const struct sm_motor *motor;
};

static const char *put_place(char place[SM_POINTER_MAX], const struct entry *e, const char *key)
{
    sm_text_format(place, SM_POINTER_MAX, "%s/%s", e->pointer, key);
    return place;
}

static enum sm_status check_keys(const struct entry *e, const char *const *keys)
{
    enum sm_status first = SM_OK;
    if (!sm_json_is(e->object, SM_JSON_OBJECT))
        return sm_read_problem(e->reader, e->pointer, SM_E_SYNTAX, "it must be an object, not %s",
                               sm_json_type_name(sm_json_type(e->object)));
    for (const struct sm_json *member = sm_json_first(e->object); member; member = sm_json_next(member)) {
        char place[SM_POINTER_MAX], escaped[SM_TOKEN_MAX], near[SM_SUGGEST_TEXT];
        const char *key = sm_json_key(member);
        int is_known = strcmp(key, "note") == 0 || strcmp(key, "$schema") == 0;
        for (size_t i = 0; keys[i]; i++)
            is_known = is_known || strcmp(key, keys[i]) == 0;
        if (is_known)
            continue;
        put_place(place, e, sm_pointer_escape(key, escaped, sizeof escaped));
        const enum sm_status status = sm_read_problem(e->reader, place, SM_E_FIELD, "unknown key '%.60s'%s",
                                                      key, sm_suggest_text(near, sm_suggest_from(key, keys)));
        first = first != SM_OK ? first : status;
    }
    return first;
}

/* The value of the motor that "of" points to. */
static enum sm_status read_of(const struct entry *e, const char **of, double *value,
                              const struct sm_param **row)
{
    char place[SM_POINTER_MAX], pointer[SM_POINTER_MAX];
    const char *text = NULL;
    struct sm_error err = {0};
    put_place(place, e, "of");
    if (!sm_json_get(e->object, "of"))
        return sm_read_problem(e->reader, place, SM_E_FIELD,
                               "\"of\" is missing: a value of the motor, as \"/nozzle/throat_diameter\"");
    SM_TRY(sm_read_text(e->reader, sm_json_get(e->object, "of"), place, &text));
    enum sm_status status = sm_pointer_from_text(text, pointer, &err);
    if (status == SM_OK && strcmp(pointer, SM_VARY_RATES) == 0)
        status = sm_fail(&err, SM_E_FIELD, "'%.60s' is a list; one rate of it is named as '%.60s/0/rate'",
                         pointer, pointer);
    if (status == SM_OK)
        status = sm_motor_value(e->motor, pointer, value, row, &err);
    if (status == SM_OK && isnan(*value))
        status =
            sm_fail(&err, SM_E_FIELD, "the motor does not give '%.120s'; give it one to start from", text);
    if (status != SM_OK)
        return sm_read_problem(e->reader, place, status, "%s", err.message);
    *of = sm_arena_strdup(e->reader->arena, pointer);
    return *of ? SM_OK : sm_read_problem(e->reader, place, SM_E_NOMEM, "out of memory");
}

/* A number of a row's kind: with its unit, or bare if it has none. */
static enum sm_status read_number(const struct entry *e, const char *key, const struct sm_param *row,
                                  double *value)
{
    char place[SM_POINTER_MAX];
    const struct sm_json *json = sm_json_get(e->object, key);
    put_place(place, e, key);
    if (!json)
        return sm_read_problem(e->reader, place, SM_E_FIELD, "\"%s\" is missing", key);
    if (row->kind == SM_QUANTITY && row->dim != SM_DIM_NONE)
        return sm_read_quantity(e->reader, json, place, row->dim, value);
    if (!sm_json_is(json, SM_JSON_NUMBER))
        return sm_read_problem(e->reader, place, SM_E_SYNTAX, "it must be a bare number, not %s",
                               sm_json_type_name(sm_json_type(json)));
    *value = sm_json_number(json);
    if (row->kind == SM_WHOLE && *value != floor(*value))
        return sm_read_problem(e->reader, place, SM_E_RANGE, "%.6g is no whole number", *value);
    return SM_OK;
}

/* A bound of a free value: within what the motor's row allows. */
static enum sm_status read_bound(const struct entry *e, const char *key, const struct sm_param *row,
                                 double *value)
{
    char place[SM_POINTER_MAX];
    struct sm_error err = {0};
    SM_TRY(read_number(e, key, row, value));
    if (sm_param_in_bounds(row, *value, &err) == SM_OK)
        return SM_OK;
    return sm_read_problem(e->reader, put_place(place, e, key), err.status, "%s", err.message);
}

static enum sm_status read_tied_one(const struct entry *e, enum sm_dim dim, struct sm_tied *tied)
{
    const struct sm_param *row;
    const struct sm_param number = {.kind = SM_QUANTITY, .dim = SM_DIM_NONE};
    char place[SM_POINTER_MAX];
    double value;
    SM_TRY(check_keys(e, tied_keys));
    SM_TRY(read_of(e, &tied->of, &value, &row));
    tied->factor = 1.0;
    if (row->kind != SM_QUANTITY || row->dim != dim)
        return sm_read_problem(e->reader, put_place(place, e, "of"), SM_E_UNIT,
                               "what is tied to %s must be %s too", sm_dim_name(dim), sm_dim_name(dim));
    if (sm_json_get(e->object, "factor"))
        SM_TRY(read_number(e, "factor", &number, &tied->factor));
    if (sm_json_get(e->object, "plus"))
        SM_TRY(read_number(e, "plus", row, &tied->plus));
    return SM_OK;
}

static enum sm_status read_tied(const struct entry *e, struct sm_free_value *v)
{
    char place[SM_POINTER_MAX];
    const struct sm_json *list = sm_json_get(e->object, "tied");
    put_place(place, e, "tied");
    if (!list)
        return SM_OK;
    if (!sm_json_is(list, SM_JSON_ARRAY) || sm_json_count(list) < 1 || sm_json_count(list) > SM_MAX_TIED)
        return sm_read_problem(e->reader, place, SM_E_SYNTAX, "it must be a list of 1 to %d objects",
                               (int)SM_MAX_TIED);
    if (v->is_whole)
        return sm_read_problem(e->reader, place, SM_E_FIELD, "nothing can be tied to a whole number");
    for (const struct sm_json *item = sm_json_first(list); item; item = sm_json_next(item)) {
        char pointer[SM_POINTER_MAX];
        sm_text_format(pointer, sizeof pointer, "%s/%zu", place, v->n_tied);
        const struct entry tied = {e->reader, item, pointer, e->motor};
        SM_TRY(read_tied_one(&tied, v->dim, &v->tied[v->n_tied]));
        v->n_tied++;
    }
    return SM_OK;
}

static enum sm_status read_one(const struct entry *e, struct sm_free_value *v)
{
    const struct sm_param *row;
    char place[SM_POINTER_MAX];
    double value;
    SM_TRY(check_keys(e, free_keys));
    SM_TRY(read_of(e, &v->of, &value, &row));
    v->is_whole = row->kind == SM_WHOLE;
    v->dim = v->is_whole ? SM_DIM_NONE : row->dim;
    SM_TRY(read_bound(e, "from", row, &v->from));
    SM_TRY(read_bound(e, "to", row, &v->to));
    if (!(v->from < v->to)) {
        char from[SM_MEASURE_TEXT], to[SM_MEASURE_TEXT];
        return sm_read_problem(e->reader, put_place(place, e, "to"), SM_E_RANGE,
                               "%s is not above \"from\", %s; the other way round?",
                               sm_measure_text(to, v->dim, v->to, 6),
                               sm_measure_text(from, v->dim, v->from, 6));
    }
    return read_tied(e, v);
}

/* No value twice, be it free or tied. */
static enum sm_status check_single(struct sm_reader *reader, const struct sm_request_spec *spec)
{
    const char *seen[SM_OPTIM_VARIABLES * (1 + SM_MAX_TIED)];
    size_t n = 0;
    for (size_t i = 0; i < spec->n_free; i++)
        for (size_t k = 0; k <= spec->free[i].n_tied; k++) {
            const char *of = k == 0 ? spec->free[i].of : spec->free[i].tied[k - 1].of;
            char place[SM_POINTER_MAX];
            if (k == 0)
                sm_text_format(place, sizeof place, "/free/%zu/of", i);
            else
                sm_text_format(place, sizeof place, "/free/%zu/tied/%zu/of", i, k - 1);
            for (size_t j = 0; j < n; j++)
                if (strcmp(seen[j], of) == 0)
                    return sm_read_problem(reader, place, SM_E_FIELD, "'%.120s' is free or tied already", of);
            seen[n++] = of;
        }
    return SM_OK;
}

enum sm_status sm_read_free(struct sm_reader *reader, const struct sm_json *root,
                            const struct sm_motor *motor, struct sm_request_spec *spec)
{
    const struct sm_json *list = sm_json_get(root, "free");
    const size_t n = sm_json_count(list);
    enum sm_status first = SM_OK;
    if (motor->spec.is_curve)
        return sm_read_problem(reader, "/motor", SM_E_FIELD,
                               "a motor given by its curve has no grain to size; name one with grains");
    if (!list || (sm_json_is(list, SM_JSON_ARRAY) && n == 0))
        return sm_read_problem(
            reader, "/free", SM_E_FIELD,
            "no value is free: list those that may change, as {\"of\": \"/grains/0/length\", "
            "\"from\": \"60 mm\", \"to\": \"120 mm\"}");
    if (!sm_json_is(list, SM_JSON_ARRAY) || n > SM_OPTIM_VARIABLES)
        return sm_read_problem(reader, "/free", SM_E_SYNTAX, "it must be a list of 1 to %d objects",
                               (int)SM_OPTIM_VARIABLES);
    spec->free = sm_arena_alloc(reader->arena, n, sizeof *spec->free);
    if (!spec->free)
        return sm_read_problem(reader, "/free", SM_E_NOMEM, "out of memory");
    for (const struct sm_json *item = sm_json_first(list); item; item = sm_json_next(item)) {
        char pointer[SM_POINTER_MAX];
        sm_text_format(pointer, sizeof pointer, "/free/%zu", spec->n_free);
        const struct entry e = {reader, item, pointer, motor};
        const enum sm_status status = read_one(&e, &spec->free[spec->n_free]);
        spec->n_free++;
        first = first != SM_OK ? first : status;
    }
    return first != SM_OK ? first : check_single(reader, spec);
}

enum sm_status sm_read_request(struct sm_reader *reader, const struct sm_json *root,
                               struct sm_request_spec *spec)
{
    static const char *const handled[] = {"format", "free", NULL};
    const struct sm_param_table table = {sm_request_params, sm_n_request_params, spec};
    const enum sm_status format = sm_read_format(reader, root, "", SM_REQUEST_FORMAT);
    struct sm_error err = {0};
    if (format != SM_OK && (!sm_json_is(root, SM_JSON_OBJECT) || sm_json_get(root, "format")))
        return format; /* something else altogether: its other faults would mislead */
    const enum sm_status status = sm_read_params(reader, root, "", &table, 1, handled);
    if (format != SM_OK || status != SM_OK)
        return format != SM_OK ? format : status;
    if (sm_request_check(spec, &err) == SM_OK)
        return SM_OK;
    sm_diag_add(reader->diag, &err);
    return err.status;
}

/* ---- schema ---- */

/* A number, or a string that ends in a unit. */
static void write_value(struct sm_json_writer *w, const void *user)
{
    sm_schema_number_or_quantity(w, user, "60 mm");
}

static void write_tied(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"of", true, sm_schema_text, "JSON pointer to a value of the motor of the same kind"},
        {"factor", false, sm_schema_number, "it is this times the free value, 1 if not given"},
        {"plus", false, write_value, "and this more, nothing if not given"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void write_tied_list(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"tied", true, write_tied, NULL};
    sm_schema_array(w, user, 1, SM_MAX_TIED, &item);
}

static void write_free(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"of", true, sm_schema_text, "JSON pointer to a value of the motor, a quantity or a whole number"},
        {"from", true, write_value, "least it may be"},
        {"to", true, write_value, "most it may be"},
        {"tied", false, write_tied_list, "values that follow it"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

void sm_schema_free(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"free", true, write_free, NULL};
    (void)user;
    sm_schema_array(w, "Values of the motor that may change.", 1, SM_OPTIM_VARIABLES, &item);
}
