#define LANE_WIDTH 4
#include "grain/fillrows.h"

void sm_fill_tile_avx2(const struct sm_fill_tile *tile)
{
    fill_tile(tile);
}
