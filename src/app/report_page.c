/* The report of one motor as a page. */
#include "app/report_parts.h"
#include "base/sink.h"
#include "base/text.h"
#include "export/result_json.h"

#include <math.h>

/* ---- what chapters share ---- */

void sm_page_put_row(struct sm_html *html, const char *name, const char *text)
{
    if (!text)
        return;
    sm_html_raw(html, "<tr>");
    sm_html_element(html, "th scope=\"row\"", name);
    sm_html_element(html, "td class=\"figure\"", text);
    sm_html_raw(html, "</tr>\n");
}

const char *sm_page_digits(struct sm_arena *arena, const double *values, size_t n, enum sm_dim dim,
                           enum sm_unit_system system)
{
    char *text = values ? sm_arena_alloc(arena, n + 1, SM_SHOW_TEXT) : NULL;
    size_t used = 0;
    for (size_t i = 0; text && i < n; i++) {
        char digits[SM_SHOW_TEXT];
        sm_show_digits(digits, values[i], dim, system);
        used += (size_t)sm_text_format(text + used, SM_SHOW_TEXT + 1, "%s%s", i ? " " : "", digits);
    }
    return text;
}

void sm_report_class_text(const struct sm_report *r, char *text, size_t size)
{
    const struct sm_impulse_class *c = &r->result->impulse_class;
    char left[SM_SHOW_TEXT];
    sm_text_format(text, size, "%s: over %g up to %g N s; %s below its upper limit, %.1f %% of it", c->letter,
                   c->above, c->to, sm_show_measure(left, c->margin, SM_DIM_IMPULSE, r->options.system),
                   100.0 * c->margin / c->to);
}

void sm_page_put_cautions(struct sm_html *html)
{
    static const char *const sentences[] = {
        "It predicts; it does not certify. Class and level here are those of a predicted or self-measured "
        "curve, or of a "
        "curve as given. Certification flights and ordinary launches take motors certified by a recognised "
        "body.",
        "A motor of one's own design is not a certified motor, whatever its class. Where it may be flown at "
        "all, an "
        "organisation's separate rules for research motors apply.",
        "The numbers carry more digits than a throat drilled to 0.02 mm deserves: see how far they stray.",
        "Case heating is not reckoned: for burns over five seconds the burst pressure must be that of the "
        "hot case.",
        "Nothing here is a drawing for manufacture.",
        "Making or altering motors is regulated and dangerous. Follow national and local law, the codes that "
        "apply (NFPA "
        "1122, 1125 and 1127 in the United States) and your range's safety officer; have designs reviewed by "
        "people "
        "licensed and experienced to do so; never stand near a test.",
        "Thresholds of class, certification and regulation are given as published: check the current edition "
        "and your own "
        "jurisdiction.",
    };
    sm_html_raw(html, "<ul>\n");
    for (size_t i = 0; i < SM_COUNT(sentences); i++) {
        sm_html_element(html, "li", sentences[i]);
        sm_html_raw(html, "\n");
    }
    sm_html_raw(html, "</ul>\n");
}

/* What goes with every figure of a vehicle. */
static void put_flight_cautions(struct sm_html *html)
{
    sm_html_raw(html, "<ul>\n");
    for (size_t i = 0; sm_lift_caution(i); i++) {
        sm_html_element(html, "li", sm_lift_caution(i));
        sm_html_raw(html, "\n");
    }
    sm_html_raw(html, "</ul>\n");
}

/* ---- the page ---- */

static void put_title(struct sm_report *r)
{
    struct sm_html *h = &r->html;
    const struct sm_result *x = r->result;
    char a[SM_SHOW_TEXT], b[SM_SHOW_TEXT], c[SM_SHOW_TEXT];
    sm_html_raw(h, "<a class=\"skip\" href=\"#figures\">Past the flight card to the figures</a>\n<header>\n");
    sm_html_element(h, "h1", x->motor);
    sm_html_raw(h, "<p class=\"lead\">");
    sm_html_textf(
        h, "%s, %s: %s in %s, %s on average, up to %s.", x->designation,
        x->is_curve ? "from its curve as given" : "predicted",
        sm_show_measure(a, x->thrust.total_impulse, SM_DIM_IMPULSE, r->options.system),
        sm_show_measure(b, x->thrust.burn_time, SM_DIM_TIME, r->options.system),
        sm_show_measure(c, x->thrust.average, SM_DIM_FORCE, r->options.system),
        sm_show_measure((char[SM_SHOW_TEXT]){0}, x->thrust.maximum, SM_DIM_FORCE, r->options.system));
    sm_html_raw(h, "</p>\n");
    if (!x->complete)
        sm_html_raw(
            h, "<p class=\"warning\">The run was stopped before its end: what follows is incomplete.</p>\n");
    sm_html_raw(h, "</header>\n");
}

static void put_json(struct sm_report *r)
{
    /* The machine form, for whoever takes the page's numbers on; nothing on the page is reckoned from it. */
    struct sm_json_writer w;
    struct sm_html *h = &r->html;
    sm_html_raw(h, "<script type=\"application/json\" id=\"result\">");
    sm_json_write_init(&w, h->sink);
    w.for_script = true;
    sm_result_put_json(&w, r->result, NULL);
    if (h->status == SM_OK)
        h->status = sm_json_write_end(&w, &h->error);
    sm_html_raw(h, "</script>\n");
}

static enum sm_status put_page(struct sm_report *r)
{
    char title[256];
    sm_text_format(title, sizeof title, "%.150s: %s, report by slowmatch", r->result->motor,
                   r->result->designation);
    SM_TRY(sm_page_open(&r->html, title, SM_PAGE_REPORT, r->err));
    sm_html_raw(&r->html, "<main>\n");
    put_title(r);
    sm_report_put_card(r);
    sm_report_put_warnings(r);
    SM_TRY(sm_report_put_curves(r));
    sm_report_put_figures(r);
    if (!r->motor->spec.is_curve)
        SM_TRY(sm_report_put_fronts(r));
    sm_report_put_masses(r);
    sm_report_put_losses(r);
    sm_report_put_straying(r);
    sm_report_put_inputs(r);
    sm_page_chapter(&r->html, "cautions", "Cautions");
    sm_page_put_cautions(&r->html);
    if (r->options.lift)
        put_flight_cautions(&r->html);
    sm_page_chapter_end(&r->html);
    sm_html_raw(&r->html, "</main>\n");
    put_json(r);
    sm_page_close(&r->html, SM_PAGE_REPORT);
    return sm_html_end(&r->html, r->err);
}

enum sm_status sm_report_write(const struct sm_motor *motor, const struct sm_result *result,
                               const struct sm_report_options *options, struct sm_sink *sink,
                               struct sm_error *err)
{
    struct sm_report r = {.motor = motor, .result = result, .err = err};
    if (options)
        r.options = *options;
    r.count = r.options.count > 0 ? r.options.count : 1;
    sm_arena_init(&r.arena, NULL);
    sm_html_init(&r.html, sink);
    enum sm_status status = put_page(&r);
    if (r.html.status != SM_OK) /* what failed first, wherever the page noticed */
        status = sm_html_end(&r.html, err);
    sm_arena_release(&r.arena);
    return status;
}
