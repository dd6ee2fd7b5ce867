#include "grain/contact.h"

#include <math.h>
#include <stdlib.h>

static const double LOOSE =
    1e-7; /* how far a contact may seem to be hidden or beyond an end, share of the size [1] */
static const double NEAREST = 1e-14; /* contacts nearer than this are one, share of the size [1] */

struct list {
    struct sm_arena *arena;
    const struct sm_fronts *fronts;
    double limit; /* [m] */
    double *w;    /* [m] */
    size_t n, room;
    bool is_short_of_memory;
};

static struct sm_point times(double k, struct sm_point a)
{
    return (struct sm_point){k * a.x, k * a.y};
}

static void keep(struct list *list, double w)
{
    if (!(w > NEAREST * list->fronts->size && w < list->limit))
        return;
    double *room = sm_arena_grow(list->arena, list->w, list->n, &list->room, list->n + 1, sizeof *room);
    if (!room) {
        list->is_short_of_memory = true;
        return;
    }
    list->w = room;
    list->w[list->n++] = w;
}

/* Is p, on the offset of a burning element, within the element's range? */
static bool is_within(const struct list *list, const struct sm_front *f, struct sm_point p)
{
    const struct sm_point d = sm_point_minus(p, f->base);
    const double slack = LOOSE * list->fronts->size;
    if (!f->is_arc) {
        const double t = sm_point_dot(d, f->u);
        return t >= -slack && t <= f->extent + slack;
    }
    const double place = sm_diamond(f->u, d), r = sqrt(sm_point_dot(d, d));
    return r <= slack || place <= f->extent + slack / r || place >= 4.0 - slack / r;
}

static void keep_at(struct list *list, int i, int j, struct sm_point p, double w)
{
    if (!(w > 0.0 && w < list->limit))
        return;
    const struct sm_front *a = &list->fronts->items[i], *b = &list->fronts->items[j];
    const bool is_endless = b->speed == 0.0 && (b->is_arc ? b->extent >= 4.0 : b->extent == 0.0);
    if (is_within(list, a, p) && (is_endless || is_within(list, b, p)) &&
        sm_front_is_clear(list->fronts, p, w, LOOSE * list->fronts->size, i, j))
        keep(list, w);
}

/* Two parallel lines that face each other meet all along. */
static void line_line(struct list *list, const struct sm_front *a, const struct sm_front *b)
{
    if (sm_point_dot(a->v, b->v) > -1.0 + 1e-12)
        return;
    const double gap = sm_point_dot(sm_point_minus(b->base, a->base), a->v);
    const double t0 = sm_point_dot(sm_point_minus(b->base, a->base), a->u),
                 t1 = t0 - b->extent; /* b runs the other way */
    if (fmin(t0, a->extent) > fmax(t1, 0.0))
        keep(list, 0.5 * gap);
}

/* The arc's point that moves against the line's normal n is at centre - sign n r(w), so w = h - sign r - w. */
static void line_arc(struct list *list, int i, int j)
{
    const struct sm_front *line = &list->fronts->items[i], *arc = &list->fronts->items[j];
    const double h = sm_point_dot(sm_point_minus(arc->base, line->base), line->v);
    const double w = 0.5 * (h - arc->sign * arc->radius);
    keep_at(list, i, j, sm_point_along(arc->base, -arc->sign * sm_front_radius(arc, w), line->v), w);
}

/* Points that move towards each other on the line of centres: outwards from both (way = 1), or back over each other's
 * centres (way = -1). */
static void arc_arc(struct list *list, int i, int j)
{
    const struct sm_front *a = &list->fronts->items[i], *b = &list->fronts->items[j];
    const struct sm_point d = sm_point_minus(b->base, a->base);
    const double distance = sqrt(sm_point_dot(d, d));
    for (int way = 1; way >= -1; way -= 2) {
        const double w = 0.5 * (way * distance - a->sign * a->radius - b->sign * b->radius);
        if (distance > 0.0)
            keep_at(list, i, j, sm_point_along(a->base, way * a->sign * sm_front_radius(a, w) / distance, d),
                    w);
        else if (way == 1)
            keep(list, w);
    }
}

static void burning_pair(struct list *list, int i, int j)
{
    const struct sm_front *a = &list->fronts->items[i], *b = &list->fronts->items[j];
    if (j == a->before || j == a->after)
        return;
    if (a->is_arc && b->is_arc)
        arc_arc(list, i, j);
    else if (!a->is_arc && !b->is_arc)
        line_line(list, a, b);
    else
        line_arc(list, a->is_arc ? j : i, a->is_arc ? i : j);
}

/* Touching a straight wall whose inward normal is v: by the point that moves towards it, or by that which moves away. */
static void with_line_wall(struct list *list, int i, int j)
{
    const struct sm_front *f = &list->fronts->items[i], *wall = &list->fronts->items[j];
    const double h = sm_point_dot(sm_point_minus(f->base, wall->base), wall->v);
    if (!f->is_arc) {
        if (sm_point_dot(f->v, wall->v) < -1.0 + 1e-12)
            keep(list, h);
        return;
    }
    for (int way = 1; way >= -1; way -= 2) {
        const double w = way * h - f->sign * f->radius;
        keep_at(list, i, j, sm_point_along(f->base, -way * f->sign * sm_front_radius(f, w), wall->v), w);
    }
}

/* Touching a round wall from inside: where a front reaches it first, and where it leaves the last of it. */
static void with_arc_wall(struct list *list, int i, int j)
{
    const struct sm_front *f = &list->fronts->items[i], *wall = &list->fronts->items[j];
    const struct sm_point d = sm_point_minus(f->base, wall->base);
    if (!f->is_arc) {
        const double w = wall->radius - sm_point_dot(d, f->v);
        keep_at(list, i, j, sm_point_along(wall->base, wall->radius, f->v), w);
        return;
    }
    const double distance = sqrt(sm_point_dot(d, d));
    for (int way = 1; way >= -1; way -= 2) {
        const double w = wall->radius - way * distance - f->sign * f->radius;
        if (distance > 0.0)
            keep_at(list, i, j, sm_point_along(wall->base, wall->radius, times(way / distance, d)), w);
        else if (way == 1)
            keep(list, w);
    }
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void sort_and_thin(struct list *list)
{
    if (list->n == 0)
        return;
    qsort(list->w, list->n, sizeof *list->w, rising);
    size_t kept = 1;
    for (size_t i = 1; i < list->n; i++)
        if (list->w[i] - list->w[kept - 1] > NEAREST * list->fronts->size)
            list->w[kept++] = list->w[i];
    list->n = kept;
}

enum sm_status sm_contacts_find(struct sm_arena *arena, const struct sm_fronts *fronts, double limit,
                                double **w, size_t *n, struct sm_error *err)
{
    struct list list = {.arena = arena, .fronts = fronts, .limit = limit};
    for (int i = 0; i < fronts->n_burning; i++) {
        if (fronts->items[i].is_arc && fronts->items[i].sign < 0.0)
            keep(&list, fronts->items[i].radius);
        for (int j = i + 1; j < fronts->n_burning; j++)
            burning_pair(&list, i, j);
        for (int j = fronts->n_burning; j < fronts->n_walls; j++)
            if (fronts->items[j].is_arc)
                with_arc_wall(&list, i, j);
            else
                with_line_wall(&list, i, j);
    }
    if (list.is_short_of_memory)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    sort_and_thin(&list);
    *w = list.w;
    *n = list.n;
    return SM_OK;
}
