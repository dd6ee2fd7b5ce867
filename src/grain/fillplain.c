#define LANE_WIDTH 2
#include "grain/fillrows.h"

void sm_fill_tile_plain(const struct sm_fill_tile *tile)
{
    fill_tile(tile);
}
