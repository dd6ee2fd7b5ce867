/* Exact distances from a port's solids at all nodes of a rectangular net. */
#ifndef SM_GRAIN_FILL_H
#define SM_GRAIN_FILL_H

#include <stddef.h>

#include "grain/patches.h"
#include "num/laneset.h"

/* Nodes in rows along z, rows of rows along y, and those along x: that of i, j, k is the ((i n[1] + j) n[2] + k)th. */
struct sm_net {
    struct sm_triple first,
        step; /* place of the first node, and from each to the next along x, y and z [m] */
    size_t n[3];
};

/*
 * Distance of every node from the nearest solid, burning ends included, as sm_patcher_distance has it for one place.
 *
 * Given:
 *   threads  0: as many as OpenMP thinks fit
 *   set      instructions, which the machine has
 * Returned:
 *   out      n[0] n[1] n[2] distances; negative inside [m]
 * Notes:
 *   1) Distances change by no more than the place moves. So of a block of nodes only those solids are looked at whose distance
 *      from its middle is at most the least one's and twice the way from the middle to a corner.
 *   2) In doubles within rounding of sm_patcher_distance; the same for any number of threads and any set. In floats the same
 *      numbers, rounded.
 */
void sm_fill_doubles(const struct sm_patcher *patcher, const struct sm_net *net, int threads,
                     enum sm_lane_set set, double *out);
void sm_fill_floats(const struct sm_patcher *patcher, const struct sm_net *net, int threads,
                    enum sm_lane_set set, float *out);

#endif
