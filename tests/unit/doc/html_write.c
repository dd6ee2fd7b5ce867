/* HTML as the WHATWG's standard has it: which characters end text or an attribute's value; base64 by RFC 4648, section 10. */
#include <criterion/criterion.h>
#include <string.h>

#include "base/sink.h"
#include "doc/html_write.h"

static struct sm_memory_sink out;
static struct sm_html html;

static void start(void)
{
    sm_memory_sink_init(&out, NULL);
    sm_html_init(&html, &out.sink);
}

static void expect(const char *wanted)
{
    struct sm_error err = {0};
    cr_assert_eq(sm_html_end(&html, &err), SM_OK);
    cr_assert_eq(out.n, strlen(wanted), "%.*s", (int)out.n, out.bytes);
    cr_assert_arr_eq(out.bytes, wanted, out.n);
    sm_memory_sink_release(&out);
}

Test(html_write, lets_text_be_text_alone)
{
    start();
    sm_html_text(&html, "<img src=x onerror='a'> & \"b\"");
    sm_html_text(&html, NULL);
    sm_html_textf(&html, "%s%d", "<", 3);
    expect("&lt;img src=x onerror=&#39;a&#39;&gt; &amp; &quot;b&quot;&lt;3");
}

Test(html_write, writes_elements_and_markup)
{
    start();
    sm_html_element(&html, "td class=\"number\"", "1 < 2");
    sm_html_rawf(&html, "<td colspan=\"%d\">", 2);
    sm_html_raw(&html, "</td>");
    expect("<td class=\"number\">1 &lt; 2</td><td colspan=\"2\"></td>");
}

Test(html_write, writes_base64_of_the_standard_s_vectors)
{
    static const char *const vectors[][2] = {{"", ""},
                                             {"f", "Zg=="},
                                             {"fo", "Zm8="},
                                             {"foo", "Zm9v"},
                                             {"foob", "Zm9vYg=="},
                                             {"fooba", "Zm9vYmE="},
                                             {"foobar", "Zm9vYmFy"}};
    for (size_t i = 0; i < sizeof vectors / sizeof vectors[0]; i++) {
        start();
        sm_html_base64(&html, vectors[i][0], strlen(vectors[i][0]));
        if (i > 0)
            expect(vectors[i][1]);
        else
            cr_assert_eq(out.n, 0);
    }
}

/* Past the size of what is written at once: n bytes take four characters for every three begun. */
Test(html_write, writes_base64_of_any_length)
{
    char zeros[2000] = {0};
    for (size_t n = 760; n < 780; n++) {
        start();
        sm_html_base64(&html, zeros, n);
        cr_assert_eq(out.n, 4 * ((n + 2) / 3));
        for (size_t i = 0; i < out.n; i++)
            cr_assert_eq(out.bytes[i], i < out.n - (3 - n % 3) % 3 ? 'A' : '=', "%zu of %zu", i, n);
        sm_memory_sink_release(&out);
    }
}

struct full {
    size_t calls;
};
static int refuse(void *user, const char *bytes, size_t n)
{
    struct full *full = user;
    (void)bytes;
    (void)n;
    full->calls++;
    return 1;
}

Test(html_write, writes_nothing_more_after_a_failure)
{
    struct full full = {0};
    struct sm_sink sink = {.write = refuse, .user = &full};
    struct sm_error err = {0};
    sm_html_init(&html, &sink);
    sm_html_text(&html, "one");
    sm_html_text(&html, "two");
    cr_assert_eq(sm_html_end(&html, &err), SM_E_IO);
    cr_assert_eq(err.status, SM_E_IO);
    cr_assert_eq(full.calls, 1);
}
