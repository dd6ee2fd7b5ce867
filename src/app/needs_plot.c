/* A picture of what a wished flight needs: the band of one motor's thrust against the weight, and the flight. */
#include "app/pictures.h"
#include "base/arena.h"
#include "base/text.h"
#include "report/axes.h"
#include "slowmatch/needs.h"

#include <math.h>

/* Labels and factors in the unit that people read. */
struct shown {
    const char *thrust, *height, *speed;
    double force, length; /* [N], [m] */
};
static const struct shown units[] = {
    {"thrust of one motor (N)", "height (m)", "speed upwards (m/s)", 1.0, 1.0},
    {"thrust of one motor (lbf)", "height (ft)", "speed upwards (ft/s)", 4.4482216152605, 0.3048}};

struct columns {
    double *least, *most, *weight; /* weight: one motor's part of it [N] or [lbf] */
    double *height, *speed;        /* [m] or [ft], [m/s] or [ft/s] */
    double span[2], steady[2];     /* [s], [N] or [lbf] */
};

static enum sm_status scale(struct sm_arena *arena, const struct sm_needs *n, const struct shown *u,
                            struct columns *c, struct sm_error *err)
{
    double **columns[] = {&c->least, &c->most, &c->weight, &c->height, &c->speed};
    for (size_t i = 0; i < SM_COUNT(columns); i++) {
        *columns[i] = sm_arena_alloc(arena, n->n, sizeof(double));
        if (!*columns[i])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    for (size_t i = 0; i < n->n; i++) {
        c->least[i] = n->least[i] / u->force;
        c->most[i] = n->most[i] / u->force;
        c->weight[i] = n->mass[i] * n->gravity / n->count / u->force;
        c->height[i] = n->height[i] / u->length;
        c->speed[i] = n->speed[i] / u->length;
    }
    c->span[0] = fmax(n->begin[0], 0.0);
    c->span[1] = n->wish.burn_time;
    c->steady[0] = c->steady[1] = n->thrust / u->force;
    return SM_OK;
}

static enum sm_status draw(const struct sm_needs *n, const struct shown *u, const struct columns *c,
                           const char *note, enum sm_picture_kind kind, struct sm_sink *sink,
                           struct sm_error *err)
{
    enum { STEADY, MOST, WEIGHT, LINES };
    const struct sm_plot_band band = {
        .x = n->time, .y_low = c->least, .y_high = c->most, .n = n->n, .label = "will do", .colour = 1};
    /* Beside other groups, their part of the weight is none that can be told. */
    const size_t n_lines = n->n_groups > 1 ? WEIGHT : LINES;
    const struct sm_plot_series lines[LINES] = {
        [STEADY] = {.x = c->span, .y = c->steady, .n = 2, .label = "steady, in the middle", .colour = 2},
        [MOST] = {.x = n->time, .y = c->most, .n = n->n, .label = "at most", .colour = 1, .width = 2},
        [WEIGHT] = {.x = n->time,
                    .y = c->weight,
                    .n = n->n,
                    .label = "its part of the weight",
                    .colour = 7,
                    .stroke = SM_STROKE_DASHED,
                    .width = 2}};
    const struct sm_plot_series height = {.x = n->time, .y = c->height, .n = n->n, .colour = 2},
                                speed = {.x = n->time, .y = c->speed, .n = n->n, .colour = 2};
    const struct sm_plot_axis time = {.label = "time after the motors' ignition (s)"};
    const struct sm_plot_panel panels[] = {
        {.x = time,
         .y = {.label = u->thrust},
         .bands = &band,
         .n_bands = 1,
         .series = lines,
         .n_series = n_lines,
         .weight = 1.6},
        {.x = time, .y = {.label = u->height}, .series = &height, .n_series = 1},
        {.x = time, .y = {.label = u->speed}, .series = &speed, .n_series = 1},
    };
    char subtitle[200];
    sm_text_format(
        subtitle, sizeof subtitle,
        "What the wished flight needs of one motor, with the reserve of splay kept. It lifts off with %.2f "
        "times the weight; high-power codes commonly ask for 3 (from memory).",
        n->wish.lift_ratio);
    const struct sm_plot plot = {
        .title = n->vehicle,
        .subtitle = subtitle,
        .note = note,
        .panels = panels,
        .n_panels = SM_COUNT(panels),
    };
    return sm_plot_write(&plot, sm_picture_plot_kind(kind), sink, err);
}

enum sm_status sm_plot_needs(const struct sm_needs *needs, enum sm_unit_system system,
                             enum sm_picture_kind kind, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_arena arena;
    struct columns c;
    const struct shown *u = &units[system == SM_UNITS_US];
    sm_arena_init(&arena, NULL);
    enum sm_status status = scale(&arena, needs, u, &c, err);
    const char *note = sm_picture_cautions(&arena);
    if (status == SM_OK && !note)
        status = sm_fail(err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK)
        status = draw(needs, u, &c, note, kind, sink, err);
    sm_arena_release(&arena);
    return status;
}
