/*
 * A page to draw on: the only file that sees cairo is canvas.c.
 *
 * Coordinates are px from the top left corner, y downwards; a px is 1/96 inch. A fault of cairo's is kept
 * until sm_canvas_finish, which reports it, so drawing calls answer nothing.
 */
#ifndef SM_REPORT_CANVAS_H
#define SM_REPORT_CANVAS_H

#include <stdbool.h>

#include "report/axes.h"
#include "report/palette.h"
#include "report/picture.h"

struct _cairo; /* cairo's own names for its types, so that its headers stay in canvas.c */
struct _cairo_surface;

struct sm_canvas {
    struct _cairo *cr;
    struct _cairo_surface *surface;
    enum sm_plot_kind kind;
    struct sm_sink *sink;
    int sink_code;             /* what the sink first answered, if not 0 */
    struct sm_memory_sink svg; /* an SVG waits here for its last touch */
    bool is_muted;             /* abandoned: what is still flushed goes nowhere */
};

/* Opens a white page of width by height px that is written to the sink, which is borrowed until the end.
 * title goes into the description that a PDF carries; it may be NULL. After success exactly one of finish and
 * abandon ends it. */
enum sm_status sm_canvas_open(struct sm_canvas *canvas, enum sm_plot_kind kind, int width, int height,
                              const char *title, struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;
enum sm_status sm_canvas_finish(struct sm_canvas *canvas, struct sm_error *err) SM_MUST_CHECK;
void sm_canvas_abandon(struct sm_canvas *canvas);

/* The pen: colour with opacity from 0 to 1 [1], line width [px], dashes scaled to that width. */
void sm_canvas_colour(struct sm_canvas *canvas, struct sm_colour colour, double opacity);
void sm_canvas_pen(struct sm_canvas *canvas, double width, enum sm_plot_stroke stroke);

/* The path, [px] and [rad]. An arc runs from angle a0 to a1, towards growing angles (clockwise on the page)
 * or falling ones, and is joined to the point before it. */
void sm_canvas_move(struct sm_canvas *canvas, double x, double y);
void sm_canvas_line(struct sm_canvas *canvas, double x, double y);
void sm_canvas_arc(struct sm_canvas *canvas, double x, double y, double radius, double a0, double a1,
                   bool growing);
void sm_canvas_rectangle(struct sm_canvas *canvas, double x, double y, double width, double height);
void sm_canvas_disc(struct sm_canvas *canvas, double x, double y, double radius);
void sm_canvas_close(struct sm_canvas *canvas);

/* What is done with it; both forget it. Where the path crosses itself, or rings lie in rings, fill is
 * even-odd. */
void sm_canvas_stroke(struct sm_canvas *canvas);
void sm_canvas_fill(struct sm_canvas *canvas);
/* Keeps what follows inside the path until unclip; they nest. */
void sm_canvas_clip(struct sm_canvas *canvas);
void sm_canvas_unclip(struct sm_canvas *canvas);

/* A horizontal or vertical line that covers whole px, for axes and grids that stay crisp. */
void sm_canvas_hairline(struct sm_canvas *canvas, double x0, double y0, double x1, double y1, double width);

/* One line of UTF-8 text, its baseline starting at x, y; size is that of the letters' em [px]. */
struct sm_font {
    double size; /* [px] */
    bool bold;
};
void sm_canvas_text(struct sm_canvas *canvas, double x, double y, struct sm_font font, const char *text);
/* Its width [px]: the same for every kind of file. */
double sm_canvas_text_width(struct sm_canvas *canvas, struct sm_font font, const char *text);

#endif
