#include "grain/walls.h"

#include <math.h>

#include "grain/shape.h"

static const double NEAR = 1e-9; /* share of the size within which places are one [1] */

static double apart(struct sm_point a, struct sm_point b)
{
    return hypot(a.x - b.x, a.y - b.y);
}

/* ---- making ---- */

struct maker {
    struct sm_arena *arena;
    const struct sm_meridian *m;
    struct sm_walls *out;
    size_t room;
    int steps;
    struct sm_error *err;
};

static enum sm_status put(struct maker *k, struct sm_point a, struct sm_point b, bool burns, bool is_bore)
{
    struct sm_walls *w = k->out;
    if (apart(a, b) <= NEAR * w->size)
        return SM_OK;
    struct sm_wall *walls = sm_arena_grow(k->arena, w->walls, w->n, &k->room, w->n + 1, sizeof *walls);
    if (!walls)
        return sm_fail(k->err, SM_E_NOMEM, "out of memory");
    w->walls = walls;
    walls[w->n++] = (struct sm_wall){a, b, burns, is_bore};
    return SM_OK;
}

static bool is_under_sleeve(const struct sm_meridian *m, double z, double near)
{
    for (size_t i = 0; i < m->n_sleeves; i++)
        if (z >= m->sleeves[i].from - near && z <= m->sleeves[i].to + near)
            return true;
    return false;
}

/* Next end of a sleeve on the way from share `from` of a line to its end; 1 if there is none. */
static double next_cut(const struct sm_meridian *m, struct sm_point a, struct sm_point b, double from)
{
    double next = 1.0;
    for (size_t i = 0; i < 2 * m->n_sleeves && a.x != b.x; i++) {
        const double z = i % 2 ? m->sleeves[i / 2].to : m->sleeves[i / 2].from,
                     share = (z - a.x) / (b.x - a.x);
        if (share > from + NEAR && share < next)
            next = share;
    }
    return next;
}

static struct sm_point between(struct sm_point a, struct sm_point b, double share)
{
    return (struct sm_point){a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)};
}

/* A stretch of the bore, cut where sleeves end. */
static enum sm_status put_bore(struct maker *k, struct sm_point a, struct sm_point b)
{
    double from = 0.0;
    while (from < 1.0) {
        const double to = next_cut(k->m, a, b, from);
        const struct sm_point p = between(a, b, from), q = to < 1.0 ? between(a, b, to) : b;
        const bool burns =
            k->m->burning & SM_FACE_BORE && !is_under_sleeve(k->m, 0.5 * (p.x + q.x), NEAR * k->out->size);
        SM_TRY(put(k, from > 0.0 ? p : a, q, burns, true));
        from = to;
    }
    return SM_OK;
}

static enum sm_status put_edges(struct maker *k)
{
    const struct sm_contour *c = &k->m->bore;
    for (size_t i = 0; i < c->n_edges; i++) {
        const struct sm_edge *e = &c->edges[i];
        const int n = e->turn == 0 ? 1 : 1 + (int)(k->steps * sm_edge_sweep(e) / (0.5 * M_PI));
        for (int j = 0; j < n; j++)
            SM_TRY(put_bore(k, j == 0 ? e->a : sm_edge_point(e, (double)j / n),
                            j + 1 == n ? e->b : sm_edge_point(e, (double)(j + 1) / n)));
    }
    return SM_OK;
}

/* Flat ends from the bore, or the axis, outwards, and the outer cylinder, where they burn. */
static enum sm_status put_faces(struct maker *k)
{
    const struct sm_meridian *m = k->m;
    const struct sm_edge *bore = m->bore.edges;
    const size_t n = m->bore.n_edges;
    const double near = NEAR * k->out->size;
    const bool from_aft = n > 0 && fabs(bore[0].a.x - m->length) <= near;
    const bool to_fore = n > 0 && fabs(bore[n - 1].b.x) <= near;
    const struct sm_point fore = {0.0, m->radius}, aft = {m->length, m->radius};
    if (m->burning & SM_FACE_FORE_END)
        SM_TRY(put(k, (struct sm_point){0.0, to_fore ? bore[n - 1].b.y : 0.0}, fore, true, false));
    if (m->burning & SM_FACE_AFT_END)
        SM_TRY(put(k, (struct sm_point){m->length, from_aft ? bore[0].a.y : 0.0}, aft, true, false));
    return m->burning & SM_FACE_OUTER ? put(k, fore, aft, true, false) : SM_OK;
}

/* ---- asking ---- */

bool sm_walls_is_void(const struct sm_walls *walls, struct sm_point p)
{
    const double z = fmin(p.x, walls->length * (1.0 - 1e-12)); /* the aft face has what lies before it */
    bool is_void = false;
    for (size_t i = 0; i < walls->n; i++) {
        const struct sm_wall *w = &walls->walls[i];
        if (!w->is_bore || (w->a.x <= z) == (w->b.x <= z))
            continue;
        const double y = w->a.y + (w->b.y - w->a.y) * (z - w->a.x) / (w->b.x - w->a.x);
        is_void ^= y > p.y;
    }
    return is_void;
}

/* The point of a wall that is nearest to p. */
static struct sm_point foot_on(const struct sm_wall *w, struct sm_point p)
{
    const struct sm_point d = sm_point_minus(w->b, w->a);
    const double share = sm_point_dot(sm_point_minus(p, w->a), d) / sm_point_dot(d, d);
    return share <= 0.0 ? w->a : share >= 1.0 ? w->b : between(w->a, w->b, share);
}

double sm_walls_distance(const struct sm_walls *walls, struct sm_point p)
{
    double least = SM_INF;
    for (size_t i = 0; i < walls->n; i++)
        if (walls->walls[i].is_bore)
            least = fmin(least, apart(p, foot_on(&walls->walls[i], p)));
    return least;
}

/* Does the way from p to q go through a wall? To touch one, or to go along it, is allowed. */
static bool is_blocked(const struct sm_walls *walls, struct sm_point p, struct sm_point q)
{
    const struct sm_point d = sm_point_minus(q, p), middle = between(p, q, 0.5);
    const double near = NEAR * walls->size, length = hypot(d.x, d.y);
    if (length <= near)
        return false;
    double clearance = SM_INF;
    for (size_t i = 0; i < walls->n; i++) {
        const struct sm_wall *w = &walls->walls[i];
        if (!w->is_bore)
            continue;
        const struct sm_point e = sm_point_minus(w->b, w->a);
        const double along = hypot(e.x, e.y);
        const double pa = sm_point_cross(d, sm_point_minus(w->a, p)) / length,
                     pb = sm_point_cross(d, sm_point_minus(w->b, p)) / length;
        const double wp = sm_point_cross(e, sm_point_minus(p, w->a)) / along,
                     wq = sm_point_cross(e, sm_point_minus(q, w->a)) / along;
        if (((pa > near && pb < -near) || (pa < -near && pb > near)) &&
            ((wp > near && wq < -near) || (wp < -near && wq > near)))
            return true;
        clearance = fmin(clearance, apart(middle, foot_on(w, middle)));
    }
    return clearance > near && sm_walls_is_void(walls, middle);
}

static void try_target(const struct sm_walls *walls, struct sm_point p, struct sm_point q, double rest,
                       struct sm_way *best)
{
    const double d = apart(p, q);
    if (d + rest >= best->length || is_blocked(walls, p, q))
        return;
    best->length = d + rest;
    best->nx = d > 0.0 ? (p.x - q.x) / d : 0.0;
    best->ny = d > 0.0 ? (p.y - q.y) / d : 1.0;
}

void sm_walls_way(const struct sm_walls *walls, struct sm_point p, struct sm_way *out)
{
    *out = (struct sm_way){.length = SM_INF};
    for (size_t i = 0; i < walls->n; i++)
        if (walls->walls[i].burns)
            try_target(walls, p, foot_on(&walls->walls[i], p), 0.0, out);
    for (size_t i = 0; i < walls->n_turns; i++)
        try_target(walls, p, walls->turns[i].at, walls->turns[i].way, out);
}

void sm_walls_behind(const struct sm_walls *walls, struct sm_point p, double most, struct sm_way *out)
{
    *out = (struct sm_way){.length = SM_INF};
    double best = most;
    for (size_t i = 0; i < walls->n; i++) {
        const struct sm_wall *w = &walls->walls[i];
        const struct sm_point d = sm_point_minus(w->b, w->a), r = sm_point_minus(p, w->a);
        const double length = hypot(d.x, d.y), share = sm_point_dot(r, d) / (length * length),
                     off = sm_point_cross(d, r) / length;
        if (!w->burns || !w->is_bore || share < 0.0 || share > 1.0 || !(off >= 0.0 && off < best))
            continue;
        best = off;
        *out = (struct sm_way){-off, d.y / length, -d.x / length};
    }
}

/* ---- turns ---- */

/* Settles the nearest turn not yet settled, and tries the ways through it, until all are. */
static void settle(struct sm_walls *walls, struct sm_turn *all, size_t n)
{
    for (size_t settled = 0; settled < n; settled++) {
        size_t next = settled;
        for (size_t i = settled; i < n; i++)
            if (all[i].way < all[next].way)
                next = i;
        const struct sm_turn turn = all[next];
        all[next] = all[settled];
        all[settled] = turn;
        for (size_t i = settled + 1; i < n; i++) {
            const double way = turn.way + apart(turn.at, all[i].at);
            if (way < all[i].way && !is_blocked(walls, all[i].at, turn.at))
                all[i].way = way;
        }
    }
}

/* Ends of inhibited stretches of the bore. */
static enum sm_status find_turns(struct maker *k)
{
    struct sm_walls *w = k->out;
    struct sm_turn *turns = sm_arena_alloc(k->arena, 2 * w->n, sizeof *turns);
    size_t n = 0;
    if (!turns)
        return sm_fail(k->err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < 2 * w->n; i++) {
        const struct sm_wall *wall = &w->walls[i / 2];
        const struct sm_point at = i % 2 ? wall->b : wall->a;
        if (wall->burns || !wall->is_bore || (n > 0 && apart(turns[n - 1].at, at) <= NEAR * w->size))
            continue;
        struct sm_way way;
        sm_walls_way(w, at, &way); /* there are no turns yet, so it is straight */
        turns[n++] = (struct sm_turn){at, way.length};
    }
    settle(w, turns, n);
    w->turns = turns;
    w->n_turns = n;
    return SM_OK;
}

enum sm_status sm_walls_init(struct sm_arena *arena, const struct sm_meridian *meridian, int steps,
                             struct sm_walls *out, struct sm_error *err)
{
    *out = (struct sm_walls){.size = fmax(meridian->length, meridian->radius), .length = meridian->length};
    struct maker k = {.arena = arena, .m = meridian, .out = out, .steps = steps, .err = err};
    SM_TRY(put_edges(&k));
    SM_TRY(put_faces(&k));
    bool burns = false;
    for (size_t i = 0; i < out->n; i++)
        burns = burns || out->walls[i].burns;
    if (!burns)
        return sm_fail(err, SM_E_GEOMETRY, "all that could burn is inhibited");
    return find_turns(&k);
}
