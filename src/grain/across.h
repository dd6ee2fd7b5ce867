/* Free section and front of a port in one plane across the axis, from distances to the port alone. */
#ifndef SM_GRAIN_ACROSS_H
#define SM_GRAIN_ACROSS_H

#include "grain/point.h"

/* The plane: how far its places are from the port in space, below nothing in the void. */
struct sm_across {
    /* [m]; exact in propellant, and nowhere changing by more than p moves. */
    double (*distance)(void *user, struct sm_point p);
    void *user;
    double radius; /* of the grain [m] */
    int sectors;   /* equal parts about the axis, of which one is looked at */
};

/*
 * Free section [m2] and length of the front [m] at w [m] >= 0, of the whole plane.
 *
 * Notes:
 *   1) The plane is cut in halves along radius and angle. A cell that is farther from the front than its own size is settled by
 *      its middle; one that the front bends sharply in is cut on, down to a thousandth of the radius. In the others the front is
 *      an arc through its two places on the sides, found as roots, and a third between them.
 *   2) Smooth fronts are good to some 1e-6 of the circle and its circumference. With two dozen corners areas err by 4e-6 of the
 *      circle and lengths by 8e-5 of the circumference in root mean square, 5e-5 and 3e-4 at worst, as met against exact slices.
 */
void sm_across_measure(const struct sm_across *plane, double w, double *area, double *length);

#endif
