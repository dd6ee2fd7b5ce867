/* One view of a drawing as it is laid out and painted: the inside of drawing.c. */
#ifndef SM_REPORT_VIEW_H
#define SM_REPORT_VIEW_H

#include "report/canvas.h"
#include "report/drawing.h"
#include "report/heading.h"
#include "report/labels.h"

struct sm_extent {
    double x0, y0, x1, y1; /* [m] */
};

struct sm_view_note {
    struct sm_textblock block;
    struct sm_label_search place;
};

/* A dimension on the page: a line or an arc with its arrows, and the lines that lead to it. */
struct sm_view_dimension {
    struct sm_textblock block;
    struct sm_label_search place;
    struct sm_spot a, b;    /* ends of the arrows' line [px] */
    struct sm_spot foot[2]; /* where lines begin that lead to a and b [px] */
    struct sm_spot centre;  /* of an angle or a circle [px] */
    double radius;          /* of an angle's arc [px] */
    double from, to;        /* its ends on the page, to is the smaller [rad] */
    struct sm_spot anchor;  /* what the text's leader points at [px] */
    size_t level;           /* of one that stands clear, from 1 */
    bool is_outside;        /* arrows come from without, for want of room between them */
};

enum { SM_VIEW_FEW = 4 };

struct sm_view {
    const struct sm_draw_view *in;
    const struct sm_style *style;
    struct sm_canvas *canvas;
    struct sm_arena *arena;
    struct sm_extent extent;
    struct sm_textblock title;
    struct sm_view_note *notes;           /* n_notes */
    struct sm_view_dimension *dimensions; /* n_dimensions */
    double above, below, left;            /* kept free for dimensions that stand clear [px] */
    double side;                          /* kept free at the left and right for notes [px] */
    size_t n_aside;                       /* notes and dimensions whose texts may need that */
    struct sm_box cell;                   /* its place on the page, title and all */
    struct sm_box area;                   /* what is left of it for parts and notes */
    double scale;                         /* [px/m] */
};

/* What the parts and notes cover; arcs to a thousandth of their radius. False: nothing, or a size outside 1e-6
 * to 1e6 m. */
bool sm_view_find_extent(struct sm_view *view);

/* Texts for a cell of that width, then the area in the cell. */
enum sm_status sm_view_set_texts(struct sm_view *view, double width, struct sm_error *err) SM_MUST_CHECK;
void sm_view_set_area(struct sm_view *view);
/* The largest scale at which it fits its area [px/m]; not above 0 if there is no room. */
double sm_view_fit(const struct sm_view *view);

enum sm_status sm_view_place_notes(struct sm_view *view, struct sm_error *err) SM_MUST_CHECK;
void sm_view_paint(const struct sm_view *view);

/* Where a place of the view's parts lies on the page. */
struct sm_spot sm_view_to_page(const struct sm_view *view, double x, double y);

/* ---- dimensions (report/dimension.c) ---- */

enum { SM_DIMENSION_COLOUR = 1 };

/* Texts, and the levels of those that stand clear, which set above, below and left. */
enum sm_status sm_dimension_set_texts(struct sm_view *view, double width, struct sm_error *err) SM_MUST_CHECK;
/* Lines on the page once the scale is known, marked in the field that labels seek their places in. */
void sm_dimension_lay_out(struct sm_view *view, struct sm_label_field *field);
void sm_dimension_paint(const struct sm_view *view);

/* A bar of a round length near to `near` px, its lower left corner at x, y [px], and its length in words. */
void sm_view_paint_bar(const struct sm_view *view, double near, double x, double y);
double sm_view_bar_height(const struct sm_style *style); /* [px] */

#endif
