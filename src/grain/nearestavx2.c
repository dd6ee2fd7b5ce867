#define LANE_WIDTH 4
#include "grain/nearestlanes.h"

bool sm_nearest_avx2(const struct sm_tree *tree, struct sm_vertex p, double reach, size_t guess,
                     struct sm_nearest *out)
{
    return find_nearest(tree, p, reach, guess, out);
}
