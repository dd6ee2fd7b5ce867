#include "doc/html_write.h"
#include "base/sink.h"
#include "base/text.h"

#include <string.h>

enum { FORMATTED = 2048 };

void sm_html_init(struct sm_html *html, struct sm_sink *sink)
{
    *html = (struct sm_html){.sink = sink};
}

enum sm_status sm_html_end(const struct sm_html *html, struct sm_error *err)
{
    if (html->status != SM_OK && err)
        *err = html->error;
    return html->status;
}

void sm_html_bytes(struct sm_html *html, const char *bytes, size_t n)
{
    if (html->status == SM_OK && n > 0)
        html->status = sm_sink_bytes(html->sink, bytes, n, &html->error);
}

void sm_html_raw(struct sm_html *html, const char *markup)
{
    sm_html_bytes(html, markup, strlen(markup));
}

static const char *entity_of(char c)
{
    switch (c) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return NULL;
    }
}

void sm_html_text(struct sm_html *html, const char *text)
{
    const char *start = text;
    for (; text && *text; text++) {
        const char *entity = entity_of(*text);
        if (!entity)
            continue;
        sm_html_bytes(html, start, (size_t)(text - start));
        sm_html_raw(html, entity);
        start = text + 1;
    }
    if (text)
        sm_html_bytes(html, start, (size_t)(text - start));
}

void sm_html_textf(struct sm_html *html, const char *fmt, ...)
{
    char text[FORMATTED];
    va_list args;
    va_start(args, fmt);
    sm_text_vformat(text, sizeof text, fmt, args);
    va_end(args);
    sm_html_text(html, text);
}

void sm_html_rawf(struct sm_html *html, const char *fmt, ...)
{
    char text[FORMATTED];
    va_list args;
    va_start(args, fmt);
    sm_text_vformat(text, sizeof text, fmt, args);
    va_end(args);
    sm_html_raw(html, text);
}

void sm_html_element(struct sm_html *html, const char *tag, const char *text)
{
    const size_t name = strcspn(tag, " ");
    sm_html_rawf(html, "<%s>", tag);
    sm_html_text(html, text);
    sm_html_rawf(html, "</%.*s>", (int)name, tag);
}

void sm_html_base64(struct sm_html *html, const void *bytes, size_t n)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    enum { GROUPS = 256 };
    const unsigned char *in = bytes;
    char out[4 * GROUPS];
    size_t used = 0;
    for (size_t i = 0; i < n; i += 3) {
        const size_t left = n - i;
        const unsigned bits =
            (unsigned)in[i] << 16 | (left > 1 ? (unsigned)in[i + 1] << 8 : 0u) | (left > 2 ? in[i + 2] : 0u);
        out[used++] = digits[bits >> 18];
        out[used++] = digits[bits >> 12 & 63];
        out[used++] = left > 1 ? digits[bits >> 6 & 63] : '=';
        out[used++] = left > 2 ? digits[bits & 63] : '=';
        if (used == sizeof out || left <= 3) {
            sm_html_bytes(html, out, used);
            used = 0;
        }
    }
}
