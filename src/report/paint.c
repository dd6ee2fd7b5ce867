#include "report/panel.h"

#include <math.h>

/* Shares of colour against white of tinted areas and their edges [1]. */
static const double span_tint = 0.10, span_edge = 0.45, band_opacity = 0.22;

/* ---- what lies under the curves ---- */

static double clamp(double value, double lo, double hi)
{
    return fmax(lo, fmin(hi, value));
}

static void paint_spans(const struct sm_panel *panel)
{
    struct sm_canvas *c = panel->canvas;
    const struct sm_box *b = &panel->box;
    for (size_t i = 0; i < panel->in->n_spans; i++) {
        const struct sm_plot_span *span = &panel->in->spans[i];
        if (!sm_panel_shows_span(panel, span))
            continue;
        const struct sm_colour colour = sm_palette_accent(span->colour);
        const double x0 = sm_panel_point(panel, clamp(span->x0, panel->x.lo, panel->x.hi), 0.0).x;
        const double x1 = sm_panel_point(panel, clamp(span->x1, panel->x.lo, panel->x.hi), 0.0).x;
        sm_canvas_colour(c, colour, span_tint);
        sm_canvas_rectangle(c, x0, b->y, x1 - x0, b->h);
        sm_canvas_fill(c);
        sm_canvas_colour(c, sm_palette_mix(colour, sm_palette_paper, span_edge), 1.0);
        sm_canvas_hairline(c, x0, b->y, x0, b->y + b->h, 1.0);
        sm_canvas_hairline(c, x1, b->y, x1, b->y + b->h, 1.0);
    }
}

static void paint_grid(const struct sm_panel *panel)
{
    struct sm_canvas *c = panel->canvas;
    const struct sm_box *b = &panel->box;
    sm_canvas_colour(c, sm_palette_grid, 1.0);
    for (int i = 0; i < panel->x_ticks.n; i++) {
        const double x = sm_panel_point(panel, sm_ticks_value(&panel->x_ticks, i), 0.0).x;
        sm_canvas_hairline(c, x, b->y, x, b->y + b->h, 1.0);
    }
    for (int i = 0; i < panel->y_ticks.n; i++) {
        const double y = sm_panel_point(panel, 0.0, sm_ticks_value(&panel->y_ticks, i)).y;
        sm_canvas_hairline(c, b->x, y, b->x + b->w, y, 1.0);
    }
}

static void paint_bands(const struct sm_panel *panel)
{
    struct sm_canvas *c = panel->canvas;
    const struct sm_box *b = &panel->box;
    for (size_t i = 0; i < panel->in->n_bands; i++) {
        size_t at_low = 0, at_high = 0, n_low, n_high;
        const struct sm_spot *low, *high;
        while ((low = sm_polyline_piece(&panel->band_low[i], &at_low, &n_low)) &&
               (high = sm_polyline_piece(&panel->band_high[i], &at_high, &n_high))) {
            sm_canvas_rectangle(c, b->x, b->y, b->w, b->h);
            sm_canvas_clip(c);
            sm_canvas_move(c, high[0].x, high[0].y);
            for (size_t k = 1; k < n_high; k++)
                sm_canvas_line(c, high[k].x, high[k].y);
            for (size_t k = n_low; k-- > 0;)
                sm_canvas_line(c, low[k].x, low[k].y);
            sm_canvas_close(c);
            sm_canvas_colour(c, sm_palette_accent(panel->in->bands[i].colour), band_opacity);
            sm_canvas_fill(c);
            sm_canvas_unclip(c);
        }
    }
}

static void paint_rules(const struct sm_panel *panel)
{
    struct sm_canvas *c = panel->canvas;
    const struct sm_box *b = &panel->box;
    for (size_t i = 0; i < panel->in->n_rules; i++) {
        const struct sm_plot_rule *rule = &panel->in->rules[i];
        if (!sm_panel_shows_rule(panel, rule))
            continue;
        const struct sm_spot p = sm_panel_point(panel, rule->at, rule->at);
        sm_canvas_colour(c, sm_palette_accent(rule->colour), 1.0);
        if (rule->vertical)
            sm_canvas_hairline(c, p.x, b->y, p.x, b->y + b->h, panel->style->rule);
        else
            sm_canvas_hairline(c, b->x, p.y, b->x + b->w, p.y, panel->style->rule);
    }
}

/* ---- curves ---- */

static bool is_inside(const struct sm_box *b, struct sm_spot p)
{
    return p.x >= b->x && p.x <= b->x + b->w && p.y >= b->y && p.y <= b->y + b->h;
}

static void fill_disc(struct sm_canvas *c, const struct sm_box *box, struct sm_spot p, double radius)
{
    if (!is_inside(box, p))
        return;
    sm_canvas_disc(c, p.x, p.y, radius);
    sm_canvas_fill(c);
}

/* Keeps to the box by arithmetic rather than by a clip, so that a line along its edge is as thick as
 * elsewhere. */
static void stroke_piece(struct sm_canvas *c, const struct sm_box *box, const struct sm_spot *p, size_t n)
{
    struct sm_spot pen = {SM_NAN, SM_NAN};
    for (size_t k = 1; k < n; k++) {
        struct sm_spot a = p[k - 1], b = p[k];
        if (!sm_polyline_clip(box, &a, &b))
            continue;
        if (a.x != pen.x || a.y != pen.y)
            sm_canvas_move(c, a.x, a.y);
        sm_canvas_line(c, b.x, b.y);
        pen = b;
    }
    sm_canvas_stroke(c);
}

static void paint_series(const struct sm_panel *panel, size_t i)
{
    struct sm_canvas *c = panel->canvas;
    const enum sm_plot_stroke stroke = sm_panel_series_stroke(panel, i);
    const double width = sm_panel_series_width(panel, i);
    sm_canvas_colour(c, sm_palette_accent(sm_panel_series_colour(panel, i)), 1.0);
    size_t at = 0, n;
    for (const struct sm_spot *p; (p = sm_polyline_piece(&panel->series[i], &at, &n));) {
        if (stroke == SM_STROKE_DISCS) {
            for (size_t k = 0; k < n; k++)
                fill_disc(c, &panel->box, p[k], sm_panel_disc_radius(panel, i));
        } else if (n == 1) {
            fill_disc(c, &panel->box, p[0], sm_panel_disc_radius(panel, i));
        } else {
            sm_canvas_pen(c, width, stroke);
            stroke_piece(c, &panel->box, p, n);
        }
    }
}

void sm_panel_paint_sample(const struct sm_panel *panel, size_t i, double x0, double x1, double y)
{
    struct sm_canvas *c = panel->canvas;
    const enum sm_plot_stroke stroke = sm_panel_series_stroke(panel, i);
    const double width = sm_panel_series_width(panel, i);
    sm_canvas_colour(c, sm_palette_accent(sm_panel_series_colour(panel, i)), 1.0);
    if (stroke == SM_STROKE_DISCS) {
        sm_canvas_disc(c, 0.5 * (x0 + x1), y, sm_panel_disc_radius(panel, i));
        sm_canvas_fill(c);
        return;
    }
    sm_canvas_pen(c, width, stroke);
    sm_canvas_move(c, x0, y);
    sm_canvas_line(c, x1, y);
    sm_canvas_stroke(c);
}

static void paint_markers(const struct sm_panel *panel)
{
    struct sm_canvas *c = panel->canvas;
    const double r = panel->style->disc;
    for (size_t i = 0; i < panel->in->n_markers; i++) {
        const struct sm_plot_marker *m = &panel->in->markers[i];
        if (!sm_panel_shows_marker(panel, m))
            continue;
        const struct sm_spot p = sm_panel_point(panel, m->x, m->y);
        sm_canvas_colour(c, sm_palette_paper, 1.0);
        fill_disc(c, &panel->box, p, r + 2.0 * panel->style->scale);
        sm_canvas_colour(c, m->colour > 0 ? sm_palette_accent(m->colour) : sm_palette_text, 1.0);
        fill_disc(c, &panel->box, p, r);
    }
}

/* ---- frame and texts ---- */

static void paint_axes(const struct sm_panel *panel)
{
    struct sm_canvas *c = panel->canvas;
    const struct sm_style *s = panel->style;
    const struct sm_box *b = &panel->box;
    const struct sm_font font = {s->tick, false};
    const double floor_y = b->y + b->h;
    char text[SM_TICK_TEXT];
    sm_canvas_colour(c, sm_palette_axis, 1.0);
    sm_canvas_hairline(c, b->x, b->y, b->x, floor_y, s->axis);
    sm_canvas_hairline(c, b->x, floor_y, b->x + b->w, floor_y, s->axis);
    for (int i = 0; i < panel->y_ticks.n; i++) {
        const double y = sm_panel_point(panel, 0.0, sm_ticks_value(&panel->y_ticks, i)).y;
        sm_ticks_text(&panel->y_ticks, i, text);
        sm_canvas_hairline(c, b->x - s->tick_length, y, b->x, y, s->axis);
        sm_canvas_text(c, b->x - s->tick_length - s->gap - sm_canvas_text_width(c, font, text),
                       y + 0.36 * s->tick, font, text);
    }
    for (int i = 0; i < panel->x_ticks.n; i++) {
        const double x = sm_panel_point(panel, sm_ticks_value(&panel->x_ticks, i), 0.0).x;
        sm_ticks_text(&panel->x_ticks, i, text);
        sm_canvas_hairline(c, x, floor_y, x, floor_y + s->tick_length, s->axis);
        if (panel->shows_x)
            sm_canvas_text(c, x - 0.5 * sm_canvas_text_width(c, font, text),
                           floor_y + s->tick_length + s->gap + 0.8 * s->tick, font, text);
    }
    if (panel->y.lo < 0.0 && panel->y.hi > 0.0) {
        const double y = sm_panel_point(panel, 0.0, 0.0).y;
        sm_canvas_hairline(c, b->x, y, b->x + b->w, y, 1.0);
    }
}

static void paint_frame_texts(const struct sm_panel *panel)
{
    struct sm_canvas *c = panel->canvas;
    const struct sm_style *s = panel->style;
    const struct sm_box *b = &panel->box;
    const double left = s->margin;
    double y = b->y - panel->top + panel->lead;
    sm_canvas_colour(c, sm_palette_text, 1.0);
    sm_textblock_draw(c, &panel->title, left, y, false);
    y += panel->title.height;
    if (panel->key_height > 0.0) {
        sm_panel_paint_key(panel, left, y);
        y += panel->key_height + s->gap;
    }
    sm_canvas_colour(c, sm_palette_text, 1.0);
    sm_textblock_draw(c, &panel->y_text, left, y, false);
    sm_textblock_draw(c, &panel->x_text, b->x + 0.5 * (b->w - panel->x_text.width),
                      b->y + b->h + panel->bottom - panel->x_text.height, true);
}

static struct sm_colour ink_of(const struct sm_name *name)
{
    switch (name->of) {
    case SM_NAME_MARKER:
        return name->colour > 0 ? sm_palette_ink(name->colour) : sm_palette_text;
    case SM_NAME_SPAN:
    case SM_NAME_RULE:
        return name->colour > 0 ? sm_palette_ink(name->colour) : sm_palette_muted;
    case SM_NAME_BAND: /* it may stand in its own tint */
        return sm_palette_ink_on(
            name->colour, sm_palette_mix(sm_palette_accent(name->colour), sm_palette_paper, band_opacity));
    case SM_NAME_SERIES:
    default:
        return sm_palette_ink(name->colour);
    }
}

static void paint_leader(const struct sm_panel *panel, const struct sm_name *name)
{
    struct sm_spot from, to;
    if (!sm_panel_name_leader(panel, name, &from, &to))
        return;
    sm_canvas_colour(panel->canvas, ink_of(name), 1.0);
    sm_canvas_pen(panel->canvas, 1.0, SM_STROKE_SOLID);
    sm_canvas_move(panel->canvas, from.x, from.y);
    sm_canvas_line(panel->canvas, to.x, to.y);
    sm_canvas_stroke(panel->canvas);
    if (name->of == SM_NAME_BAND)
        fill_disc(panel->canvas, &panel->box, from, 0.5 * panel->style->disc);
}

static void paint_names(const struct sm_panel *panel)
{
    struct sm_canvas *c = panel->canvas;
    for (size_t i = 0; i < panel->n_names; i++) {
        const struct sm_name *name = &panel->names[i];
        const struct sm_box *b = &name->place.box;
        if (!name->place.found || name->in_key)
            continue;
        if (name->place.crosses) {
            sm_canvas_colour(c, sm_palette_paper, 0.85);
            sm_canvas_rectangle(c, b->x - 2.0, b->y, b->w + 4.0, b->h);
            sm_canvas_fill(c);
        }
        paint_leader(panel, name);
        sm_canvas_colour(c, ink_of(name), 1.0);
        sm_textblock_draw(c, &name->block, b->x, b->y, false);
    }
    if (!panel->has_data) {
        const struct sm_font font = {panel->style->label, false};
        const char text[] = "no data";
        sm_canvas_colour(c, sm_palette_muted, 1.0);
        sm_canvas_text(c, panel->box.x + 0.5 * (panel->box.w - sm_canvas_text_width(c, font, text)),
                       panel->box.y + 0.5 * panel->box.h, font, text);
    }
}

void sm_panel_paint(const struct sm_panel *panel)
{
    paint_spans(panel);
    paint_grid(panel);
    paint_bands(panel);
    paint_axes(panel);
    paint_rules(panel);
    for (size_t i = 0; i < panel->in->n_series; i++)
        paint_series(panel, i);
    paint_markers(panel);
    paint_names(panel);
    paint_frame_texts(panel);
}
