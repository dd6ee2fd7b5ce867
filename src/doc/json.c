#include "doc/json.h"
#include "base/pointer.h"
#include "base/text.h"
#include "doc/json_tree.h"
#include "doc/place.h"
#include "doc/textfile.h"
#include "slowmatch/limits.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

const cJSON *sm_json_node(const struct sm_json *value)
{
    return (const cJSON *)(const void *)value;
}

const struct sm_json *sm_json_value(const cJSON *node)
{
    return (const struct sm_json *)(const void *)node;
}

/* ---- documents ---- */

bool sm_json_add_place(struct sm_json_doc *doc, cJSON *node, struct sm_json_place place)
{
    if (doc->n_places == doc->room_places) {
        const size_t room = doc->room_places ? doc->room_places * 2 : 64;
        if (room > INT_MAX)
            return false;
        struct sm_json_place *wider = realloc(doc->places, room * sizeof *wider);
        if (!wider)
            return false;
        doc->places = wider;
        doc->room_places = room;
    }
    node->valueint = (int)doc->n_places;
    doc->places[doc->n_places++] = place;
    return true;
}

static void free_source(struct sm_json_source *source)
{
    free(source->name);
    free(source->text);
    free(source->strip);
    free(source->prepend);
}

char *sm_json_copy_bytes(const char *bytes, size_t n)
{
    char *copy = malloc(n + 1);
    if (!copy)
        return NULL;
    if (n > 0)
        memcpy(copy, bytes, n);
    copy[n] = '\0';
    return copy;
}

static enum sm_status no_memory(struct sm_error *err)
{
    return sm_fail(err, SM_E_NOMEM, "out of memory");
}

/* Adds a source at the end. text is taken over, and freed on failure. */
enum sm_status sm_json_add_source(struct sm_json_doc *doc, const char *name, char *text, size_t n,
                                  const char *strip, const char *prepend, struct sm_error *err)
{
    struct sm_json_source source = {.name = sm_json_copy_bytes(name, strlen(name)),
                                    .text = text,
                                    .n = n,
                                    .strip = sm_json_copy_bytes(strip, strlen(strip)),
                                    .prepend = sm_json_copy_bytes(prepend, strlen(prepend))};
    struct sm_json_source *wider = realloc(doc->sources, (doc->n_sources + 1) * sizeof *wider);
    if (wider)
        doc->sources = wider;
    if (!wider || !source.name || !source.text || !source.strip || !source.prepend) {
        free_source(&source);
        return no_memory(err);
    }
    doc->sources[doc->n_sources++] = source;
    return SM_OK;
}

void sm_json_drop_sources(struct sm_json_doc *doc, size_t keep)
{
    while (doc->n_sources > keep)
        free_source(&doc->sources[--doc->n_sources]);
}

/* text is taken over. */
static enum sm_status parse_owned(char *text, size_t n, const char *name, struct sm_json_doc **out,
                                  struct sm_error *err)
{
    struct sm_json_doc *doc = calloc(1, sizeof *doc);
    if (!doc) {
        free(text);
        return no_memory(err);
    }
    enum sm_status status = sm_json_add_source(doc, name, text, n, "", "", err);
    if (status == SM_OK)
        status = sm_json_parse_source(doc, 0, 0, &doc->root, err);
    if (status != SM_OK) {
        sm_json_free(doc);
        return status;
    }
    *out = doc;
    return SM_OK;
}

enum sm_status sm_json_parse(const char *text, size_t n, const char *name, struct sm_json_doc **doc,
                             struct sm_error *err)
{
    *doc = NULL;
    if (n > SM_MAX_JSON_BYTES) {
        sm_fail(err, SM_E_RANGE, "%.160s has more than %d bytes, the limit for such a file", name,
                SM_MAX_JSON_BYTES);
        sm_place_file(err, name);
        return SM_E_RANGE;
    }
    char *copy = sm_json_copy_bytes(text, n);
    return copy ? parse_owned(copy, n, name, doc, err) : no_memory(err);
}

enum sm_status sm_json_read_file(const char *path, struct sm_json_doc **doc, struct sm_error *err)
{
    *doc = NULL;
    char *text;
    size_t n;
    SM_TRY(sm_textfile_read(path, SM_MAX_JSON_BYTES, &text, &n, err));
    return parse_owned(text, n, path, doc, err);
}

void sm_json_free(struct sm_json_doc *doc)
{
    if (!doc)
        return;
    cJSON_Delete(doc->root);
    sm_json_drop_sources(doc, 0);
    free(doc->sources);
    free(doc->places);
    free(doc);
}

const struct sm_json *sm_json_root(const struct sm_json_doc *doc)
{
    return sm_json_value(doc->root);
}

const char *sm_json_name(const struct sm_json_doc *doc)
{
    return doc->sources[0].name;
}

/* ---- values ---- */

enum sm_json_type sm_json_type(const struct sm_json *value)
{
    const cJSON *node = sm_json_node(value);
    if (cJSON_IsBool(node))
        return SM_JSON_BOOL;
    if (cJSON_IsNumber(node))
        return SM_JSON_NUMBER;
    if (cJSON_IsString(node))
        return SM_JSON_STRING;
    if (cJSON_IsArray(node))
        return SM_JSON_ARRAY;
    if (cJSON_IsObject(node))
        return SM_JSON_OBJECT;
    return SM_JSON_NULL;
}

bool sm_json_is(const struct sm_json *value, enum sm_json_type type)
{
    return value && sm_json_type(value) == type;
}

const char *sm_json_type_name(enum sm_json_type type)
{
    static const char *const names[] = {
        [SM_JSON_NULL] = "null",       [SM_JSON_BOOL] = "true or false", [SM_JSON_NUMBER] = "a number",
        [SM_JSON_STRING] = "a string", [SM_JSON_ARRAY] = "an array",     [SM_JSON_OBJECT] = "an object",
    };
    return (size_t)type < SM_COUNT(names) ? names[type] : "unknown";
}

const struct sm_json *sm_json_first(const struct sm_json *value)
{
    return value ? sm_json_value(sm_json_node(value)->child) : NULL;
}

const struct sm_json *sm_json_next(const struct sm_json *value)
{
    return value ? sm_json_value(sm_json_node(value)->next) : NULL;
}

size_t sm_json_count(const struct sm_json *value)
{
    size_t n = 0;
    for (const struct sm_json *item = sm_json_first(value); item; item = sm_json_next(item))
        n++;
    return n;
}

const char *sm_json_key(const struct sm_json *value)
{
    return value ? sm_json_node(value)->string : NULL;
}

const struct sm_json *sm_json_get(const struct sm_json *value, const char *key)
{
    if (!sm_json_is(value, SM_JSON_OBJECT))
        return NULL;
    return sm_json_value(cJSON_GetObjectItemCaseSensitive(sm_json_node(value), key));
}

/* The member or element that a token names. */
const struct sm_json *sm_json_child(const struct sm_json *value, const char *token)
{
    size_t index;
    if (sm_json_is(value, SM_JSON_OBJECT))
        return sm_json_get(value, token);
    if (!sm_json_is(value, SM_JSON_ARRAY) || !sm_pointer_index(token, &index))
        return NULL;
    const struct sm_json *item = sm_json_first(value);
    while (item && index-- > 0)
        item = sm_json_next(item);
    return item;
}

const struct sm_json *sm_json_find(const struct sm_json *value, const char *pointer)
{
    char token[SM_TOKEN_MAX];
    while (value && *pointer) {
        pointer = sm_pointer_token(pointer, token);
        value = pointer ? sm_json_child(value, token) : NULL;
    }
    return value;
}

const char *sm_json_string(const struct sm_json *value)
{
    return cJSON_GetStringValue(sm_json_node(value));
}

double sm_json_number(const struct sm_json *value)
{
    return sm_json_is(value, SM_JSON_NUMBER) ? sm_json_node(value)->valuedouble : SM_NAN;
}

bool sm_json_bool(const struct sm_json *value)
{
    return cJSON_IsTrue(sm_json_node(value));
}

/* ---- places ---- */

static const struct sm_json_place *place_of(const struct sm_json_doc *doc, const struct sm_json *value)
{
    return &doc->places[sm_json_node(value)->valueint];
}

/* The value at a pointer, or the nearest on the way to it. */
static const struct sm_json *nearest(const struct sm_json_doc *doc, const char *pointer, bool *exact)
{
    char token[SM_TOKEN_MAX];
    const struct sm_json *value = sm_json_root(doc);
    while (*pointer) {
        pointer = sm_pointer_token(pointer, token);
        const struct sm_json *next = pointer ? sm_json_child(value, token) : NULL;
        *exact = next;
        if (!next)
            return value;
        value = next;
    }
    *exact = true;
    return value;
}

/* What is left of pointer behind head; NULL if it does not start so. */
const char *sm_json_behind(const char *pointer, const char *head)
{
    const size_t n = strlen(head);
    if (strncmp(pointer, head, n) != 0 || (pointer[n] != '/' && pointer[n] != '\0'))
        return NULL;
    return pointer + n;
}

/* The pointer in the terms of the file that the value came from. */
static void translate_path(const struct sm_json_source *source, struct sm_error *err)
{
    const char *rest = sm_json_behind(err->at.path, source->strip);
    if (!rest)
        return;
    char path[2 * SM_POINTER_MAX];
    sm_text_format(path, sizeof path, "%s%s", source->prepend, rest);
    if (strlen(path) < sizeof err->at.path)
        memcpy(err->at.path, path, strlen(path) + 1);
}

void sm_json_locate(const struct sm_json_doc *doc, struct sm_error *err)
{
    if (!err || err->at.line != 0)
        return;
    bool exact;
    const struct sm_json *value = nearest(doc, err->at.path, &exact);
    const struct sm_json_place *place = place_of(doc, value);
    const struct sm_json_source *source = &doc->sources[place->source];
    const bool at_key = exact && err->status == SM_E_FIELD && place->key != SM_JSON_NO_KEY;
    sm_json_place_error(source, at_key ? place->key : place->value, err);
    translate_path(source, err);
}

void sm_json_locate_all(const struct sm_json_doc *doc, struct sm_diag *diag)
{
    for (size_t i = 0; i < diag->n; i++)
        sm_json_locate(doc, &diag->items[i]);
}

unsigned sm_json_line(const struct sm_json_doc *doc, const struct sm_json *value)
{
    struct sm_error at = {0};
    const struct sm_json_place *place = place_of(doc, value);
    sm_json_place_error(&doc->sources[place->source], place->value, &at);
    return at.at.line;
}
