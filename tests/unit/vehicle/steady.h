/* The vehicle of the worked figures: motors of steady thrust for 13.5 s, 2.3 kg at release, tilt at once, no drag. */
#ifndef UNIT_VEHICLE_STEADY_H
#define UNIT_VEHICLE_STEADY_H

#include "vehicle/profile.h"

enum { STEADY_KNOTS = 28 };

struct steady {
    struct sm_arena arena;                                                  /* to be released */
    double t[STEADY_KNOTS];                                                 /* [s] */
    double thrust[STEADY_KNOTS], least[STEADY_KNOTS], spread[STEADY_KNOTS]; /* [N] */
    double mass[STEADY_KNOTS];                                              /* [kg] */
    struct sm_profile profile;
};

/* Given: thrust [N]; burned, propellant of all motors [kg]; limit of tilt [rad]. */
void steady_set_up(struct steady *v, double thrust, double burned, double limit);

#endif
