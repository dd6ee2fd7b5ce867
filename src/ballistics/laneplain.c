#define LANE_WIDTH 2
#include "ballistics/lanemarch.h"

void sm_lane_march_plain(struct sm_lanes *lanes)
{
    march_lanes(lanes);
}
