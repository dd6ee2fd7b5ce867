/*
 * The strict reader against RFC 8259, rule by rule; each text is our own or follows from the grammar of the RFC. The cases of
 * a published suite are in json_categories.c.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "doc/json.h"
#include "literal.h"
#include "slowmatch/limits.h"

static enum sm_status status_of(const char *bytes, size_t n, struct sm_error *err)
{
    struct sm_json_doc *doc;
    const enum sm_status status = sm_json_parse(bytes, n, "case", &doc, err);
    cr_assert((status == SM_OK) == (doc != NULL));
    sm_json_free(doc);
    return status;
}

static void all_pass(const struct text *texts, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        struct sm_error err = {0};
        const enum sm_status status = status_of(texts[i].bytes, texts[i].n, &err);
        cr_expect_eq(status, SM_OK, "case %zu, %s: %s", i, texts[i].bytes, err.message);
    }
}

/* Every refusal must say where, within the text. */
static void none_pass(const struct text *texts, size_t n, enum sm_status expected)
{
    for (size_t i = 0; i < n; i++) {
        struct sm_error err = {0};
        const enum sm_status status = status_of(texts[i].bytes, texts[i].n, &err);
        cr_expect_eq(status, expected, "case %zu, %s: %d %s", i, texts[i].bytes, (int)status, err.message);
        cr_expect(err.at.line >= 1 && err.at.column >= 1 && err.caret >= 1, "case %zu has no place", i);
        cr_expect_str_eq(err.at.file, "case");
        cr_expect_neq(err.message[0], '\0');
        cr_expect_eq(status_of(texts[i].bytes, texts[i].n, NULL), expected);
    }
}

Test(json_strict, grammar_is_accepted)
{
    static const struct text texts[] = {
        TEXT("0"),
        TEXT("-0"),
        TEXT("null"),
        TEXT(" true "),
        TEXT("\"\""),
        TEXT("[]"),
        TEXT("{}"),
        TEXT("[[]]"),
        TEXT("[1,2]\n"),
        TEXT("\t[ 1 , 2 ]\r\n"),
        TEXT("{\"\":0}"),
        TEXT("{\"a\":{\"a\":{\"a\":[]}}}"),
        TEXT("[0.1e-3,1E+2,1e2,-0.0,123456789012345678901234567890,0e1,20e1]"),
        TEXT("[-0.000000000000000000000000000000000000000000000000000000000000000000000000000001]"),
        TEXT("[1e-400]"),
        TEXT("\"\\\"\\\\\\/\\b\\f\\n\\r\\t\\u0041\""),
        TEXT("\"\\uD834\\uDD1E\""),
        TEXT("\"\\ud834\\udd1e\""),
        TEXT("\"\x7F\""),
        TEXT("\"\xC3\xA9\xE2\x82\xAC\xF0\x9D\x84\x9E\""),
        TEXT("\"\xEF\xBF\xBF\""),
        TEXT("\"\xF4\x8F\xBF\xBF\""),
        TEXT("\"\xE2\x80\xA8\""),
        TEXT("{\"a\":1,\"A\":2}"),
        TEXT("{\"a\":{\"b\":1},\"b\":{\"b\":1}}"),
        TEXT("[{\"a\":1},{\"a\":1}]"),
        TEXT("\"/* no comment */\""),
        TEXT("\"\\u2028\""),
        TEXT("\"\\\\u0000\""),
    };
    all_pass(texts, SM_COUNT(texts));
}

Test(json_strict, structure_is_refused)
{
    static const struct text texts[] = {
        TEXT(""),
        TEXT(" "),
        TEXT("\n\n"),
        TEXT("["),
        TEXT("]"),
        TEXT("{"),
        TEXT("}"),
        TEXT("[1"),
        TEXT("[1,"),
        TEXT("[1,]"),
        TEXT("[,1]"),
        TEXT("[1,,2]"),
        TEXT("[,]"),
        TEXT("[1 2]"),
        TEXT("[1}"),
        TEXT("[1:2]"),
        TEXT("[[1]"),
        TEXT("[1]]"),
        TEXT("[1]x"),
        TEXT("1 2"),
        TEXT("{}{}"),
        TEXT("[]\"\""),
        TEXT("[][]"),
        TEXT("{\"a\""),
        TEXT("{\"a\":"),
        TEXT("{\"a\":1"),
        TEXT("{\"a\":1,"),
        TEXT("{\"a\":1,}"),
        TEXT("{\"a\" 1}"),
        TEXT("{\"a\"::1}"),
        TEXT("{\"a\",1}"),
        TEXT("{,\"a\":1}"),
        TEXT("{\"a\":1,,\"b\":2}"),
        TEXT("{a:1}"),
        TEXT("{'a':1}"),
        TEXT("{1:1}"),
        TEXT("{null:1}"),
        TEXT("{[1]:1}"),
        TEXT("{\"a\":1]"),
        TEXT("{\"a\":1 \"b\":2}"),
        TEXT("['a']"),
        TEXT("[True]"),
        TEXT("[TRUE]"),
        TEXT("[nul]"),
        TEXT("nulll"),
        TEXT("truefalse"),
        TEXT("tru"),
        TEXT("[1]//x"),
        TEXT("[1]/* x */"),
        TEXT("/**/[1]"),
        TEXT("[#1]"),
        TEXT("{/*x*/\"a\":1}"),
        TEXT("*"),
        TEXT("[1\f]"),
        TEXT("[1\v]"),
        TEXT("[\xC2\xA0 1]"),
        TEXT("[\xE2\x81\xA0]"),
        TEXT("<null>"),
        TEXT("[undefined]"),
        TEXT("\xEF\xBB\xBF{}"),
        TEXT("[]\0"),
        TEXT("\0"),
        TEXT("[\0]"),
        TEXT("a"),
        TEXT("\xE5"),
        TEXT("[\xE5]"),
        TEXT("[\xFF\xFE]"),
        TEXT("[\x00\x22\x00"),
    };
    none_pass(texts, SM_COUNT(texts), SM_E_SYNTAX);
}

Test(json_strict, numbers_outside_the_grammar_are_refused)
{
    static const struct text texts[] = {
        TEXT("-"),
        TEXT("[+1]"),
        TEXT("[++1]"),
        TEXT("[01]"),
        TEXT("[-01]"),
        TEXT("[00]"),
        TEXT("[012.3]"),
        TEXT("[1.]"),
        TEXT("[-1.]"),
        TEXT("[.1]"),
        TEXT("[-.1]"),
        TEXT("[1.e1]"),
        TEXT("[0.e1]"),
        TEXT("[1e]"),
        TEXT("[1E+]"),
        TEXT("[1e-]"),
        TEXT("[0e+]"),
        TEXT("[1eE2]"),
        TEXT("[1e1.5]"),
        TEXT("[1.2.3]"),
        TEXT("[--1]"),
        TEXT("[- 1]"),
        TEXT("[1 000]"),
        TEXT("[1_000]"),
        TEXT("[0x1]"),
        TEXT("[0X1F]"),
        TEXT("[0b1]"),
        TEXT("[1f]"),
        TEXT("[NaN]"),
        TEXT("[nan]"),
        TEXT("[Infinity]"),
        TEXT("[-Infinity]"),
        TEXT("[inf]"),
        TEXT("[-x]"),
        TEXT("[1+2]"),
        TEXT("[1,5.]"),
        TEXT("[\xEF\xBC\x91]"),
        TEXT("[1e\xEF\xBC\x91]"),
        TEXT("[0,1e]"),
    };
    none_pass(texts, SM_COUNT(texts), SM_E_SYNTAX);
    static const struct text huge[] = {TEXT("1e999"), TEXT("[-1e999]"), TEXT("[1.8e308]"),
                                       TEXT("{\"a\":1E400}")};
    none_pass(huge, SM_COUNT(huge), SM_E_RANGE);
}

Test(json_strict, strings_outside_the_grammar_are_refused)
{
    static const struct text texts[] = {
        TEXT("\""),
        TEXT("\"a"),
        TEXT("[\"a"),
        TEXT("[\"a]"),
        TEXT("\"\\\""),
        TEXT("\"\\"),
        TEXT("\"\\x41\""),
        TEXT("\"\\a\""),
        TEXT("\"\\'\""),
        TEXT("\"\\ \""),
        TEXT("\"\\\n\""),
        TEXT("\"\\U0041\""),
        TEXT("\"\\u\""),
        TEXT("\"\\u00\""),
        TEXT("\"\\u004\""),
        TEXT("\"\\u00G1\""),
        TEXT("\"\\u-041\""),
        TEXT("\"\\u 041\""),
        TEXT("\"\\u0000\""),
        TEXT("{\"\\u0000\":1}"),
        TEXT("\"a\\u0000b\""),
        TEXT("\"\n\""),
        TEXT("\"\r\""),
        TEXT("\"\t\""),
        TEXT("\"\x01\""),
        TEXT("\"\x1F\""),
        TEXT("\"a\0b\""),
        TEXT("{\"a\nb\":1}"),
        TEXT("\"\\uD800\""),
        TEXT("\"\\uDC00\""),
        TEXT("\"\\uD834x\""),
        TEXT("\"\\uD834\\n\""),
        TEXT("\"\\uD834\\u0041\""),
        TEXT("\"\\uD834\\uD834\""),
        TEXT("\"\\uDD1E\\uD834\""),
        TEXT("\"\\uD834\\u\""),
        TEXT("\"\\uD834\\uDD\""),
        TEXT("\"\\uD834\\"),
        TEXT("\"\xC0\xAF\""),
        TEXT("\"\xE0\x80\xAF\""),
        TEXT("\"\xF0\x80\x80\xAF\""),
        TEXT("\"\xED\xA0\x80\""),
        TEXT("\"\xF4\x90\x80\x80\""),
        TEXT("\"\xF8\x88\x80\x80\x80\""),
        TEXT("\"\x80\""),
        TEXT("\"\xC3\""),
        TEXT("\"\xC3(\""),
        TEXT("\"\xE2\x82\""),
        TEXT("\"\xFF\""),
        TEXT("\"\xE9t\xE9\""),
        TEXT("{\"\xE9\":1}"),
        TEXT("[\"a\",\n\"b\xFE\"]"),
    };
    none_pass(texts, SM_COUNT(texts), SM_E_SYNTAX);
}

Test(json_strict, repeated_keys_are_refused)
{
    static const struct text texts[] = {
        TEXT("{\"a\":1,\"a\":1}"), TEXT("{\"a\":1,\"b\":2,\"a\":3}"),    TEXT("{\"a\":1,\"\\u0061\":2}"),
        TEXT("{\"\":1,\"\":2}"),   TEXT("[{\"x\":{\"k\":0,\"k\":{}}}]"), TEXT("{\"/\":1,\"\\/\":2}"),
    };
    none_pass(texts, SM_COUNT(texts), SM_E_FIELD);
    struct sm_error err;
    static const char text[] = "{\n  \"a\": 1,\n  \"b\": 2,\n  \"a\": 3\n}";
    cr_assert_eq(status_of(text, sizeof text - 1, &err), SM_E_FIELD);
    cr_expect_eq(err.at.line, 4);
    cr_expect_eq(err.at.column, 3);
    cr_expect_str_eq(err.message, "key 'a' stands twice in one object, first on line 2");
}

/* Many keys, so that the table of keys grows several times, and one repeat among them. */
Test(json_strict, a_repeat_among_many_keys_is_found)
{
    enum { KEYS = 5000, ROOM = KEYS * 16 };
    char *text = malloc(ROOM);
    for (int repeat = 0; repeat < 2; repeat++) {
        size_t n = (size_t)sprintf(text, "{");
        for (int i = 0; i < KEYS; i++)
            n += (size_t)sprintf(text + n, "%s\"k%d\":%d", i ? "," : "", repeat && i == KEYS - 1 ? 17 : i, i);
        n += (size_t)sprintf(text + n, "}");
        cr_expect_eq(status_of(text, n, NULL), repeat ? SM_E_FIELD : SM_OK);
    }
    free(text);
}

static enum sm_status nested(int depth, const char *open, const char *close)
{
    char text[8 * (SM_MAX_JSON_DEPTH + 2)] = "";
    for (int i = 0; i < depth; i++)
        strcat(text, open);
    strcat(text, open[0] == '{' ? "0" : "");
    for (int i = 0; i < depth; i++)
        strcat(text, close);
    return status_of(text, strlen(text), NULL);
}

Test(json_strict, depth_and_size_have_limits)
{
    cr_expect_eq(nested(SM_MAX_JSON_DEPTH, "[", "]"), SM_OK);
    cr_expect_eq(nested(SM_MAX_JSON_DEPTH + 1, "[", "]"), SM_E_RANGE);
    cr_expect_eq(nested(SM_MAX_JSON_DEPTH, "{\"a\":", "}"), SM_OK);
    cr_expect_eq(nested(SM_MAX_JSON_DEPTH + 1, "{\"a\":", "}"), SM_E_RANGE);
    const size_t n = (size_t)SM_MAX_JSON_BYTES + 1;
    char *text = malloc(n);
    memset(text, ' ', n);
    text[0] = '1';
    struct sm_error err;
    cr_expect_eq(status_of(text, n - 1, NULL), SM_OK);
    cr_expect_eq(status_of(text, n, &err), SM_E_RANGE);
    cr_expect_str_eq(err.at.file, "case");
    /* Deep nesting must fail by the limit, not by the stack. */
    memset(text, '[', n - 1);
    cr_expect_eq(status_of(text, n - 1, NULL), SM_E_RANGE);
    free(text);
}

static void expect_string(const char *text, const char *expected)
{
    struct sm_json_doc *doc;
    cr_assert_eq(sm_json_parse(text, strlen(text), "case", &doc, NULL), SM_OK);
    cr_expect_str_eq(sm_json_string(sm_json_root(doc)), expected);
    sm_json_free(doc);
}

/* RFC 8259 section 7; the G clef example is the RFC's own. Code points from the Unicode charts. */
Test(json_strict, strings_are_decoded)
{
    expect_string("\"\\\"\\\\\\/\\b\\f\\n\\r\\t\"", "\"\\/\b\f\n\r\t");
    expect_string("\"\\uD834\\uDD1E\"", "\xF0\x9D\x84\x9E");
    expect_string("\"\\u0041\\u00e9\\u20AC\\uFFFF\"", "A\xC3\xA9\xE2\x82\xAC\xEF\xBF\xBF");
    expect_string("\"\\u0001\\u007F\\u0080\\u07FF\\u0800\"", "\x01\x7F\xC2\x80\xDF\xBF\xE0\xA0\x80");
    expect_string("\"\\uD800\\uDC00\\uDBFF\\uDFFF\"", "\xF0\x90\x80\x80\xF4\x8F\xBF\xBF");
}

/* Numbers against the C library's strtod, which rounds correctly in glibc. */
Test(json_strict, numbers_are_read_to_the_bit)
{
    static const char *const texts[] = {
        "0",
        "-0",
        "1",
        "0.1",
        "123456789012345",
        "1234567890123456",
        "9007199254740993",
        "0.000001",
        "1e22",
        "1e23",
        "123456789e-15",
        "1.7976931348623157e308",
        "2.2250738585072014e-308",
        "5e-324",
        "2.4e-5",
        "0.30000000000000004",
        "100000000000000000000000000000000000000000000000000000000000000000000000000000000",
        "0.1234567890123456789012345678901234567890123456789012345678901234567890",
        "1e-400",
        "0e999",
        "0.0000e5",
        "6894.757293168",
        "4.4482216152605",
        "8.442911973260991817e-309",
        "0.00000000000000000000000001e26",
    };
    for (size_t i = 0; i < SM_COUNT(texts); i++) {
        struct sm_json_doc *doc;
        cr_assert_eq(sm_json_parse(texts[i], strlen(texts[i]), "case", &doc, NULL), SM_OK);
        const double value = sm_json_number(sm_json_root(doc)), expected = strtod(texts[i], NULL);
        cr_expect(memcmp(&value, &expected, sizeof value) == 0, "%s came out as %.17g", texts[i], value);
        sm_json_free(doc);
    }
}

/* The place of a fault: line, byte column, the line itself, and a caret that counts characters. */
Test(json_strict, faults_are_placed)
{
    static const struct {
        const char *text;
        unsigned line, column, caret;
        const char *excerpt;
    } cases[] = {
        {"{\n  \"a\": 01\n}", 2, 9, 9, "  \"a\": 01"},
        {"{\r\n  \"a\": tru\r\n}", 2, 8, 8, "  \"a\": tru"},
        {"[1,\n2,\n]", 3, 1, 1, "]"},
        {"[\"\xC3\xA9\", x]", 1, 8, 7, "[\"\xC3\xA9\", x]"},
        {"[1\t, x]", 1, 6, 6, "[1 , x]"},
        {"{\"a\": \"b\n\"}", 1, 7, 7, "{\"a\": \"b"},
        {"[1, 2", 1, 6, 6, "[1, 2"},
        {"[1]\n\nx", 3, 1, 1, "x"},
        {"[\"\xFF\"]", 1, 3, 3, "[\"?\"]"},
    };
    for (size_t i = 0; i < SM_COUNT(cases); i++) {
        struct sm_error err = {0};
        cr_assert_eq(status_of(cases[i].text, strlen(cases[i].text), &err), SM_E_SYNTAX);
        cr_expect_eq(err.at.line, cases[i].line, "case %zu: line %u", i, err.at.line);
        cr_expect_eq(err.at.column, cases[i].column, "case %zu: column %u", i, err.at.column);
        cr_expect_eq(err.caret, cases[i].caret, "case %zu: caret %u", i, err.caret);
        cr_expect_str_eq(err.excerpt, cases[i].excerpt);
    }
}

/* A long line is cut round the place; the caret still points at the offending byte. */
Test(json_strict, a_long_line_is_cut_round_the_fault)
{
    char text[2048];
    for (size_t at = 1; at < 1000; at += 37) {
        memset(text, ' ', 1000);
        text[0] = '[';
        text[at] = '?';
        strcpy(text + 1000, "]");
        struct sm_error err = {0};
        cr_assert_eq(status_of(text, strlen(text), &err), SM_E_SYNTAX);
        cr_expect_eq(err.at.column, at + 1);
        cr_assert(err.caret >= 1 && err.caret <= strlen(err.excerpt));
        cr_expect_eq(err.excerpt[err.caret - 1], '?', "at %zu", at);
    }
}
