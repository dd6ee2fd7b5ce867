/*
 * Writes JSON Schemas (2020-12) from the same rows that the readers use. Each call writes one schema as a value,
 * so they can stand wherever a schema may: as a property, as the items of an array, in oneOf.
 *
 * Bounds of a quantity with a unit are told in its description, since a schema can't see into the string.
 * Reference: JSON Schema, draft 2020-12, core and validation.
 */
#ifndef SM_INPUT_SCHEMA_H
#define SM_INPUT_SCHEMA_H

#include <stdbool.h>
#include <stddef.h>

#include "doc/json_write.h"
#include "slowmatch/param.h"

struct sm_schema_rows {
    const struct sm_param *rows;
    size_t n_rows;
};

/* A property that no row describes: what the caller reads itself. */
struct sm_schema_property {
    const char *name;
    bool is_required;
    void (*write)(struct sm_json_writer *w, const void *user); /* one schema, e.g. sm_schema_const */
    const void *user;
};

/*
 * An object: the properties by hand first, then those of all tables, "$schema" and "note", and nothing else.
 *
 * Given: n_tables tables and n_properties properties, either may be 0; description or NULL.
 */
void sm_schema_object(struct sm_json_writer *w, const char *description, const struct sm_schema_rows *tables,
                      size_t n_tables, const struct sm_schema_property *properties, size_t n_properties);

/* A whole document: sm_schema_object with "$schema", "$id" and "title" before it. */
void sm_schema_document(struct sm_json_writer *w, const char *id, const char *title, const char *description,
                        const struct sm_schema_rows *tables, size_t n_tables,
                        const struct sm_schema_property *properties, size_t n_properties);

/* The value of one row. */
void sm_schema_row(struct sm_json_writer *w, const struct sm_param *row);

/* A quantity without a row; min and max [SI], both 0 for none; help or NULL. */
void sm_schema_quantity(struct sm_json_writer *w, enum sm_dim dim, double min, double max, const char *help);

/* As write of a property: user is the one text that is allowed, or the description of any text. */
void sm_schema_const(struct sm_json_writer *w, const void *user);
void sm_schema_text(struct sm_json_writer *w, const void *user);

/* As write of a property, for values without a unit: user is the description, or NULL. */
void sm_schema_number(struct sm_json_writer *w, const void *user);
void sm_schema_number_or_null(struct sm_json_writer *w, const void *user);
void sm_schema_text_or_null(struct sm_json_writer *w, const void *user);
void sm_schema_whole(struct sm_json_writer *w, const void *user);
void sm_schema_flag(struct sm_json_writer *w, const void *user);
void sm_schema_null(struct sm_json_writer *w, const void *user);

/* A number, or a string that ends in a unit, for values of whatever kind; with one example. */
void sm_schema_number_or_quantity(struct sm_json_writer *w, const char *description, const char *example);

/* {"oneOf": [...]} and {"anyOf": [...]} of n schemas, each written by item(w, i, user). */
void sm_schema_one_of(struct sm_json_writer *w, size_t n,
                      void (*item)(struct sm_json_writer *w, size_t i, const void *user), const void *user);
void sm_schema_any_of(struct sm_json_writer *w, size_t n,
                      void (*item)(struct sm_json_writer *w, size_t i, const void *user), const void *user);

/* An array of at least min and, unless 0, at most max items, each as item->write writes. */
void sm_schema_array(struct sm_json_writer *w, const char *description, size_t min, size_t max,
                     const struct sm_schema_property *item);

/* The pattern (ECMA-262 and POSIX extended alike) of a string that holds a number and a unit. */
const char *sm_schema_quantity_pattern(void);

#endif
