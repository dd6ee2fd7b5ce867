/* The tree of grain/nearest.h as its loops see it: grain/nearestlanes.h. */
#ifndef SM_GRAIN_NEARTREE_H
#define SM_GRAIN_NEARTREE_H

#include "grain/nearest.h"

enum { SM_TREE_WIDE = 4 }; /* children of a fork, and triangles of a leaf */

/* Boxes of the children; where there are fewer, boxes that are nowhere. */
struct sm_tree_fork {
    double low[3][SM_TREE_WIDE], high[3][SM_TREE_WIDE]; /* [m] */
    int child[SM_TREE_WIDE];                            /* forks, or ~ of leaves */
};

/* Triangles side by side; where there are fewer, the last one again. */
struct sm_tree_leaf {
    double corner[3][3][SM_TREE_WIDE]; /* of each corner, x, y and z [m] */
    size_t first;                      /* of them, in the tree's order */
    int n;
};

/* One for each set of instructions; as sm_tree_within. */
bool sm_nearest_plain(const struct sm_tree *tree, struct sm_vertex p, double reach, size_t guess,
                      struct sm_nearest *out);
bool sm_nearest_avx2(const struct sm_tree *tree, struct sm_vertex p, double reach, size_t guess,
                     struct sm_nearest *out);

#endif
