/* A conical slot all round a bore, with a round end. */
#ifndef SM_GRAIN_CONESLOT_H
#define SM_GRAIN_CONESLOT_H

#include "grain/contour.h"
#include "grain/gauge.h"

struct sm_coneslot {
    double bore;            /* its radius [m] */
    double position;        /* z at which the slot's middle leaves the bore [m] */
    double half;            /* of its width [m] */
    double reach;           /* largest radius [m] */
    struct sm_point way;    /* unit, outwards along it [1] */
    struct sm_point centre; /* of its round end, as z and radius [m] */
    double aft, fore;       /* z of the sides at the bore [m] */
};

/* Given: diameters, position and width [m]; angle from the axis, leaning forwards below a right one [rad]. */
struct sm_coneslot sm_coneslot_find(double bore_diameter, double position, double width, double angle,
                                    double diameter);

/* Must fit into a grain [m], named as slot_diameter and slot_position. */
enum sm_status sm_coneslot_check(const struct sm_coneslot *slot, double outer_diameter, double length,
                                 struct sm_error *err) SM_MUST_CHECK;

/* On along the bore, round the slot, and along the bore to z = fore [m]. */
void sm_coneslot_add_wall(const struct sm_coneslot *slot, double fore, struct sm_contour *contour);

/* Where a drawing along the axis shows slot_position, slot_width, slot_diameter and slot_angle; radius: of the grain [m]. */
void sm_coneslot_gauges(const struct sm_coneslot *slot, double radius, struct sm_gauges *out);

#endif
