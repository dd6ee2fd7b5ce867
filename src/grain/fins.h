/* Fins: radial slots in the wall of a round bore, along a part of a grain's length from one of its ends. */
#ifndef SM_GRAIN_FINS_H
#define SM_GRAIN_FINS_H

#include "grain/section.h"
#include "grain/slot.h"

enum sm_fin_end { SM_FINS_FORE, SM_FINS_AFT };

/* As part of a shape's block; its rows are bore_diameter, fins, fin_width, fin_diameter, fin_length, tip_fillet and fin_end. */
struct sm_fins {
    double bore_diameter; /* [m] */
    int count;
    double width;      /* [m] */
    double diameter;   /* of the circle that they reach out to [m] */
    double length;     /* along the bore [m] */
    double tip_fillet; /* [m]; absent: half of the width */
    int end;           /* enum sm_fin_end */
};

/* Words of enum sm_fin_end. */
extern const char *const sm_fin_ends[];

/* One fin. */
struct sm_slot sm_fins_slot(const struct sm_fins *fins);

/* Place along the axis of a grain of the given length at which the fins end within it [m]. */
double sm_fins_joint(const struct sm_fins *fins, double length);

/* length_name: what is said of the grain's length if the fins are not shorter. Status: SM_E_GEOMETRY, at the row that is wrong. */
enum sm_status sm_fins_check(const struct sm_fins *fins, double outer_diameter, const char *length_name,
                             double length, struct sm_error *err) SM_MUST_CHECK;

/* Across the axis where the fins are, half of one and of the wall beside it. */
void sm_fins_add_section(const struct sm_fins *fins, struct sm_contour *contour);

/* Where a drawing shows them, across the axis and along it; the radius is the grain's [m]. */
void sm_fins_gauges_across(const struct sm_fins *fins, struct sm_gauges *out);
void sm_fins_gauges_along(const struct sm_fins *fins, double radius, double length, struct sm_gauges *out);

#endif
