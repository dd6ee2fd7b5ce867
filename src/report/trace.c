#include "report/panel.h"

#include <math.h>

/* By how much a curve may miss its samples: a tenth of the finest line [px]. */
static const double tolerance = 0.1;

static enum sm_status no_memory(struct sm_error *err)
{
    return sm_fail(err, SM_E_NOMEM, "out of memory while drawing");
}

static bool trace_series(struct sm_panel *panel, size_t i)
{
    const struct sm_plot_series *s = &panel->in->series[i];
    struct sm_polyline *line = &panel->series[i];
    sm_polyline_begin(line, panel->arena,
                      sm_panel_series_stroke(panel, i) == SM_STROKE_DISCS ? 0.0 : tolerance);
    for (size_t k = 0; k < s->n; k++) {
        if (sm_panel_is_drawable(s->x[k]) && sm_panel_is_drawable(s->y[k]))
            sm_polyline_add(line, sm_panel_point(panel, s->x[k], s->y[k]));
        else
            sm_polyline_break(line);
    }
    return sm_polyline_end(line);
}

static bool trace_band(struct sm_panel *panel, size_t i)
{
    const struct sm_plot_band *b = &panel->in->bands[i];
    struct sm_polyline *low = &panel->band_low[i], *high = &panel->band_high[i];
    sm_polyline_begin(low, panel->arena, tolerance);
    sm_polyline_begin(high, panel->arena, tolerance);
    for (size_t k = 0; k < b->n; k++) {
        if (sm_panel_is_drawable(b->x[k]) && sm_panel_is_drawable(b->y_low[k]) &&
            sm_panel_is_drawable(b->y_high[k])) {
            sm_polyline_add(low, sm_panel_point(panel, b->x[k], b->y_low[k]));
            sm_polyline_add(high, sm_panel_point(panel, b->x[k], b->y_high[k]));
        } else {
            sm_polyline_break(low);
            sm_polyline_break(high);
        }
    }
    return sm_polyline_end(low) && sm_polyline_end(high);
}

enum sm_status sm_panel_trace(struct sm_panel *panel, struct sm_error *err)
{
    const struct sm_plot_panel *in = panel->in;
    panel->series = sm_arena_alloc(panel->arena, in->n_series, sizeof *panel->series);
    panel->band_low = sm_arena_alloc(panel->arena, in->n_bands, sizeof *panel->band_low);
    panel->band_high = sm_arena_alloc(panel->arena, in->n_bands, sizeof *panel->band_high);
    if (!panel->series || !panel->band_low || !panel->band_high)
        return no_memory(err);
    for (size_t i = 0; i < in->n_series; i++)
        if (!trace_series(panel, i))
            return no_memory(err);
    for (size_t i = 0; i < in->n_bands; i++)
        if (!trace_band(panel, i))
            return no_memory(err);
    return SM_OK;
}

static struct sm_box box_about(struct sm_spot p, double radius)
{
    return (struct sm_box){p.x - radius, p.y - radius, 2.0 * radius, 2.0 * radius};
}

/* A sample alone is drawn as a disc of that radius, and with is_discs every one is. */
static void mark_polyline(struct sm_label_field *field, uint32_t bits, const struct sm_polyline *line,
                          double radius, bool is_discs)
{
    size_t at = 0, n;
    for (const struct sm_spot *p; (p = sm_polyline_piece(line, &at, &n));)
        for (size_t k = 0; k < n; k++) {
            if (is_discs || n == 1)
                sm_label_mark_box(field, bits, box_about(p[k], radius));
            else if (k > 0)
                sm_label_mark_segment(field, bits, p[k - 1], p[k]);
        }
}

static void mark_upright(struct sm_label_field *field, uint32_t bits, const struct sm_box *b, double x)
{
    sm_label_mark_segment(field, bits, (struct sm_spot){x, b->y}, (struct sm_spot){x, b->y + b->h});
}

static void mark_level(struct sm_label_field *field, uint32_t bits, const struct sm_box *b, double y)
{
    sm_label_mark_segment(field, bits, (struct sm_spot){b->x, y}, (struct sm_spot){b->x + b->w, y});
}

void sm_panel_mark_curves(const struct sm_panel *panel, struct sm_label_field *field)
{
    const struct sm_plot_panel *in = panel->in;
    const struct sm_box *b = &panel->box;
    const uint32_t rule_bits = sm_label_curve(SM_LABEL_CURVES);
    for (size_t i = 0; i < in->n_series; i++)
        mark_polyline(field, sm_label_curve(i), &panel->series[i], sm_panel_disc_radius(panel, i),
                      sm_panel_series_stroke(panel, i) == SM_STROKE_DISCS);
    for (size_t i = 0; i < in->n_bands; i++) {
        mark_polyline(field, SM_LABEL_SOFT, &panel->band_low[i], 0.0, false);
        mark_polyline(field, SM_LABEL_SOFT, &panel->band_high[i], 0.0, false);
    }
    for (size_t i = 0; i < in->n_rules; i++) {
        if (!sm_panel_shows_rule(panel, &in->rules[i]))
            continue;
        const struct sm_spot p = sm_panel_point(panel, in->rules[i].at, in->rules[i].at);
        if (in->rules[i].vertical)
            mark_upright(field, rule_bits, b, p.x);
        else
            mark_level(field, rule_bits, b, p.y);
    }
    for (size_t i = 0; i < in->n_spans; i++) {
        if (!sm_panel_shows_span(panel, &in->spans[i]))
            continue;
        mark_upright(field, SM_LABEL_SOFT, b, sm_panel_point(panel, in->spans[i].x0, 0.0).x);
        mark_upright(field, SM_LABEL_SOFT, b, sm_panel_point(panel, in->spans[i].x1, 0.0).x);
    }
    for (size_t i = 0; i < in->n_markers; i++) {
        if (!sm_panel_shows_marker(panel, &in->markers[i]))
            continue;
        const struct sm_spot p = sm_panel_point(panel, in->markers[i].x, in->markers[i].y);
        sm_label_mark_box(field, SM_LABEL_TAKEN, box_about(p, panel->style->disc));
    }
}
