/* Pictures of a vehicle's lift, hover and landing. */
#include "app/pictures.h"
#include "base/arena.h"
#include "report/axes.h"
#include "slowmatch/plot.h"

/* A unit that people read: the SI value over factor. */
struct shown {
    const char *label;
    double factor; /* [SI unit per unit shown] */
};
static const struct shown forces[] = {{"along the axis (N)", 1.0}, {"along the axis (lbf)", 4.4482216152605}};
static const struct shown heights[] = {{"height (m)", 1.0}, {"height (ft)", 0.3048}};
static const struct shown summits[] = {{"highest flight (m)", 1.0}, {"highest flight (ft)", 0.3048}};

/* A column in the unit shown; NULL if memory is out. */
static double *scaled(struct sm_arena *arena, const double *y, size_t n, double factor)
{
    double *out = sm_arena_alloc(arena, n, sizeof *out);
    for (size_t i = 0; out && i < n; i++)
        out[i] = y[i] / factor;
    return out;
}

struct columns {
    double *full, *least, *weight;   /* [N] or [lbf] */
    double *low, *high;              /* [m] or [ft] */
    double *apogee[SM_LIFT_WINDOWS]; /* [m] or [ft] */
};

static enum sm_status scale_all(struct sm_arena *arena, const struct sm_lift *lift,
                                enum sm_unit_system system, struct columns *c, struct sm_error *err)
{
    const struct sm_lift_series *s = &lift->series;
    const double force = forces[system].factor, height = heights[system].factor;
    *c = (struct columns){.full = scaled(arena, s->full, s->n, force),
                          .least = scaled(arena, s->least, s->n, force),
                          .weight = scaled(arena, s->weight, s->n, force),
                          .low = scaled(arena, s->hover_low, s->n, height),
                          .high = scaled(arena, s->hover_high, s->n, height)};
    int whole = c->full && c->least && c->weight && c->low && c->high;
    for (size_t i = 0; i < SM_LIFT_WINDOWS; i++) {
        c->apogee[i] = scaled(arena, lift->windows[i].apogee, lift->windows[i].n, height);
        whole = whole && c->apogee[i];
    }
    return whole ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

static enum sm_status draw(const struct sm_lift *lift, enum sm_unit_system system, const struct columns *c,
                           enum sm_picture_kind kind, struct sm_sink *sink, struct sm_error *err)
{
    static const char *const names[SM_LIFT_WINDOWS] = {"no drag, splay at once", "the same, reserve kept",
                                                       "drag, splay in its time"};
    static const char time[] = "time since the first ignition command (s)";
    const struct sm_lift_series *s = &lift->series;
    const struct sm_plot_band thrust = {.x = s->time,
                                        .y_low = c->least,
                                        .y_high = c->full,
                                        .n = s->n,
                                        .label = "thrust, at most to least splay",
                                        .colour = 1};
    const struct sm_plot_series weight = {
        .x = s->time, .y = c->weight, .n = s->n, .label = "weight", .colour = 2};
    const struct sm_plot_band hover = {.x = s->time,
                                       .y_low = c->low,
                                       .y_high = c->high,
                                       .n = s->n,
                                       .label = "can stand still, without drag",
                                       .colour = 3};
    struct sm_plot_series flights[SM_LIFT_WINDOWS];
    for (size_t i = 0; i < SM_LIFT_WINDOWS; i++)
        flights[i] = (struct sm_plot_series){.x = lift->windows[i].time,
                                             .y = c->apogee[i],
                                             .n = lift->windows[i].n,
                                             .label = names[i],
                                             .colour = (int)i + 4};
    const struct sm_plot_panel panels[] = {
        {.x = {.label = time},
         .y = {.label = forces[system].label},
         .bands = &thrust,
         .n_bands = 1,
         .series = &weight,
         .n_series = 1},
        {.x = {.label = time}, .y = {.label = heights[system].label}, .bands = &hover, .n_bands = 1},
        {.x = {.label = "time of contact"},
         .y = {.label = summits[system].label},
         .series = flights,
         .n_series = SM_LIFT_WINDOWS},
    };
    const struct sm_plot plot = {
        .title = lift->vehicle,
        .subtitle = lift->has_throttle ? "thrust against weight; where it can stand still; the highest "
                                         "flight that lands at each time"
                                       : lift->no_throttle,
        .note = "Guidance only: powered landing on solid motors is experimental, needs the range's and the "
                "organisation's prior "
                "agreement, and its own means of recovery and of ending the flight.",
        .panels = panels,
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
