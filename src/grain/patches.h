/*
 * Burning surface of a port that is a union of simple solids anywhere in a cylinder, at one distance burned.
 *
 * The front is made of patches of the solids' parallel surfaces: planes, cylinders, cones, balls and tori. What hides itself of
 * that of a turned body is cut off exactly beforehand, in its meridian (grain/turned.h). Each patch is cut by
 * halves in its own two parameters; a cell that other solids have burned, or that nothing else comes near, is settled by its
 * distance from them at its middle alone. What is left is cut from side to side by every constraint by itself, once it is small
 * enough for the cuts to be nearly straight, and what lies between the chords and the true cuts is added. What burns from a
 * feature that lies in another solid is never looked at. The error falls with the square of the smallest cell; the work grows
 * no faster than its inverse.
 */
#ifndef SM_GRAIN_PATCHES_H
#define SM_GRAIN_PATCHES_H

#include "base/arena.h"
#include "base/fail.h"
#include "grain/geometry.h"
#include "grain/solid.h"
#include "num/laneset.h"

/* A void, and how many like it stand spread evenly about the axis. */
struct sm_void {
    struct sm_solid solid;
    int count;
};

/* A port in a grain. Burning ends count as voids too. */
struct sm_voids {
    const struct sm_void *items;
    size_t n;
    double radius, length; /* of the grain [m] */
    unsigned burning;      /* faces, enum sm_face: the bore always, and the ends */
    int fineness;          /* smallest cells to the grain's radius */
};

enum { SM_MOST_SOLIDS = 256 }; /* copies counted */

/* Features of a cone. A ball, a ring and a turned body are one each; those of a box are numbered by sides x, y, z from -1 to 1, of which not all
 * are 0: 13 + x + 3 y + 9 z. One side is a face, two are an edge, three a corner. */
enum sm_cone_feature { SM_CONE_SIDE, SM_CONE_FOOT, SM_CONE_TOP, SM_CONE_FOOT_RIM, SM_CONE_TOP_RIM };
enum { SM_BOX_MIDDLE = 13, SM_BOX_FEATURES = 27 };

/* Every solid by itself, and the symmetry they share. Immutable once made: any number of threads may ask it. */
struct sm_patcher {
    const struct sm_voids *voids;
    struct sm_solid *solids;
    int *share; /* of each solid: 1 if its surface is to be cut, 0 if it is only the image of one that is */
    size_t *entry;             /* of each solid, its void */
    struct sm_triple *heading; /* of each solid, the direction across in which that copy stands [1] */
    unsigned *
        hidden; /* of each solid, its features that lie in others, so that what burns from them is never seen: a bit each */
    size_t n;
    int sectors;          /* parts that turn into each other about the axis */
    bool is_mirrored;     /* half of a part is enough */
    bool all_coaxial;     /* a body of revolution */
    enum sm_lane_set set; /* instructions to cut patches with: the best that are there */
    double cell, close;   /* smallest cell, and lengths of no account [m] */
};

/* Status: SM_E_NOMEM. */
enum sm_status sm_patcher_init(struct sm_arena *arena, const struct sm_voids *voids, struct sm_patcher *out,
                               struct sm_error *err) SM_MUST_CHECK;

struct sm_patch_sums {
    double front[SM_N_INTEGRALS]; /* integrals of 1, x, ... over the burning front [m2], [m3], [m4] */
    double outward; /* integral over it of the point times the normal into the propellant [m3] */
    size_t astray;  /* 0, or one more than the void whose straight lines to the front leave the grain */
    long n_cells;   /* looked at */
};

/* The front at w [m] >= 0. */
void sm_patcher_level(const struct sm_patcher *patcher, double w, struct sm_patch_sums *out);

/* Volume left at w [m3] by the divergence theorem: the front's part, and the standing walls'. */
double sm_patcher_volume(const struct sm_patcher *patcher, double w);

/* Area of propellant at the aft face [m2] at w = 0, to the second order of the fineness; what begins within four cells of the
 * face is not seen. */
double sm_patcher_aft_area(const struct sm_patcher *patcher);

/* Distance of a point from the nearest void, burning ends included; negative inside one [m]. */
double sm_patcher_distance(const struct sm_patcher *patcher, struct sm_triple p);

#endif
