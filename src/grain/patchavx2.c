#define LANE_WIDTH 4
#include "grain/patchlanes.h"

void sm_patch_cells_avx2(const struct sm_patch_cells *cells)
{
    cut_patch(cells);
}
