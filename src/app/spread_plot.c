/* A spread's bands as a picture, in the units people read. */
#include <math.h>
#include <string.h>

#include "app/pictures.h"
#include "base/arena.h"
#include "base/text.h"
#include "report/axes.h"
#include "slowmatch/spread.h"

enum { PANELS = SM_SPREAD_MAX_BANDS, BANDS = 2 };

struct unit {
    enum sm_dim dim;
    const char *label[2]; /* SI, United States customary */
    double factor[2];     /* [SI unit per unit shown] */
};

static const struct {
    const char *band;
    struct unit unit;
} units[] = {
    {"thrust", {SM_DIM_FORCE, {"thrust (N)", "thrust (lbf)"}, {1.0, 4.4482216152605}}},
    {"pressure",
     {SM_DIM_PRESSURE, {"chamber pressure (MPa)", "chamber pressure (psi)"}, {1e6, 6894.757293168361}}},
    {"thrust_difference",
     {SM_DIM_FORCE, {"difference of thrusts (N)", "difference of thrusts (lbf)"}, {1.0, 4.4482216152605}}},
    {"lateral_force", {SM_DIM_FORCE, {"lateral force (N)", "lateral force (lbf)"}, {1.0, 4.4482216152605}}},
    {"moment", {SM_DIM_MOMENT, {"moment (N m)", "moment (lbf ft)"}, {1.0, 1.3558179483314004}}},
};

static const struct unit *unit_of(const char *band)
{
    size_t i = 0;
    while (i + 1 < SM_COUNT(units) && strcmp(units[i].band, band) != 0)
        i++;
    return &units[i].unit;
}

/* What one panel is made of. */
struct drawn {
    double *level[SM_SPREAD_LEVELS]; /* [unit shown] */
    struct sm_plot_band bands[BANDS];
    struct sm_plot_series median;
};

static enum sm_status draw(const struct sm_spread *s, const struct sm_spread_band *band, int colour,
                           enum sm_unit_system system, struct sm_arena *arena, struct drawn *d,
                           struct sm_plot_panel *panel, struct sm_error *err)
{
    const struct unit *unit = unit_of(band->name);
    for (size_t k = 0; k < SM_SPREAD_LEVELS; k++) {
        d->level[k] = sm_arena_alloc(arena, s->n_instants, sizeof(double));
        if (!d->level[k])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        for (size_t i = 0; i < s->n_instants; i++)
            d->level[k][i] = band->level[k][i] / unit->factor[system];
    }
    d->bands[0] = (struct sm_plot_band){s->time,
                                        d->level[0],
                                        d->level[4],
                                        s->n_instants,
                                        s->pair.is_pair ? "95 % of pairs" : "95 % of motors",
                                        colour};
    d->bands[1] = (struct sm_plot_band){s->time, d->level[1], d->level[3], s->n_instants, "68 %", colour};
    d->median = (struct sm_plot_series){
        .x = s->time, .y = d->level[2], .n = s->n_instants, .label = "median", .colour = colour};
    panel->x.label = "time since ignition (s)";
    panel->y.label = unit->label[system];
    panel->bands = d->bands;
    panel->n_bands = BANDS;
    panel->series = &d->median;
    panel->n_series = 1;
    return SM_OK;
}

enum sm_status sm_plot_spread(const struct sm_spread *s, enum sm_unit_system system,
                              enum sm_picture_kind kind, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_arena arena;
    struct drawn drawn[PANELS];
    struct sm_plot_panel panels[PANELS] = {{0}};
    char title[300], subtitle[256];
    struct sm_plot plot = {
        .title = title,
        .subtitle = subtitle,
        .note =
            "Predicted by slowmatch, not measured and not a certification. Check the current rules and your "
            "range's safety officer.",
        .panels = panels,
    };
    sm_text_format(title, sizeof title, "%.200s: %s", s->motor,
                   s->pair.is_pair ? "two motors lit together" : "how far one motor strays from another");
    sm_text_format(subtitle, sizeof subtitle, "%zu %s%s, seed %llu", s->n_done - s->n_impossible,
                   s->pair.is_pair ? "pairs" : "samples", s->complete ? "" : " (stopped before the end)",
                   (unsigned long long)s->seed);
    sm_arena_init(&arena, NULL);
    enum sm_status status = SM_OK;
    for (size_t i = 0; i < s->n_bands && status == SM_OK; i++) {
        const size_t k = plot.n_panels;
        if (strcmp(s->bands[i].name, "lateral_force") == 0 && s->pair.splay == 0.0)
            continue; /* motors that stand straight push nothing sideways */
        status = draw(s, &s->bands[i], (int)k + 1, system, &arena, &drawn[k], &panels[k], err);
        plot.n_panels++;
    }
    if (status == SM_OK)
        status = sm_plot_write(&plot, sm_picture_plot_kind(kind), sink, err);
    sm_arena_release(&arena);
    return status;
}
