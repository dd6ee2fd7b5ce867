/*
 * After contact: does the vehicle stay down, and how far does it rise while splay grows?
 *
 * Touched down, splay is commanded to its most at once, and the legs take the speed of contact: it stands. While its splay still
 * grows thrust may exceed the weight, so that it hops; and if thrust at most splay exceeds the weight later on, it lifts off again.
 */
#ifndef SM_VEHICLE_TOUCHDOWN_H
#define SM_VEHICLE_TOUCHDOWN_H

#include "vehicle/flight.h"

/* The earliest time from which least thrust stays under the weight up to burnout [s]. */
double sm_touchdown_settled(const struct sm_profile *profile);

/* Least thrust over weight, the greatest from t to burnout [1]; *when it is so [s]. */
double sm_touchdown_ratio(const struct sm_profile *profile, double t, double *when);

/* A vehicle on the ground from a contact on; it may hop. */
struct sm_touchdown {
    struct sm_flight_model model; /* splayed as at contact */
    struct sm_switches control;   /* to most splay */
    struct sm_flight_state at;    /* [s], [m], [m/s] */
    double settled;               /* of its profile [s] */
    int is_up;
    /* So far: */
    double rise;       /* greatest height [m] */
    double rise_speed; /* fastest at which it came down again, downwards [m/s] */
    double down;       /* when it came down last; SM_ABSENT if it has not risen [s] */
};

/* At a contact at T, of a flight under that control whose splay grew again for the last ease seconds. The model must outlive it. */
void sm_touchdown_begin(const struct sm_flight_model *model, const struct sm_switches *control, double T,
                        double ease, struct sm_touchdown *touchdown);

/* On to t. */
void sm_touchdown_go_on(struct sm_touchdown *touchdown, double t);

/* On until nothing makes it rise any more, or it is down again after burnout. */
void sm_touchdown_finish(struct sm_touchdown *touchdown);

/*
 * How long before T splay must begin to grow from its least, so that at T thrust along the axis is the weight: the contact then has
 * no acceleration, and nothing makes it hop.
 *
 * Returned: 0 if thrust is below the weight at least splay already, or splay changes at once; SM_ABSENT if it is above it at most [s].
 */
double sm_touchdown_ease(const struct sm_flight_model *model, double T);

#endif
