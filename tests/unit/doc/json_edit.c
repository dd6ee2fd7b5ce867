/* Walking, addressing, editing and locating values of a document. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/sink.h"
#include "doc/json.h"
#include "doc/json_write.h"
#include "slowmatch/limits.h"

static struct sm_json_doc *parsed(const char *text, const char *name)
{
    struct sm_json_doc *doc;
    struct sm_error err = {0};
    cr_assert_eq(sm_json_parse(text, strlen(text), name, &doc, &err), SM_OK, "%s", err.message);
    return doc;
}

/* The document on one line would differ from how the writer lays it out, so texts are compared without blanks. */
static void expect_text(const struct sm_json_doc *doc, const char *expected)
{
    struct sm_memory_sink memory;
    struct sm_json_writer w;
    sm_memory_sink_init(&memory, NULL);
    sm_json_write_init(&w, &memory.sink);
    sm_json_put_value(&w, sm_json_root(doc));
    cr_assert_eq(sm_json_write_end(&w, NULL), SM_OK);
    char *dense = malloc(memory.n + 1);
    size_t n = 0;
    for (size_t i = 0; i < memory.n; i++)
        if (!strchr(" \n", memory.bytes[i]))
            dense[n++] = memory.bytes[i];
    dense[n] = '\0';
    cr_expect_str_eq(dense, expected);
    free(dense);
    sm_memory_sink_release(&memory);
}

/* RFC 6901 section 5: the RFC's own document and its twelve pointers. */
Test(json_edit, pointers_of_rfc_6901)
{
    struct sm_json_doc *doc =
        parsed("{\"foo\": [\"bar\", \"baz\"], \"\": 0, \"a/b\": 1, \"c%d\": 2, \"e^f\": 3, \"g|h\": 4,"
               " \"i\\\\j\": 5, \"k\\\"l\": 6, \" \": 7, \"m~n\": 8}",
               "rfc");
    const struct sm_json *root = sm_json_root(doc);
    cr_expect_eq(sm_json_find(root, ""), root);
    cr_expect_eq(sm_json_count(sm_json_find(root, "/foo")), 2);
    cr_expect_str_eq(sm_json_string(sm_json_find(root, "/foo/0")), "bar");
    static const char *const pointers[] = {"/",     "/a~1b", "/c%d", "/e^f", "/g|h",
                                           "/i\\j", "/k\"l", "/ ",   "/m~0n"};
    for (size_t i = 0; i < SM_COUNT(pointers); i++)
        cr_expect_eq(sm_json_number(sm_json_find(root, pointers[i])), (double)i, "%s", pointers[i]);
    static const char *const absent[] = {"foo",      "/foo/2", "/foo/-", "/foo/01", "/foo/+1",
                                         "/foo/0/x", "/bar",   "/Foo",   "/m~2n",   "/m~n",
                                         "/foo/",    "//",     "/a/b",   "/foo/1e0"};
    for (size_t i = 0; i < SM_COUNT(absent); i++)
        cr_expect_null(sm_json_find(root, absent[i]), "%s", absent[i]);
    sm_json_free(doc);
}

Test(json_edit, values_are_told_by_type)
{
    struct sm_json_doc *doc =
        parsed("{\"n\": null, \"t\": true, \"f\": false, \"x\": 1.5, \"s\": \"a\", \"l\": []}", "d");
    const struct sm_json *root = sm_json_root(doc);
    static const enum sm_json_type types[] = {SM_JSON_NULL,   SM_JSON_BOOL,   SM_JSON_BOOL,
                                              SM_JSON_NUMBER, SM_JSON_STRING, SM_JSON_ARRAY};
    static const char *const keys[] = {"n", "t", "f", "x", "s", "l"};
    size_t i = 0;
    for (const struct sm_json *v = sm_json_first(root); v; v = sm_json_next(v), i++) {
        cr_expect_eq(sm_json_type(v), types[i]);
        cr_expect_str_eq(sm_json_key(v), keys[i]);
        cr_expect_eq(sm_json_get(root, keys[i]), v);
    }
    cr_expect_eq(i, 6);
    cr_expect(sm_json_bool(sm_json_get(root, "t")) && !sm_json_bool(sm_json_get(root, "f")));
    cr_expect(isnan(sm_json_number(sm_json_get(root, "s"))));
    cr_expect_null(sm_json_string(sm_json_get(root, "x")));
    cr_expect_null(sm_json_get(root, "T"), "case counts");
    cr_expect_null(sm_json_get(sm_json_get(root, "l"), "x"));
    cr_expect_null(sm_json_first(NULL));
    cr_expect_not(sm_json_is(NULL, SM_JSON_NULL));
    sm_json_free(doc);
}

static void set(struct sm_json_doc *doc, const char *where, const char *value)
{
    struct sm_error err = {0};
    cr_assert_eq(sm_json_set(doc, where, value, "--set", &err), SM_OK, "%s", err.message);
}

Test(json_edit, set_takes_json_or_text)
{
    struct sm_json_doc *doc = parsed("{\"grains\":[{\"length\":\"1mm\"}],\"nozzle\":{}}", "m.json");
    set(doc, "grains.0.length", "88 mm");
    set(doc, "/grains/0/count", "3");
    set(doc, "nozzle.flag", "true");
    set(doc, "nozzle.none", "null");
    set(doc, "nozzle.a~b/c", "\"34\"");
    set(doc, "grains.1", "{\"shape\": \"tube\"}");
    set(doc, "grains.-", "[1, 2]");
    set(doc, "nozzle.text", "1e999");
    set(doc, "nozzle.half", "01");
    expect_text(
        doc, "{\"grains\":[{\"length\":\"88mm\",\"count\":3},{\"shape\":\"tube\"},[1,2]],"
             "\"nozzle\":{\"flag\":true,\"none\":null,\"a~b/c\":\"34\",\"text\":\"1e999\",\"half\":\"01\"}}");
    set(doc, "", "[]");
    expect_text(doc, "[]");
    sm_json_free(doc);
}

Test(json_edit, a_set_that_cannot_be_changes_nothing)
{
    char long_token[400] = "", *long_value = calloc(1, SM_MAX_JSON_BYTES + 2);
    const struct {
        const char *where, *value;
        enum sm_status status;
        const char *in_message;
    } cases[] = {
        {"grains.3.length", "1 mm", SM_E_FIELD, "no place '3' in a list of 1"},
        {"grains.2", "1", SM_E_FIELD, "no place '2' in a list of 1"},
        {"grains.x", "1", SM_E_FIELD, "no place 'x'"},
        {"grains.-.length", "1", SM_E_FIELD, "no place '-'"},
        {"nozle.throat", "1", SM_E_FIELD, "there is no 'nozle'"},
        {"name.first", "1", SM_E_FIELD, "inside a string"},
        {"a..b", "1", SM_E_SYNTAX, "empty part"},
        {".a", "1", SM_E_SYNTAX, "empty part"},
        {"a.", "1", SM_E_SYNTAX, "empty part"},
        {"/a~2", "1", SM_E_SYNTAX, "~0"},
        {"nozzle", "{\"a\": 1,}", SM_E_SYNTAX, "comma"},
        {"nozzle", "[1", SM_E_SYNTAX, "ends"},
        {"nozzle", "\"open", SM_E_SYNTAX, "quote"},
        {"nozzle", "{\"a\":1,\"a\":2}", SM_E_FIELD, "twice"},
        {"nozzle", "\xFF", SM_E_SYNTAX, "UTF-8"},
        {long_token, "1", SM_E_SYNTAX, "aa' is not a JSON pointer"},
        {"nozzle", long_value, SM_E_RANGE, "the value for nozzle has more than 16777216 bytes"},
    };
    memset(long_token, 'a', sizeof long_token - 1);
    cr_assert_not_null(long_value);
    memset(long_value, ' ', SM_MAX_JSON_BYTES + 1);
    static const char text[] = "{\"name\":\"n\",\"grains\":[{}],\"nozzle\":{}}";
    struct sm_json_doc *doc = parsed(text, "m.json");
    for (size_t i = 0; i < SM_COUNT(cases); i++) {
        struct sm_error err = {0};
        cr_expect_eq(sm_json_set(doc, cases[i].where, cases[i].value, "--set", &err), cases[i].status,
                     "case %zu", i);
        cr_expect(strstr(err.message, cases[i].in_message), "case %zu: %s", i, err.message);
        cr_expect_str_eq(err.at.file, "--set");
        expect_text(doc, text);
    }
    free(long_value);
    sm_json_free(doc);
}

Test(json_edit, depth_stays_bounded)
{
    struct sm_json_doc *doc = parsed("[]", "d");
    char where[256] = "";
    enum sm_status status = SM_OK;
    int depth = 1;
    while (status == SM_OK && depth < 200) {
        strcat(where, "/0");
        status = sm_json_set(doc, where, "[]", "--set", NULL);
        depth += status == SM_OK;
        if (strlen(where) > 240)
            break;
    }
    cr_expect_eq(status, SM_E_RANGE);
    cr_expect_eq(depth, 64);
    sm_json_free(doc);
}

static void locate(const struct sm_json_doc *doc, enum sm_status status, const char *path,
                   struct sm_error *err)
{
    *err = (struct sm_error){.status = status};
    strcpy(err->at.path, path);
    sm_json_locate(doc, err);
}

static void expect_place(const struct sm_error *err, const char *file, unsigned line, unsigned column)
{
    cr_expect_str_eq(err->at.file, file);
    cr_expect_eq(err->at.line, line, "%s: line %u", err->at.path, err->at.line);
    cr_expect_eq(err->at.column, column, "%s: column %u", err->at.path, err->at.column);
}

Test(json_edit, places_of_values_and_keys)
{
    struct sm_json_doc *doc = parsed("{\n  \"a\\u0062\": [1,\n    {\"c\" : \"d\"}\n  ]\n}\n", "f.json");
    struct sm_error err;
    locate(doc, SM_E_UNIT, "/ab/1/c", &err);
    expect_place(&err, "f.json", 3, 12);
    cr_expect_str_eq(err.excerpt, "    {\"c\" : \"d\"}");
    cr_expect_eq(err.caret, 12);
    locate(doc, SM_E_FIELD, "/ab/1/c", &err);
    expect_place(&err, "f.json", 3, 6);
    locate(doc, SM_E_FIELD, "/ab/1/missing", &err);
    expect_place(&err, "f.json", 3, 5);
    locate(doc, SM_E_UNIT, "/ab", &err);
    expect_place(&err, "f.json", 2, 14);
    locate(doc, SM_E_UNIT, "", &err);
    expect_place(&err, "f.json", 1, 1);
    cr_expect_eq(sm_json_line(doc, sm_json_find(sm_json_root(doc), "/ab/1")), 3);
    sm_json_free(doc);
}

Test(json_edit, places_follow_what_was_set_and_spliced)
{
    struct sm_json_doc *motor = parsed("{\n\"propellant\": \"x\",\n\"n\": {\"t\": \"1 mm\"}\n}", "m.json");
    struct sm_json_doc *book = parsed("{\"list\": [\n{\"density\": \"1 g\",\n\"rate\": [1, 2]}]}", "p.json");
    cr_assert_eq(sm_json_splice(motor, "/propellant", book, "/list/0", NULL), SM_OK);
    set(motor, "propellant.rate.1", "5 psi");
    set(motor, "n.t", "2 mm");
    expect_text(motor, "{\"propellant\":{\"density\":\"1g\",\"rate\":[1,\"5psi\"]},\"n\":{\"t\":\"2mm\"}}");
    struct sm_error err;
    locate(motor, SM_E_UNIT, "/propellant/density", &err);
    expect_place(&err, "p.json", 2, 13);
    cr_expect_str_eq(err.at.path, "/list/0/density");
    locate(motor, SM_E_UNIT, "/propellant/rate/0", &err);
    expect_place(&err, "p.json", 3, 10);
    locate(motor, SM_E_UNIT, "/propellant/rate/1", &err);
    expect_place(&err, "--set", 1, 19);
    cr_expect_str_eq(err.at.path, "/propellant/rate/1");
    cr_expect_str_eq(err.excerpt, "propellant.rate.1=5 psi");
    locate(motor, SM_E_FIELD, "/n/t", &err);
    expect_place(&err, "--set", 1, 1);
    locate(motor, SM_E_UNIT, "/n", &err);
    expect_place(&err, "m.json", 3, 6);

    /* Into a third document, with what was spliced and set within it. */
    struct sm_json_doc *all = parsed("{\"motors\": []}", "all.json");
    cr_assert_eq(sm_json_splice(all, "motors.0", motor, "", NULL), SM_OK);
    sm_json_free(motor);
    sm_json_free(book);
    locate(all, SM_E_UNIT, "/motors/0/propellant/rate/0", &err);
    expect_place(&err, "p.json", 3, 10);
    cr_expect_str_eq(err.at.path, "/list/0/rate/0");
    locate(all, SM_E_UNIT, "/motors/0/n", &err);
    expect_place(&err, "m.json", 3, 6);
    cr_expect_str_eq(err.at.path, "/n");
    cr_expect_eq(sm_json_splice(all, "motors.0", all, "/nowhere", &err), SM_E_FIELD);
    cr_assert_eq(sm_json_splice(all, "copy", all, "/motors", &err), SM_OK);
    locate(all, SM_E_UNIT, "/copy/0/propellant/density", &err);
    expect_place(&err, "p.json", 2, 13);
    sm_json_free(all);
}

Test(json_edit, remove)
{
    struct sm_json_doc *doc = parsed("{\"a\":[1,2,3],\"b\":0}", "d");
    cr_expect(sm_json_remove(doc, "a.1"));
    cr_expect(sm_json_remove(doc, "/b"));
    cr_expect_not(sm_json_remove(doc, "/b"));
    cr_expect_not(sm_json_remove(doc, "/a/7"));
    cr_expect_not(sm_json_remove(doc, ""));
    expect_text(doc, "{\"a\":[1,3]}");
    sm_json_free(doc);
}

Test(json_edit, files)
{
    char folder[] = "/tmp/sm-json-XXXXXX", path[64];
    cr_assert(mkdtemp(folder));
    struct sm_json_doc *doc;
    struct sm_error err = {0};
    cr_expect_eq(sm_json_read_file(folder, &doc, &err), SM_E_IO);
    cr_expect(strstr(err.message, "folder"), "%s", err.message);
    snprintf(path, sizeof path, "%s/a.json", folder);
    cr_expect_eq(sm_json_read_file(path, &doc, &err), SM_E_IO);
    cr_expect(strstr(err.message, "no such file"), "%s", err.message);
    cr_expect_str_eq(err.at.file, path);
    FILE *file = fopen(path, "wb");
    fclose(file);
    cr_expect_eq(sm_json_read_file(path, &doc, &err), SM_E_SYNTAX);
    cr_expect(strstr(err.message, "nothing"), "%s", err.message);
    file = fopen(path, "wb");
    fputs("{\"a\": 1}\n", file);
    fclose(file);
    cr_assert_eq(sm_json_read_file(path, &doc, &err), SM_OK);
    cr_expect_eq(sm_json_number(sm_json_find(sm_json_root(doc), "/a")), 1.0);
    cr_expect_str_eq(sm_json_name(doc), path);
    sm_json_free(doc);
    if (geteuid() != 0) { /* root reads everything */
        chmod(path, 0);
        cr_expect_eq(sm_json_read_file(path, &doc, &err), SM_E_IO);
        cr_expect(strstr(err.message, "permission"), "%s", err.message);
    }
    cr_assert_eq(truncate(path, (16 << 20) + 1), 0);
    chmod(path, 0600);
    cr_expect_eq(sm_json_read_file(path, &doc, &err), SM_E_RANGE);
    cr_expect_null(doc);
    unlink(path);
    rmdir(folder);
}
