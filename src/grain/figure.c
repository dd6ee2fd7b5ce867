#include "grain/figure.h"

#include <math.h>

static const double SMOOTH = 1e-8;   /* sine of a turn between two elements that is none [1] */
static const double UPRIGHT = 1e-13; /* of the turn where a chain ends on a wall [1] */
static const double ON_WALL = 1e-9;  /* share of the size within which a point lies on a wall [1] */

struct maker {
    const struct sm_figure *figure;
    struct sm_fronts *out;
    double near; /* [m] */
    struct sm_error *err;
};

/* To the right of the way lies propellant. */
static struct sm_point right_of(struct sm_point t)
{
    return (struct sm_point){t.y, -t.x};
}

static struct sm_front *add(struct maker *m, struct sm_front front)
{
    front.before = front.after = front.corner[0] = front.corner[1] = -1;
    struct sm_front *f = &m->out->items[m->out->n++];
    *f = front;
    return f;
}

static void add_line(struct maker *m, const struct sm_edge *edge)
{
    const double length = sm_edge_length(edge);
    const struct sm_point u = sm_edge_direction(edge, false);
    add(m, (struct sm_front){.speed = 1.0,
                             .extent = length,
                             .base = edge->a,
                             .u = u,
                             .v = right_of(u),
                             .hub = {0.5 * (edge->a.x + edge->b.x), 0.5 * (edge->a.y + edge->b.y)},
                             .reach = 0.5 * length});
}

static struct sm_point unit_from(struct sm_point centre, struct sm_point p)
{
    const double x = p.x - centre.x, y = p.y - centre.y, r = hypot(x, y);
    return (struct sm_point){x / r, y / r};
}

static struct sm_point between(struct sm_point a, struct sm_point b)
{
    const double x = a.x + b.x, y = a.y + b.y, r = hypot(x, y);
    return r > 1e-3 ? (struct sm_point){x / r, y / r}
                    : (struct sm_point){-a.y, a.x}; /* half a turn: a quarter on */
}

static void link(struct maker *m, int a, int b);

/* An arc from direction u anticlockwise to v, in two if it is more than half a turn: then no angle of a part is in
 * doubt. is_backward: the second half is walked first, so it is listed first. */
static void add_halved(struct maker *m, struct sm_front arc, double sweep, bool is_backward)
{
    if (sweep <= M_PI * (1.0 + 1e-12)) {
        arc.extent = sm_diamond(arc.u, arc.v);
        add(m, arc);
        return;
    }
    struct sm_point middle = between(arc.u, arc.v); /* of the short way round */
    middle =
        sweep < 2.0 * M_PI ? (struct sm_point){-middle.x, -middle.y} : (struct sm_point){-arc.u.x, -arc.u.y};
    struct sm_front halves[2] = {arc, arc};
    halves[0].v = halves[1].u = middle;
    for (int k = 0; k < 2; k++) {
        struct sm_front *half = &halves[is_backward ? 1 - k : k];
        half->extent = sm_diamond(half->u, half->v);
        add(m, *half);
    }
    link(m, m->out->n - 2, m->out->n - 1);
}

/* Walked clockwise an arc has propellant inside, and its start as an element, which goes anticlockwise, is its end. */
static void add_arc(struct maker *m, const struct sm_edge *edge)
{
    const bool grows = edge->turn > 0;
    const bool is_whole = edge->a.x == edge->b.x && edge->a.y == edge->b.y;
    const struct sm_front arc = {.is_arc = true,
                                 .speed = 1.0,
                                 .sign = grows ? 1.0 : -1.0,
                                 .radius = edge->radius,
                                 .base = edge->centre,
                                 .u = unit_from(edge->centre, grows ? edge->a : edge->b),
                                 .v = unit_from(edge->centre, grows ? edge->b : edge->a),
                                 .hub = edge->centre,
                                 .reach = edge->radius};
    add_halved(m, arc, is_whole ? 2.0 * M_PI : sm_edge_sweep(edge), !grows);
}

/* The arc of radius zero at a corner, from direction u to v anticlockwise. */
static void add_corner(struct maker *m, struct sm_point p, struct sm_point u, struct sm_point v)
{
    add(m, (struct sm_front){.is_arc = true,
                             .speed = 1.0,
                             .sign = 1.0,
                             .extent = sm_diamond(u, v),
                             .base = p,
                             .u = u,
                             .v = v,
                             .hub = p});
}

/* Makes a and b neighbours, which never cut each other. */
static void link(struct maker *m, int a, int b)
{
    struct sm_front *fa = &m->out->items[a], *fb = &m->out->items[b];
    *(fa->after < 0 ? &fa->after : &fa->before) = b;
    *(fb->before < 0 ? &fb->before : &fb->after) = a;
}

/* Makes a and b neighbours across a corner that closes: a's end on the way, b's start. */
static void close_corner(struct maker *m, int a, int b)
{
    struct sm_front *fa = &m->out->items[a], *fb = &m->out->items[b];
    fa->corner[fa->is_arc && fa->sign < 0.0 ? 0 : 1] = b;
    fb->corner[fb->is_arc && fb->sign < 0.0 ? 1 : 0] = a;
}

/* Gives an arc that runs on smoothly the direction n, into the propellant, at its end or start on the way. */
static void aim_arc(struct sm_front *f, bool at_end, struct sm_point n)
{
    if (!f->is_arc)
        return;
    const struct sm_point e = {f->sign * n.x, f->sign * n.y};
    *(at_end == (f->sign > 0.0) ? &f->v : &f->u) = e;
    f->extent = sm_diamond(f->u, f->v);
}

/* Where two elements run into each other both fronts must part in one direction, however long they burn. That of a short arc is
 * known the less well, by a rounding over its radius, so the larger element's is taken for both. */
static void join_smoothly(struct maker *m, struct sm_point t0, struct sm_point t1, int a, int b)
{
    struct sm_front *fa = &m->out->items[a], *fb = &m->out->items[b];
    link(m, a, b);
    if (fa->reach >= fb->reach)
        aim_arc(fb, false, right_of(t0));
    else
        aim_arc(fa, true, right_of(t1));
}

/* The corner where the way turns from t0 to t1 between elements a and b; -1 for none, at a chain's end. */
static void turn_corner(struct maker *m, struct sm_point p, struct sm_point t0, struct sm_point t1, int a,
                        int b)
{
    const double sine = sm_point_cross(t0, t1);
    const bool is_end = a < 0 || b < 0;
    if (fabs(sine) < (is_end ? UPRIGHT : SMOOTH) && sm_point_dot(t0, t1) > 0.0) {
        if (!is_end)
            join_smoothly(m, t0, t1, a, b);
        return;
    }
    if (sine < 0.0) {
        if (!is_end)
            close_corner(m, a, b);
        return;
    }
    add_corner(m, p, right_of(t0), right_of(t1));
    const int corner = m->out->n - 1;
    if (a >= 0)
        link(m, a, corner);
    if (b >= 0)
        link(m, corner, b);
}

/* ---- where chains end ---- */

/* The wall that an open end stands on; NULL for none. */
static const struct sm_front *find_footing(const struct maker *m, struct sm_point p)
{
    for (int i = 0; i < m->figure->n_walls; i++) {
        const struct sm_front *wall = &m->figure->walls[i];
        const struct sm_point d = {p.x - wall->base.x, p.y - wall->base.y};
        const double off = wall->is_arc ? hypot(d.x, d.y) - wall->radius : sm_point_dot(d, wall->v);
        const double slack = wall->is_arc ? m->near / wall->radius : 0.0;
        const double place = wall->is_arc && wall->extent < 4.0 ? sm_front_place(wall, p) : 0.0;
        if (fabs(off) <= m->near && place >= -slack && place <= wall->extent + slack)
            return wall;
    }
    return NULL;
}

/* At a straight wall the way goes on as in a mirror, which makes a corner with the way straight over it; at a round one
 * the end burns all round, and the wall cuts what lies outside. */
static enum sm_status end_chain(struct maker *m, struct sm_point p, struct sm_point t, int element,
                                bool is_start)
{
    const struct sm_front *wall = find_footing(m, p);
    if (!wall)
        return sm_fail(m->err, SM_E_GEOMETRY, "the outline is open: it ends at %.6g mm, %.6g mm", 1e3 * p.x,
                       1e3 * p.y);
    if (wall->is_arc) {
        const struct sm_point n = right_of(t);
        if (is_start)
            add_corner(m, p, (struct sm_point){-t.x, -t.y}, n);
        else
            add_corner(m, p, n, t);
        link(m, element, m->out->n - 1);
        return SM_OK;
    }
    struct sm_point over = wall->v;
    if (sm_point_dot(over, t) < 0.0)
        over = (struct sm_point){-over.x, -over.y};
    if (is_start)
        turn_corner(m, p, over, t, -1, element);
    else
        turn_corner(m, p, t, over, element, -1);
    return SM_OK;
}

static enum sm_status add_chain(struct maker *m, const struct sm_chain *chain)
{
    const struct sm_edge *edges = m->figure->contour->edges + chain->first;
    const int first = m->out->n;
    int last = -1;
    for (size_t k = 0; k < chain->n; k++) {
        const int next = m->out->n;
        if (edges[k].turn == 0)
            add_line(m, &edges[k]);
        else
            add_arc(m, &edges[k]);
        const int end = m->out->n - 1;
        if (k > 0)
            turn_corner(m, edges[k].a, sm_edge_direction(&edges[k - 1], true),
                        sm_edge_direction(&edges[k], false), last, next);
        last = end;
    }
    const struct sm_edge *start = &edges[0], *end = &edges[chain->n - 1];
    const struct sm_point t0 = sm_edge_direction(start, false), t1 = sm_edge_direction(end, true);
    if (sm_chain_is_closed(m->figure->contour, chain)) {
        turn_corner(m, end->b, t1, t0, last, first);
        return SM_OK;
    }
    SM_TRY(end_chain(m, start->a, t0, first, true));
    return end_chain(m, end->b, t1, last, false);
}

/* ---- rims ---- */

struct landing {
    int rim;
    double place; /* along a line [m] or round an arc as a diamond angle [1] */
    struct sm_point at;
    bool is_start; /* of a chain: then propellant lies beyond it, else before it */
};

/* Lists a chain's end by its place on the rims; an end on another wall is left out. */
static int add_landing(const struct maker *m, struct landing *list, int n, struct sm_point p, bool is_start)
{
    for (int i = 0; i < m->figure->n_rims; i++) {
        const struct sm_front *rim = &m->figure->rims[i];
        const struct sm_point d = {p.x - rim->base.x, p.y - rim->base.y};
        const double off = rim->is_arc ? hypot(d.x, d.y) - rim->radius : sm_point_dot(d, rim->v);
        const double slack = rim->is_arc ? m->near / rim->radius : m->near;
        double place = rim->is_arc ? sm_diamond(rim->u, d) : sm_point_dot(d, rim->u);
        if (rim->is_arc && place > 4.0 - slack)
            place = 0.0;
        if (fabs(off) > m->near || place < -slack || place > rim->extent + slack)
            continue;
        int k = n;
        for (; k > 0 && (list[k - 1].rim > i || (list[k - 1].rim == i && list[k - 1].place > place)); k--)
            list[k] = list[k - 1];
        list[k] = (struct landing){i, place, p, is_start};
        return n + 1;
    }
    return n;
}

static double angle_between(struct sm_point from, struct sm_point to)
{
    const double angle = atan2(sm_point_cross(from, to), sm_point_dot(from, to));
    return angle > 0.0 ? angle : angle + 2.0 * M_PI;
}

/* The stretch of a rim from one point on it to another. */
static void add_rim(struct maker *m, const struct sm_front *rim, struct sm_point from, struct sm_point to,
                    bool is_whole)
{
    if (!rim->is_arc) {
        add(m, sm_rim_line(from, to));
        return;
    }
    struct sm_front arc = *rim;
    if (!is_whole) {
        arc.u = unit_from(rim->base, from);
        arc.v = unit_from(rim->base, to);
    }
    add_halved(m, arc, is_whole && rim->extent >= 4.0 ? 2.0 * M_PI : angle_between(arc.u, arc.v), false);
}

/* The stretches of rims that touch propellant: all, but for what lies between the ends of a chain. */
static enum sm_status add_rims(struct maker *m, const struct landing *list, int n)
{
    bool touches = n == 0 || !list[0].is_start;
    int k = 0;
    for (int i = 0; i < m->figure->n_rims; i++) {
        const struct sm_front *rim = &m->figure->rims[i];
        const bool is_whole = k == n || list[k].rim > i;
        struct sm_point from = sm_front_point(rim, 0.0, 0.0);
        for (; k < n && list[k].rim == i; k++) {
            if (touches == list[k].is_start)
                return sm_fail(
                    m->err, SM_E_GEOMETRY,
                    "the outline does not bound the propellant: it meets the outer wall the wrong way round");
            if (touches && list[k].place > 0.0)
                add_rim(m, rim, from, list[k].at, false);
            touches = list[k].is_start;
            from = list[k].at;
        }
        if (touches)
            add_rim(m, rim, from, sm_front_point(rim, rim->extent, 0.0), is_whole);
    }
    return SM_OK;
}

static enum sm_status find_rims(struct maker *m, struct sm_arena *arena)
{
    const struct sm_contour *contour = m->figure->contour;
    struct landing *list = sm_arena_alloc(arena, 2 * contour->n_chains + 1, sizeof *list);
    if (!list)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    int n = 0;
    for (size_t i = 0; i < contour->n_chains; i++) {
        const struct sm_chain *chain = &contour->chains[i];
        if (chain->n == 0 || sm_chain_is_closed(contour, chain))
            continue;
        n = add_landing(m, list, n, contour->edges[chain->first].a, true);
        n = add_landing(m, list, n, contour->edges[chain->first + chain->n - 1].b, false);
    }
    return add_rims(m, list, n);
}

/* ---- what must not be ---- */

/* Do two elements cross, other than where one's end meets the other's? */
static bool cross_each_other(const struct sm_fronts *fronts, int i, int j, struct sm_point *where)
{
    const struct sm_front *a = &fronts->items[i], *b = &fronts->items[j];
    const double near = ON_WALL * fronts->size;
    struct sm_point p[2];
    const int n = sm_front_meetings(fronts, i, j, 0.0, p);
    for (int k = 0; k < n; k++) {
        const double sa = a->is_arc ? a->radius : 1.0, sb = b->is_arc ? b->radius : 1.0;
        const double pa = sa * sm_front_place(a, p[k]), pb = sb * sm_front_place(b, p[k]);
        const double ea = a->extent < 4.0 || !a->is_arc ? sa * a->extent : SM_INF;
        const double eb = b->extent < 4.0 || !b->is_arc ? sb * b->extent : SM_INF;
        if (pa < -near || pa > ea + near || pb < -near || pb > eb + near)
            continue;
        const bool at_end_a = pa < near || pa > ea - near, at_end_b = pb < near || pb > eb - near;
        *where = p[k];
        if (!at_end_a || !at_end_b)
            return true;
    }
    return false;
}

/* The straight stretch that line b shares with line a, which is endless if its extent is none; *where is its middle. */
static bool lies_along(const struct sm_front *a, const struct sm_front *b, double near,
                       struct sm_point *where)
{
    const struct sm_point d0 = {b->base.x - a->base.x, b->base.y - a->base.y};
    const struct sm_point d1 = {d0.x + b->extent * b->u.x, d0.y + b->extent * b->u.y};
    if (fabs(sm_point_dot(d0, a->v)) > near || fabs(sm_point_dot(d1, a->v)) > near)
        return false;
    const double t0 = sm_point_dot(d0, a->u), t1 = sm_point_dot(d1, a->u),
                 end = a->extent > 0.0 ? a->extent : SM_INF;
    const double from = fmax(fmin(t0, t1), a->extent > 0.0 ? 0.0 : -SM_INF), to = fmin(fmax(t0, t1), end);
    *where =
        (struct sm_point){a->base.x + 0.5 * (from + to) * a->u.x, a->base.y + 0.5 * (from + to) * a->u.y};
    return to - from > near;
}

/* Does arc b lie upon arc a? Its middle or one of its ends does, then. */
static bool lies_round(const struct sm_front *a, const struct sm_front *b, double near,
                       struct sm_point *where)
{
    if (hypot(a->base.x - b->base.x, a->base.y - b->base.y) > near || fabs(a->radius - b->radius) > near)
        return false;
    *where = sm_front_point(b, 0.5 * b->extent, 0.0);
    const double slack = near / a->radius, place = sm_front_place(a, *where);
    return place > slack && place < a->extent - slack;
}

/* Does one of two elements lie upon the other? There the void would be of no width. */
static bool lie_upon_each_other(const struct sm_fronts *fronts, int i, int j, struct sm_point *where)
{
    const struct sm_front *a = &fronts->items[i], *b = &fronts->items[j];
    const double near = ON_WALL * fronts->size;
    if (a->is_arc != b->is_arc)
        return false;
    if (a->is_arc)
        return lies_round(a, b, near, where) || lies_round(b, a, near, where);
    return lies_along(a, b, near, where);
}

/* A line along a straight wall would burn, and can't. */
static enum sm_status check_walls(const struct maker *m)
{
    const struct sm_fronts *fronts = m->out;
    const double near = ON_WALL * fronts->size;
    for (int i = 0; i < fronts->n_burning; i++)
        for (int j = fronts->n_burning; j < fronts->n_walls; j++) {
            const struct sm_front *a = &fronts->items[i], *wall = &fronts->items[j];
            struct sm_point where;
            if (!a->is_arc && !wall->is_arc && lies_along(wall, a, near, &where))
                return sm_fail(m->err, SM_E_GEOMETRY,
                               "the outline runs along a face that does not burn at %.6g mm, %.6g mm",
                               1e3 * where.x, 1e3 * where.y);
        }
    return SM_OK;
}

static enum sm_status check_crossings(const struct maker *m)
{
    const struct sm_fronts *fronts = m->out;
    for (int i = 0; i < fronts->n_burning; i++)
        for (int j = i + 1; j < fronts->n_burning; j++) {
            const struct sm_front *a = &fronts->items[i], *b = &fronts->items[j];
            const struct sm_point d = {a->hub.x - b->hub.x, a->hub.y - b->hub.y};
            const double range = a->reach + b->reach;
            struct sm_point where;
            if (a->reach == 0.0 || b->reach == 0.0 || sm_point_dot(d, d) > range * range)
                continue; /* corners cross nothing */
            if (j != a->before && j != a->after && cross_each_other(fronts, i, j, &where))
                return sm_fail(m->err, SM_E_GEOMETRY, "the outline crosses itself at %.6g mm, %.6g mm",
                               1e3 * where.x, 1e3 * where.y);
            if (j != a->before && j != a->after && lie_upon_each_other(fronts, i, j, &where))
                return sm_fail(m->err, SM_E_GEOMETRY, "the outline lies upon itself at %.6g mm, %.6g mm",
                               1e3 * where.x, 1e3 * where.y);
        }
    return SM_OK;
}

/* ---- all of it ---- */

struct sm_front sm_wall_line(struct sm_point through, struct sm_point way)
{
    return (struct sm_front){.base = through, .u = way, .v = {-way.y, way.x}};
}

struct sm_front sm_wall_circle(struct sm_point centre, double radius)
{
    const struct sm_point x_axis = {1.0, 0.0};
    return (struct sm_front){.is_arc = true,
                             .sign = 1.0,
                             .radius = radius,
                             .extent = 4.0,
                             .base = centre,
                             .u = x_axis,
                             .v = x_axis,
                             .hub = centre,
                             .reach = radius};
}

struct sm_front sm_rim_line(struct sm_point from, struct sm_point to)
{
    const double x = to.x - from.x, y = to.y - from.y, length = hypot(x, y);
    const struct sm_point u = {x / length, y / length};
    return (struct sm_front){.extent = length,
                             .base = from,
                             .u = u,
                             .v = right_of(u),
                             .hub = {0.5 * (from.x + to.x), 0.5 * (from.y + to.y)},
                             .reach = 0.5 * length};
}

struct sm_front sm_rim_arc(struct sm_point centre, double radius, struct sm_point from, struct sm_point to,
                           double sweep)
{
    return (struct sm_front){.is_arc = true,
                             .sign = 1.0,
                             .radius = radius,
                             .extent = sweep < 2.0 * M_PI ? sm_diamond(from, to) : 4.0,
                             .base = centre,
                             .u = from,
                             .v = to,
                             .hub = centre,
                             .reach = radius};
}

enum sm_status sm_figure_fronts(struct sm_arena *arena, const struct sm_figure *figure, struct sm_fronts *out,
                                struct sm_error *err)
{
    const struct sm_contour *contour = figure->contour;
    SM_TRY(sm_contour_check_memory(contour, err));
    *out = (struct sm_fronts){.size = figure->size};
    struct maker m = {.figure = figure, .out = out, .near = ON_WALL * figure->size, .err = err};
    /* An edge each, in two halves, and a corner each; two more corners and two rims, in halves, a chain. */
    const size_t room =
        3 * contour->n_edges + 6 * contour->n_chains + (size_t)(figure->n_walls + 2 * figure->n_rims);
    out->items = sm_arena_alloc(arena, room, sizeof *out->items);
    if (!out->items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < contour->n_chains; i++)
        if (contour->chains[i].n > 0)
            SM_TRY(add_chain(&m, &contour->chains[i]));
    out->n_burning = out->n;
    for (int i = 0; i < figure->n_walls; i++)
        add(&m, figure->walls[i]);
    out->n_walls = out->n;
    SM_TRY(find_rims(&m, arena));
    SM_TRY(check_walls(&m));
    return check_crossings(&m);
}
