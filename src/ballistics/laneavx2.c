#define LANE_WIDTH 4
#include "ballistics/lanemarch.h"

void sm_lane_march_avx2(struct sm_lanes *lanes)
{
    march_lanes(lanes);
}
