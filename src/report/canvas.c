#include "report/canvas.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>
#include <errno.h>
#include <math.h>
#include <string.h>

static const char font_family[] = "DejaVu Sans";
static const double point_per_px = 0.75; /* 72 points and 96 px to the inch */
static const double pi = 3.14159265358979323846;

/* ---- opening and ending ---- */

static int pass_on(struct sm_canvas *canvas, const char *bytes, size_t n)
{
    if (canvas->sink_code == 0 && n > 0)
        canvas->sink_code = canvas->sink->write(canvas->sink->user, bytes, n);
    return canvas->sink_code;
}

static cairo_status_t take_bytes(void *user, const unsigned char *bytes, unsigned n)
{
    struct sm_canvas *canvas = user;
    if (canvas->is_muted)
        return CAIRO_STATUS_SUCCESS;
    return pass_on(canvas, (const char *)bytes, n) == 0 ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

static cairo_status_t keep_bytes(void *user, const unsigned char *bytes, unsigned n)
{
    struct sm_canvas *canvas = user;
    if (canvas->is_muted)
        return CAIRO_STATUS_SUCCESS;
    const int code = canvas->svg.sink.write(canvas->svg.sink.user, (const char *)bytes, n);
    return code == 0 ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_NO_MEMORY;
}

/* cairo 1.16 numbers the outermost group by the surfaces that the process has had so far, which would make the same
 * picture differ from one call to the next. Nothing refers to that number, so it goes. */
static void pass_on_svg(struct sm_canvas *canvas)
{
    static const char group[] = "<g id=\"surface";
    const char *all = canvas->svg.bytes ? canvas->svg.bytes : "", *number = strstr(all, group);
    if (!number) {
        pass_on(canvas, all, canvas->svg.n);
        return;
    }
    number += strlen(group);
    const char *rest = number + strspn(number, "0123456789");
    pass_on(canvas, all, (size_t)(number - all));
    pass_on(canvas, rest, canvas->svg.n - (size_t)(rest - all));
}

static cairo_surface_t *make_surface(struct sm_canvas *canvas, int width, int height, const char *title)
{
    cairo_surface_t *surface;
    switch (canvas->kind) {
    case SM_PLOT_PNG:
        return cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    case SM_PLOT_PDF:
        surface = cairo_pdf_surface_create_for_stream(take_bytes, canvas, width * point_per_px,
                                                      height * point_per_px);
        /* An empty date keeps the clock out of the file. */
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "");
        if (title && *title)
            cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title);
        return surface;
    case SM_PLOT_SVG:
    default:
        surface = cairo_svg_surface_create_for_stream(keep_bytes, canvas, width, height);
        cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PX);
        return surface;
    }
}

/* Letters of the same widths whatever the kind of file and the user's display settings. */
static void set_font_options(cairo_t *cr)
{
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_set_font_options(cr, options);
    cairo_font_options_destroy(options);
}

static enum sm_status fault(const struct sm_canvas *canvas, cairo_status_t status, struct sm_error *err)
{
    if (canvas->sink_code != 0)
        return sm_fail(err, canvas->sink_code == ENOMEM ? SM_E_NOMEM : SM_E_IO, "can't write: %s",
                       strerror(canvas->sink_code));
    if (status == CAIRO_STATUS_NO_MEMORY)
        return sm_fail(err, SM_E_NOMEM, "out of memory while drawing");
    return sm_fail(err, SM_E_INTERNAL, "drawing failed: %s", cairo_status_to_string(status));
}

enum sm_status sm_canvas_open(struct sm_canvas *canvas, enum sm_plot_kind kind, int width, int height,
                              const char *title, struct sm_sink *sink, struct sm_error *err)
{
    if (width < SM_PICTURE_MIN || width > SM_PICTURE_MAX || height < SM_PICTURE_MIN ||
        height > SM_PICTURE_MAX)
        return sm_fail(err, SM_E_RANGE, "a picture of %d by %d px: each must be from %d to %d", width, height,
                       SM_PICTURE_MIN, SM_PICTURE_MAX);
    *canvas = (struct sm_canvas){.kind = kind, .sink = sink};
    sm_memory_sink_init(&canvas->svg, NULL);
    canvas->surface = make_surface(canvas, width, height, title);
    canvas->cr = cairo_create(canvas->surface);
    const cairo_status_t status = cairo_status(canvas->cr);
    if (status != CAIRO_STATUS_SUCCESS) {
        const enum sm_status failed = fault(canvas, status, err);
        sm_canvas_abandon(canvas);
        return failed;
    }
    if (kind == SM_PLOT_PDF)
        cairo_scale(canvas->cr, point_per_px, point_per_px);
    set_font_options(canvas->cr);
    cairo_set_fill_rule(canvas->cr, CAIRO_FILL_RULE_EVEN_ODD);
    cairo_set_line_join(canvas->cr, CAIRO_LINE_JOIN_ROUND);
    sm_canvas_colour(canvas, sm_palette_paper, 1.0);
    sm_canvas_rectangle(canvas, 0.0, 0.0, width, height);
    sm_canvas_fill(canvas);
    return SM_OK;
}

enum sm_status sm_canvas_finish(struct sm_canvas *canvas, struct sm_error *err)
{
    cairo_status_t status = cairo_status(canvas->cr);
    if (status == CAIRO_STATUS_SUCCESS && canvas->kind == SM_PLOT_PNG)
        status = cairo_surface_write_to_png_stream(canvas->surface, take_bytes, canvas);
    canvas->is_muted = status != CAIRO_STATUS_SUCCESS;
    cairo_surface_finish(canvas->surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(canvas->surface);
    if (status == CAIRO_STATUS_SUCCESS && canvas->kind == SM_PLOT_SVG)
        pass_on_svg(canvas);
    if (status != CAIRO_STATUS_SUCCESS || canvas->sink_code != 0) {
        const enum sm_status failed = fault(canvas, status, err);
        sm_canvas_abandon(canvas);
        return failed;
    }
    sm_canvas_abandon(canvas);
    return SM_OK;
}

void sm_canvas_abandon(struct sm_canvas *canvas)
{
    canvas->is_muted = true;
    cairo_destroy(canvas->cr);
    cairo_surface_destroy(canvas->surface);
    sm_memory_sink_release(&canvas->svg);
    canvas->cr = NULL;
    canvas->surface = NULL;
}

/* ---- lines and areas ---- */

void sm_canvas_colour(struct sm_canvas *canvas, struct sm_colour colour, double opacity)
{
    cairo_set_source_rgba(canvas->cr, colour.r, colour.g, colour.b, opacity);
}

void sm_canvas_pen(struct sm_canvas *canvas, double width, enum sm_plot_stroke stroke)
{
    /* On and off in line widths; a dot is a short dash, so that all ends may be square cut. */
    static const struct {
        int n;
        double length[4]; /* [line widths] */
    } dashes[] = {
        [SM_STROKE_SOLID] = {0},
        [SM_STROKE_DASHED] = {2, {4.0, 2.5}},
        [SM_STROKE_DOTTED] = {2, {1.2, 1.8}},
        [SM_STROKE_DASH_DOT] = {4, {5.0, 2.0, 1.2, 2.0}},
        [SM_STROKE_DISCS] = {0},
    };
    double length[4];
    for (int i = 0; i < dashes[stroke].n; i++)
        length[i] = dashes[stroke].length[i] * width;
    cairo_set_line_width(canvas->cr, width);
    cairo_set_dash(canvas->cr, length, dashes[stroke].n, 0.0);
}

void sm_canvas_move(struct sm_canvas *canvas, double x, double y)
{
    cairo_move_to(canvas->cr, x, y);
}

void sm_canvas_line(struct sm_canvas *canvas, double x, double y)
{
    cairo_line_to(canvas->cr, x, y);
}

void sm_canvas_arc(struct sm_canvas *canvas, double x, double y, double radius, double a0, double a1,
                   bool growing)
{
    if (growing)
        cairo_arc(canvas->cr, x, y, radius, a0, a1);
    else
        cairo_arc_negative(canvas->cr, x, y, radius, a0, a1);
}

void sm_canvas_rectangle(struct sm_canvas *canvas, double x, double y, double width, double height)
{
    cairo_rectangle(canvas->cr, x, y, width, height);
}

void sm_canvas_disc(struct sm_canvas *canvas, double x, double y, double radius)
{
    cairo_new_sub_path(canvas->cr);
    cairo_arc(canvas->cr, x, y, radius, 0.0, 2.0 * pi);
    cairo_close_path(canvas->cr);
}

void sm_canvas_close(struct sm_canvas *canvas)
{
    cairo_close_path(canvas->cr);
}

void sm_canvas_stroke(struct sm_canvas *canvas)
{
    cairo_stroke(canvas->cr);
}

void sm_canvas_fill(struct sm_canvas *canvas)
{
    cairo_fill(canvas->cr);
}

/* The path is no part of what cairo saves, so the clip eats it and restoring does not bring it back. */
void sm_canvas_clip(struct sm_canvas *canvas)
{
    cairo_save(canvas->cr);
    cairo_clip(canvas->cr);
}

void sm_canvas_unclip(struct sm_canvas *canvas)
{
    cairo_restore(canvas->cr);
}

/* Where a line of so many whole px must lie to cover them. */
static double snap(double at, double width)
{
    const double half = 0.5 * fmod(width, 2.0);
    return nearbyint(at - half) + half;
}

void sm_canvas_hairline(struct sm_canvas *canvas, double x0, double y0, double x1, double y1, double width)
{
    const double whole = fmax(1.0, nearbyint(width));
    sm_canvas_pen(canvas, whole, SM_STROKE_SOLID);
    cairo_move_to(canvas->cr, x0 == x1 ? snap(x0, whole) : x0, y0 == y1 ? snap(y0, whole) : y0);
    cairo_line_to(canvas->cr, x0 == x1 ? snap(x1, whole) : x1, y0 == y1 ? snap(y1, whole) : y1);
    cairo_stroke(canvas->cr);
}

/* ---- text ---- */

static void set_font(struct sm_canvas *canvas, struct sm_font font)
{
    cairo_select_font_face(canvas->cr, font_family, CAIRO_FONT_SLANT_NORMAL,
                           font.bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(canvas->cr, font.size);
}

void sm_canvas_text(struct sm_canvas *canvas, double x, double y, struct sm_font font, const char *text)
{
    set_font(canvas, font);
    cairo_move_to(canvas->cr, x, y);
    cairo_show_text(canvas->cr, text);
    cairo_new_path(canvas->cr);
}

double sm_canvas_text_width(struct sm_canvas *canvas, struct sm_font font, const char *text)
{
    cairo_text_extents_t extents;
    set_font(canvas, font);
    cairo_text_extents(canvas->cr, text, &extents);
    return extents.x_advance;
}

/* ---- the leak checker ---- */

#if defined(__has_feature)
#if __has_feature(address_sanitizer)
#define SM_CHECKS_LEAKS
#endif
#endif
#if defined(__SANITIZE_ADDRESS__) || defined(SM_CHECKS_LEAKS)
/* cairo keeps the faces it has met for the life of the process, and fontconfig's patterns behind them hold
 * their parts by offsets, which the checker takes for lost. It is one fixed sum, however many pictures are
 * drawn. */
/* NOLINTBEGIN(bugprone-reserved-identifier): these names are the checker's own. */
SM_API const char *__lsan_default_suppressions(void);
SM_API const char *__lsan_default_options(void);
/* NOLINTEND(bugprone-reserved-identifier) */

const char *__lsan_default_suppressions(void)
{
    return "leak:libfontconfig";
}

/* Nor is there a line about it on standard error. */
const char *__lsan_default_options(void)
{
    return "print_suppressions=0";
}
#endif
