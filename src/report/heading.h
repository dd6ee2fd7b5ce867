/* What stands at the head and foot of every picture, and the sizes of its letters. */
#ifndef SM_REPORT_HEADING_H
#define SM_REPORT_HEADING_H

#include "report/textblock.h"

/* Sizes of one picture, all scaled with it. */
struct sm_style {
    double scale;                                            /* 1 at 1200 by 800 [1] */
    double title, subtitle, heading, label, tick, key, note; /* letters [px] */
    double margin, gap;                                      /* round the page, between things [px] */
    double line, axis, rule, tick_length, disc;              /* widths, length, radius [px] */
};
struct sm_style sm_style_for(int width, int height);

struct sm_heading_texts {
    const char *title, *subtitle, *note; /* NULL: none */
};

struct sm_heading {
    struct sm_textblock title, subtitle, note;
    double top, bottom; /* of the room left between them [px] */
};

enum sm_status sm_heading_make(struct sm_heading *heading, struct sm_canvas *canvas, struct sm_arena *arena,
                               const struct sm_style *style, const struct sm_heading_texts *texts, int width,
                               int height, struct sm_error *err) SM_MUST_CHECK;
void sm_heading_paint(const struct sm_heading *heading, struct sm_canvas *canvas,
                      const struct sm_style *style);

#endif
