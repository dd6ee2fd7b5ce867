#include "report/axes.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "report/panel.h"

/* ---- is the plot one that can be drawn? ---- */

static enum sm_status check_text(const char *text, struct sm_error *err)
{
    size_t bad = 0;
    if (text && !sm_text_is_utf8(text, strlen(text), &bad))
        return sm_fail(err, SM_E_SYNTAX, "a text of the plot is not UTF-8 at its byte %zu", bad);
    return SM_OK;
}

static enum sm_status check_colour(int colour, struct sm_error *err)
{
    if (colour < 0)
        return sm_fail(err, SM_E_RANGE, "colour %d: colours are numbered from 0", colour);
    return SM_OK;
}

static enum sm_status check_axis(const struct sm_plot_axis *axis, struct sm_error *err)
{
    SM_TRY(check_text(axis->label, err));
    if (axis->min == axis->max)
        return SM_OK;
    /* Nine digits on a tick are past reading, and the arithmetic of px wants some left. */
    const double size = fmax(fabs(axis->min), fabs(axis->max));
    if (!(size <= 1e300) || !(axis->max - axis->min > fmax(1e-9 * size, 1e-290)))
        return sm_fail(err, SM_E_RANGE, "axis from %g to %g: the range must be finite and grow", axis->min,
                       axis->max);
    return SM_OK;
}

static enum sm_status check_series(const struct sm_plot_series *series, struct sm_error *err)
{
    SM_TRY(check_text(series->label, err));
    SM_TRY(check_colour(series->colour, err));
    if (!(series->width >= 0.0 && series->width <= 100.0))
        return sm_fail(err, SM_E_RANGE, "line width %g px: must be from 0 to 100", series->width);
    return SM_OK;
}

static enum sm_status check_panel(const struct sm_plot_panel *panel, struct sm_error *err)
{
    SM_TRY(check_text(panel->title, err));
    SM_TRY(sm_at(err, check_axis(&panel->x, err), "/x"));
    SM_TRY(sm_at(err, check_axis(&panel->y, err), "/y"));
    for (size_t i = 0; i < panel->n_series; i++)
        SM_TRY(sm_at(err, check_series(&panel->series[i], err), "/series/%zu", i));
    for (size_t i = 0; i < panel->n_bands; i++) {
        SM_TRY(sm_at(err, check_text(panel->bands[i].label, err), "/bands/%zu", i));
        SM_TRY(sm_at(err, check_colour(panel->bands[i].colour, err), "/bands/%zu", i));
    }
    for (size_t i = 0; i < panel->n_rules; i++) {
        SM_TRY(sm_at(err, check_text(panel->rules[i].text, err), "/rules/%zu", i));
        SM_TRY(sm_at(err, check_colour(panel->rules[i].colour, err), "/rules/%zu", i));
    }
    for (size_t i = 0; i < panel->n_markers; i++) {
        SM_TRY(sm_at(err, check_text(panel->markers[i].text, err), "/markers/%zu", i));
        SM_TRY(sm_at(err, check_colour(panel->markers[i].colour, err), "/markers/%zu", i));
    }
    for (size_t i = 0; i < panel->n_spans; i++) {
        SM_TRY(sm_at(err, check_text(panel->spans[i].text, err), "/spans/%zu", i));
        SM_TRY(sm_at(err, check_colour(panel->spans[i].colour, err), "/spans/%zu", i));
    }
    if (!(panel->weight >= 0.0 && panel->weight <= 1e6))
        return sm_fail(err, SM_E_RANGE, "panel weight %g: must be from 0 to 1e6", panel->weight);
    return SM_OK;
}

static enum sm_status check_plot(const struct sm_plot *plot, struct sm_error *err)
{
    SM_TRY(check_text(plot->title, err));
    SM_TRY(check_text(plot->subtitle, err));
    SM_TRY(check_text(plot->note, err));
    if (plot->n_panels < 1 || plot->n_panels > SM_PLOT_MAX_PANELS)
        return sm_fail(err, SM_E_RANGE, "a plot of %zu panels: 1 to %d can be drawn", plot->n_panels,
                       SM_PLOT_MAX_PANELS);
    for (size_t i = 0; i < plot->n_panels; i++)
        SM_TRY(sm_at(err, check_panel(&plot->panels[i], err), "/panels/%zu", i));
    return SM_OK;
}

/* ---- the page ---- */

struct page {
    const struct sm_plot *in;
    struct sm_canvas *canvas;
    struct sm_arena *arena;
    struct sm_style style;
    int width, height; /* [px] */
    struct sm_heading heading;
    struct sm_panel *panels;
};

static enum sm_status start_panels(struct page *page, struct sm_error *err)
{
    const size_t n = page->in->n_panels;
    const char *x_label = NULL;
    page->panels = sm_arena_alloc(page->arena, n, sizeof *page->panels);
    if (!page->panels)
        return sm_fail(err, SM_E_NOMEM, "out of memory while drawing");
    for (size_t i = n; i-- > 0;)
        if (page->in->panels[i].x.label)
            x_label = page->in->panels[i].x.label;
    for (size_t i = 0; i < n; i++) {
        struct sm_panel *panel = &page->panels[i];
        const bool separate = page->in->separate_x;
        *panel = (struct sm_panel){.in = &page->in->panels[i],
                                   .style = &page->style,
                                   .canvas = page->canvas,
                                   .arena = page->arena,
                                   .shows_x = separate || i + 1 == n,
                                   .x_label = separate ? page->in->panels[i].x.label : x_label};
        sm_panel_set_ranges(panel);
        SM_TRY(sm_panel_list_names(panel, err));
    }
    if (!page->in->separate_x)
        sm_panel_share_x(page->panels, n);
    return SM_OK;
}

static double weight_of(const struct sm_panel *panel)
{
    return panel->in->weight > 0.0 ? panel->in->weight : 1.0;
}

/* Heights: what the frames need, and the rest shared out by weight. */
static enum sm_status stack_panels(struct page *page, struct sm_error *err)
{
    const struct sm_style *s = &page->style;
    const size_t n = page->in->n_panels;
    const double width = page->width - 2.0 * s->margin;
    const double room = page->heading.bottom - page->heading.top;
    double fixed = 0.0, weights = 0.0;
    for (size_t i = 0; i < n; i++) {
        struct sm_panel *panel = &page->panels[i];
        SM_TRY(sm_panel_measure_key(panel, width, 0.35 * room / (double)n, err));
        SM_TRY(sm_panel_set_frame(panel, width, err));
        fixed += panel->top + panel->bottom;
        weights += weight_of(panel);
    }
    double y = page->heading.top;
    for (size_t i = 0; i < n; i++) {
        struct sm_panel *panel = &page->panels[i];
        panel->box.h = (room - fixed) * weight_of(panel) / weights;
        panel->box.y = y + panel->top;
        y += panel->top + panel->box.h + panel->bottom;
        if (!(panel->box.h >= 2.5 * s->tick))
            return sm_fail(err, SM_E_RANGE,
                           "a picture of %d by %d px is too small for its texts and %zu panel%s", page->width,
                           page->height, n, n == 1 ? "" : "s");
    }
    return SM_OK;
}

/* Widths: one left edge for all panels, so that times stand over each other. */
static enum sm_status align_panels(struct page *page, struct sm_error *err)
{
    const struct sm_style *s = &page->style;
    double numbers = 0.0;
    for (size_t i = 0; i < page->in->n_panels; i++)
        numbers = fmax(numbers, sm_panel_set_y_ticks(&page->panels[i]));
    const double left = s->margin + numbers + s->gap + s->tick_length;
    for (size_t i = 0; i < page->in->n_panels; i++) {
        struct sm_panel *panel = &page->panels[i];
        panel->box.x = left;
        panel->box.w = page->width - left - 1.5 * s->margin; /* half of the last number stands past the end */
        if (!(panel->box.w >= 4.0 * s->tick))
            return sm_fail(err, SM_E_RANGE, "a picture %d px wide is too narrow for the numbers at its axis",
                           page->width);
        sm_panel_set_x_ticks(panel);
    }
    return SM_OK;
}

/* Texts that find no place make a key, which takes height from the boxes, so all is placed again. Nearly
 * always two rounds do; should texts still be moving after the last, they all go to the key and stay there.
 */
static enum sm_status lay_out(struct page *page, struct sm_error *err)
{
    enum { ROUNDS = 5 };
    bool changed = true;
    for (int round = 1; changed; round++) {
        changed = false;
        SM_TRY(stack_panels(page, err));
        SM_TRY(align_panels(page, err));
        for (size_t i = 0; i < page->in->n_panels; i++) {
            SM_TRY(sm_panel_trace(&page->panels[i], err));
            SM_TRY(sm_panel_place_names(&page->panels[i], &changed, err));
        }
        for (size_t i = 0; i < page->in->n_panels && changed && round >= ROUNDS; i++)
            for (size_t k = 0; k < page->panels[i].n_names; k++)
                page->panels[i].names[k].in_key = true;
    }
    return SM_OK;
}

static enum sm_status draw(struct page *page, struct sm_error *err)
{
    const struct sm_plot *in = page->in;
    const struct sm_heading_texts texts = {in->title, in->subtitle, in->note};
    SM_TRY(sm_heading_make(&page->heading, page->canvas, page->arena, &page->style, &texts, page->width,
                           page->height, err));
    SM_TRY(start_panels(page, err));
    SM_TRY(lay_out(page, err));
    sm_heading_paint(&page->heading, page->canvas, &page->style);
    for (size_t i = 0; i < in->n_panels; i++)
        sm_panel_paint(&page->panels[i]);
    return SM_OK;
}

enum sm_status sm_plot_write(const struct sm_plot *plot, enum sm_plot_kind kind, struct sm_sink *sink,
                             struct sm_error *err)
{
    SM_TRY(check_plot(plot, err));
    const int width = plot->width ? plot->width : 1200;
    const int height = plot->height ? plot->height : 800 + 250 * ((int)plot->n_panels - 1);
    struct sm_canvas canvas;
    SM_TRY(sm_canvas_open(&canvas, kind, width, height, plot->title, sink, err));
    struct sm_arena arena;
    sm_arena_init(&arena, plot->allocator);
    struct page page = {.in = plot,
                        .canvas = &canvas,
                        .arena = &arena,
                        .style = sm_style_for(width, height),
                        .width = width,
                        .height = height};
    const enum sm_status status = draw(&page, err);
    sm_arena_release(&arena);
    if (status != SM_OK) {
        sm_canvas_abandon(&canvas);
        return status;
    }
    return sm_canvas_finish(&canvas, err);
}
