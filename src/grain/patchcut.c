#include "grain/patchcut.h"

#include <math.h>

#include "grain/shape.h"

/* Comparisons, since fmax is a call. */
static double larger(double a, double b)
{
    return a > b ? a : b;
}

struct spot {
    struct sm_triple p, normal; /* [m], [1] */
    double stretch;             /* area to ds dt [m2 per unit of s and t] */
};

static struct sm_triple in_frame(const struct sm_patch *f, double x, double y, double z)
{
    const struct sm_triple *e = f->axes;
    return (struct sm_triple){x * e[0].x + y * e[1].x + z * e[2].x, x * e[0].y + y * e[1].y + z * e[2].y,
                              x * e[0].z + y * e[1].z + z * e[2].z};
}

/* Places on a patch with the cosines and sines of what are angles there. */
struct turn {
    double c, s; /* [1] */
};

static struct turn turn_by(double angle)
{
    return (struct turn){cos(angle), sin(angle)};
}

static struct turn turn_on(struct turn a, double c, double s)
{
    return (struct turn){a.c * c - a.s * s, a.s * c + a.c * s};
}

/* Where it lies in the patch's own frame. */
static struct sm_triple place_on(const struct sm_patch *f, double s, double t, struct turn of_s,
                                 struct turn of_t)
{
    double r, z;
    switch (f->kind) {
    case SM_PATCH_TURNED_LINE:
        r = f->r - s * f->nz;
        z = f->z + s * f->nr;
        break;
    case SM_PATCH_TURNED_ARC:
        r = f->r + f->radius * of_s.c;
        z = f->z + f->radius * of_s.s;
        break;
    case SM_PATCH_FLAT:
        return (struct sm_triple){s, t, 0.0};
    case SM_PATCH_ROUND_EDGE:
    default:
        return (struct sm_triple){f->radius * of_s.c, f->radius * of_s.s, t};
    }
    r = r > 0.0 ? r : 0.0;
    return (struct sm_triple){r * of_t.c, r * of_t.s, z};
}

static struct sm_triple find_place(const struct sm_patch *f, double s, double t, struct turn of_s,
                                   struct turn of_t)
{
    const struct sm_triple q = place_on(f, s, t, of_s, of_t), p = in_frame(f, q.x, q.y, q.z);
    return (struct sm_triple){f->at.x + p.x, f->at.y + p.y, f->at.z + p.z};
}

static void find_spot(const struct sm_patch *f, double s, double t, struct turn of_s, struct turn of_t,
                      struct spot *out)
{
    const double r = f->kind == SM_PATCH_TURNED_LINE ? f->r - s * f->nz : f->r + f->radius * of_s.c;
    out->p = find_place(f, s, t, of_s, of_t);
    switch (f->kind) {
    case SM_PATCH_TURNED_LINE:
        out->normal = in_frame(f, f->nr * of_t.c, f->nr * of_t.s, f->nz);
        out->stretch = r > 0.0 ? r : 0.0;
        break;
    case SM_PATCH_TURNED_ARC:
        out->normal = in_frame(f, of_s.c * of_t.c, of_s.c * of_t.s, of_s.s);
        out->stretch = r > 0.0 ? f->radius * r : 0.0;
        break;
    case SM_PATCH_FLAT:
        out->normal = f->axes[2];
        out->stretch = 1.0;
        break;
    case SM_PATCH_ROUND_EDGE:
    default:
        out->normal = in_frame(f, of_s.c, of_s.s, 0.0);
        out->stretch = f->radius;
        break;
    }
}

/* Halves of halves: a cell's sides are the patch's over a power of two. */
enum { MOST_DEPTH = 24 };

struct cell {
    double s, t;            /* its middle [m] or [rad] */
    double half_s, half_t;  /* [m] or [rad] */
    struct turn of_s, of_t; /* of its middle */
    int depth_s, depth_t;
};

/* How long a cell is along s and, at most, along t [m]. */
static void measure(const struct sm_patch *f, const struct cell *c, double *along_s, double *along_t)
{
    double r = 1.0, scale = 1.0;
    if (f->kind == SM_PATCH_TURNED_LINE) {
        r = f->r - c->s * f->nz + c->half_s * (f->nz < 0.0 ? -f->nz : f->nz);
    } else if (f->kind == SM_PATCH_TURNED_ARC) {
        r = f->r + f->radius * (c->of_s.c + c->half_s < 1.0 ? c->of_s.c + c->half_s : 1.0);
        scale = f->radius;
    } else if (f->kind == SM_PATCH_ROUND_EDGE) {
        scale = f->radius;
    }
    *along_s = 2.0 * c->half_s * scale;
    *along_t = 2.0 * c->half_t * (r > 0.0 ? r : 0.0);
}

/* ---- cutting a patch ---- */

struct cutter {
    const struct sm_patch_cut *cut;
    const struct sm_patch *patch;
    bool s_turns, t_turns;                                  /* are angles */
    struct turn halves_s[MOST_DEPTH], halves_t[MOST_DEPTH]; /* of a cell's half sides, by depth */
};

/* Constraints of a cell: solids by number, then these. */
enum { C_WALL = SM_MOST_SOLIDS, C_LOW, C_HIGH, C_PLANE, C_COUNT };
struct active {
    int n;
    short items[SM_MOST_SOLIDS + 4];
    double middle[SM_MOST_SOLIDS + 4]; /* at the cell's middle [m] */
};

/* Of surfaces that lie in one another the solid named first has what is there. */
static double constraint(const struct cutter *k, int which, struct sm_triple p)
{
    const struct sm_patcher *s = k->cut->patcher;
    const int owner = k->patch->owner;
    switch (which) {
    case C_WALL:
        return s->voids->radius - sqrt(p.x * p.x + p.y * p.y) - s->close;
    case C_LOW:
        return p.z - k->cut->low - s->close;
    case C_HIGH:
        return k->cut->high - p.z - s->close;
    case C_PLANE:
        return sm_triple_dot(p, k->cut->plane);
    default:
        return sm_solid_distance(&s->solids[which], p) - k->cut->w + (which < owner ? -s->close : s->close);
    }
}

static void four_constraints(const struct cutter *k, int which, const struct sm_four *p, double g[4])
{
    const struct sm_patcher *s = k->cut->patcher;
    if (which < SM_MOST_SOLIDS) {
        const double shift = k->cut->w - (which < k->patch->owner ? -s->close : s->close);
        sm_solid_four_distances(&s->solids[which], p, g);
        for (int i = 0; i < 4; i++)
            g[i] -= shift;
        return;
    }
    for (int i = 0; i < 4; i++)
        g[i] = constraint(k, which, (struct sm_triple){p->x[i], p->y[i], p->z[i]});
}

static void add_weighted(struct sm_patch_sums *sums, const struct spot *at, double area)
{
    double *f = sums->front;
    const struct sm_triple p = at->p;
    f[SM_VOLUME] += area;
    f[SM_X] += area * p.x;
    f[SM_Y] += area * p.y;
    f[SM_Z] += area * p.z;
    f[SM_XX] += area * p.x * p.x;
    f[SM_YY] += area * p.y * p.y;
    f[SM_ZZ] += area * p.z * p.z;
    f[SM_XY] += area * p.x * p.y;
    f[SM_XZ] += area * p.x * p.z;
    f[SM_YZ] += area * p.y * p.z;
    sums->outward += area * sm_triple_dot(p, at->normal);
}

/* Where the straight line to a visible spot starts must be in the grain, or something stands in its way. */
static void check_foot(const struct cutter *k, const struct spot *at)
{
    const struct sm_voids *v = k->cut->patcher->voids;
    if (k->patch->owner < 0 || k->cut->sums->astray)
        return;
    const struct sm_triple foot = sm_triple_add(at->p, -k->cut->w, at->normal);
    const double slack = k->cut->patcher->cell * k->cut->patcher->cell / v->radius;
    const double most = v->radius + slack;
    const bool is_out = foot.x * foot.x + foot.y * foot.y > most * most ||
                        (foot.z < -slack && !(v->burning & SM_FACE_FORE_END)) ||
                        (foot.z > v->length + slack && !(v->burning & SM_FACE_AFT_END));
    if (is_out)
        k->cut->sums->astray = 1 + k->cut->patcher->entry[k->patch->owner];
}

/* A cell's middle turned on by a part of its half side, at most a sixteenth of a turn: Taylor's series to 1e-9. */
static struct turn turn_a_little(struct turn from, double angle)
{
    const double x = angle * angle;
    return turn_on(from, 1.0 - x * (1.0 / 2 - x * (1.0 / 24 - x * (1.0 / 720))),
                   angle * (1.0 - x * (1.0 / 6 - x * (1.0 / 120 - x * (1.0 / 5040)))));
}

/* Gauss points on a half side: two are exact for moments on what is straight, and good to 4e-7 on a fifth of a radian; three to
 * as much on an eighth of a turn. */
struct gauss {
    int n;
    double place[3], share[3]; /* of the half side [1] */
};
static const struct gauss two_points = {2, {-0.5773502691896258, 0.5773502691896258}, {1.0, 1.0}};
static const struct gauss three_points = {
    3, {-0.7745966692414834, 0.0, 0.7745966692414834}, {5.0 / 9.0, 8.0 / 9.0, 5.0 / 9.0}};

static const struct gauss *points_for(bool turns, double half)
{
    return turns && half > 0.1 ? &three_points : &two_points;
}

/* A cell that is visible all over. */
static void add_whole(const struct cutter *k, const struct cell *c)
{
    const struct sm_patch *f = k->patch;
    const bool s_turns = k->s_turns, t_turns = k->t_turns;
    const struct gauss *by_s = points_for(s_turns, c->half_s), *by_t = points_for(t_turns, c->half_t);
    for (int i = 0; i < by_s->n; i++) {
        const double ds = by_s->place[i] * c->half_s;
        const struct turn of_s = s_turns ? turn_a_little(c->of_s, ds) : c->of_s;
        for (int j = 0; j < by_t->n; j++) {
            const double dt = by_t->place[j] * c->half_t;
            const struct turn of_t = t_turns ? turn_a_little(c->of_t, dt) : c->of_t;
            struct spot at;
            find_spot(f, c->s + ds, c->t + dt, of_s, of_t, &at);
            add_weighted(k->cut->sums, &at,
                         by_s->share[i] * by_t->share[j] * c->half_s * c->half_t * at.stretch);
            check_foot(k, &at);
        }
    }
}

/* ---- a leaf: a cell that constraints cut nearly straight ---- */

enum { MOST_CUTS = 12, MOST_CORNERS = 4 + MOST_CUTS };

/* A constraint as it is at the corners, over x and y, which run from -1 to 1 over the leaf. */
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

static enum look look_at_corners(const struct cutter *k, const struct cell *c, const struct active *active,
                                 struct leaf *out)
{
    static const double side_s[4] = {-1.0, 1.0, 1.0, -1.0}, side_t[4] = {-1.0, -1.0, 1.0, 1.0};
    const struct turn *hs = &k->halves_s[c->depth_s], *ht = &k->halves_t[c->depth_t];
    struct sm_four p;
    bool is_straight = true;
    for (int i = 0; i < 4; i++) {
        const struct sm_triple at = find_place(
            k->patch, c->s + side_s[i] * c->half_s, c->t + side_t[i] * c->half_t,
            turn_on(c->of_s, hs->c, side_s[i] * hs->s), turn_on(c->of_t, ht->c, side_t[i] * ht->s));
        p.x[i] = at.x;
        p.y[i] = at.y;
        p.z[i] = at.z;
    }
    out->n = 0;
    for (int a = 0; a < active->n && out->n < MOST_CUTS; a++) {
        double g[4], least = SM_INF, most = -SM_INF;
        four_constraints(k, active->items[a], &p, g);
        for (int i = 0; i < 4; i++) {
            least = g[i] < least ? g[i] : least;
            most = g[i] > most ? g[i] : most;
        }
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

/* Turns at a place in a leaf. */
static void turn_to(const struct cutter *k, const struct cell *c, double x, double y, struct turn *of_s,
                    struct turn *of_t)
{
    *of_s = k->s_turns ? turn_a_little(c->of_s, x * c->half_s) : c->of_s;
    *of_t = k->t_turns ? turn_a_little(c->of_t, y * c->half_t) : c->of_t;
}

static void spot_in(const struct cutter *k, const struct cell *c, double x, double y, struct spot *out)
{
    struct turn of_s, of_t;
    turn_to(k, c, x, y, &of_s, &of_t);
    find_spot(k->patch, c->s + x * c->half_s, c->t + y * c->half_t, of_s, of_t, out);
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
    for (int i = 0; i < 3; i++) {
        struct spot at;
        spot_in(k, in, c[0].x + x + first * u[i], c[0].y + y + mixed * u[i] + second * v[i], &at);
        add_weighted(k->cut->sums, &at, area / 3.0 * in->half_s * in->half_t * at.stretch);
        check_foot(k, &at);
    }
}

/* A constraint at a place in a leaf [m]. */
static double constraint_in(const struct cutter *k, const struct cell *in, int which, double x, double y)
{
    struct turn of_s, of_t;
    turn_to(k, in, x, y, &of_s, &of_t);
    return constraint(k, which,
                      find_place(k->patch, in->s + x * in->half_s, in->t + y * in->half_t, of_s, of_t));
}

/* A cut so near its chord needs no second look at its slope; one that is flatter than so much of its chord's slope is taken
 * to be no flatter, for it is about to leave the leaf [1]. */
static const double NEAR = 0.003, LEAST_STEEP = 0.3;

/* What lies between a polygon's side and the cut that it stands for, by Simpson's rule along the side: [1], of the leaf's
 * half sides. The slope is that of the sheet, or the secant's at the side's middle. *most: how far they are apart [1]. */
static double bulge(const struct cutter *k, const struct cell *in, const struct sheet *cut, struct corner a,
                    struct corner b, double *most)
{
    const double x = 0.5 * (a.x + b.x), y = 0.5 * (a.y + b.y);
    const double by_x = cut->by_x + y * cut->by_xy, by_y = cut->by_y + x * cut->by_xy;
    const double slope = sqrt(by_x * by_x + by_y * by_y), g = constraint_in(k, in, cut->which, x, y);
    if (!(slope > 0.0))
        return 0.0;
    const double out_x = -by_x / slope, out_y = -by_y / slope;
    double off = g / slope, steep = 1.0;
    if (fabs(off) > NEAR && fabs(off) <= 1.0) {
        steep = 1.0 - constraint_in(k, in, cut->which, x + off * out_x, y + off * out_y) / g;
        steep = steep > LEAST_STEEP ? steep : LEAST_STEEP;
    }
    const double first = constraint_in(k, in, cut->which, a.x, a.y) / (slope * steep),
                 last = constraint_in(k, in, cut->which, b.x, b.y) / (slope * steep);
    off /= steep;
    *most = larger(*most, larger(fabs(off), larger(fabs(first), fabs(last))));
    const double mean = (first + 4.0 * off + last) / 6.0;
    return larger(-1.0, -larger(-1.0, -mean)) * sqrt((b.x - a.x) * (b.x - a.x) + (b.y - a.y) * (b.y - a.y));
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
    for (int i = 0; i < n; i++)
        if (p[i].cut >= 0) {
            const struct corner next = p[(i + 1) % n];
            struct spot at;
            spot_in(k, c, 0.5 * (p[i].x + next.x), 0.5 * (p[i].y + next.y), &at);
            add_weighted(k->cut->sums, &at, bulges[i] * c->half_s * c->half_t * at.stretch);
        }
    return true;
}

/* One half of a cell, on the given side. */
static struct cell half_of(const struct cutter *k, const struct cell *c, bool by_s, double side)
{
    struct cell h = *c;
    if (by_s) {
        h.depth_s++;
        h.half_s *= 0.5;
        h.s += side * h.half_s;
        h.of_s = turn_on(c->of_s, k->halves_s[h.depth_s].c, side * k->halves_s[h.depth_s].s);
    } else {
        h.depth_t++;
        h.half_t *= 0.5;
        h.t += side * h.half_t;
        h.of_t = turn_on(c->of_t, k->halves_t[h.depth_t].c, side * k->halves_t[h.depth_t].s);
    }
    return h;
}

/* Takes a cell that is small enough: four of the patcher's cells, and less where constraints bend or cross. */
static bool is_leaf(const struct cutter *k, const struct cell *c, const struct active *active, double along_s,
                    double along_t)
{
    enum { COARSE = 4, FINER = 4 };
    const double cell =
        k->cut->patcher->cell * (1.0 + 1e-6); /* halves of a length that fits exactly are taken */
    const double along = along_s > along_t ? along_s : along_t;
    const bool is_last =
        c->depth_s >= MOST_DEPTH - 1 || c->depth_t >= MOST_DEPTH - 1 || along <= cell / FINER;
    struct leaf leaf;
    if (along > COARSE * cell && !is_last)
        return false;
    const enum look look = look_at_corners(k, c, active, &leaf);
    if (look == OUTSIDE)
        return true;
    if (!is_last && (look == CROOKED || (leaf.n > 1 && along > cell)))
        return false;
    if (leaf.n > 0)
        return add_leaf(k, c, &leaf, is_last);
    add_whole(k, c);
    return true;
}

static void cut_cell(const struct cutter *k, const struct cell *c, const struct active *before)
{
    double along_s, along_t;
    measure(k->patch, c, &along_s, &along_t);
    const double half = 0.5 * sqrt(along_s * along_s + along_t * along_t);
    struct active active;
    active.n = 0;
    k->cut->sums->n_cells++;
    const struct sm_triple at = find_place(k->patch, c->s, c->t, c->of_s, c->of_t);
    for (int i = 0; i < before->n; i++) {
        const double g = constraint(k, before->items[i], at);
        if (g < -half)
            return;
        if (g > half)
            continue;
        active.middle[active.n] = g;
        active.items[active.n++] = before->items[i];
    }
    if (active.n == 0) {
        add_whole(k, c);
        return;
    }
    if (is_leaf(k, c, &active, along_s, along_t))
        return;
    const bool by_s = along_s >= along_t;
    const struct cell first = half_of(k, c, by_s, -1.0), second = half_of(k, c, by_s, 1.0);
    cut_cell(k, &first, &active);
    cut_cell(k, &second, &active);
}

/* As deep as sides of so much [m] can be halved before they are cells. */
static void fill_halves(struct turn halves[MOST_DEPTH], double half, bool turns, double along, double cell)
{
    struct turn at = turns ? turn_by(half) : (struct turn){1.0, 0.0};
    halves[0] = at;
    for (int i = 1; i < MOST_DEPTH && along > 0.5 * cell; i++, along *= 0.5) {
        const double c = sqrt(0.5 * (1.0 + at.c));
        at = (struct turn){c, 0.5 * at.s / c};
        halves[i] = at;
    }
}

/* ---- a whole patch ---- */

/* Turns at a patch's ends. */
struct ends {
    struct turn s0, s1, t0, t1;
};

/* The most of A cos s + B sin s from one turn on to another, half a turn farther at most. */
static double most_between(double by_cos, double by_sin, struct turn from, struct turn to)
{
    const double a = by_cos * from.c + by_sin * from.s, b = by_cos * to.c + by_sin * to.s;
    const bool rises = by_sin * from.c - by_cos * from.s > 0.0, falls = by_sin * to.c - by_cos * to.s < 0.0;
    return rises && falls ? sqrt(by_cos * by_cos + by_sin * by_sin) : larger(a, b);
}

/* Direction along which a patch reaches no farther than returned [m]. */
static double reach(const struct sm_patch *f, const struct ends *e, struct sm_triple way)
{
    const double half_turn = M_PI * (1.0 + 1e-9), at = sm_triple_dot(f->at, way);
    const double x = sm_triple_dot(f->axes[0], way), y = sm_triple_dot(f->axes[1], way),
                 z = sm_triple_dot(f->axes[2], way);
    if (f->kind == SM_PATCH_FLAT)
        return at + larger(x * f->s0, x * f->s1) + larger(y * f->t0, y * f->t1);
    if (f->kind == SM_PATCH_ROUND_EDGE)
        return at + f->radius * most_between(x, y, e->s0, e->s1) + larger(z * f->t0, z * f->t1);
    const double r = f->t1 - f->t0 > half_turn ? sqrt(x * x + y * y) : most_between(x, y, e->t0, e->t1);
    const double middle = at + f->r * r + f->z * z, along = f->nr * z - f->nz * r;
    if (f->kind == SM_PATCH_TURNED_LINE)
        return middle + larger(f->s0 * along, f->s1 * along);
    return middle +
           f->radius * (f->s1 - f->s0 > half_turn ? sqrt(r * r + z * z) : most_between(r, z, e->s0, e->s1));
}

/* Keeps a plane among the constraints if it passes through the patch. Returned: false if nothing of the patch is before it. */
static bool keep_plane(struct active *all, const struct cutter *k, const struct ends *e, int which,
                       struct sm_triple way, double level)
{
    const struct sm_triple back = {-way.x, -way.y, -way.z};
    if (reach(k->patch, e, way) <= level)
        return false;
    if (-reach(k->patch, e, back) < level)
        all->items[all->n++] = (short)which;
    return true;
}

/* What may cut a patch. Returned: false if nothing of it can be seen. */
static bool list_constraints(const struct cutter *k, const struct ends *e, struct active *all)
{
    const struct sm_triple up = {0.0, 0.0, 1.0}, down = {0.0, 0.0, -1.0};
    const struct sm_patch_cut *cut = k->cut;
    const struct sm_patch *f = k->patch;
    const double close = cut->patcher->close;
    all->n = 0;
    if (f->owner != SM_PATCH_FORE && !keep_plane(all, k, e, C_LOW, up, cut->low + close))
        return false;
    if (f->owner != SM_PATCH_AFT && !keep_plane(all, k, e, C_HIGH, down, close - cut->high))
        return false;
    if (cut->has_plane && f->owner >= 0 && !keep_plane(all, k, e, C_PLANE, cut->plane, 0.0))
        return false;
    if (f->owner != SM_PATCH_WALL)
        all->items[all->n++] = C_WALL;
    for (size_t i = 0; i < cut->patcher->n; i++)
        if ((int)i != f->owner)
            all->items[all->n++] = (short)i;
    return true;
}

/* Cells to begin with turn by no more than a quarter of a right angle either way. */
void sm_patch_cut(const struct sm_patch_cut *cut, const struct sm_patch *f)
{
    struct cutter k = {.cut = cut,
                       .patch = f,
                       .s_turns = f->kind == SM_PATCH_TURNED_ARC || f->kind == SM_PATCH_ROUND_EDGE,
                       .t_turns = f->kind == SM_PATCH_TURNED_LINE || f->kind == SM_PATCH_TURNED_ARC};
    if (!(f->s1 > f->s0) || !(f->t1 > f->t0) || (k.s_turns && f->radius <= 0.0))
        return;
    const struct turn none = {1.0, 0.0};
    const struct ends ends = {k.s_turns ? turn_by(f->s0) : none, k.s_turns ? turn_by(f->s1) : none,
                              k.t_turns ? turn_by(f->t0) : none, k.t_turns ? turn_by(f->t1) : none};
    struct active all;
    if (!list_constraints(&k, &ends, &all))
        return;
    const double quarter = 0.25 * M_PI * (1.0 + 1e-9);
    const int n_s = k.s_turns ? (int)ceil((f->s1 - f->s0) / quarter) : 1;
    const int n_t = k.t_turns ? (int)ceil((f->t1 - f->t0) / quarter) : 1;
    struct cell c = {.half_s = 0.5 * (f->s1 - f->s0) / n_s, .half_t = 0.5 * (f->t1 - f->t0) / n_t};
    const struct cell all_of_it = {.s = 0.5 * (f->s0 + f->s1),
                                   .t = 0.5 * (f->t0 + f->t1),
                                   .half_s = n_s * c.half_s,
                                   .half_t = n_t * c.half_t,
                                   .of_s = none,
                                   .of_t = none};
    double along_s, along_t;
    measure(f, &all_of_it, &along_s, &along_t);
    fill_halves(k.halves_s, c.half_s, k.s_turns, along_s, cut->patcher->cell);
    fill_halves(k.halves_t, c.half_t, k.t_turns, along_t, cut->patcher->cell);
    for (int i = 0; i < n_s; i++)
        for (int j = 0; j < n_t; j++) {
            c.s = f->s0 + (2 * i + 1) * c.half_s;
            c.t = f->t0 + (2 * j + 1) * c.half_t;
            c.of_s = k.s_turns ? turn_by(c.s) : none;
            c.of_t = k.t_turns ? turn_by(c.t) : none;
            cut_cell(&k, &c, &all);
        }
}
