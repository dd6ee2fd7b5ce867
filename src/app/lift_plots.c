/* Pictures of a vehicle's lift, hover and landing. */
#include "app/pictures.h"
#include "base/arena.h"
#include "report/axes.h"
#include "slowmatch/plot.h"

#include <math.h>

/* A unit that people read: the SI value over factor. */
struct shown {
    const char *label;
    double factor; /* [SI unit per unit shown] */
};
static const struct shown forces[] = {{"along the axis (N)", 1.0}, {"along the axis (lbf)", 4.4482216152605}};
static const struct shown heights[] = {{"height (m)", 1.0}, {"height (ft)", 0.3048}};
static const struct shown speeds[] = {{"speed upwards (m/s)", 1.0}, {"speed upwards (ft/s)", 0.3048}};
static const struct shown summits[] = {{"highest flight (m)", 1.0}, {"highest flight (ft)", 0.3048}};

/* A column in the unit shown; NULL if memory is out. */
static double *scaled(struct sm_arena *arena, const double *y, size_t n, double factor)
{
    double *out = sm_arena_alloc(arena, n, sizeof *out);
    for (size_t i = 0; out && i < n; i++)
        out[i] = y[i] / factor;
    return out;
}

static const struct shown masses[] = {{"mass at release (kg)", 1.0}, {"mass at release (lb)", 0.45359237}};
static const struct shown limits[] = {{"splay limit (deg)", 0.0174532925199432958},
                                      {"splay limit (deg)", 0.0174532925199432958}};

/* How the window goes with another mass or splay limit: bare, then with the reserve kept. */
enum { MOST_ROWS = SM_LIFT_LIMITS > SM_LIFT_MASSES ? SM_LIFT_LIMITS : SM_LIFT_MASSES };
struct varied {
    size_t n;
    double x[MOST_ROWS];                            /* [kg], [lb] or [deg] */
    double first[2][MOST_ROWS], last[2][MOST_ROWS]; /* [s] */
    double highest[2][MOST_ROWS];                   /* [m] or [ft] */
};

static void fill_varied(const double *x, double factor, const struct sm_lift_row *rows, size_t n,
                        double height, struct varied *out)
{
    out->n = n;
    for (size_t i = 0; i < n; i++) {
        out->x[i] = x[i] / factor;
        for (size_t k = 0; k < 2; k++) {
            out->first[k][i] = rows[i].first[k];
            out->last[k][i] = rows[i].last[k];
            out->highest[k][i] = rows[i].highest[k] / height;
        }
    }
}

/* The tube with drag and the time that splay takes, along the plan: at the times of its outlines. */
struct along {
    size_t n;
    double time[SM_LIFT_SETS];                                  /* [s] */
    double height_low[SM_LIFT_SETS], height_high[SM_LIFT_SETS]; /* at the plan's speed [m] or [ft] */
    double speed_low[SM_LIFT_SETS], speed_high[SM_LIFT_SETS];   /* at the plan's height [m/s] or [ft/s] */
};

/* A column by straight lines; NaN outside. */
static double between(const double *x, const double *y, size_t n, double at)
{
    for (size_t i = 1; i < n; i++)
        if (at >= x[i - 1] && at <= x[i])
            return x[i] > x[i - 1] ? y[i - 1] + (y[i] - y[i - 1]) * (at - x[i - 1]) / (x[i] - x[i - 1])
                                   : y[i];
    return SM_ABSENT;
}

/* The first x at which a column that falls has come down to a value; NaN if it never does. */
static double falls_to(const double *x, const double *y, size_t n, double value)
{
    for (size_t i = 0; i < n; i++)
        if (y[i] <= value)
            return i == 0 ? x[0] : x[i - 1] + (x[i] - x[i - 1]) * (y[i - 1] - value) / (y[i - 1] - y[i]);
    return SM_ABSENT;
}

static void fill_along(const struct sm_lift *lift, double height, double speed, struct along *out)
{
    const struct sm_lift_flight *f = &lift->plan;
    out->n = 0;
    for (size_t i = 0; i < lift->n_sets && f->n > 1; i++) {
        const struct sm_lift_set *set = &lift->tube[SM_LIFT_DRAG][i];
        const double h = fmax(between(f->time, f->height, f->n, set->time), 0.0);
        const double v = between(f->time, f->speed, f->n, set->time);
        if (isnan(v) || set->n < 2)
            continue;
        const double top = falls_to(set->at, set->high, set->n, v);
        out->time[out->n] = set->time;
        out->speed_low[out->n] = between(set->at, set->low, set->n, h) / speed;
        out->speed_high[out->n] = between(set->at, set->high, set->n, h) / speed;
        out->height_low[out->n] = falls_to(set->at, set->low, set->n, v) / height;
        out->height_high[out->n++] = (isnan(top) ? set->at[set->n - 1] : top) / height;
    }
}

struct columns {
    struct varied mass, limit;
    double *full, *least, *weight;                                  /* [N] or [lbf] */
    double *low, *high;                                             /* [m] or [ft] */
    double *apogee[SM_LIFT_BOUNDS];                                 /* [m] or [ft] */
    double *height, *height_low, *height_high;                      /* [m] or [ft] */
    double *speed, *speed_low, *speed_high;                         /* [m/s] or [ft/s] */
    double *hover_low[SM_LIFT_BOUNDS], *hover_high[SM_LIFT_BOUNDS]; /* [m] or [ft] */
    struct along along;
};

static enum sm_status scale_all(struct sm_arena *arena, const struct sm_lift *lift,
                                enum sm_unit_system system, struct columns *c, struct sm_error *err)
{
    const struct sm_lift_series *s = &lift->series;
    const struct sm_lift_flight *f = &lift->plan;
    const double speed = speeds[system].factor;
    const double force = forces[system].factor, height = heights[system].factor;
    *c = (struct columns){.full = scaled(arena, s->full, s->n, force),
                          .least = scaled(arena, s->least, s->n, force),
                          .weight = scaled(arena, s->weight, s->n, force),
                          .low = scaled(arena, s->hover_low, s->n, height),
                          .high = scaled(arena, s->hover_high, s->n, height),
                          .height = scaled(arena, f->height, f->n, height),
                          .height_low = scaled(arena, f->height_low, f->n, height),
                          .height_high = scaled(arena, f->height_high, f->n, height),
                          .speed = scaled(arena, f->speed, f->n, speed),
                          .speed_low = scaled(arena, f->speed_low, f->n, speed),
                          .speed_high = scaled(arena, f->speed_high, f->n, speed)};
    fill_varied(lift->masses, masses[system].factor, lift->by_mass, SM_LIFT_MASSES, height, &c->mass);
    fill_varied(lift->limits, limits[system].factor, lift->by_limit, SM_LIFT_LIMITS, height, &c->limit);
    int whole = c->full && c->least && c->weight && c->low && c->high && c->height && c->height_low &&
                c->height_high && c->speed && c->speed_low && c->speed_high;
    for (size_t i = 0; i < SM_LIFT_BOUNDS; i++) {
        const size_t n = lift->has_throttle ? SM_LIFT_HOVERS : 0;
        c->apogee[i] = scaled(arena, lift->windows[i].apogee, lift->windows[i].n, height);
        c->hover_low[i] = scaled(arena, lift->hover.low[i], n, height);
        c->hover_high[i] = scaled(arena, lift->hover.high[i], n, height);
        whole = whole && c->apogee[i] && c->hover_low[i] && c->hover_high[i];
    }
    fill_along(lift, height, speed, &c->along);
    return whole ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

/* Two panels, and what they hold. */
struct varied_panels {
    struct sm_plot_band windows[2];
    struct sm_plot_series highest[2];
};

static void show_varied(const struct varied *v, const char *x_label, const char *y_label,
                        struct varied_panels *held, struct sm_plot_panel panels[2])
{
    static const char *const ways[] = {"no drag, splay at once", "no drag, reserve kept"};
    for (size_t k = 0; k < 2; k++) {
        held->windows[k] = (struct sm_plot_band){.x = v->x,
                                                 .y_low = v->first[k],
                                                 .y_high = v->last[k],
                                                 .n = v->n,
                                                 .label = ways[k],
                                                 .colour = (int)k + 4};
        held->highest[k] = (struct sm_plot_series){
            .x = v->x, .y = v->highest[k], .n = v->n, .label = ways[k], .colour = (int)k + 4};
    }
    panels[0] = (struct sm_plot_panel){.x = {.label = x_label, .off_zero = true},
                                       .y = {.label = "time of contact (s)"},
                                       .bands = held->windows,
                                       .n_bands = 2};
    panels[1] = (struct sm_plot_panel){.x = {.label = x_label, .off_zero = true},
                                       .y = {.label = y_label},
                                       .series = held->highest,
                                       .n_series = 2};
}

enum { TIMED = 5, PANELS = TIMED + 4 }; /* against time, and two for masses and two for splay limits */

/* Panels against time, and what they hold. */
enum { EDGES = 2, HOVERS = 2 * EDGES };
struct timed_panels {
    struct sm_plot_band thrust, hover, height_tube, speed_tube;
    struct sm_plot_series weight, hovers[HOVERS], heights[1 + EDGES], speeds[1 + EDGES];
    struct sm_plot_series flights[SM_LIFT_BOUNDS];
};

static const int black = 7; /* of the accents */

/* The edges of a set, dashed; the upper one is named. */
static void show_edges(const double *x, const double *low, const double *high, size_t n, const char *label,
                       enum sm_plot_stroke stroke, struct sm_plot_series out[EDGES])
{
    out[0] = (struct sm_plot_series){
        .x = x, .y = high, .n = n, .label = label, .colour = black, .stroke = stroke, .width = 2};
    out[1] = (struct sm_plot_series){.x = x, .y = low, .n = n, .colour = black, .stroke = stroke, .width = 2};
}

/* Flights with drag lie upon those without: thin and dashed upon broad. */
static void hold_flights(const struct sm_lift *lift, const struct columns *c, struct timed_panels *held)
{
    static const char *const names[SM_LIFT_BOUNDS] = {"no drag, splay at once", "no drag, reserve kept",
                                                      "drag, splay in its time", "drag, reserve kept"};
    static const enum sm_plot_stroke strokes[SM_LIFT_BOUNDS] = {SM_STROKE_SOLID, SM_STROKE_SOLID,
                                                                SM_STROKE_DASHED, SM_STROKE_DOTTED};
    for (size_t i = 0; i < SM_LIFT_BOUNDS; i++) {
        const int is_flown = i >= SM_LIFT_DRAG;
        held->flights[i] = (struct sm_plot_series){.x = lift->windows[i].time,
                                                   .y = c->apogee[i],
                                                   .n = lift->windows[i].n,
                                                   .label = names[i],
                                                   .colour = is_flown ? black : (int)i + 4,
                                                   .stroke = strokes[i],
                                                   .width = is_flown ? 2 : 7};
    }
}

static void hold_timed(const struct sm_lift *lift, const struct columns *c, struct timed_panels *held)
{
    const struct sm_lift_series *s = &lift->series;
    const struct sm_lift_flight *f = &lift->plan;
    const size_t n = s->n, m = f->n;
    *held = (struct timed_panels){
        .thrust = {.x = s->time,
                   .y_low = c->least,
                   .y_high = c->full,
                   .n = n,
                   .label = "thrust, at most to least splay",
                   .colour = 1},
        .weight = {.x = s->time, .y = c->weight, .n = n, .label = "weight", .colour = 2},
        .hover = {.x = s->time,
                  .y_low = c->low,
                  .y_high = c->high,
                  .n = n,
                  .label = "can stand still, without drag",
                  .colour = 3},
        .height_tube = {.x = f->time,
                        .y_low = c->height_low,
                        .y_high = c->height_high,
                        .n = m,
                        .label = "can still land, at that speed, no drag",
                        .colour = 1},
        .heights[0] = {.x = f->time, .y = c->height, .n = m, .label = "the plan", .colour = 2},
        .speed_tube = {.x = f->time,
                       .y_low = c->speed_low,
                       .y_high = c->speed_high,
                       .n = m,
                       .label = "can still land, at that height, no drag",
                       .colour = 1},
        .speeds[0] = {.x = f->time, .y = c->speed, .n = m, .label = "the plan", .colour = 2},
    };
    show_edges(lift->hover.time, c->hover_low[SM_LIFT_DRAG], c->hover_high[SM_LIFT_DRAG],
               lift->has_throttle ? SM_LIFT_HOVERS : 0, "with drag", SM_STROKE_DASHED, held->hovers);
    show_edges(lift->hover.time, c->hover_low[SM_LIFT_DRAG_RESERVE], c->hover_high[SM_LIFT_DRAG_RESERVE],
               lift->has_throttle ? SM_LIFT_HOVERS : 0, "with drag, reserve kept", SM_STROKE_DOTTED,
               held->hovers + EDGES);
    show_edges(c->along.time, c->along.height_low, c->along.height_high, c->along.n, "with drag",
               SM_STROKE_DASHED, held->heights + 1);
    show_edges(c->along.time, c->along.speed_low, c->along.speed_high, c->along.n, "with drag",
               SM_STROKE_DASHED, held->speeds + 1);
    hold_flights(lift, c, held);
}

static struct sm_plot_panel against_time(const char *y_label, const struct sm_plot_band *band,
                                         const struct sm_plot_series *series, size_t n)
{
    return (struct sm_plot_panel){.x = {.label = "time since the first ignition command (s)"},
                                  .y = {.label = y_label},
                                  .bands = band,
                                  .n_bands = 1,
                                  .series = series,
                                  .n_series = n};
}

static void show_timed(enum sm_unit_system system, const struct timed_panels *held,
                       struct sm_plot_panel panels[TIMED])
{
    const char *height = heights[system].label;
    panels[0] = against_time(forces[system].label, &held->thrust, &held->weight, 1);
    panels[1] = against_time(height, &held->hover, held->hovers, HOVERS);
    panels[2] = (struct sm_plot_panel){.x = {.label = "time of contact (s)"},
                                       .y = {.label = summits[system].label},
                                       .series = held->flights,
                                       .n_series = SM_LIFT_BOUNDS};
    panels[3] = against_time(height, &held->height_tube, held->heights, 1 + EDGES);
    panels[4] = against_time(speeds[system].label, &held->speed_tube, held->speeds, 1 + EDGES);
}

static enum sm_status draw(const struct sm_lift *lift, enum sm_unit_system system, const struct columns *c,
                           enum sm_picture_kind kind, struct sm_sink *sink, struct sm_error *err)
{
    struct timed_panels timed;
    struct varied_panels by_mass, by_limit;
    struct sm_plot_panel panels[PANELS];
    hold_timed(lift, c, &timed);
    show_timed(system, &timed, panels);
    show_varied(&c->mass, masses[system].label, summits[system].label, &by_mass, panels + TIMED);
    show_varied(&c->limit, limits[system].label, summits[system].label, &by_limit, panels + TIMED + 2);
    const struct sm_plot plot = {
        .title = lift->vehicle,
        .subtitle = lift->has_throttle
                        ? "thrust against weight; where it can stand still; the highest "
                          "flight that lands; the plan in its tube; other masses and splay limits"
                        : lift->no_throttle,
        .note = "Guidance only: powered landing on solid motors is experimental, needs the range's and the "
                "organisation's prior "
                "agreement, and its own means of recovery and of ending the flight.",
        .panels = panels,
        .separate_x = lift->has_throttle,
        .n_panels = lift->has_throttle ? SM_COUNT(panels) : 1,
    };
    return sm_plot_write(&plot, sm_picture_plot_kind(kind), sink, err);
}

enum sm_status sm_plot_lift(const struct sm_lift *lift, enum sm_unit_system system, enum sm_picture_kind kind,
                            struct sm_sink *sink, struct sm_error *err)
{
    struct sm_arena arena;
    struct columns c;
    sm_arena_init(&arena, NULL);
    enum sm_status status = scale_all(&arena, lift, system, &c, err);
    if (status == SM_OK)
        status = draw(lift, system, &c, kind, sink, err);
    sm_arena_release(&arena);
    return status;
}
