#define LANE_WIDTH 8
#include "ballistics/lanemarch.h"

void sm_lane_march_avx512(struct sm_lanes *lanes)
{
    march_lanes(lanes);
}
