/* The case's wall that propellant does not cover, which the gas heats. */
#ifndef SM_BALLISTICS_WALL_H
#define SM_BALLISTICS_WALL_H

#include "motor/motor.h"

/* A stretch of wall covered by copies of one grain, which burning ends lay bare. */
struct sm_cover {
    double length; /* of one before burning [m] */
    double speed;  /* at which it shortens, against the web's [1] */
    double web;    /* at which it is gone [m] */
    int count;
};

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
