/* Integrals of a trimmed meridian turned about its axis. */
#ifndef SM_GRAIN_REVOLVE_H
#define SM_GRAIN_REVOLVE_H

#include "grain/geometry.h"
#include "grain/stage.h"

/* Volume, z, z^2, x^2 and y^2 of what the fronts of a meridian (x along the axis, y >= 0 the radius) enclose, with the
 * first two derivatives by w; the other integrals are zero. w lies in the stage or on one of its ends, and is seen from
 * inside. */
void sm_revolve_knot(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                     struct sm_geometry_knot *out);

/* The slopes of such a knot alone, which take a third of its time: the same numbers [m2], [m3], [m4]. */
void sm_revolve_slopes(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                       double slope[SM_N_INTEGRALS]);

/* Volume left [m3] and burning area [m2] alone, in a fifth of the time. */
void sm_revolve_volume(const struct sm_fronts *fronts, const struct sm_stage *stage, double w, double *volume,
                       double *area);

/*
 * Burning area alone, for many w in one stage: parts whose ends move straight and evenly make a polynomial, summed once; the
 * others are listed.
 */
struct sm_revolve_plan {
    const struct sm_stage *stage;
    int *others; /* places in the stage's parts */
    int n_others;
    double start;   /* the polynomial runs in w - start [m] */
    double near;    /* before it the area is found from a knot there [m] */
    double area[3]; /* [m2], [m], [1] */
};

/* others has room for as many numbers as the stage has burning parts; it and the stage are borrowed. */
void sm_revolve_plan(const struct sm_fronts *fronts, const struct sm_stage *stage, int *others,
                     struct sm_revolve_plan *out);

/* Burning area [m2] at w [m], which lies in the stage or on one of its ends. */
double sm_revolve_area(const struct sm_fronts *fronts, const struct sm_revolve_plan *plan, double w);

#endif
