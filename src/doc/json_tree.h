/* What doc/json.c and doc/json_parse.c share; no business of anybody else. */
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

/* Gives node a place; false if memory is out. */
bool sm_json_add_place(struct sm_json_doc *doc, cJSON *node, struct sm_json_place place);

/* Reads the value at from..end of a source strictly. Returned: *tree, caller deletes. */
enum sm_status sm_json_parse_source(struct sm_json_doc *doc, size_t source, size_t from, cJSON **tree,
                                    struct sm_error *err) SM_MUST_CHECK;

/* err about the byte at offset of a source. */
void sm_json_place_error(const struct sm_json_source *source, size_t offset, struct sm_error *err);

#endif
