/* Flights with drag, and with splay that takes its time: integrated, where reach.h has sums of integrals. */
#ifndef SM_VEHICLE_FLIGHT_H
#define SM_VEHICLE_FLIGHT_H

#include "vehicle/reach.h"

/* Motors that are splayed alike. */
struct sm_flight_group {
    const double
        *spread;      /* what most splay takes off their thrust along the axis, at the profile's knots [N] */
    double low, high; /* least and most splay, between which the angle changes evenly [rad] */
    double ramp;      /* time from one to the other; 0: at once [s] */
    double lead;      /* how far it is splayed when the flight begins, in time of its ramp [s] */
};

enum { SM_FLIGHT_GROUPS = 8 };
struct sm_flight_model {
    const struct sm_profile *profile;
    double drag;  /* force over speed squared; 0: none [kg/m] */
    double since; /* when the flight begins, for the groups' leads [s] */
    double more;  /* share added to thrust; 0: as the profile has it [1] */
    size_t n;     /* groups; what they take off adds up to the profile's full less least */
    struct sm_flight_group groups[SM_FLIGHT_GROUPS];
};

/* The same model for what comes after t of a flight under a control: its groups splayed as they are then. */
void sm_flight_carry_on(const struct sm_flight_model *model, const struct sm_switches *control, double t,
                        struct sm_flight_model *rest);

/* Thrust along the axis under a control [N]. */
double sm_flight_thrust(const struct sm_flight_model *model, const struct sm_switches *control, double t);

/* What a flight passes on its way. */
struct sm_flight_extremes {
    double highest, lowest; /* heights after the start [m] */
};

/*
 * Height and speed at T under a control that commands most splay at control->off and least at control->on.
 *
 * Notes: Runge and Kutta's method of fourth order, stepping from knot to knot of the profile and of the ramps, at most 45 ms
 * at a time, 25 ms while splay changes; without drag and ramps it meets sm_reach_fly to 1e-8 m (a test).
 */
void sm_flight_fly(const struct sm_flight_model *model, const struct sm_flight_state *start,
                   const struct sm_switches *control, double T, struct sm_flight_state *end,
                   struct sm_flight_extremes *extremes);

/* Height and speed at t of the flight that is at *end later, under the same control. */
void sm_flight_back(const struct sm_flight_model *model, const struct sm_flight_state *end,
                    const struct sm_switches *control, double t, struct sm_flight_state *at);

/*
 * The control of full, least, full that touches the ground at T with the speed v [m/s], by Newton's method from the control
 * given (that without drag and ramps will do). Returned: 0, with *control as it was, if none is found.
 */
int sm_flight_land(const struct sm_flight_model *model, const struct sm_flight_state *start, double T,
                   double v, struct sm_switches *control);

/* A landing that was found; T SM_ABSENT: none yet. */
struct sm_flight_landed {
    double T; /* [s] */
    struct sm_switches control;
};

/* The same, or else from the control of a landing found before at a time near it. Both are set to what is found. */
int sm_flight_land_next(const struct sm_flight_model *model, const struct sm_flight_state *start, double T,
                        double v, struct sm_flight_landed *before, struct sm_switches *control);

/* The same two of a flight whose splay grows again for the last ease seconds before T. */
void sm_flight_fly_eased(const struct sm_flight_model *model, const struct sm_flight_state *start,
                         const struct sm_switches *control, double T, double ease,
                         struct sm_flight_state *end, struct sm_flight_extremes *extremes);
int sm_flight_land_eased(const struct sm_flight_model *model, const struct sm_flight_state *start, double T,
                         double v, double ease, struct sm_switches *control);

#endif
