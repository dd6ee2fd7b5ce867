/* What grain/fill.c hands to the loops of grain/fillrows.h. */
#ifndef SM_GRAIN_FILLTILE_H
#define SM_GRAIN_FILLTILE_H

#include <stddef.h>

#include "grain/patches.h"

enum {
    SM_FILL_ROW = 16, /* nodes along z in a tile */
    SM_FILL_SIDE = 8, /* along x and along y */
    SM_FILL_ROWS = SM_FILL_SIDE * SM_FILL_SIDE,
    SM_FILL_MOST = SM_MOST_SOLIDS + 2 /* solids, and burning ends */
};

enum sm_fill_form { SM_FILL_BALL, SM_FILL_BOX, SM_FILL_CYLINDER, SM_FILL_CONE, SM_FILL_PLANE, SM_FILL_ANY };

/* A solid as the net sees it, in the solid's own frame: a plane is all that lies below z = 0 there. Any other form is seen in space. */
struct sm_fill_solid {
    enum sm_fill_form form;
    struct sm_solid solid;
    struct sm_triple first, along[3]; /* the net's first node, and its steps [m] */
    double low, high; /* heights between which rows run along its sides; none: low > high [m] */
};

struct sm_fill_tile {
    const struct sm_fill_solid *solids;
    const short *near; /* those that may be the nearest */
    int n_near;
    const struct sm_triple *starts; /* the tile's first node as each of them sees it [m] */
    size_t n[3];                    /* nodes */
    size_t at, stride[2];           /* the first's place in the net, and from one to the next along x and y */
    double *doubles;                /* these or the floats are there [m] */
    float *floats;                  /* [m] */
};

/* One for each instruction set. */
void sm_fill_tile_plain(const struct sm_fill_tile *tile);
void sm_fill_tile_avx2(const struct sm_fill_tile *tile);
void sm_fill_tile_avx512(const struct sm_fill_tile *tile);

#endif
