/*
 * Curves in px: thinned, and clipped.
 *
 * Of each pixel column the first, lowest, highest and last sample are kept. Of those, a sample goes if the
 * line from the one before to the one after passes within a tolerance of all that is left out between them:
 * sleeve fitting.
 *
 * Reference: Z. Zhao, A. Saalfeld, Linear-time sleeve-fitting polyline simplification algorithms, Proc.
 * Auto-Carto 13, 1997, pp. 214-223.
 */
#ifndef SM_REPORT_POLYLINE_H
#define SM_REPORT_POLYLINE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"

struct sm_spot {
    double x, y; /* [px] */
};

struct sm_box {
    double x, y, w, h; /* top left corner and size [px] */
};

/* Pieces of a curve, one after the other, parted by points whose x is NaN. */
struct sm_polyline {
    struct sm_arena *arena;
    struct sm_spot *points;
    size_t n, capacity;
    struct sm_thinning *work; /* the px column and the sleeve at work */
    bool is_out_of_memory;
};

/* Starts an empty one that lives in the arena; tolerance [px], 0: none, for curves shown as points. Then add
 * samples in order, break at gaps, and end. */
void sm_polyline_begin(struct sm_polyline *line, struct sm_arena *arena, double tolerance);
void sm_polyline_add(struct sm_polyline *line, struct sm_spot p);
void sm_polyline_break(struct sm_polyline *line);
bool sm_polyline_end(struct sm_polyline *line); /* false: memory is out */

/* The next piece from place *at on: its points, *count of them, or NULL at the end. *at starts as 0. */
const struct sm_spot *sm_polyline_piece(const struct sm_polyline *line, size_t *at, size_t *count);

/* Shortens a segment to the part inside the box (Liang and Barsky's method). False: none is. */
bool sm_polyline_clip(const struct sm_box *box, struct sm_spot *a, struct sm_spot *b);

#endif
