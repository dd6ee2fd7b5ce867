/*
 * Distances from solids for LANE_WIDTH places at once, to be compiled for each set of instructions: see num/lanemath.h. The same
 * as those of sm_solid_distance but for rounding.
 */
#ifndef SM_GRAIN_SOLIDLANES_H
#define SM_GRAIN_SOLIDLANES_H

#include "grain/solid.h"
#include "num/lanemath.h"

/* Places, or directions [1] [m]. */
struct lane_place {
    vec x, y, z;
};

LANE_INLINE vec size_of(vec x)
{
    return larger(x, -x);
}

/* ---- in the solid's own frame ---- */

LANE_INLINE vec from_ball(const struct sm_solid *s, struct lane_place q)
{
    return root_of(q.x * q.x + q.y * q.y + q.z * q.z) - s->a;
}

LANE_INLINE vec from_box(const struct sm_solid *s, struct lane_place q)
{
    const vec zero = all(0.0), x = size_of(q.x) - s->a, y = size_of(q.y) - s->b, z = size_of(q.z) - s->c;
    const vec ox = larger(x, zero), oy = larger(y, zero), oz = larger(z, zero),
              most = larger(x, larger(y, z));
    return pick(is_at_most(most, zero), most, root_of(ox * ox + oy * oy + oz * oz));
}

/* One whose four edges along its third axis are rounded. */
LANE_INLINE vec from_rounded(const struct sm_solid *s, struct lane_place q)
{
    const vec zero = all(0.0), x = size_of(q.x) - (s->a - s->fillet), y = size_of(q.y) - (s->b - s->fillet),
              z = size_of(q.z) - s->c;
    const vec ox = larger(x, zero), oy = larger(y, zero);
    const vec across = root_of(ox * ox + oy * oy) + smaller(larger(x, y), zero) - s->fillet;
    const vec out = larger(across, zero), beyond = larger(z, zero), most = larger(across, z);
    return pick(is_at_most(most, zero), most, root_of(out * out + beyond * beyond));
}

LANE_INLINE vec from_cylinder(const struct sm_solid *s, struct lane_place q)
{
    const vec zero = all(0.0), side = root_of(q.x * q.x + q.y * q.y) - s->a, flat = larger(-q.z, q.z - s->c);
    const vec out = larger(side, zero), beyond = larger(flat, zero), most = larger(side, flat);
    return pick(is_at_most(most, zero), most, root_of(out * out + beyond * beyond));
}

/* Beside the slanted side, or from its nearest rim; before the foot and the top straight along the axis. */
LANE_INLINE vec from_cone(const struct sm_solid *s, struct lane_place q)
{
    const double length = sqrt((s->a - s->b) * (s->a - s->b) + s->c * s->c), nr = s->c / length,
                 nz = (s->a - s->b) / length;
    const vec zero = all(0.0), r = root_of(q.x * q.x + q.y * q.y), below = -q.z, above = q.z - s->c;
    const vec side = (r - s->a) * nr + q.z * nz, t = q.z * nr - (r - s->a) * nz;
    const vec off = larger(-t, zero) + larger(t - length, zero), slanted = root_of(side * side + off * off);
    const vec inside = larger(side, larger(below, above));
    const mask before_foot = is_at_most(zero, below) & is_at_most(r, all(s->a)),
               before_top = is_at_most(zero, above) & is_at_most(r, all(s->b));
    return pick(is_at_most(inside, zero), inside, pick(before_foot, below, pick(before_top, above, slanted)));
}

/* What sm_turned_distance does, an edge after the other, for q at heights q.z. */
LANE_INLINE vec from_turned(const struct sm_solid *s, struct lane_place q)
{
    const struct sm_turned *t = s->turned;
    const vec zero = all(0.0), x = q.z, y = root_of(q.x * q.x + q.y * q.y);
    vec least = all(SM_INF);
    mask is_inside = is_less(zero, zero), is_capped = is_inside;
    for (size_t i = 0; i < t->n_edges; i++) {
        const struct sm_turned_edge *e = &t->edges[i];
        const vec dx = x - e->a.x, dy = y - e->a.y, side = e->u.x * dy - e->u.y * dx;
        const mask is_past = is_less(x, all(e->a.x)) ^ is_less(x, all(e->b.x));
        is_inside ^= is_past & (e->u.x > 0.0 ? is_less(side, zero) : is_less(zero, side));
        if (!e->is_arc) {
            const vec along = larger(zero, smaller(dx * e->u.x + dy * e->u.y, all(e->length)));
            const vec ex = dx - along * e->u.x, ey = dy - along * e->u.y;
            least = smaller(least, ex * ex + ey * ey);
            continue;
        }
        const struct sm_point ca = sm_point_minus(e->a, e->centre), cb = sm_point_minus(e->b, e->centre);
        const vec cx = x - e->centre.x, cy = y - e->centre.y, c2 = cx * cx + cy * cy,
                  off = root_of(c2) - e->radius, bx = x - e->b.x, by = y - e->b.y;
        const mask is_beside = is_less(zero, ca.x * cy - ca.y * cx) & is_less(zero, cx * cb.y - cy * cb.x);
        least = smaller(least, pick(is_beside, off * off, smaller(dx * dx + dy * dy, bx * bx + by * by)));
        is_capped |= is_at_most(side, zero) & is_less(c2, all(e->radius * e->radius));
    }
    const vec d = root_of(least);
    return pick(is_inside | is_capped, -d, d);
}

/* ---- in space ---- */

/* Into a solid's own frame. */
LANE_INLINE struct lane_place into_frame(const struct sm_solid *s, struct lane_place p)
{
    const struct sm_triple *e = s->axes;
    const vec x = p.x - s->at.x, y = p.y - s->at.y, z = p.z - s->at.z;
    if (s->is_upright)
        return (struct lane_place){x * e[0].x + y * e[0].y, x * e[1].x + y * e[1].y, z};
    return (struct lane_place){x * e[0].x + y * e[0].y + z * e[0].z, x * e[1].x + y * e[1].y + z * e[1].z,
                               x * e[2].x + y * e[2].y + z * e[2].z};
}

/* A direction out of a frame of such axes. */
LANE_INLINE struct lane_place out_of_frame(const struct sm_triple e[3], bool is_upright, vec x, vec y, vec z)
{
    if (is_upright)
        return (struct lane_place){x * e[0].x + y * e[1].x, x * e[0].y + y * e[1].y, z};
    return (struct lane_place){x * e[0].x + y * e[1].x + z * e[2].x, x * e[0].y + y * e[1].y + z * e[2].y,
                               x * e[0].z + y * e[1].z + z * e[2].z};
}

/* One by one: forms that have nothing of their own above. */
LANE_INLINE vec from_any(const struct sm_solid *s, struct lane_place p)
{
    vec d = p.x;
    for (int i = 0; i < LANE_WIDTH; i++)
        d[i] = sm_solid_distance(s, (struct sm_triple){p.x[i], p.y[i], p.z[i]});
    return d;
}

LANE_INLINE vec distances_from(const struct sm_solid *s, struct lane_place p)
{
    switch (s->form) {
    case SM_SOLID_BALL:
        return from_ball(s, into_frame(s, p));
    case SM_SOLID_BOX:
        return s->fillet > 0.0 ? from_rounded(s, into_frame(s, p)) : from_box(s, into_frame(s, p));
    case SM_SOLID_CONE:
        return s->a == s->b ? from_cylinder(s, into_frame(s, p)) : from_cone(s, into_frame(s, p));
    case SM_SOLID_TURNED:
        return from_turned(s, into_frame(s, p));
    case SM_SOLID_RING:
    default:
        return from_any(s, p);
    }
}

#endif
