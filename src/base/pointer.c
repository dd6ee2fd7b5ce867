#include "base/pointer.h"
#include "base/suggest.h"
#include "base/text.h"

#include <limits.h>
#include <math.h>
#include <string.h>

static bool escapes_are_valid(const char *pointer)
{
    for (const char *p = pointer; *p; p++)
        if (*p == '~' && p[1] != '0' && p[1] != '1')
            return false;
    return true;
}

/* Appends c, escaped if need be; false if there is no room. */
static bool put_escaped(char *out, size_t size, size_t *n, char c)
{
    const size_t need = c == '~' || c == '/' ? 2 : 1;
    if (*n + need >= size)
        return false;
    if (need == 2)
        out[(*n)++] = '~';
    out[(*n)++] = c == '~' ? '0' : c == '/' ? '1' : c;
    out[*n] = '\0';
    return true;
}

static enum sm_status from_dotted(const char *text, char *out, struct sm_error *err)
{
    size_t n = 0;
    bool at_start = true; /* of a token */
    for (const char *p = text;; p++) {
        if (*p == '.' || *p == '\0') {
            if (at_start)
                return sm_fail(err, SM_E_SYNTAX, "'%.160s' has an empty part; write it as in grains.0.length",
                               text);
            if (*p == '\0')
                return SM_OK;
            at_start = true;
            continue;
        }
        if (at_start && n + 1 < SM_POINTER_MAX)
            out[n++] = '/';
        at_start = false;
        if (!put_escaped(out, SM_POINTER_MAX, &n, *p))
            return sm_fail(err, SM_E_SYNTAX, "a pointer is longer than %d bytes", SM_POINTER_MAX - 1);
    }
}

enum sm_status sm_pointer_from_text(const char *text, char out[SM_POINTER_MAX], struct sm_error *err)
{
    out[0] = '\0';
    if (text[0] != '/' && text[0] != '\0')
        return from_dotted(text, out, err);
    const size_t n = strlen(text);
    if (n >= SM_POINTER_MAX)
        return sm_fail(err, SM_E_SYNTAX, "a pointer is longer than %d bytes", SM_POINTER_MAX - 1);
    if (!escapes_are_valid(text))
        return sm_fail(err, SM_E_SYNTAX, "'%.160s': in a JSON pointer '~' is written ~0 and '/' in a key ~1",
                       text);
    memcpy(out, text, n + 1);
    return SM_OK;
}

const char *sm_pointer_token(const char *pointer, char token[SM_TOKEN_MAX])
{
    if (pointer[0] != '/')
        return NULL;
    char decoded[SM_TOKEN_MAX];
    size_t n = 0;
    const char *p = pointer + 1;
    for (; *p && *p != '/'; p++) {
        char c = *p;
        if (c == '~') {
            p++;
            if (*p != '0' && *p != '1')
                return NULL;
            c = *p == '0' ? '~' : '/';
        }
        if (n + 1 >= SM_TOKEN_MAX)
            return NULL;
        decoded[n++] = c;
    }
    memcpy(token, decoded, n);
    token[n] = '\0';
    return p;
}

const char *sm_pointer_escape(const char *key, char *out, size_t size)
{
    size_t n = 0;
    if (size > 0)
        out[0] = '\0';
    for (const char *p = key; *p; p++)
        if (!put_escaped(out, size, &n, *p))
            break;
    return out;
}

bool sm_pointer_index(const char *token, size_t *index)
{
    enum { DIGITS = 9 }; /* more places than any list may have, and no overflow */
    const size_t n = strlen(token);
    if (n == 0 || n > DIGITS || (n > 1 && token[0] == '0'))
        return false;
    size_t value = 0;
    for (size_t i = 0; i < n; i++) {
        if (token[i] < '0' || token[i] > '9')
            return false;
        value = value * 10 + (size_t)(token[i] - '0');
    }
    *index = value;
    return true;
}

static const struct sm_param *row_called(const struct sm_param *rows, size_t n_rows, const char *name)
{
    for (size_t i = 0; i < n_rows; i++)
        if (strcmp(rows[i].name, name) == 0)
            return &rows[i];
    return NULL;
}

static enum sm_status unknown(const struct sm_param *rows, size_t n_rows, const char *name,
                              struct sm_error *err)
{
    struct sm_suggest suggest = {.word = name};
    if (!err)
        return SM_E_FIELD; /* a caller that only looks has no use for a hint, which takes long to find */
    for (size_t i = 0; i < n_rows; i++)
        sm_suggest_offer(&suggest, rows[i].name);
    char hint[SM_SUGGEST_TEXT];
    return sm_fail(err, SM_E_FIELD, "there is no value '%.80s'%s", name, sm_suggest_text(hint, suggest.best));
}

/* The element's block of a list named by the next token of *rest. */
static enum sm_status enter_list(const struct sm_param *row, const void *at, const char **rest, void **block,
                                 struct sm_error *err)
{
    char token[SM_TOKEN_MAX];
    size_t index;
    const char *after = sm_pointer_token(*rest, token);
    if (!after || !sm_pointer_index(token, &index))
        return sm_fail(err, SM_E_FIELD, "'%.80s' is a list: name one of its values, as in /%.80s/0",
                       row->name, row->name);
    const struct sm_list *list = at;
    if (index >= list->n)
        return sm_fail(err, SM_E_RANGE, "'%.80s' has %zu entries, counted from 0: there is no %zu", row->name,
                       list->n, index);
    *block = (char *)list->items + index * row->row_size;
    *rest = after;
    return SM_OK;
}

enum sm_status sm_pointer_find(const struct sm_param *rows, size_t n_rows, void *block, const char *pointer,
                               struct sm_pointer_target *target, struct sm_error *err)
{
    char token[SM_TOKEN_MAX];
    for (const char *rest = pointer;;) {
        rest = sm_pointer_token(rest, token);
        if (!rest)
            return sm_fail(err, SM_E_FIELD, "'%.120s' names no single value", pointer);
        const struct sm_param *row = row_called(rows, n_rows, token);
        if (!row)
            return unknown(rows, n_rows, token, err);
        void *at = (char *)block + row->offset;
        if (row->kind == SM_LIST)
            SM_TRY(enter_list(row, at, &rest, &block, err));
        else if (row->kind == SM_RECORD)
            block = at;
        else if (*rest != '\0')
            return sm_fail(err, SM_E_FIELD, "'%.80s' is a single value: '%.80s' leads on to nothing",
                           row->name, rest);
        else if (row->kind != SM_QUANTITY && row->kind != SM_WHOLE)
            return sm_fail(err, SM_E_FIELD, "'%.80s' is not a number", row->name);
        else {
            *target = (struct sm_pointer_target){row, at};
            return SM_OK;
        }
        rows = row->rows;
        n_rows = row->n_rows;
    }
}

/* Units in which people write values of a size, where SI's own are unusual: value = (SI - offset) / factor. */
static const struct {
    enum sm_dim dim;
    double from, below; /* of the size of the value [SI] */
    const char *unit;
    double factor, offset; /* [SI] */
} usual[] = {
    {SM_DIM_LENGTH, 0.0, 1.0, "mm", 1e-3, 0.0},
    {SM_DIM_VOLUME, 0.0, 0.01, "cm3", 1e-6, 0.0},
    {SM_DIM_MASS, 0.0, 1.0, "g", 1e-3, 0.0},
    {SM_DIM_SPEED, 0.0, 1.0, "mm/s", 1e-3, 0.0},
    {SM_DIM_PRESSURE, 1e3, 1e5, "kPa", 1e3, 0.0},
    {SM_DIM_PRESSURE, 1e5, HUGE_VAL, "MPa", 1e6, 0.0},
    {SM_DIM_ANGLE, 0.0, HUGE_VAL, "deg", 3.14159265358979323846 / 180.0, 0.0},
    {SM_DIM_ANGULAR_RATE, 0.0, HUGE_VAL, "deg/s", 3.14159265358979323846 / 180.0, 0.0},
    {SM_DIM_TEMPERATURE, 0.0, HUGE_VAL, "degC", 1.0, 273.15},
};

const char *sm_param_text(char buf[SM_PARAM_TEXT], enum sm_dim dim, double value)
{
    const double size = fabs(value);
    for (size_t i = 0; i < SM_COUNT(usual); i++)
        if (usual[i].dim == dim && size >= usual[i].from && size < usual[i].below) {
            sm_text_format(buf, SM_PARAM_TEXT, "%.9g %s", (value - usual[i].offset) / usual[i].factor,
                           usual[i].unit);
            return buf;
        }
    sm_text_format(buf, SM_PARAM_TEXT, "%.9g%s%s", value, dim == SM_DIM_NONE ? "" : " ",
                   dim == SM_DIM_NONE ? "" : sm_dim_unit(dim));
    return buf;
}

enum sm_status sm_param_in_bounds(const struct sm_param *row, double value, struct sm_error *err)
{
    if ((row->min == 0.0 && row->max == 0.0) || (value >= row->min && value <= row->max))
        return SM_OK;
    const enum sm_dim dim = row->kind == SM_QUANTITY ? row->dim : SM_DIM_NONE;
    char found[SM_PARAM_TEXT], low[SM_PARAM_TEXT], high[SM_PARAM_TEXT];
    sm_param_text(found, dim, value);
    sm_param_text(low, dim, row->min);
    sm_param_text(high, dim, row->max);
    if (!isfinite(row->max))
        return sm_fail(err, SM_E_RANGE, "%s is %s; it must be at least %s", row->name, found, low);
    if (!isfinite(row->min))
        return sm_fail(err, SM_E_RANGE, "%s is %s; it must be at most %s", row->name, found, high);
    return sm_fail(err, SM_E_RANGE, "%s is %s; it must be from %s to %s", row->name, found, low, high);
}

double sm_pointer_get(const struct sm_pointer_target *target)
{
    if (target->row->kind == SM_WHOLE)
        return *(const int *)target->value;
    return *(const double *)target->value;
}

enum sm_status sm_pointer_set(const struct sm_pointer_target *target, double value, struct sm_error *err)
{
    const struct sm_param *row = target->row;
    if (!isfinite(value))
        return sm_fail(err, SM_E_RANGE, "%s must be a finite number", row->name);
    SM_TRY(sm_param_in_bounds(row, value, err));
    if (row->kind == SM_QUANTITY) {
        *(double *)target->value = value;
        return SM_OK;
    }
    if (value != floor(value) || fabs(value) > INT_MAX)
        return sm_fail(err, SM_E_RANGE, "%s is %.6g; it must be a whole number", row->name, value);
    *(int *)target->value = (int)value;
    return SM_OK;
}
