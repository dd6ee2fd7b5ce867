/* The report's pictures: curves and the fire front, as data for the page and as drawings for paper. */
#include "app/page_front.h"
#include "app/report_parts.h"
#include "base/sink.h"
#include "base/text.h"
#include "doc/json_write.h"
#include "slowmatch/grain.h"

#include <math.h>
#include <string.h>

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

/* As it was drawn from the samples: the run's own instants are too few where its thrust is level, and others' is not. */
static void put_band_drawn(struct sm_report *r, struct sm_json_writer *w)
{
    const struct sm_spread *spread = r->options.spread;
    for (size_t k = 0; k < spread->n_bands; k++) {
        const struct sm_spread_band *band = &spread->bands[k];
        if (strcmp(band->name, "thrust") != 0)
            continue;
        const size_t n = spread->n_instants;
        sm_json_member_object(w, "band");
        sm_json_member_doubles(w, "time", spread->time, n);
        sm_json_member_string(w, "low",
                              sm_page_digits(&r->arena, band->level[0], n, SM_DIM_FORCE, r->options.system));
        sm_json_member_string(
            w, "high",
            sm_page_digits(&r->arena, band->level[SM_SPREAD_LEVELS - 1], n, SM_DIM_FORCE, r->options.system));
        sm_json_close(w);
        return;
    }
}

static void put_band(struct sm_report *r, struct sm_json_writer *w)
{
    const size_t n = r->result->series.n;
    const double *low = band_at(r, 0), *high = band_at(r, SM_SPREAD_LEVELS - 1);
    if (!low || !high)
        return;
    sm_json_member_string(w, "low", sm_page_digits(&r->arena, low, n, SM_DIM_FORCE, r->options.system));
    sm_json_member_string(w, "high", sm_page_digits(&r->arena, high, n, SM_DIM_FORCE, r->options.system));
    put_band_drawn(r, w);
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

enum { LEVELS = 25 };

static enum sm_status put_grain(struct sm_report *r, const struct sm_page_front *front, size_t i)
{
    struct sm_html *h = &r->html;
    char name[32];
    sm_text_format(name, sizeof name, "%zu", i + 1);
    sm_html_rawf(h, "<figure id=\"grain-%zu\">", i + 1);
    SM_TRY(sm_page_front_put(front, name, h, r->err));
    sm_html_rawf(h,
                 "<label>Time<input type=\"range\" min=\"0\" max=\"%d\" value=\"0\" step=\"1\"></label>\n"
                 "<output></output></figure>\n",
                 LEVELS - 1);
    return h->status;
}

static enum sm_status put_front_data(struct sm_report *r, const struct sm_page_front *fronts, size_t n)
{
    struct sm_json_writer w;
    SM_TRY(begin_data(r, "fronts", &w));
    sm_json_open_array(&w);
    for (size_t i = 0; i < n; i++) {
        char id[32];
        sm_text_format(id, sizeof id, "grain-%zu", i + 1);
        sm_json_open_object(&w);
        sm_json_member_string(&w, "id", id);
        SM_TRY(sm_page_front_put_levels(&fronts[i], &w, r->err));
        sm_json_close(&w);
    }
    sm_json_close(&w);
    return end_data(r, &w);
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
    struct sm_page_front *fronts = sm_arena_alloc(&r->arena, n, sizeof *fronts);
    if (!fronts)
        return sm_fail(r->err, SM_E_NOMEM, "out of memory");
    sm_page_chapter(h, "fire", "The fire front");
    sm_html_raw(h,
                "<p>Every burning surface moves into the propellant at right angles to itself.<span "
                "class=\"on-screen\"> "
                "The sliders go through the burn in equal times.</span> Not a drawing for manufacture.</p>\n"
                "<div class=\"grains on-screen\">\n");
    for (size_t i = 0; i < n; i++) {
        SM_TRY(sm_page_front_make(&fronts[i], r->motor, r->result, i, LEVELS, r->options.system, &r->arena,
                                  r->err));
        SM_TRY(put_grain(r, &fronts[i], i));
    }
    sm_html_raw(h, "</div>\n");
    SM_TRY(put_drawn_fronts(r));
    SM_TRY(put_front_data(r, fronts, n));
    sm_page_chapter_end(h);
    return h->status;
}
