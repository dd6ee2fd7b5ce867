/* What grain/patchcut.c hands to the loops of grain/patchlanes.h: one patch, and cells to begin with. */
#ifndef SM_GRAIN_PATCHCELLS_H
#define SM_GRAIN_PATCHCELLS_H

#include "grain/patchcut.h"

/* Cosine and sine of an angle. */
struct sm_turn {
    double c, s; /* [1] */
};

/* Halves of halves: a cell's sides are those of the first cells over a power of two. */
enum {
    SM_PATCH_DEPTH = 24,
    SM_PATCH_FINER = 4 /* what is so many times shorter than the patcher's cell is not halved any more */
};

/* Constraints of a cell: solids by number, then these. */
enum { SM_PATCH_WALLED = SM_MOST_SOLIDS, SM_PATCH_LOW, SM_PATCH_HIGH, SM_PATCH_PLANE, SM_PATCH_CONSTRAINTS };

struct sm_patch_active {
    int n;
    short items[SM_PATCH_CONSTRAINTS];
    double middle[SM_PATCH_CONSTRAINTS]; /* at the cell's middle [m] */
};

struct sm_patch_cells {
    const struct sm_patch_cut *cut;
    const struct sm_patch *patch;
    bool s_turns, t_turns; /* are angles */
    int n_s, n_t;          /* first cells either way */
    double half_s, half_t; /* sides of these, halved [m] or [rad] */
    struct sm_patch_active active;
    struct sm_turn halves_s[SM_PATCH_DEPTH], halves_t[SM_PATCH_DEPTH]; /* turns by half sides, by depth */
};

/* Adds to the sums what is seen of the patch; one for each set of instructions. */
void sm_patch_cells_plain(const struct sm_patch_cells *cells);
void sm_patch_cells_avx2(const struct sm_patch_cells *cells);

#endif
