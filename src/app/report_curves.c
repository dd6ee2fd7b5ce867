/* The report's pictures: curves and the fire front, as data for the page and as drawings for paper. */
#include "app/report_parts.h"
#include "app/sketch.h"
#include "base/sink.h"
#include "base/text.h"
#include "doc/json_write.h"
#include "slowmatch/grain.h"

#include <math.h>
#include <string.h>

static enum sm_status out_of_memory(struct sm_error *err)
{
    return sm_fail(err, SM_E_NOMEM, "out of memory");
}

/* ---- panels ---- */

struct line {
    const char *label;
    const double *values; /* SI, as many as the series has rows; NULL: no line [1] */
};

struct panel {
    const char *id, *name;
    enum sm_dim dim;
    struct line lines[2];
};

enum { PANELS = 4 };

static size_t list_panels(const struct sm_result *x, struct panel panels[PANELS])
{
    const struct sm_series *s = &x->series;
    const struct panel all[PANELS] = {
        {"thrust", "Thrust", SM_DIM_FORCE, {{"thrust", s->thrust}}},
        {"pressure",
         "Chamber pressure",
         SM_DIM_PRESSURE,
         {{s->pressure_aft ? "head end" : "pressure", s->pressure}, {"aft end", s->pressure_aft}}},
        {"kn", "Kn, burning area over throat area", SM_DIM_NONE, {{"Kn", s->kn}}},
        {"mass", "Mass", SM_DIM_MASS, {{"propellant", s->propellant_mass}, {"motor", s->motor_mass}}},
    };
    size_t n = 0;
    for (size_t i = 0; i < PANELS; i++)
        if (all[i].lines[0].values)
            panels[n++] = all[i];
    return n;
}

/* A percentile of the thrust at the run's own instants; NULL if memory is out. */
static double *band_at(struct sm_report *r, size_t level)
{
    const struct sm_spread *spread = r->options.spread;
    const struct sm_series *s = &r->result->series;
    for (size_t k = 0; k < spread->n_bands; k++) {
        if (strcmp(spread->bands[k].name, "thrust") != 0)
            continue;
        double *y = sm_arena_alloc(&r->arena, s->n, sizeof *y);
        for (size_t i = 0; y && i < s->n; i++)
            y[i] = sm_curve_at(spread->time, spread->bands[k].level[level], spread->n_instants, s->time[i]);
        return y;
    }
    return NULL;
}

static void put_band(struct sm_report *r, struct sm_json_writer *w)
{
    const size_t n = r->result->series.n;
    const double *low = band_at(r, 0), *high = band_at(r, SM_SPREAD_LEVELS - 1);
    if (!low || !high)
        return;
    sm_json_member_string(w, "low", sm_page_digits(&r->arena, low, n, SM_DIM_FORCE, r->options.system));
    sm_json_member_string(w, "high", sm_page_digits(&r->arena, high, n, SM_DIM_FORCE, r->options.system));
}

/* Burn time as a span and average thrust as a line across. */
static void put_marks(struct sm_report *r, struct sm_json_writer *w)
{
    const struct sm_thrust_summary *t = &r->result->thrust;
    char digits[SM_SHOW_TEXT], number[SM_SHOW_TEXT], text[96];
    sm_json_member_array(w, "rules");
    sm_json_open_object(w);
    sm_json_member_string(w, "y", sm_show_digits(digits, t->average, SM_DIM_FORCE, r->options.system));
    sm_text_format(text, sizeof text, "average %s",
                   sm_show_measure(number, t->average, SM_DIM_FORCE, r->options.system));
    sm_json_member_string(w, "text", text);
    sm_json_close(w);
    sm_json_close(w);
    sm_json_member_array(w, "spans");
    sm_json_open_object(w);
    sm_json_member_number(w, "from", t->burn_start);
    sm_json_member_number(w, "to", t->burn_start + t->burn_time);
    sm_text_format(text, sizeof text, "burn time %s",
                   sm_show_measure(number, t->burn_time, SM_DIM_TIME, r->options.system));
    sm_json_member_string(w, "text", text);
    sm_json_close(w);
    sm_json_close(w);
}

static void put_lines(struct sm_report *r, const struct panel *panel, struct sm_json_writer *w)
{
    const size_t n = r->result->series.n;
    const bool is_thrust = panel->lines[0].values == r->result->series.thrust;
    sm_json_member_array(w, "series");
    for (size_t j = 0; j < SM_COUNT(panel->lines) && panel->lines[j].values; j++) {
        sm_json_open_object(w);
        sm_json_member_string(w, "label", panel->lines[j].label);
        sm_json_member_whole(w, "colour", (long long)j + 1);
        sm_json_member_string(
            w, "shown", sm_page_digits(&r->arena, panel->lines[j].values, n, panel->dim, r->options.system));
        if (is_thrust && r->options.spread)
            put_band(r, w);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_curve_data(struct sm_report *r, const struct panel *panels, size_t n,
                           struct sm_json_writer *w)
{
    const struct sm_series *s = &r->result->series;
    char text[96];
    sm_json_open_object(w);
    sm_json_member_object(w, "time");
    sm_json_member_doubles(w, "values", s->time, s->n);
    sm_json_member_string(w, "shown",
                          sm_page_digits(&r->arena, s->time, s->n, SM_DIM_TIME, r->options.system));
    sm_json_close(w);
    sm_json_member_array(w, "panels");
    for (size_t i = 0; i < n; i++) {
        const char *unit = sm_show_unit(panels[i].dim, r->options.system);
        sm_json_open_object(w);
        sm_json_member_string(w, "id", panels[i].id);
        sm_text_format(text, sizeof text, unit[0] ? "%s (%s)" : "%s",
                       panels[i].dim == SM_DIM_NONE ? "Kn" : panels[i].id, unit);
        sm_json_member_string(w, "axis", text);
        sm_json_member_string(w, "unit", unit);
        put_lines(r, &panels[i], w);
        if (panels[i].dim == SM_DIM_FORCE)
            put_marks(r, w);
        sm_json_close(w);
    }
    sm_json_close(w);
    sm_json_close(w);
}

static enum sm_status begin_data(struct sm_report *r, const char *id, struct sm_json_writer *w)
{
    sm_html_rawf(&r->html, "<script type=\"application/json\" id=\"%s\">", id);
    sm_json_write_init(w, r->html.sink);
    w->for_script = true;
    return r->html.status;
}

static enum sm_status end_data(struct sm_report *r, struct sm_json_writer *w)
{
    SM_TRY(sm_json_write_end(w, r->err));
    sm_html_raw(&r->html, "</script>\n");
    return r->html.status;
}

/* A drawing of the engine's own as a picture that only paper shows. */
static enum sm_status put_drawing(struct sm_report *r, const struct sm_memory_sink *svg, const char *what)
{
    struct sm_html *h = &r->html;
    sm_html_raw(h, "<img class=\"on-paper\" alt=\"");
    sm_html_text(h, what);
    sm_html_raw(h, "\" src=\"data:image/svg+xml;base64,");
    sm_html_base64(h, svg->bytes, svg->n);
    sm_html_raw(h, "\">\n");
    return h->status;
}

static enum sm_status put_drawn_curves(struct sm_report *r)
{
    struct sm_memory_sink svg;
    sm_memory_sink_init(&svg, NULL);
    enum sm_status status =
        sm_plot_results(&r->result, 1, r->options.system, SM_PICTURE_SVG, &svg.sink, r->err);
    if (status == SM_OK)
        status = put_drawing(r, &svg, "thrust and pressure against time");
    sm_memory_sink_release(&svg);
    return status;
}

enum sm_status sm_report_put_curves(struct sm_report *r)
{
    struct panel panels[PANELS];
    struct sm_json_writer w;
    struct sm_html *h = &r->html;
    const size_t n = list_panels(r->result, panels);
    sm_page_chapter(h, "curves", "Curves");
    sm_html_raw(h, "<noscript><p>The curves are drawn by the page's own script, which does not run here; "
                   "printed, they are "
                   "drawings.</p></noscript>\n");
    for (size_t i = 0; i < n; i++) {
        sm_html_rawf(h, "<div class=\"plot on-screen\" id=\"%s\">", panels[i].id);
        sm_html_element(h, "h3", panels[i].name);
        sm_html_rawf(h,
                     "<p class=\"reading\">Point at the curve, or step along it with the arrow keys.</p>"
                     "<div class=\"place%s\"></div></div>\n",
                     i == 0 ? "" : " low");
    }
    SM_TRY(put_drawn_curves(r));
    SM_TRY(begin_data(r, "curves-data", &w));
    put_curve_data(r, panels, n, &w);
    SM_TRY(end_data(r, &w));
    sm_page_chapter_end(h);
    return h->status;
}

/* ---- the fire front ---- */

enum { LEVELS = 25, SQUARES = 40 /* of a net that is cut at every level */ };

struct front {
    const struct sm_grain_entry *entry;
    struct sm_sketch sketch;
    double w[LEVELS], t[LEVELS]; /* [m], [s] */
    double x, y, width, height;  /* of the drawing, y downwards [mm] */
    double bar;                  /* [mm] */
};

/* The largest of 1, 2, 5, 10, ... mm that is at most a third of the width. */
static double bar_length(double width)
{
    double best = 1.0, step = 1.0;
    for (; step <= width / 3.0; step *= 10.0)
        for (int k = 0; k < 3; k++) {
            static const double round_ones[] = {1.0, 2.0, 5.0};
            best = step * round_ones[k] <= width / 3.0 ? step * round_ones[k] : best;
        }
    return best;
}

static enum sm_status make_front(struct sm_report *r, size_t i, struct front *f)
{
    const struct sm_grain_entry *entry = &r->motor->spec.grains[i];
    const double web = r->motor->geometry[i].web, end = sm_sketch_end(r->result, web);
    const double radius = 500.0 * entry->common.outer_diameter; /* [mm] */
    const bool across = sm_sketch_is_across(entry->shape);
    *f =
        (struct front){.entry = entry,
                       .sketch = {.arena = &r->arena, .err = r->err, .wants_left = true, .squares = SQUARES}};
    for (size_t k = 0; k < LEVELS; k++) {
        f->t[k] = end * (double)k / (LEVELS - 1);
        f->w[k] = k + 1 == LEVELS ? web : sm_sketch_web_at(r->result, f->t[k]);
    }
    f->width = across ? 2.0 * radius : 1e3 * entry->common.length;
    f->x = across ? -radius : 0.0;
    f->y = -radius;
    f->height = 2.0 * radius;
    f->bar = bar_length(f->width);
    return sm_sketch_grain(&f->sketch, entry, web, f->w, LEVELS);
}

static const char *front_text(struct sm_report *r, const struct front *f, size_t k)
{
    enum { TEXT = 128 };
    char a[SM_SHOW_TEXT], b[SM_SHOW_TEXT], *text = sm_arena_alloc(&r->arena, TEXT, 1);
    if (text)
        sm_text_format(text, TEXT, "at %s the fire is %s into the grain%s",
                       sm_show_measure(a, f->t[k], SM_DIM_TIME, r->options.system),
                       sm_show_measure(b, f->w[k], SM_DIM_LENGTH, r->options.system),
                       k + 1 == LEVELS ? ", and through" : "");
    return text;
}

static enum sm_status put_levels(struct sm_report *r, const struct front *f, size_t i,
                                 struct sm_json_writer *w)
{
    char id[32];
    sm_text_format(id, sizeof id, "grain-%zu", i + 1);
    sm_json_open_object(w);
    sm_json_member_string(w, "id", id);
    sm_json_member_array(w, "levels");
    for (size_t k = 0; k < LEVELS; k++) {
        const char *text = front_text(r, f, k), *left = sm_page_path(&r->arena, &f->sketch.left[k]),
                   *front = sm_page_path(&r->arena, &f->sketch.fronts[k]);
        if (!text || !left || !front)
            return out_of_memory(r->err);
        sm_json_open_object_row(w);
        sm_json_member_string(w, "text", text);
        sm_json_member_string(w, "left", left);
        sm_json_member_string(w, "front", front);
        sm_json_close(w);
    }
    sm_json_close(w);
    sm_json_close(w);
    return SM_OK;
}

static enum sm_status put_grain(struct sm_report *r, const struct front *f, size_t i)
{
    struct sm_html *h = &r->html;
    const double edge = 0.04 * fmax(f->width, f->height); /* room about it [mm] */
    char text[SM_SHOW_TEXT];
    const char *left = sm_page_path(&r->arena, &f->sketch.left[0]),
               *front = sm_page_path(&r->arena, &f->sketch.fronts[0]);
    const struct sm_draw_part *whole = &f->sketch.parts[f->sketch.n_whole - 1];
    const char *outline = sm_page_path(&r->arena, &whole->paths[0]);
    if (!left || !front || !outline)
        return out_of_memory(r->err);
    sm_html_rawf(h, "<figure id=\"grain-%zu\"><figcaption>", i + 1);
    sm_html_textf(h, "%zu: %s, %s", i + 1, f->entry->shape->name,
                  sm_sketch_is_across(f->entry->shape) ? "seen along the axis"
                                                       : "cut along the axis, nozzle to the right");
    if (f->entry->count > 1)
        sm_html_textf(h, ", one of %d", f->entry->count);
    sm_html_rawf(
        h,
        "</figcaption>\n<svg class=\"grain\" role=\"img\" aria-label=\"grain %zu, what is left of it\" "
        "viewBox=\"%.6g %.6g %.6g %.6g\">",
        i + 1, f->x - edge, f->y - edge, f->width + 2.0 * edge, f->height + 4.0 * edge);
    sm_html_raw(h, "<path class=\"left\" d=\"");
    sm_html_raw(h, left);
    sm_html_raw(h, "\"/><path class=\"whole\" d=\"");
    sm_html_raw(h, outline);
    sm_html_raw(h, "\"/><path class=\"front\" d=\"");
    sm_html_raw(h, front);
    sm_html_rawf(h, "\"/><path class=\"bar\" d=\"M%.6g %.6gh%.6g\"/></svg>\n", f->x,
                 f->y + f->height + 2.0 * edge, f->bar);
    sm_html_rawf(h, "<p class=\"note\">To scale; the bar is ");
    sm_html_text(h, sm_show_number(text, 1e-3 * f->bar, SM_DIM_LENGTH, r->options.system));
    sm_html_rawf(
        h,
        " long.</p>\n<label>Time<input type=\"range\" min=\"0\" max=\"%d\" value=\"0\" step=\"1\"></label>\n"
        "<output></output></figure>\n",
        LEVELS - 1);
    return h->status;
}

static enum sm_status put_drawn_fronts(struct sm_report *r)
{
    struct sm_memory_sink svg;
    sm_memory_sink_init(&svg, NULL);
    enum sm_status status = sm_draw_grains(r->motor, r->result, SM_PICTURE_SVG, &svg.sink, r->err);
    if (status == SM_OK)
        status = put_drawing(r, &svg, "the grains with their burning surface at equal times");
    sm_memory_sink_release(&svg);
    return status;
}

enum sm_status sm_report_put_fronts(struct sm_report *r)
{
    const size_t n = r->motor->spec.n_grains;
    struct sm_html *h = &r->html;
    struct sm_json_writer w;
    struct front *fronts = sm_arena_alloc(&r->arena, n, sizeof *fronts);
    if (!fronts)
        return out_of_memory(r->err);
    sm_page_chapter(h, "fire", "The fire front");
    sm_html_raw(h, "<p>Every burning surface moves into the propellant at right angles to itself.<span "
                   "class=\"on-screen\"> "
                   "The sliders go through the burn in equal times.</span> Not a drawing for "
                   "manufacture.</p>\n<div class=\"grains on-screen\">\n");
    for (size_t i = 0; i < n; i++) {
        SM_TRY(make_front(r, i, &fronts[i]));
        SM_TRY(put_grain(r, &fronts[i], i));
    }
    sm_html_raw(h, "</div>\n");
    SM_TRY(put_drawn_fronts(r));
    SM_TRY(begin_data(r, "fronts", &w));
    sm_json_open_array(&w);
    for (size_t i = 0; i < n; i++)
        SM_TRY(put_levels(r, &fronts[i], i, &w));
    sm_json_close(&w);
    SM_TRY(end_data(r, &w));
    sm_page_chapter_end(h);
    return h->status;
}
