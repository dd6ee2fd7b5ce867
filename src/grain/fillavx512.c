#define LANE_WIDTH 8
#include "grain/fillrows.h"

void sm_fill_tile_avx512(const struct sm_fill_tile *tile)
{
    fill_tile(tile);
}
