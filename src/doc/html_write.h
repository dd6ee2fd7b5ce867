/*
 * Writes HTML to a sink. Errors stick: after the first nothing more is written, and sm_html_end gives it.
 *
 * What comes from a file or from the user goes through sm_html_text or sm_html_textf, which let it be nothing but text;
 * sm_html_raw is for the page's own markup.
 */
#ifndef SM_DOC_HTML_WRITE_H
#define SM_DOC_HTML_WRITE_H

#include <stddef.h>

#include "base/fail.h"
#include "slowmatch/sink.h"

struct sm_html {
    struct sm_sink *sink;
    enum sm_status status;
    struct sm_error error;
};

void sm_html_init(struct sm_html *html, struct sm_sink *sink);
/* Status: that of the sink. */
enum sm_status sm_html_end(const struct sm_html *html, struct sm_error *err) SM_MUST_CHECK;

void sm_html_raw(struct sm_html *html, const char *markup);
void sm_html_bytes(struct sm_html *html, const char *bytes, size_t n);
void sm_html_text(struct sm_html *html, const char *text);                      /* NULL: nothing */
void sm_html_textf(struct sm_html *html, const char *fmt, ...) SM_PRINTF(2, 3); /* to 2047 bytes */
/* Markup with numbers in it; no text may come in by a %s but a word of our own. */
void sm_html_rawf(struct sm_html *html, const char *fmt, ...) SM_PRINTF(2, 3); /* to 2047 bytes */
/* "<td>text</td>": an element with text in it; attributes as in `td class="number"`. */
void sm_html_element(struct sm_html *html, const char *tag, const char *text);
/* RFC 4648, section 4. */
void sm_html_base64(struct sm_html *html, const void *bytes, size_t n);

#endif
