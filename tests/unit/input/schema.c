/*
 * Schemas written from rows. Their keywords are those of JSON Schema 2020-12 (validation vocabulary, section 6); an
 * independent validator reads the project's own schemas elsewhere in the tests. Here: the layout of each kind, and that
 * the pattern of a quantity agrees with the reader.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <regex.h>
#include <stddef.h>
#include <string.h>

#include "base/sink.h"
#include "doc/json.h"
#include "input/schema.h"
#include "units/units.h"

static struct sm_memory_sink memory;
static struct sm_json_writer w;
static struct sm_json_doc *doc;

static void start(void)
{
    sm_memory_sink_init(&memory, NULL);
    sm_json_write_init(&w, &memory.sink);
}

static void stop(void)
{
    sm_json_free(doc);
    sm_memory_sink_release(&memory);
}

TestSuite(schema, .init = start, .fini = stop);

/* What was written, read again by the strict reader. */
static const struct sm_json *written(void)
{
    struct sm_error err = {0};
    cr_assert_eq(sm_json_write_end(&w, &err), SM_OK, "%s", err.message);
    cr_assert_eq(sm_json_parse(memory.bytes, memory.n, "schema", &doc, &err), SM_OK, "%s", err.message);
    return sm_json_root(doc);
}

static void expect_text(const struct sm_json *root, const char *pointer, const char *expected)
{
    const char *text = sm_json_string(sm_json_find(root, pointer));
    cr_expect(text && strcmp(text, expected) == 0, "%s: %s", pointer, text ? text : "(none)");
}

static void expect_number(const struct sm_json *root, const char *pointer, double expected)
{
    cr_expect_eq(sm_json_number(sm_json_find(root, pointer)), expected, "%s", pointer);
}

static const char *const words[] = {"red", "green", NULL};
static const struct sm_param inner_rows[] = {
    {.name = "x", .kind = SM_QUANTITY, .dim = SM_DIM_LENGTH, .fallback = SM_REQUIRED},
};
static const struct sm_param rows[] = {
    {.name = "width",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .min = 0.001,
     .max = 10,
     .fallback = SM_REQUIRED,
     .help = "across the top"},
    {.name = "gap", .kind = SM_QUANTITY, .dim = SM_DIM_LENGTH, .max = (double)INFINITY, .fallback = 0.002},
    {.name = "load", .kind = SM_QUANTITY, .max = 1, .fallback = 0.5},
    {.name = "count", .kind = SM_WHOLE, .min = 1, .max = 9, .fallback = 1},
    {.name = "glazed", .kind = SM_FLAG, .fallback = 0},
    {.name = "colour", .kind = SM_CHOICE, .fallback = 1, .words = words},
    {.name = "faces", .kind = SM_CHOICES, .fallback = 2, .words = words},
    {.name = "name", .kind = SM_TEXT, .fallback = SM_REQUIRED},
    {.name = "holes",
     .kind = SM_LIST,
     .min = 1,
     .max = 4,
     .fallback = SM_OPTIONAL,
     .rows = inner_rows,
     .n_rows = 1},
    {.name = "lid",
     .kind = SM_RECORD,
     .fallback = SM_OPTIONAL,
     .rows = inner_rows,
     .n_rows = 1,
     .help = "its lid"},
};

Test(schema, kinds)
{
    const struct sm_schema_rows table = {rows, SM_COUNT(rows)};
    sm_schema_document(&w, "pot/1", "A pot", NULL, &table, 1, NULL, 0);
    const struct sm_json *root = written();
    expect_text(root, "/$schema", "https://json-schema.org/draft/2020-12/schema");
    expect_text(root, "/$id", "pot/1");
    expect_text(root, "/type", "object");
    cr_expect(sm_json_is(sm_json_find(root, "/additionalProperties"), SM_JSON_BOOL));
    cr_expect_not(sm_json_bool(sm_json_find(root, "/additionalProperties")));
    expect_text(root, "/required/0", "width");
    expect_text(root, "/required/1", "name");
    cr_expect_eq(sm_json_count(sm_json_find(root, "/required")), 2);
    cr_expect_eq(sm_json_count(sm_json_find(root, "/properties")), SM_COUNT(rows) + 2);
    cr_expect_not_null(sm_json_find(root, "/properties/$schema"));
    cr_expect_not_null(sm_json_find(root, "/properties/note"));
    expect_text(root, "/properties/width/type", "string");
    expect_text(root, "/properties/width/pattern", sm_schema_quantity_pattern());
    expect_text(root, "/properties/width/description", "across the top; length, 0.001 m to 10 m");
    expect_text(root, "/properties/width/examples/0", "34 mm");
    cr_expect_null(sm_json_find(root, "/properties/width/default"));
    expect_text(root, "/properties/gap/description", "length, at least 0 m");
    expect_text(root, "/properties/gap/default", "0.002 m");
    expect_text(root, "/properties/load/type", "number");
    expect_number(root, "/properties/load/minimum", 0.0);
    expect_number(root, "/properties/load/maximum", 1.0);
    expect_number(root, "/properties/load/default", 0.5);
    expect_text(root, "/properties/count/type", "integer");
    expect_number(root, "/properties/count/maximum", 9.0);
    expect_text(root, "/properties/glazed/type", "boolean");
    cr_expect(sm_json_is(sm_json_find(root, "/properties/glazed/default"), SM_JSON_BOOL));
    expect_text(root, "/properties/colour/enum/1", "green");
    expect_text(root, "/properties/colour/default", "green");
    expect_text(root, "/properties/faces/items/enum/0", "red");
    cr_expect(sm_json_bool(sm_json_find(root, "/properties/faces/uniqueItems")));
    expect_text(root, "/properties/faces/default/0", "green");
    expect_number(root, "/properties/name/maxLength", 4096.0);
    expect_text(root, "/properties/holes/type", "array");
    expect_number(root, "/properties/holes/minItems", 1.0);
    expect_number(root, "/properties/holes/maxItems", 4.0);
    expect_text(root, "/properties/holes/items/required/0", "x");
    expect_text(root, "/properties/lid/type", "object");
    expect_text(root, "/properties/lid/description", "its lid");
    expect_text(root, "/properties/lid/properties/x/type", "string");
}

static void one_shape(struct sm_json_writer *out, size_t i, const void *user)
{
    const struct sm_schema_rows *tables = user;
    const struct sm_schema_property tag = {"shape", true, sm_schema_const, words[i]};
    sm_schema_object(out, NULL, tables, 1 + i, &tag, 1);
}

static void shapes(struct sm_json_writer *out, const void *user)
{
    sm_schema_one_of(out, 2, one_shape, user);
}

static void pots(struct sm_json_writer *out, const void *user)
{
    const struct sm_schema_property item = {NULL, false, shapes, user};
    sm_schema_array(out, "from the left", 1, 64, &item);
}

/* A list of tagged objects, each with common rows and its own, as a document of several pieces. */
Test(schema, pieces_fit_together)
{
    const struct sm_schema_rows tables[] = {{rows, 1}, {inner_rows, 1}};
    const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, "shelf/1"},
        {"owner", false, sm_schema_text, "who made them"},
        {"pots", true, pots, tables},
    };
    sm_schema_document(&w, "shelf/1", "A shelf", "of pots", NULL, 0, properties, 3);
    const struct sm_json *root = written();
    expect_text(root, "/description", "of pots");
    expect_text(root, "/properties/format/const", "shelf/1");
    expect_text(root, "/properties/owner/description", "who made them");
    expect_text(root, "/required/1", "pots");
    expect_text(root, "/properties/pots/description", "from the left");
    expect_number(root, "/properties/pots/maxItems", 64.0);
    cr_expect_eq(sm_json_count(sm_json_find(root, "/properties/pots/items/oneOf")), 2);
    expect_text(root, "/properties/pots/items/oneOf/0/properties/shape/const", "red");
    expect_text(root, "/properties/pots/items/oneOf/1/properties/shape/const", "green");
    cr_expect_null(sm_json_find(root, "/properties/pots/items/oneOf/0/properties/x"));
    expect_text(root, "/properties/pots/items/oneOf/1/required/2", "x");
}

Test(schema, a_quantity_without_a_row)
{
    sm_json_open_array(&w);
    sm_schema_quantity(&w, SM_DIM_PRESSURE, 0, 0, NULL);
    sm_schema_quantity(&w, SM_DIM_NONE, 0, 2, "a factor");
    sm_json_close(&w);
    const struct sm_json *root = written();
    expect_text(root, "/0/description", "pressure");
    expect_number(root, "/1/maximum", 2.0);
}

/* Whatever the reader takes, the pattern takes; what it refuses for its form, the pattern refuses. The pattern is tried
 * by POSIX regcomp, an independent reader of it. */
Test(schema, the_pattern_agrees_with_the_reader)
{
    static const char *const good[] = {
        "38 mm",       "0.368 in/s", "+.5 m", "5.m",         "1e-3 kg m2", "2.4e-5 kg m2",
        "0.002 1/K",   "0.002 /K",   "5 %/K", "15 \xC2\xB0", "25 degC",    "5mm",
        "5 \xC2\xB5m", "0.2 per K",  "-5 mm", "  7  mm  ",   "1E5 Pa",     "3 1 per K"};
    static const char *const bad[] = {"",       "34",     "mm",      "1/2 in", "1,5 mm", "1 000 mm",
                                      "2*3 mm", "2+3 mm", "10^3 Pa", "5 2 m",   "--5 mm", ". mm",
                                      "e5 mm",  "5 @ m",  "5 (m",    "5 -m",    "5 ",     "inf m"};
    static const enum sm_dim dims[] = {SM_DIM_LENGTH,          SM_DIM_SPEED, SM_DIM_INERTIA,
                                       SM_DIM_PER_TEMPERATURE, SM_DIM_ANGLE, SM_DIM_PRESSURE,
                                       SM_DIM_TEMPERATURE};
    struct sm_units *units;
    regex_t pattern;
    cr_assert_eq(sm_units_open(&units, NULL), SM_OK);
    cr_assert_eq(regcomp(&pattern, sm_schema_quantity_pattern(), REG_EXTENDED | REG_NOSUB), 0);
    for (size_t i = 0; i < SM_COUNT(good) + SM_COUNT(bad); i++) {
        const bool is_good = i < SM_COUNT(good);
        const char *text = is_good ? good[i] : bad[i - SM_COUNT(good)];
        bool taken = false;
        double si;
        for (size_t d = 0; d < SM_COUNT(dims); d++)
            taken = taken || sm_units_parse(units, text, dims[d], &si, NULL) == SM_OK;
        cr_expect_eq(taken, is_good, "%s: reader", text);
        cr_expect_eq(regexec(&pattern, text, 0, NULL, 0) == 0, is_good, "%s: pattern", text);
    }
    regfree(&pattern);
    sm_units_free(units);
}
