#include "report/panel.h"

#include <math.h>

bool sm_panel_is_drawable(double value)
{
    return fabs(value) <= 1e300; /* false for NaN too */
}

static bool is_in(const struct sm_range *r, double value)
{
    return value >= r->lo && value <= r->hi;
}

bool sm_panel_shows_span(const struct sm_panel *panel, const struct sm_plot_span *span)
{
    return span->x0 < span->x1 && span->x0 < panel->x.hi && span->x1 > panel->x.lo;
}

bool sm_panel_shows_rule(const struct sm_panel *panel, const struct sm_plot_rule *rule)
{
    return is_in(rule->vertical ? &panel->x : &panel->y, rule->at);
}

bool sm_panel_shows_marker(const struct sm_panel *panel, const struct sm_plot_marker *marker)
{
    return is_in(&panel->x, marker->x) && is_in(&panel->y, marker->y);
}

int sm_panel_series_colour(const struct sm_panel *panel, size_t i)
{
    const int given = panel->in->series[i].colour;
    return given > 0 ? given : (int)(i % 1000) + 1;
}

enum sm_plot_stroke sm_panel_series_stroke(const struct sm_panel *panel, size_t i)
{
    static const enum sm_plot_stroke rounds[] = {SM_STROKE_SOLID, SM_STROKE_DASHED, SM_STROKE_DASH_DOT,
                                                 SM_STROKE_DOTTED};
    const enum sm_plot_stroke given = panel->in->series[i].stroke;
    if (given != SM_STROKE_SOLID)
        return given;
    const size_t round = (size_t)(sm_panel_series_colour(panel, i) - 1) / SM_PLOT_ACCENTS;
    return rounds[round % SM_COUNT(rounds)];
}

double sm_panel_series_width(const struct sm_panel *panel, size_t i)
{
    const double given = panel->in->series[i].width;
    return given > 0.0 ? given * panel->style->scale : panel->style->line;
}

double sm_panel_disc_radius(const struct sm_panel *panel, size_t i)
{
    return 1.3 * sm_panel_series_width(panel, i);
}

/* ---- ranges ---- */

static void include(struct sm_range *r, double value)
{
    if (!sm_panel_is_drawable(value))
        return;
    r->lo = fmin(r->lo, value);
    r->hi = fmax(r->hi, value);
}

static void include_pairs(struct sm_range *x, struct sm_range *y, const double *xs, const double *ys,
                          size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (sm_panel_is_drawable(xs[i]) && sm_panel_is_drawable(ys[i])) {
            include(x, xs[i]);
            include(y, ys[i]);
        }
}

static void find_extent(const struct sm_plot_panel *in, struct sm_range *x, struct sm_range *y)
{
    *x = *y = (struct sm_range){SM_INF, -SM_INF};
    for (size_t i = 0; i < in->n_series; i++)
        include_pairs(x, y, in->series[i].x, in->series[i].y, in->series[i].n);
    for (size_t i = 0; i < in->n_bands; i++) {
        include_pairs(x, y, in->bands[i].x, in->bands[i].y_low, in->bands[i].n);
        include_pairs(x, y, in->bands[i].x, in->bands[i].y_high, in->bands[i].n);
    }
    for (size_t i = 0; i < in->n_markers; i++)
        include_pairs(x, y, &in->markers[i].x, &in->markers[i].y, 1);
    for (size_t i = 0; i < in->n_rules; i++)
        include(in->rules[i].vertical ? x : y, in->rules[i].at);
    for (size_t i = 0; i < in->n_spans; i++) {
        include(x, in->spans[i].x0);
        include(x, in->spans[i].x1);
    }
}

static bool is_given(const struct sm_plot_axis *axis)
{
    return axis->min < axis->max;
}

static struct sm_range range_of(const struct sm_plot_axis *axis, struct sm_range data, double headroom,
                                int most)
{
    if (is_given(axis))
        return (struct sm_range){axis->min, axis->max};
    const struct sm_range_wish wish = {data.lo, data.hi, axis->off_zero, headroom, most};
    return sm_ticks_range(&wish);
}

void sm_panel_set_ranges(struct sm_panel *panel)
{
    struct sm_range x, y;
    find_extent(panel->in, &x, &y);
    panel->has_data = x.lo <= x.hi && y.lo <= y.hi;
    panel->x = range_of(&panel->in->x, x, 0.0, 8);
    panel->y = range_of(&panel->in->y, y, 0.06, 6); /* room for the text at a peak */
}

void sm_panel_share_x(struct sm_panel *panels, size_t n)
{
    struct sm_range all = {SM_INF, -SM_INF};
    bool has_given = false;
    for (size_t i = 0; i < n; i++)
        has_given = has_given || is_given(&panels[i].in->x);
    for (size_t i = 0; i < n; i++)
        if (has_given ? is_given(&panels[i].in->x) : panels[i].has_data) {
            include(&all, panels[i].x.lo);
            include(&all, panels[i].x.hi);
        }
    for (size_t i = 0; i < n && all.lo < all.hi; i++)
        panels[i].x = all;
}

/* ---- boxes ---- */

static enum sm_status fit_line(struct sm_panel *panel, struct sm_textblock *block, const char *text,
                               double size, bool bold, double width, struct sm_error *err)
{
    const struct sm_textblock_limits limits = {
        .font = {size, bold}, .smallest = 0.75 * size, .max_width = width, .max_lines = 2};
    return sm_textblock_make(block, panel->canvas, panel->arena, text, &limits, err);
}

enum sm_status sm_panel_set_frame(struct sm_panel *panel, double width, struct sm_error *err)
{
    const struct sm_style *s = panel->style;
    SM_TRY(fit_line(panel, &panel->title, panel->in->title, s->heading, true, width, err));
    SM_TRY(fit_line(panel, &panel->y_text, panel->in->y.label, s->label, false, width, err));
    SM_TRY(
        fit_line(panel, &panel->x_text, panel->shows_x ? panel->x_label : NULL, s->label, false, width, err));
    const double key = panel->key_height > 0.0 ? panel->key_height + s->gap : 0.0;
    /* A heading belongs to what follows it, not to the axis above. */
    panel->lead = panel->title.n > 0 ? 2.0 * s->gap : 0.0;
    panel->top = panel->lead + panel->title.height + key + panel->y_text.height + s->gap + 0.3 * s->tick;
    panel->bottom = s->tick_length + s->gap;
    panel->bottom += panel->shows_x ? 1.25 * s->tick + panel->x_text.height : s->gap;
    return SM_OK;
}

static double widest_number(const struct sm_panel *panel, const struct sm_ticks *ticks)
{
    const struct sm_font font = {panel->style->tick, false};
    char text[SM_TICK_TEXT];
    double widest = 0.0;
    for (int i = 0; i < ticks->n; i++)
        widest = fmax(widest, sm_canvas_text_width(panel->canvas, font, sm_ticks_text(ticks, i, text)));
    return widest;
}

double sm_panel_set_y_ticks(struct sm_panel *panel)
{
    const double apart = floor(panel->box.h / (2.4 * panel->style->tick));
    int most = (int)fmax(1.0, fmin(8.0, apart));
    /* Two numbers at least, or the scale could not be read. */
    do
        panel->y_ticks = sm_ticks_make(panel->y, most++);
    while (panel->y_ticks.n < 2 && most < 8);
    return widest_number(panel, &panel->y_ticks);
}

void sm_panel_set_x_ticks(struct sm_panel *panel)
{
    for (int most = 10; most >= 1; most--) {
        panel->x_ticks = sm_ticks_make(panel->x, most);
        const double apart = panel->x_ticks.step / (panel->x.hi - panel->x.lo) * panel->box.w;
        if (widest_number(panel, &panel->x_ticks) + 1.2 * panel->style->tick <= apart)
            return;
    }
}

struct sm_spot sm_panel_point(const struct sm_panel *panel, double x, double y)
{
    const struct sm_box *b = &panel->box;
    return (struct sm_spot){b->x + (x - panel->x.lo) / (panel->x.hi - panel->x.lo) * b->w,
                            b->y + (panel->y.hi - y) / (panel->y.hi - panel->y.lo) * b->h};
}
