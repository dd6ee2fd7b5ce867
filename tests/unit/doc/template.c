/*
 * The template language, by cases drawn from the rules of the Mustache specification, version 1.4, and, where
 * SM_STANDARDS_DIR names the folder, by the specification's own cases of the mandatory modules but partials.
 */
#include <criterion/criterion.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "doc/json.h"
#include "doc/template.h"

/* ---- JSON as data ---- */

static void give(const struct sm_json *value, struct sm_template_value *out)
{
    *out = (struct sm_template_value){.kind = SM_TEMPLATE_THING, .at = value};
    if (!value)
        out->kind = SM_TEMPLATE_UNKNOWN;
    else if (sm_json_is(value, SM_JSON_NULL) || (sm_json_is(value, SM_JSON_BOOL) && !sm_json_bool(value)))
        out->kind = SM_TEMPLATE_NOTHING;
    else if (sm_json_is(value, SM_JSON_ARRAY)) {
        out->kind = SM_TEMPLATE_LIST;
        out->n = sm_json_count(value);
    }
}

static enum sm_status member(void *user, const struct sm_template_value *of, const char *name, size_t n,
                             struct sm_template_value *out, struct sm_error *err)
{
    char key[128];
    (void)user, (void)err;
    snprintf(key, sizeof key, "%.*s", (int)n, name);
    give(sm_json_get(of->at, key), out);
    return SM_OK;
}

static void element(void *user, const struct sm_template_value *list, size_t i, struct sm_template_value *out)
{
    const struct sm_json *value = sm_json_first(list->at);
    (void)user;
    while (i-- > 0)
        value = sm_json_next(value);
    give(value, out);
}

static const char *text_of(void *user, const struct sm_template_value *value, char buf[SM_TEMPLATE_TEXT])
{
    (void)user;
    if (sm_json_is(value->at, SM_JSON_STRING))
        return sm_json_string(value->at);
    return sm_json_is(value->at, SM_JSON_NUMBER) ? sm_text_double(buf, sm_json_number(value->at)) : "";
}

static const char *name_of(void *user, const struct sm_template_value *value, size_t i)
{
    const struct sm_json *m = sm_json_is(value->at, SM_JSON_OBJECT) ? sm_json_first(value->at) : NULL;
    (void)user;
    while (m && i-- > 0)
        m = sm_json_next(m);
    return m ? sm_json_key(m) : NULL;
}

/* Renders into out[size]. */
static enum sm_status render(const char *text, const struct sm_json *data, struct sm_template_options options,
                             char *out, size_t size, struct sm_error *err)
{
    struct sm_arena arena;
    struct sm_memory_sink memory;
    struct sm_template *t;
    struct sm_template_data fill = {.member = member, .element = element, .text = text_of, .name = name_of};
    give(data, &fill.root);
    sm_arena_init(&arena, NULL);
    sm_memory_sink_init(&memory, NULL);
    enum sm_status status = sm_template_parse(text, strlen(text), "t", &arena, &t, err);
    if (status == SM_OK)
        status = sm_template_render(t, &fill, &options, &memory.sink, err);
    snprintf(out, size, "%s", memory.n > 0 ? memory.bytes : "");
    sm_memory_sink_release(&memory);
    sm_arena_release(&arena);
    return status;
}

static const struct sm_template_options as_specified = {.escapes = true, .unknown_is_empty = true};

/* ---- rules ---- */

static const struct {
    const char *text, *data, *wanted;
} cases[] = {
    /* variables */
    {"plain, braces { } and all\n", "{}", "plain, braces { } and all\n"},
    {"{{a}} {{ a }} {{\na\n}}", "{\"a\":\"x\"}", "x x x"},
    {"{{a}}", "{\"a\":\"& \\\" < >\"}", "&amp; &quot; &lt; &gt;"},
    {"{{{a}}}{{&a}}{{& a }}", "{\"a\":\"<&>\"}", "<&><&><&>"},
    {"{{a}}|{{b}}", "{\"a\":1.21,\"b\":85}", "1.21|85"},
    {"({{a}})({{b}})({{{b}}})", "{\"a\":null}", "()()()"},
    {"{{a.b.c}}", "{\"a\":{\"b\":{\"c\":\"deep\"}}}", "deep"},
    {"({{a.b.c}})", "{\"a\":{},\"c\":\"no\"}", "()"},
    {"({{a.b.c}})", "{\"a\":{\"b\":{}},\"b\":{\"c\":\"no\"}}", "()"},
    {"{{#a}}{{b.c}}{{/a}}", "{\"a\":{\"b\":{}},\"b\":{\"c\":\"no\"}}", ""},
    {"{{#a}}({{b}}){{/a}}", "{\"a\":{\"b\":null},\"b\":\"no\"}", "()"},
    {"{{.}}", "\"me\"", "me"},
    {"  {{a}}\n", "{\"a\":\"x\"}", "  x\n"},
    /* sections */
    {"{{#a}}yes{{/a}}{{#b}}no{{/b}}", "{\"a\":true,\"b\":false}", "yes"},
    {"{{#a}}no{{/a}}{{#b}}no{{/b}}{{#c}}no{{/c}}", "{\"a\":null,\"c\":[]}", ""},
    {"{{#a}}{{b}}{{/a}}", "{\"a\":{\"b\":\"in\"},\"b\":\"out\"}", "in"},
    {"{{#a}}{{c}}{{/a}}", "{\"a\":{\"b\":1},\"c\":\"out\"}", "out"},
    {"{{#a}}{{b}}{{/a}}", "{\"a\":[{\"b\":1},{\"b\":2},{\"b\":3}]}", "123"},
    {"{{#a}}({{.}}){{/a}}", "{\"a\":[1,\"b\",2.5]}", "(1)(b)(2.5)"},
    {"{{#a}}({{#.}}{{.}}{{/.}}){{/a}}", "{\"a\":[[1,2],[3]]}", "(12)(3)"},
    {"{{#.}}{{a}}{{/.}}", "[{\"a\":1},{\"a\":2}]", "12"},
    {"{{#a}}A{{#b}}B{{/b}}C{{/a}}", "{\"a\":true,\"b\":false}", "AC"},
    {"{{#a}}{{one}}{{#b}}{{one}}{{two}}{{/b}}{{/a}}", "{\"a\":{\"one\":1},\"b\":{\"two\":2}}", "112"},
    {"{{#a.b}}x{{/a.b}}", "{\"a\":{\"b\":true}}", "x"},
    {"{{#a}}zero{{/a}}", "{\"a\":0}", "zero"},
    {"{{#a}}({{.}}){{/a}}", "{\"a\":\"text\"}", "(text)"},
    /* inverted sections */
    {"{{^a}}x{{/a}}{{^b}}y{{/b}}{{^c}}z{{/c}}{{^d}}no{{/d}}", "{\"a\":false,\"b\":[],\"d\":[1]}", "xyz"},
    {"{{^a}}x{{/a}}{{^b}}no{{/b}}", "{\"a\":null,\"b\":{}}", "x"},
    {"{{^a.b.c}}x{{/a.b.c}}", "{\"a\":{}}", "x"},
    /* comments and delimiters */
    {"a{{! gone }}b{{!\nover\nlines}}c", "{}", "abc"},
    {"{{=<% %>=}}(<%a%>){{a}}<%={{ }}=%>({{a}})", "{\"a\":1}", "(1){{a}}(1)"},
    {"{{= | | =}}|#a|{{a}}|b||/a|", "{\"a\":true,\"b\":2}", "{{a}}2"},
    {"{{=<% %>=}}<%{a}%><%&a%>", "{\"a\":\"<\"}", "<<"},
    {"{{=@   @=}}(@a@)", "{\"a\":1}", "(1)"},
    /* tags alone on their line */
    {"a\n{{#s}}\nb\n{{/s}}\nc\n", "{\"s\":true}", "a\nb\nc\n"},
    {"a\n  {{#s}}  \nb\n\t{{/s}}\nc", "{\"s\":true}", "a\nb\nc"},
    {"{{#s}}\r\nb\r\n{{/s}}\r\n", "{\"s\":true}", "b\r\n"},
    {"  {{#s}}\nx\n{{/s}}", "{\"s\":true}", "x\n"},
    {"#{{#s}}\n/\n  {{/s}}", "{\"s\":true}", "#\n/\n"},
    {" {{#s}} {{/s}} \n", "{\"s\":true}", "   \n"},
    {" {{#s}}{{a}}{{/s}}\n", "{\"s\":true,\"a\":1}", " 1\n"},
    {"a\n{{! c }}\nb\n  {{! c\n d }}\ne\n", "{}", "a\nb\ne\n"},
    {"a\n  {{=@ @=}}\n@b@", "{\"b\":1}", "a\n1"},
    {"  12 {{! inline }}\n", "{}", "  12 \n"},
    {"a\n{{^s}}\nb\n{{/s}}\n\nc", "{}", "a\nb\n\nc"},
};

Test(template, rules)
{
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sm_json_doc *doc;
        struct sm_error err = {0};
        char out[1024];
        const char *data = cases[i].data;
        cr_assert(sm_json_parse(data, strlen(data), "data", &doc, &err) == SM_OK, "%s", err.message);
        const enum sm_status status =
            render(cases[i].text, sm_json_root(doc), as_specified, out, sizeof out, &err);
        sm_json_free(doc);
        cr_expect(status == SM_OK, "case %zu: %s", i, err.message);
        cr_expect_str_eq(out, cases[i].wanted, "case %zu: \"%s\", not \"%s\"", i, out, cases[i].wanted);
    }
}

Test(template, faults_have_a_place)
{
    static const struct {
        const char *text;
        unsigned line, column;
        enum sm_status status;
    } faults[] = {
        {"a\nb {{name", 2, 3, SM_E_SYNTAX},
        {"a {{{name}}", 1, 3, SM_E_SYNTAX},
        {"{{#a}}\n{{#b}}\n{{/a}}", 3, 4, SM_E_SYNTAX},
        {"x\n {{#a}} y", 2, 5, SM_E_SYNTAX},
        {"{{/a}}", 1, 4, SM_E_SYNTAX},
        {"{{> other}}", 1, 5, SM_E_SYNTAX},
        {"{{}}", 1, 3, SM_E_SYNTAX},
        {"{{a b}}", 1, 3, SM_E_SYNTAX},
        {"{{a..b}}", 1, 3, SM_E_SYNTAX},
        {"{{=x=}}", 1, 4, SM_E_SYNTAX},
        {"{{=x y z=}}", 1, 4, SM_E_SYNTAX},
        {"{{thrst}}", 1, 3, SM_E_FIELD},
        {"{{o.inside}}", 1, 5, SM_E_FIELD},
        {"{{empty}}", 1, 3, SM_E_FIELD},
        {"{{#nothing_such}}{{/nothing_such}}", 1, 4, SM_E_FIELD},
    };
    static const char data[] = "{\"thrust\":1,\"o\":{\"in\":1},\"empty\":null}";
    struct sm_json_doc *doc;
    struct sm_error err = {0};
    char out[64];
    cr_assert(sm_json_parse(data, strlen(data), "data", &doc, &err) == SM_OK);
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
        err = (struct sm_error){0};
        const struct sm_template_options strict = {0};
        cr_expect_eq(render(faults[i].text, sm_json_root(doc), strict, out, sizeof out, &err),
                     faults[i].status, "case %zu", i);
        cr_expect(err.at.line == faults[i].line && err.at.column == faults[i].column, "case %zu: %u:%u %s", i,
                  err.at.line, err.at.column, err.message);
    }
    render("{{thrst}}", sm_json_root(doc), (struct sm_template_options){0}, out, sizeof out, &err);
    cr_expect(strstr(err.message, "did you mean 'thrust'"), "%s", err.message);
    sm_json_free(doc);
}

Test(template, too_deep)
{
    char text[SM_TEMPLATE_DEPTH * 12 + 24] = "", out[8];
    struct sm_error err = {0};
    for (int i = 0; i <= SM_TEMPLATE_DEPTH; i++)
        strcat(text, "{{#a}}");
    cr_expect_eq(render(text, NULL, as_specified, out, sizeof out, &err), SM_E_RANGE);
}

/* ---- the specification's own ---- */

static size_t run_module(const char *folder, const char *module)
{
    char path[4200], out[4096];
    struct sm_json_doc *doc;
    struct sm_error err = {0};
    size_t n = 0;
    snprintf(path, sizeof path, "%s/mustache/%s.json", folder, module);
    cr_assert(sm_json_read_file(path, &doc, &err) == SM_OK, "%s: %s", path, err.message);
    for (const struct sm_json *c = sm_json_first(sm_json_get(sm_json_root(doc), "tests")); c;
         c = sm_json_next(c)) {
        const char *text = sm_json_string(sm_json_get(c, "template")),
                   *wanted = sm_json_string(sm_json_get(c, "expected"));
        const char *name = sm_json_string(sm_json_get(c, "name"));
        if (sm_json_get(c, "partials"))
            continue;
        cr_expect(render(text, sm_json_get(c, "data"), as_specified, out, sizeof out, &err) == SM_OK,
                  "%s, %s: %s", module, name, err.message);
        cr_expect_str_eq(out, wanted, "%s, %s: \"%s\", not \"%s\"", module, name, out, wanted);
        n++;
    }
    sm_json_free(doc);
    return n;
}

Test(template, specification)
{
    static const char *const modules[] = {"comments", "delimiters", "interpolation", "inverted", "sections"};
    const char *folder = getenv("SM_STANDARDS_DIR");
    size_t n = 0;
    if (!folder)
        cr_skip_test("SKIPPED: 122 cases of the specification: SM_STANDARDS_DIR is not set");
    for (size_t i = 0; i < sizeof modules / sizeof modules[0]; i++)
        n += run_module(folder, modules[i]);
    cr_expect(n >= 120, "%zu cases", n);
    cr_log_info("%zu cases of the specification", n);
}
