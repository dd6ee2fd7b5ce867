#include "base/pointer.h"
#include "base/text.h"
#include "doc/json.h"
#include "doc/json_tree.h"
#include "doc/place.h"
#include "slowmatch/limits.h"

#include <stdlib.h>
#include <string.h>

static enum sm_status no_memory(struct sm_error *err)
{
    return sm_fail(err, SM_E_NOMEM, "out of memory");
}

/* Where a value is to go. */
struct slot {
    cJSON *parent;            /* NULL: the root */
    char token[SM_TOKEN_MAX]; /* the last of the pointer */
    cJSON *old;               /* what stands there; NULL: to be added */
    int depth;                /* tokens of the pointer */
};

/* The tree belongs to the document, which is not const here. */
static cJSON *editable(const struct sm_json *value)
{
    union {
        const struct sm_json *value;
        cJSON *node;
    } alias = {value};
    return alias.node;
}

static enum sm_status not_there(const cJSON *parent, const char *token, const char *where,
                                struct sm_error *err)
{
    const struct sm_json *value = sm_json_value(parent);
    if (sm_json_is(value, SM_JSON_ARRAY))
        return sm_fail(err, SM_E_FIELD, "can't set %.80s: no place '%.40s' in a list of %zu, counted from 0",
                       where, token, sm_json_count(value));
    if (sm_json_is(value, SM_JSON_OBJECT))
        return sm_fail(err, SM_E_FIELD, "can't set %.80s: there is no '%.80s'", where, token);
    return sm_fail(err, SM_E_FIELD, "can't set %.80s: '%.80s' would be inside %s", where, token,
                   sm_json_type_name(sm_json_type(value)));
}

/* May token be added to parent? An array takes the place behind its last element, also written "-". */
static bool may_add(const cJSON *parent, const char *token)
{
    size_t index;
    if (cJSON_IsObject(parent))
        return true;
    return cJSON_IsArray(parent) &&
           (strcmp(token, "-") == 0 ||
            (sm_pointer_index(token, &index) && index == sm_json_count(sm_json_value(parent))));
}

static enum sm_status find_slot(struct sm_json_doc *doc, const char *pointer, struct slot *slot,
                                struct sm_error *err)
{
    *slot = (struct slot){.old = doc->root};
    for (const char *rest = pointer; *rest; slot->depth++) {
        if (slot->depth > 0 && !slot->old)
            return not_there(slot->parent, slot->token, pointer, err);
        slot->parent = slot->old;
        rest = sm_pointer_token(rest, slot->token);
        if (!rest)
            return sm_fail(err, SM_E_SYNTAX, "'%.160s' is not a JSON pointer", pointer);
        slot->old = editable(sm_json_child(sm_json_value(slot->parent), slot->token));
    }
    if (!slot->old && !may_add(slot->parent, slot->token))
        return not_there(slot->parent, slot->token, pointer, err);
    return SM_OK;
}

/* The library's own call that replaces a member does not look whether there was room for its key. */
static bool name_node(cJSON *node, const char *key)
{
    const size_t n = strlen(key) + 1;
    node->string = cJSON_malloc(n);
    if (node->string)
        memcpy(node->string, key, n);
    return node->string != NULL;
}

/* Puts node, which the tree then owns, into a slot; on failure the caller still owns it. */
static bool fill_slot(struct sm_json_doc *doc, const struct slot *slot, cJSON *node)
{
    if (!slot->parent) {
        cJSON_Delete(doc->root);
        doc->root = node;
        return true;
    }
    if (cJSON_IsArray(slot->parent))
        return slot->old ? cJSON_ReplaceItemViaPointer(slot->parent, slot->old, node)
                         : cJSON_AddItemToArray(slot->parent, node);
    if (!slot->old)
        return cJSON_AddItemToObject(slot->parent, slot->token, node);
    return name_node(node, slot->token) && cJSON_ReplaceItemViaPointer(slot->parent, slot->old, node);
}

/* Levels of arrays and objects. */
static int depth_of(const cJSON *node)
{
    if (!cJSON_IsArray(node) && !cJSON_IsObject(node))
        return 0;
    int deepest = 0;
    for (const cJSON *item = node->child; item; item = item->next) {
        const int depth = depth_of(item);
        deepest = depth > deepest ? depth : deepest;
    }
    return deepest + 1;
}

static enum sm_status put_node(struct sm_json_doc *doc, const struct slot *slot, cJSON *node,
                               struct sm_error *err)
{
    if (slot->depth + depth_of(node) > SM_MAX_JSON_DEPTH)
        return sm_fail(err, SM_E_RANGE, "nested more than %d deep", SM_MAX_JSON_DEPTH);
    return fill_slot(doc, slot, node) ? SM_OK : no_memory(err);
}

/* Is the value text meant as JSON, so that a fault in it is to be told? */
static bool must_be_json(const char *value)
{
    const char *p = value + strspn(value, " \t\r\n");
    return *p && strchr("{[\"", *p);
}

/* The value at the end of the newest source, which starts at from. */
static enum sm_status set_value(struct sm_json_doc *doc, size_t from, cJSON **node, struct sm_error *err)
{
    const size_t number = doc->n_sources - 1;
    const struct sm_json_source *source = &doc->sources[number];
    const char *value = source->text + from;
    size_t bad;
    if (!sm_text_is_utf8(source->text, source->n, &bad)) {
        sm_fail(err, SM_E_SYNTAX, "the text to set is not UTF-8");
        sm_json_place_error(source, bad, err);
        return SM_E_SYNTAX;
    }
    struct sm_error fault = {0};
    const enum sm_status status = sm_json_parse_source(doc, number, from, node, &fault);
    if (status == SM_OK) {
        doc->places[(*node)->valueint].key = 0;
        return SM_OK;
    }
    if (must_be_json(value) || status == SM_E_NOMEM) {
        if (err)
            *err = fault;
        return status;
    }
    *node = cJSON_CreateString(value);
    if (*node && sm_json_add_place(doc, *node, (struct sm_json_place){number, 0, from}))
        return SM_OK;
    cJSON_Delete(*node);
    return no_memory(err);
}

/* The text that errors in a set value show: "where=value". */
static enum sm_status add_set_source(struct sm_json_doc *doc, const char *where, const char *value,
                                     const char *origin, struct sm_error *err)
{
    const size_t n_where = strlen(where), n_value = strlen(value);
    if (n_value > SM_MAX_JSON_BYTES)
        return sm_fail(err, SM_E_RANGE, "the value for %.80s has more than %d bytes", where,
                       SM_MAX_JSON_BYTES);
    char *text = malloc(n_where + 1 + n_value + 1);
    if (!text)
        return no_memory(err);
    memcpy(text, where, n_where);
    text[n_where] = '=';
    memcpy(text + n_where + 1, value, n_value + 1);
    return sm_json_add_source(doc, origin, text, n_where + 1 + n_value, "", "", err);
}

enum sm_status sm_json_set(struct sm_json_doc *doc, const char *where, const char *value, const char *origin,
                           struct sm_error *err)
{
    char pointer[SM_POINTER_MAX];
    struct slot slot;
    const size_t n_sources = doc->n_sources, n_places = doc->n_places;
    cJSON *node = NULL;
    enum sm_status status = sm_pointer_from_text(where, pointer, err);
    if (status == SM_OK)
        status = find_slot(doc, pointer, &slot, err);
    if (status == SM_OK)
        status = add_set_source(doc, where, value, origin, err);
    if (status == SM_OK)
        status = set_value(doc, strlen(where) + 1, &node, err);
    if (status == SM_OK)
        status = put_node(doc, &slot, node, err);
    if (status == SM_OK)
        return SM_OK;
    cJSON_Delete(node);
    sm_json_drop_sources(doc, n_sources);
    doc->n_places = n_places;
    if (err && err->at.file[0] == '\0')
        sm_place_file(err, origin);
    return status;
}

/* Copies one source of another document, of which the value at pointer comes to stand at where. */
static enum sm_status copy_source(struct sm_json_doc *doc, const struct sm_json_source *from,
                                  const char *pointer, const char *where, struct sm_error *err)
{
    char strip[2 * SM_POINTER_MAX], prepend[2 * SM_POINTER_MAX];
    const char *inner = sm_json_behind(pointer, from->strip), *outer = sm_json_behind(from->strip, pointer);
    sm_text_format(strip, sizeof strip, "%s%s", where, inner ? "" : outer ? outer : "");
    sm_text_format(prepend, sizeof prepend, "%s%s", from->prepend, inner ? inner : "");
    char *text = sm_json_copy_bytes(from->text, from->n);
    return text ? sm_json_add_source(doc, from->name, text, from->n, strip, prepend, err) : no_memory(err);
}

/* Gives the nodes of a copied tree places in their new document, whose copies of the sources start at first.
 */
static bool copy_places(struct sm_json_doc *doc, const struct sm_json_doc *from, size_t first, cJSON *node)
{
    struct sm_json_place place = from->places[node->valueint];
    place.source += first;
    bool good = sm_json_add_place(doc, node, place);
    for (cJSON *item = node->child; item && good; item = item->next)
        good = copy_places(doc, from, first, item);
    return good;
}

static enum sm_status splice_node(struct sm_json_doc *doc, const struct slot *slot,
                                  const struct sm_json_doc *from, const struct sm_json *value, size_t first,
                                  struct sm_error *err)
{
    cJSON *copy = cJSON_Duplicate(sm_json_node(value), true);
    if (!copy || !copy_places(doc, from, first, copy)) {
        cJSON_Delete(copy);
        return no_memory(err);
    }
    const enum sm_status status = put_node(doc, slot, copy, err);
    if (status != SM_OK)
        cJSON_Delete(copy);
    return status;
}

enum sm_status sm_json_splice(struct sm_json_doc *doc, const char *where, const struct sm_json_doc *from,
                              const char *pointer, struct sm_error *err)
{
    char to[SM_POINTER_MAX];
    struct slot slot;
    SM_TRY(sm_pointer_from_text(where, to, err));
    const struct sm_json *value = sm_json_find(sm_json_root(from), pointer);
    if (!value)
        return sm_fail(err, SM_E_FIELD, "there is no %.120s in %.80s", pointer, sm_json_name(from));
    SM_TRY(find_slot(doc, to, &slot, err));
    const size_t n_sources = doc->n_sources, n_places = doc->n_places, n_from = from->n_sources;
    enum sm_status status = SM_OK;
    for (size_t i = 0; i < n_from && status == SM_OK; i++)
        status = copy_source(doc, &from->sources[i], pointer, to, err);
    if (status == SM_OK)
        status = splice_node(doc, &slot, from, value, n_sources, err);
    if (status != SM_OK) {
        sm_json_drop_sources(doc, n_sources);
        doc->n_places = n_places;
    }
    return status;
}

bool sm_json_remove(struct sm_json_doc *doc, const char *where)
{
    char pointer[SM_POINTER_MAX];
    struct slot slot;
    if (sm_pointer_from_text(where, pointer, NULL) != SM_OK || find_slot(doc, pointer, &slot, NULL) != SM_OK)
        return false;
    if (!slot.old || !slot.parent)
        return false;
    cJSON_Delete(cJSON_DetachItemViaPointer(slot.parent, slot.old));
    return true;
}
