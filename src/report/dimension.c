/* Dimensions of a drawing: arrows, the lines that lead to them, and where their texts belong. */
#include <math.h>

#include "report/view.h"

static const double pi = 3.14159265358979323846;

/* Sizes on a page of 1200 by 800 [px]. */
static const double arrow = 10.0, arrow_half = 2.6; /* length and half of the width of a head */
static const double tail = 14.0;                    /* of a line that comes from without, behind its head */
static const double overshoot = 4.0;                /* of lines that lead to arrows */
static const double least_inside = 26.0;            /* between arrows that point outwards */

static bool stands_clear(const struct sm_draw_dimension *d)
{
    return d->form == SM_MEASURE_LENGTH && d->side != SM_SIDE_HERE;
}

static double span_of(const struct sm_draw_dimension *d)
{
    return d->side == SM_SIDE_LEFT ? fabs(d->by - d->ay) : fabs(d->bx - d->ax);
}

/* From one level to the next: room for a text over its line. */
static double level_height(const struct sm_view *view)
{
    return 1.7 * view->style->label;
}

/* Each side's shorter ones stand nearer; of equal ones the first. Returned: how many there are on that side. */
static size_t set_levels(struct sm_view *view, enum sm_draw_side side)
{
    size_t n = 0;
    for (size_t i = 0; i < view->in->n_dimensions; i++) {
        const struct sm_draw_dimension *d = &view->in->dimensions[i];
        if (d->form != SM_MEASURE_LENGTH || d->side != side)
            continue;
        size_t level = 1;
        for (size_t j = 0; j < view->in->n_dimensions; j++) {
            const struct sm_draw_dimension *other = &view->in->dimensions[j];
            const bool is_shorter = span_of(other) < span_of(d) || (span_of(other) <= span_of(d) && j < i);
            level += j != i && other->form == SM_MEASURE_LENGTH && other->side == side && is_shorter;
        }
        view->dimensions[i].level = level;
        n++;
    }
    return n;
}

/* One that stands clear has its text on its line; the others' are broken between name and value. */
enum sm_status sm_dimension_set_texts(struct sm_view *view, double width, struct sm_error *err)
{
    const struct sm_style *s = view->style;
    const double step = level_height(view);
    double widest = 0.0; /* of the texts on the left [px] */
    for (size_t i = 0; i < view->in->n_dimensions; i++) {
        const struct sm_draw_dimension *in = &view->in->dimensions[i];
        const bool is_clear = stands_clear(in);
        struct sm_view_dimension *d = &view->dimensions[i];
        const struct sm_textblock_limits limits = {.font = {0.9 * s->label, false},
                                                   .smallest = 0.65 * s->label,
                                                   .max_width = (is_clear ? 0.4 : 0.25) * width,
                                                   .max_lines = is_clear ? 1 : 2};
        SM_TRY(sm_textblock_make(&d->block, view->canvas, view->arena, in->text, &limits, err));
        view->n_aside += is_clear ? 0 : 1;
        if (!is_clear)
            view->side = fmax(view->side, d->block.width + 3.0 * s->gap);
        else if (in->side == SM_SIDE_LEFT)
            widest = fmax(widest, d->block.width);
    }
    view->above = step * (double)set_levels(view, SM_SIDE_ABOVE);
    view->below = step * (double)set_levels(view, SM_SIDE_BELOW);
    const size_t n_left = set_levels(view, SM_SIDE_LEFT);
    view->left = n_left > 0 ? widest + s->gap + step * (double)(n_left - 1) : 0.0;
    return SM_OK;
}

/* ---- lines on the page ---- */

static struct sm_spot between(struct sm_spot a, struct sm_spot b, double share)
{
    return (struct sm_spot){a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)};
}

/* A point so many px beyond b, seen from a; to the right of it if they are one. */
static struct sm_spot beyond(struct sm_spot a, struct sm_spot b, double px)
{
    const double length = hypot(b.x - a.x, b.y - a.y);
    return length > 0.0 ? between(a, b, 1.0 + px / length) : (struct sm_spot){b.x + px, b.y};
}

/* Its text stands on its line, or beside it if it has no room there; if there is none either, on the line with the arrows coming
 * from without. */
static void place_clear(const struct sm_view *view, struct sm_view_dimension *d)
{
    const double scale = view->style->scale, gap = view->style->gap, w = d->block.width, h = d->block.height;
    const double length = fabs(d->b.x - d->a.x), right = fmax(d->a.x, d->b.x), left = fmin(d->a.x, d->b.x);
    const double off = length < least_inside * scale ? (arrow + tail) * scale : 0.0;
    /* An upright line's text stands clear of the leaders that run out near its middle, and of the arrow at its end. */
    const double upright = fabs(d->b.y - d->a.y), clear = 0.5 * h + arrow * scale + gap;
    struct sm_spot middle =
        between(d->a, d->b, length > 0.0 || upright < 2.0 * clear ? 0.5 : fmax(0.15, clear / upright));
    if (length > 0.0 && length < w + 2.0 * arrow * scale + gap) {
        const double end = view->area.x + view->area.w;
        if (right + off + gap + w <= end)
            middle.x = right + off + gap + 0.5 * w;
        else if (left - off - gap - w >= view->area.x)
            middle.x = left - off - gap - 0.5 * w;
        else {
            middle.x = fmax(fmin(middle.x, end - 0.5 * w), view->area.x + 0.5 * w);
            d->is_outside = true;
        }
    }
    d->place.box = (struct sm_box){middle.x - 0.5 * w, middle.y - 0.5 * h, w, h};
    d->place.found = d->block.n > 0;
    d->place.crosses = true; /* the line runs behind it */
}

static void lay_out_clear(const struct sm_view *view, const struct sm_draw_dimension *in,
                          struct sm_view_dimension *d)
{
    const double off = (double)d->level * level_height(view) - 0.3 * view->style->label;
    const struct sm_spot low = sm_view_to_page(view, view->extent.x0, view->extent.y0),
                         high = sm_view_to_page(view, view->extent.x1, view->extent.y1);
    d->foot[0] = d->a;
    d->foot[1] = d->b;
    if (in->side == SM_SIDE_LEFT)
        d->a.x = d->b.x =
            low.x - view->style->gap - 0.5 * d->block.width - (double)(d->level - 1) * level_height(view);
    else
        d->a.y = d->b.y = in->side == SM_SIDE_ABOVE ? high.y - off : low.y + off;
    place_clear(view, d);
}

/* The arc lies at a's distance from the apex, or a little further out so that its arrows have room. */
static void lay_out_angle(const struct sm_view *view, const struct sm_draw_dimension *in,
                          struct sm_view_dimension *d)
{
    const struct sm_spot c = sm_view_to_page(view, in->cx, in->cy);
    d->centre = c;
    d->from = atan2(d->a.y - c.y, d->a.x - c.x);
    d->to = atan2(d->b.y - c.y, d->b.x - c.x);
    if (d->to > d->from)
        d->to -= 2.0 * pi;
    d->radius = hypot(d->a.x - c.x, d->a.y - c.y);
    d->is_outside = d->radius * (d->from - d->to) < least_inside * view->style->scale;
    d->foot[0] = d->foot[1] = c;
    d->a = (struct sm_spot){c.x + d->radius * cos(d->from), c.y + d->radius * sin(d->from)};
    d->b = (struct sm_spot){c.x + d->radius * cos(d->to), c.y + d->radius * sin(d->to)};
    const double middle = 0.5 * (d->from + d->to);
    d->anchor = (struct sm_spot){c.x + d->radius * cos(middle), c.y + d->radius * sin(middle)};
}

static void lay_out_straight(const struct sm_view *view, const struct sm_draw_dimension *in,
                             struct sm_view_dimension *d)
{
    const double scale = view->style->scale, length = hypot(d->b.x - d->a.x, d->b.y - d->a.y);
    d->foot[0] = d->a;
    d->foot[1] = d->b;
    d->is_outside = false;
    if (stands_clear(in))
        lay_out_clear(view, in, d);
    d->is_outside =
        d->is_outside || length < (in->form == SM_MEASURE_RADIUS ? 1.6 * arrow : least_inside) * scale;
    d->centre = in->form == SM_MEASURE_CIRCLE ? between(d->a, d->b, 0.5) : d->a;
    /* Diameters through one centre are told apart away from it. */
    d->anchor = between(d->a, d->b, in->form == SM_MEASURE_CIRCLE ? 0.82 : 0.5);
    if (d->is_outside && in->form == SM_MEASURE_RADIUS)
        d->anchor = beyond(d->b, d->a, fmax(0.0, (arrow + tail) * scale - length));
    else if (d->is_outside)
        d->anchor = beyond(d->a, d->b, (arrow + tail) * scale);
    if (d->place.found)
        d->anchor =
            (struct sm_spot){d->place.box.x + 0.5 * d->place.box.w, d->place.box.y + 0.5 * d->place.box.h};
}

/* Visits the straight lines that make a dimension up, arcs in pieces. */
typedef void line_fn(void *user, struct sm_spot a, struct sm_spot b);

static void visit_lines(const struct sm_view *view, size_t i, line_fn *line, void *user)
{
    enum { PIECES = 24 };
    const struct sm_draw_dimension *in = &view->in->dimensions[i];
    const struct sm_view_dimension *d = &view->dimensions[i];
    const double scale = view->style->scale, more = (arrow + tail) * scale;
    if (in->form == SM_MEASURE_ANGLE || stands_clear(in)) {
        line(user, d->foot[0], beyond(d->foot[0], d->a, overshoot * scale));
        line(user, d->foot[1], beyond(d->foot[1], d->b, overshoot * scale));
    }
    if (in->form == SM_MEASURE_ANGLE) {
        const double wider = d->is_outside ? more / fmax(d->radius, 1.0) : 0.0;
        struct sm_spot last = {0.0, 0.0};
        for (int k = 0; k <= PIECES; k++) {
            const double t = d->from + wider + (d->to - d->from - 2.0 * wider) * k / PIECES;
            const struct sm_spot next = {d->centre.x + d->radius * cos(t), d->centre.y + d->radius * sin(t)};
            if (k > 0)
                line(user, last, next);
            last = next;
        }
    } else if (in->form == SM_MEASURE_RADIUS) {
        line(user, d->is_outside ? d->anchor : d->a, d->b);
    } else {
        line(user, d->is_outside ? beyond(d->b, d->a, more) : d->a,
             d->is_outside ? beyond(d->a, d->b, more) : d->b);
    }
}

static void mark_line(void *user, struct sm_spot a, struct sm_spot b)
{
    sm_label_mark_segment(user, sm_label_curve(1), a, b);
}

void sm_dimension_lay_out(struct sm_view *view, struct sm_label_field *field)
{
    for (size_t i = 0; i < view->in->n_dimensions; i++) {
        const struct sm_draw_dimension *in = &view->in->dimensions[i];
        struct sm_view_dimension *d = &view->dimensions[i];
        d->place.found = false;
        d->a = sm_view_to_page(view, in->ax, in->ay);
        d->b = sm_view_to_page(view, in->bx, in->by);
        if (in->form == SM_MEASURE_ANGLE)
            lay_out_angle(view, in, d);
        else
            lay_out_straight(view, in, d);
        visit_lines(view, i, mark_line, field);
        if (d->place.found)
            sm_label_mark_box(field, SM_LABEL_TAKEN, d->place.box);
    }
}

/* ---- ink ---- */

static void paint_line(void *user, struct sm_spot a, struct sm_spot b)
{
    struct sm_canvas *c = user;
    sm_canvas_move(c, a.x, a.y);
    sm_canvas_line(c, b.x, b.y);
    sm_canvas_stroke(c);
}

/* A head whose point is at p, flying in the direction of an angle on the page [rad]. */
static void paint_head(const struct sm_view *view, struct sm_spot p, double angle)
{
    const double scale = view->style->scale, back = arrow * scale, half = arrow_half * scale;
    const double ux = cos(angle), uy = sin(angle);
    struct sm_canvas *c = view->canvas;
    sm_canvas_move(c, p.x, p.y);
    sm_canvas_line(c, p.x - back * ux - half * uy, p.y - back * uy + half * ux);
    sm_canvas_line(c, p.x - back * ux + half * uy, p.y - back * uy - half * ux);
    sm_canvas_close(c);
    sm_canvas_fill(c);
}

static void paint_heads(const struct sm_view *view, size_t i)
{
    const struct sm_draw_dimension *in = &view->in->dimensions[i];
    const struct sm_view_dimension *d = &view->dimensions[i];
    const double flip = d->is_outside ? pi : 0.0;
    if (in->form == SM_MEASURE_ANGLE) {
        /* A head bends with its arc: it flies along the chord of its own length. */
        const double bend =
            0.5 * arrow * view->style->scale / fmax(d->radius, 1.0) * (d->is_outside ? -1.0 : 1.0);
        paint_head(view, d->a, d->from + 0.5 * pi - bend + flip);
        paint_head(view, d->b, d->to - 0.5 * pi + bend + flip);
        return;
    }
    const double along = atan2(d->b.y - d->a.y, d->b.x - d->a.x);
    if (in->form == SM_MEASURE_RADIUS) {
        paint_head(view, d->b, along);
        sm_canvas_disc(view->canvas, d->a.x, d->a.y, 1.8 * view->style->scale);
        sm_canvas_fill(view->canvas);
        return;
    }
    paint_head(view, d->a, along + pi + flip);
    paint_head(view, d->b, along + flip);
}

void sm_dimension_paint(const struct sm_view *view)
{
    struct sm_canvas *c = view->canvas;
    sm_canvas_colour(c, sm_palette_ink(SM_DIMENSION_COLOUR), 1.0);
    for (size_t i = 0; i < view->in->n_dimensions; i++) {
        const struct sm_view_dimension *d = &view->dimensions[i];
        if (view->in->dimensions[i].is_traced) {
            sm_canvas_pen(c, 0.8 * view->style->scale, SM_STROKE_DASHED);
            sm_canvas_disc(c, d->centre.x, d->centre.y, 0.5 * hypot(d->b.x - d->a.x, d->b.y - d->a.y));
            sm_canvas_stroke(c);
        }
        sm_canvas_pen(c, 0.8 * view->style->scale, SM_STROKE_SOLID);
        visit_lines(view, i, paint_line, c);
        paint_heads(view, i);
    }
}
