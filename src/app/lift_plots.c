/* Pictures of a vehicle's lift, hover and landing. */
#include "app/pictures.h"
#include "base/arena.h"
#include "base/text.h"
#include "report/axes.h"
#include "slowmatch/plot.h"

#include <math.h>
#include <string.h>

/* A unit that people read: the SI value over factor. */
struct shown {
    const char *label;
    double factor; /* [SI unit per unit shown] */
};
static const struct shown forces[] = {{"force (N)", 1.0}, {"force (lbf)", 4.4482216152605}};
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

/* How the window goes with another mass or splay limit, with drag and the time that splay takes: all of the range of throttle, then
 * with the reserve kept. */
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
            out->first[k][i] = rows[i].first[SM_LIFT_DRAG + k];
            out->last[k][i] = rows[i].last[SM_LIFT_DRAG + k];
            out->highest[k][i] = rows[i].highest[SM_LIFT_DRAG + k] / height;
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

/* Flights that are off: as told, and with thrust one deviation more and less. */
enum { DRAWN_OFF = 3 };

struct columns {
    struct varied mass, limit;
    double *full, *least, *weight;                                  /* [N] or [lbf] */
    double *apogee[SM_LIFT_BOUNDS];                                 /* [m] or [ft] */
    double *height, *height_low, *height_high;                      /* [m] or [ft] */
    double *speed, *speed_low, *speed_high;                         /* [m/s] or [ft/s] */
    double *hover_low[SM_LIFT_BOUNDS], *hover_high[SM_LIFT_BOUNDS]; /* [m] or [ft] */
    double *off[DRAWN_OFF][SM_LIFT_WAYS];                           /* [m] or [ft] */
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
                          .height = scaled(arena, f->height, f->n, height),
                          .height_low = scaled(arena, f->height_low, f->n, height),
                          .height_high = scaled(arena, f->height_high, f->n, height),
                          .speed = scaled(arena, f->speed, f->n, speed),
                          .speed_low = scaled(arena, f->speed_low, f->n, speed),
                          .speed_high = scaled(arena, f->speed_high, f->n, speed)};
    fill_varied(lift->masses, masses[system].factor, lift->by_mass, SM_LIFT_MASSES, height, &c->mass);
    fill_varied(lift->limits, limits[system].factor, lift->by_limit, SM_LIFT_LIMITS, height, &c->limit);
    int whole = c->full && c->least && c->weight && c->height && c->height_low && c->height_high &&
                c->speed && c->speed_low && c->speed_high;
    for (size_t i = 0; i < SM_LIFT_BOUNDS; i++) {
        const size_t n = lift->has_throttle ? SM_LIFT_HOVERS : 0;
        c->apogee[i] = scaled(arena, lift->windows[i].apogee, lift->windows[i].n, height);
        c->hover_low[i] = scaled(arena, lift->hover.low[i], n, height);
        c->hover_high[i] = scaled(arena, lift->hover.high[i], n, height);
        whole = whole && c->apogee[i] && c->hover_low[i] && c->hover_high[i];
    }
    for (size_t i = 0; i < DRAWN_OFF && i < lift->n_off_by; i++)
        for (size_t k = 0; k < SM_LIFT_WAYS; k++) {
            const struct sm_lift_path *path = &lift->off_by[i].paths[k];
            c->off[i][k] = scaled(arena, path->height, path->n, height);
            whole = whole && c->off[i][k];
        }
    fill_along(lift, height, speed, &c->along);
    return whole ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

static const int blue = 1, vermillion = 2, green = 3, orange = 5, black = 7; /* of the accents */

/* ---- other masses and splay limits ---- */

/* Two panels, and what they hold: a window is a band within its edges, so that it is seen in grey as well. */
enum { WAYS = 2, EDGES = 2 };
struct varied_panels {
    struct sm_plot_band windows[WAYS];
    struct sm_plot_series edges[WAYS * EDGES], highest[WAYS];
    struct sm_plot_rule own; /* the vehicle's mass or limit, if it is told */
};

static void show_varied(const struct varied *v, const char *const titles[2], const char *x_label, double own,
                        const char *y_label, struct varied_panels *held, struct sm_plot_panel panels[2])
{
    static const char *const ways[WAYS] = {"drag, splay in its time", "drag, reserve kept"};
    held->own = (struct sm_plot_rule){.at = own, .vertical = true, .text = "this vehicle"};
    for (size_t k = 0; k < WAYS; k++) {
        const int colour = k == 0 ? blue : orange;
        const struct sm_plot_series edge = {.x = v->x,
                                            .n = v->n,
                                            .colour = k == 0 ? blue : black,
                                            .stroke = k == 0 ? SM_STROKE_SOLID : SM_STROKE_DASHED,
                                            .width = 2};
        held->windows[k] = (struct sm_plot_band){
            .x = v->x, .y_low = v->first[k], .y_high = v->last[k], .n = v->n, .colour = colour};
        held->edges[2 * k] = held->edges[2 * k + 1] = held->highest[k] = edge;
        held->edges[2 * k].y = v->first[k];
        held->edges[2 * k].label = ways[k];
        held->edges[2 * k + 1].y = v->last[k];
        held->highest[k].y = v->highest[k];
        held->highest[k].label = ways[k];
    }
    for (size_t k = 0; k < 2; k++)
        panels[k] = (struct sm_plot_panel){.title = titles[k],
                                           .x = {.label = x_label, .off_zero = true},
                                           .rules = &held->own,
                                           .n_rules = (size_t)!isnan(own)};
    panels[0].y.label = "time of contact (s)";
    panels[0].bands = held->windows;
    panels[0].n_bands = WAYS;
    panels[0].series = held->edges;
    panels[0].n_series = SM_COUNT(held->edges);
    panels[1].y.label = y_label;
    panels[1].series = held->highest;
    panels[1].n_series = WAYS;
}

/* ---- against time ---- */

enum { TIMED = 6, PANELS = TIMED + 4 }; /* against time, and two for masses and two for splay limits */
enum { HOVERS = 2 * EDGES, OFF = DRAWN_OFF * SM_LIFT_WAYS };
struct timed_panels {
    struct sm_plot_band thrust, hover, height_tube, speed_tube;
    size_t n_forces;
    struct sm_plot_series forces[3], hovers[HOVERS], heights[1 + EDGES], speeds[1 + EDGES];
    struct sm_plot_series flights[SM_LIFT_BOUNDS], off[OFF];
    size_t n_off;
    struct sm_plot_span most_splay;
    /* What the plan's panels reach. */
    double time_most;                            /* [s] */
    double height_most, speed_least, speed_most; /* [m] or [ft], [m/s] or [ft/s] */
};

/* The edges of a set; the upper one is named. */
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
                                                   .colour = is_flown                       ? black
                                                             : i == (size_t)SM_LIFT_RESERVE ? orange
                                                                                            : blue,
                                                   .stroke = strokes[i],
                                                   .width = is_flown ? 2 : 7};
    }
}

/* Colours go by the way, strokes by the vehicle: broad as told, dashed with more thrust, dotted with less. */
static void hold_off(const struct sm_lift *lift, const struct columns *c, struct timed_panels *held)
{
    static const char *const ways[SM_LIFT_WAYS] = {"fixed program", "planned anew, true curve",
                                                   "planned anew, curve as told"};
    static const enum sm_plot_stroke strokes[DRAWN_OFF] = {SM_STROKE_SOLID, SM_STROKE_DASHED,
                                                           SM_STROKE_DOTTED};
    static const int widths[SM_LIFT_WAYS] = {9, 6, 3}, colours[SM_LIFT_WAYS] = {vermillion, blue, black};
    for (size_t i = 0; i < DRAWN_OFF && i < lift->n_off_by; i++)
        for (size_t k = 0; k < SM_LIFT_WAYS; k++) {
            const struct sm_lift_path *path = &lift->off_by[i].paths[k];
            held->off[held->n_off++] = (struct sm_plot_series){.x = path->time,
                                                               .y = c->off[i][k],
                                                               .n = path->n,
                                                               .label = i == 0 ? ways[k] : NULL,
                                                               .colour = colours[k],
                                                               .stroke = strokes[i],
                                                               .width = i == 0 ? widths[k] : 2};
        }
}

static void hold_forces(const struct sm_lift *lift, const struct columns *c, struct timed_panels *held)
{
    const struct sm_lift_series *s = &lift->series;
    const size_t n = s->n;
    held->n_forces = lift->has_throttle ? SM_COUNT(held->forces) : 2;
    held->thrust =
        (struct sm_plot_band){.x = s->time, .y_low = c->least, .y_high = c->full, .n = n, .colour = blue};
    held->forces[0] = (struct sm_plot_series){
        .x = s->time, .y = c->weight, .n = n, .label = "weight", .colour = vermillion, .width = 4};
    held->forces[1] =
        (struct sm_plot_series){.x = s->time,
                                .y = c->full,
                                .n = n,
                                .label = lift->has_throttle ? "thrust at least splay" : "thrust",
                                .colour = blue,
                                .width = 2};
    held->forces[2] = (struct sm_plot_series){.x = s->time,
                                              .y = c->least,
                                              .n = n,
                                              .label = "thrust at most splay",
                                              .colour = blue,
                                              .stroke = SM_STROKE_DASHED,
                                              .width = 2};
}

/* The plan is what its panels are for: the tube may go on beyond them. */
static void frame_plan(const struct sm_lift *lift, const struct columns *c, struct timed_panels *held)
{
    static const double room = 2.2, after = 1.25; /* [1] */
    double height = 0.0, least = 0.0, most = 0.0;
    for (size_t i = 0; i < lift->plan.n; i++) {
        height = fmax(height, c->height[i]);
        least = fmin(least, c->speed[i]);
        most = fmax(most, c->speed[i]);
    }
    held->time_most = fmin(after * lift->plan_contact, lift->figures.burnout_time);
    held->height_most = room * height;
    held->speed_least = room * least;
    held->speed_most = room * most;
    held->most_splay =
        (struct sm_plot_span){.x0 = lift->plan_splay_from, .x1 = lift->plan_splay_to, .text = "most splay"};
}

static void hold_timed(const struct sm_lift *lift, const struct columns *c, struct timed_panels *held)
{
    const struct sm_lift_flight *f = &lift->plan;
    const size_t m = f->n, hovers = lift->has_throttle ? SM_LIFT_HOVERS : 0;
    *held = (struct timed_panels){
        .hover = {.x = lift->hover.time,
                  .y_low = c->hover_low[SM_LIFT_BARE],
                  .y_high = c->hover_high[SM_LIFT_BARE],
                  .n = hovers,
                  .label = "can stand still, no drag",
                  .colour = green},
        .height_tube = {.x = f->time,
                        .y_low = c->height_low,
                        .y_high = c->height_high,
                        .n = m,
                        .label = "it can still land, at that speed, no drag",
                        .colour = blue},
        .heights[0] =
            {.x = f->time, .y = c->height, .n = m, .label = "the plan", .colour = vermillion, .width = 4},
        .speed_tube = {.x = f->time,
                       .y_low = c->speed_low,
                       .y_high = c->speed_high,
                       .n = m,
                       .label = "it can still land, at that height, no drag",
                       .colour = blue},
        .speeds[0] =
            {.x = f->time, .y = c->speed, .n = m, .label = "the plan", .colour = vermillion, .width = 4},
    };
    hold_forces(lift, c, held);
    show_edges(lift->hover.time, c->hover_low[SM_LIFT_DRAG], c->hover_high[SM_LIFT_DRAG], hovers, "with drag",
               SM_STROKE_DASHED, held->hovers);
    show_edges(lift->hover.time, c->hover_low[SM_LIFT_DRAG_RESERVE], c->hover_high[SM_LIFT_DRAG_RESERVE],
               hovers, "with drag, reserve kept", SM_STROKE_DOTTED, held->hovers + EDGES);
    show_edges(c->along.time, c->along.height_low, c->along.height_high, c->along.n, "with drag",
               SM_STROKE_DASHED, held->heights + 1);
    show_edges(c->along.time, c->along.speed_low, c->along.speed_high, c->along.n, "with drag",
               SM_STROKE_DASHED, held->speeds + 1);
    hold_flights(lift, c, held);
    hold_off(lift, c, held);
    frame_plan(lift, c, held);
}

static struct sm_plot_panel against_time(const char *title, const char *y_label,
                                         const struct sm_plot_band *band, const struct sm_plot_series *series,
                                         size_t n)
{
    return (struct sm_plot_panel){.title = title,
                                  .x = {.label = "time since the first ignition command (s)"},
                                  .y = {.label = y_label},
                                  .bands = band,
                                  .n_bands = 1,
                                  .series = series,
                                  .n_series = n};
}

/* The plan's two panels: height, then speed. */
static void show_plan(enum sm_unit_system system, const struct timed_panels *held,
                      struct sm_plot_panel panels[2])
{
    panels[0] = against_time("The plan's height, and where it could still land from", heights[system].label,
                             &held->height_tube, held->heights, 1 + EDGES);
    panels[1] = against_time("The plan's speed, likewise", speeds[system].label, &held->speed_tube,
                             held->speeds, 1 + EDGES);
    panels[0].y.max = held->height_most;
    panels[1].y.min = held->speed_least;
    panels[1].y.max = held->speed_most;
    for (size_t i = 0; i < 2; i++) {
        panels[i].spans = &held->most_splay;
        panels[i].n_spans = 1;
        panels[i].weight = 1.4;
        panels[i].x.max = held->time_most;
    }
}

/* Does a column hold any number? */
static int holds_any(const double *y, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!isnan(y[i]))
            return 1;
    return 0;
}

/* Those that have something to show. Returned: how many. */
static size_t show_timed(const struct sm_lift *lift, enum sm_unit_system system,
                         const struct timed_panels *held, struct sm_plot_panel panels[TIMED])
{
    size_t n = 0, flights = 0;
    panels[n++] = against_time("Thrust along the axis, and the weight", forces[system].label, &held->thrust,
                               held->forces, held->n_forces);
    if (lift->plan.n > 0 && held->height_most > 0.0) {
        show_plan(system, held, panels + n);
        n += 2;
    }
    if (held->n_off > 0)
        panels[n++] = (struct sm_plot_panel){
            .title = "The plan flown as told, and with thrust one deviation more (dashed) and less (dotted)",
            .x = {.label = "time since the first ignition command (s)"},
            .y = {.label = heights[system].label},
            .series = held->off,
            .n_series = held->n_off};
    if (lift->has_throttle && holds_any(held->hover.y_high, held->hover.n))
        panels[n++] = against_time("Where it can stand still", heights[system].label, &held->hover,
                                   held->hovers, HOVERS);
    for (size_t i = 0; i < SM_LIFT_BOUNDS; i++)
        flights += lift->windows[i].n;
    if (flights > 0)
        panels[n++] = (struct sm_plot_panel){.title = "The highest flight that lands at a time",
                                             .x = {.label = "time of contact (s)"},
                                             .y = {.label = summits[system].label},
                                             .series = held->flights,
                                             .n_series = SM_LIFT_BOUNDS};
    return n;
}

/* ---- all of it ---- */

const char *sm_picture_cautions(struct sm_arena *arena)
{
    size_t size = 1;
    for (size_t i = 0; sm_lift_caution(i); i++)
        size += strlen(sm_lift_caution(i)) + 1;
    char *out = sm_arena_alloc(arena, size, 1);
    for (size_t i = 0; out && sm_lift_caution(i); i++) {
        strcat(out, i > 0 ? " " : "");
        strcat(out, sm_lift_caution(i));
    }
    return out;
}

/* The ratio stands beside what codes ask for. */
static void say_subtitle(const struct sm_lift *lift, char *out, size_t size)
{
    const char *none = lift->no_throttle ? lift->no_throttle : "the model finds no flight that lands";
    const int lands = lift->windows[SM_LIFT_BARE].n > 0;
    sm_text_format(
        out, size,
        "Thrust is %.2f times the weight %s; high-power codes commonly ask for 3 (from memory).%s%s",
        lift->figures.rail_ratio,
        isnan(lift->figures.rail_time) ? "within half a second of lift-off" : "as it leaves the rail",
        lands ? "" : " No landing: ", lands ? "" : none);
}

/* Two for masses and two for splay limits, where anything lands. Returned: how many. */
static size_t show_others(const struct sm_lift *lift, enum sm_unit_system system, const struct columns *c,
                          struct varied_panels held[2], struct sm_plot_panel *panels)
{
    static const char *const titles[2][2] = {
        {"If it weighed more or less: when it can land", "If it weighed more or less: how high"},
        {"With another splay limit: when it can land", "With another splay limit: how high"}};
    const struct varied *const varied[] = {&c->mass, &c->limit};
    const struct shown *const units[] = {&masses[system], &limits[system]};
    const double own[] = {lift->figures.release_mass, lift->splay_limit}; /* [kg], [rad] */
    size_t n = 0;
    for (size_t i = 0; i < SM_COUNT(varied); i++) {
        if (!lift->has_throttle || !holds_any(varied[i]->highest[0], varied[i]->n))
            continue;
        show_varied(varied[i], titles[i], units[i]->label, own[i] / units[i]->factor, summits[system].label,
                    &held[i], panels + n);
        n += 2;
    }
    return n;
}

static enum sm_status draw(const struct sm_lift *lift, enum sm_unit_system system, const struct columns *c,
                           const char *note, enum sm_picture_kind kind, struct sm_sink *sink,
                           struct sm_error *err)
{
    static const int head = 430, each = 320; /* heights of the texts and of a panel [px] */
    struct timed_panels timed;
    struct varied_panels others[2];
    struct sm_plot_panel panels[PANELS];
    char subtitle[400];
    hold_timed(lift, c, &timed);
    size_t n = show_timed(lift, system, &timed, panels);
    n += show_others(lift, system, c, others, panels + n);
    say_subtitle(lift, subtitle, sizeof subtitle);
    const struct sm_plot plot = {
        .title = lift->vehicle,
        .subtitle = subtitle,
        .note = note,
        .panels = panels,
        .separate_x = n > 1,
        .n_panels = n,
        .height = n > 1 ? head + each * (int)n : 0,
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
    const char *note = sm_picture_cautions(&arena);
    if (status == SM_OK && !note)
        status = sm_fail(err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK)
        status = draw(lift, system, &c, note, kind, sink, err);
    sm_arena_release(&arena);
    return status;
}
