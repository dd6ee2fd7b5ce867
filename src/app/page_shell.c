#include "app/page_shell.h"
#include "base/sink.h"
#include "base/text.h"
#include "export/sha256.h"

#include <math.h>
#include <string.h>

/* ---- the parts, from the build ---- */

struct part {
    const unsigned char *bytes;
    const size_t *n;
};

#ifdef SM_PAGES
#define PART(name)                                                                                           \
    extern const unsigned char name[];                                                                       \
    extern const size_t name##_size;
PART(sm_page_common_sheet)
PART(sm_page_plot_sheet)
PART(sm_page_plot_library)
PART(sm_page_plot_code)
PART(sm_page_report_code)
PART(sm_page_lesson_code)
static const struct part parts[] = {
    [SM_PAGE_COMMON_SHEET] = {sm_page_common_sheet, &sm_page_common_sheet_size},
    [SM_PAGE_PLOT_SHEET] = {sm_page_plot_sheet, &sm_page_plot_sheet_size},
    [SM_PAGE_PLOT_LIBRARY] = {sm_page_plot_library, &sm_page_plot_library_size},
    [SM_PAGE_PLOT_CODE] = {sm_page_plot_code, &sm_page_plot_code_size},
};
static const struct part scripts[] = {
    [SM_PAGE_REPORT] = {sm_page_report_code, &sm_page_report_code_size},
    [SM_PAGE_LESSON] = {sm_page_lesson_code, &sm_page_lesson_code_size},
};
#else
static const struct part parts[SM_PAGE_PLOT_CODE + 1], scripts[SM_PAGE_LESSON + 1];
#endif

bool sm_pages_built(void)
{
    return parts[0].bytes != NULL;
}

const char *sm_page_part(enum sm_page_part part, size_t *n)
{
    *n = parts[part].n ? *parts[part].n : 0;
    return (const char *)parts[part].bytes;
}

/* ---- head and end ---- */

static void put_part(struct sm_html *html, const struct part *part)
{
    sm_html_bytes(html, (const char *)part->bytes, *part->n);
}

/* 'sha256-...' of what one or two parts are together. */
static void put_hash(struct sm_html *html, const struct part *first, const struct part *second)
{
    struct sm_sha256 hash;
    unsigned char digest[SM_SHA256_BYTES];
    sm_sha256_init(&hash);
    sm_sha256_add(&hash, first->bytes, *first->n);
    if (second)
        sm_sha256_add(&hash, second->bytes, *second->n);
    sm_sha256_end(&hash, digest);
    sm_html_raw(html, " 'sha256-");
    sm_html_base64(html, digest, sizeof digest);
    sm_html_raw(html, "'");
}

static void put_policy(struct sm_html *html, enum sm_page_script script)
{
    sm_html_raw(html,
                "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; "
                "base-uri 'none'; form-action 'none'; script-src");
    put_hash(html, &parts[SM_PAGE_PLOT_LIBRARY], NULL);
    put_hash(html, &parts[SM_PAGE_PLOT_CODE], NULL);
    put_hash(html, &scripts[script], NULL);
    sm_html_raw(html, "; style-src");
    put_hash(html, &parts[SM_PAGE_PLOT_SHEET], &parts[SM_PAGE_COMMON_SHEET]);
    sm_html_raw(html, "\">\n");
}

enum sm_status sm_page_open(struct sm_html *html, const char *title, enum sm_page_script script,
                            struct sm_error *err)
{
    if (!sm_pages_built())
        return sm_fail(
            err, SM_E_IO,
            "this slowmatch was built without pages, since npm was not there; build it again with npm");
    sm_html_raw(html, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    put_policy(html, script);
    sm_html_raw(html, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    sm_html_rawf(html, "<meta name=\"generator\" content=\"slowmatch %s\">\n", sm_version());
    sm_html_element(html, "title", title);
    sm_html_raw(html, "\n<link rel=\"icon\" href=\"data:,\">\n<style>");
    put_part(html, &parts[SM_PAGE_PLOT_SHEET]);
    put_part(html, &parts[SM_PAGE_COMMON_SHEET]);
    sm_html_raw(html, "</style>\n</head>\n<body>\n");
    return html->status;
}

static void put_script(struct sm_html *html, const struct part *part)
{
    sm_html_raw(html, "<script>");
    put_part(html, part);
    sm_html_raw(html, "</script>\n");
}

void sm_page_close(struct sm_html *html, enum sm_page_script script)
{
    put_script(html, &parts[SM_PAGE_PLOT_LIBRARY]);
    put_script(html, &parts[SM_PAGE_PLOT_CODE]);
    put_script(html, &scripts[script]);
    sm_html_raw(html, "</body>\n</html>\n");
}

void sm_page_chapter(struct sm_html *html, const char *id, const char *name)
{
    sm_html_rawf(html,
                 "<section class=\"chapter\" id=\"%s\" aria-labelledby=\"%s-name\">\n<h2 id=\"%s-name\">", id,
                 id, id);
    sm_html_text(html, name);
    sm_html_raw(html, "</h2>\n<div class=\"body\">\n");
}

void sm_page_chapter_end(struct sm_html *html)
{
    sm_html_raw(html, "</div>\n</section>\n");
}

/* ---- paths ---- */

/* Hundredths of a millimetre. */
static double mm(double x)
{
    return round(1e5 * x) / 100.0 + 0.0;
}

struct pen {
    struct sm_memory_sink text;
    double x, y; /* where it is [m] */
    bool is_down;
};

static enum sm_status put_arc(struct pen *pen, const struct sm_draw_step *s, struct sm_error *err)
{
    const double pi = 3.14159265358979323846;
    const double r = hypot(s->x - s->cx, s->y - s->cy);
    const double from = atan2(pen->y - s->cy, pen->x - s->cx), to = atan2(s->y - s->cy, s->x - s->cx);
    const int sweep = s->clockwise; /* clockwise on the page too: y is turned over, and SVG counts so */
    double angle = s->clockwise ? from - to : to - from;
    if (hypot(s->x - pen->x, s->y - pen->y) <= 1e-9 * r) { /* a whole circle, as two halves */
        SM_TRY(sm_sink_format(&pen->text.sink, err, "A%.6g %.6g 0 0 %d %.6g %.6g", mm(r), mm(r), sweep,
                              mm(2.0 * s->cx - pen->x), mm(pen->y - 2.0 * s->cy)));
        angle = pi;
    }
    angle = angle < 0.0 ? angle + 2.0 * pi : angle;
    return sm_sink_format(&pen->text.sink, err, "A%.6g %.6g 0 %d %d %.6g %.6g", mm(r), mm(r), angle > pi,
                          sweep, mm(s->x), mm(-s->y));
}

static enum sm_status put_step(struct pen *pen, const struct sm_draw_path *path, const struct sm_draw_step *s,
                               struct sm_error *err)
{
    enum sm_status status = SM_OK;
    if (s->op != SM_DRAW_MOVE)
        status = s->op == SM_DRAW_ARC
                     ? put_arc(pen, s, err)
                     : sm_sink_format(&pen->text.sink, err, "L%.6g %.6g", mm(s->x), mm(-s->y));
    else if (!pen->is_down || path->closed || hypot(s->x - pen->x, s->y - pen->y) > 1e-8)
        status = sm_sink_format(&pen->text.sink, err, "%sM%.6g %.6g", pen->is_down && path->closed ? "Z" : "",
                                mm(s->x), mm(-s->y));
    pen->x = s->x;
    pen->y = s->y;
    pen->is_down = true;
    return status;
}

const char *sm_page_path(struct sm_arena *arena, const struct sm_draw_path *path)
{
    struct pen pen = {.is_down = false};
    enum sm_status status = SM_OK;
    sm_memory_sink_init(&pen.text, NULL);
    for (size_t i = 0; i < path->n && status == SM_OK; i++)
        status = put_step(&pen, path, &path->steps[i], NULL);
    if (status == SM_OK && path->closed && path->n > 0)
        status = sm_sink_text(&pen.text.sink, "Z", NULL);
    const char *text =
        status != SM_OK ? NULL : sm_arena_strndup(arena, pen.text.bytes ? pen.text.bytes : "", pen.text.n);
    sm_memory_sink_release(&pen.text);
    return text;
}
