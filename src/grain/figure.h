/* From an outline and the walls round it to the elements that are trimmed: cross-sections and meridians alike. */
#ifndef SM_GRAIN_FIGURE_H
#define SM_GRAIN_FIGURE_H

#include "grain/trim.h"

struct sm_figure {
    const struct sm_contour *contour; /* of all that burns, void on the left */
    const struct sm_front
        *walls; /* lines and whole circles, normals inwards; see sm_wall_line, sm_wall_circle */
    int n_walls;
    const struct sm_front
        *rims; /* stretches of walls, anticlockwise round the figure and end to end as far as they
                                    go; sm_rim_line, sm_rim_arc */
    int n_rims;
    double size; /* [m] */
};

/* A straight wall through a point, its inward normal on the left of the way; a round one. */
struct sm_front sm_wall_line(struct sm_point through, struct sm_point way);
struct sm_front sm_wall_circle(struct sm_point centre, double radius);

/* A stretch of a wall that propellant may touch. The arc's angle is that from one direction on to the other [rad]. */
struct sm_front sm_rim_line(struct sm_point from, struct sm_point to);
struct sm_front sm_rim_arc(struct sm_point centre, double radius, struct sm_point from, struct sm_point to,
                           double sweep);

/*
 * The elements: lines, arcs of at most half a turn, an arc of radius zero for every corner that opens towards the
 * propellant, the walls, and what of the rims lies on the propellant's side of where chains end.
 *
 * Notes:
 *   1) A chain is closed or ends on walls. Beyond a straight wall the outline goes on as in a mirror; at a round one its
 *      end burns all round, and the wall cuts off what lies outside.
 * Status:
 *   SM_E_NOMEM
 *   SM_E_GEOMETRY  a chain ends in the open, or crosses another or itself
 */
enum sm_status sm_figure_fronts(struct sm_arena *arena, const struct sm_figure *figure, struct sm_fronts *out,
                                struct sm_error *err) SM_MUST_CHECK;

#endif
