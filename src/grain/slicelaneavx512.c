#define LANE_WIDTH 8
#include "grain/slicelanes.h"
#include "grain/slicemarks.h"

void sm_row_place_avx512(struct sm_row *row)
{
    place_joints(row);
}

void sm_row_sum_avx512(struct sm_row *row)
{
    sum_lanes(row);
}

void sm_row_look_avx512(struct sm_slice_look *look)
{
    mark_slices(look);
}
