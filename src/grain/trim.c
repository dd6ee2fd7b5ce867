#include "grain/trim.h"

#include <math.h>
#include <string.h>

/* As shares of the figure's size. Points and distances are good to a few 1e-16 of it. */
static const double CLEARANCE = 1e-13; /* a front this much behind another still counts as in front */
static const double TIE = 1e-12;       /* cuts nearer than this are one */
static const double SLACK = 1e-9;      /* a meeting this far beyond an element's end is still looked at */
static const double WIDER =
    1e-6; /* a grazing cut is good to the root of a rounding only: look again this far out */

static const double PARALLEL = 1e-14; /* sine of an angle between lines that is none [1] */

struct sm_cut {
    double place; /* [m] or [1] */
    struct sm_end end;
    bool is_beyond; /* does it lie a little beyond the other element's end? */
};

enum { BOUND = -2 }; /* where the stretch seen before ended: something must hide it now */

double sm_diamond(struct sm_point u, struct sm_point d)
{
    const double c = sm_point_dot(u, d), s = sm_point_cross(u, d), sum = fabs(c) + fabs(s);
    if (!(sum > 0.0))
        return 0.0;
    if (s >= 0.0)
        return c >= 0.0 ? s / sum : 1.0 - c / sum;
    return c < 0.0 ? 2.0 - s / sum : 3.0 + c / sum;
}

/* The unit vector at a diamond angle from u. */
static struct sm_point undo_diamond(struct sm_point u, double place)
{
    double c, s;
    if (place < 2.0) {
        c = 1.0 - place;
        s = place < 1.0 ? place : 2.0 - place;
    } else {
        c = place - 3.0;
        s = place < 3.0 ? 2.0 - place : place - 4.0;
    }
    const double k = 1.0 / sqrt(c * c + s * s);
    c *= k;
    s *= k;
    return (struct sm_point){c * u.x - s * u.y, c * u.y + s * u.x};
}

double sm_front_radius(const struct sm_front *front, double w)
{
    return front->radius + front->sign * front->speed * w;
}

static struct sm_point line_base(const struct sm_front *front, double w)
{
    return sm_point_along(front->base, front->speed * w, front->v);
}

struct sm_point sm_front_point(const struct sm_front *front, double place, double w)
{
    if (front->is_arc)
        return sm_point_along(front->base, sm_front_radius(front, w), undo_diamond(front->u, place));
    return sm_point_along(line_base(front, w), place, front->u);
}

double sm_front_place(const struct sm_front *front, struct sm_point p)
{
    const struct sm_point d = sm_point_minus(p, front->base);
    if (!front->is_arc)
        return sm_point_dot(d, front->u);
    const double place = sm_diamond(front->u, d);
    return front->extent < 4.0 && place > 0.5 * (front->extent + 4.0) ? place - 4.0 : place;
}

static double slack_of(const struct sm_fronts *fronts, const struct sm_front *front, double w, double share)
{
    return front->is_arc ? share * fronts->size / sm_front_radius(front, w) : share * fronts->size;
}

/* ---- meetings of two offset curves ---- */

static int line_line(const struct sm_front *a, const struct sm_front *b, double w, struct sm_point out[2])
{
    const struct sm_point pa = line_base(a, w), d = sm_point_minus(line_base(b, w), pa);
    const double sine = sm_point_cross(a->u, b->u);
    if (fabs(sine) < PARALLEL)
        return 0;
    out[0] = sm_point_along(pa, sm_point_cross(d, b->u) / sine, a->u);
    return 1;
}

/* Root of the square of half a chord. What rounding may have left of zero is zero: else its root, 1e-8 of the figure, would
 * show at the instant of touching. The square was made from lengths up to reach, times the radius. */
static double half_chord(double square, double radius, double reach)
{
    return square > 1e-15 * radius * reach ? sqrt(square) : 0.0;
}

/* Root 0 comes first along the line. With a miss by no more than rounding, as at the instant of touching, both roots are
 * the touching point. */
static int line_circle(const struct sm_front *line, const struct sm_front *circle, double w, bool is_clamped,
                       struct sm_point out[2])
{
    const double r = sm_front_radius(circle, w);
    const struct sm_point p = line_base(line, w), d = sm_point_minus(circle->base, p);
    const double foot = sm_point_dot(d, line->u), height = sm_point_cross(line->u, d),
                 rest = (r - height) * (r + height);
    if (!(r > 0.0 && rest >= 0.0) && !is_clamped)
        return 0;
    const double half = half_chord(rest, r, r + fabs(foot) + fabs(height) + fabs(p.x) + fabs(p.y));
    out[0] = sm_point_along(p, foot - half, line->u);
    out[1] = sm_point_along(p, foot + half, line->u);
    return 2;
}

/* Root 0 lies on the left of the way from a's centre to b's. */
static int circle_circle(const struct sm_front *a, const struct sm_front *b, double w, bool is_clamped,
                         struct sm_point out[2])
{
    const double ra = sm_front_radius(a, w), rb = sm_front_radius(b, w);
    const struct sm_point d = sm_point_minus(b->base, a->base);
    const double d2 = sm_point_dot(d, d), distance = sqrt(d2);
    if (!(distance > 0.0))
        return 0;
    const double foot = 0.5 * (d2 + (ra - rb) * (ra + rb)) / distance, rest = (ra - foot) * (ra + foot);
    if (!(ra > 0.0 && rb > 0.0 && rest >= 0.0) && !is_clamped)
        return 0;
    const double half = half_chord(rest, ra, ra + (d2 + ra * ra + rb * rb) / distance);
    const struct sm_point e = {d.x / distance, d.y / distance}, left = {-e.y, e.x};
    const struct sm_point middle = sm_point_along(a->base, foot, e);
    out[0] = sm_point_along(middle, half, left);
    out[1] = sm_point_along(middle, -half, left);
    return 2;
}

/* Reckoned in one order whoever asks, so that both fronts of a corner get the same point to the last bit. */
static int meetings(const struct sm_fronts *fronts, int i, int j, double w, bool is_clamped,
                    struct sm_point out[2])
{
    const struct sm_front *a = &fronts->items[i], *b = &fronts->items[j];
    if (a->is_arc != b->is_arc)
        return a->is_arc ? line_circle(b, a, w, is_clamped, out) : line_circle(a, b, w, is_clamped, out);
    if (i > j) {
        const struct sm_front *swap = a;
        a = b;
        b = swap;
    }
    return a->is_arc ? circle_circle(a, b, w, is_clamped, out) : line_line(a, b, w, out);
}

int sm_front_meetings(const struct sm_fronts *fronts, int i, int j, double w, struct sm_point out[2])
{
    return meetings(fronts, i, j, w, false, out);
}

bool sm_front_are_twins(const struct sm_fronts *fronts, int i, int j)
{
    const struct sm_front *a = &fronts->items[i], *b = &fronts->items[j];
    const struct sm_point d = sm_point_minus(b->base, a->base);
    if (i == j || a->is_arc != b->is_arc)
        return false;
    return a->is_arc ? !(sm_point_dot(d, d) > 0.0) : fabs(sm_point_cross(a->u, b->u)) < PARALLEL;
}

double sm_front_overlap(const struct sm_fronts *fronts, int i, int j, double w)
{
    const struct sm_front *a = &fronts->items[i], *b = &fronts->items[j];
    if (!a->is_arc && !b->is_arc)
        return sm_front_are_twins(fronts, i, j)
                   ? sm_point_dot(sm_point_minus(line_base(b, w), line_base(a, w)), a->v)
                   : 1.0;
    if (a->is_arc && b->is_arc) {
        const double ra = sm_front_radius(a, w), rb = sm_front_radius(b, w);
        const struct sm_point d = sm_point_minus(b->base, a->base);
        const double d2 = sm_point_dot(d, d), twice = d2 + (ra - rb) * (ra + rb);
        return d2 > 0.0 ? ra * ra - 0.25 * twice * twice / d2 : ra - rb;
    }
    const struct sm_front *line = a->is_arc ? b : a, *circle = a->is_arc ? a : b;
    const double r = sm_front_radius(circle, w),
                 height = sm_point_cross(line->u, sm_point_minus(circle->base, line_base(line, w)));
    return (r - height) * (r + height);
}

/* ---- what hides a point ---- */

static bool is_within_arc(const struct sm_front *arc, struct sm_point d)
{
    return sm_point_cross(arc->u, d) >= 0.0 && sm_point_cross(d, arc->v) >= 0.0;
}

static bool is_near(struct sm_point a, struct sm_point b, double depth)
{
    const struct sm_point d = sm_point_minus(a, b);
    return sm_point_dot(d, d) < depth * depth;
}

/* Is p nearer than depth to a burning element, ends included? A corner (radius 0) hides all round. */
static bool hides(const struct sm_front *f, struct sm_point p, double depth)
{
    if (depth <= 0.0)
        return false;
    const struct sm_point d = sm_point_minus(p, f->base);
    if (!f->is_arc) {
        const double height = sm_point_dot(d, f->v);
        if (fabs(height) >= depth)
            return false;
        const double t = sm_point_dot(d, f->u), beyond = t < 0.0 ? t : t > f->extent ? t - f->extent : 0.0;
        return beyond == 0.0 || beyond * beyond + height * height < depth * depth;
    }
    const double d2 = sm_point_dot(d, d), outer = f->radius + depth, inner = f->radius - depth;
    if (d2 >= outer * outer || (inner > 0.0 && d2 <= inner * inner))
        return false;
    return f->radius == 0.0 || is_within_arc(f, d) ||
           is_near(p, sm_point_along(f->base, f->radius, f->u), depth) ||
           is_near(p, sm_point_along(f->base, f->radius, f->v), depth);
}

/* A round wall less than a whole circle has no say outside its sector. */
static bool is_outside(const struct sm_front *wall, struct sm_point p, double tolerance)
{
    const struct sm_point d = sm_point_minus(p, wall->base);
    if (!wall->is_arc)
        return sm_point_dot(d, wall->v) < -tolerance;
    const double r = wall->radius + tolerance;
    return sm_point_dot(d, d) > r * r && (wall->extent >= 4.0 || is_within_arc(wall, d));
}

bool sm_front_is_clear(const struct sm_fronts *fronts, struct sm_point p, double w, double tolerance,
                       int skip_a, int skip_b)
{
    for (int j = 0; j < fronts->n_burning; j++)
        if (j != skip_a && j != skip_b && hides(&fronts->items[j], p, fronts->items[j].speed * w - tolerance))
            return false;
    for (int j = fronts->n_burning; j < fronts->n_walls; j++)
        if (j != skip_a && j != skip_b && is_outside(&fronts->items[j], p, tolerance))
            return false;
    return true;
}

/* ---- trimming ---- */

enum sm_status sm_trimmer_init(struct sm_trimmer *trimmer, const struct sm_fronts *fronts,
                               struct sm_arena *arena, struct sm_error *err)
{
    const size_t n = (size_t)fronts->n;
    *trimmer = (struct sm_trimmer){.fronts = fronts, .arena = arena};
    trimmer->cuts = sm_arena_alloc(arena, 2 * n + 4, sizeof *trimmer->cuts);
    trimmer->alive = sm_arena_alloc(arena, n + 1, sizeof *trimmer->alive);
    trimmer->is_alive = sm_arena_alloc(arena, n + 1, 1);
    trimmer->near_by = sm_arena_alloc(arena, n + 1, sizeof *trimmer->near_by);
    trimmer->parts = sm_arena_alloc(arena, 2 * n + 4, sizeof *trimmer->parts);
    if (!trimmer->cuts || !trimmer->alive || !trimmer->is_alive || !trimmer->near_by || !trimmer->parts)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    return SM_OK;
}

enum sm_status sm_trim_whole(struct sm_trimmer *trimmer, struct sm_parts *out, struct sm_error *err)
{
    const struct sm_fronts *fronts = trimmer->fronts;
    *out = (struct sm_parts){.items = sm_arena_alloc(trimmer->arena, (size_t)fronts->n, sizeof *out->items)};
    if (!out->items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (int i = 0; i < fronts->n; i++)
        if (i < fronts->n_burning || i >= fronts->n_walls)
            out->items[out->n++] = (struct sm_part){
                .front = i, .from = {SM_OWN_END, 0}, .to = {SM_OWN_END, 1}, .hi = fronts->items[i].extent};
    out->n_burning = fronts->n_burning;
    return SM_OK;
}

/* Fronts with a part, and those that end one: the last of them may be too short to be kept, and yet hide. */
static void list_alive(struct sm_trimmer *t, const struct sm_parts *before)
{
    const int n = t->fronts->n_burning;
    memset(t->is_alive, 0, (size_t)n);
    for (int k = 0; k < before->n; k++) {
        const struct sm_part *part = &before->items[k];
        const int named[3] = {part->front, part->from.other, part->to.other};
        for (int m = 0; m < 3; m++)
            if (named[m] >= 0 && named[m] < n)
                t->is_alive[named[m]] = 1;
    }
    t->n_alive = 0;
    for (int i = 0; i < n; i++)
        if (t->is_alive[i])
            t->alive[t->n_alive++] = i;
}

/* Those alive that can touch or hide any point of front i at w. */
static void list_near(struct sm_trimmer *t, int i, double w)
{
    const struct sm_front *f = &t->fronts->items[i];
    int n = 0;
    for (int k = 0; k < t->n_alive; k++) {
        const int j = t->alive[k];
        const struct sm_front *g = &t->fronts->items[j];
        const struct sm_point d = sm_point_minus(g->hub, f->hub);
        const double limit = f->reach + g->reach + (f->speed + g->speed) * w;
        t->near_by[n] =
            j; /* written over if it is not near: which can't be foreseen, so nothing hangs on it */
        n += (int)(sm_point_dot(d, d) <= limit * limit) & (int)(j != i);
    }
    t->n_near = n;
}

/* Where cuts lie at the same place an own end comes first, then one that is not beyond the other's end, then the lower
 * number: the choice must not hang on the last bit. A bound comes last, and so does an own end in a corner that closes,
 * since the front is cut there as soon as it moves. */
static int rank_of(const struct sm_front *f, const struct sm_cut *cut)
{
    enum { LAST = 1 << 30 };
    if (cut->end.other == BOUND)
        return LAST;
    if (cut->end.other == SM_OWN_END)
        return f->corner[cut->end.root] >= 0 ? LAST - 1 : -1;
    return cut->is_beyond ? LAST / 2 + cut->end.other : cut->end.other;
}

static bool goes_before(const struct sm_front *f, const struct sm_cut *a, const struct sm_cut *b)
{
    const int rank_a = rank_of(f, a), rank_b = rank_of(f, b);
    return rank_a != rank_b ? rank_a < rank_b : a->end.root < b->end.root;
}

static int insert_cut(struct sm_cut *cuts, int n, struct sm_cut cut)
{
    int k = n;
    for (; k > 0 && cuts[k - 1].place > cut.place; k--)
        cuts[k] = cuts[k - 1];
    cuts[k] = cut;
    return n + 1;
}

static int cut_with(const struct sm_trimmer *t, const struct sm_part *span, int j, double w, int n)
{
    const struct sm_fronts *fronts = t->fronts;
    const struct sm_front *f = &fronts->items[span->front], *g = &fronts->items[j];
    if (j == f->before || j == f->after)
        return n;
    struct sm_point p[2];
    const int n_roots = meetings(fronts, span->front, j, w, false, p);
    for (int root = 0; root < n_roots; root++) {
        const double place = sm_front_place(f, p[root]);
        if (!(place >= span->lo && place <= span->hi))
            continue;
        bool is_beyond = false; /* a straight wall may be endless, with no extent; so is a whole circle */
        if (j < fronts->n_burning || (g->is_arc ? g->extent < 4.0 : g->extent > 0.0)) {
            const double other = sm_front_place(g, p[root]), slack = slack_of(fronts, g, w, SLACK);
            if (!(other >= -slack && other <= g->extent + slack))
                continue;
            is_beyond = other < 0.0 || other > g->extent;
        }
        n = insert_cut(t->cuts, n, (struct sm_cut){place, {j, root}, is_beyond});
    }
    return n;
}

/* The stretch seen before, a little wider, since an end may stand still. */
static struct sm_part widen(const struct sm_trimmer *t, const struct sm_part *span, double w)
{
    const struct sm_front *f = &t->fronts->items[span->front];
    const double slack = slack_of(t->fronts, f, w, WIDER);
    struct sm_part wide = *span;
    if (wide.from.other != SM_OWN_END) {
        wide.lo = fmax(wide.lo - slack, 0.0);
        wide.from.other = wide.lo > 0.0 ? BOUND : SM_OWN_END;
        wide.from.root = 0;
    }
    if (wide.to.other != SM_OWN_END) {
        wide.hi = fmin(wide.hi + slack, f->extent);
        wide.to.other = wide.hi < f->extent ? BOUND : SM_OWN_END;
        wide.to.root = 1;
    }
    return wide;
}

static int find_cuts(const struct sm_trimmer *t, const struct sm_part *span, double w)
{
    const struct sm_fronts *fronts = t->fronts;
    t->cuts[0] = (struct sm_cut){span->lo, span->from, false};
    t->cuts[1] = (struct sm_cut){span->hi, span->to, false};
    int n = 2;
    for (int k = 0; k < t->n_near; k++)
        n = cut_with(t, span, t->near_by[k], w, n);
    for (int j = fronts->n_burning; j < fronts->n_walls; j++)
        if (j != span->front)
            n = cut_with(t, span, j, w, n);
    return n;
}

/* The two ends of an arc that grows are never one: at a corner that hardly turns they are close together at first. */
static bool are_apart(const struct sm_front *f, const struct sm_cut *a, const struct sm_cut *b, double tie)
{
    return b->place - a->place > tie ||
           (f->sign * f->speed > 0.0 && a->end.other == SM_OWN_END && b->end.other == SM_OWN_END);
}

/* Cuts at one place become one. */
static int merge_cuts(const struct sm_front *f, struct sm_cut *cuts, int n, double tie)
{
    int kept = 0;
    for (int k = 1; k < n; k++) {
        if (are_apart(f, &cuts[kept], &cuts[k], tie)) {
            cuts[++kept] = cuts[k];
        } else if (goes_before(f, &cuts[k], &cuts[kept])) {
            cuts[kept].end = cuts[k].end;
            cuts[kept].is_beyond = cuts[k].is_beyond;
        }
    }
    return kept + 1;
}

/* How near a point of front i must be to element j to be hidden by it. Where fronts of two voids lie on each other, that
 * of the lower number is seen. */
static double hiding_depth(const struct sm_trimmer *t, int i, int j, double w)
{
    const double clearance = CLEARANCE * t->fronts->size, depth = t->fronts->items[j].speed * w;
    const bool goes_first = t->owner && i < t->fronts->n_burning && t->owner[j] < t->owner[i];
    return goes_first ? depth + clearance : depth - clearance;
}

static bool is_visible(struct sm_trimmer *t, int i, struct sm_point p, double w)
{
    const struct sm_fronts *fronts = t->fronts;
    for (int j = fronts->n_burning; j < fronts->n_walls; j++)
        if (j != i && is_outside(&fronts->items[j], p, CLEARANCE * fronts->size))
            return false;
    for (int k = 0; k < t->n_near; k++) {
        const int j = t->near_by[k];
        if (!hides(&fronts->items[j], p, hiding_depth(t, i, j, w)))
            continue;
        t->near_by[k] = t->near_by[0]; /* likely to hide the next point too */
        t->near_by[0] = j;
        return false;
    }
    return !t->is_void || !t->is_void(t->user, i < fronts->n_burning ? t->owner[i] : -1, p);
}

/* Between the own end in a corner that closes and the cut with the element beyond it lies what that element hides, however
 * little the corner turns. */
static bool is_in_corner(const struct sm_front *f, struct sm_end a, struct sm_end b)
{
    const struct sm_end own = a.other == SM_OWN_END ? a : b, other = a.other == SM_OWN_END ? b : a;
    return own.other == SM_OWN_END && other.other >= 0 && other.other == f->corner[own.root];
}

/* Appends the visible stretches of one span. Stretches that touch are one: what cuts there only grazes. */
static int trim_span(struct sm_trimmer *t, const struct sm_part *span, double w, int n_parts)
{
    const struct sm_front *f = &t->fronts->items[span->front];
    if (f->is_arc && sm_front_radius(f, w) <= TIE * t->fronts->size)
        return n_parts;
    const struct sm_part wide = widen(t, span, w);
    const int n = merge_cuts(f, t->cuts, find_cuts(t, &wide, w), slack_of(t->fronts, f, w, TIE));
    bool goes_on = false;
    for (int k = 0; k + 1 < n; k++) {
        const struct sm_cut *a = &t->cuts[k], *b = &t->cuts[k + 1];
        const bool seen = !is_in_corner(f, a->end, b->end) &&
                          is_visible(t, span->front, sm_front_point(f, 0.5 * (a->place + b->place), w), w);
        if (seen && goes_on) {
            t->parts[n_parts - 1].to = b->end;
            t->parts[n_parts - 1].hi = b->place;
        } else if (seen) {
            t->parts[n_parts++] = (struct sm_part){span->front, a->end, b->end, a->place, b->place};
        }
        goes_on = seen;
    }
    return n_parts;
}

enum sm_status sm_trim(struct sm_trimmer *t, double w, const struct sm_parts *before, struct sm_parts *out,
                       struct sm_error *err)
{
    t->n_trims++;
    list_alive(t, before);
    struct sm_parts found = {.items = NULL};
    size_t room = 0;
    for (int k = 0; k < before->n; k++) {
        const struct sm_part *span = &before->items[k];
        if (k == 0 || span->front != before->items[k - 1].front)
            list_near(t, span->front, w);
        const int n = trim_span(t, span, w, 0);
        struct sm_part *wider = sm_arena_grow(t->arena, found.items, (size_t)found.n, &room,
                                              (size_t)(found.n + n), sizeof *wider);
        if (!wider)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        found.items = wider;
        memcpy(found.items + found.n, t->parts, (size_t)n * sizeof *t->parts);
        found.n += n;
        if (span->front < t->fronts->n_burning)
            found.n_burning = found.n;
    }
    *out = found;
    return SM_OK;
}

bool sm_part_is_like(const struct sm_part *p, const struct sm_part *q)
{
    return p->front == q->front && p->from.other == q->from.other && p->from.root == q->from.root &&
           p->to.other == q->to.other && p->to.root == q->to.root;
}

bool sm_parts_alike(const struct sm_parts *a, const struct sm_parts *b)
{
    if (a->n != b->n)
        return false;
    for (int k = 0; k < a->n; k++)
        if (!sm_part_is_like(&a->items[k], &b->items[k]))
            return false;
    return true;
}

bool sm_parts_hold(const struct sm_parts *parts, const struct sm_part *part)
{
    for (int k = 0; k < parts->n; k++)
        if (sm_part_is_like(&parts->items[k], part))
            return true;
    return false;
}

/* ---- a part at another w ---- */

static struct sm_point normal_at(const struct sm_front *f, struct sm_point p, double radius)
{
    if (!f->is_arc)
        return f->v;
    const struct sm_point d = sm_point_minus(p, f->base);
    const double k = f->sign / radius;
    return (struct sm_point){k * d.x, k * d.y};
}

static struct sm_point end_point(const struct sm_fronts *fronts, const struct sm_part *part, int which,
                                 double w)
{
    const struct sm_front *f = &fronts->items[part->front];
    const struct sm_end end = which == 0 ? part->from : part->to;
    if (end.other >= 0) {
        struct sm_point p[2];
        meetings(fronts, part->front, end.other, w, true, p);
        return p[end.root];
    }
    if (f->is_arc)
        return sm_point_along(f->base, sm_front_radius(f, w), which == 0 ? f->u : f->v);
    return sm_point_along(line_base(f, w), which == 0 ? 0.0 : f->extent, f->u);
}

void sm_part_ends(const struct sm_fronts *fronts, const struct sm_part *part, double w, struct sm_point p[2])
{
    p[0] = end_point(fronts, part, 0, w);
    p[1] = end_point(fronts, part, 1, w);
}

bool sm_part_is_even(const struct sm_fronts *fronts, const struct sm_part *part)
{
    const int ends[2] = {part->from.other, part->to.other};
    for (int k = 0; k < 2; k++)
        if (ends[k] >= 0 && (fronts->items[part->front].is_arc || fronts->items[ends[k]].is_arc))
            return false;
    return true;
}

static void place_end(const struct sm_fronts *fronts, const struct sm_part *part, int which, double w,
                      struct sm_cut_part *out)
{
    const struct sm_front *f = &fronts->items[part->front];
    const struct sm_end end = which == 0 ? part->from : part->to;
    const struct sm_point own = which == 0 ? f->u : f->v;
    out->p[which] = end_point(fronts, part, which, w);
    if (f->is_arc && end.other < 0) /* its direction is known even at radius zero */
        out->normal[which] = (struct sm_point){f->sign * own.x, f->sign * own.y};
    else
        out->normal[which] = normal_at(f, out->p[which], out->radius);
    const struct sm_point n = out->normal[which];
    out->tangent[which] = f->is_arc ? (struct sm_point){-f->sign * n.y, f->sign * n.x} : f->u;
}

static void run_end(const struct sm_fronts *fronts, const struct sm_part *part, int which, double w,
                    struct sm_cut_part *out)
{
    const struct sm_front *f = &fronts->items[part->front];
    const struct sm_end end = which == 0 ? part->from : part->to;
    const struct sm_point n = out->normal[which];
    out->run[which] = 0.0;
    if (end.other < 0)
        return;
    const struct sm_front *g = &fronts->items[end.other];
    const struct sm_point m = normal_at(g, out->p[which], sm_front_radius(g, w));
    const double t = (g->speed - f->speed * sm_point_dot(n, m)) / sm_point_dot(out->tangent[which], m);
    out->run[which] = which == 0 ? -t : t;
}

void sm_part_lie(const struct sm_fronts *fronts, const struct sm_part *part, double w,
                 struct sm_cut_part *out)
{
    const struct sm_front *f = &fronts->items[part->front];
    out->radius = f->is_arc ? sm_front_radius(f, w) : 0.0;
    place_end(fronts, part, 0, w, out);
    place_end(fronts, part, 1, w, out);
}

void sm_part_place(const struct sm_fronts *fronts, const struct sm_part *part, double w,
                   struct sm_cut_part *out)
{
    sm_part_lie(fronts, part, w, out);
    run_end(fronts, part, 0, w, out);
    run_end(fronts, part, 1, w, out);
}

double sm_part_sweep(struct sm_point e0, struct sm_point e1)
{
    const double cross = sm_point_cross(e0, e1), dot = sm_point_dot(e0, e1);
    if (dot > 0.0) /* most are: this takes half the time */
        return atan(cross / dot);
    const double angle = atan2(cross, dot);
    return angle > -M_PI_2 ? angle : angle + 2.0 * M_PI;
}
