/*
 * Outlines from SVG path data: straight lines and arcs of circles, whatever they were drawn with.
 *
 * Reference: W3C, Scalable Vector Graphics (SVG) 2, chapter 9, "Paths", and appendix B.2 for elliptical arcs.
 */
#ifndef SM_DOC_SVG_PATH_H
#define SM_DOC_SVG_PATH_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/fail.h"

/* The way to the next point is an arc of this radius, at most half a circle, turning left if positive; 0: it is straight.
 * Of the last point of a closed loop it is that back to the first. All in the file's own units. */
struct sm_svg_point {
    double x, y;   /* y upwards, unlike in the file [file unit] */
    double radius; /* [file unit] */
};

struct sm_svg_loop {
    struct sm_svg_point *points;
    size_t n, room;
    bool is_closed;
};

struct sm_svg_outline {
    struct sm_svg_loop *loops;
    size_t n, room;
};

/*
 * Appends the loops of one path's "d".
 *
 * Given:
 *   tolerance  how far a curve may lie from the arcs put in its place [file unit], > 0
 * Status:
 *   SM_E_SYNTAX  not path data, or a command besides M L H V A C Z; the message gives the place in the text
 *   SM_E_RANGE   more than 1000 points in a loop
 *   SM_E_NOMEM
 * Notes:
 *   1) A curve, or an arc of an ellipse, is halved until two arcs that touch each other, and it at both ends, keep within
 *      the tolerance at seven places between.
 */
enum sm_status sm_svg_path_read(struct sm_arena *arena, const char *d, double tolerance,
                                struct sm_svg_outline *out, struct sm_error *err) SM_MUST_CHECK;

#endif
