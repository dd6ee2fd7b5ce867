#include "grain/nearest.h"

#include <math.h>

#include "grain/neartree.h"

/* A box with two in it, or with triangles: what the wide tree is made from. */
struct box {
    double low[3], high[3]; /* [m] */
    size_t first, n;        /* triangles of a leaf; n = 0 for a fork */
    size_t right;           /* of a fork; the left one is the next box */
};

static double axis_of(struct sm_vertex v, int axis)
{
    return axis == 0 ? v.x : axis == 1 ? v.y : v.z;
}

/* ---- boxes in boxes ---- */

struct builder {
    struct sm_vertex *corners;
    struct box *boxes;
    size_t n_boxes;
    struct sm_tree *tree;
    int n_forks, n_leaves;
};

static void bound(const struct builder *b, size_t first, size_t n, struct box *node)
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
    const size_t at = b->n_boxes++;
    struct box *node = &b->boxes[at];
    bound(b, first, n, node);
    if (n <= SM_TREE_WIDE) {
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

/* ---- the wide tree ---- */

static int add_leaf(struct builder *b, const struct box *box)
{
    struct sm_tree_leaf *leaf = &b->tree->leaves[b->n_leaves];
    leaf->first = box->first;
    leaf->n = (int)box->n;
    for (size_t i = 0; i < SM_TREE_WIDE; i++) {
        const size_t at = box->first + (i < box->n ? i : box->n - 1);
        for (size_t c = 0; c < 3; c++)
            for (int axis = 0; axis < 3; axis++)
                leaf->corner[c][axis][i] = axis_of(b->corners[3 * at + c], axis);
        b->tree->leaf_of[at] = b->n_leaves;
    }
    return ~b->n_leaves++;
}

static double size_of(const struct box *box)
{
    const double x = box->high[0] - box->low[0], y = box->high[1] - box->low[1],
                 z = box->high[2] - box->low[2];
    return x * y + y * z + z * x;
}

static int widen(struct builder *b, size_t at);

/* Up to four boxes in a box, the largest of them opened first; each is a child of the fork. */
static int add_fork(struct builder *b, size_t at)
{
    size_t inside[SM_TREE_WIDE] = {at + 1, b->boxes[at].right};
    int n = 2;
    while (n < SM_TREE_WIDE) {
        int open = -1;
        for (int i = 0; i < n; i++)
            if (b->boxes[inside[i]].n == 0 &&
                (open < 0 || size_of(&b->boxes[inside[i]]) > size_of(&b->boxes[inside[open]])))
                open = i;
        if (open < 0)
            break;
        const size_t opened = inside[open];
        inside[open] = opened + 1;
        inside[n++] = b->boxes[opened].right;
    }
    const int number = b->n_forks++;
    for (int i = 0; i < SM_TREE_WIDE; i++) {
        const int child = i < n ? widen(b, inside[i]) : 0;
        struct sm_tree_fork *fork = &b->tree->forks[number];
        fork->child[i] = child;
        for (int axis = 0; axis < 3; axis++) {
            fork->low[axis][i] = i < n ? b->boxes[inside[i]].low[axis] : SM_INF;
            fork->high[axis][i] = i < n ? b->boxes[inside[i]].high[axis] : -SM_INF;
        }
    }
    return number;
}

static int widen(struct builder *b, size_t at)
{
    return b->boxes[at].n > 0 ? add_leaf(b, &b->boxes[at]) : add_fork(b, at);
}

/* Boxes are halved until there are four triangles in them or fewer, so that there are two at least in each of several. */
static enum sm_status make_tree(struct sm_arena *arena, struct sm_arena *scratch, size_t n, struct builder *b,
                                struct sm_error *err)
{
    struct sm_tree *out = b->tree;
    b->boxes = sm_arena_alloc(scratch, 2 * n, sizeof *b->boxes);
    out->forks = sm_arena_alloc(arena, n / 2 + 1, sizeof *out->forks);
    out->leaves = sm_arena_alloc(arena, n / 2 + 1, sizeof *out->leaves);
    out->leaf_of = sm_arena_alloc(arena, n, sizeof *out->leaf_of);
    if (!b->boxes || !out->forks || !out->leaves || !out->leaf_of)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    build(b, 0, n);
    out->root = widen(b, 0);
    return SM_OK;
}

enum sm_status sm_tree_init(struct sm_arena *arena, struct sm_triangles *triangles, struct sm_tree *out,
                            struct sm_error *err)
{
    struct builder b = {.corners = triangles->corners, .tree = out};
    struct sm_arena scratch;
    *out = (struct sm_tree){.triangles = triangles, .set = sm_lane_set_best()};
    sm_arena_init(&scratch, arena->allocator);
    const enum sm_status status = make_tree(arena, &scratch, triangles->n, &b, err);
    sm_arena_release(&scratch);
    return status;
}

/* ---- asking ---- */

bool sm_tree_within(const struct sm_tree *tree, struct sm_vertex p, double reach, size_t guess,
                    struct sm_nearest *out)
{
#ifdef SM_LANES_X86
    if (tree->set >= SM_LANE_AVX2)
        return sm_nearest_avx2(tree, p, reach, guess, out);
#endif
    return sm_nearest_plain(tree, p, reach, guess, out);
}

void sm_tree_nearest(const struct sm_tree *tree, struct sm_vertex p, size_t guess, struct sm_nearest *out)
{
    sm_tree_within(tree, p, SM_INF, guess, out);
}
