#define LANE_WIDTH 4
#include "grain/slicelanes.h"
#include "grain/slicemarks.h"

void sm_row_place_avx2(struct sm_row *row)
{
    place_joints(row);
}

void sm_row_sum_avx2(struct sm_row *row)
{
    sum_lanes(row);
}

void sm_row_look_avx2(struct sm_slice_look *look)
{
    mark_slices(look);
}
