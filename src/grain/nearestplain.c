#define LANE_WIDTH 2
#include "grain/nearestlanes.h"

bool sm_nearest_plain(const struct sm_tree *tree, struct sm_vertex p, double reach, size_t guess,
                      struct sm_nearest *out)
{
    return find_nearest(tree, p, reach, guess, out);
}
