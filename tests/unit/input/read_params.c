/* Objects read by rows. What is expected follows from the rows below and from include/slowmatch/param.h. */
#include <criterion/criterion.h>
#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "input/read_params.h"
#include "slowmatch/limits.h"
#include "unit/base/comma_locale.h"

/* Told by a time or by a height. */
struct bell {
    double after;  /* [s] */
    double height; /* [m] */
};

static const struct sm_param bell_height = {.name = "ring_at",
                                            .kind = SM_QUANTITY,
                                            .dim = SM_DIM_LENGTH,
                                            .offset = offsetof(struct bell, height),
                                            .min = 1,
                                            .max = 50,
                                            .fallback = SM_OPTIONAL,
                                            .help = "or at a height"};
static const struct sm_param bell_rows[] = {{.name = "ring_at",
                                             .kind = SM_QUANTITY,
                                             .dim = SM_DIM_TIME,
                                             .offset = offsetof(struct bell, after),
                                             .min = 0,
                                             .max = 100,
                                             .fallback = 2,
                                             .help = "after noon",
                                             .alternative = &bell_height}};

struct hole {
    double x; /* [m] */
    int sides;
};

struct pot {
    double width;  /* [m] */
    double load;   /* [1] */
    double warmth; /* [K] */
    int count;
    bool glazed;
    int colour;
    unsigned faces;
    const char *name;
    struct sm_list holes;
    struct hole lid;
};

static const char *const colours[] = {"red", "green", "blue", NULL};
static const char *const faces[] = {"inside", "outside", "foot", NULL};

static const struct sm_param hole_rows[] = {
    {.name = "x",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct hole, x),
     .min = -1,
     .max = 1,
     .fallback = SM_REQUIRED},
    {.name = "sides",
     .kind = SM_WHOLE,
     .offset = offsetof(struct hole, sides),
     .min = 3,
     .max = 12,
     .fallback = 6},
};

static const struct sm_param rows[] = {
    {.name = "width",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct pot, width),
     .min = 0.001,
     .max = 10,
     .fallback = SM_REQUIRED},
    {.name = "load", .kind = SM_QUANTITY, .offset = offsetof(struct pot, load), .max = 1, .fallback = 0.5},
    {.name = "warmth",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_TEMPERATURE,
     .offset = offsetof(struct pot, warmth),
     .min = 200,
     .max = 1000,
     .fallback = SM_OPTIONAL},
    {.name = "count",
     .kind = SM_WHOLE,
     .offset = offsetof(struct pot, count),
     .min = 1,
     .max = 99,
     .fallback = 1},
    {.name = "glazed", .kind = SM_FLAG, .offset = offsetof(struct pot, glazed), .fallback = 1},
    {.name = "colour",
     .kind = SM_CHOICE,
     .offset = offsetof(struct pot, colour),
     .fallback = SM_OPTIONAL,
     .words = colours},
    {.name = "faces",
     .kind = SM_CHOICES,
     .offset = offsetof(struct pot, faces),
     .fallback = SM_OPTIONAL,
     .words = faces},
    {.name = "name", .kind = SM_TEXT, .offset = offsetof(struct pot, name), .fallback = SM_OPTIONAL},
    {.name = "holes",
     .kind = SM_LIST,
     .offset = offsetof(struct pot, holes),
     .max = 4,
     .fallback = SM_OPTIONAL,
     .rows = hole_rows,
     .n_rows = 2,
     .row_size = sizeof(struct hole)},
    {.name = "lid",
     .kind = SM_RECORD,
     .offset = offsetof(struct pot, lid),
     .fallback = SM_OPTIONAL,
     .rows = hole_rows,
     .n_rows = 2},
};

static struct sm_units *units;
static struct sm_arena arena;
static struct sm_diag diag;
static struct sm_reader reader;
static struct sm_json_doc *doc;

static void open_all(void)
{
    cr_assert_eq(sm_units_open(&units, NULL), SM_OK);
    sm_arena_init(&arena, NULL);
    reader = (struct sm_reader){&arena, units, &diag};
}

static void close_all(void)
{
    sm_json_free(doc);
    sm_diag_release(&diag);
    sm_arena_release(&arena);
    sm_units_free(units);
}

TestSuite(read_params, .init = open_all, .fini = close_all);

static enum sm_status read_pot(const char *text, struct pot *pot)
{
    static const char *const handled[] = {"shape", NULL};
    struct sm_error err = {0};
    sm_json_free(doc);
    sm_diag_release(&diag);
    memset(pot, 0xA5, sizeof *pot); /* every row must be set whatever was there */
    cr_assert_eq(sm_json_parse(text, strlen(text), "pot.json", &doc, &err), SM_OK, "%s", err.message);
    const struct sm_param_table table = {rows, SM_COUNT(rows), pot};
    const enum sm_status status = sm_read_params(&reader, sm_json_root(doc), "", &table, 1, handled);
    sm_json_locate_all(doc, &diag);
    return status;
}

Test(read_params, everything_given)
{
    struct pot pot;
    cr_assert_eq(
        read_pot("{\"$schema\": \"x\", \"note\": [1, {}], \"shape\": 5, \"width\": \"12 in\", \"load\": 0.25,"
                 "\"warmth\": \"25 degC\", \"count\": 3, \"glazed\": false, \"colour\": \"blue\","
                 "\"faces\": [\"foot\", \"inside\"], \"name\": \"Krug \\u00e9\","
                 "\"holes\": [{\"x\": \"1 mm\"}, {\"x\": \"-2 cm\", \"sides\": 4, \"note\": 0}],"
                 "\"lid\": {\"x\": \"0 m\", \"sides\": 12}}",
                 &pot),
        SM_OK);
    cr_expect_eq(pot.width, 12 * 0.0254);
    cr_expect_eq(pot.load, 0.25);
    cr_expect_eq(pot.warmth, 298.15);
    cr_expect_eq(pot.count, 3);
    cr_expect_not(pot.glazed);
    cr_expect_eq(pot.colour, 2);
    cr_expect_eq(pot.faces, 1u << 2 | 1u << 0);
    cr_expect_str_eq(pot.name, "Krug \xC3\xA9");
    cr_assert_eq(pot.holes.n, 2);
    const struct hole *holes = pot.holes.items;
    cr_expect(holes[0].x == 0.001 && holes[0].sides == 6 && holes[1].x == -0.02 && holes[1].sides == 4);
    cr_expect(pot.lid.x == 0.0 && pot.lid.sides == 12);
    cr_expect_eq(diag.n_found, 0);
}

Test(read_params, what_is_absent)
{
    struct pot pot;
    cr_assert_eq(read_pot("{\"width\": \"1 m\"}", &pot), SM_OK);
    cr_expect_eq(pot.load, 0.5);
    cr_expect(isnan(pot.warmth));
    cr_expect_eq(pot.count, 1);
    cr_expect(pot.glazed);
    cr_expect_eq(pot.colour, -1);
    cr_expect_eq(pot.faces, SM_CHOICES_ABSENT);
    cr_expect_null(pot.name);
    cr_expect_eq(pot.holes.n, 0);
    cr_expect(isnan(pot.lid.x) && pot.lid.sides == 6);
    cr_assert_eq(read_pot("{\"width\": \"1 m\", \"faces\": [], \"holes\": []}", &pot), SM_OK);
    cr_expect_eq(pot.faces, 0u);
}

/* One problem in an otherwise good object: its status, pointer, place and the gist of its message. */
static const struct fault {
    const char *member; /* stands on line 2 */
    enum sm_status status;
    const char *path;
    unsigned column; /* within the member, from 1 */
    const char *in_message;
} faults[] = {
    {"\"colr\": 1", SM_E_FIELD, "/colr", 1, "unknown key 'colr'; did you mean 'colour'?"},
    {"\"Name\": \"a\"", SM_E_FIELD, "/Name", 1, "did you mean 'name'?"},
    {"\"shap\": \"a\"", SM_E_FIELD, "/shap", 1, "did you mean 'shape'?"},
    {"\"a/b~\": 1", SM_E_FIELD, "/a~1b~0", 1, "unknown key 'a/b~'"},
    {"\"load\": \"0.5\"", SM_E_UNIT, "/load", 9, "without quotes"},
    {"\"load\": \"50 %\"", SM_E_UNIT, "/load", 9, "without quotes"},
    {"\"load\": true", SM_E_SYNTAX, "/load", 9, "must be a number, not true or false"},
    {"\"load\": 1.5", SM_E_RANGE, "/load", 9, "load is 1.5; it must be from 0 to 1"},
    {"\"warmth\": 300", SM_E_UNIT, "/warmth", 11,
     "needs a unit of temperature: write a string such as \"300 degC\" in place of 300"},
    {"\"warmth\": \"300\"", SM_E_UNIT, "/warmth", 11, "needs a unit"},
    {"\"warmth\": \"300 mm\"", SM_E_UNIT, "/warmth", 11, "'mm' is a unit of length"},
    {"\"warmth\": \"-100 degC\"", SM_E_RANGE, "/warmth", 11,
     "warmth is -100 degC; it must be from -73.15 degC to 726.85 degC"},
    {"\"warmth\": null", SM_E_SYNTAX, "/warmth", 11, "not null"},
    {"\"count\": 1.5", SM_E_RANGE, "/count", 10, "whole number"},
    {"\"count\": 1e10", SM_E_RANGE, "/count", 10, "whole number"},
    {"\"warmth\": \"-200 degF\"", SM_E_RANGE, "/warmth", 11,
     "warmth is -200 degF; it must be from -99.67 degF to 1340.33 degF"},
    {"\"count\": 0", SM_E_RANGE, "/count", 10, "count is 0; it must be from 1 to 99"},
    {"\"count\": \"3\"", SM_E_UNIT, "/count", 10, "without quotes"},
    {"\"glazed\": 1", SM_E_SYNTAX, "/glazed", 11, "must be true or false, not the number 1"},
    {"\"glazed\": \"yes\"", SM_E_SYNTAX, "/glazed", 11, "not the string \"yes\""},
    {"\"colour\": \"gren\"", SM_E_RANGE, "/colour", 11,
     "did you mean 'green'? It is one of red, green, blue"},
    {"\"colour\": \"mauve\"", SM_E_RANGE, "/colour", 11, "can't be 'mauve'; it is one of red, green, blue"},
    {"\"colour\": 2", SM_E_SYNTAX, "/colour", 11, "one of red, green, blue"},
    {"\"faces\": \"foot\"", SM_E_SYNTAX, "/faces", 10, "array of words (inside, outside, foot)"},
    {"\"faces\": [\"foot\", \"lid\"]", SM_E_RANGE, "/faces/1", 19, "can't be 'lid'"},
    {"\"faces\": [\"foot\", \"foot\"]", SM_E_RANGE, "/faces/1", 19, "'foot' twice"},
    {"\"name\": 5", SM_E_SYNTAX, "/name", 9, "must be a string"},
    {"\"holes\": {}", SM_E_SYNTAX, "/holes", 10, "must be an array of objects, not an object"},
    {"\"holes\": [{}]", SM_E_FIELD, "/holes/0/x", 11, "x is missing: write \"x\": \"34 mm\""},
    {"\"holes\": [5]", SM_E_SYNTAX, "/holes/0", 11, "an object is needed here, not the number 5"},
    {"\"holes\": [{\"x\": \"1 m\", \"y\": 0}]", SM_E_FIELD, "/holes/0/y", 24, "unknown key 'y'"},
    {"\"holes\": [{\"x\": \"-50 in\"}]", SM_E_RANGE, "/holes/0/x", 17,
     "x is -50 in; it must be from -39.3701 in to 39.3701 in"},
    {"\"holes\": [{\"x\": \"2 m\"}]", SM_E_RANGE, "/holes/0/x", 17, "x is 2 m; it must be from -1 m to 1 m"},
    {"\"lid\": []", SM_E_SYNTAX, "/lid", 8, "an object is needed here, not an array"},
    {"\"lid\": {\"sides\": 4}", SM_E_FIELD, "/lid/x", 8, "x is missing"},
    {"\"lid\": {\"x\": \"1 m\", \"sides\": 2}", SM_E_RANGE, "/lid/sides", 30, "from 3 to 12"},
};

Test(read_params, single_faults)
{
    for (size_t i = 0; i < SM_COUNT(faults); i++) {
        const struct fault *f = &faults[i];
        char text[256];
        struct pot pot;
        sm_text_format(text, sizeof text, "{\"width\": \"1 m\",\n%s}", f->member);
        cr_expect_eq(read_pot(text, &pot), f->status, "%s", f->member);
        cr_assert_eq(diag.n, 1, "%s: %zu problems", f->member, diag.n);
        const struct sm_error *p = &diag.items[0];
        cr_expect_eq(p->status, f->status, "%s", f->member);
        cr_expect_str_eq(p->at.path, f->path);
        cr_expect(p->at.line == 2 && p->at.column == f->column, "%s: %u:%u", f->member, p->at.line,
                  p->at.column);
        cr_expect(strstr(p->message, f->in_message), "%s: %s", f->member, p->message);
        cr_expect_eq(pot.width, 1.0, "the rest is read");
    }
}

Test(read_params, many_faults_are_told_at_once)
{
    struct pot pot;
    cr_expect_eq(read_pot("{\"load\": 2, \"count\": 0, \"glazed\": 0, \"x\": 1}", &pot), SM_E_FIELD);
    cr_expect_eq(diag.n, 5);
    cr_expect_eq(pot.load, 0.5, "a value with a problem is as if absent");
    cr_expect(isnan(pot.width));
    char text[1024] = "{\"width\": \"1 m\"";
    for (int i = 0; i < 30; i++)
        sm_text_format(text + strlen(text), sizeof text - strlen(text), ", \"k%d\": 0", i);
    strcat(text, "}");
    cr_expect_eq(read_pot(text, &pot), SM_E_FIELD);
    cr_expect_eq(diag.n, SM_DIAG_MAX);
    cr_expect_eq(diag.n_found, 30);
    cr_expect_eq(read_pot("[]", &pot), SM_E_SYNTAX);
    cr_expect_eq(diag.n, 1);
    cr_expect_eq(pot.count, 1);
}

Test(read_params, lengths)
{
    struct pot pot;
    static const char five[] =
        "{\"width\": \"1 m\", \"holes\": [{\"x\":\"0 m\"},{\"x\":\"0 m\"},{\"x\":\"0 m\"},"
        "{\"x\":\"0 m\"},{\"x\":\"0 m\"}]}";
    cr_expect_eq(read_pot(five, &pot), SM_E_RANGE);
    cr_expect_str_eq(diag.items[0].message, "holes has 5 entries; it must have from 0 to 4");
    char text[SM_MAX_TEXT + 100];
    for (int extra = 0; extra < 2; extra++) {
        strcpy(text, "{\"width\": \"1 m\", \"name\": \"");
        const size_t n = strlen(text);
        memset(text + n, 'a', (size_t)SM_MAX_TEXT + (size_t)extra);
        strcpy(text + n + SM_MAX_TEXT + extra, "\"}");
        cr_expect_eq(read_pot(text, &pot), extra ? SM_E_RANGE : SM_OK);
    }
}

Test(read_params, two_tables_read_one_object)
{
    struct pot pot;
    struct hole hole;
    cr_assert_eq(read_pot("{\"width\": \"1 m\"}", &pot), SM_OK);
    sm_json_free(doc);
    static const char text[] = "{\"outer\": {\"width\": \"1 m\", \"x\": \"1 cm\", \"sidse\": 3}}";
    cr_assert_eq(sm_json_parse(text, sizeof text - 1, "two.json", &doc, NULL), SM_OK);
    const struct sm_param_table tables[] = {{rows, SM_COUNT(rows), &pot}, {hole_rows, 2, &hole}};
    cr_expect_eq(
        sm_read_params(&reader, sm_json_find(sm_json_root(doc), "/outer"), "/outer", tables, 2, NULL),
        SM_E_FIELD);
    cr_assert_eq(diag.n, 1);
    cr_expect_str_eq(diag.items[0].at.path, "/outer/sidse");
    cr_expect(strstr(diag.items[0].message, "'sides'"));
    cr_expect(pot.width == 1.0 && hole.x == 0.01 && hole.sides == 6);
}

Test(read_params, values_that_a_caller_reads)
{
    static const char text[] = "{\"a\": \"5 psi\", \"b\": \"red\", \"c\": \"text\", \"d\": 7}";
    cr_assert_eq(sm_json_parse(text, sizeof text - 1, "own.json", &doc, NULL), SM_OK);
    const struct sm_json *root = sm_json_root(doc);
    double si = 0.0;
    const char *string = NULL;
    int place = -1;
    cr_expect_eq(sm_read_quantity(&reader, sm_json_get(root, "a"), "/a", SM_DIM_PRESSURE, &si), SM_OK);
    cr_expect(fabs(si - 5 * 6894.757293168) < 1e-6);
    cr_expect_eq(sm_read_choice(&reader, sm_json_get(root, "b"), "/b", colours, &place), SM_OK);
    cr_expect_eq(place, 0);
    cr_expect_eq(sm_read_text(&reader, sm_json_get(root, "c"), "/c", &string), SM_OK);
    cr_expect_str_eq(string, "text");
    cr_expect_eq(sm_read_quantity(&reader, sm_json_get(root, "d"), "/d", SM_DIM_NONE, &si), SM_OK);
    cr_expect_eq(si, 7.0);
    cr_expect_eq(diag.n, 0);
    cr_expect_eq(sm_read_quantity(&reader, sm_json_get(root, "d"), "/d", SM_DIM_MASS, &si), SM_E_UNIT);
    cr_expect_eq(sm_read_choice(&reader, sm_json_get(root, "c"), "/c", colours, &place), SM_E_RANGE);
    cr_expect_eq(sm_read_text(&reader, sm_json_get(root, "d"), "/d", &string), SM_E_SYNTAX);
    cr_expect_eq(sm_read_problem(&reader, "/a", SM_E_GEOMETRY, "%s is %d", "a", 5), SM_E_GEOMETRY);
    cr_expect_eq(diag.n, 4);
    cr_expect_str_eq(diag.items[0].message,
                     "d needs a unit of mass: write a string such as \"7 g\" in place of 7");
    cr_expect_str_eq(diag.items[3].message, "a is 5");
    cr_expect_str_eq(diag.items[3].at.path, "/a");
    cr_expect(si == 7.0 && place == 0 && strcmp(string, "text") == 0, "outputs are untouched on failure");
}

Test(read_params, overrides_are_located_in_their_text)
{
    struct pot pot;
    cr_assert_eq(read_pot("{\"width\": \"1 m\", \"lid\": {\"x\": \"0 m\"}}", &pot), SM_OK);
    cr_assert_eq(sm_json_set(doc, "lid.x", "5 psi", "--set", NULL), SM_OK);
    const struct sm_param_table table = {rows, SM_COUNT(rows), &pot};
    cr_expect_eq(sm_read_params(&reader, sm_json_root(doc), "", &table, 1, NULL), SM_E_UNIT);
    sm_json_locate_all(doc, &diag);
    cr_assert_eq(diag.n, 1);
    cr_expect_str_eq(diag.items[0].at.file, "--set");
    cr_expect_str_eq(diag.items[0].excerpt, "lid.x=5 psi");
    cr_expect_eq(diag.items[0].at.column, 7);
}

Test(read_params, a_comma_locale_changes_nothing)
{
    enter_comma_locale();
    struct pot pot;
    cr_assert_eq(read_pot("{\"width\": \"1.5 m\", \"load\": 0.25, \"lid\": {\"x\": \"2.5e-1 ft\"}}", &pot),
                 SM_OK);
    cr_expect(pot.width == 1.5 && pot.load == 0.25 && pot.lid.x == 0.25 * 0.3048);
    cr_expect_eq(read_pot("{\"width\": \"1.5 m\", \"load\": 1.25}", &pot), SM_E_RANGE);
    cr_expect_str_eq(diag.items[0].message, "load is 1.25; it must be from 0 to 1");
}

/* Reads a bell. Returned: the status, and the first message in problem. */
static enum sm_status read_bell(const char *text, struct bell *bell, struct sm_error *problem)
{
    struct sm_arena own;
    struct sm_units *own_units = NULL;
    struct sm_diag found = {0};
    struct sm_json_doc *json = NULL;
    sm_arena_init(&own, NULL);
    cr_assert_eq(sm_units_open(&own_units, NULL), SM_OK);
    cr_assert_eq(sm_json_parse(text, strlen(text), "bell", &json, NULL), SM_OK);
    struct sm_reader bells = {.arena = &own, .units = own_units, .diag = &found};
    const struct sm_param_table table = {bell_rows, 1, bell};
    const enum sm_status status = sm_read_params(&bells, sm_json_root(json), "", &table, 1, NULL);
    if (found.n > 0)
        *problem = found.items[0];
    sm_json_free(json);
    sm_units_free(own_units);
    sm_diag_release(&found);
    sm_arena_release(&own);
    return status;
}

Test(read_params, a_quantity_of_two_dimensions_goes_by_its_unit)
{
    struct bell b;
    struct sm_error err = {0};
    cr_expect(read_bell("{}", &b, &err) == SM_OK && b.after == 2.0 && isnan(b.height));
    cr_expect(read_bell("{\"ring_at\": \"500 ms\"}", &b, &err) == SM_OK && fabs(b.after - 0.5) < 1e-15 &&
              isnan(b.height));
    cr_expect(read_bell("{\"ring_at\": \"10 ft\"}", &b, &err) == SM_OK && b.after == 2.0 &&
              fabs(b.height - 3.048) < 1e-12);
    cr_expect(read_bell("{\"ring_at\": \"3 kg\"}", &b, &err) == SM_E_UNIT &&
                  strstr(err.message, "time or of length") && strcmp(err.at.path, "/ring_at") == 0,
              "%s", err.message);
    cr_expect(read_bell("{\"ring_at\": 3}", &b, &err) == SM_E_UNIT);
    cr_expect(read_bell("{\"ring_at\": true}", &b, &err) == SM_E_SYNTAX);
    cr_expect(read_bell("{\"ring_at\": \"51 m\"}", &b, &err) == SM_E_RANGE &&
                  strstr(err.message, "1 m to 50 m"),
              "%s", err.message);
    cr_expect(read_bell("{\"ring_at\": \"101 s\"}", &b, &err) == SM_E_RANGE &&
                  strstr(err.message, "0 s to 100 s"),
              "%s", err.message);
}
