/* What doc/json.c, json_parse.c and json_edit.c share; no business of anybody else. */
#ifndef SM_DOC_JSON_TREE_H
#define SM_DOC_JSON_TREE_H

#include <cjson/cJSON.h>
#include <stddef.h>
#include <stdint.h>

#include "doc/json.h"

#define SM_JSON_NO_KEY SIZE_MAX

/* A text that values came from. */
struct sm_json_source {
    char *name;
    char *text;
    size_t n;
    /* A pointer into the document is one into this source once strip is taken off its head and prepend put
     * there. */
    char *strip, *prepend;
};

/* Where a value stands. Each node holds the number of its place in the field valueint, which the library does
 * not use otherwise and copies with the node. */
struct sm_json_place {
    size_t source;
    size_t key, value; /* offsets of their first bytes; SM_JSON_NO_KEY for no key */
};

struct sm_json_doc {
    cJSON *root;
    struct sm_json_source *sources;
    size_t n_sources;
    struct sm_json_place *places;
    size_t n_places, room_places;
};

/* struct sm_json is the library's node under a name of our own. */
const cJSON *sm_json_node(const struct sm_json *value);
const struct sm_json *sm_json_value(const cJSON *node);

/* The member or element that a token of a pointer names; NULL if there is none. */
const struct sm_json *sm_json_child(const struct sm_json *value, const char *token);

/* What is left of pointer behind head; NULL if it does not start so. */
const char *sm_json_behind(const char *pointer, const char *head);

/* bytes[0..n) with a NUL behind them; caller frees. */
char *sm_json_copy_bytes(const char *bytes, size_t n);

/* Adds a source at the end. text is taken over, and freed on failure. */
enum sm_status sm_json_add_source(struct sm_json_doc *doc, const char *name, char *text, size_t n,
                                  const char *strip, const char *prepend, struct sm_error *err) SM_MUST_CHECK;
void sm_json_drop_sources(struct sm_json_doc *doc, size_t keep);

/* Gives node a place; false if memory is out. */
bool sm_json_add_place(struct sm_json_doc *doc, cJSON *node, struct sm_json_place place);

/* Reads the value at from..end of a source strictly. Returned: *tree, caller deletes. */
enum sm_status sm_json_parse_source(struct sm_json_doc *doc, size_t source, size_t from, cJSON **tree,
                                    struct sm_error *err) SM_MUST_CHECK;

/* err about the byte at offset of a source. */
void sm_json_place_error(const struct sm_json_source *source, size_t offset, struct sm_error *err);

#endif
