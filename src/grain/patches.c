#include "grain/patches.h"

#include <math.h>
#include <string.h>

#include "grain/shape.h"

/* Constraints that are not solids. */
enum { WALL = -3, FORE = -2, AFT = -1 };

/* ---- a patch ---- */

enum kind {
    TURNED_LINE, /* s along a line of the meridian, t round the axis */
    TURNED_ARC,  /* s on an arc of the meridian, t round the axis */
    FLAT,        /* s and t along the first two axes */
    ROUND_EDGE   /* s about an edge, t along it: the third axis */
};

struct patch {
    enum kind kind;
    int owner;                    /* solid, or FORE, AFT, WALL */
    struct sm_triple at, axes[3]; /* [m], [1] */
    double r, z;                  /* meridian at s = 0, or its arc's middle [m] */
    double nr, nz;                /* outward normal of the meridian's line [1] */
    double radius;                /* of the arc or the rounded edge [m] */
    double s0, s1, t0, t1;        /* [m] or [rad] */
};

struct spot {
    struct sm_triple p, normal; /* [m], [1] */
    double stretch;             /* area to ds dt [m2 per unit of s and t] */
};

static struct sm_triple in_frame(const struct patch *f, double x, double y, double z)
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
static struct sm_triple place_on(const struct patch *f, double s, double t, struct turn of_s,
                                 struct turn of_t)
{
    double r, z;
    switch (f->kind) {
    case TURNED_LINE:
        r = f->r - s * f->nz;
        z = f->z + s * f->nr;
        break;
    case TURNED_ARC:
        r = f->r + f->radius * of_s.c;
        z = f->z + f->radius * of_s.s;
        break;
    case FLAT:
        return (struct sm_triple){s, t, 0.0};
    case ROUND_EDGE:
    default:
        return (struct sm_triple){f->radius * of_s.c, f->radius * of_s.s, t};
    }
    r = r > 0.0 ? r : 0.0;
    return (struct sm_triple){r * of_t.c, r * of_t.s, z};
}

static struct sm_triple find_place(const struct patch *f, double s, double t, struct turn of_s,
                                   struct turn of_t)
{
    const struct sm_triple q = place_on(f, s, t, of_s, of_t), p = in_frame(f, q.x, q.y, q.z);
    return (struct sm_triple){f->at.x + p.x, f->at.y + p.y, f->at.z + p.z};
}

static void find_spot(const struct patch *f, double s, double t, struct turn of_s, struct turn of_t,
                      struct spot *out)
{
    const double r = f->kind == TURNED_LINE ? f->r - s * f->nz : f->r + f->radius * of_s.c;
    out->p = find_place(f, s, t, of_s, of_t);
    switch (f->kind) {
    case TURNED_LINE:
        out->normal = in_frame(f, f->nr * of_t.c, f->nr * of_t.s, f->nz);
        out->stretch = r > 0.0 ? r : 0.0;
        break;
    case TURNED_ARC:
        out->normal = in_frame(f, of_s.c * of_t.c, of_s.c * of_t.s, of_s.s);
        out->stretch = r > 0.0 ? f->radius * r : 0.0;
        break;
    case FLAT:
        out->normal = f->axes[2];
        out->stretch = 1.0;
        break;
    case ROUND_EDGE:
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
static void measure(const struct patch *f, const struct cell *c, double *along_s, double *along_t)
{
    double r = 1.0, scale = 1.0;
    if (f->kind == TURNED_LINE) {
        r = f->r - c->s * f->nz + c->half_s * (f->nz < 0.0 ? -f->nz : f->nz);
    } else if (f->kind == TURNED_ARC) {
        r = f->r + f->radius * (c->of_s.c + c->half_s < 1.0 ? c->of_s.c + c->half_s : 1.0);
        scale = f->radius;
    } else if (f->kind == ROUND_EDGE) {
        scale = f->radius;
    }
    *along_s = 2.0 * c->half_s * scale;
    *along_t = 2.0 * c->half_t * (r > 0.0 ? r : 0.0);
}

/* ---- cutting a patch ---- */

enum { MOST_CORNERS = 16 };

struct cutter {
    const struct sm_patcher *patcher;
    const struct patch *patch;
    struct turn halves_s[MOST_DEPTH], halves_t[MOST_DEPTH]; /* of a cell's half sides, by depth */
    double w, low, high; /* distance burned; the grain lies between low and high [m] */
    bool has_plane;      /* only the side that this normal points to is wanted */
    struct sm_triple plane;
    struct sm_patch_sums *sums;
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
    const struct sm_patcher *s = k->patcher;
    const int owner = k->patch->owner;
    switch (which) {
    case C_WALL:
        return s->voids->radius - sqrt(p.x * p.x + p.y * p.y) - s->close;
    case C_LOW:
        return p.z - k->low - s->close;
    case C_HIGH:
        return k->high - p.z - s->close;
    case C_PLANE:
        return sm_triple_dot(p, k->plane);
    default:
        return sm_solid_distance(&s->solids[which], p) - k->w + (which < owner ? -s->close : s->close);
    }
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
    const struct sm_voids *v = k->patcher->voids;
    if (k->patch->owner < 0 || k->sums->astray)
        return;
    const struct sm_triple foot = sm_triple_add(at->p, -k->w, at->normal);
    const double slack = k->patcher->cell * k->patcher->cell / v->radius;
    const double most = v->radius + slack;
    const bool is_out = foot.x * foot.x + foot.y * foot.y > most * most ||
                        (foot.z < -slack && !(v->burning & SM_FACE_FORE_END)) ||
                        (foot.z > v->length + slack && !(v->burning & SM_FACE_AFT_END));
    if (is_out)
        k->sums->astray = 1 + k->patcher->entry[k->patch->owner];
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
    const struct patch *f = k->patch;
    const bool s_turns = f->kind == TURNED_ARC || f->kind == ROUND_EDGE;
    const bool t_turns = f->kind == TURNED_LINE || f->kind == TURNED_ARC;
    const struct gauss *by_s = points_for(s_turns, c->half_s), *by_t = points_for(t_turns, c->half_t);
    for (int i = 0; i < by_s->n; i++) {
        const double ds = by_s->place[i] * c->half_s;
        const struct turn of_s = s_turns ? turn_a_little(c->of_s, ds) : c->of_s;
        for (int j = 0; j < by_t->n; j++) {
            const double dt = by_t->place[j] * c->half_t;
            const struct turn of_t = t_turns ? turn_a_little(c->of_t, dt) : c->of_t;
            struct spot at;
            find_spot(f, c->s + ds, c->t + dt, of_s, of_t, &at);
            add_weighted(k->sums, &at, by_s->share[i] * by_t->share[j] * c->half_s * c->half_t * at.stretch);
            check_foot(k, &at);
        }
    }
}

/* A polygon in a leaf; corners carry s, t and the constraint at hand. */
struct corner {
    double s, t; /* [m] or [rad] */
    double g;    /* [m] */
};

/* Cuts off what is negative. */
static int clip(const struct corner *in, int n, struct corner *out)
{
    int m = 0;
    for (int i = 0; i < n; i++) {
        const struct corner a = in[i], b = in[(i + 1) % n];
        if (a.g >= 0.0)
            out[m++] = a;
        if ((a.g >= 0.0) != (b.g >= 0.0)) {
            const double x = a.g / (a.g - b.g);
            out[m++] = (struct corner){a.s + x * (b.s - a.s), a.t + x * (b.t - a.t), 0.0};
        }
    }
    return m;
}

static void add_polygon(const struct cutter *k, const struct cell *in, const struct corner *c, int n)
{
    double twice = 0.0, s = 0.0, t = 0.0;
    for (int i = 1; i + 1 < n; i++) {
        const double area =
            (c[i].s - c[0].s) * (c[i + 1].t - c[0].t) - (c[i + 1].s - c[0].s) * (c[i].t - c[0].t);
        twice += area;
        s += area * (c[i].s + c[i + 1].s - 2.0 * c[0].s);
        t += area * (c[i].t + c[i + 1].t - 2.0 * c[0].t);
    }
    if (!(twice > 0.0))
        return;
    struct spot at;
    s = c[0].s + s / (3.0 * twice);
    t = c[0].t + t / (3.0 * twice);
    find_spot(k->patch, s, t, turn_a_little(in->of_s, s - in->s), turn_a_little(in->of_t, t - in->t), &at);
    add_weighted(k->sums, &at, 0.5 * twice * at.stretch);
    check_foot(k, &at);
}

/* A leaf's corners, and the constraints that pass between them. */
struct leaf {
    double s[4], t[4];         /* [m] or [rad] */
    double g[MOST_CORNERS][4]; /* of each cut at the corners [m] */
    int n_cuts;
};

enum look { OUTSIDE, CROOKED, STRAIGHT };

/* Share of its range over a leaf's corners by which a constraint may bend there. Where a front all but touches another the
 * range is small, and the bend shifts the cut by as much of the leaf. */
static const double BEND = 0.03;

static enum look look_at_corners(const struct cutter *k, const struct cell *c, const struct active *active,
                                 struct leaf *out)
{
    static const double side_s[4] = {-1.0, 1.0, 1.0, -1.0}, side_t[4] = {-1.0, -1.0, 1.0, 1.0};
    const struct turn *hs = &k->halves_s[c->depth_s], *ht = &k->halves_t[c->depth_t];
    struct sm_triple p[4];
    bool is_straight = true;
    for (int i = 0; i < 4; i++) {
        out->s[i] = c->s + side_s[i] * c->half_s;
        out->t[i] = c->t + side_t[i] * c->half_t;
        p[i] = find_place(k->patch, out->s[i], out->t[i], turn_on(c->of_s, hs->c, side_s[i] * hs->s),
                          turn_on(c->of_t, ht->c, side_t[i] * ht->s));
    }
    out->n_cuts = 0;
    for (int a = 0; a < active->n && out->n_cuts < MOST_CORNERS - 4; a++) {
        double *g = out->g[out->n_cuts], least = SM_INF, most = -SM_INF;
        for (int i = 0; i < 4; i++) {
            g[i] = constraint(k, active->items[a], p[i]);
            least = g[i] < least ? g[i] : least;
            most = g[i] > most ? g[i] : most;
        }
        const double bend = active->middle[a] - 0.25 * (g[0] + g[1] + g[2] + g[3]);
        const double spare = bend > 0.0 ? bend : -bend;
        if (spare > BEND * (most - least) && least < spare && most > -spare)
            is_straight = false;
        else if (most <= 0.0)
            return OUTSIDE;
        out->n_cuts += least < 0.0;
    }
    return is_straight ? STRAIGHT : CROOKED;
}

/* Constraints that are straight lines in each of the leaf's two triangles. */
static void add_leaf(const struct cutter *k, const struct cell *c, const struct leaf *leaf)
{
    static const int triangles[2][3] = {{0, 1, 2}, {0, 2, 3}};
    const double ds = 0.5 / c->half_s, dt = 0.5 / c->half_t;
    for (int f = 0; f < 2; f++) {
        const int *v = triangles[f];
        struct corner both[2][MOST_CORNERS + 4];
        int n = 3, now = 0;
        for (int i = 0; i < 3; i++)
            both[0][i] = (struct corner){leaf->s[v[i]], leaf->t[v[i]], 0.0};
        for (int a = 0; a < leaf->n_cuts && n > 2; a++) {
            const double *g = leaf->g[a];
            for (int i = 0; i < n; i++) { /* straight in the triangle: by its corners' weights */
                const double x = (both[now][i].s - leaf->s[0]) * ds, y = (both[now][i].t - leaf->t[0]) * dt;
                both[now][i].g = f == 0 ? g[0] + x * (g[1] - g[0]) + y * (g[2] - g[1])
                                        : g[0] + x * (g[2] - g[3]) + y * (g[3] - g[0]);
            }
            n = clip(both[now], n, both[1 - now]);
            now = 1 - now;
        }
        add_polygon(k, c, both[now], n);
    }
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

/* Takes a cell that is small enough; one that constraints bend in may be cut to a quarter of the usual size. */
static bool is_leaf(const struct cutter *k, const struct cell *c, const struct active *active, double along_s,
                    double along_t)
{
    enum { FINER = 4 };
    const double cell = k->patcher->cell * (1.0 + 1e-6); /* halves of a length that fits exactly are taken */
    const double along = along_s > along_t ? along_s : along_t;
    const bool is_last = c->depth_s >= MOST_DEPTH - 1 || c->depth_t >= MOST_DEPTH - 1;
    struct leaf leaf;
    if (along > cell && !is_last)
        return false;
    const enum look look = look_at_corners(k, c, active, &leaf);
    if (look == CROOKED && along > cell / FINER && !is_last)
        return false;
    if (look != OUTSIDE)
        add_leaf(k, c, &leaf);
    return true;
}

static void cut_cell(const struct cutter *k, const struct cell *c, const struct active *before)
{
    double along_s, along_t;
    measure(k->patch, c, &along_s, &along_t);
    const double half = 0.5 * sqrt(along_s * along_s + along_t * along_t);
    struct active active;
    active.n = 0;
    k->sums->n_cells++;
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

/* Cells to begin with turn by no more than a quarter of a right angle either way. */
static void cut_patch(struct cutter *k, const struct patch *f)
{
    const bool s_turns = f->kind == TURNED_ARC || f->kind == ROUND_EDGE;
    const bool t_turns = f->kind == TURNED_LINE || f->kind == TURNED_ARC;
    const double quarter = 0.25 * M_PI * (1.0 + 1e-9);
    const int n_s = s_turns ? (int)ceil((f->s1 - f->s0) / quarter) : 1;
    const int n_t = t_turns ? (int)ceil((f->t1 - f->t0) / quarter) : 1;
    if (!(f->s1 > f->s0) || !(f->t1 > f->t0) || (s_turns && f->radius <= 0.0))
        return;
    struct active all;
    all.n = 0;
    for (size_t i = 0; i < k->patcher->n; i++)
        if ((int)i != f->owner)
            all.items[all.n++] = (short)i;
    if (f->owner != WALL)
        all.items[all.n++] = C_WALL;
    if (f->owner != FORE)
        all.items[all.n++] = C_LOW;
    if (f->owner != AFT)
        all.items[all.n++] = C_HIGH;
    if (k->has_plane && f->owner >= 0)
        all.items[all.n++] = C_PLANE;
    k->patch = f;
    struct cell c = {.half_s = 0.5 * (f->s1 - f->s0) / n_s, .half_t = 0.5 * (f->t1 - f->t0) / n_t};
    const struct cell all_of_it = {0.5 * (f->s0 + f->s1),
                                   0.5 * (f->t0 + f->t1),
                                   n_s * c.half_s,
                                   n_t * c.half_t,
                                   {1.0, 0.0},
                                   {1.0, 0.0},
                                   0,
                                   0};
    double along_s, along_t;
    measure(f, &all_of_it, &along_s, &along_t);
    fill_halves(k->halves_s, c.half_s, s_turns, along_s, k->patcher->cell);
    fill_halves(k->halves_t, c.half_t, t_turns, along_t, k->patcher->cell);
    for (int i = 0; i < n_s; i++)
        for (int j = 0; j < n_t; j++) {
            c.s = f->s0 + (2 * i + 1) * c.half_s;
            c.t = f->t0 + (2 * j + 1) * c.half_t;
            c.of_s = s_turns ? turn_by(c.s) : (struct turn){1.0, 0.0};
            c.of_t = t_turns ? turn_by(c.t) : (struct turn){1.0, 0.0};
            cut_cell(k, &c, &all);
        }
}

/* ---- the patches of a solid's parallel surface ---- */

static struct patch patch_on(const struct sm_solid *s, int owner, enum kind kind)
{
    struct patch f = {.kind = kind, .owner = owner, .at = s->at};
    memcpy(f.axes, s->axes, sizeof f.axes);
    return f;
}

static void cut_arc(struct cutter *k, const struct sm_solid *s, int owner, double r, double z, double radius,
                    double from, double to, double turn)
{
    struct patch f = patch_on(s, owner, TURNED_ARC);
    f.r = r;
    f.z = z;
    f.radius = radius;
    f.s0 = from;
    f.s1 = to;
    f.t1 = turn;
    cut_patch(k, &f);
}

static void cut_line(struct cutter *k, const struct sm_solid *s, int owner, double r, double z, double nr,
                     double nz, double length, double turn)
{
    struct patch f = patch_on(s, owner, TURNED_LINE);
    f.r = r;
    f.z = z;
    f.nr = nr;
    f.nz = nz;
    f.s1 = length;
    f.t1 = turn;
    cut_patch(k, &f);
}

static void cut_cone(struct cutter *k, const struct sm_solid *s, int owner, double turn)
{
    const double w = k->w, length = hypot(s->a - s->b, s->c), nr = s->c / length, nz = (s->a - s->b) / length;
    const double lean = atan2(nz, nr);
    cut_line(k, s, owner, s->a + w * nr, w * nz, nr, nz, length, turn);
    cut_line(k, s, owner, 0.0, -w, 0.0, -1.0, s->a, turn);       /* s runs outwards */
    cut_line(k, s, owner, s->b, s->c + w, 0.0, 1.0, s->b, turn); /* s runs inwards */
    cut_arc(k, s, owner, s->a, 0.0, w, -M_PI_2, lean, turn);
    cut_arc(k, s, owner, s->b, s->c, w, lean, M_PI_2, turn);
}

static void cut_ring(struct cutter *k, const struct sm_solid *s, int owner, double turn)
{
    const double q = s->b + k->w,
                 span = q > s->a ? acos(-s->a / q) : M_PI; /* where the tube meets the axis */
    cut_arc(k, s, owner, s->a, 0.0, q, -span, span, turn);
}

/* A direction of a box: an axis, either way. */
static struct sm_triple way_of(const struct sm_solid *s, int axis, double sign)
{
    const struct sm_triple zero = {0.0, 0.0, 0.0};
    return sm_triple_add(zero, sign, s->axes[axis]);
}

static void cut_box_faces(struct cutter *k, const struct sm_solid *s, int owner)
{
    const double half[3] = {s->a, s->b, s->c};
    for (int axis = 0; axis < 3; axis++)
        for (int side = -1; side <= 1; side += 2) {
            const int u = (axis + 1) % 3, v = (axis + 2) % 3;
            struct patch f = patch_on(s, owner, FLAT);
            f.axes[0] = s->axes[u];
            f.axes[1] = s->axes[v];
            f.axes[2] = way_of(s, axis, side);
            f.at = sm_triple_add(s->at, half[axis] + k->w, f.axes[2]);
            f.s0 = -half[u];
            f.s1 = half[u];
            f.t0 = -half[v];
            f.t1 = half[v];
            cut_patch(k, &f);
        }
}

static void cut_box_edges(struct cutter *k, const struct sm_solid *s, int owner)
{
    const double half[3] = {s->a, s->b, s->c};
    for (int axis = 0; axis < 3; axis++)
        for (int which = 0; which < 4; which++) {
            const int u = (axis + 1) % 3, v = (axis + 2) % 3;
            struct patch f = patch_on(s, owner, ROUND_EDGE);
            f.axes[0] = way_of(s, u, which & 1 ? 1.0 : -1.0);
            f.axes[1] = way_of(s, v, which & 2 ? 1.0 : -1.0);
            f.axes[2] = s->axes[axis];
            f.at = sm_triple_add(sm_triple_add(s->at, half[u], f.axes[0]), half[v], f.axes[1]);
            f.radius = k->w;
            f.s1 = M_PI_2;
            f.t0 = -half[axis];
            f.t1 = half[axis];
            cut_patch(k, &f);
        }
    for (int which = 0; which < 8; which++) {
        struct sm_solid corner = *s;
        for (int axis = 0; axis < 3; axis++) {
            corner.axes[axis] = way_of(s, axis, which >> axis & 1 ? 1.0 : -1.0);
            corner.at = sm_triple_add(corner.at, half[axis], corner.axes[axis]);
        }
        cut_arc(k, &corner, owner, 0.0, 0.0, k->w, 0.0, M_PI_2, M_PI_2);
    }
}

static void cut_solid(struct cutter *k, int owner, double turn)
{
    const struct sm_solid *s = &k->patcher->solids[owner];
    switch (s->form) {
    case SM_SOLID_BALL:
        cut_arc(k, s, owner, 0.0, 0.0, s->a + k->w, -M_PI_2, M_PI_2, turn);
        break;
    case SM_SOLID_CONE:
        cut_cone(k, s, owner, turn);
        break;
    case SM_SOLID_BOX:
        cut_box_faces(k, s, owner);
        cut_box_edges(k, s, owner);
        break;
    case SM_SOLID_RING:
    default:
        cut_ring(k, s, owner, turn);
        break;
    }
}

static const struct sm_solid upright = {.axes = {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}}};

/* A face across the axis; it burns towards the grain's middle. */
static void cut_end(struct cutter *k, int owner, double z, double turn)
{
    const double radius = k->patcher->voids->radius;
    if (owner == FORE)
        cut_line(k, &upright, owner, radius, z, 0.0, 1.0, radius, turn);
    else
        cut_line(k, &upright, owner, 0.0, z, 0.0, -1.0, radius, turn);
}

/* ---- all of it ---- */

static double turn_of(const struct sm_patcher *p)
{
    return (p->is_mirrored ? M_PI : 2.0 * M_PI) / p->sectors;
}

static struct cutter cutter_at(const struct sm_patcher *p, double w, struct sm_patch_sums *sums)
{
    const struct sm_voids *v = p->voids;
    *sums = (struct sm_patch_sums){.outward = 0.0};
    return (struct cutter){.patcher = p,
                           .w = w,
                           .low = v->burning & SM_FACE_FORE_END ? w : 0.0,
                           .high = v->length - (v->burning & SM_FACE_AFT_END ? w : 0.0),
                           .sums = sums};
}

/* One part repeated all round. A part's own x and y are of account only where there is but one or two of them. */
static void unfold(const struct sm_patcher *p, struct sm_patch_sums *sums)
{
    const double times = (p->is_mirrored ? 2.0 : 1.0) * p->sectors;
    double *f = sums->front;
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        f[i] *= times;
    sums->outward *= times;
    if (p->sectors > 1)
        f[SM_X] = f[SM_Y] = f[SM_XZ] = f[SM_YZ] = 0.0;
    if (p->sectors > 2) {
        f[SM_XX] = f[SM_YY] = 0.5 * (f[SM_XX] + f[SM_YY]);
        f[SM_XY] = 0.0;
    }
}

void sm_patcher_level(const struct sm_patcher *p, double w, struct sm_patch_sums *out)
{
    struct cutter k = cutter_at(p, w, out);
    if (k.high <= k.low)
        return;
    for (size_t i = 0; i < p->n; i++) {
        if (!p->share[i])
            continue;
        const bool coaxial = sm_solid_is_coaxial(&p->solids[i], p->close);
        const double angle = atan2(p->solids[i].at.y, p->solids[i].at.x);
        k.has_plane = p->is_mirrored && !coaxial;
        k.plane = (struct sm_triple){-sin(angle), cos(angle), 0.0};
        cut_solid(&k, (int)i, coaxial ? turn_of(p) : 2.0 * M_PI);
    }
    if (p->voids->burning & SM_FACE_FORE_END)
        cut_end(&k, FORE, k.low, turn_of(p));
    if (p->voids->burning & SM_FACE_AFT_END)
        cut_end(&k, AFT, k.high, turn_of(p));
    unfold(p, out);
}

double sm_patcher_volume(const struct sm_patcher *p, double w)
{
    const double length = p->voids->length, radius = p->voids->radius;
    struct sm_patch_sums front, wall;
    sm_patcher_level(p, w, &front);
    struct cutter k = cutter_at(p, w, &wall);
    if (k.high <= k.low)
        return 0.0;
    cut_line(&k, &upright, WALL, radius, 0.0, 1.0, 0.0, length, turn_of(p));
    const double side = wall.outward;
    if (!(p->voids->burning & SM_FACE_FORE_END)) /* its outward normal points the other way, but z is 0 */
        cut_end(&k, FORE, 0.0, turn_of(p));
    wall.outward = side;
    if (!(p->voids->burning & SM_FACE_AFT_END))
        cut_end(&k, AFT, length, turn_of(p));
    wall.outward = 2.0 * side - wall.outward; /* the end's, turned over */
    unfold(p, &wall);
    return (wall.outward - front.outward) / 3.0;
}

static double area_across(const struct sm_patcher *p, double z)
{
    struct sm_patch_sums sums;
    struct cutter k = cutter_at(p, 0.0, &sums);
    cut_end(&k, AFT, z, turn_of(p));
    unfold(p, &sums);
    return sums.front[SM_VOLUME];
}

/* On the face itself lie the ends of solids, where they have no inside. So it is told from two planes before it, far enough
 * off that the walls of a solid are the nearest to the corners of cells that they cut. */
double sm_patcher_aft_area(const struct sm_patcher *p)
{
    const double step = fmin(2.0 * p->voids->radius / p->voids->fineness, 0.25 * p->voids->length);
    return 2.0 * area_across(p, p->voids->length - step) - area_across(p, p->voids->length - 2.0 * step);
}
