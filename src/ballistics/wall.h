/* The case's wall that propellant does not cover, which the gas heats. */
#ifndef SM_BALLISTICS_WALL_H
#define SM_BALLISTICS_WALL_H

#include "motor/motor.h"

/* A stretch of wall covered by copies of one grain, which burning ends lay bare, and fires from a wire along the axis and from a
 * recess in the middle as they come to the wall. */
struct sm_cover {
    double length; /* of one before burning [m] */
    double radius; /* [m] */
    double speed;  /* at which a face goes along the wall, against the web's; 0: none burns [1] */
    double other;  /* the same of the other end [1] */
    double axis;   /* at which fire runs along the axis [1] */
    double recess; /* radius of the recess, 0 for none [m] */
    double depth;  /* of its wall [m] */
    double point;  /* of the cone at its bottom [m] */
    double web;    /* at which it is gone [m] */
    int count;
};

/* How a grain covers the wall; count 0 if its outer face burns. */
struct sm_cover sm_cover_of(const struct sm_grain_entry *entry, double web);

/* Length that one grain still covers at distance burned w [m] and the speed at which it shortens [1]. */
double sm_cover_left(const struct sm_cover *cover, double w, double *speed);

struct sm_bare_wall {
    double around;          /* circumference of the bore [m] */
    double length;          /* of the case [m] */
    struct sm_cover *cover; /* n of them, in the arena */
    size_t n;
};

/* Status: SM_E_NOMEM. */
enum sm_status sm_bare_wall_init(struct sm_bare_wall *wall, const struct sm_motor *motor,
                                 struct sm_arena *arena, struct sm_error *err) SM_MUST_CHECK;

/* Bare area [m2] at distance burned w [m] and its slope [m2/m]; slope may be NULL. The side of the cylinder only: its ends
 * are left out. A grain whose outer face burns covers nothing. */
double sm_bare_wall_area(const struct sm_bare_wall *wall, double w, double *slope);

#endif
