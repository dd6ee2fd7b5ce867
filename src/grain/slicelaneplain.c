#define LANE_WIDTH 2
#include "grain/slicelanes.h"
#include "grain/slicemarks.h"

void sm_row_place_plain(struct sm_row *row)
{
    place_joints(row);
}

void sm_row_sum_plain(struct sm_row *row)
{
    sum_lanes(row);
}

void sm_row_look_plain(struct sm_slice_look *look)
{
    mark_slices(look);
}
