#include "report/view.h"

#include <math.h>

#include "base/text.h"
#include "report/ticks.h"

static const double pi = 3.14159265358979323846;

/* ---- paths ---- */

/* An arc as angles on the page, where y runs down and so counter-clockwise is towards falling angles [rad]. */
struct arc {
    double radius;   /* [m] */
    double from, to; /* [rad] */
    bool growing;
};

static struct arc arc_of(const struct sm_draw_step *step, double x, double y)
{
    struct arc arc = {.radius = hypot(x - step->cx, y - step->cy),
                      .from = atan2(step->cy - y, x - step->cx),
                      .to = atan2(step->cy - step->y, step->x - step->cx),
                      .growing = step->clockwise};
    const double turn = 2.0 * pi, nothing = 1e-9; /* [rad]; far below a px, far above rounding */
    const double sign = arc.growing ? 1.0 : -1.0;
    double sweep = fmod(sign * (arc.to - arc.from) + 2.0 * turn, turn);
    if (step->x == x && step->y == y)
        sweep = turn;
    else if (sweep > turn - nothing)
        sweep = 0.0; /* ends that coincide but for rounding are a short arc, not a circle */
    arc.to = arc.from + sign * sweep;
    return arc;
}

/* Room beside the parts for texts that find none near what they are about; where lengths stand on the left already, a few have
 * it on the right alone. */
static double side_left(const struct sm_view *view)
{
    return view->left > 0.0 && view->n_aside <= SM_VIEW_FEW ? 0.0 : view->side;
}

static double side_right(const struct sm_view *view)
{
    return view->side;
}

struct sm_spot sm_view_to_page(const struct sm_view *view, double x, double y)
{
    const struct sm_extent *e = &view->extent;
    const double right = 0.5 * (view->area.w + view->left + side_left(view) - side_right(view));
    const double down = 0.5 * (view->area.h + view->above - view->below);
    return (struct sm_spot){view->area.x + right + (x - 0.5 * (e->x0 + e->x1)) * view->scale,
                            view->area.y + down - (y - 0.5 * (e->y0 + e->y1)) * view->scale};
}

static void trace_path(const struct sm_view *view, const struct sm_draw_path *path)
{
    struct sm_canvas *c = view->canvas;
    double x = 0.0, y = 0.0;
    for (size_t i = 0; i < path->n; i++) {
        const struct sm_draw_step *step = &path->steps[i];
        const struct sm_spot end = sm_view_to_page(view, step->x, step->y);
        if (step->op == SM_DRAW_MOVE) {
            if (i > 0 && path->closed)
                sm_canvas_close(c);
            sm_canvas_move(c, end.x, end.y);
        } else if (step->op == SM_DRAW_LINE) {
            sm_canvas_line(c, end.x, end.y);
        } else {
            const struct arc arc = arc_of(step, x, y);
            const struct sm_spot centre = sm_view_to_page(view, step->cx, step->cy);
            sm_canvas_arc(c, centre.x, centre.y, arc.radius * view->scale, arc.from, arc.to, arc.growing);
        }
        x = step->x;
        y = step->y;
    }
    if (path->closed && path->n > 0)
        sm_canvas_close(c);
}

static void trace_part(const struct sm_view *view, const struct sm_draw_part *part)
{
    for (size_t i = 0; i < part->n_paths; i++)
        trace_path(view, &part->paths[i]);
}

/* Straight pieces in place of arcs, 64 to the circle: they miss it by a thousandth of its radius. */
typedef void visit_fn(void *user, double x0, double y0, double x1, double y1);

static void visit_step(const struct sm_draw_step *step, double x, double y, visit_fn *visit, void *user)
{
    if (step->op != SM_DRAW_ARC) {
        const bool is_line = step->op == SM_DRAW_LINE;
        visit(user, is_line ? x : step->x, is_line ? y : step->y, step->x, step->y);
        return;
    }
    const struct arc arc = arc_of(step, x, y);
    const int n = (int)ceil(fabs(arc.to - arc.from) / (2.0 * pi) * 64.0) + 1;
    double last_x = x, last_y = y;
    for (int k = 1; k <= n; k++) {
        const double a = arc.from + (arc.to - arc.from) * k / n;
        const double next_x = step->cx + arc.radius * cos(a), next_y = step->cy - arc.radius * sin(a);
        visit(user, last_x, last_y, next_x, next_y);
        last_x = next_x;
        last_y = next_y;
    }
}

static void visit_part(const struct sm_draw_part *part, visit_fn *visit, void *user)
{
    for (size_t i = 0; i < part->n_paths; i++) {
        const struct sm_draw_path *path = &part->paths[i];
        double x = 0.0, y = 0.0;
        for (size_t k = 0; k < path->n; k++) {
            visit_step(&path->steps[k], x, y, visit, user);
            x = path->steps[k].x;
            y = path->steps[k].y;
        }
    }
}

/* ---- layout ---- */

static void widen(void *user, double x0, double y0, double x1, double y1)
{
    struct sm_extent *e = user;
    e->x0 = fmin(e->x0, fmin(x0, x1));
    e->y0 = fmin(e->y0, fmin(y0, y1));
    e->x1 = fmax(e->x1, fmax(x0, x1));
    e->y1 = fmax(e->y1, fmax(y0, y1));
}

bool sm_view_find_extent(struct sm_view *view)
{
    view->extent = (struct sm_extent){SM_INF, SM_INF, -SM_INF, -SM_INF};
    for (size_t i = 0; i < view->in->n_parts; i++)
        visit_part(&view->in->parts[i], widen, &view->extent);
    for (size_t i = 0; i < view->in->n_notes; i++)
        widen(&view->extent, view->in->notes[i].x, view->in->notes[i].y, view->in->notes[i].x,
              view->in->notes[i].y);
    for (size_t i = 0; i < view->in->n_dimensions; i++) {
        const struct sm_draw_dimension *d = &view->in->dimensions[i];
        widen(&view->extent, d->ax, d->ay, d->bx, d->by);
    }
    const double size = fmax(view->extent.x1 - view->extent.x0, view->extent.y1 - view->extent.y0);
    return size >= 1e-6 && size <= 1e6;
}

enum sm_status sm_view_set_texts(struct sm_view *view, double width, struct sm_error *err)
{
    const struct sm_style *s = view->style;
    const struct sm_textblock_limits title = {
        .font = {s->heading, false}, .smallest = 0.7 * s->heading, .max_width = width, .max_lines = 2};
    const struct sm_textblock_limits note = {.font = {s->label, false},
                                             .smallest = 0.75 * s->label,
                                             .max_width = 0.24 * width,
                                             .max_lines = 3,
                                             .even = true};
    SM_TRY(sm_textblock_make(&view->title, view->canvas, view->arena, view->in->title, &title, err));
    view->side = 0.0;
    view->n_aside = view->in->n_notes;
    for (size_t i = 0; i < view->in->n_notes; i++) {
        struct sm_textblock *block = &view->notes[i].block;
        SM_TRY(sm_textblock_make(block, view->canvas, view->arena, view->in->notes[i].text, &note, err));
        view->side = fmax(view->side, block->width + 3.0 * s->gap);
    }
    return sm_dimension_set_texts(view, width, err);
}

void sm_view_set_area(struct sm_view *view)
{
    const double gap = view->style->gap, title = view->title.n > 0 ? view->title.height + gap : 0.0;
    const struct sm_box *c = &view->cell;
    view->area = (struct sm_box){c->x, c->y + title, c->w, c->h - title};
}

double sm_view_fit(const struct sm_view *view)
{
    const struct sm_extent *e = &view->extent;
    const double gap = view->style->gap, width = e->x1 - e->x0, height = e->y1 - e->y0;
    const double across = (view->area.w - view->left - side_left(view) - side_right(view) - 2.0 * gap) /
                          fmax(width, 1e-3 * height);
    const double up = (view->area.h - view->above - view->below - 2.0 * gap) / fmax(height, 1e-3 * width);
    return fmin(across, up);
}

/* ---- notes ---- */

struct marker {
    const struct sm_view *view;
    struct sm_label_field *field;
};

static void mark(void *user, double x0, double y0, double x1, double y1)
{
    const struct marker *m = user;
    sm_label_mark_segment(m->field, sm_label_curve(0), sm_view_to_page(m->view, x0, y0),
                          sm_view_to_page(m->view, x1, y1));
}

static struct sm_spot anchor_of(const struct sm_view *view, size_t i)
{
    return sm_view_to_page(view, view->in->notes[i].x, view->in->notes[i].y);
}

/* Near the point where there is room, else beside the parts at about its height. */
static void offer_text(const struct sm_view *view, const struct sm_label_field *field,
                       struct sm_label_search *s, struct sm_spot p)
{
    const struct sm_spot left = sm_view_to_page(view, view->extent.x0, 0.0),
                         right = sm_view_to_page(view, view->extent.x1, 0.0);
    const double gap = 2.0 * view->style->gap, step = 0.25 * s->h;
    sm_label_offer_round(field, s, p, gap, 2, 0.0);
    const int places = (int)floor((view->area.h - s->h) / step);
    for (int k = 0; k <= places; k++) {
        const double y = view->area.y + k * step;
        const double up_or_down = 0.5 * fabs(y + 0.5 * s->h - p.y);
        sm_label_offer(field, s, right.x + gap, y, 0.1 * (right.x - p.x) + up_or_down, p);
        sm_label_offer(field, s, left.x - view->left - gap - s->w, y, 0.1 * (p.x - left.x) + up_or_down, p);
    }
}

/* From the point to the nearest one of the text; false if they are side by side or there is none. */
static bool leader_of(const struct sm_view *view, const struct sm_label_search *place, struct sm_spot from,
                      struct sm_spot *to)
{
    const struct sm_box *b = &place->box;
    const double pad = 0.3 * view->style->gap;
    *to = (struct sm_spot){fmax(b->x - pad, fmin(b->x + b->w + pad, from.x)),
                           fmax(b->y, fmin(b->y + b->h, from.y))};
    /* From the side a leader ends at half the height of the text. */
    if (from.x < b->x - pad || from.x > b->x + b->w + pad)
        to->y = b->y + 0.5 * b->h;
    return place->found && hypot(to->x - from.x, to->y - from.y) > 2.0 * view->style->gap;
}

static enum sm_status place_text(const struct sm_view *view, struct sm_label_field *field,
                                 const struct sm_textblock *block, const char *text, struct sm_spot at,
                                 struct sm_label_search *place, struct sm_error *err)
{
    struct sm_spot to;
    if (block->n == 0)
        return SM_OK;
    *place = (struct sm_label_search){.w = block->width,
                                      .h = block->height,
                                      .gap = 0.4 * view->style->gap,
                                      .own = SM_LABEL_ANY,
                                      .may_cross = true};
    offer_text(view, field, place, at);
    if (!place->found)
        return sm_fail(err, SM_E_RANGE, "no room for the note '%.40s' in the drawing: make it larger", text);
    sm_label_take(field, place);
    if (leader_of(view, place, at, &to))
        sm_label_mark_segment(field, SM_LABEL_TAKEN, at, to);
    return SM_OK;
}

enum sm_status sm_view_place_notes(struct sm_view *view, struct sm_error *err)
{
    struct sm_label_field field;
    if (!sm_label_field_init(&field, view->arena, view->area, 0.0, fmax(2.0, 3.0 * view->style->scale)))
        return sm_fail(err, SM_E_NOMEM, "out of memory while drawing");
    struct marker marker = {view, &field};
    for (size_t i = 0; i < view->in->n_parts; i++)
        visit_part(&view->in->parts[i], mark, &marker);
    for (size_t i = 0; i < view->in->n_notes; i++) {
        const struct sm_spot p = anchor_of(view, i);
        const double r = view->style->gap;
        sm_label_mark_box(&field, SM_LABEL_TAKEN, (struct sm_box){p.x - r, p.y - r, 2.0 * r, 2.0 * r});
    }
    sm_dimension_lay_out(view, &field);
    for (size_t i = 0; i < view->in->n_notes; i++)
        SM_TRY(place_text(view, &field, &view->notes[i].block, view->in->notes[i].text, anchor_of(view, i),
                          &view->notes[i].place, err));
    for (size_t i = 0; i < view->in->n_dimensions; i++) {
        struct sm_view_dimension *d = &view->dimensions[i];
        if (!d->place.found)
            SM_TRY(
                place_text(view, &field, &d->block, view->in->dimensions[i].text, d->anchor, &d->place, err));
    }
    return SM_OK;
}

/* ---- ink ---- */

static struct sm_colour fill_colour(const struct sm_draw_part *part)
{
    /* The places of orange, neutral and sky blue among the accents. */
    enum { NEUTRAL = 0, ORANGE = 5, SKY_BLUE = 6 };
    switch (part->fill) {
    case SM_FILL_PROPELLANT:
        return sm_palette_mix(sm_palette_accent(ORANGE), sm_palette_paper, 0.40);
    case SM_FILL_CASE:
        return sm_palette_mix(sm_palette_accent(NEUTRAL), sm_palette_paper, 0.50);
    case SM_FILL_INHIBITOR:
        return sm_palette_mix(sm_palette_accent(SKY_BLUE), sm_palette_paper, 0.60);
    case SM_FILL_TINT:
        return sm_palette_mix(sm_palette_accent(part->colour), sm_palette_paper, 0.30);
    case SM_FILL_NONE:
    case SM_FILL_VOID:
    default:
        return sm_palette_paper;
    }
}

static struct sm_colour line_colour(const struct sm_draw_part *part)
{
    const struct sm_colour full = part->colour > 0 ? sm_palette_accent(part->colour) : sm_palette_text;
    return sm_palette_mix(full, sm_palette_paper, 1.0 - part->fade);
}

/* Lines at 45 degrees over the whole area, kept inside the part. */
static void hatch(const struct sm_view *view, const struct sm_draw_part *part)
{
    struct sm_canvas *c = view->canvas;
    const struct sm_box *a = &view->area;
    const double apart = 14.0 * view->style->scale; /* along the foot; 10 across the lines */
    trace_part(view, part);
    sm_canvas_clip(c);
    sm_canvas_colour(c, sm_palette_mix(line_colour(part), fill_colour(part), 0.5), 1.0);
    sm_canvas_pen(c, view->style->scale, SM_STROKE_SOLID);
    const int lines = (int)ceil((a->w + a->h) / apart);
    for (int k = 0; k < lines; k++) {
        const double x = a->x - a->h + k * apart;
        sm_canvas_move(c, x, a->y + a->h);
        sm_canvas_line(c, x + a->h, a->y);
    }
    sm_canvas_stroke(c);
    sm_canvas_unclip(c);
}

static void paint_part(const struct sm_view *view, const struct sm_draw_part *part)
{
    struct sm_canvas *c = view->canvas;
    if (part->fill != SM_FILL_NONE) {
        sm_canvas_colour(c, fill_colour(part), 1.0);
        trace_part(view, part);
        sm_canvas_fill(c);
    }
    if (part->hatched)
        hatch(view, part);
    if (!part->no_outline) {
        const double width = part->width > 0.0 ? part->width : 2.0;
        sm_canvas_colour(c, line_colour(part), 1.0);
        sm_canvas_pen(c, width * view->style->scale, part->stroke);
        trace_part(view, part);
        sm_canvas_stroke(c);
    }
}

/* The text and its leader; a dot at the leader's end if wanted. */
static void paint_text(const struct sm_view *view, const struct sm_textblock *block,
                       const struct sm_label_search *place, struct sm_spot from, struct sm_colour ink,
                       bool has_dot)
{
    struct sm_canvas *c = view->canvas;
    const struct sm_box *b = &place->box;
    struct sm_spot to;
    if (place->crosses) {
        sm_canvas_colour(c, sm_palette_paper, has_dot ? 0.85 : 1.0);
        sm_canvas_rectangle(c, b->x - 2.0, b->y, b->w + 4.0, b->h);
        sm_canvas_fill(c);
    }
    sm_canvas_colour(c, ink, 1.0);
    if (leader_of(view, place, from, &to)) {
        sm_canvas_pen(c, (has_dot ? 1.2 : 0.8) * view->style->scale, SM_STROKE_SOLID);
        sm_canvas_move(c, from.x, from.y);
        sm_canvas_line(c, to.x, to.y);
        sm_canvas_stroke(c);
    }
    if (has_dot) {
        sm_canvas_disc(c, from.x, from.y, 3.5 * view->style->scale);
        sm_canvas_fill(c);
    }
    sm_textblock_draw(c, block, b->x, b->y, false);
}

static void paint_texts(const struct sm_view *view)
{
    for (size_t i = 0; i < view->in->n_notes; i++) {
        const int colour = view->in->notes[i].colour;
        paint_text(view, &view->notes[i].block, &view->notes[i].place, anchor_of(view, i),
                   colour > 0 ? sm_palette_ink(colour) : sm_palette_text, true);
    }
    for (size_t i = 0; i < view->in->n_dimensions; i++)
        paint_text(view, &view->dimensions[i].block, &view->dimensions[i].place, view->dimensions[i].anchor,
                   sm_palette_ink(SM_DIMENSION_COLOUR), false);
}

void sm_view_paint(const struct sm_view *view)
{
    for (size_t i = 0; i < view->in->n_parts; i++)
        paint_part(view, &view->in->parts[i]);
    sm_dimension_paint(view);
    paint_texts(view);
    sm_canvas_colour(view->canvas, sm_palette_text, 1.0);
    sm_textblock_draw(view->canvas, &view->title, view->cell.x + 0.5 * (view->cell.w - view->title.width),
                      view->cell.y, true);
}

/* ---- the scale bar ---- */

static const char *length_text(char *buf, size_t size, double length)
{
    static const struct {
        double from, unit; /* [m] */
        const char *name;
    } units[] = {{0.9999, 1.0, "m"}, {0.9999e-4, 1e-3, "mm"}, {0.0, 1e-6, "\u00b5m"}};
    size_t i = 0;
    while (length < units[i].from)
        i++;
    sm_text_format(buf, size, "%.6g\u00a0%s", length / units[i].unit, units[i].name);
    return buf;
}

double sm_view_bar_height(const struct sm_style *style)
{
    return 1.3 * style->label + style->tick_length;
}

void sm_view_paint_bar(const struct sm_view *view, double near, double x, double y)
{
    struct sm_canvas *c = view->canvas;
    const struct sm_style *s = view->style;
    /* Between half and five quarters of the wish. */
    const double length = sm_ticks_round_up(0.5 * near / view->scale);
    const double end = x + length * view->scale, middle = y - 0.5 * s->tick_length;
    const struct sm_font font = {s->label, false};
    char text[40];
    length_text(text, sizeof text, length);
    sm_canvas_colour(c, sm_palette_axis, 1.0);
    sm_canvas_pen(c, s->rule, SM_STROKE_SOLID);
    sm_canvas_move(c, x, y - s->tick_length);
    sm_canvas_line(c, x, y);
    sm_canvas_move(c, end, y - s->tick_length);
    sm_canvas_line(c, end, y);
    sm_canvas_move(c, x, middle);
    sm_canvas_line(c, end, middle);
    sm_canvas_stroke(c);
    sm_canvas_colour(c, sm_palette_text, 1.0);
    sm_canvas_text(c, x, y - s->tick_length - 0.35 * s->label, font, text);
}
