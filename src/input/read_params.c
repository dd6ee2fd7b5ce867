#include "input/read_params.h"
#include "base/pointer.h"
#include "base/suggest.h"
#include "base/text.h"
#include "slowmatch/limits.h"
#include "units/quantity.h"
#include "units/units.h"

#include <limits.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

/* The way from the root to a value, one step a level, kept on the stack of the calls. */
struct step {
    const struct step *up; /* NULL at the object that the caller named */
    const char *pointer;   /* of that object */
    const char *name;      /* of a member, else index counts */
    size_t index;
};

/* Where one reading stands. first is the status of the first problem. */
struct reading {
    struct sm_reader *reader;
    enum sm_status first;
};

static const char *const allowed_everywhere[] = {"$schema", "note", NULL};

/* ---- problems ---- */

static void put_pointer(struct sm_error *err, const struct step *at)
{
    for (; at->up; at = at->up) {
        char name[2 * SM_TOKEN_MAX];
        if (at->name)
            sm_at(err, err->status, "/%s", sm_pointer_escape(at->name, name, sizeof name));
        else
            sm_at(err, err->status, "/%zu", at->index);
    }
    sm_at(err, err->status, "%s", at->pointer);
}

static void note(struct reading *r, enum sm_status status, struct sm_error *err, const struct step *at)
{
    put_pointer(err, at);
    sm_diag_add(r->reader->diag, err);
    if (r->first == SM_OK)
        r->first = status;
}

/* Adds a problem of the value at a step. */
#define PROBLEM(r, at, status, ...)                                                                          \
    do {                                                                                                     \
        struct sm_error problem = {0};                                                                       \
        note(r, sm_fail(&problem, status, __VA_ARGS__), &problem, at);                                       \
    } while (0)

static void problem_no_memory(struct reading *r, const struct step *at)
{
    PROBLEM(r, at, SM_E_NOMEM, "out of memory");
}

/* ---- single values ---- */

/* What a value is and, for a number or text, what it says, for messages. */
static const char *describe(const struct sm_json *value, char buf[64])
{
    if (sm_json_is(value, SM_JSON_NUMBER))
        sm_text_format(buf, 64, "the number %.9g", sm_json_number(value));
    else if (sm_json_is(value, SM_JSON_STRING))
        sm_text_format(buf, 64, "the string \"%.40s\"", sm_json_string(value));
    else
        sm_text_format(buf, 64, "%s", sm_json_type_name(sm_json_type(value)));
    return buf;
}

static bool read_number(struct reading *r, const struct sm_json *value, const char *name,
                        const struct step *at, double *number)
{
    char found[64];
    if (sm_json_is(value, SM_JSON_NUMBER)) {
        *number = sm_json_number(value);
        return true;
    }
    if (sm_json_is(value, SM_JSON_STRING))
        PROBLEM(r, at, SM_E_UNIT,
                "%s has no unit: write a bare number, without quotes, in place of \"%.40s\"", name,
                sm_json_string(value));
    else
        PROBLEM(r, at, SM_E_SYNTAX, "%s must be a number, not %s", name, describe(value, found));
    return false;
}

static bool read_dimensional(struct reading *r, const struct sm_json *value, const char *name,
                             enum sm_dim dim, const struct step *at, double *si)
{
    char found[64];
    if (sm_json_is(value, SM_JSON_STRING)) {
        struct sm_error err = {0};
        const enum sm_status status = sm_units_parse(r->reader->units, sm_json_string(value), dim, si, &err);
        if (status != SM_OK)
            note(r, status, &err, at);
        return status == SM_OK;
    }
    if (sm_json_is(value, SM_JSON_NUMBER))
        PROBLEM(r, at, SM_E_UNIT, "%s needs a unit of %s: write a string such as \"%.9g%s\" in place of %.9g",
                name, sm_dim_name(dim), sm_json_number(value), strchr(sm_dim_example(dim), ' '),
                sm_json_number(value));
    else
        PROBLEM(r, at, SM_E_SYNTAX, "%s must be a string with a unit, such as \"%s\", not %s", name,
                sm_dim_example(dim), describe(value, found));
    return false;
}

static bool read_number_of(struct reading *r, const struct sm_json *value, const char *name, enum sm_dim dim,
                           const struct step *at, double *si)
{
    return dim == SM_DIM_NONE ? read_number(r, value, name, at, si)
                              : read_dimensional(r, value, name, dim, at, si);
}

static bool in_bounds(struct reading *r, const struct sm_param *row, double value, const struct step *at)
{
    struct sm_error err = {0};
    const enum sm_status status = sm_param_in_bounds(row, value, &err);
    if (status != SM_OK)
        note(r, status, &err, at);
    return status == SM_OK;
}

/* Says a value out of bounds in the words of the file, and the bounds in the unit that stands there. */
static void say_out_of_bounds(struct reading *r, const struct sm_param *row, double si, const char *text,
                              const struct step *at)
{
    char unit[SM_UNIT_TEXT];
    double number, low = SM_NAN, high = SM_NAN;
    struct sm_units *units = r->reader->units;
    if (sm_quantity_split(text, row->dim, &number, unit, NULL) != SM_OK ||
        sm_units_to(units, row->min, row->dim, unit, &low, NULL) != SM_OK ||
        sm_units_to(units, row->max, row->dim, unit, &high, NULL) != SM_OK)
        in_bounds(r, row, si, at); /* in a usual unit, then */
    else if (!isfinite(row->max))
        PROBLEM(r, at, SM_E_RANGE, "%s is %.40s; it must be at least %.6g %s", row->name, text, low, unit);
    else if (!isfinite(row->min))
        PROBLEM(r, at, SM_E_RANGE, "%s is %.40s; it must be at most %.6g %s", row->name, text, high, unit);
    else
        PROBLEM(r, at, SM_E_RANGE, "%s is %.40s; it must be from %.6g %s to %.6g %s", row->name, text, low,
                unit, high, unit);
}

/* A value in the unit of one of two dimensions: the row that it is read by, NULL with a problem noted if it is of neither. */
static const struct sm_param *read_either(struct reading *r, const struct sm_json *value,
                                          const struct sm_param *row, const struct step *at, double *si)
{
    const struct sm_param *const rows[] = {row, row->alternative};
    const enum sm_dim one = row->dim, other = row->alternative->dim;
    char found[64];
    for (size_t i = 0; i < SM_COUNT(rows) && sm_json_is(value, SM_JSON_STRING); i++) {
        struct sm_error err = {0};
        const enum sm_status status =
            sm_units_parse(r->reader->units, sm_json_string(value), rows[i]->dim, si, &err);
        if (status == SM_OK)
            return rows[i];
        if (status == SM_E_UNIT)
            continue;
        note(r, status, &err, at); /* of the right dimension, and wrong otherwise */
        return NULL;
    }
    PROBLEM(r, at,
            sm_json_is(value, SM_JSON_STRING) || sm_json_is(value, SM_JSON_NUMBER) ? SM_E_UNIT : SM_E_SYNTAX,
            "%s must be a string with a unit of %s or of %s, such as \"%s\" or \"%s\", not %s", row->name,
            sm_dim_name(one), sm_dim_name(other), sm_dim_example(one), sm_dim_example(other),
            describe(value, found));
    return NULL;
}

static void read_row_quantity(struct reading *r, const struct sm_json *value, const struct sm_param *row,
                              void *to, const struct step *at)
{
    double si = 0.0;
    if (row->alternative) {
        const struct sm_param *meant = read_either(r, value, row, at, &si);
        if (!meant)
            return;
        to = (char *)to - row->offset + meant->offset;
        row = meant;
    } else if (!read_number_of(r, value, row->name, row->dim, at, &si))
        return;
    if (row->dim != SM_DIM_NONE && sm_param_in_bounds(row, si, NULL) != SM_OK)
        say_out_of_bounds(r, row, si, sm_json_string(value), at);
    else if (in_bounds(r, row, si, at))
        *(double *)to = si;
}

static void read_row_whole(struct reading *r, const struct sm_json *value, const struct sm_param *row,
                           void *to, const struct step *at)
{
    double number = 0.0;
    if (!read_number(r, value, row->name, at, &number))
        return;
    if (number != floor(number) || fabs(number) > INT_MAX) {
        PROBLEM(r, at, SM_E_RANGE, "%s is %.9g; it must be a whole number", row->name, number);
        return;
    }
    if (in_bounds(r, row, number, at))
        *(int *)to = (int)number;
}

static void read_row_flag(struct reading *r, const struct sm_json *value, const struct sm_param *row,
                          void *to, const struct step *at)
{
    char found[64];
    if (sm_json_is(value, SM_JSON_BOOL))
        *(bool *)to = sm_json_bool(value);
    else
        PROBLEM(r, at, SM_E_SYNTAX, "%s must be true or false, not %s", row->name, describe(value, found));
}

/* "a, b, c" cut to fit. */
static const char *list_words(const char *const *words, char *buf, size_t size)
{
    size_t n = 0;
    buf[0] = '\0';
    for (size_t i = 0; words[i]; i++) {
        const size_t need = strlen(words[i]) + 2;
        if (n + need + sizeof ", ..." > size)
            return strcat(buf, ", ...");
        n += (size_t)sm_text_format(buf + n, size - n, "%s%s", i > 0 ? ", " : "", words[i]);
    }
    return buf;
}

/* Place of a word, -1 with a problem noted if there is none. */
static int read_word(struct reading *r, const struct sm_json *value, const char *name,
                     const char *const *words, const struct step *at)
{
    char known[160], found[64], hint[SM_SUGGEST_TEXT];
    if (!sm_json_is(value, SM_JSON_STRING)) {
        PROBLEM(r, at, SM_E_SYNTAX, "%s must be one of %s, not %s", name,
                list_words(words, known, sizeof known - 32), describe(value, found));
        return -1;
    }
    const char *word = sm_json_string(value);
    for (int i = 0; words[i]; i++)
        if (strcmp(words[i], word) == 0)
            return i;
    sm_suggest_text(hint, sm_suggest_from(word, words));
    PROBLEM(r, at, SM_E_RANGE, "%s can't be '%.40s'%s one of %s", name, word,
            hint[0] ? strcat(hint, " It is") : "; it is", list_words(words, known, sizeof known - 32));
    return -1;
}

static void read_row_choices(struct reading *r, const struct sm_json *value, const struct sm_param *row,
                             void *to, const struct step *at)
{
    char found[64], known[128];
    if (!sm_json_is(value, SM_JSON_ARRAY)) {
        PROBLEM(r, at, SM_E_SYNTAX, "%s must be an array of words (%s), not %s", row->name,
                list_words(row->words, known, sizeof known), describe(value, found));
        return;
    }
    unsigned bits = 0;
    size_t i = 0;
    for (const struct sm_json *item = sm_json_first(value); item; item = sm_json_next(item), i++) {
        const struct step here = {.up = at, .index = i};
        const int place = read_word(r, item, row->name, row->words, &here);
        if (place < 0)
            return;
        if (bits & 1u << place) {
            PROBLEM(r, &here, SM_E_RANGE, "%s names '%.40s' twice", row->name, row->words[place]);
            return;
        }
        bits |= 1u << place;
    }
    *(unsigned *)to = bits;
}

static bool read_string(struct reading *r, const struct sm_json *value, const char *name,
                        const struct step *at, const char **text)
{
    char found[64];
    if (!sm_json_is(value, SM_JSON_STRING)) {
        PROBLEM(r, at, SM_E_SYNTAX, "%s must be a string, not %s", name, describe(value, found));
        return false;
    }
    const size_t n = strlen(sm_json_string(value));
    if (n > SM_MAX_TEXT) {
        PROBLEM(r, at, SM_E_RANGE, "%s has %zu bytes; the limit is %d", name, n, SM_MAX_TEXT);
        return false;
    }
    const char *copy = sm_arena_strndup(r->reader->arena, sm_json_string(value), n);
    if (copy)
        *text = copy;
    else
        problem_no_memory(r, at);
    return copy;
}

/* ---- rows ---- */

static void default_value(const struct sm_param *row, void *to)
{
    const bool given = isfinite(row->fallback);
    switch (row->kind) {
    case SM_QUANTITY:
        *(double *)to = given ? row->fallback : SM_ABSENT;
        if (row->alternative)
            default_value(row->alternative, (char *)to - row->offset + row->alternative->offset);
        break;
    case SM_WHOLE:
        *(int *)to = given ? (int)row->fallback : 0;
        break;
    case SM_FLAG:
        *(bool *)to = given && row->fallback > 0.0;
        break;
    case SM_CHOICE:
        *(int *)to = given ? (int)row->fallback : -1;
        break;
    case SM_CHOICES:
        *(unsigned *)to = given ? (unsigned)row->fallback : SM_CHOICES_ABSENT;
        break;
    case SM_TEXT:
        *(const char **)to = NULL;
        break;
    case SM_LIST:
        *(struct sm_list *)to = (struct sm_list){0};
        break;
    case SM_RECORD:
        sm_params_default(row->rows, row->n_rows, to);
        break;
    }
}

void sm_params_default(const struct sm_param *rows, size_t n_rows, void *block)
{
    for (size_t i = 0; i < n_rows; i++)
        default_value(&rows[i], (char *)block + rows[i].offset);
}

static void read_object(struct reading *r, const struct sm_json *object, const struct step *at,
                        const struct sm_param_table *tables, size_t n_tables, const char *const *handled);

static bool length_in_bounds(struct reading *r, const struct sm_param *row, size_t n, const struct step *at)
{
    if ((row->min == 0.0 && row->max == 0.0) || ((double)n >= row->min && (double)n <= row->max))
        return true;
    if (isfinite(row->max))
        PROBLEM(r, at, SM_E_RANGE, "%s has %zu entries; it must have from %.9g to %.9g", row->name, n,
                row->min, row->max);
    else
        PROBLEM(r, at, SM_E_RANGE, "%s has %zu entries; it must have at least %.9g", row->name, n, row->min);
    return false;
}

static void read_row_list(struct reading *r, const struct sm_json *value, const struct sm_param *row,
                          void *to, const struct step *at)
{
    char found[64];
    if (!sm_json_is(value, SM_JSON_ARRAY)) {
        PROBLEM(r, at, SM_E_SYNTAX, "%s must be an array of objects, not %s", row->name,
                describe(value, found));
        return;
    }
    const size_t n = sm_json_count(value);
    if (!length_in_bounds(r, row, n, at))
        return;
    char *items = sm_arena_alloc(r->reader->arena, n, row->row_size);
    if (!items) {
        problem_no_memory(r, at);
        return;
    }
    size_t i = 0;
    for (const struct sm_json *item = sm_json_first(value); item; item = sm_json_next(item), i++) {
        const struct step here = {.up = at, .index = i};
        const struct sm_param_table table = {row->rows, row->n_rows, items + i * row->row_size};
        read_object(r, item, &here, &table, 1, NULL);
    }
    *(struct sm_list *)to = (struct sm_list){items, n};
}

static void read_row_record(struct reading *r, const struct sm_json *value, const struct sm_param *row,
                            void *to, const struct step *at)
{
    const struct sm_param_table table = {row->rows, row->n_rows, to};
    read_object(r, value, at, &table, 1, NULL);
}

static void read_row(struct reading *r, const struct sm_json *value, const struct sm_param *row, void *to,
                     const struct step *at)
{
    int place;
    switch (row->kind) {
    case SM_QUANTITY:
        read_row_quantity(r, value, row, to, at);
        break;
    case SM_WHOLE:
        read_row_whole(r, value, row, to, at);
        break;
    case SM_FLAG:
        read_row_flag(r, value, row, to, at);
        break;
    case SM_CHOICE:
        place = read_word(r, value, row->name, row->words, at);
        *(int *)to = place >= 0 ? place : *(int *)to;
        break;
    case SM_CHOICES:
        read_row_choices(r, value, row, to, at);
        break;
    case SM_TEXT:
        read_string(r, value, row->name, at, (const char **)to);
        break;
    case SM_LIST:
        read_row_list(r, value, row, to, at);
        break;
    case SM_RECORD:
        read_row_record(r, value, row, to, at);
        break;
    }
}

static bool is_required(const struct sm_param *row)
{
    return isinf(row->fallback);
}

static void missing(struct reading *r, const struct sm_param *row, const struct step *at)
{
    char known[128];
    if (row->kind == SM_QUANTITY && row->dim != SM_DIM_NONE)
        PROBLEM(r, at, SM_E_FIELD, "%s is missing: write \"%s\": \"%s\"%s%.90s%s", row->name, row->name,
                sm_dim_example(row->dim), row->help ? " (" : "", row->help ? row->help : "",
                row->help ? ")" : "");
    else if (row->kind == SM_CHOICE)
        PROBLEM(r, at, SM_E_FIELD, "%s is missing; it is one of %s", row->name,
                list_words(row->words, known, sizeof known));
    else
        PROBLEM(r, at, SM_E_FIELD, "%s is missing (%.120s)", row->name, row->help ? row->help : "required");
}

/* ---- objects ---- */

static bool is_listed(const char *key, const char *const *names)
{
    for (size_t i = 0; names && names[i]; i++)
        if (strcmp(names[i], key) == 0)
            return true;
    return false;
}

static const struct sm_param *row_called(const char *key, const struct sm_param_table *tables,
                                         size_t n_tables)
{
    for (size_t t = 0; t < n_tables; t++)
        for (size_t i = 0; i < tables[t].n_rows; i++)
            if (strcmp(tables[t].rows[i].name, key) == 0)
                return &tables[t].rows[i];
    return NULL;
}

/* The known name that an unknown key comes nearest to; NULL if none is near. */
static const char *nearest_key(const char *key, const struct sm_param_table *tables, size_t n_tables,
                               const char *const *handled)
{
    struct sm_suggest suggest = {.word = key};
    for (size_t t = 0; t < n_tables; t++)
        for (size_t i = 0; i < tables[t].n_rows; i++)
            sm_suggest_offer(&suggest, tables[t].rows[i].name);
    for (size_t i = 0; handled && handled[i]; i++)
        sm_suggest_offer(&suggest, handled[i]);
    return suggest.best;
}

static bool is_unknown(const char *key, const struct sm_param_table *tables, size_t n_tables,
                       const char *const *handled)
{
    return !is_listed(key, allowed_everywhere) && !is_listed(key, handled) &&
           !row_called(key, tables, n_tables);
}

static void check_keys(struct reading *r, const struct sm_json *object, const struct step *at,
                       const struct sm_param_table *tables, size_t n_tables, const char *const *handled)
{
    for (const struct sm_json *item = sm_json_first(object); item; item = sm_json_next(item)) {
        const char *key = sm_json_key(item);
        const struct step here = {.up = at, .name = key};
        char hint[SM_SUGGEST_TEXT];
        if (is_unknown(key, tables, n_tables, handled))
            PROBLEM(r, &here, SM_E_FIELD, "unknown key '%.80s'%s", key,
                    sm_suggest_text(hint, nearest_key(key, tables, n_tables, handled)));
    }
}

/* Was a name meant by an unknown key? It is then not missing as well. */
static bool is_misspelt(const char *name, const struct sm_json *object, const struct sm_param_table *tables,
                        size_t n_tables, const char *const *handled)
{
    for (const struct sm_json *item = sm_json_first(object); item; item = sm_json_next(item)) {
        const char *key = sm_json_key(item);
        const char *near =
            is_unknown(key, tables, n_tables, handled) ? nearest_key(key, tables, n_tables, handled) : NULL;
        if (near && strcmp(near, name) == 0)
            return true;
    }
    return false;
}

static void read_table(struct reading *r, const struct sm_json *object, const struct step *at,
                       const struct sm_param_table *tables, size_t n_tables, const char *const *handled,
                       size_t which)
{
    const struct sm_param_table *table = &tables[which];
    for (size_t i = 0; i < table->n_rows; i++) {
        const struct sm_param *row = &table->rows[i];
        const struct step here = {.up = at, .name = row->name};
        const struct sm_json *value = sm_json_get(object, row->name);
        if (value)
            read_row(r, value, row, (char *)table->block + row->offset, &here);
        else if (is_required(row) && !is_misspelt(row->name, object, tables, n_tables, handled))
            missing(r, row, &here);
    }
}

static void read_object(struct reading *r, const struct sm_json *object, const struct step *at,
                        const struct sm_param_table *tables, size_t n_tables, const char *const *handled)
{
    for (size_t t = 0; t < n_tables; t++)
        sm_params_default(tables[t].rows, tables[t].n_rows, tables[t].block);
    if (!sm_json_is(object, SM_JSON_OBJECT)) {
        char found[64];
        PROBLEM(r, at, SM_E_SYNTAX, "an object is needed here, not %s", describe(object, found));
        return;
    }
    check_keys(r, object, at, tables, n_tables, handled);
    for (size_t t = 0; t < n_tables; t++)
        read_table(r, object, at, tables, n_tables, handled, t);
}

/* ---- calls ---- */

enum sm_status sm_read_params(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                              const struct sm_param_table *tables, size_t n_tables,
                              const char *const *handled)
{
    struct reading r = {.reader = reader};
    const struct step at = {.pointer = pointer};
    read_object(&r, object, &at, tables, n_tables, handled);
    return r.first;
}

enum sm_status sm_read_problem(struct sm_reader *reader, const char *pointer, enum sm_status status,
                               const char *fmt, ...)
{
    struct sm_error err = {0};
    char message[sizeof err.message];
    va_list args;
    va_start(args, fmt);
    sm_text_vformat(message, sizeof message, fmt, args);
    va_end(args);
    sm_fail(&err, status, "%s", message);
    sm_at(&err, status, "%s", pointer);
    sm_diag_add(reader->diag, &err);
    return status;
}

/* The last token of a pointer, as the name of a value in messages. */
static const char *last_name(const char *pointer, char name[SM_TOKEN_MAX])
{
    strcpy(name, "this value");
    for (const char *rest = pointer; rest && *rest;)
        rest = sm_pointer_token(rest, name);
    return name;
}

enum sm_status sm_read_quantity(struct sm_reader *reader, const struct sm_json *value, const char *pointer,
                                enum sm_dim dim, double *si)
{
    struct reading r = {.reader = reader};
    const struct step at = {.pointer = pointer};
    char name[SM_TOKEN_MAX];
    read_number_of(&r, value, last_name(pointer, name), dim, &at, si);
    return r.first;
}

enum sm_status sm_read_text(struct sm_reader *reader, const struct sm_json *value, const char *pointer,
                            const char **text)
{
    struct reading r = {.reader = reader};
    const struct step at = {.pointer = pointer};
    char name[SM_TOKEN_MAX];
    read_string(&r, value, last_name(pointer, name), &at, text);
    return r.first;
}

enum sm_status sm_read_choice(struct sm_reader *reader, const struct sm_json *value, const char *pointer,
                              const char *const *words, int *place)
{
    struct reading r = {.reader = reader};
    const struct step at = {.pointer = pointer};
    char name[SM_TOKEN_MAX];
    const int found = read_word(&r, value, last_name(pointer, name), words, &at);
    if (found >= 0)
        *place = found;
    return r.first;
}
