/*
 * A patch cut by halves, to be compiled once for each set of instructions. See grain/patches.h.
 *
 * Both halves of a cell are looked at together, and places on it four at a time: in one vector, or in two where these hold but
 * two. Sums are kept apart by the place among the four, so that each set gives the same bits.
 */
#ifndef SM_GRAIN_PATCHLANES_H
#define SM_GRAIN_PATCHLANES_H

#include "base/fail.h"
#include "grain/patchcells.h"
#include "grain/shape.h"
#include "grain/solidlanes.h"

enum { FOUR = 4, VECTORS = FOUR / LANE_WIDTH }; /* places, and vectors that hold them */

/* ---- places on a patch ---- */

struct turns {
    vec c, s; /* cosine and sine [1] */
};

struct places {
    vec s, t; /* [m] or [rad] */
    struct turns of_s, of_t;
};

LANE_INLINE struct turns turn_on(struct turns a, vec c, vec s)
{
    return (struct turns){a.c * c - a.s * s, a.s * c + a.c * s};
}

/* By an eighth of a turn at most: Taylor's series to 1e-9. */
LANE_INLINE struct turns turn_a_little(struct turns from, vec angle)
{
    const vec x = angle * angle;
    return turn_on(from, 1.0 - x * (1.0 / 2 - x * (1.0 / 24 - x * (1.0 / 720))),
                   angle * (1.0 - x * (1.0 / 6 - x * (1.0 / 120 - x * (1.0 / 5040)))));
}

LANE_INLINE struct turns same_turn(struct sm_turn a)
{
    return (struct turns){all(a.c), all(a.s)};
}

/* How far from the axis of what is turned, and area to ds dt [m2 per unit of s and t]. */
LANE_INLINE vec radius_at(const struct sm_patch *f, const struct places *at)
{
    return f->kind == SM_PATCH_TURNED_LINE ? f->r - at->s * f->nz : f->r + f->radius * at->of_s.c;
}

LANE_INLINE struct lane_place in_space(const struct sm_patch *f, const struct places *at)
{
    const vec zero = all(0.0);
    struct lane_place q;
    if (f->kind == SM_PATCH_FLAT) {
        const struct sm_triple u = f->axes[0], v = f->axes[1], o = f->at;
        return (struct lane_place){o.x + (at->s * u.x + at->t * v.x), o.y + (at->s * u.y + at->t * v.y),
                                   o.z + (at->s * u.z + at->t * v.z)};
    }
    if (f->kind == SM_PATCH_ROUND_EDGE) {
        q = (struct lane_place){f->radius * at->of_s.c, f->radius * at->of_s.s, at->t};
    } else {
        const vec r = larger(radius_at(f, at), zero);
        const vec z = f->kind == SM_PATCH_TURNED_LINE ? f->z + at->s * f->nr : f->z + f->radius * at->of_s.s;
        q = (struct lane_place){r * at->of_t.c, r * at->of_t.s, z};
    }
    q = out_of_frame(f->axes, f->is_upright, q.x, q.y, q.z);
    return (struct lane_place){f->at.x + q.x, f->at.y + q.y, f->at.z + q.z};
}

LANE_INLINE struct lane_place normal_at(const struct sm_patch *f, const struct places *at)
{
    const vec zero = all(0.0);
    switch (f->kind) {
    case SM_PATCH_TURNED_LINE:
        return out_of_frame(f->axes, f->is_upright, f->nr * at->of_t.c, f->nr * at->of_t.s, all(f->nz));
    case SM_PATCH_TURNED_ARC:
        return out_of_frame(f->axes, f->is_upright, at->of_s.c * at->of_t.c, at->of_s.c * at->of_t.s,
                            at->of_s.s);
    case SM_PATCH_FLAT:
        return (struct lane_place){all(f->axes[2].x), all(f->axes[2].y), all(f->axes[2].z)};
    case SM_PATCH_ROUND_EDGE:
    default:
        return out_of_frame(f->axes, f->is_upright, at->of_s.c, at->of_s.s, zero);
    }
}

LANE_INLINE vec stretch_at(const struct sm_patch *f, const struct places *at)
{
    switch (f->kind) {
    case SM_PATCH_TURNED_LINE:
        return larger(radius_at(f, at), all(0.0));
    case SM_PATCH_TURNED_ARC:
        return f->radius * larger(radius_at(f, at), all(0.0));
    case SM_PATCH_FLAT:
        return all(1.0);
    case SM_PATCH_ROUND_EDGE:
    default:
        return all(f->radius);
    }
}

/* ---- cutting a patch ---- */

enum { FRONT_SUMS = SM_N_INTEGRALS + 1 };

struct cutter {
    const struct sm_patch_cells *cells;
    const struct sm_patch_cut *cut;
    const struct sm_patch *patch;
    vec (*sums)[FRONT_SUMS]; /* of the places in each vector: integrals over the front, and outward */
};

/* A cell's halves, or one cell. */
struct pair {
    int n;
    int depth_s, depth_t;
    double half_s, half_t; /* [m] or [rad] */
    struct places at;      /* their middles */
    double along_s;        /* how long they are along s, and at most along t [m] */
    vec along_t;
};

struct cell {
    double s, t; /* its middle [m] or [rad] */
    struct sm_turn of_s, of_t;
    double half_s, half_t; /* [m] or [rad] */
    int depth_s, depth_t;
    double along; /* the longer of its sides [m] */
};

static void measure(const struct sm_patch *f, struct pair *c)
{
    vec r = all(1.0);
    double scale = 1.0;
    if (f->kind == SM_PATCH_TURNED_LINE) {
        r = radius_at(f, &c->at) + c->half_s * (f->nz < 0.0 ? -f->nz : f->nz);
    } else if (f->kind == SM_PATCH_TURNED_ARC) {
        r = f->r + f->radius * smaller(c->at.of_s.c + c->half_s, all(1.0));
        scale = f->radius;
    } else if (f->kind == SM_PATCH_ROUND_EDGE) {
        scale = f->radius;
    }
    c->along_s = 2.0 * c->half_s * scale;
    c->along_t = 2.0 * c->half_t * larger(r, all(0.0));
}

/* Of surfaces that lie in one another the solid named first has what is there; of copies, of which only some are cut for all, the one
 * that stands on that side. What the patch's owner is set before the other by, or behind it [m]. */
LANE_INLINE vec precedence(const struct cutter *k, int which, struct lane_place p)
{
    const struct sm_patcher *s = k->cut->patcher;
    const int owner = k->patch->owner;
    if (owner < 0 || s->entry[which] != s->entry[owner])
        return all(which < owner ? -s->close : s->close);
    const struct sm_triple own = s->heading[owner], other = s->heading[which];
    return s->close / s->voids->radius * (p.x * (own.x - other.x) + p.y * (own.y - other.y));
}

LANE_INLINE vec constraint(const struct cutter *k, int which, struct lane_place p)
{
    const struct sm_patcher *s = k->cut->patcher;
    switch (which) {
    case SM_PATCH_WALLED:
        return s->voids->radius - root_of(p.x * p.x + p.y * p.y) - s->close;
    case SM_PATCH_LOW:
        return p.z - k->cut->low - s->close;
    case SM_PATCH_HIGH:
        return k->cut->high - p.z - s->close;
    case SM_PATCH_PLANE:
        return p.x * k->cut->plane.x + p.y * k->cut->plane.y + p.z * k->cut->plane.z;
    default:
        return distances_from(&s->solids[which], p) - (k->cut->w - precedence(k, which, p));
    }
}

/* Where the straight line to a visible spot starts must be in the grain, or something stands in its way. */
LANE_INLINE void check_feet(const struct cutter *k, struct lane_place p, struct lane_place normal, vec weight)
{
    const struct sm_voids *v = k->cut->patcher->voids;
    const double slack = k->cut->patcher->cell * k->cut->patcher->cell / v->radius, most = v->radius + slack,
                 w = k->cut->w;
    const vec x = p.x - w * normal.x, y = p.y - w * normal.y, z = p.z - w * normal.z;
    mask out = is_less(all(most * most), x * x + y * y);
    if (!(v->burning & SM_FACE_FORE_END))
        out |= is_less(z, all(-slack));
    if (!(v->burning & SM_FACE_AFT_END))
        out |= is_less(all(v->length + slack), z);
    if (any(out & is_less(all(0.0), weight)))
        k->cut->sums->astray = 1 + k->cut->patcher->entry[k->patch->owner];
}

/* Weighed places, those of weight 0 for nothing. */
LANE_INLINE void add_weighed(const struct cutter *k, const struct places *at, vec weight, bool with_feet,
                             vec f[FRONT_SUMS])
{
    const struct lane_place p = in_space(k->patch, at), n = normal_at(k->patch, at);
    const vec area = weight * stretch_at(k->patch, at), ax = area * p.x, ay = area * p.y, az = area * p.z;
    f[SM_VOLUME] += area;
    f[SM_X] += ax;
    f[SM_Y] += ay;
    f[SM_Z] += az;
    f[SM_XX] += ax * p.x;
    f[SM_YY] += ay * p.y;
    f[SM_ZZ] += az * p.z;
    f[SM_XY] += ax * p.y;
    f[SM_XZ] += ax * p.z;
    f[SM_YZ] += ay * p.z;
    f[SM_N_INTEGRALS] += ax * n.x + ay * n.y + az * n.z;
    if (with_feet && k->patch->owner >= 0 && !k->cut->sums->astray)
        check_feet(k, p, n, weight);
}

/* Places in a cell, over x and y, which run from -1 to 1. */
LANE_INLINE struct places places_in(const struct cutter *k, const struct cell *c, vec x, vec y)
{
    const vec ds = x * c->half_s, dt = y * c->half_t;
    struct places at = {c->s + ds, c->t + dt, same_turn(c->of_s), same_turn(c->of_t)};
    if (k->cells->s_turns)
        at.of_s = turn_a_little(at.of_s, ds);
    if (k->cells->t_turns)
        at.of_t = turn_a_little(at.of_t, dt);
    return at;
}

/* Places in a cell with their shares of its half sides' product: whole fours of them, the last ones' shares 0. */
struct points {
    int n;
    const double *x, *y, *share; /* [1] */
};

LANE_INLINE void add_points(const struct cutter *k, const struct cell *c, const struct points *p,
                            bool with_feet)
{
    for (int i = 0; i < p->n; i += LANE_WIDTH) {
        const struct places at = places_in(k, c, load(p->x + i), load(p->y + i));
        add_weighed(k, &at, load(p->share + i) * (c->half_s * c->half_t), with_feet,
                    k->sums[i / LANE_WIDTH % VECTORS]);
    }
}

/* Gauss points on both half sides: two are exact for moments on what is straight, and good to 4e-7 on a fifth of a radian; three
 * to as much on an eighth of a turn. */
#define G2 0.5773502691896258
#define G3 0.7745966692414834
#define F  (5.0 / 9.0)
#define E  (8.0 / 9.0)
static const double once[] = {-G2, -G2, G2, G2}, other[] = {-G2, G2, -G2, G2}, even[] = {1.0, 1.0, 1.0, 1.0};
static const double two[] = {-G2, -G2, -G2, G2, G2, G2, G2, G2},
                    three[] = {-G3, 0.0, G3, -G3, 0.0, G3, G3, G3}, six[] = {F, E, F, F, E, F, 0.0, 0.0};
static const double rows[] = {-G3, -G3, -G3, 0.0, 0.0, 0.0, G3, G3, G3, G3, G3, G3},
                    columns[] = {-G3, 0.0, G3, -G3, 0.0, G3, -G3, 0.0, G3, G3, G3, G3},
                    nine[] = {F * F, F *E, F *F, F *E, E *E, F *E, F *F, F *E, F *F, 0.0, 0.0, 0.0};
static const struct points two_by_two = {4, once, other, even}, two_by_three = {8, two, three, six},
                           three_by_two = {8, three, two, six}, three_by_three = {12, rows, columns, nine};
#undef G2
#undef G3
#undef F
#undef E

/* A cell that is visible all over. */
static void add_whole(const struct cutter *k, const struct cell *c)
{
    const bool three_s = k->cells->s_turns && c->half_s > 0.1, three_t = k->cells->t_turns && c->half_t > 0.1;
    const struct points *by_s = three_t ? &three_by_three : &three_by_two;
    add_points(k, c, three_s ? by_s : three_t ? &two_by_three : &two_by_two, true);
}

/* ---- a leaf: a cell that constraints cut nearly straight ---- */

enum { MOST_CUTS = 12, MOST_CORNERS = 4 + MOST_CUTS };

/* A constraint as it is at the corners, over x and y. */
struct sheet {
    int which;
    double g, by_x, by_y, by_xy; /* [m] */
};

struct leaf {
    struct sheet cuts[MOST_CUTS];
    int n;
};

enum look { OUTSIDE, CROOKED, STRAIGHT };

/* Share of its range over a leaf's corners by which a constraint may bend there, and share of a half side by which a cut may
 * miss its chord. Both are put right by looks along the chord, so that about their cubes remain. */
static const double BEND = 0.06, MISS = 0.1;

/* The corners that a vector holds, in the order of a whole leaf's. */
LANE_INLINE struct lane_place corners_of(const struct cutter *k, const struct cell *c, int vector)
{
    static const double side_s[FOUR] = {-1.0, 1.0, 1.0, -1.0}, side_t[FOUR] = {-1.0, -1.0, 1.0, 1.0};
    const vec x = load(side_s + vector * LANE_WIDTH), y = load(side_t + vector * LANE_WIDTH);
    const struct sm_turn *hs = &k->cells->halves_s[c->depth_s], *ht = &k->cells->halves_t[c->depth_t];
    const struct places at = {c->s + x * c->half_s, c->t + y * c->half_t,
                              turn_on(same_turn(c->of_s), all(hs->c), x * hs->s),
                              turn_on(same_turn(c->of_t), all(ht->c), y * ht->s)};
    return in_space(k->patch, &at);
}

static enum look look_at_corners(const struct cutter *k, const struct cell *c,
                                 const struct sm_patch_active *active, struct leaf *out)
{
    struct lane_place p[VECTORS];
    bool is_straight = true;
    out->n = 0;
    for (int v = 0; v < VECTORS; v++)
        p[v] = corners_of(k, c, v);
    for (int a = 0; a < active->n && out->n < MOST_CUTS; a++) {
        double g[FOUR];
        for (int v = 0; v < VECTORS; v++)
            store(g + v * LANE_WIDTH, constraint(k, active->items[a], p[v]));
        const double low0 = g[0] < g[1] ? g[0] : g[1], low1 = g[2] < g[3] ? g[2] : g[3],
                     high0 = g[0] > g[1] ? g[0] : g[1], high1 = g[2] > g[3] ? g[2] : g[3];
        const double least = low0 < low1 ? low0 : low1, most = high0 > high1 ? high0 : high1;
        const double mean = 0.25 * (g[0] + g[1] + g[2] + g[3]);
        const double bend = fabs(active->middle[a] - mean), twist = fabs(g[0] - g[1] + g[2] - g[3]);
        const double spare = bend > 0.25 * twist ? bend : 0.25 * twist;
        if (spare > BEND * (most - least) && least < 2.0 * spare && most > -2.0 * spare)
            is_straight = false;
        else if (most <= 0.0)
            return OUTSIDE;
        if (least < 0.0)
            out->cuts[out->n++] =
                (struct sheet){active->items[a], mean, 0.25 * (g[1] + g[2] - g[0] - g[3]),
                               0.25 * (g[2] + g[3] - g[0] - g[1]), 0.25 * (g[0] + g[2] - g[1] - g[3])};
    }
    return is_straight ? STRAIGHT : CROOKED;
}

/* A polygon in a leaf. */
struct corner {
    double x, y; /* [1] */
    int cut;     /* whose line runs from here to the next corner; -1: the leaf's side */
};

static double sheet_at(const struct sheet *f, struct corner at)
{
    return f->g + at.x * f->by_x + at.y * (f->by_y + at.x * f->by_xy);
}

/* At all corners of a polygon. Returned: how often the sign changes round it. */
static int all_corners(const struct sheet *f, const struct corner *in, int n, double g[MOST_CORNERS])
{
    int changes = 0;
    for (int i = 0; i < n; i++)
        g[i] = sheet_at(f, in[i]);
    for (int i = 0; i < n; i++)
        changes += (g[i] >= 0.0) != (g[(i + 1) % n] >= 0.0);
    return changes;
}

/* Cuts off what is negative, straight from side to side, so that what is convex stays so. A saddle is taken as a plane. */
static int clip(const struct corner *in, int n, const struct sheet *by, int cut, struct corner *out)
{
    double g[MOST_CORNERS];
    int m = 0;
    if (all_corners(by, in, n, g) > 2) {
        const struct sheet flat = {by->which, by->g, by->by_x, by->by_y, 0.0};
        all_corners(&flat, in, n, g);
    }
    for (int i = 0; i < n; i++) {
        const int next = (i + 1) % n;
        const struct corner a = in[i], b = in[next];
        if (g[i] >= 0.0)
            out[m++] = a;
        if ((g[i] >= 0.0) != (g[next] >= 0.0)) {
            const double x = g[i] / (g[i] - g[next]);
            out[m++] =
                (struct corner){a.x + x * (b.x - a.x), a.y + x * (b.y - a.y), g[i] >= 0.0 ? cut : a.cut};
        }
    }
    return m;
}

/* Three places of equal weight with the polygon's own middle and second moments, so that what is quadratic is summed exactly.
 * They lie within it, for a convex figure holds the ellipse of sqrt(2) of its standard deviations (R. Kannan, L. Lovasz,
 * M. Simonovits, Discrete Comput. Geom. 13 (1995) 541, theorem 4.1). */
static void add_polygon(const struct cutter *k, const struct cell *in, const struct corner *c, int n)
{
    double area = 0.0, x = 0.0, y = 0.0, xx = 0.0, xy = 0.0, yy = 0.0;
    for (int i = 1; i + 1 < n; i++) {
        const double ax = c[i].x - c[0].x, ay = c[i].y - c[0].y, bx = c[i + 1].x - c[0].x,
                     by = c[i + 1].y - c[0].y, part = 0.5 * (ax * by - bx * ay), sx = ax + bx, sy = ay + by;
        area += part;
        x += part * sx / 3.0;
        y += part * sy / 3.0;
        xx += part * (sx * sx + ax * ax + bx * bx) / 12.0;
        xy += part * (sx * sy + ax * ay + bx * by) / 12.0;
        yy += part * (sy * sy + ay * ay + by * by) / 12.0;
    }
    if (!(area > 0.0))
        return;
    x /= area;
    y /= area;
    const double var_x = xx / area - x * x, var_y = yy / area - y * y, both = xy / area - x * y;
    const double first = var_x > 0.0 ? sqrt(var_x) : 0.0, mixed = first > 0.0 ? both / first : 0.0;
    const double rest = var_y - mixed * mixed, second = rest > 0.0 ? sqrt(rest) : 0.0;
    static const double u[3] = {M_SQRT2, -0.5 * M_SQRT2, -0.5 * M_SQRT2},
                        v[3] = {0.0, 1.2247448713915890, -1.2247448713915890};
    double xs[FOUR], ys[FOUR], share[FOUR];
    for (int i = 0; i < FOUR; i++) {
        xs[i] = c[0].x + x + first * u[i % 3];
        ys[i] = c[0].y + y + mixed * u[i % 3] + second * v[i % 3];
        share[i] = i < 3 ? area / 3.0 : 0.0;
    }
    const struct points p = {FOUR, xs, ys, share};
    add_points(k, in, &p, true);
}

/* A constraint at some places in a leaf [m]. */
LANE_INLINE vec constraint_in(const struct cutter *k, const struct cell *in, int which, vec x, vec y)
{
    const struct places at = places_in(k, in, x, y);
    return constraint(k, which, in_space(k->patch, &at));
}

/* A cut so near its chord needs no second look at its slope; one that is flatter than so much of its chord's slope is taken
 * to be no flatter, for it is about to leave the leaf [1]. */
static const double NEAR = 0.003, LEAST_STEEP = 0.3;

static double wider(double a, double b)
{
    return a > b ? a : b;
}

/* What lies between a polygon's side and the cut that it stands for, by Simpson's rule along the side: [1], of the leaf's
 * half sides. The slope is that of the sheet, or the secant's at the side's middle. *most: how far they are apart [1]. */
static double bulge(const struct cutter *k, const struct cell *in, const struct sheet *cut, struct corner a,
                    struct corner b, double *most)
{
    const double x = 0.5 * (a.x + b.x), y = 0.5 * (a.y + b.y);
    const double by_x = cut->by_x + y * cut->by_xy, by_y = cut->by_y + x * cut->by_xy;
    const double slope = sqrt(by_x * by_x + by_y * by_y);
    if (!(slope > 0.0))
        return 0.0;
    const double xs[FOUR] = {x, a.x, b.x, x}, ys[FOUR] = {y, a.y, b.y, y};
    double g[FOUR];
    for (int v = 0; v < FOUR; v += LANE_WIDTH)
        store(g + v, constraint_in(k, in, cut->which, load(xs + v), load(ys + v)));
    const double out_x = -by_x / slope, out_y = -by_y / slope;
    double off = g[0] / slope, steep = 1.0;
    if (fabs(off) > NEAR && fabs(off) <= 1.0) {
        const vec beyond = constraint_in(k, in, cut->which, all(x + off * out_x), all(y + off * out_y));
        steep = wider(1.0 - beyond[0] / g[0], LEAST_STEEP);
    }
    const double first = g[1] / (slope * steep), last = g[2] / (slope * steep);
    off /= steep;
    *most = wider(*most, wider(fabs(off), wider(fabs(first), fabs(last))));
    const double mean = (first + 4.0 * off + last) / 6.0;
    return wider(-1.0, -wider(-1.0, -mean)) * sqrt((b.x - a.x) * (b.x - a.x) + (b.y - a.y) * (b.y - a.y));
}

/* What lies between the sides of a polygon and the cuts, at the sides' middles. */
static void add_bulges(const struct cutter *k, const struct cell *in, const struct corner *c, int n,
                       const double bulges[MOST_CORNERS])
{
    for (int i = 0; i < n;) {
        double xs[FOUR] = {0.0}, ys[FOUR] = {0.0}, share[FOUR] = {0.0};
        const struct points p = {FOUR, xs, ys, share};
        int m = 0;
        for (; i < n && m < FOUR; i++) {
            const struct corner next = c[(i + 1) % n];
            if (c[i].cut < 0)
                continue;
            xs[m] = 0.5 * (c[i].x + next.x);
            ys[m] = 0.5 * (c[i].y + next.y);
            share[m++] = bulges[i];
        }
        if (m > 0)
            add_points(k, in, &p, false);
    }
}

/* Adds a leaf, unless cuts miss their lines there by much and it may still be halved. */
static bool add_leaf(const struct cutter *k, const struct cell *c, const struct leaf *leaf, bool is_last)
{
    static const struct corner whole[4] = {
        {-1.0, -1.0, -1}, {1.0, -1.0, -1}, {1.0, 1.0, -1}, {-1.0, 1.0, -1}};
    struct corner both[2][MOST_CORNERS];
    double bulges[MOST_CORNERS], most = 0.0;
    const struct corner *p = whole;
    int n = 4;
    for (int a = 0; a < leaf->n && n > 2; a++) {
        n = clip(p, n, &leaf->cuts[a], a, both[a & 1]);
        p = both[a & 1];
    }
    for (int i = 0; i < n; i++)
        bulges[i] = p[i].cut < 0 ? 0.0 : bulge(k, c, &leaf->cuts[p[i].cut], p[i], p[(i + 1) % n], &most);
    if (most > MISS && !is_last)
        return false;
    add_polygon(k, c, p, n);
    add_bulges(k, c, p, n, bulges);
    return true;
}

/* ---- from cells to leaves ---- */

enum { COARSE = 4 }; /* leaves are so many of the patcher's cells long at most */

/* Halves of a length that fits exactly are taken. */
static double size_of_cell(const struct cutter *k)
{
    return k->cut->patcher->cell * (1.0 + 1e-6);
}

static bool is_deepest(int depth_s, int depth_t)
{
    return depth_s >= SM_PATCH_DEPTH - 1 || depth_t >= SM_PATCH_DEPTH - 1;
}

/* Takes a cell that is small enough: some of the patcher's cells long, and less where constraints bend or cross. */
static bool is_leaf(const struct cutter *k, const struct cell *c, const struct sm_patch_active *active)
{
    const double cell = size_of_cell(k);
    const bool is_last = is_deepest(c->depth_s, c->depth_t) || c->along <= cell / SM_PATCH_FINER;
    struct leaf leaf;
    if (c->along > COARSE * cell && !is_last)
        return false;
    const enum look look = look_at_corners(k, c, active, &leaf);
    if (look == OUTSIDE)
        return true;
    if (!is_last && (look == CROOKED || (leaf.n > 1 && c->along > cell)))
        return false;
    if (leaf.n > 0)
        return add_leaf(k, c, &leaf, is_last);
    add_whole(k, c);
    return true;
}

/* Both halves of a cell by its longer side; in further lanes, copies. */
static void halve(const struct cutter *k, const struct cell *c, bool by_s, struct pair *out)
{
    static const double sides[8] = {-1.0, 1.0, -1.0, 1.0, -1.0, 1.0, -1.0, 1.0};
    const vec side = load(sides);
    out->n = 2; /* one by one, for clearing it all first takes longer */
    out->depth_s = c->depth_s + (by_s ? 1 : 0);
    out->depth_t = c->depth_t + (by_s ? 0 : 1);
    out->half_s = by_s ? 0.5 * c->half_s : c->half_s;
    out->half_t = by_s ? c->half_t : 0.5 * c->half_t;
    out->at = (struct places){all(c->s), all(c->t), same_turn(c->of_s), same_turn(c->of_t)};
    if (by_s) {
        const struct sm_turn *h = &k->cells->halves_s[out->depth_s];
        out->at.s += side * out->half_s;
        out->at.of_s = turn_on(out->at.of_s, all(h->c), side * h->s);
    } else {
        const struct sm_turn *h = &k->cells->halves_t[out->depth_t];
        out->at.t += side * out->half_t;
        out->at.of_t = turn_on(out->at.of_t, all(h->c), side * h->s);
    }
    measure(k->patch, out);
}

static void cut_cells(const struct cutter *k, const struct pair *c, const struct sm_patch_active *before);

/* A cell whose middle was looked at. */
static void settle(const struct cutter *k, const struct pair *c, int lane,
                   const struct sm_patch_active *active)
{
    const double along_t = c->along_t[lane];
    const struct cell one = {.s = c->at.s[lane],
                             .t = c->at.t[lane],
                             .of_s = {c->at.of_s.c[lane], c->at.of_s.s[lane]},
                             .of_t = {c->at.of_t.c[lane], c->at.of_t.s[lane]},
                             .half_s = c->half_s,
                             .half_t = c->half_t,
                             .depth_s = c->depth_s,
                             .depth_t = c->depth_t,
                             .along = wider(c->along_s, along_t)};
    if (active->n == 0) {
        add_whole(k, &one);
    } else if (!is_leaf(k, &one, active)) {
        struct pair halves;
        halve(k, &one, c->along_s >= along_t, &halves);
        cut_cells(k, &halves, active);
    }
}

static void cut_cells(const struct cutter *k, const struct pair *c, const struct sm_patch_active *before)
{
    const struct lane_place middles = in_space(k->patch, &c->at);
    const vec half = 0.5 * root_of(c->along_s * c->along_s + c->along_t * c->along_t);
    struct sm_patch_active active[2];
    int n_left = c->n;
    k->cut->sums->n_cells += c->n;
    for (int i = 0; i < 2; i++)
        active[i].n = i < c->n ? 0 : -1; /* less than nothing: burned */
    for (int a = 0; a < before->n && n_left > 0; a++) {
        const vec g = constraint(k, before->items[a], middles);
        for (int i = 0; i < c->n; i++) {
            struct sm_patch_active *own = &active[i];
            if (own->n < 0 || g[i] > half[i])
                continue;
            if (g[i] < -half[i]) {
                own->n = -1;
                n_left--;
                continue;
            }
            own->middle[own->n] = g[i];
            own->items[own->n++] = before->items[a];
        }
    }
    for (int i = 0; i < c->n; i++)
        if (active[i].n >= 0)
            settle(k, c, i, &active[i]);
}

/* Two of the first cells, or the last one. */
static struct pair first_cells(const struct sm_patch_cells *p, int first)
{
    struct pair c = {.n = first + 1 < p->n_s * p->n_t ? 2 : 1, .half_s = p->half_s, .half_t = p->half_t};
    for (int i = 0; i < LANE_WIDTH; i++) {
        const int at = c.n > 1 ? first + i % 2 : first;
        const double s = p->patch->s0 + (2 * (at / p->n_t) + 1) * p->half_s,
                     t = p->patch->t0 + (2 * (at % p->n_t) + 1) * p->half_t;
        c.at.s[i] = s;
        c.at.t[i] = t;
        c.at.of_s.c[i] = p->s_turns ? cos(s) : 1.0;
        c.at.of_s.s[i] = p->s_turns ? sin(s) : 0.0;
        c.at.of_t.c[i] = p->t_turns ? cos(t) : 1.0;
        c.at.of_t.s[i] = p->t_turns ? sin(t) : 0.0;
    }
    measure(p->patch, &c);
    return c;
}

static void cut_patch(const struct sm_patch_cells *p)
{
    vec sums[VECTORS][FRONT_SUMS];
    const struct cutter k = {p, p->cut, p->patch, sums};
    for (int v = 0; v < VECTORS; v++)
        for (int i = 0; i < FRONT_SUMS; i++)
            sums[v][i] = all(0.0);
    for (int first = 0; first < p->n_s * p->n_t; first += 2) {
        const struct pair c = first_cells(p, first);
        cut_cells(&k, &c, &p->active);
    }
    for (int i = 0; i < FRONT_SUMS; i++) {
        double four[FOUR];
        for (int v = 0; v < VECTORS; v++)
            store(four + v * LANE_WIDTH, sums[v][i]);
        *(i < SM_N_INTEGRALS ? &p->cut->sums->front[i] : &p->cut->sums->outward) +=
            (four[0] + four[1]) + (four[2] + four[3]);
    }
}

#endif
