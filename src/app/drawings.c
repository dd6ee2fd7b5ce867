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

/* What becomes of one entry: a view, or two for a port that changes its cross-section along the grain. */
struct entry_view {
    const struct sm_grain_entry *entry;
    size_t number; /* from 1 */
    bool is_along;
};

static size_t list_views(const struct sm_motor *motor, struct entry_view *list)
{
    size_t n = 0,
           extra = SM_DRAW_MAX_VIEWS > motor->spec.n_grains ? SM_DRAW_MAX_VIEWS - motor->spec.n_grains : 0;
    for (size_t i = 0; i < motor->spec.n_grains; i++) {
        const struct sm_grain_entry *entry = &motor->spec.grains[i];
        list[n++] = (struct entry_view){entry, i + 1, false};
        if (!entry->shape->spliced || extra == 0)
            continue;
        list[n++] = (struct entry_view){entry, i + 1, true};
        extra--;
    }
    return n;
}

static enum sm_status make_view(const struct entry_view *v, double web, const struct sm_result *result,
                                struct sm_arena *arena, struct sm_draw_view *view, struct sm_error *err)
{
    enum { TITLE = 160 };
    struct sm_sketch sketch = {.arena = arena, .err = err};
    double w[FRONTS]; /* [m] */
    double step = 0.0;
    const char *cut = v->is_along ? ", along" : "";
    char *title = sm_arena_alloc(arena, TITLE, 1);
    if (!title)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    if (result)
        equal_times(result, web, w, &step);
    else
        equal_steps(web, w);
    if (result)
        sm_text_format(title, TITLE, "%zu: %s%s, every %.3g s", v->number, v->entry->shape->name, cut, step);
    else
        sm_text_format(title, TITLE, "%zu: %s%s, every %.3g mm", v->number, v->entry->shape->name, cut,
                       1e3 * web / (FRONTS + 1));
    SM_TRY((v->is_along ? sm_sketch_along : sm_sketch_grain)(&sketch, v->entry, web, w, FRONTS));
    *view = (struct sm_draw_view){.title = title, .parts = sketch.parts, .n_parts = sketch.n};
    return SM_OK;
}

static enum sm_status make_views(const struct sm_motor *motor, const struct sm_result *result,
                                 struct sm_arena *arena, struct sm_draw_view *views, size_t *n_views,
                                 struct sm_error *err)
{
    struct entry_view *list = sm_arena_alloc(arena, 2 * motor->spec.n_grains, sizeof *list);
    if (!list)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    *n_views = list_views(motor, list);
    for (size_t i = 0; i < *n_views; i++)
        SM_TRY(make_view(&list[i], motor->geometry[list[i].number - 1].web, result, arena, &views[i], err));
    return SM_OK;
}

enum sm_status sm_draw_entries(const struct sm_motor *motor, const struct sm_result *result,
                               const char *subtitle, enum sm_picture_kind kind, struct sm_sink *sink,
                               struct sm_error *err)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    size_t n_views = 0;
    struct sm_draw_view *views = sm_arena_alloc(&arena, 2 * motor->spec.n_grains, sizeof *views);
    enum sm_status status = views ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK)
        status = make_views(motor, result, &arena, views, &n_views, err);
    const struct sm_drawing drawing = {
        .title = motor->spec.name,
        .subtitle = subtitle,
        .note = "To scale. Not a drawing for manufacture.",
        .views = views,
        .n_views = n_views,
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
