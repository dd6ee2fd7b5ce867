/* Pictures of firings: measured curves, their band, a prediction, and what is left of it. */
#include "app/pictures.h"
#include "base/arena.h"
#include "base/text.h"
#include "curve/curve.h"
#include "report/axes.h"
#include "report/ticks.h"
#include "slowmatch/firing.h"
#include "slowmatch/limits.h"
#include "slowmatch/show.h"

#include <math.h>
#include <string.h>

struct drawing {
    const struct sm_firing *const *firings;
    size_t n;
    const struct sm_firing_set *set;
    const struct sm_result *predicted;
    struct sm_arena *arena;
    double force, pressure; /* of the units shown [N], [Pa] */
    const char *force_label, *pressure_label, *residual_label, *force_unit;
};

static double *scaled(struct sm_arena *arena, const double *y, size_t n, double unit, double shift)
{
    double *out = sm_arena_alloc(arena, n, sizeof *out);
    for (size_t i = 0; out && i < n; i++)
        out[i] = (y[i] - shift) / unit;
    return out;
}

static const char *base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

static void add_line(struct sm_plot_series *series, size_t *n, const struct sm_plot_series *line)
{
    if (line->x && line->y)
        series[(*n)++] = *line;
}

static void add_thrust(const struct drawing *d, struct sm_plot_series *s, size_t *n_series)
{
    for (size_t i = 0; i < d->n; i++) {
        const struct sm_firing *f = d->firings[i];
        const struct sm_plot_series raw = {
            f->t, scaled(d->arena, f->thrust, f->m, d->force, 0.0), f->m, NULL, (int)i + 1, SM_STROKE_SOLID,
            1.0};
        const struct sm_plot_series line = {f->t,       scaled(d->arena, f->filtered, f->m, d->force, 0.0),
                                            f->m,       base_name(f->name),
                                            (int)i + 1, SM_STROKE_SOLID,
                                            2.5};
        if (d->n == 1)
            add_line(s, n_series, &raw);
        add_line(s, n_series, &line);
    }
    if (!d->predicted)
        return;
    const struct sm_series *p = &d->predicted->series;
    const double start = d->predicted->thrust.burn_start;
    const struct sm_plot_series line = {scaled(d->arena, p->time, p->n, 1.0, start),
                                        scaled(d->arena, p->thrust, p->n, d->force, 0.0),
                                        p->n,
                                        "predicted",
                                        (int)d->n + 1,
                                        SM_STROKE_DASHED,
                                        2.5};
    add_line(s, n_series, &line);
}

static void add_pressure(const struct drawing *d, struct sm_plot_series *s, size_t *n_series)
{
    for (size_t i = 0; i < d->n; i++) {
        const struct sm_firing *f = d->firings[i];
        const struct sm_plot_series line = {
            f->t,       f->p ? scaled(d->arena, f->p, f->m, d->pressure, 0.0) : NULL,
            f->m,       base_name(f->name),
            (int)i + 1, SM_STROKE_SOLID,
            2.0};
        add_line(s, n_series, &line);
    }
    if (*n_series == 0 || !d->predicted || !d->predicted->series.pressure)
        return;
    const struct sm_series *p = &d->predicted->series;
    const struct sm_plot_series line = {scaled(d->arena, p->time, p->n, 1.0, d->predicted->thrust.burn_start),
                                        scaled(d->arena, p->pressure, p->n, d->pressure, 0.0),
                                        p->n,
                                        "predicted",
                                        (int)d->n + 1,
                                        SM_STROKE_DASHED,
                                        2.0};
    add_line(s, n_series, &line);
}

static void add_residuals(const struct drawing *d, struct sm_plot_series *s, size_t *n_series)
{
    for (size_t i = 0; i < d->n; i++) {
        const struct sm_firing *f = d->firings[i];
        const struct sm_series *p = &d->predicted->series;
        double *off = sm_arena_alloc(d->arena, f->m, sizeof *off);
        for (size_t j = 0; off && j < f->m; j++) {
            const double t = f->t[j] + d->predicted->thrust.burn_start;
            const double there =
                t < 0.0 || t > p->time[p->n - 1] ? 0.0 : sm_curve_at(p->time, p->thrust, p->n, t);
            off[j] = (f->filtered[j] - there) / d->force;
        }
        const struct sm_plot_series line = {f->t, off, f->m, base_name(f->name), (int)i + 1, SM_STROKE_SOLID,
                                            1.5};
        add_line(s, n_series, &line);
    }
}

static void include(struct sm_range *range, const double *y, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        range->lo = fmin(range->lo, y[i]);
        range->hi = fmax(range->hi, y[i]);
    }
}

/* Of two or three firings the band can be many times as wide as the curves are high: then the axis keeps to the
 * curves, with some room, and words say how far the band goes. Else the words are empty. */
static void limit_axis(const struct drawing *d, struct sm_plot_panel *panel, char *words, size_t size)
{
    static const double over = 0.4, under = 0.2; /* of the curves' height, by eye [1] */
    const struct sm_plot_band *b = &panel->bands[0];
    struct sm_range curves = {SM_INF, -SM_INF}, band = {SM_INF, -SM_INF};
    for (size_t i = 0; i < panel->n_series; i++)
        include(&curves, panel->series[i].y, panel->series[i].n);
    include(&band, b->y_low, b->n);
    include(&band, b->y_high, b->n);
    const double height = curves.hi - curves.lo;
    const struct sm_range room = {curves.lo - under * height, curves.hi + over * height};
    if (!(height > 0.0) || (band.lo >= room.lo && band.hi <= room.hi))
        return;
    const struct sm_range_wish wish = {fmax(band.lo, room.lo), fmin(band.hi, room.hi), false, 0.0, 6};
    const struct sm_range axis = sm_ticks_range(&wish);
    if (band.lo >= axis.lo && band.hi <= axis.hi)
        return;
    panel->y.min = axis.lo;
    panel->y.max = axis.hi;
    sm_text_format(words, size, "The band is cut off here: of %zu firings it reaches from %.3g to %.3g %s.",
                   d->n, band.lo, band.hi, d->force_unit);
}

static void add_band(const struct drawing *d, struct sm_plot_band *band, struct sm_plot_panel *panel,
                     char *words, size_t size)
{
    *band = (struct sm_plot_band){d->set->at,
                                  scaled(d->arena, d->set->low, d->set->n_at, d->force, 0.0),
                                  scaled(d->arena, d->set->high, d->set->n_at, d->force, 0.0),
                                  d->set->n_at,
                                  "90 % of firings, with 95 % confidence",
                                  0};
    if (!band->y_low || !band->y_high)
        return;
    panel->bands = band;
    panel->n_bands = 1;
    limit_axis(d, panel, words, size);
}

static enum sm_status draw(const struct drawing *d, enum sm_picture_kind kind, struct sm_sink *sink,
                           struct sm_error *err)
{
    struct sm_plot_series *series = sm_arena_alloc(d->arena, 8 * (d->n + 1), sizeof *series);
    if (!series)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    struct sm_plot_series *of_pressure = series + 2 * d->n + 2, *residuals = of_pressure + d->n + 1;
    struct sm_plot_panel panels[3] = {{.x = {.label = "time from the start of the burn (s)"},
                                       .y = {.label = d->force_label},
                                       .series = series}};
    struct sm_plot_band band = {0};
    char title[160], subtitle[160] = "";
    size_t n_panels = 1;
    const struct sm_firing *f = d->firings[0];
    add_thrust(d, series, &panels[0].n_series);
    const struct sm_plot_span burn = {0.0, f->burn.to - f->burn.from, "burn time", 0};
    if (d->n == 1) {
        panels[0].spans = &burn;
        panels[0].n_spans = 1;
    }
    if (d->set)
        add_band(d, &band, &panels[0], subtitle, sizeof subtitle);
    size_t n_pressure = 0, n_residuals = 0;
    add_pressure(d, of_pressure, &n_pressure);
    if (n_pressure > 0)
        panels[n_panels++] = (struct sm_plot_panel){.x = panels[0].x,
                                                    .y = {.label = d->pressure_label},
                                                    .series = of_pressure,
                                                    .n_series = n_pressure};
    if (d->predicted) {
        add_residuals(d, residuals, &n_residuals);
        panels[n_panels++] = (struct sm_plot_panel){.title = "measured less predicted",
                                                    .x = panels[0].x,
                                                    .y = {.label = d->residual_label, .off_zero = true},
                                                    .series = residuals,
                                                    .n_series = n_residuals,
                                                    .weight = 0.7};
    }
    if (d->n == 1)
        sm_text_format(title, sizeof title, "%s: %s as measured", base_name(f->name), f->designation);
    else
        sm_text_format(title, sizeof title, "%zu firings", d->n);
    if (d->n == 1)
        sm_text_format(subtitle, sizeof subtitle, "%.5g N s, thin: as recorded; thick: low-pass at %.3g Hz",
                       f->figures[SM_FIGURE_TOTAL_IMPULSE].value, f->cutoff);
    const struct sm_plot plot = {.title = title,
                                 .subtitle = subtitle,
                                 .note = "A self-measured curve certifies nothing.",
                                 .panels = panels,
                                 .n_panels = n_panels};
    return sm_plot_write(&plot, sm_picture_plot_kind(kind), sink, err);
}

enum sm_status sm_plot_firings(const struct sm_firing *const *firings, size_t n,
                               const struct sm_firing_set *set, const struct sm_result *predicted,
                               enum sm_unit_system system, enum sm_picture_kind kind, struct sm_sink *sink,
                               struct sm_error *err)
{
    const int us = system == SM_UNITS_US;
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct drawing d = {firings,
                              n,
                              set,
                              predicted,
                              &arena,
                              us ? 4.4482216152605 : 1.0,
                              us ? 6894.757293168361 : 1e6,
                              us ? "thrust (lbf)" : "thrust (N)",
                              us ? "chamber pressure (psi)" : "chamber pressure (MPa)",
                              us ? "difference (lbf)" : "difference (N)",
                              sm_show_unit(SM_DIM_FORCE, system)};
    const enum sm_status status = draw(&d, kind, sink, err);
    sm_arena_release(&arena);
    return status;
}
