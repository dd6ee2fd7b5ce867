/*
 * Drawings to scale: views of parts with outlines of lines and arcs, a scale bar, and notes with leaders, dimensions.
 *
 * Like plots, drawings are plain data with sensible zeros. Lengths are in metres, x to the right and y upwards; what
 * a view shows is fitted to its place, one scale in both directions. For example, a tube seen from its end:
 *
 *     const struct sm_draw_step rim[] = {{SM_DRAW_MOVE, .x = 0.025}, {SM_DRAW_ARC, .x = 0.025}};
 *     const struct sm_draw_step bore[] = {{SM_DRAW_MOVE, .x = 0.01}, {SM_DRAW_ARC, .x = 0.01}};
 *     const struct sm_draw_path paths[] = {{rim, 2, .closed = true}, {bore, 2, .closed = true}};
 *     const struct sm_draw_part grain = {.paths = paths, .n_paths = 2, .fill = SM_FILL_PROPELLANT};
 *     const struct sm_draw_note note = {.x = 0.018, .text = "propellant"};
 *     const struct sm_draw_view view = {.parts = &grain, .n_parts = 1, .notes = &note, .n_notes = 1};
 *     const struct sm_drawing drawing = {.title = "Tube", .views = &view, .n_views = 1};
 */
#ifndef SM_REPORT_DRAWING_H
#define SM_REPORT_DRAWING_H

#include <stdbool.h>

#include "report/axes.h"

enum { SM_DRAW_MAX_VIEWS = 64 };

enum sm_draw_op { SM_DRAW_MOVE, SM_DRAW_LINE, SM_DRAW_ARC };

/* One step of a path, from where the last one ended. An arc that ends where it starts is a full circle. */
struct sm_draw_step {
    enum sm_draw_op op;
    double x, y;    /* where it ends [m] */
    double cx, cy;  /* centre, of an arc [m] */
    bool clockwise; /* of an arc; else counter-clockwise */
};

/* Begins with a move. A further move begins a new piece. */
struct sm_draw_path {
    const struct sm_draw_step *steps;
    size_t n;
    bool closed; /* each piece runs back to its start */
};

enum sm_draw_fill {
    SM_FILL_NONE,
    SM_FILL_PROPELLANT,
    SM_FILL_CASE,
    SM_FILL_INHIBITOR,
    SM_FILL_VOID, /* white: hides what lies under it */
    SM_FILL_TINT  /* the part's own colour, pale */
};

/* What is filled and outlined as one. Where its paths lie in each other, every other ring is filled (even-odd), so a
 * bore inside a rim is a hole. Later parts lie over earlier ones. */
struct sm_draw_part {
    const struct sm_draw_path *paths;
    size_t n_paths;
    enum sm_draw_fill fill;
    bool hatched; /* over the fill */
    bool no_outline;
    int colour;                 /* of outline and hatching; 0: near black; else as in report/axes.h */
    enum sm_plot_stroke stroke; /* of the outline; discs count as solid */
    double width;               /* of the outline [px at 1200 by 800]; 0: 2 */
    double fade;                /* of the outline towards white, 0 to 1 [1]: for contours gone by */
};

/* A dot and a text with a thin line between them. */
struct sm_draw_note {
    double x, y; /* what it is about [m] */
    const char *text;
    int colour;
};

enum sm_draw_measure {
    SM_MEASURE_LENGTH, /* from a to b */
    SM_MEASURE_RADIUS, /* of an arc about a, to b on it */
    SM_MEASURE_CIRCLE, /* the diameter from a to b */
    SM_MEASURE_ANGLE   /* at c, from a to b counter-clockwise */
};

/* Where a length's arrows stand: at a and b themselves, or clear of the parts, across to the right or up, where lines lead to
 * them from a and b. */
enum sm_draw_side { SM_SIDE_HERE, SM_SIDE_ABOVE, SM_SIDE_BELOW, SM_SIDE_LEFT };

/* A measure with its arrows and its text. */
struct sm_draw_dimension {
    enum sm_draw_measure form;
    enum sm_draw_side side; /* of a length */
    double ax, ay, bx, by;  /* [m] */
    double cx, cy;          /* of an angle [m] */
    bool is_traced;         /* the circle itself is drawn too, dashed */
    const char *text;
};

struct sm_draw_view {
    const char *title;
    const struct sm_draw_part *parts;
    size_t n_parts;
    const struct sm_draw_note *notes;
    size_t n_notes;
    const struct sm_draw_dimension *dimensions;
    size_t n_dimensions;
};

/* Everything pointed to is borrowed for the length of the call. */
struct sm_drawing {
    const char *title, *subtitle, *note;
    const struct sm_draw_view *views; /* row by row from the top left */
    size_t n_views;
    size_t columns;                       /* 0: as many as make the views largest */
    bool separate_scales;                 /* each view as large as its place; else all to one scale */
    int width, height;                    /* [px]; 0: 1200, 800 */
    const struct sm_allocator *allocator; /* NULL: malloc */
};

/*
 * Draws and writes it.
 *
 * Status:
 *   SM_E_RANGE   size outside SM_PICTURE_MIN to SM_PICTURE_MAX or too small for what is asked; number of views; a
 *                view with nothing in it; a length that is not finite, or a view not from 1e-6 to 1e6 m large; a
 *                path that begins without a move; a colour, width or fade outside what is stated
 *   SM_E_SYNTAX  a text is not UTF-8
 *   SM_E_NOMEM   memory is out
 *   SM_E_IO      the sink refused; what it took is not a whole file
 * Notes: as for sm_plot_write.
 */
enum sm_status sm_drawing_write(const struct sm_drawing *drawing, enum sm_plot_kind kind,
                                struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;

#endif
