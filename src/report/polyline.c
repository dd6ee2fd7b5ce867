#include "report/polyline.h"

#include <math.h>

#include "base/fail.h"

/* Far outside any picture, yet small enough for a column number. */
static const double far_away = 1e9; /* [px] */
static const double pi = 3.14159265358979323846;

/* The samples met in one column, in order of arrival. */
struct column {
    bool is_open;
    long place;
    size_t n, at_low, at_high; /* how many; which were lowest and highest */
    struct sm_spot first, low, high, last;
};

/* Directions in which a line from the last point kept passes within the tolerance of all points since. */
struct sleeve {
    bool has_anchor, has_end;
    struct sm_spot anchor, end; /* last point kept; last that could be the next */
    double reach;               /* from anchor to end [px] */
    double middle;              /* direction of the first point since [rad] */
    double lo, hi;              /* about that direction [rad] */
};

struct sm_thinning {
    double tolerance; /* [px] */
    struct column column;
    struct sleeve sleeve;
};

void sm_polyline_begin(struct sm_polyline *line, struct sm_arena *arena, double tolerance)
{
    *line = (struct sm_polyline){.arena = arena};
    line->work = sm_arena_alloc(arena, 1, sizeof *line->work);
    line->is_out_of_memory = !line->work;
    if (line->work)
        line->work->tolerance = tolerance;
}

static void keep(struct sm_polyline *line, struct sm_spot p)
{
    struct sm_spot *room =
        sm_arena_grow(line->arena, line->points, line->n, &line->capacity, line->n + 1, sizeof *room);
    if (!room) {
        line->is_out_of_memory = true;
        return;
    }
    line->points = room;
    line->points[line->n++] = p;
}

static void end_sleeve(struct sm_polyline *line)
{
    struct sleeve *s = &line->work->sleeve;
    if (s->has_end)
        keep(line, s->end);
    s->has_anchor = s->has_end = false;
}

/* Does the next point lie straight on? Narrows the sleeve if so. */
static bool fit_sleeve(struct sleeve *s, struct sm_spot p, double tolerance)
{
    const double reach = hypot(p.x - s->anchor.x, p.y - s->anchor.y);
    if (reach <= tolerance)
        return !s->has_end;
    const double half = asin(fmin(1.0, tolerance / reach)),
                 direction = atan2(p.y - s->anchor.y, p.x - s->anchor.x);
    if (!s->has_end || s->reach <= tolerance) {
        s->middle = direction;
        s->lo = -half;
        s->hi = half;
        s->reach = reach;
        return true;
    }
    const double off = remainder(direction - s->middle, 2.0 * pi);
    if (reach < s->reach || off < s->lo || off > s->hi)
        return false;
    s->lo = fmax(s->lo, off - half);
    s->hi = fmin(s->hi, off + half);
    s->reach = reach;
    return true;
}

static void straighten(struct sm_polyline *line, struct sm_spot p)
{
    struct sleeve *s = &line->work->sleeve;
    if (!s->has_anchor || line->work->tolerance <= 0.0) {
        keep(line, p);
        *s = (struct sleeve){.has_anchor = true, .anchor = p};
        return;
    }
    if (!fit_sleeve(s, p, line->work->tolerance)) {
        keep(line, s->end);
        *s = (struct sleeve){.has_anchor = true, .anchor = s->end};
        fit_sleeve(s, p, line->work->tolerance);
    }
    s->has_end = true;
    s->end = p;
}

/* First, lowest, highest and last of the column, each once, in order of arrival. */
static void flush(struct sm_polyline *line)
{
    struct column *c = &line->work->column;
    if (!c->is_open)
        return;
    const bool low_first = c->at_low < c->at_high;
    const size_t order[] = {0, low_first ? c->at_low : c->at_high, low_first ? c->at_high : c->at_low,
                            c->n - 1};
    const struct sm_spot points[] = {c->first, low_first ? c->low : c->high, low_first ? c->high : c->low,
                                     c->last};
    for (size_t i = 0; i < SM_COUNT(points); i++)
        if (i == 0 || order[i] > order[i - 1])
            straighten(line, points[i]);
    c->is_open = false;
}

void sm_polyline_add(struct sm_polyline *line, struct sm_spot p)
{
    if (line->is_out_of_memory)
        return;
    struct column *c = &line->work->column;
    p.x = fmax(-far_away, fmin(far_away, p.x));
    p.y = fmax(-far_away, fmin(far_away, p.y));
    const long place = lrint(floor(p.x));
    if (c->is_open && c->place != place)
        flush(line);
    if (!c->is_open) {
        *c = (struct column){true, place, 1, 0, 0, p, p, p, p};
        return;
    }
    if (p.y < c->low.y) {
        c->low = p;
        c->at_low = c->n;
    }
    if (p.y > c->high.y) {
        c->high = p;
        c->at_high = c->n;
    }
    c->last = p;
    c->n++;
}

void sm_polyline_break(struct sm_polyline *line)
{
    if (line->is_out_of_memory)
        return;
    flush(line);
    end_sleeve(line);
    if (line->n > 0 && !isnan(line->points[line->n - 1].x))
        keep(line, (struct sm_spot){SM_NAN, SM_NAN});
}

bool sm_polyline_end(struct sm_polyline *line)
{
    if (!line->is_out_of_memory) {
        flush(line);
        end_sleeve(line);
    }
    return !line->is_out_of_memory;
}

const struct sm_spot *sm_polyline_piece(const struct sm_polyline *line, size_t *at, size_t *count)
{
    while (*at < line->n && isnan(line->points[*at].x))
        ++*at;
    const size_t first = *at;
    for (*count = 0; *at < line->n && !isnan(line->points[*at].x); ++*count)
        ++*at;
    return *count > 0 ? line->points + first : NULL;
}

/* One side of the box: keeps of the parameter range [t0, t1] what satisfies t * step <= room. */
static bool keep_inside(double step, double room, double *t0, double *t1)
{
    if (step == 0.0)
        return room >= 0.0;
    const double t = room / step;
    if (step < 0.0)
        *t0 = fmax(*t0, t);
    else
        *t1 = fmin(*t1, t);
    return *t0 <= *t1;
}

bool sm_polyline_clip(const struct sm_box *box, struct sm_spot *a, struct sm_spot *b)
{
    const double dx = b->x - a->x, dy = b->y - a->y;
    double t0 = 0.0, t1 = 1.0;
    if (!keep_inside(-dx, a->x - box->x, &t0, &t1) || !keep_inside(dx, box->x + box->w - a->x, &t0, &t1) ||
        !keep_inside(-dy, a->y - box->y, &t0, &t1) || !keep_inside(dy, box->y + box->h - a->y, &t0, &t1))
        return false;
    const struct sm_spot from = *a;
    if (t1 < 1.0)
        *b = (struct sm_spot){from.x + t1 * dx, from.y + t1 * dy};
    if (t0 > 0.0)
        *a = (struct sm_spot){from.x + t0 * dx, from.y + t0 * dy};
    return true;
}
