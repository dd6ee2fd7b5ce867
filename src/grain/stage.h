/* From one event to the next a front keeps its make-up: these are its stages, and the events between them. */
#ifndef SM_GRAIN_STAGE_H
#define SM_GRAIN_STAGE_H

#include "grain/trim.h"

struct sm_stage {
    double w0, w1; /* distance burned [m], w0 < w1 */
    double from;   /* where its make-up begins to hold: w0, or in a gap w1 [m] */
    struct sm_parts parts;
};

struct sm_stages {
    struct sm_stage *items; /* end to end from w = 0 */
    size_t n;
    double web;   /* distance burned at which no front is left [m] */
    long n_trims; /* that finding them took */
};

/*
 * Finds all stages of a figure.
 *
 * Given:
 *   arena   takes the stages and all scratch
 *   fronts  borrowed for the call
 * Status:
 *   SM_E_NOMEM
 *   SM_E_GEOMETRY  something is left that no front ever reaches
 * Notes:
 *   1) Instants at which two fronts, or a front and a wall, touch at a point or along a line have closed forms, and are
 *      cuts in any case. All other events change who bounds whom; they are found by bisection between unlike trims, to
 *      1e-14 of the figure's size.
 *   2) A stage shorter than 1e-8 of the figure's size is left out, and so is what happens between contacts nearer to each other than
 *      1e-9 of it: fronts are told apart by roundings there. In its place is a gap, which has the make-up of what
 *      follows, so that that begins where it truly does.
 */
enum sm_status sm_stages_find(struct sm_arena *arena, const struct sm_fronts *fronts, struct sm_stages *out,
                              struct sm_error *err) SM_MUST_CHECK;

/* The make-up of fronts was last looked at this far before an event, and again this far behind it [m]. */
double sm_stages_blur(const struct sm_fronts *fronts);

/* Does the stage stand for some that were too short to keep? */
bool sm_stage_is_gap(const struct sm_stage *stage);

/* In a gap n integrals go straight from where the stage before it ends to where the next one begins: then nothing is lost by what
 * was left out. before, behind: their values there. */
void sm_stage_bridge(const struct sm_stage *gap, double w, int n, const double *before, const double *behind,
                     double *value, double *slope);

/* In a stage that begins at w = 0 with a corner's arc cut by another front, the arc's end has no direction at w = 0, where
 * its radius is none; in a gap the make-up does not hold before its end. Returned: a distance burned so near to that [m]
 * that values before it follow from those at it by a parabola, or a straight line where the bend there has no bounds; 0 where
 * all is well. */
double sm_stage_near_start(const struct sm_fronts *fronts, const struct sm_stage *stage);

#endif
