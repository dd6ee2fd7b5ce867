/*
 * Templates in the Mustache language: variables, sections, inverted sections, comments and set delimiters. Partials are off:
 * a partial tag is an error.
 *
 * Reference: the Mustache specification, version 1.4, mandatory modules.
 */
#ifndef SM_DOC_TEMPLATE_H
#define SM_DOC_TEMPLATE_H

#include <stdbool.h>

#include "base/arena.h"
#include "base/sink.h"

enum { SM_TEMPLATE_TEXT = 512, SM_TEMPLATE_DEPTH = 64 };

enum sm_template_kind {
    SM_TEMPLATE_UNKNOWN, /* there is no such name */
    SM_TEMPLATE_NOTHING, /* null or false */
    SM_TEMPLATE_THING,   /* true, a text, a number or an object */
    SM_TEMPLATE_LIST
};

/* A value, as its owner knows it. */
struct sm_template_value {
    enum sm_template_kind kind;
    size_t n;       /* of a list, its length */
    const void *at; /* the owner's own */
    size_t i, j;    /* the owner's own */
};

/* What a template is filled with. */
struct sm_template_data {
    void *user;
    struct sm_template_value root;
    /* The member called name[0..n) of a value of any kind. Status: for a name that is known but can't be given. */
    enum sm_status (*member)(void *user, const struct sm_template_value *of, const char *name, size_t n,
                             struct sm_template_value *out, struct sm_error *err);
    void (*element)(void *user, const struct sm_template_value *list, size_t i,
                    struct sm_template_value *out);
    /* Its text, borrowed until the next call or in buf; "" for an object. */
    const char *(*text)(void *user, const struct sm_template_value *value, char buf[SM_TEMPLATE_TEXT]);
    /* The i-th name of a member, for suggestions; NULL past the last. */
    const char *(*name)(void *user, const struct sm_template_value *value, size_t i);
};

struct sm_template; /* lives in its arena */

/*
 * Given: text[n], borrowed as long as the template; name, what errors call it.
 * Status: SM_E_SYNTAX with line, column and excerpt: a tag or section that is never closed, an end without a beginning, a
 * partial, no name. SM_E_RANGE: sections nested deeper than SM_TEMPLATE_DEPTH.
 */
enum sm_status sm_template_parse(const char *text, size_t n, const char *name, struct sm_arena *arena,
                                 struct sm_template **out, struct sm_error *err) SM_MUST_CHECK;

struct sm_template_options {
    bool escapes; /* {{x}} escapes & < > " as the specification says; else it is the same as {{{x}}} */
    bool
        unknown_is_empty; /* as the specification says; else a name that is unknown, or a value that is not there, is an
                              error at its place, with the nearest name */
};

enum sm_status sm_template_render(const struct sm_template *t, const struct sm_template_data *data,
                                  const struct sm_template_options *options, struct sm_sink *sink,
                                  struct sm_error *err) SM_MUST_CHECK;

#endif
