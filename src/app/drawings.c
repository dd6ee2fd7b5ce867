/* Grain sections to scale, with the burning front at equal times. */
#include "app/drawings.h"
#include "app/pictures.h"
#include "app/sketch.h"
#include "base/sink.h"
#include "base/text.h"
#include "slowmatch/grain.h"

#include <string.h>

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

/* What becomes of one entry: a view, or two for a port that changes its cross-section along the grain; before them, if wanted,
 * the same with its dimensions in place of fronts. */
struct entry_view {
    const struct sm_grain_entry *entry;
    size_t number; /* from 1 */
    bool is_along;
    bool is_measured;
};

static void list_cuts(const struct sm_motor *motor, bool is_measured, struct entry_view *list, size_t *n)
{
    size_t room = SM_DRAW_MAX_VIEWS - *n,
           extra = room > motor->spec.n_grains ? room - motor->spec.n_grains : 0;
    for (size_t i = 0; i < motor->spec.n_grains; i++) {
        const struct sm_grain_entry *entry = &motor->spec.grains[i];
        list[(*n)++] = (struct entry_view){entry, i + 1, false, is_measured};
        if (!sm_shape_has_both_cuts(entry->shape) || extra == 0)
            continue;
        list[(*n)++] = (struct entry_view){entry, i + 1, true, is_measured};
        extra--;
    }
}

/* ---- dimensions ---- */

/* "web 11 mm": a length in mm, an angle in degrees, else a number. */
static void write_value(const struct sm_gauge *g, enum sm_dim dim, char *text, size_t size)
{
    if (dim == SM_DIM_LENGTH)
        sm_text_format(text, size, "%s %.6g\u00a0mm", g->name, 1e3 * g->value);
    else if (dim == SM_DIM_ANGLE)
        sm_text_format(text, size, "%s %.6g\u00a0deg", g->name, g->value * 180.0 / 3.14159265358979323846);
    else
        sm_text_format(text, size, "%s %.6g", g->name, g->value);
}

/* Those of the cut at hand. */
static enum sm_status add_dimensions(const struct entry_view *v, struct sm_arena *arena,
                                     struct sm_draw_view *view, struct sm_error *err)
{
    enum { TEXT = 96 };
    struct sm_gauges *all = sm_arena_alloc(arena, 1, sizeof *all);
    struct sm_draw_dimension *list = sm_arena_alloc(arena, SM_GAUGE_MOST, sizeof *list);
    const bool is_across = sm_sketch_is_across(v->entry->shape) && !v->is_along;
    if (!all || !list)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    sm_shape_gauges(v->entry->shape, &v->entry->common, v->entry->params,
                    sm_sketch_is_across(v->entry->shape), all);
    view->dimensions = list;
    for (size_t i = 0; i < all->n; i++) {
        const struct sm_gauge *g = &all->items[i];
        if (g->is_along == is_across)
            continue;
        char *text = sm_arena_alloc(arena, TEXT, 1);
        if (!text)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        write_value(g, sm_gauge_dim(g), text, TEXT);
        list[view->n_dimensions++] = (struct sm_draw_dimension){.form = (enum sm_draw_measure)g->form,
                                                                .side = (enum sm_draw_side)g->side,
                                                                .ax = g->a.x,
                                                                .ay = g->a.y,
                                                                .bx = g->b.x,
                                                                .by = g->b.y,
                                                                .cx = g->c.x,
                                                                .cy = g->c.y,
                                                                .is_traced = g->is_traced,
                                                                .text = text};
    }
    return SM_OK;
}

/* ---- views ---- */

static void write_title(const struct entry_view *v, double step, bool is_time, bool is_one, char *text,
                        size_t size)
{
    const char *cut = v->is_along ? ", along" : "", *shape = v->entry->shape->name;
    char name[SM_GAUGE_NAME] = "";
    if (!is_one)
        sm_text_format(name, sizeof name, "%zu: %s%s, ", v->number, shape, cut);
    if (v->is_measured)
        sm_text_format(text, size, "%sdimensions%s", name, is_one ? cut : "");
    else
        sm_text_format(text, size, "%s%severy %.3g %s%s", name, is_one ? "the burning surface, " : "",
                       is_time ? step : 1e3 * step, is_time ? "s" : "mm", is_one ? cut : "");
}

/* The grain's outline once more over the fronts, which end on it. */
static enum sm_status put_outline_on_top(const struct sm_sketch *sketch, struct sm_arena *arena,
                                         struct sm_draw_view *view, struct sm_error *err)
{
    struct sm_draw_part *parts = sm_arena_alloc(arena, sketch->n + sketch->n_whole, sizeof *parts);
    if (!parts)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    memcpy(parts, sketch->parts, sketch->n * sizeof *parts);
    view->n_parts = sketch->n;
    for (size_t i = 0; i < sketch->n_whole; i++) {
        parts[view->n_parts] = parts[i];
        parts[view->n_parts].fill = SM_FILL_NONE;
        view->n_parts += !parts[i].no_outline;
    }
    view->parts = parts;
    return SM_OK;
}

static enum sm_status make_view(const struct entry_view *v, const struct sm_motor *motor,
                                const struct sm_result *result, struct sm_arena *arena,
                                struct sm_draw_view *view, struct sm_error *err)
{
    enum { TITLE = 160 };
    const double web = motor->geometry[v->number - 1].web;
    struct sm_sketch sketch = {.arena = arena, .err = err};
    double w[FRONTS]; /* [m] */
    double step = web / (FRONTS + 1);
    char *title = sm_arena_alloc(arena, TITLE, 1);
    if (!title)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    if (result)
        equal_times(result, web, w, &step);
    else
        equal_steps(web, w);
    write_title(v, step, result, motor->spec.n_grains == 1, title, TITLE);
    SM_TRY((v->is_along ? sm_sketch_along : sm_sketch_grain)(&sketch, v->entry, web, w,
                                                             v->is_measured ? 0 : FRONTS));
    *view = (struct sm_draw_view){.title = title};
    SM_TRY(put_outline_on_top(&sketch, arena, view, err));
    return v->is_measured ? add_dimensions(v, arena, view, err) : SM_OK;
}

static enum sm_status make_views(const struct sm_motor *motor, const struct sm_result *result,
                                 const struct sm_draw_texts *texts, struct sm_arena *arena,
                                 struct sm_draw_view **views, size_t *n_views, struct sm_error *err)
{
    struct entry_view *list = sm_arena_alloc(arena, 2 * SM_DRAW_MAX_VIEWS, sizeof *list);
    *views = sm_arena_alloc(arena, 2 * SM_DRAW_MAX_VIEWS, sizeof **views);
    *n_views = 0;
    if (!list || !*views)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    if (texts->has_dimensions)
        list_cuts(motor, true, list, n_views);
    list_cuts(motor, false, list, n_views);
    for (size_t i = 0; i < *n_views; i++)
        SM_TRY(make_view(&list[i], motor, result, arena, &(*views)[i], err));
    return SM_OK;
}

/* Of a drawing with dimensions [px]: long cuts along the axis stand one below the other. */
static int height_of(const struct sm_grain_entry *entry)
{
    const bool is_long = entry->common.length > 1.5 * entry->common.outer_diameter;
    return is_long && !sm_sketch_is_across(entry->shape) ? 1200 : 800;
}

enum sm_status sm_draw_entries(const struct sm_motor *motor, const struct sm_result *result,
                               const struct sm_draw_texts *texts, enum sm_picture_kind kind,
                               struct sm_sink *sink, struct sm_error *err)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    struct sm_draw_view *views = NULL;
    size_t n_views = 0;
    enum sm_status status = make_views(motor, result, texts, &arena, &views, &n_views, err);
    const struct sm_drawing drawing = {
        .title = motor->spec.name,
        .subtitle = texts->subtitle,
        .note = "To scale. Not a drawing for manufacture.",
        .views = views,
        .n_views = n_views,
        .width = texts->has_dimensions ? 1600 : 0,
        .height = texts->has_dimensions ? height_of(&motor->spec.grains[0]) : 0,
        .separate_scales = texts->has_dimensions && n_views > 2,
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
    struct sm_draw_texts texts = {.subtitle = "the burning surface as it moves; later fronts are darker",
                                  .has_dimensions = motor->spec.n_grains == 1};
    struct sm_memory_sink page;
    sm_memory_sink_init(&page, NULL);
    enum sm_status status = sm_draw_entries(motor, result, &texts, kind, &page.sink, err);
    if (status == SM_E_RANGE && texts.has_dimensions) { /* some found no room */
        texts.has_dimensions = false;
        status = sm_draw_entries(motor, result, &texts, kind, sink, err);
    } else if (status == SM_OK) {
        status = sm_sink_bytes(sink, page.bytes, page.n, err);
    }
    sm_memory_sink_release(&page);
    return status;
}
