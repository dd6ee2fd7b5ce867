/* From one event to the next a front keeps its make-up: these are its stages, and the events between them. */
#ifndef SM_GRAIN_STAGE_H
#define SM_GRAIN_STAGE_H

#include "grain/trim.h"

struct sm_stage {
    double w0, w1; /* distance burned [m], w0 < w1 */
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
 *   2) Stages shorter than 1e-8 of the figure's size are joined with the next.
 */
enum sm_status sm_stages_find(struct sm_arena *arena, const struct sm_fronts *fronts, struct sm_stages *out,
                              struct sm_error *err) SM_MUST_CHECK;

/* In a stage that begins at w = 0 with a corner's arc cut by another front, the arc's end has no direction at w = 0, where
 * its radius is none. Returned: a distance burned so near to that [m] that values before it follow from those at it by a
 * parabola; 0 where all is well. */
double sm_stage_near_start(const struct sm_fronts *fronts, const struct sm_stage *stage);

#endif
