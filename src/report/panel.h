/*
 * One panel of a plot as it is laid out and painted: the inside of axes.c, in steps.
 *
 *   panel.c   ranges, ticks and boxes
 *   trace.c   curves in px
 *   naming.c  where texts go
 *   key.c     the texts that found no place beside what they name
 *   paint.c   ink
 */
#ifndef SM_REPORT_PANEL_H
#define SM_REPORT_PANEL_H

#include "report/axes.h"
#include "report/canvas.h"
#include "report/heading.h"
#include "report/labels.h"
#include "report/polyline.h"
#include "report/textblock.h"
#include "report/ticks.h"

/* What may carry a text, the least movable first. */
enum sm_name_of { SM_NAME_SPAN, SM_NAME_RULE, SM_NAME_MARKER, SM_NAME_SERIES, SM_NAME_BAND };

struct sm_name {
    enum sm_name_of of;
    size_t index; /* in the panel's list of that sort */
    const char *text;
    int colour;
    bool in_key;
    struct sm_textblock block;
    struct sm_label_search place;
};

struct sm_panel {
    const struct sm_plot_panel *in;
    const struct sm_style *style;
    struct sm_canvas *canvas;
    struct sm_arena *arena;

    struct sm_range x, y;
    struct sm_ticks x_ticks, y_ticks;
    bool has_data;
    bool shows_x; /* carries ticks' numbers and label of the x axis */
    const char *x_label;
    struct sm_textblock title, x_text, y_text;
    double top, bottom; /* what stands over and under the plot box [px] */
    double lead;        /* of top: kept free over its title [px] */
    struct sm_box box;  /* of the axes */

    struct sm_polyline *series;               /* n_series */
    struct sm_polyline *band_low, *band_high; /* n_bands; piece by piece alike */
    struct sm_name *names;                    /* those that have a text */
    size_t n_names;
    double key_width;    /* to which the key was measured [px] */
    double key_height;   /* [px]; 0: no key */
    size_t key_left_out; /* texts past the room for a key */
};

/* Is it a number that can be drawn? */
bool sm_panel_is_drawable(double value);
/* Is any of it inside the ranges? */
bool sm_panel_shows_span(const struct sm_panel *panel, const struct sm_plot_span *span);
bool sm_panel_shows_rule(const struct sm_panel *panel, const struct sm_plot_rule *rule);
bool sm_panel_shows_marker(const struct sm_panel *panel, const struct sm_plot_marker *marker);

/* Colour and stroke of a series, chosen where the caller left the choice. */
int sm_panel_series_colour(const struct sm_panel *panel, size_t i);
enum sm_plot_stroke sm_panel_series_stroke(const struct sm_panel *panel, size_t i);
double sm_panel_series_width(const struct sm_panel *panel, size_t i); /* [px] */
double sm_panel_disc_radius(const struct sm_panel *panel, size_t i);  /* of its samples, where shown [px] */

/* panel.c. Ranges, from the data unless given. */
void sm_panel_set_ranges(struct sm_panel *panel);
/* One x range for all. */
void sm_panel_share_x(struct sm_panel *panels, size_t n);
/* Texts of the frame for a width [px], and the room over and under the plot box. */
enum sm_status sm_panel_set_frame(struct sm_panel *panel, double width, struct sm_error *err) SM_MUST_CHECK;
/* Ticks that fit the box; width of the widest number at the y axis [px]. */
double sm_panel_set_y_ticks(struct sm_panel *panel);
void sm_panel_set_x_ticks(struct sm_panel *panel);
struct sm_spot sm_panel_point(const struct sm_panel *panel, double x, double y);

/* trace.c. Curves and bands in px of the present box. */
enum sm_status sm_panel_trace(struct sm_panel *panel, struct sm_error *err) SM_MUST_CHECK;
void sm_panel_mark_curves(const struct sm_panel *panel, struct sm_label_field *field);

/* naming.c. The list of texts; then places for them. *changed: some went to the key, so the box must shrink.
 */
enum sm_status sm_panel_list_names(struct sm_panel *panel, struct sm_error *err) SM_MUST_CHECK;
enum sm_status sm_panel_place_names(struct sm_panel *panel, bool *changed,
                                    struct sm_error *err) SM_MUST_CHECK;

/* The thin line to a text that stands away from its marker or out of its band; false: none is needed. */
bool sm_panel_name_leader(const struct sm_panel *panel, const struct sm_name *name, struct sm_spot *from,
                          struct sm_spot *to);

/* key.c. Height for the entries in the width, at most most [px]; then ink, its top left corner at x, y [px].
 */
enum sm_status sm_panel_measure_key(struct sm_panel *panel, double width, double most,
                                    struct sm_error *err) SM_MUST_CHECK;
void sm_panel_paint_key(const struct sm_panel *panel, double x, double y);

/* paint.c */
void sm_panel_paint(const struct sm_panel *panel);
/* A sample of the series' line from x0 to x1 [px]. */
void sm_panel_paint_sample(const struct sm_panel *panel, size_t i, double x0, double x1, double y);

#endif
