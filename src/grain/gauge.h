/* Which length is which: where a drawing of a grain shows its parameters. */
#ifndef SM_GRAIN_GAUGE_H
#define SM_GRAIN_GAUGE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/fail.h"
#include "grain/point.h"
#include "slowmatch/param.h"

enum sm_gauge_form {
    SM_GAUGE_LENGTH, /* from a to b */
    SM_GAUGE_RADIUS, /* of an arc about a that runs through b */
    SM_GAUGE_CIRCLE, /* the diameter from a to b */
    SM_GAUGE_ANGLE   /* at c, from a to b anticlockwise */
};

/* Where a length is written: where it is, or out of the drawing's way, with lines that lead there. */
enum sm_gauge_side { SM_GAUGE_HERE, SM_GAUGE_ABOVE, SM_GAUGE_BELOW, SM_GAUGE_LEFT };

/* More would not be read in one drawing. */
enum { SM_GAUGE_NAME = 40, SM_GAUGE_MOST = 24 };

/* In the cross-section x and y are the grain's own; along the axis x is z and y the distance from the axis, or x of a grain that is
 * no body of revolution. */
struct sm_gauge {
    char name[SM_GAUGE_NAME]; /* of the parameter as --set has it behind its grain: "web", "profile.1.z" */
    enum sm_gauge_form form;
    enum sm_gauge_side side;
    bool is_along;           /* in the cut along the axis */
    bool is_share;           /* the parameter is not the angle, but that over another [1] */
    bool is_traced;          /* the circle is drawn, since no wall runs along all of it */
    double value;            /* of the parameter [m], [rad] or [1] */
    struct sm_point a, b, c; /* [m] */
};

struct sm_gauges {
    struct sm_gauge items[SM_GAUGE_MOST]; /* what is more is left out */
    size_t n;
    bool is_along; /* for those that are put from now on */
    double turn;   /* anticlockwise about the axis, likewise [rad] */
};

/* Each puts one, with the value that it has in the drawing; one that there is no more room for is left out. */
void sm_gauge_length(struct sm_gauges *out, const char *name, struct sm_point a, struct sm_point b,
                     enum sm_gauge_side side);
void sm_gauge_radius(struct sm_gauges *out, const char *name, struct sm_point centre, struct sm_point on_arc);
/* The diameter lies at an angle from the x axis [rad]. */
void sm_gauge_circle(struct sm_gauges *out, const char *name, struct sm_point centre, double radius,
                     double angle, bool is_traced);
void sm_gauge_angle(struct sm_gauges *out, const char *name, struct sm_point apex, struct sm_point from,
                    struct sm_point to);

/* An angle that the parameter gives as its share of a whole one [rad]. */
void sm_gauge_share(struct sm_gauges *out, const char *name, struct sm_point apex, struct sm_point from,
                    struct sm_point to, double whole);

/* SM_DIM_LENGTH, SM_DIM_ANGLE, or SM_DIM_NONE of a share of an angle. */
enum sm_dim sm_gauge_dim(const struct sm_gauge *gauge);

/* "list.i.field", for the name of a list's. Returned: text. */
const char *sm_gauge_entry(char text[SM_GAUGE_NAME], const char *list, size_t i, const char *field);

#endif
