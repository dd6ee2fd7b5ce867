/*
 * Cuts one patch of a front in space by everything that has burned or bounds it, and sums what is left. See grain/patches.h.
 */
#ifndef SM_GRAIN_PATCHCUT_H
#define SM_GRAIN_PATCHCUT_H

#include "grain/patches.h"

enum sm_patch_kind {
    SM_PATCH_TURNED_LINE, /* s along a line of the meridian, t round the axis */
    SM_PATCH_TURNED_ARC,  /* s on an arc of the meridian, t round the axis */
    SM_PATCH_FLAT,        /* s and t along the first two axes */
    SM_PATCH_ROUND_EDGE   /* s about an edge, t along it: the third axis */
};

/* Owners that are no solids, but planes and the grain's wall. */
enum { SM_PATCH_WALL = -3, SM_PATCH_FORE = -2, SM_PATCH_AFT = -1 };

/* Arcs span half a turn at most, or a whole one about the middle of 0. */
struct sm_patch {
    enum sm_patch_kind kind;
    int owner;                    /* solid, or one of those that are none */
    struct sm_triple at, axes[3]; /* [m], [1] */
    bool is_upright;              /* the third axis is the grain's */
    double r, z;                  /* meridian at s = 0, or its arc's middle [m] */
    double nr, nz;                /* outward normal of the meridian's line [1] */
    double radius;                /* of the arc or the rounded edge [m] */
    double s0, s1, t0, t1;        /* [m] or [rad] */
};

struct sm_patch_cut {
    const struct sm_patcher *patcher;
    double w, low, high; /* distance burned; the grain lies between low and high [m] */
    bool has_plane;      /* only the side that this normal points to is wanted, of solids' patches */
    struct sm_triple plane;
    struct sm_patch_sums *sums;
};

/* Adds to the sums what is seen of the patch. */
void sm_patch_cut(const struct sm_patch_cut *cut, const struct sm_patch *patch);

#endif
