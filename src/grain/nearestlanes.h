/*
 * The nearest of many triangles, four boxes or four triangles at a time, to be compiled once for each set of instructions. See
 * grain/nearest.h.
 */
#ifndef SM_GRAIN_NEARESTLANES_H
#define SM_GRAIN_NEARESTLANES_H

#include "base/fail.h"
#include "grain/neartree.h"
#include "num/lanemath.h"

enum { WIDE = SM_TREE_WIDE, MOST_WAITING = 3 * SM_TREE_DEPTH + 1 };

struct place {
    vec x, y, z; /* [m] */
};

LANE_INLINE vec dot(struct place a, struct place b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

LANE_INLINE struct place minus(struct place a, struct place b)
{
    return (struct place){a.x - b.x, a.y - b.y, a.z - b.z};
}

LANE_INLINE struct place corner(const struct sm_tree_leaf *leaf, int which, int from)
{
    return (struct place){load(leaf->corner[which][0] + from), load(leaf->corner[which][1] + from),
                          load(leaf->corner[which][2] + from)};
}

/* Share of a side from where it is left: none where it isn't entered. */
LANE_INLINE vec share_of(vec down, vec up)
{
    const vec zero = all(0.0);
    return pick(is_less(zero, down), smaller(down / (down + up), all(1.0)), zero);
}

/* The point of each triangle that is nearest to p, by the regions of its plane: the first that holds p. */
LANE_INLINE struct place nearest_on(const struct sm_tree_leaf *leaf, int from, struct place p)
{
    const vec zero = all(0.0), one = all(1.0);
    const struct place a = corner(leaf, 0, from), b = corner(leaf, 1, from), c = corner(leaf, 2, from);
    const struct place ab = minus(b, a), ac = minus(c, a), ap = minus(p, a), bp = minus(p, b),
                       cp = minus(p, c);
    const vec d1 = dot(ab, ap), d2 = dot(ac, ap), d3 = dot(ab, bp), d4 = dot(ac, bp), d5 = dot(ab, cp),
              d6 = dot(ac, cp);
    const vec vc = d1 * d4 - d3 * d2, vb = d5 * d2 - d1 * d6, va = d3 * d6 - d5 * d4, whole = va + vb + vc;
    const mask at_a = is_at_most(d1, zero) & is_at_most(d2, zero),
               at_b = is_at_most(zero, d3) & is_at_most(d4, d3),
               at_c = is_at_most(zero, d6) & is_at_most(d5, d6),
               on_ab = is_at_most(vc, zero) & is_at_most(zero, d1) & is_at_most(d3, zero),
               on_ac = is_at_most(vb, zero) & is_at_most(zero, d2) & is_at_most(d6, zero),
               on_bc = is_at_most(va, zero) & is_at_most(zero, d4 - d3) & is_at_most(zero, d5 - d6);
    const vec along_bc = share_of(d4 - d3, d5 - d6);
    vec v = vb / whole, w = vc / whole;
    v = pick(on_bc, one - along_bc, v);
    w = pick(on_bc, along_bc, w);
    v = pick(on_ac, zero, v);
    w = pick(on_ac, share_of(d2, -d6), w);
    v = pick(on_ab, share_of(d1, -d3), v);
    w = pick(on_ab, zero, w);
    v = pick(at_c, zero, pick(at_b, one, v));
    w = pick(at_c & ~at_b, one, pick(at_b, zero, w));
    v = pick(at_b, one, v);
    v = pick(at_a, zero, v);
    w = pick(at_a, zero, w);
    return (struct place){a.x + v * ab.x + w * ac.x, a.y + v * ab.y + w * ac.y, a.z + v * ab.z + w * ac.z};
}

/* Squares of the distances from p to a fork's boxes [m2]. */
LANE_INLINE vec box_squares(const struct sm_tree_fork *fork, int from, struct place p)
{
    const vec zero = all(0.0);
    const vec at[3] = {p.x, p.y, p.z};
    vec sum = zero;
    for (int k = 0; k < 3; k++) {
        const vec d =
            larger(larger(load(fork->low[k] + from) - at[k], at[k] - load(fork->high[k] + from)), zero);
        sum += d * d;
    }
    return sum;
}

/* Looks at a leaf. *best: square of the least distance so far [m2]. */
LANE_INLINE void try_leaf(const struct sm_tree_leaf *leaf, struct place p, double *best,
                          struct sm_nearest *out)
{
    double x[WIDE], y[WIDE], z[WIDE], square[WIDE];
    for (int from = 0; from < WIDE; from += LANE_WIDTH) {
        const struct place q = nearest_on(leaf, from, p), d = minus(p, q);
        store(x + from, q.x);
        store(y + from, q.y);
        store(z + from, q.z);
        store(square + from, dot(d, d));
    }
    for (int i = 0; i < leaf->n; i++)
        if (square[i] < *best) {
            *best = square[i];
            out->point = (struct sm_vertex){x[i], y[i], z[i]};
            out->triangle = leaf->first + (size_t)i;
        }
}

struct waiting {
    int child;
    double square; /* [m2] */
};

/* Puts a fork's children that may be nearer on the stack, the nearest last. */
LANE_INLINE int wait_for(const struct sm_tree_fork *fork, struct place p, double best, struct waiting *stack,
                         int n)
{
    double square[WIDE];
    for (int from = 0; from < WIDE; from += LANE_WIDTH)
        store(square + from, box_squares(fork, from, p));
    const int bottom = n;
    for (int i = 0; i < WIDE; i++) {
        if (!(square[i] < best))
            continue;
        int at = n++;
        for (; at > bottom && stack[at - 1].square < square[i]; at--)
            stack[at] = stack[at - 1];
        stack[at] = (struct waiting){fork->child[i], square[i]};
    }
    return n;
}

LANE_INLINE bool find_nearest(const struct sm_tree *tree, struct sm_vertex p, double reach, size_t guess,
                              struct sm_nearest *out)
{
    struct waiting stack[MOST_WAITING];
    const struct place at = {all(p.x), all(p.y), all(p.z)};
    const double most = reach * reach;
    double best = most;
    int n = 0;
    out->distance = SM_INF;
    try_leaf(&tree->leaves[tree->leaf_of[guess]], at, &best, out);
    stack[n++] = (struct waiting){tree->root, 0.0};
    while (n > 0) {
        const struct waiting *next = &stack[--n];
        if (!(next->square < best))
            continue;
        if (next->child < 0)
            try_leaf(&tree->leaves[~next->child], at, &best, out);
        else
            n = wait_for(&tree->forks[next->child], at, best, stack, n);
    }
    if (!(best < most))
        return false;
    out->distance = sqrt(best);
    return true;
}

#endif
