/* The cross-section of a prismatic grain: its port, its case, and the symmetry that both share. */
#ifndef SM_GRAIN_SECTION_H
#define SM_GRAIN_SECTION_H

#include "grain/contour.h"
#include "grain/planar.h"

/* What becomes of the cylinder round the grain. */
enum sm_outer {
    SM_OUTER_HELD,     /* it stands: bonded to the case, or inhibited */
    SM_OUTER_BURNS,    /* all of it burns */
    SM_OUTER_IN_CHAINS /* what is left of it burns, and the contour says what that is */
};

struct sm_section {
    struct sm_contour contour; /* of the burning walls, void on the left */
    int sectors; /* n: the contour is that of the half-sector from 0 to pi/n, to be mirrored and repeated n times;
                        0: it is the whole */
    double radius; /* of the cylinder round it, centred on the origin [m] */
    enum sm_outer outer;
    double tolerance; /* share of the largest area by which a table may miss it; 0: 1e-9 [1] */
};

/*
 * The section's elements: lines, arcs, and an arc of radius zero for every corner that opens towards the propellant;
 * then the walls: a half-sector's rays and, unless it burns, the outer cylinder.
 *
 * Chains are closed, or end on the walls. A void that opens to the outer cylinder is bounded by a chain from wall to wall.
 *
 * Status:
 *   SM_E_GEOMETRY  a chain ends in the open, leaves the cylinder or the half-sector, or crosses another
 */
enum sm_status sm_section_fronts(struct sm_arena *arena, const struct sm_section *section,
                                 struct sm_fronts *out, struct sm_error *err) SM_MUST_CHECK;

/* A section ready to be asked for any w. */
struct sm_burning_section {
    struct sm_fronts *fronts; /* in the arena, where the plans find it though this struct is copied */
    struct sm_stages stages;
    struct sm_planar_plan *plans; /* one a stage */
    int sectors;
    double radius; /* [m] */
};
enum sm_status sm_section_burn(struct sm_arena *arena, const struct sm_section *section,
                               struct sm_burning_section *out, struct sm_error *err) SM_MUST_CHECK;

/* The stage that holds w, the later one at an event; n if w >= web. */
size_t sm_section_stage(const struct sm_burning_section *section, double w);

/* The whole section in a stage at w. */
void sm_section_knot(const struct sm_burning_section *section, size_t stage, double w,
                     struct sm_planar_knot *out);

/* The slopes of that alone: the same numbers [m], [m2], [m3]. */
void sm_section_slopes(const struct sm_burning_section *section, size_t stage, double w,
                       double slope[SM_N_PLANAR]);

/* Free area [m2] and burning perimeter [m] of the whole section at n given w [m], rising or not; past the web the whole
 * circle and no perimeter. */
void sm_section_table(const struct sm_burning_section *section, const double *w, size_t n, double *area,
                      double *perimeter);

/* The whole section's outline at w as closed chains, propellant on the right: the burning fronts and, if wanted, what
 * still stands of the cylinder. Without that a chain may be open. Past the web it is empty. */
enum sm_status sm_section_outline(struct sm_arena *arena, const struct sm_burning_section *section, double w,
                                  bool with_cylinder, struct sm_contour *out,
                                  struct sm_error *err) SM_MUST_CHECK;

#endif
