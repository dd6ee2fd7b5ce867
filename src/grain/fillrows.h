/*
 * A tile of nodes filled with distances, LANE_WIDTH at a time, to be compiled once for each instruction set. See grain/fill.h.
 *
 * Each set does the same IEEE operations in the same order: + - * /, square roots and comparisons, without contraction.
 */
#ifndef SM_GRAIN_FILLROWS_H
#define SM_GRAIN_FILLROWS_H

#include "base/fail.h"
#include "grain/filltile.h"
#include "grain/solidlanes.h"

enum { VECTORS = SM_FILL_ROW / LANE_WIDTH };

LANE_INLINE vec from_plane(const struct sm_solid *s, struct lane_place q)
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
        *d = sqrt(at.x * at.x + at.y * at.y) - s->solid.a;
    } else {
        const double x = fabs(at.x) - s->solid.a, y = fabs(at.y) - s->solid.b, ox = x > 0.0 ? x : 0.0,
                     oy = y > 0.0 ? y : 0.0;
        *d = sqrt(ox * ox + oy * oy);
    }
    return *d > 0.0;
}

/* What is nearer than anything before. */
LANE_INLINE void add_solid(const struct sm_fill_tile *t, int a,
                           vec (*from)(const struct sm_solid *s, struct lane_place q),
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
                const vec d = from(
                    &s.solid, (struct lane_place){at.x + k * e[2].x, at.y + k * e[2].y, at.z + k * e[2].z});
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
