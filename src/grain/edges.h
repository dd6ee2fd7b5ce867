/* What the fronts of a figure look like at one distance burned, as lines and arcs to be drawn. */
#ifndef SM_GRAIN_EDGES_H
#define SM_GRAIN_EDGES_H

#include "grain/stage.h"

/* A part as an edge, propellant on the right: arcs that shrink, and standing walls, are walked clockwise. */
struct sm_edge sm_part_edge(const struct sm_fronts *fronts, const struct sm_part *part, double w);

/* The burning fronts at w [m], and the standing walls that touch propellant if wanted, as loose edges appended to out (made
 * by sm_contour_init). Edges shorter than least [m] are left out; past the web there are none. */
enum sm_status sm_fronts_edges(const struct sm_fronts *fronts, const struct sm_stages *stages, double w,
                               bool with_walls, double least, struct sm_contour *out,
                               struct sm_error *err) SM_MUST_CHECK;

#endif
