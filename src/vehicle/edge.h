/* A curve by points, with cubics between: an edge of a set of heights and speeds. */
#ifndef SM_VEHICLE_EDGE_H
#define SM_VEHICLE_EDGE_H

#include <stddef.h>

enum { SM_EDGE_POINTS = 129 };
struct sm_edge {
    size_t n;
    double x[SM_EDGE_POINTS], y[SM_EDGE_POINTS]; /* asked by, ascending, and wanted: [m] or [m/s] */
};

/* Adds a point. One that hardly differs from the last, or comes before it, is left out: what is between them is rounding. */
void sm_edge_add(struct sm_edge *edge, double x, double y);

/* The cubic through the four points about x, and on beyond the ends; of fewer points a lower order. NaN of none. */
double sm_edge_at(const struct sm_edge *edge, double x);

#endif
