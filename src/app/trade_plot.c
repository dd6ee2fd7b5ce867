/* The front of a trade as a picture, in the units people read. */
#include "app/pictures.h"
#include "base/arena.h"
#include "base/text.h"
#include "report/axes.h"
#include "slowmatch/design.h"

/* Units of the figures that have one in which they are read; others are shown as SI. */
static const struct {
    enum sm_dim dim;
    const char *unit[2]; /* SI, United States customary */
    double factor[2];    /* [SI unit per unit shown] */
} units[] = {
    {SM_DIM_FORCE, {"N", "lbf"}, {1.0, 4.4482216152605}},
    {SM_DIM_PRESSURE, {"MPa", "psi"}, {1e6, 6894.757293168361}},
    {SM_DIM_LENGTH, {"mm", "in"}, {1e-3, 0.0254}},
    {SM_DIM_MASS, {"g", "lb"}, {1e-3, 0.45359237}},
    {SM_DIM_IMPULSE, {"N s", "lbf s"}, {1.0, 4.4482216152605}},
};

static double unit_of(enum sm_dim dim, enum sm_unit_system system, const char **unit)
{
    for (size_t i = 0; i < SM_COUNT(units); i++)
        if (units[i].dim == dim) {
            *unit = units[i].unit[system];
            return units[i].factor[system];
        }
    *unit = sm_dim_unit(dim);
    return 1.0;
}

static enum sm_status write(const struct sm_trade *t, enum sm_unit_system system, enum sm_picture_kind kind,
                            struct sm_arena *arena, struct sm_sink *sink, struct sm_error *err)
{
    const struct sm_size_figure *figures;
    double *at[2];
    char label[2][96], title[300], subtitle[200];
    sm_size_figures(&figures);
    for (int k = 0; k < 2; k++) {
        const struct sm_size_figure *f = &figures[t->figure[k]];
        const char *unit;
        const double factor = unit_of(f->dim, system, &unit);
        at[k] = sm_arena_alloc(arena, t->n, sizeof *at[k]);
        if (!at[k])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        for (size_t i = 0; i < t->n; i++)
            at[k][i] = t->points[i]->figures[t->figure[k]] / factor;
        sm_text_format(label[k], sizeof label[k], "%s (%s)", f->label, unit);
    }
    const struct sm_plot_series series[] = {
        {.x = at[0], .y = at[1], .n = t->n, .label = "best compromises", .colour = 1},
        {.x = at[0], .y = at[1], .n = t->n, .colour = 1, .stroke = SM_STROKE_DISCS}};
    const struct sm_plot_panel panel = {.x = {.label = label[0], .off_zero = true},
                                        .y = {.label = label[1], .off_zero = true},
                                        .series = series,
                                        .n_series = SM_COUNT(series)};
    sm_text_format(title, sizeof title, "%.200s: what can be had", t->request);
    sm_text_format(subtitle, sizeof subtitle, "%s against %s; no motor within the bounds is better in both",
                   figures[t->figure[0]].label, figures[t->figure[1]].label);
    const struct sm_plot plot = {
        .title = title,
        .subtitle = subtitle,
        .note = "Predicted by slowmatch, not measured, and not a drawing for manufacture. Check the current "
                "rules and "
                "your range's safety officer.",
        .panels = &panel,
        .n_panels = 1,
    };
    return sm_plot_write(&plot, sm_picture_plot_kind(kind), sink, err);
}

enum sm_status sm_plot_trade(const struct sm_trade *trade, enum sm_unit_system system,
                             enum sm_picture_kind kind, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const enum sm_status status = write(trade, system, kind, &arena, sink, err);
    sm_arena_release(&arena);
    return status;
}
