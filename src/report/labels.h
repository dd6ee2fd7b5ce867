/*
 * Where labels go: beside what they name, clear of curves and of each other.
 *
 * A panel is divided into small square cells that remember which curves run through them. Each label, the
 * least movable first, offers places with a cost; the cheapest that is free is taken.
 */
#ifndef SM_REPORT_LABELS_H
#define SM_REPORT_LABELS_H

#include <stdint.h>

#include "report/polyline.h"

struct sm_label_field {
    struct sm_box area; /* of the cells */
    double inset;       /* labels keep so far inside it [px] */
    double cell;        /* side of a cell [px] */
    size_t nx, ny;
    uint32_t *cells; /* bits as below; row by row */
};

/* Bits of a cell. A curve has one of the first 30, by its number; past those they share the last. */
enum { SM_LABEL_CURVES = 30 };
#define SM_LABEL_SOFT  (1u << 30) /* better left free, such as the edge of a tint */
#define SM_LABEL_TAKEN (1u << 31) /* another label, a disc */
#define SM_LABEL_ANY   (~0u)
uint32_t sm_label_curve(size_t number);

/* Cells for the area, all free; false if memory is out. */
bool sm_label_field_init(struct sm_label_field *field, struct sm_arena *arena, struct sm_box area,
                         double inset, double cell);
/* Where labels may stand. */
struct sm_box sm_label_inside(const struct sm_label_field *field);
/* Sets bits along a segment or over a box; parts outside the area are passed over. */
void sm_label_mark_segment(struct sm_label_field *field, uint32_t bits, struct sm_spot a, struct sm_spot b);
void sm_label_mark_box(struct sm_label_field *field, uint32_t bits, struct sm_box box);

/* A label looking for a place. Begin with the first five filled, offer places, then look at `found`. */
struct sm_label_search {
    double w, h;     /* of its box [px] */
    double gap;      /* to keep from curves and labels [px] */
    uint32_t own;    /* bits of the curve it names; SM_LABEL_ANY: of none in particular */
    bool may_cross;  /* may lie over curves if nothing else is left */
    bool has_leader; /* a thin line will lead to its anchor, which must not run over what is taken */
    bool found;
    bool crosses; /* the place found lies over a curve */
    double cost;  /* of the place found [1] */
    struct sm_box box;
    struct sm_spot anchor; /* what the place found was offered for */
};

/* Offers the place whose box has its corner at x, y, at that cost. To it are added: a much higher one for
 * crossing a curve (if it may), one for foreign curves nearby, one for soft bits; its own curve close by
 * lowers it. A place nearer to a foreign curve than to its own, or away from its own, is refused: it
 * would name the wrong one. */
void sm_label_offer(const struct sm_label_field *field, struct sm_label_search *search, double x, double y,
                    double cost, struct sm_spot anchor);

/* Offers places all round a point, `away` px from it and then 2, 4 and 7 times as far, `reaches` of those:
 * eight directions, above first. */
void sm_label_offer_round(const struct sm_label_field *field, struct sm_label_search *search,
                          struct sm_spot p, double away, int reaches, double cost);

/* Takes the place found: nothing else will be put there. */
void sm_label_take(struct sm_label_field *field, const struct sm_label_search *search);

#endif
