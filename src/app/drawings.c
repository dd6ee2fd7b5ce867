/* Grain sections to scale, with the burning front at equal times. */
#include "app/drawings.h"
#include "app/pictures.h"
#include "app/sketch.h"
#include "base/text.h"
#include "slowmatch/grain.h"

/* ---- instants ---- */

enum { FRONTS = 8 };

/* Equal times over the burn of the grain at hand. *step is the time between fronts [s]. */
static void equal_times(const struct sm_result *result, double web, double w[FRONTS], double *step)
{
    *step = sm_sketch_end(result, web) / (FRONTS + 1);
    for (int k = 0; k < FRONTS; k++)
        w[k] = sm_sketch_web_at(result, (k + 1) * *step);
}

static void equal_steps(double web, double w[FRONTS])
{
    for (int k = 0; k < FRONTS; k++)
        w[k] = web * (k + 1) / (FRONTS + 1);
}

static enum sm_status make_views(const struct sm_motor *motor, const struct sm_result *result,
                                 struct sm_arena *arena, struct sm_draw_view *views, struct sm_error *err)
{
    enum { TITLE = 160 };
    for (size_t i = 0; i < motor->spec.n_grains; i++) {
        const struct sm_grain_entry *entry = &motor->spec.grains[i];
        struct sm_sketch sketch = {.arena = arena, .err = err};
        double w[FRONTS]; /* [m] */
        double step = 0.0;
        char *title = sm_arena_alloc(arena, TITLE, 1);
        if (!title)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        if (result)
            equal_times(result, motor->geometry[i].web, w, &step);
        else
            equal_steps(motor->geometry[i].web, w);
        if (result)
            sm_text_format(title, TITLE, "%zu: %s, every %.3g s", i + 1, entry->shape->name, step);
        else
            sm_text_format(title, TITLE, "%zu: %s, every %.3g mm", i + 1, entry->shape->name,
                           1e3 * motor->geometry[i].web / (FRONTS + 1));
        SM_TRY(sm_sketch_grain(&sketch, entry, motor->geometry[i].web, w, FRONTS));
        views[i] = (struct sm_draw_view){.title = title, .parts = sketch.parts, .n_parts = sketch.n};
    }
    return SM_OK;
}

enum sm_status sm_draw_entries(const struct sm_motor *motor, const struct sm_result *result,
                               const char *subtitle, enum sm_picture_kind kind, struct sm_sink *sink,
                               struct sm_error *err)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_draw_view *views = sm_arena_alloc(&arena, motor->spec.n_grains, sizeof *views);
    enum sm_status status = views ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK)
        status = make_views(motor, result, &arena, views, err);
    const struct sm_drawing drawing = {
        .title = motor->spec.name,
        .subtitle = subtitle,
        .note = "To scale. Not a drawing for manufacture.",
        .views = views,
        .n_views = motor->spec.n_grains,
    };
    if (status == SM_OK)
        status = sm_drawing_write(&drawing, sm_picture_plot_kind(kind), sink, err);
    sm_arena_release(&arena);
    return status;
}

enum sm_status sm_draw_grains(const struct sm_motor *motor, const struct sm_result *result,
                              enum sm_picture_kind kind, struct sm_sink *sink, struct sm_error *err)
{
    if (motor->spec.is_curve)
        return sm_fail(err, SM_E_FIELD, "this motor is given by its bare curve and has no grain to draw");
    return sm_draw_entries(motor, result, "the burning surface as it moves; later fronts are darker", kind,
                           sink, err);
}
