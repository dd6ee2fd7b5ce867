#include "report/drawing.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "report/view.h"

/* ---- can it be drawn? ---- */

static enum sm_status check_text(const char *text, struct sm_error *err)
{
    size_t bad = 0;
    if (text && !sm_text_is_utf8(text, strlen(text), &bad))
        return sm_fail(err, SM_E_SYNTAX, "a text of the drawing is not UTF-8 at its byte %zu", bad);
    return SM_OK;
}

static enum sm_status check_path(const struct sm_draw_path *path, struct sm_error *err)
{
    if (path->n > 0 && path->steps[0].op != SM_DRAW_MOVE)
        return sm_fail(err, SM_E_RANGE, "a path must begin with a move");
    for (size_t i = 0; i < path->n; i++) {
        const struct sm_draw_step *s = &path->steps[i];
        if (!(fabs(s->x) <= 1e6) || !(fabs(s->y) <= 1e6) || !(fabs(s->cx) <= 1e6) || !(fabs(s->cy) <= 1e6))
            return sm_fail(err, SM_E_RANGE, "step %zu: lengths must be finite and at most 1e6 m", i);
    }
    return SM_OK;
}

static enum sm_status check_part(const struct sm_draw_part *part, struct sm_error *err)
{
    for (size_t i = 0; i < part->n_paths; i++)
        SM_TRY(sm_at(err, check_path(&part->paths[i], err), "/paths/%zu", i));
    if (part->colour < 0 || !(part->width >= 0.0 && part->width <= 100.0) ||
        !(part->fade >= 0.0 && part->fade <= 1.0))
        return sm_fail(err, SM_E_RANGE,
                       "colour %d, width %g px, fade %g: must be from 0; width to 100, fade to 1",
                       part->colour, part->width, part->fade);
    return SM_OK;
}

static enum sm_status check_note(const struct sm_draw_note *note, struct sm_error *err)
{
    SM_TRY(check_text(note->text, err));
    if (!(fabs(note->x) <= 1e6) || !(fabs(note->y) <= 1e6) || note->colour < 0)
        return sm_fail(err, SM_E_RANGE, "a note at %g, %g m of colour %d: must be finite, and from 0",
                       note->x, note->y, note->colour);
    return SM_OK;
}

static enum sm_status check_dimension(const struct sm_draw_dimension *d, struct sm_error *err)
{
    const double places[] = {d->ax, d->ay, d->bx, d->by, d->cx, d->cy};
    SM_TRY(check_text(d->text, err));
    for (size_t i = 0; i < SM_COUNT(places); i++)
        if (!(fabs(places[i]) <= 1e6))
            return sm_fail(err, SM_E_RANGE, "a dimension at %g m: lengths must be finite and at most 1e6 m",
                           places[i]);
    return SM_OK;
}

static enum sm_status check_view(const struct sm_draw_view *view, struct sm_error *err)
{
    SM_TRY(check_text(view->title, err));
    for (size_t i = 0; i < view->n_parts; i++)
        SM_TRY(sm_at(err, check_part(&view->parts[i], err), "/parts/%zu", i));
    for (size_t i = 0; i < view->n_notes; i++)
        SM_TRY(sm_at(err, check_note(&view->notes[i], err), "/notes/%zu", i));
    for (size_t i = 0; i < view->n_dimensions; i++)
        SM_TRY(sm_at(err, check_dimension(&view->dimensions[i], err), "/dimensions/%zu", i));
    return SM_OK;
}

static enum sm_status check_drawing(const struct sm_drawing *drawing, struct sm_error *err)
{
    SM_TRY(check_text(drawing->title, err));
    SM_TRY(check_text(drawing->subtitle, err));
    SM_TRY(check_text(drawing->note, err));
    if (drawing->n_views < 1 || drawing->n_views > SM_DRAW_MAX_VIEWS)
        return sm_fail(err, SM_E_RANGE, "a drawing of %zu views: 1 to %d can be drawn", drawing->n_views,
                       SM_DRAW_MAX_VIEWS);
    for (size_t i = 0; i < drawing->n_views; i++)
        SM_TRY(sm_at(err, check_view(&drawing->views[i], err), "/views/%zu", i));
    return SM_OK;
}

/* ---- the page ---- */

struct sheet {
    const struct sm_drawing *in;
    struct sm_canvas *canvas;
    struct sm_arena *arena;
    struct sm_style style;
    int width, height; /* [px] */
    struct sm_heading heading;
    struct sm_view *views;
};

static enum sm_status start_views(struct sheet *sheet, struct sm_error *err)
{
    const size_t n = sheet->in->n_views;
    sheet->views = sm_arena_alloc(sheet->arena, n, sizeof *sheet->views);
    if (!sheet->views)
        return sm_fail(err, SM_E_NOMEM, "out of memory while drawing");
    for (size_t i = 0; i < n; i++) {
        struct sm_view *view = &sheet->views[i];
        *view = (struct sm_view){.in = &sheet->in->views[i],
                                 .style = &sheet->style,
                                 .canvas = sheet->canvas,
                                 .arena = sheet->arena};
        view->notes = sm_arena_alloc(sheet->arena, view->in->n_notes, sizeof *view->notes);
        view->dimensions = sm_arena_alloc(sheet->arena, view->in->n_dimensions, sizeof *view->dimensions);
        if (!view->notes || !view->dimensions)
            return sm_fail(err, SM_E_NOMEM, "out of memory while drawing");
        if (!sm_view_find_extent(view))
            return sm_at(err, sm_fail(err, SM_E_RANGE, "a view must show something from 1e-6 to 1e6 m large"),
                         "/views/%zu", i);
    }
    return SM_OK;
}

/* Cells of one size in so many columns. *scale: the smallest at which all views fit [px/m]. */
static enum sm_status set_cells(struct sheet *sheet, size_t columns, double *scale, struct sm_error *err)
{
    const struct sm_style *s = &sheet->style;
    const size_t n = sheet->in->n_views, rows = (n + columns - 1) / columns;
    const double bar = sm_view_bar_height(s) + 2.0 * s->gap,
                 shared_bar = sheet->in->separate_scales ? 0.0 : bar;
    const double between = 3.0 * s->gap;
    const double w = (sheet->width - 2.0 * s->margin + between) / (double)columns - between;
    const double h =
        (sheet->heading.bottom - sheet->heading.top - shared_bar + between) / (double)rows - between;
    *scale = SM_INF;
    for (size_t i = 0; i < n; i++) {
        struct sm_view *view = &sheet->views[i];
        const size_t row = i / columns, column = i % columns;
        view->cell = (struct sm_box){s->margin + (double)column * (w + between),
                                     sheet->heading.top + (double)row * (h + between), w,
                                     sheet->in->separate_scales ? h - bar : h};
        SM_TRY(sm_view_set_texts(view, w, err));
        sm_view_set_area(view);
        view->scale = sm_view_fit(view);
        *scale = fmin(*scale, view->scale);
    }
    return SM_OK;
}

static enum sm_status lay_out(struct sheet *sheet, struct sm_error *err)
{
    const size_t n = sheet->in->n_views;
    size_t columns = sheet->in->columns < n ? sheet->in->columns : n;
    double scale = 0.0, best = 0.0;
    for (size_t c = 1; sheet->in->columns == 0 && c <= n; c++) {
        SM_TRY(set_cells(sheet, c, &scale, err));
        if (scale > best || columns == 0) {
            best = scale;
            columns = c;
        }
    }
    SM_TRY(set_cells(sheet, columns, &scale, err));
    if (!(scale > 0.0))
        return sm_fail(err, SM_E_RANGE,
                       "a picture of %d by %d px is too small for %zu view%s and their texts", sheet->width,
                       sheet->height, n, n == 1 ? "" : "s");
    for (size_t i = 0; i < n; i++) {
        if (!sheet->in->separate_scales)
            sheet->views[i].scale = scale;
        SM_TRY(sm_at(err, sm_view_place_notes(&sheet->views[i], err), "/views/%zu", i));
    }
    return SM_OK;
}

static void paint_bars(const struct sheet *sheet)
{
    const struct sm_style *s = &sheet->style;
    if (!sheet->in->separate_scales) {
        sm_view_paint_bar(&sheet->views[0], 0.16 * sheet->width, s->margin, sheet->heading.bottom - s->gap);
        return;
    }
    for (size_t i = 0; i < sheet->in->n_views; i++) {
        const struct sm_view *view = &sheet->views[i];
        const double foot = view->cell.y + view->cell.h + s->gap + sm_view_bar_height(s);
        sm_view_paint_bar(view, 0.3 * view->cell.w, view->cell.x, foot);
    }
}

static enum sm_status draw(struct sheet *sheet, struct sm_error *err)
{
    const struct sm_drawing *in = sheet->in;
    const struct sm_heading_texts texts = {in->title, in->subtitle, in->note};
    SM_TRY(sm_heading_make(&sheet->heading, sheet->canvas, sheet->arena, &sheet->style, &texts, sheet->width,
                           sheet->height, err));
    SM_TRY(start_views(sheet, err));
    SM_TRY(lay_out(sheet, err));
    sm_heading_paint(&sheet->heading, sheet->canvas, &sheet->style);
    for (size_t i = 0; i < in->n_views; i++)
        sm_view_paint(&sheet->views[i]);
    paint_bars(sheet);
    return SM_OK;
}

enum sm_status sm_drawing_write(const struct sm_drawing *drawing, enum sm_plot_kind kind,
                                struct sm_sink *sink, struct sm_error *err)
{
    SM_TRY(check_drawing(drawing, err));
    const int width = drawing->width ? drawing->width : 1200,
              height = drawing->height ? drawing->height : 800;
    struct sm_canvas canvas;
    SM_TRY(sm_canvas_open(&canvas, kind, width, height, drawing->title, sink, err));
    struct sm_arena arena;
    sm_arena_init(&arena, drawing->allocator);
    struct sheet sheet = {.in = drawing,
                          .canvas = &canvas,
                          .arena = &arena,
                          .style = sm_style_for(width, height),
                          .width = width,
                          .height = height};
    const enum sm_status status = draw(&sheet, err);
    sm_arena_release(&arena);
    if (status != SM_OK) {
        sm_canvas_abandon(&canvas);
        return status;
    }
    return sm_canvas_finish(&canvas, err);
}
