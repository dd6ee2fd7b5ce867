#include "grain/patches.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "grain/patchcut.h"
#include "grain/shape.h"

/* ---- the patches of a solid's parallel surface ---- */

static struct sm_patch patch_on(const struct sm_solid *s, int owner, enum sm_patch_kind kind)
{
    struct sm_patch f = {.kind = kind, .owner = owner, .at = s->at};
    memcpy(f.axes, s->axes, sizeof f.axes);
    f.is_upright = sm_triples_are_upright(f.axes);
    return f;
}

static void cut_arc(const struct sm_patch_cut *k, const struct sm_solid *s, int owner, double r, double z,
                    double radius, double from, double to, double turn)
{
    struct sm_patch f = patch_on(s, owner, SM_PATCH_TURNED_ARC);
    f.r = r;
    f.z = z;
    f.radius = radius;
    f.s0 = from;
    f.s1 = to;
    f.t1 = turn;
    sm_patch_cut(k, &f);
}

static void cut_line(const struct sm_patch_cut *k, const struct sm_solid *s, int owner, double r, double z,
                     double nr, double nz, double length, double turn)
{
    struct sm_patch f = patch_on(s, owner, SM_PATCH_TURNED_LINE);
    f.r = r;
    f.z = z;
    f.nr = nr;
    f.nz = nz;
    f.s1 = length;
    f.t1 = turn;
    sm_patch_cut(k, &f);
}

static void cut_cone(const struct sm_patch_cut *k, const struct sm_solid *s, int owner, unsigned hidden,
                     double turn)
{
    const double w = k->w, length = hypot(s->a - s->b, s->c), nr = s->c / length, nz = (s->a - s->b) / length;
    const double lean = atan2(nz, nr);
    if (!(hidden >> SM_CONE_SIDE & 1))
        cut_line(k, s, owner, s->a + w * nr, w * nz, nr, nz, length, turn);
    if (!(hidden >> SM_CONE_FOOT & 1))
        cut_line(k, s, owner, 0.0, -w, 0.0, -1.0, s->a, turn); /* s runs outwards */
    if (!(hidden >> SM_CONE_TOP & 1))
        cut_line(k, s, owner, s->b, s->c + w, 0.0, 1.0, s->b, turn); /* s runs inwards */
    if (!(hidden >> SM_CONE_FOOT_RIM & 1))
        cut_arc(k, s, owner, s->a, 0.0, w, -M_PI_2, lean, turn);
    if (!(hidden >> SM_CONE_TOP_RIM & 1))
        cut_arc(k, s, owner, s->b, s->c, w, lean, M_PI_2, turn);
}

/* The parts of the meridian's own front; a line's patch runs from its end to its start. */
static void cut_turned(const struct sm_patch_cut *k, const struct sm_solid *s, int owner, double turn)
{
    double w;
    const struct sm_fronts *fronts = &s->turned->fronts;
    const struct sm_parts *parts = sm_turned_parts(s->turned, k->w, &w);
    for (int i = 0; i < parts->n_burning; i++) {
        const struct sm_front *front = &fronts->items[parts->items[i].front];
        struct sm_cut_part at;
        sm_part_lie(fronts, &parts->items[i], w, &at);
        const struct sm_point *p = at.p, *n = at.normal;
        if (front->is_arc) {
            const double from = atan2(n[1].x, n[1].y);
            cut_arc(k, s, owner, front->base.y, front->base.x, at.radius, from,
                    from + sm_part_sweep(n[0], n[1]), turn);
        } else {
            const struct sm_point along = sm_point_minus(p[1], p[0]);
            cut_line(k, s, owner, p[1].y, p[1].x, n[0].y, n[0].x, sqrt(sm_point_dot(along, along)), turn);
        }
    }
}

static void cut_ring(const struct sm_patch_cut *k, const struct sm_solid *s, int owner, double turn)
{
    const double q = s->b + k->w,
                 span = q > s->a ? acos(-s->a / q) : M_PI; /* where the tube meets the axis */
    cut_arc(k, s, owner, s->a, 0.0, q, -span, span, turn);
}

/* A direction of a box: an axis, either way. */
static struct sm_triple way_of(const struct sm_solid *s, int axis, int side)
{
    const struct sm_triple zero = {0.0, 0.0, 0.0};
    return sm_triple_add(zero, side, s->axes[axis]);
}

/* A rectangle of the face across an axis, over the two axes that follow. */
static void cut_flat(const struct sm_patch_cut *k, const struct sm_solid *s, int owner, int axis, int side,
                     double s0, double s1, double t0, double t1)
{
    const double half[3] = {s->a, s->b, s->c};
    const int u = (axis + 1) % 3, v = (axis + 2) % 3;
    struct sm_patch f = patch_on(s, owner, SM_PATCH_FLAT);
    f.axes[0] = s->axes[u];
    f.axes[1] = s->axes[v];
    f.axes[2] = way_of(s, axis, side);
    f.is_upright = sm_triples_are_upright(f.axes);
    f.at = sm_triple_add(s->at, half[axis] + k->w, f.axes[2]);
    f.s0 = s0;
    f.s1 = s1;
    f.t0 = t0;
    f.t1 = t1;
    sm_patch_cut(k, &f);
}

/* Half of a box along an axis, as far as it is straight. */
static double straight_half(const struct sm_solid *s, int axis)
{
    const double half[3] = {s->a, s->b, s->c};
    return half[axis] - (axis < 2 ? s->fillet : 0.0);
}

/* The face across the rounded edges is put together from three rectangles; its rounded corners go with the box's. */
static void cut_face(const struct sm_patch_cut *k, const struct sm_solid *s, int owner, int axis, int side)
{
    const double u = straight_half(s, (axis + 1) % 3), v = straight_half(s, (axis + 2) % 3);
    if (axis < 2 || s->fillet == 0.0) {
        cut_flat(k, s, owner, axis, side, -u, u, -v, v);
        return;
    }
    cut_flat(k, s, owner, axis, side, -u, u, -s->b, s->b);
    cut_flat(k, s, owner, axis, side, -s->a, -u, -v, v);
    cut_flat(k, s, owner, axis, side, u, s->a, -v, v);
}

/* The edge along an axis, at the given sides of the others. */
static void cut_edge(const struct sm_patch_cut *k, const struct sm_solid *s, int owner, int axis,
                     const int side[3])
{
    const double half[3] = {s->a, s->b, s->c}, fillet = axis == 2 ? s->fillet : 0.0;
    const int u = (axis + 1) % 3, v = (axis + 2) % 3;
    struct sm_patch f = patch_on(s, owner, SM_PATCH_ROUND_EDGE);
    f.axes[0] = way_of(s, u, side[u]);
    f.axes[1] = way_of(s, v, side[v]);
    f.axes[2] = s->axes[axis];
    f.is_upright = sm_triples_are_upright(f.axes);
    f.at = sm_triple_add(sm_triple_add(s->at, half[u] - fillet, f.axes[0]), half[v] - fillet, f.axes[1]);
    f.radius = k->w + fillet;
    f.s1 = M_PI_2;
    f.t0 = -straight_half(s, axis);
    f.t1 = straight_half(s, axis);
    sm_patch_cut(k, &f);
}

/* A quarter of a ring's tube, and of the disc within, where the edges are rounded. */
static void cut_corner(const struct sm_patch_cut *k, const struct sm_solid *s, int owner, const int side[3])
{
    struct sm_solid corner = *s;
    for (int axis = 0; axis < 3; axis++) {
        corner.axes[axis] = way_of(s, axis, side[axis]);
        corner.at = sm_triple_add(corner.at, straight_half(s, axis), corner.axes[axis]);
    }
    cut_arc(k, &corner, owner, s->fillet, 0.0, k->w, 0.0, M_PI_2, M_PI_2);
    if (s->fillet > 0.0)
        cut_line(k, &corner, owner, s->fillet, k->w, 0.0, 1.0, s->fillet, M_PI_2);
}

static void cut_box(const struct sm_patch_cut *k, const struct sm_solid *s, int owner, unsigned hidden)
{
    for (int f = 0; f < SM_BOX_FEATURES; f++) {
        const int side[3] = {f % 3 - 1, f / 3 % 3 - 1, f / 9 - 1};
        const int sides = abs(side[0]) + abs(side[1]) + abs(side[2]);
        if (f == SM_BOX_MIDDLE || hidden >> f & 1)
            continue;
        if (sides == 3) {
            cut_corner(k, s, owner, side);
            continue;
        }
        int axis = 0; /* that a face stands across, or an edge runs along */
        while ((side[axis] != 0) != (sides == 1))
            axis++;
        if (sides == 1)
            cut_face(k, s, owner, axis, side[axis]);
        else
            cut_edge(k, s, owner, axis, side);
    }
}

static void cut_solid(const struct sm_patch_cut *k, int owner, double turn)
{
    const struct sm_solid *s = &k->patcher->solids[owner];
    const unsigned hidden = k->patcher->hidden[owner];
    switch (s->form) {
    case SM_SOLID_BALL:
        cut_arc(k, s, owner, 0.0, 0.0, s->a + k->w, -M_PI_2, M_PI_2, turn);
        break;
    case SM_SOLID_CONE:
        cut_cone(k, s, owner, hidden, turn);
        break;
    case SM_SOLID_BOX:
        cut_box(k, s, owner, hidden);
        break;
    case SM_SOLID_TURNED:
        cut_turned(k, s, owner, turn);
        break;
    case SM_SOLID_RING:
    default:
        cut_ring(k, s, owner, turn);
        break;
    }
}

static const struct sm_solid upright = {.axes = {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}}};

/* A face across the axis; it burns towards the grain's middle. */
static void cut_end(const struct sm_patch_cut *k, int owner, double z, double turn)
{
    const double radius = k->patcher->voids->radius;
    if (owner == SM_PATCH_FORE)
        cut_line(k, &upright, owner, radius, z, 0.0, 1.0, radius, turn);
    else
        cut_line(k, &upright, owner, 0.0, z, 0.0, -1.0, radius, turn);
}

/* ---- all of it ---- */

static double turn_of(const struct sm_patcher *p)
{
    return (p->is_mirrored ? M_PI : 2.0 * M_PI) / p->sectors;
}

static struct sm_patch_cut cutter_at(const struct sm_patcher *p, double w, struct sm_patch_sums *sums)
{
    const struct sm_voids *v = p->voids;
    *sums = (struct sm_patch_sums){.outward = 0.0};
    return (struct sm_patch_cut){.patcher = p,
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
    struct sm_patch_cut k = cutter_at(p, w, out);
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
        cut_end(&k, SM_PATCH_FORE, k.low, turn_of(p));
    if (p->voids->burning & SM_FACE_AFT_END)
        cut_end(&k, SM_PATCH_AFT, k.high, turn_of(p));
    unfold(p, out);
}

double sm_patcher_volume(const struct sm_patcher *p, double w)
{
    const double length = p->voids->length, radius = p->voids->radius;
    struct sm_patch_sums front, wall;
    sm_patcher_level(p, w, &front);
    struct sm_patch_cut k = cutter_at(p, w, &wall);
    if (k.high <= k.low)
        return 0.0;
    cut_line(&k, &upright, SM_PATCH_WALL, radius, 0.0, 1.0, 0.0, length, turn_of(p));
    const double side = wall.outward;
    if (!(p->voids->burning & SM_FACE_FORE_END)) /* its outward normal points the other way, but z is 0 */
        cut_end(&k, SM_PATCH_FORE, 0.0, turn_of(p));
    wall.outward = side;
    if (!(p->voids->burning & SM_FACE_AFT_END))
        cut_end(&k, SM_PATCH_AFT, length, turn_of(p));
    wall.outward = 2.0 * side - wall.outward; /* the end's, turned over */
    unfold(p, &wall);
    return (wall.outward - front.outward) / 3.0;
}

static double area_across(const struct sm_patcher *p, double z)
{
    struct sm_patch_sums sums;
    struct sm_patch_cut k = cutter_at(p, 0.0, &sums);
    cut_end(&k, SM_PATCH_AFT, z, turn_of(p));
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
