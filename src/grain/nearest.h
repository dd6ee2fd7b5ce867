/* The nearest of many triangles, by a tree of boxes. */
#ifndef SM_GRAIN_NEAREST_H
#define SM_GRAIN_NEAREST_H

#include <stdbool.h>

#include "grain/mesh.h"
#include "num/laneset.h"

enum { SM_TREE_DEPTH = 64 };

struct sm_tree_fork;
struct sm_tree_leaf;
struct sm_tree {
    const struct sm_triangles *triangles; /* borrowed; the tree puts them in an order of its own */
    struct sm_tree_fork *forks;
    struct sm_tree_leaf *leaves;
    int *leaf_of;         /* of each triangle */
    int root;             /* a fork, or ~ of a leaf */
    enum sm_lane_set set; /* instructions to ask it with: the best that are there */
};

/* Sorts the triangles into the tree; both live as long as the arena. */
enum sm_status sm_tree_init(struct sm_arena *arena, struct sm_triangles *triangles, struct sm_tree *out,
                            struct sm_error *err) SM_MUST_CHECK;

struct sm_nearest {
    struct sm_vertex point; /* on the triangle */
    double distance;        /* [m] */
    size_t triangle;        /* place in the tree's order */
};

/*
 * The point of all triangles that is nearest to p, exact to rounding.
 *
 * Given: guess, a triangle thought to be near (that of a neighbouring p), or 0.
 * Notes:
 *   1) A triangle's nearest point by the regions of its plane: corner, edge or face.
 * Reference: Ericson, Real-Time Collision Detection, 2005, 5.1.5.
 */
void sm_tree_nearest(const struct sm_tree *tree, struct sm_vertex p, size_t guess, struct sm_nearest *out);

/* The same where it is less than the reach away [m]. Returned: false if none is; the point and the triangle are left alone then, and
 * the distance is SM_INF. */
bool sm_tree_within(const struct sm_tree *tree, struct sm_vertex p, double reach, size_t guess,
                    struct sm_nearest *out);

#endif
