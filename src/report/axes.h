/*
 * A small plot grammar: panels of series, bands, reference lines, markers and spans, written as SVG, PNG or
 * PDF.
 *
 * All of it is plain data that the caller fills with designated initialisers; whatever is left zero takes a
 * sensible default. Texts are UTF-8; NULL or "" means none. Every label of an axis gives its unit in
 * parentheses. Numbers are in the unit of their axis: the caller scales (MPa, not Pa). For example:
 *
 *     const struct sm_plot_series thrust = {.x = t, .y = F, .n = n, .label = "cored, 1.5 s"};
 *     const struct sm_plot_marker peak = {.x = 0.1, .y = 92.0, .text = "peak 92 N"};
 *     const struct sm_plot_panel panel = {
 *         .x = {.label = "time (s)"}, .y = {.label = "thrust (N)"},
 *         .series = &thrust, .n_series = 1, .markers = &peak, .n_markers = 1};
 *     const struct sm_plot plot = {.title = "An invented motor", .panels = &panel, .n_panels = 1};
 *     SM_TRY(sm_plot_write(&plot, SM_PLOT_SVG, sink, err));
 *
 * Colours are numbered: 0 leaves the choice to us (a series takes the accent of its place in the panel, all
 * else a neutral grey), 1, 2, ... are the accents of report/palette.h. Give a series and its band the same
 * number. After SM_PLOT_ACCENTS they repeat, and a solid series that repeats one is dashed.
 */
#ifndef SM_REPORT_AXES_H
#define SM_REPORT_AXES_H

#include <stdbool.h>

#include "report/picture.h"

enum { SM_PLOT_ACCENTS = 7, SM_PLOT_MAX_PANELS = 10 };

enum sm_plot_stroke {
    SM_STROKE_SOLID,
    SM_STROKE_DASHED,
    SM_STROKE_DOTTED,
    SM_STROKE_DASH_DOT,
    SM_STROKE_DISCS /* a small disc at each sample and no line: for measured points */
};

struct sm_plot_axis {
    const char *label; /* quantity and unit: "thrust (N)" */
    double min, max;   /* the range [axis unit]; both equal, as when left zero: automatic */
    bool off_zero;     /* an automatic range need not reach to zero */
};

/* A curve. A value that is not finite breaks it; a sample alone between breaks is drawn as a disc. */
struct sm_plot_series {
    const double *x, *y; /* n of each [axis unit]; x in any order */
    size_t n;
    const char *label; /* written beside the curve */
    int colour;
    enum sm_plot_stroke stroke;
    double width; /* of the line [px at 1200 by 800]; 0: 3 */
};

/* The area between two curves, tinted: a spread, or hot to cold. A value that is not finite breaks it. */
struct sm_plot_band {
    const double *x, *y_low, *y_high; /* n of each [axis unit] */
    size_t n;
    const char *label;
    int colour;
};

/* A thin line across the panel at one value of one axis. */
struct sm_plot_rule {
    double at;     /* [axis unit] */
    bool vertical; /* at an x; else at a y */
    const char *text;
    int colour;
};

/* A disc at a point, with a text. */
struct sm_plot_marker {
    double x, y; /* [axis unit] */
    const char *text;
    int colour;
};

/* A stretch of the x axis, shaded over the panel's height, such as the burn time. */
struct sm_plot_span {
    double x0, x1; /* [axis unit], x0 < x1 or nothing is drawn */
    const char *text;
    int colour;
};

struct sm_plot_panel {
    const char *title; /* a small heading, for plots of several panels */
    struct sm_plot_axis x, y;
    const struct sm_plot_series *series;
    size_t n_series;
    const struct sm_plot_band *bands;
    size_t n_bands;
    const struct sm_plot_rule *rules;
    size_t n_rules;
    const struct sm_plot_marker *markers;
    size_t n_markers;
    const struct sm_plot_span *spans;
    size_t n_spans;
    double weight; /* share of the height against the other panels [1]; 0: 1 */
};

/* Everything pointed to is borrowed for the length of the call. */
struct sm_plot {
    const char *title, *subtitle;
    const char *note;                   /* small print at the foot: source, cautions */
    const struct sm_plot_panel *panels; /* from top to bottom */
    size_t n_panels;
    bool separate_x;   /* each panel has its own x axis; else they share one range, and the lowest
                          panel carries its ticks and the label of the first panel that has one */
    int width, height; /* [px]; 0: 1200, and 800 plus 250 for each panel after the first */
    const struct sm_allocator *allocator; /* NULL: malloc */
};

/*
 * Draws the plot and writes it.
 *
 * Texts that are too long wrap, then shrink, then end in an ellipsis. Labels go beside what they name, clear
 * of each other and of the curves where there is room; a panel's series and bands that find none are named in
 * a key over it. Curves are thinned to the first, lowest, highest and last sample of each pixel column, which
 * looks the same.
 *
 * Given:
 *   plot  with 1 to SM_PLOT_MAX_PANELS panels
 *   kind  of file
 *   sink  where it goes; the same plot gives the same bytes with the same libraries and fonts (no date is
 *         written)
 * Status:
 *   SM_E_RANGE   size outside SM_PICTURE_MIN to SM_PICTURE_MAX, or too small for what is asked; number of
 *                panels; an axis range or a weight that is not finite or not in order; a width or a colour
 *                below zero
 *   SM_E_SYNTAX  a text is not UTF-8
 *   SM_E_NOMEM   memory is out
 *   SM_E_IO      the sink refused; what it took is not a whole file
 * Notes:
 *   1) Values beyond 1e300 break a curve as infinities do.
 *   2) In SVG, letters are outlines under ids of the file's own, so it looks alike without the font. Put
 *      several on one page as images (data: URLs), not by pasting their text into one document.
 *   3) Calls may run in several threads at once.
 */
enum sm_status sm_plot_write(const struct sm_plot *plot, enum sm_plot_kind kind, struct sm_sink *sink,
                             struct sm_error *err) SM_MUST_CHECK;

#endif
