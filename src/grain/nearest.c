#include "grain/nearest.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

enum { LEAF = 4, DEEPEST = 64 };

struct sm_box_node {
    double low[3], high[3]; /* [m] */
    size_t first, n;        /* triangles of a leaf; n = 0 for a fork */
    size_t right;           /* of a fork; the left one is the next node */
};

/* Round a triangle. */
struct sm_ball {
    struct sm_vertex middle; /* [m] */
    double radius;           /* [m] */
};

static double axis_of(struct sm_vertex v, int axis)
{
    return axis == 0 ? v.x : axis == 1 ? v.y : v.z;
}

static struct sm_vertex minus(struct sm_vertex a, struct sm_vertex b)
{
    return (struct sm_vertex){a.x - b.x, a.y - b.y, a.z - b.z};
}

static struct sm_vertex along(struct sm_vertex a, struct sm_vertex d, double t)
{
    return (struct sm_vertex){a.x + t * d.x, a.y + t * d.y, a.z + t * d.z};
}

static double dot(struct sm_vertex a, struct sm_vertex b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

/* ---- the tree ---- */

struct builder {
    struct sm_vertex *corners;
    struct sm_box_node *nodes;
    size_t n_nodes;
};

static void bound(const struct builder *b, size_t first, size_t n, struct sm_box_node *node)
{
    for (int axis = 0; axis < 3; axis++) {
        node->low[axis] = SM_INF;
        node->high[axis] = -SM_INF;
        for (size_t i = 3 * first; i < 3 * (first + n); i++) {
            const double x = axis_of(b->corners[i], axis);
            node->low[axis] = fmin(node->low[axis], x);
            node->high[axis] = fmax(node->high[axis], x);
        }
    }
}

static double middle_of(const struct builder *b, size_t i, int axis)
{
    const struct sm_vertex *c = b->corners + 3 * i;
    return axis_of(c[0], axis) + axis_of(c[1], axis) + axis_of(c[2], axis);
}

static void swap(struct builder *b, size_t i, size_t j)
{
    for (size_t k = 0; k < 3; k++) {
        const struct sm_vertex v = b->corners[3 * i + k];
        b->corners[3 * i + k] = b->corners[3 * j + k];
        b->corners[3 * j + k] = v;
    }
}

/* Partly sorts [first, first + n) by middles so that the k-th is in its place (Hoare's selection). */
static void select_middle(struct builder *b, size_t first, size_t n, size_t k, int axis)
{
    size_t low = first, high = first + n - 1;
    while (low < high) {
        const double pivot = middle_of(b, low + (high - low) / 2, axis);
        size_t i = low, j = high;
        for (;;) {
            while (middle_of(b, i, axis) < pivot)
                i++;
            while (middle_of(b, j, axis) > pivot)
                j--;
            if (i >= j)
                break;
            swap(b, i++, j--);
        }
        const size_t split = middle_of(b, j, axis) <= pivot ? j : j - 1;
        if (k <= split && split < high)
            high = split;
        else if (split < high)
            low = split + 1;
        else
            return;
    }
}

static size_t build(struct builder *b, size_t first, size_t n)
{
    const size_t at = b->n_nodes++;
    struct sm_box_node *node = &b->nodes[at];
    bound(b, first, n, node);
    if (n <= LEAF) {
        node->first = first;
        node->n = n;
        return at;
    }
    int axis = 0;
    for (int k = 1; k < 3; k++)
        if (node->high[k] - node->low[k] > node->high[axis] - node->low[axis])
            axis = k;
    const size_t half = n / 2;
    select_middle(b, first, n, first + half, axis);
    build(b, first, half);
    node->right = build(b, first + half, n - half);
    return at;
}

static struct sm_ball ball_round(const struct sm_vertex *t)
{
    struct sm_ball ball = {{(t[0].x + t[1].x + t[2].x) / 3.0, (t[0].y + t[1].y + t[2].y) / 3.0,
                            (t[0].z + t[1].z + t[2].z) / 3.0},
                           0.0};
    for (int i = 0; i < 3; i++) {
        const struct sm_vertex d = minus(t[i], ball.middle);
        ball.radius = fmax(ball.radius, sqrt(dot(d, d)) * (1.0 + 1e-9)); /* rounding kept */
    }
    return ball;
}

enum sm_status sm_tree_init(struct sm_arena *arena, struct sm_triangles *triangles, struct sm_tree *out,
                            struct sm_error *err)
{
    struct builder b = {.corners = triangles->corners};
    b.nodes = sm_arena_alloc(arena, 2 * triangles->n, sizeof *b.nodes);
    struct sm_ball *balls = sm_arena_alloc(arena, triangles->n, sizeof *balls);
    if (!b.nodes || !balls)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    build(&b, 0, triangles->n);
    for (size_t i = 0; i < triangles->n; i++)
        balls[i] = ball_round(triangles->corners + 3 * i);
    *out = (struct sm_tree){triangles, b.nodes, balls};
    return SM_OK;
}

/* ---- asking ---- */

static struct sm_vertex on_side(struct sm_vertex a, struct sm_vertex ab, double down, double up)
{
    return along(a, ab, down > 0.0 ? fmin(down / (down + up), 1.0) : 0.0);
}

static struct sm_vertex nearest_on(const struct sm_vertex *t, struct sm_vertex p)
{
    const struct sm_vertex ab = minus(t[1], t[0]), ac = minus(t[2], t[0]), bc = minus(t[2], t[1]);
    const struct sm_vertex ap = minus(p, t[0]), bp = minus(p, t[1]), cp = minus(p, t[2]);
    const double d1 = dot(ab, ap), d2 = dot(ac, ap), d3 = dot(ab, bp), d4 = dot(ac, bp), d5 = dot(ab, cp),
                 d6 = dot(ac, cp);
    if (d1 <= 0.0 && d2 <= 0.0)
        return t[0];
    if (d3 >= 0.0 && d4 <= d3)
        return t[1];
    if (d6 >= 0.0 && d5 <= d6)
        return t[2];
    const double vc = d1 * d4 - d3 * d2, vb = d5 * d2 - d1 * d6, va = d3 * d6 - d5 * d4;
    if (vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0)
        return on_side(t[0], ab, d1, -d3);
    if (vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0)
        return on_side(t[0], ac, d2, -d6);
    if (va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0)
        return on_side(t[1], bc, d4 - d3, d5 - d6);
    const double whole = va + vb + vc;
    return along(along(t[0], ab, vb / whole), ac, vc / whole);
}

static double box_square(const struct sm_box_node *node, struct sm_vertex p)
{
    double sum = 0.0;
    for (int axis = 0; axis < 3; axis++) {
        const double x = axis_of(p, axis);
        const double d = x < node->low[axis]    ? node->low[axis] - x
                         : x > node->high[axis] ? x - node->high[axis]
                                                : 0.0;
        sum += d * d;
    }
    return sum;
}

/* The nearest so far. */
struct best {
    double distance, square; /* [m], [m2] */
};

static void try_triangle(const struct sm_tree *tree, size_t i, struct sm_vertex p, struct best *best,
                         struct sm_nearest *out)
{
    const struct sm_ball *ball = &tree->balls[i];
    const struct sm_vertex off = minus(p, ball->middle);
    const double far = best->distance + ball->radius;
    if (dot(off, off) >= far * far)
        return;
    const struct sm_vertex q = nearest_on(tree->triangles->corners + 3 * i, p), d = minus(p, q);
    const double square = dot(d, d);
    if (!(square < best->square))
        return;
    *best = (struct best){sqrt(square), square};
    out->point = q;
    out->triangle = i;
}

bool sm_tree_within(const struct sm_tree *tree, struct sm_vertex p, double reach, size_t guess,
                    struct sm_nearest *out)
{
    struct {
        size_t node;
        double square; /* [m2] */
    } stack[DEEPEST];
    struct best best = {reach, reach * reach};
    int n = 0;
    out->distance = SM_INF;
    try_triangle(tree, guess, p, &best, out);
    stack[n].node = 0;
    stack[n++].square = 0.0;
    while (n > 0) {
        n--;
        if (!(stack[n].square < best.square))
            continue;
        const size_t at = stack[n].node;
        const struct sm_box_node *node = &tree->nodes[at];
        for (size_t i = 0; i < node->n; i++)
            try_triangle(tree, node->first + i, p, &best, out);
        if (node->n > 0)
            continue;
        const double left = box_square(&tree->nodes[at + 1], p),
                     right = box_square(&tree->nodes[node->right], p);
        const bool left_first = left <= right;
        stack[n].node = left_first ? node->right : at + 1;
        stack[n++].square = left_first ? right : left;
        stack[n].node = left_first ? at + 1 : node->right;
        stack[n++].square = left_first ? left : right;
    }
    if (!(best.square < reach * reach))
        return false;
    out->distance = best.distance;
    return true;
}

void sm_tree_nearest(const struct sm_tree *tree, struct sm_vertex p, size_t guess, struct sm_nearest *out)
{
    sm_tree_within(tree, p, SM_INF, guess, out);
}
