/*
 * One grain as paths: whole, and with its burning surface and what is left of it at given distances burned. For drawings and
 * for pages.
 */
#ifndef SM_APP_SKETCH_H
#define SM_APP_SKETCH_H

#include "motor/motor.h"
#include "report/drawing.h"
#include "slowmatch/simulate.h"

enum { SM_SKETCH_FRONT_COLOUR = 2 };

struct sm_sketch {
    struct sm_arena *arena;
    struct sm_error *err;
    bool wants_left;
    int squares; /* to the radius, of the net that a port of solids is cut with; 0: as drawings have it */
    /* what comes out: */
    struct sm_draw_part *parts; /* n of them: the whole grain, then the fronts that there are */
    size_t n, n_whole;
    struct sm_draw_path *fronts; /* one a distance; empty where all is burned */
    struct sm_draw_path *left;   /* likewise the propellant left, to be filled even-odd; only if wanted */
};

/*
 * Given: sketch with arena, err and wants_left set; w[n], distances burned [m].
 * Notes: a cross-section where the shape has one and its ends are no more than ends, else a cut along the axis.
 */
enum sm_status sm_sketch_grain(struct sm_sketch *sketch, const struct sm_grain_entry *entry, double web,
                               const double *w, size_t n) SM_MUST_CHECK;
/* The cut along the axis of a grain whose port changes its cross-section (a shape that is spliced), likewise. */
enum sm_status sm_sketch_along(struct sm_sketch *sketch, const struct sm_grain_entry *entry, double web,
                               const double *w, size_t n) SM_MUST_CHECK;

/* Is a grain of that shape drawn across its axis, or along it? */
bool sm_sketch_is_across(const struct sm_shape *shape);

/* When a grain with that web [m] is burned through in a run [s], and the distance burned at time t [m]. */
double sm_sketch_end(const struct sm_result *result, double web);
double sm_sketch_web_at(const struct sm_result *result, double t);

#endif
