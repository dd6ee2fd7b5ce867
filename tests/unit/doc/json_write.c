/* The writer, read back by the strict reader; layout and escapes by RFC 8259. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "base/sink.h"
#include "base/text.h"
#include "doc/json.h"
#include "doc/json_write.h"

static struct sm_memory_sink memory;
static struct sm_json_writer w;

static void start(void)
{
    sm_memory_sink_init(&memory, NULL);
    sm_json_write_init(&w, &memory.sink);
}

static void stop(void)
{
    sm_memory_sink_release(&memory);
}

TestSuite(json_write, .init = start, .fini = stop);

Test(json_write, layout)
{
    const double series[] = {0.0, 0.1, -2e-7};
    sm_json_open_object(&w);
    sm_json_member_string(&w, "name", "a");
    sm_json_member_object(&w, "empty");
    sm_json_close(&w);
    sm_json_member_array(&w, "list");
    sm_json_put_bool(&w, true);
    sm_json_put_null(&w);
    sm_json_open_object_row(&w);
    sm_json_member_whole(&w, "n", -3);
    sm_json_member_array(&w, "l");
    sm_json_put_number(&w, 1.5);
    sm_json_put_number(&w, 1e300);
    sm_json_close(&w);
    sm_json_close(&w);
    sm_json_close(&w);
    sm_json_member_doubles(&w, "time", series, 3);
    sm_json_member_doubles(&w, "none", NULL, 0);
    sm_json_close(&w);
    cr_assert_eq(sm_json_write_end(&w, NULL), SM_OK);
    cr_expect_str_eq(memory.bytes, "{\n"
                                   "  \"name\": \"a\",\n"
                                   "  \"empty\": {},\n"
                                   "  \"list\": [\n"
                                   "    true,\n"
                                   "    null,\n"
                                   "    {\"n\": -3, \"l\": [1.5, 1e+300]}\n"
                                   "  ],\n"
                                   "  \"time\": [0, 0.1, -2e-07],\n"
                                   "  \"none\": []\n"
                                   "}\n");
}

Test(json_write, what_is_no_number_is_null)
{
    const double values[] = {SM_NAN, SM_INF, -SM_INF, 1.0};
    sm_json_put_doubles(&w, values, 4);
    cr_assert_eq(sm_json_write_end(&w, NULL), SM_OK);
    cr_expect_str_eq(memory.bytes, "[null, null, null, 1]\n");
}

/* Every character below U+0100, and some above, comes back as it went. */
Test(json_write, strings_come_back)
{
    char text[1024];
    size_t n = 0;
    for (unsigned c = 1; c < 0x80; c++)
        text[n++] = (char)c;
    for (unsigned c = 0x80; c < 0x100; c++) {
        text[n++] = (char)(0xC0 | c >> 6);
        text[n++] = (char)(0x80 | (c & 0x3F));
    }
    strcpy(text + n, "\xE2\x80\xA8\xF0\x9D\x84\x9E</script>");
    w.for_script = true;
    sm_json_put_string(&w, text);
    cr_assert_eq(sm_json_write_end(&w, NULL), SM_OK);
    cr_expect_null(strchr(memory.bytes, '<'));
    struct sm_json_doc *doc;
    cr_assert_eq(sm_json_parse(memory.bytes, memory.n, "w", &doc, NULL), SM_OK);
    cr_expect_str_eq(sm_json_string(sm_json_root(doc)), text);
    sm_json_free(doc);
}

Test(json_write, ill_formed_bytes_are_replaced)
{
    sm_json_open_row(&w);
    sm_json_put_string(&w, "a\xFF\xE9z\xE2\x82");
    sm_json_put_string(&w, NULL);
    sm_json_close(&w);
    cr_assert_eq(sm_json_write_end(&w, NULL), SM_OK);
    cr_expect_str_eq(memory.bytes, "[\"a\xEF\xBF\xBD\xEF\xBF\xBDz\xEF\xBF\xBD\xEF\xBF\xBD\", null]\n");
}

Test(json_write, doubles_come_back_to_the_bit)
{
    double values[2000];
    unsigned long long bits = 88172645463325252u; /* xorshift, Marsaglia 2003 */
    for (size_t i = 0; i < SM_COUNT(values); i++) {
        do {
            bits ^= bits << 13, bits ^= bits >> 7, bits ^= bits << 17;
            memcpy(&values[i], &bits, sizeof bits);
        } while (!isfinite(values[i]));
    }
    sm_json_put_doubles(&w, values, SM_COUNT(values));
    cr_assert_eq(sm_json_write_end(&w, NULL), SM_OK);
    struct sm_json_doc *doc;
    cr_assert_eq(sm_json_parse(memory.bytes, memory.n, "w", &doc, NULL), SM_OK);
    size_t i = 0;
    for (const struct sm_json *v = sm_json_first(sm_json_root(doc)); v; v = sm_json_next(v), i++) {
        const double back = sm_json_number(v);
        cr_expect(memcmp(&back, &values[i], sizeof back) == 0, "%.17g came back as %.17g", values[i], back);
    }
    cr_expect_eq(i, SM_COUNT(values));
    sm_json_free(doc);
}

static int refuse(void *user, const char *bytes, size_t n)
{
    (void)bytes, (void)n;
    ++*(int *)user;
    return 28; /* ENOSPC on Linux */
}

Test(json_write, the_first_error_stays_and_ends_the_writing)
{
    int calls = 0;
    struct sm_sink full = {refuse, &calls};
    sm_json_write_init(&w, &full);
    sm_json_open_array(&w);
    for (int i = 0; i < 100000; i++)
        sm_json_put_whole(&w, i);
    sm_json_close(&w);
    struct sm_error err = {0};
    cr_expect_eq(sm_json_write_end(&w, &err), SM_E_IO);
    cr_expect_neq(err.message[0], '\0');
    cr_expect_eq(calls, 1);
}

static enum sm_status ended(void)
{
    const enum sm_status status = sm_json_write_end(&w, NULL);
    stop();
    start();
    return status;
}

Test(json_write, calls_that_make_no_json_are_bugs)
{
    cr_expect_eq(ended(), SM_E_INTERNAL);
    sm_json_open_object(&w);
    cr_expect_eq(ended(), SM_E_INTERNAL);
    sm_json_open_object(&w);
    sm_json_put_null(&w);
    sm_json_close(&w);
    cr_expect_eq(ended(), SM_E_INTERNAL);
    sm_json_open_object(&w);
    sm_json_put_key(&w, "a");
    sm_json_close(&w);
    cr_expect_eq(ended(), SM_E_INTERNAL);
    sm_json_open_array(&w);
    sm_json_put_key(&w, "a");
    cr_expect_eq(ended(), SM_E_INTERNAL);
    sm_json_put_null(&w);
    sm_json_put_null(&w);
    cr_expect_eq(ended(), SM_E_INTERNAL);
    sm_json_close(&w);
    cr_expect_eq(ended(), SM_E_INTERNAL);
    for (int i = 0; i < 100; i++)
        sm_json_open_row(&w);
    cr_expect_eq(ended(), SM_E_INTERNAL);
}
