/*
 * What a steady thrust of one group of motors may be for a wished flight, beside the other groups as they are.
 *
 * At each instant the flight takes A = m (g + a) + D v |v| along the axis, m the mass and D the drag. The group's N motors of thrust
 * F give from k_least N F to k_full N F, the others from H_least to H_full, so that A - H_full <= k_full N F and k_least N F <=
 * A - H_least. Mass is that of the body and of the others' propellant, and N F s / c for the group's own, with s the time it still
 * burns and c its exhaust velocity: both are linear in F, and each instant bounds it in closed form (theory.md, section on lift).
 *
 * Times are since the first ignition command.
 */
#ifndef SM_VEHICLE_THRUSTSPAN_H
#define SM_VEHICLE_THRUSTSPAN_H

#include "vehicle/profile.h"
#include "vehicle/vehicle.h"
#include "vehicle/wished.h"

/* How one group is splayed. */
struct sm_splaying {
    double full,
        least;   /* shares of thrust along the axis at least and most splay, with the reserve kept [1] */
    double rate; /* of splay; infinite: at once [rad/s] */
};

enum { SM_ASKED_GROUPS = 16, SM_ASKED_EVENTS = 160 };

struct sm_asked {
    const struct sm_motor_group *group; /* that is to be designed */
    const struct sm_profile
        *held; /* thrust of the others; its mass is with the dry body. NULL: there are none */
    struct sm_splaying splaying; /* of the group */
    struct sm_splaying others[SM_ASKED_GROUPS];
    size_t n_others;                /* that are throttles */
    double events[SM_ASKED_EVENTS]; /* when the others' thrust changes, ascending [s] */
    size_t n_events;
    double dry_mass; /* [kg] */
    double gravity;  /* [m/s2] */
    double drag;     /* force over speed squared [kg/m] */
    double exhaust;  /* velocity [m/s] */
    double ignition; /* the group's curves begin then [s] */
    double up;       /* their thrust is up for certain [s] */
    double lift_off; /* [s] */
    double burn;   /* for which the group burns; absent: up to contact and as much longer as spare says [s] */
    double spare;  /* [1] */
    double height; /* [m] */
    double hover;  /* [s] */
    double reserve; /* [1] */
    double ratio;   /* thrust over weight at lift-off; absent: to be chosen [1] */
    int is_roomy;   /* of the flights there are, the one that leaves thrust most room */
};

/* A flight, and when the group's motors burn out. */
struct sm_asked_flight {
    struct sm_wished wished;
    double contact;  /* [s] */
    double burn_out; /* [s] */
};

struct sm_thrust_span {
    double least, most; /* of one motor; most under least: none [N] */
};

/* An instant of it: the flight's, what the others give then, and how long the group still burns. */
struct sm_asked_instant {
    double t;                           /* since the first ignition command [s] */
    double height, speed, acceleration; /* [m], upwards [m/s], [m/s2] */
    double full, least;                 /* of the others, along the axis [N] */
    double mass;                        /* without the group's propellant [kg] */
    double left;                        /* that the group still burns [s] */
    int burns;                          /* is its thrust there for certain? */
    int flies;
};
struct sm_asked_instant sm_asked_when(const struct sm_asked *asked, const struct sm_asked_flight *flight,
                                      double t);

/* Those at which it is looked: `parts` in each part of the flight, at events, and after contact up to the last burnout. Ascending, and
 * no two nearer than `apart` [s]. Returned: how many, `most` at most. */
size_t sm_asked_times(const struct sm_asked *asked, const struct sm_asked_flight *flight, int parts,
                      double apart, double *t, size_t most);

/* The flight under an acceleration [m/s2] and what a steady thrust may be for it. Returned: 0 if there is no such flight; then the
 * span is none. */
int sm_asked_fly(const struct sm_asked *asked, double acceleration, struct sm_asked_flight *flight,
                 struct sm_thrust_span *span);

/* The acceleration to fly with [m/s2]: as wished, or in the middle of those that leave room, or, if it is to be roomy, that which
 * leaves most. 0 if there is none. */
double sm_asked_choose(const struct sm_asked *asked);

#endif
