#define LANE_WIDTH 2
#include "grain/patchlanes.h"

void sm_patch_cells_plain(const struct sm_patch_cells *cells)
{
    cut_patch(cells);
}
