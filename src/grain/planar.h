/* Area, perimeter and moments of a plane section as it burns. */
#ifndef SM_GRAIN_PLANAR_H
#define SM_GRAIN_PLANAR_H

#include "grain/stage.h"

/* Over the propellant left in the section. */
enum sm_planar {
    SM_PLANE_AREA, /* [m2] */
    SM_PLANE_X,    /* [m3] */
    SM_PLANE_Y,    /* [m3] */
    SM_PLANE_XX,   /* [m4] */
    SM_PLANE_YY,   /* [m4] */
    SM_PLANE_XY,   /* [m4] */
    SM_N_PLANAR
};

/* Value, first and second derivative by w; -slope[SM_PLANE_AREA] is the burning perimeter. */
struct sm_planar_knot {
    double value[SM_N_PLANAR]; /* [m2], [m3], [m4] */
    double slope[SM_N_PLANAR]; /* [m], [m2], [m3] */
    double bend[SM_N_PLANAR];  /* [1], [m], [m2] */
};

/*
 * A section at w, which lies in the stage or on one of its ends, as seen from inside the stage.
 *
 * Given:
 *   fronts  of a whole section round the origin, or of a wedge with its tip there
 *   stage   of these fronts
 *   w       distance burned [m]
 * Returned:
 *   out     for what the fronts enclose: a wedge is not multiplied
 * Notes:
 *   1) Slopes are integrals over the front, values integrals over the boundary by Green's theorem: for f homogeneous of
 *      degree k, (k + 2) times the integral of f over an area is that of f (p . n) over its boundary. Rays through the
 *      origin add nothing. Values and slopes are so reckoned apart, and each tests the other.
 *   2) The curvature is infinite at the instant two fronts touch.
 */
void sm_planar_knot(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                    struct sm_planar_knot *out);

/* The slopes of such a knot alone, which take less: the same numbers [m], [m2], [m3]. */
void sm_planar_slopes(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                      double slope[SM_N_PLANAR]);

/* One part's share: of the integrals over the burning front [m], [m2], [m3], and over the propellant left [m2], [m3],
 * [m4]. */
void sm_planar_part(const struct sm_fronts *fronts, const struct sm_part *part, double w,
                    double front[SM_N_PLANAR], double left[SM_N_PLANAR]);

/* The same of 1 and x^2 + y^2 alone. */
void sm_planar_polar_part(const struct sm_fronts *fronts, const struct sm_part *part, double w,
                          double front[2], double left[2]);

/*
 * Area [m2] and perimeter [m] alone, for many w in one stage: parts whose ends move straight and evenly make polynomials,
 * summed once; the others are listed.
 */
struct sm_planar_plan {
    const struct sm_fronts *fronts;
    const struct sm_stage *stage;
    int *others; /* places in the stage's parts */
    int n_others;
    double start;        /* the polynomials run in w - start [m] */
    double area[3];      /* [m2], [m], [1] */
    double perimeter[2]; /* [m], [1] */
};

/* others has room for as many numbers as the stage has parts, and is borrowed. */
void sm_planar_plan(const struct sm_fronts *fronts, const struct sm_stage *stage, int *others,
                    struct sm_planar_plan *out);
void sm_planar_area(const struct sm_planar_plan *plan, double w, double *area, double *perimeter);

/* A wedge of half a sector, multiplied by its mirror images to the whole of n sectors; the first ray lies on the x
 * axis. n = 0 leaves it alone. */
void sm_planar_unfold(int n, double integrals[SM_N_PLANAR]);

#endif
