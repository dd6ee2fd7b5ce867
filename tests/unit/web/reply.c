/* JSON as RFC 8259 has it, of any bytes; UTF-8 as RFC 3629 has it. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "web/reply.h"

static void expect(const char *text, size_t n, const char *json)
{
    struct web_reply r;
    web_reply_init(&r);
    web_textn(&r, text, n);
    cr_assert_eq(r.n, strlen(json), "%.*s", (int)r.n, r.bytes);
    cr_assert_arr_eq(r.bytes, json, r.n);
    web_reply_release(&r);
}

Test(reply, escapes_what_json_wants_escaped)
{
    expect("a\"b\\c\n\x01", 7, "\"a\\\"b\\\\c\\u000a\\u0001\"");
    expect("a\0b", 3, "\"a\\u0000b\"");
    expect("\xC3\xA9\xF0\x9F\x9A\x80", 6, "\"\xC3\xA9\xF0\x9F\x9A\x80\"");
}

Test(reply, replaces_bytes_that_are_no_utf8)
{
    expect("\xFF", 1, "\"\xEF\xBF\xBD\"");
    expect("\xC3", 1, "\"\xEF\xBF\xBD\"");                                 /* cut off */
    expect("\xC0\xAF", 2, "\"\xEF\xBF\xBD\xEF\xBF\xBD\"");                 /* too long a form */
    expect("\xED\xA0\x80", 3, "\"\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\""); /* a surrogate */
    expect("\xF4\x90\x80\x80", 4, "\"\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\""); /* past U+10FFFF */
}

Test(reply, puts_commas_between_members)
{
    static const char json[] = "{\"a\":1,\"b\":[null,true,-2],\"c\":{},\"d\":null}";
    struct web_reply r;
    web_reply_init(&r);
    web_open(&r, '{');
    web_key(&r, "a");
    web_double(&r, 1.0);
    web_key(&r, "b");
    web_open(&r, '[');
    web_double(&r, (double)NAN);
    web_flag(&r, true);
    web_whole(&r, -2);
    web_close(&r, ']');
    web_key(&r, "c");
    web_open(&r, '{');
    web_close(&r, '}');
    web_member(&r, "d", NULL);
    web_close(&r, '}');
    cr_assert_eq(r.n, strlen(json), "%.*s", (int)r.n, r.bytes);
    cr_assert_arr_eq(r.bytes, json, r.n);
    web_reply_release(&r);
}
