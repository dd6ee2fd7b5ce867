/*
 * The strict reader against the three categories of a published suite: what every reader must take, what every reader must
 * refuse, and what RFC 8259 leaves to each, with what was chosen here. The cases are made here, each kind of the suite's
 * among them: good and bad values put into every place a value can have, and sound documents hurt at every place.
 *
 * Reference: N. Seriot, "Parsing JSON is a Minefield" (2016) and the JSON Parsing Test Suite that belongs to it; T. Bray
 * (ed.), RFC 8259, "The JavaScript Object Notation (JSON) Data Interchange Format" (2017).
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "doc/json.h"
#include "literal.h"
#include "slowmatch/limits.h"

enum { MOST_BYTES = 4096 };

struct made {
    char bytes[MOST_BYTES];
    size_t n;
};

static void add(struct made *m, const char *bytes, size_t n)
{
    cr_assert(m->n + n < MOST_BYTES);
    memcpy(m->bytes + m->n, bytes, n);
    m->n += n;
}

static void add_text(struct made *m, const char *text)
{
    add(m, text, strlen(text));
}

static enum sm_status read_made(const struct made *m, struct sm_error *err)
{
    struct sm_json_doc *doc;
    const enum sm_status status = sm_json_parse(m->bytes, m->n, "case", &doc, err);
    cr_assert((status == SM_OK) == (doc != NULL));
    sm_json_free(doc);
    return status;
}

static void take(const struct made *m)
{
    struct sm_error err = {0};
    const enum sm_status status = read_made(m, &err);
    cr_expect_eq(status, SM_OK, "refused: %.*s: %s", (int)m->n, m->bytes, err.message);
}

/* A refusal has a place within the text and says something. */
static void refuse(const struct made *m, enum sm_status expected)
{
    struct sm_error err = {0};
    const enum sm_status status = read_made(m, &err);
    cr_expect_eq(status, expected, "status %d: %.*s: %s", (int)status, (int)m->n, m->bytes, err.message);
    cr_expect(err.at.line >= 1 && err.at.column >= 1 && err.message[0] != '\0', "no place: %.*s", (int)m->n,
              m->bytes);
}

/* Where a value can stand. */
static const struct {
    const char *before, *after;
} places[] = {
    {"", ""},
    {" \t\r\n", "\n"},
    {"[", "]"},
    {"[ ", " ]\n"},
    {"[0,", "]"},
    {"[", " , 0]"},
    {"{\"k\":", "}"},
    {"{\"k\" : ", ",\"l\":[]}"},
    {"[[{\"k\":[", "]}]]"},
};

static struct made placed(const struct text *value, size_t place)
{
    struct made m = {.n = 0};
    add_text(&m, places[place].before);
    add(&m, value->bytes, value->n);
    add_text(&m, places[place].after);
    return m;
}

/* ---- must be taken ---- */

static const struct text good_values[] = {
    TEXT("true"),
    TEXT("false"),
    TEXT("null"),
    TEXT("[]"),
    TEXT("[[]   ]"),
    TEXT("{}"),
    TEXT("[null, 7, \"7\", {}]"),
    TEXT("{\"\":0}"),
    TEXT("{\"a\":\"b\", \"c\":\"d\"}"),
    TEXT("{\n\"a\": \"b\"\n}"),
    TEXT("{\"least\": -1.0e+28, \"most\": 1.0e+28 }"),
    TEXT("{\"id\":\"mmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmm\"}"),
    TEXT("0"),
    TEXT("-0"),
    TEXT("-1"),
    TEXT("42"),
    TEXT("-0.1"),
    TEXT("123.456789"),
    TEXT("0e1"),
    TEXT("0e+1"),
    TEXT("20e1"),
    TEXT("1E22"),
    TEXT("1E-2"),
    TEXT("1E+2"),
    TEXT("1e-2"),
    TEXT("1e+2"),
    TEXT("123e45"),
    TEXT("123.456e78"),
    TEXT("-0.000000000000000000000000000000000000000000000000000000000000000000000000000009"),
    TEXT("\"\""),
    TEXT("\" \""),
    TEXT("\"marsh \""),
    TEXT("\"a/*b*/c/*d//e#f\""),
    TEXT("\"\\\"\\\\\\/\\b\\f\\n\\r\\t\""),
    TEXT("\"\\\\u0000\""),
    TEXT("\"\\\\a\""),
    TEXT("\"\\\\n\""),
    TEXT("\"\\u0012\""),
    TEXT("\"\\u0022\""),
    TEXT("\"\\u005C\""),
    TEXT("\"a\\u000Ab\""),
    TEXT("\"\\u0060\\u012a\\u12AB\""), /* one, two and three bytes of UTF-8 */
    TEXT("\"\\u00A0\\u200B\\u2064\""),
    TEXT("\"\\uFDD0\\uFFFE\\uFFFF\""), /* no characters, but code points */
    TEXT("\"\\uD801\\udc37\""),
    TEXT("\"\\ud83d\\ude39\\ud83d\\udc8d\""),
    TEXT("\"\\uD83F\\uDFFE\\uDBFF\\uDFFF\""),
    TEXT("\"\x7F\""),
    TEXT("\"a\x7F"
         "a\""),
    TEXT("\"\xCF\x80\""),
    TEXT("\"\xE2\x82\xAC\xF0\x9D\x84\x9E\""),
    TEXT("\"\xE2\x80\xA8\xE2\x80\xA9\""), /* line and paragraph separator */
    TEXT("\"\xEF\xBF\xBF\xF0\x9B\xBF\xBF\xF4\x8F\xBF\xBF\""),
};

Test(json_categories, what_must_be_taken_is_in_every_place)
{
    for (size_t i = 0; i < SM_COUNT(good_values); i++)
        for (size_t j = 0; j < SM_COUNT(places); j++) {
            const struct made m = placed(&good_values[i], j);
            take(&m);
        }
}

/* ---- must be refused ---- */

static const struct text bad_values[] = {
    /* words */
    TEXT("tru"),
    TEXT("fals"),
    TEXT("nul"),
    TEXT("truth"),
    TEXT("True"),
    TEXT("NULL"),
    TEXT("nulls"),
    TEXT("alert()"),
    TEXT("undefined"),
    TEXT("<null>"),
    TEXT("*"),
    TEXT("\xC3\xA9"),
    TEXT("a\xC3\xA5"),
    TEXT("\xE5"),
    TEXT("a\xE5"),
    TEXT("\xFF"),
    TEXT("\xF0\x9F\x87\xA8\xF0\x9F\x87\xAD"),
    TEXT("\xEF\xBB\xBF"), /* a byte-order mark with nothing behind it */
    TEXT("\xEF\xBB"),
    TEXT("\xE2\x81\xA0"), /* word joiner */
    TEXT("\\u0020\"x\""),
    TEXT("\\n"),
    TEXT("\0"),
    /* numbers */
    TEXT("-"),
    TEXT("+1"),
    TEXT("++1"),
    TEXT("+Inf"),
    TEXT("Inf"),
    TEXT("Infinity"),
    TEXT("-Infinity"),
    TEXT("NaN"),
    TEXT("-NaN"),
    TEXT("-foo"),
    TEXT("- 1"),
    TEXT("-01"),
    TEXT("-012"),
    TEXT("012"),
    TEXT("00"),
    TEXT("-2."),
    TEXT("-1.0."),
    TEXT("1."),
    TEXT(".1"),
    TEXT(".-1"),
    TEXT("-.1"),
    TEXT(".2e-3"),
    TEXT("0.1.2"),
    TEXT("0.e1"),
    TEXT("2.e+3"),
    TEXT("2.e-3"),
    TEXT("9.e+"),
    TEXT("0.3e"),
    TEXT("0.3e+"),
    TEXT("0E"),
    TEXT("0E+"),
    TEXT("1.0e-"),
    TEXT("1eE2"),
    TEXT("1ea"),
    TEXT("0e+-1"),
    TEXT("1+2"),
    TEXT("1 + 2"),
    TEXT("1 000.0"),
    TEXT("0x1"),
    TEXT("0x42"),
    TEXT("1.2a-3"),
    TEXT("1.8H-308"),
    TEXT("-123.4foo"),
    TEXT("-1x"),
    TEXT("2@"),
    TEXT("123\0"),
    TEXT("\xEF\xBC\x91"), /* the full-width digit one */
    TEXT("0\xE5"),
    TEXT("123\xE5"),
    TEXT("1e\xE5"),
    TEXT("1e1\xE5"),
    /* strings */
    TEXT("\""),
    TEXT("\"x"),
    TEXT("'x'"),
    TEXT("'"),
    TEXT("\"\"x"),
    TEXT("\"\\"),
    TEXT("\"\\\""),
    TEXT("\"\\\\\\\""),
    TEXT("\"\\a\""),
    TEXT("\"\\x00\""),
    TEXT("\"\\017\""),
    TEXT("\"\\UA66D\""),
    TEXT("\"\\u00A\""),
    TEXT("\"\\uqqqq\""),
    TEXT("\"\\\t\""),
    TEXT("\"\\\0\""),
    TEXT("\"\\\xF0\x9F\x8C\x80\""),
    TEXT("\"\\\xE5\""),
    TEXT("\"\\u\xE5\""),
    TEXT("\"\t\""),
    TEXT("\"x\ny\""),
    TEXT("\"x\\\ny\""),
    TEXT("\"x\0y\""),
    TEXT("\"\\uD800\\u\""),
    TEXT("\"\\uD800\\u1\""),
    TEXT("\"\\uD800\\u1x\""),
    TEXT("\"\\uD834\\uDd\""),
    TEXT("\"\\uD800\\uD800\\x\""),
    TEXT("\"\v\"\\f"),
    /* structures */
    TEXT("3[4]"),
    TEXT("1 true"),
    TEXT("1:2"),
    TEXT("\"\": 1"),
    TEXT("[,]"),
    TEXT("[,1]"),
    TEXT("[1,]"),
    TEXT("[1,,2]"),
    TEXT("[1,,]"),
    TEXT("[   , \"\"]"),
    TEXT("[\"x\"]]"),
    TEXT("[1]x"),
    TEXT("[][]"),
    TEXT("{]"),
    TEXT("{,"),
    TEXT("{[: \"x\"}"),
    TEXT("{\"x\", null}"),
    TEXT("{\"x\"::\"b\"}"),
    TEXT("{\"x\" \"b\"}"),
    TEXT("{\"x\" b}"),
    TEXT("{:\"b\"}"),
    TEXT("{\"a\":1,}"),
    TEXT("{\"a\":1,,,,}"),
    TEXT("{\"a\":1,,\"c\":2}"),
    TEXT("{ \"a\" : 1, \"b\" }"),
    TEXT("{\"a\":\"a\" 123}"),
    TEXT("{\"a\":1}#"),
    TEXT("{\"a\":1}#{}"),
    TEXT("{\"a\":1}/**/"),
    TEXT("{\"a\":1}/**//"),
    TEXT("{\"a\":1}/"),
    TEXT("{\"a\":1}//"),
    TEXT("{\"a\":/*x*/1}"),
    TEXT("{\"a\":1} \"x\""),
    TEXT("{}}"),
    TEXT("[\"\\{[\"\\{[\"\\{"),
};

Test(json_categories, what_must_be_refused_is_in_every_place)
{
    for (size_t i = 0; i < SM_COUNT(bad_values); i++)
        for (size_t j = 0; j < SM_COUNT(places); j++) {
            const struct made m = placed(&bad_values[i], j);
            refuse(&m, SM_E_SYNTAX);
        }
}

Test(json_categories, keys_are_strings)
{
    static const char *const keys[] = {"a",         "1",        "null", "true",     "'a'", "[1]", "{}",
                                       "9999E9999", "\xCF\x80", "\"a",  "\"\xB9\"", "-",   ""};
    for (size_t i = 0; i < SM_COUNT(keys); i++) {
        struct made m = {.n = 0};
        add_text(&m, "{");
        add_text(&m, keys[i]);
        add_text(&m, ":0}");
        refuse(&m, SM_E_SYNTAX);
    }
}

/* Sound documents as tokens, so that what stands between two of them can be chosen. */
static const char *const tokens[][16] = {
    {"[", "]", NULL},
    {"{", "}", NULL},
    {"[", "1", ",", "\"a\"", ",", "null", "]", NULL},
    {"{", "\"a\"", ":", "[", "{", "}", "]", ",", "\"b\"", ":", "-2.5e3", "}", NULL},
    {"[", "[", "true", "]", ",", "{", "\"k\"", ":", "{", "\"l\"", ":", "false", "}", "}", "]", NULL},
};

static size_t count(const char *const *document)
{
    size_t n = 0;
    while (document[n])
        n++;
    return n;
}

/* The document with token `without` left out and stray bytes in front of token `at`; either may be its length: neither. */
static struct made hurt(const char *const *document, size_t without, size_t at, const struct text *stray)
{
    struct made m = {.n = 0};
    const size_t n = count(document);
    for (size_t i = 0; i <= n; i++) {
        if (stray && i == at)
            add(&m, stray->bytes, stray->n);
        if (i < n && i != without) {
            add_text(&m, document[i]);
            add_text(&m, " ");
        }
    }
    return m;
}

/* No proper beginning of an object or array is one. */
Test(json_categories, nothing_cut_short_is_taken)
{
    for (size_t d = 0; d < SM_COUNT(tokens); d++) {
        struct made m = hurt(tokens[d], count(tokens[d]), 0, NULL);
        take(&m);
        for (m.n -= 2; m.n > 0; m.n--) /* the blank and the last bracket go first */
            refuse(&m, SM_E_SYNTAX);
        refuse(&m, SM_E_SYNTAX);
    }
}

Test(json_categories, nothing_is_taken_with_a_mark_too_few_or_too_many)
{
    static const struct text strays[] = {
        TEXT(","),
        TEXT(":"),
        TEXT("["),
        TEXT("]"),
        TEXT("{"),
        TEXT("}"),
        TEXT(";"),
        TEXT("'"),
        TEXT("\\"),
        TEXT("/**/"),
        TEXT("// x\n"),
        TEXT("#\n"),
        TEXT("\f"),
        TEXT("\v"),
        TEXT("\0"),
        TEXT("\xA0"),
        TEXT("\xC2\xA0"),
        TEXT("\xE2\x81\xA0"),
        TEXT("\xEF\xBB\xBF"),
        TEXT("\x1A"),
        TEXT("@"),
    };
    for (size_t d = 0; d < SM_COUNT(tokens); d++) {
        const size_t n = count(tokens[d]);
        for (size_t i = 0; i <= n; i++)
            for (size_t s = 0; s < SM_COUNT(strays); s++) {
                const struct made m = hurt(tokens[d], n, i, &strays[s]);
                refuse(&m, SM_E_SYNTAX);
            }
        for (size_t i = 0; i < n; i++)
            if (strchr("[]{},:", tokens[d][i][0])) {
                const struct made m = hurt(tokens[d], i, n, NULL);
                refuse(&m, SM_E_SYNTAX);
            }
    }
}

/* ---- left to each reader ---- */

/*
 * Chosen here: a number that no double comes near is refused rather than read as infinite, one too small for a double is
 * zero and an integer past 2^53 is rounded, as everywhere; text is UTF-8 and nothing else, without a mark in front; a
 * string holds whole characters, and no NUL; nesting has a limit; a key that stands twice is refused, for one of the two
 * would be lost.
 */
Test(json_categories, what_is_left_open_is_settled)
{
    static const struct {
        const char *what;
        struct text text;
        enum sm_status status;
    } rows[] = {
        {"underflow", TEXT("[123.456e-789]"), SM_OK},
        {"far underflow", TEXT("[123e-10000000]"), SM_OK},
        {"integer past 2^64", TEXT("[-123123123123123123123123123123]"), SM_OK},
        {"integer past 2^66", TEXT("[100000000000000000000]"), SM_OK},
        {"overflow", TEXT("[1.5e+9999]"), SM_E_RANGE},
        {"overflow below", TEXT("[-1e+9999]"), SM_E_RANGE},
        {"long exponent", TEXT("[0.4e00669999999999999999999999999999999999999999999999999999999999999969]"),
         SM_E_RANGE},
        {"second half of a pair as key", TEXT("{\"\\uDFAA\":0}"), SM_E_SYNTAX},
        {"first half of a pair", TEXT("[\"\\uDADA\"]"), SM_E_SYNTAX},
        {"first half, then a letter", TEXT("[\"\\ud800abc\"]"), SM_E_SYNTAX},
        {"first half, then another character", TEXT("[\"\\uD888\\u1234\"]"), SM_E_SYNTAX},
        {"first half, then an escape", TEXT("[\"\\uD800\\n\"]"), SM_E_SYNTAX},
        {"two first halves", TEXT("[\"\\uD800\\uD800\\n\"]"), SM_E_SYNTAX},
        {"second half", TEXT("[\"\\uDd1ea\"]"), SM_E_SYNTAX},
        {"halves in the wrong order", TEXT("[\"\\uDd1e\\uD834\"]"), SM_E_SYNTAX},
        {"no UTF-8", TEXT("[\"\xFF\"]"), SM_E_SYNTAX},
        {"ISO 8859-1", TEXT("[\"\xE9\"]"), SM_E_SYNTAX},
        {"a byte that goes on from none", TEXT("[\"\x81\"]"), SM_E_SYNTAX},
        {"past U+10FFFF", TEXT("[\"\xF4\xBF\xBF\xBF\"]"), SM_E_SYNTAX},
        {"two bytes for one", TEXT("[\"\xC0\xAF\"]"), SM_E_SYNTAX},
        {"six bytes", TEXT("[\"\xFC\x83\xBF\xBF\xBF\xBF\"]"), SM_E_SYNTAX},
        {"six bytes for one", TEXT("[\"\xFC\x80\x80\x80\x80\x80\"]"), SM_E_SYNTAX},
        {"cut short", TEXT("[\"\xE0\xFF\"]"), SM_E_SYNTAX},
        {"good, then bad", TEXT("[\"\xE6\x97\xA5\xD1\x88\xFA\"]"), SM_E_SYNTAX},
        {"half of a pair in UTF-8", TEXT("[\"\xED\xA0\x80\"]"), SM_E_SYNTAX},
        {"UTF-16, big end first", TEXT("\0[\0\"\0\xE9\0\"\0]"), SM_E_SYNTAX},
        {"UTF-16, little end first", TEXT("[\0\"\0\xE9\0\"\0]\0"), SM_E_SYNTAX},
        {"UTF-16 with a mark", TEXT("\xFF\xFE[\0\"\0\xE9\0\"\0]\0"), SM_E_SYNTAX},
        {"UTF-8 with a mark", TEXT("\xEF\xBB\xBF{}"), SM_E_SYNTAX},
        /* These two the suite counts among what must be taken. */
        {"NUL in a string", TEXT("[\"\\u0000\"]"), SM_E_SYNTAX},
        {"a key twice", TEXT("{\"a\":\"b\",\"a\":\"c\"}"), SM_E_FIELD},
        {"a key and value twice", TEXT("{\"a\":\"b\",\"a\":\"b\"}"), SM_E_FIELD},
    };
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        struct made m = {.n = 0};
        struct sm_error err = {0};
        add(&m, rows[i].text.bytes, rows[i].text.n);
        cr_expect_eq(read_made(&m, &err), rows[i].status, "%s: %s", rows[i].what, err.message);
    }
    struct made deep = {.n = 0};
    for (int i = 0; i < 500; i++)
        add_text(&deep, "[");
    for (int i = 0; i < 500; i++)
        add_text(&deep, "]");
    cr_expect_eq(read_made(&deep, NULL), 500 <= SM_MAX_JSON_DEPTH ? SM_OK : SM_E_RANGE);
}
