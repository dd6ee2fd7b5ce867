/*
 * A tile of nodes filled with distances, LANE_WIDTH at a time, to be compiled once for each instruction set. See grain/fill.h.
 *
 * Each set does the same IEEE operations in the same order: + - * /, square roots and comparisons, without contraction.
 */
#ifndef SM_GRAIN_FILLROWS_H
#define SM_GRAIN_FILLROWS_H

#include "base/fail.h"
#include "grain/filltile.h"
#include "num/lanemath.h"

enum { VECTORS = SM_FILL_ROW / LANE_WIDTH };

/* Nodes in a solid's own frame [m]. */
struct lane_place {
    vec x, y, z;
};

LANE_INLINE vec size_of(vec x)
{
    return larger(x, -x);
}

LANE_INLINE vec from_ball(const struct sm_fill_solid *s, struct lane_place q)
{
    return root_of(q.x * q.x + q.y * q.y + q.z * q.z) - s->a;
}

LANE_INLINE vec from_box(const struct sm_fill_solid *s, struct lane_place q)
{
    const vec zero = all(0.0), x = size_of(q.x) - s->a, y = size_of(q.y) - s->b, z = size_of(q.z) - s->c;
    const vec ox = larger(x, zero), oy = larger(y, zero), oz = larger(z, zero),
              most = larger(x, larger(y, z));
    return pick((mask)(most <= zero), most, root_of(ox * ox + oy * oy + oz * oz));
}

LANE_INLINE vec from_cylinder(const struct sm_fill_solid *s, struct lane_place q)
{
    const vec zero = all(0.0), side = root_of(q.x * q.x + q.y * q.y) - s->a, flat = larger(-q.z, q.z - s->c);
    const vec out = larger(side, zero), beyond = larger(flat, zero), most = larger(side, flat);
    return pick((mask)(most <= zero), most, root_of(out * out + beyond * beyond));
}

/* Beside the slanted side, or from its nearest rim; before the foot and the top straight along the axis. */
LANE_INLINE vec from_cone(const struct sm_fill_solid *s, struct lane_place q)
{
    const vec zero = all(0.0), r = root_of(q.x * q.x + q.y * q.y), below = -q.z, above = q.z - s->c;
    const vec side = (r - s->a) * s->nr + q.z * s->nz, t = q.z * s->nr - (r - s->a) * s->nz;
    const vec off = larger(-t, zero) + larger(t - s->side, zero), slanted = root_of(side * side + off * off);
    const vec inside = larger(side, larger(below, above));
    const mask before_foot = (mask)(below >= zero) & (mask)(r <= s->a),
               before_top = (mask)(above >= zero) & (mask)(r <= s->b);
    return pick((mask)(inside <= zero), inside, pick(before_foot, below, pick(before_top, above, slanted)));
}

/* One by one, in space: a ring, and what other forms there are. */
LANE_INLINE vec from_any(const struct sm_fill_solid *s, struct lane_place q)
{
    vec d = q.x;
    for (int i = 0; i < LANE_WIDTH; i++)
        d[i] = sm_solid_distance(s->solid, (struct sm_triple){q.x[i], q.y[i], q.z[i]});
    return d;
}

LANE_INLINE vec from_plane(const struct sm_fill_solid *s, struct lane_place q)
{
    (void)s;
    return q.z;
}

/* A row along a solid's sides is as far off all over as it is across. Returned: false if this isn't one; *d [m]. */
LANE_INLINE int is_beside(const struct sm_fill_solid *s, struct sm_triple at, double *d)
{
    if (!(at.z >= s->low && at.z + (SM_FILL_ROW - 1) * s->along[2].z <= s->high))
        return 0;
    if (s->form == SM_FILL_CYLINDER) {
        *d = sqrt(at.x * at.x + at.y * at.y) - s->a;
    } else {
        const double x = fabs(at.x) - s->a, y = fabs(at.y) - s->b, ox = x > 0.0 ? x : 0.0,
                     oy = y > 0.0 ? y : 0.0;
        *d = sqrt(ox * ox + oy * oy);
    }
    return *d > 0.0;
}

/* What is nearer than anything before. */
LANE_INLINE void add_solid(const struct sm_fill_tile *t, int a,
                           vec (*from)(const struct sm_fill_solid *s, struct lane_place q),
                           vec least[SM_FILL_ROWS * VECTORS])
{
    const struct sm_fill_solid s = t->solids[t->near[a]];
    const struct sm_triple start = t->starts[a], *const e = s.along;
    vec number;
    for (int i = 0; i < LANE_WIDTH; i++)
        number[i] = i;
    for (size_t i = 0; i < t->n[0]; i++)
        for (size_t j = 0; j < t->n[1]; j++) {
            const struct sm_triple at = sm_triple_add(sm_triple_add(start, (double)i, e[0]), (double)j, e[1]);
            vec *const row = least + (i * t->n[1] + j) * VECTORS;
            double beside;
            if (is_beside(&s, at, &beside)) {
                for (int v = 0; v < VECTORS; v++)
                    row[v] = a == 0 ? all(beside) : smaller(all(beside), row[v]);
                continue;
            }
            for (int v = 0; v < VECTORS; v++) {
                const vec k = number + (double)(v * LANE_WIDTH);
                const vec d =
                    from(&s, (struct lane_place){at.x + k * e[2].x, at.y + k * e[2].y, at.z + k * e[2].z});
                row[v] = a == 0 ? d : smaller(d, row[v]);
            }
        }
}

LANE_INLINE void add_any_solid(const struct sm_fill_tile *t, int a, vec least[SM_FILL_ROWS * VECTORS])
{
    switch (t->solids[t->near[a]].form) {
    case SM_FILL_BALL:
        add_solid(t, a, from_ball, least);
        break;
    case SM_FILL_BOX:
        add_solid(t, a, from_box, least);
        break;
    case SM_FILL_CYLINDER:
        add_solid(t, a, from_cylinder, least);
        break;
    case SM_FILL_CONE:
        add_solid(t, a, from_cone, least);
        break;
    case SM_FILL_PLANE:
        add_solid(t, a, from_plane, least);
        break;
    case SM_FILL_ANY:
    default:
        add_solid(t, a, from_any, least);
        break;
    }
}

/* A row's nodes, of which the last tile along z has fewer. */
LANE_INLINE void put_row(const struct sm_fill_tile *t, size_t at, const double row[SM_FILL_ROW])
{
    const size_t n = t->n[2] < SM_FILL_ROW ? t->n[2] : SM_FILL_ROW;
    if (t->doubles)
        for (size_t k = 0; k < n; k++)
            t->doubles[at + k] = row[k];
    else
        for (size_t k = 0; k < n; k++)
            t->floats[at + k] = (float)row[k];
}

LANE_INLINE void fill_tile(const struct sm_fill_tile *t)
{
    vec least[SM_FILL_ROWS * VECTORS];
    for (int a = 0; a < t->n_near; a++)
        add_any_solid(t, a, least);
    for (size_t i = 0; i < t->n[0]; i++)
        for (size_t j = 0; j < t->n[1]; j++)
            put_row(t, t->at + i * t->stride[0] + j * t->stride[1],
                    (const double *)(least + (i * t->n[1] + j) * VECTORS));
}

#endif
