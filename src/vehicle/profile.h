/*
 * A vehicle's thrust and mass as functions of time, whatever its motors' tilt, and the integrals that flights without drag
 * are made of.
 *
 * The only throttle is tilt, so the thrust along the vehicle's axis lies between two known functions of time, least and
 * full, and mass is a known function of time too. A flight without drag under any control that switches between the two is
 * then a sum of a few of these integrals.
 */
#ifndef SM_VEHICLE_PROFILE_H
#define SM_VEHICLE_PROFILE_H

#include "base/arena.h"
#include "base/fail.h"

/* Straight lines between knots; a time may stand twice at a jump. */
struct sm_profile {
    size_t n;             /* knots, at least 2 */
    double *t;            /* since the first ignition command [s] */
    double *thrust;       /* of all motors, if none is tilted [N] */
    double *full, *least; /* along the axis at least and at most tilt [N] */
    double *mass;         /* of the whole vehicle [kg] */
    double gravity;       /* [m/s2] */
    /* Integrals from t[0] to each knot; a is thrust along the axis over mass. */
    double *speed;         /* of a_full dt [m/s] */
    double *moment;        /* of t a_full dt [m] */
    double *spread;        /* of (a_full - a_least) dt [m/s] */
    double *spread_moment; /* of t (a_full - a_least) dt [m] */
    /* How often, up to each knot, thrust has passed the weight: where it has not, speed only grows or only falls. */
    unsigned *full_turns, *least_turns;
    /* The last knot at or before the start of each of n cells of one width, to find knots by. */
    unsigned *cells;
    double cells_per_time; /* [1/s] */
};

/* Fills the integrals, and what else follows, of a profile whose other columns are there; all live in the arena. */
enum sm_status sm_profile_integrate(struct sm_profile *profile, struct sm_arena *arena,
                                    struct sm_error *err) SM_MUST_CHECK;

/* The columns at one time; held before the first and after the last knot; at a jump the later value. */
struct sm_profile_at {
    double thrust, full, least; /* [N] */
    double mass;                /* [kg] */
};
void sm_profile_eval(const struct sm_profile *profile, double t, struct sm_profile_at *out);

/* Does full, or least, thrust stay on one side of the weight from a to b? */
int sm_profile_is_one_sided(const struct sm_profile *profile, int is_full, double a, double b);

/* The interval that holds t: the last knot at or before it, but never the very last. */
size_t sm_profile_find(const struct sm_profile *profile, double t);

/* The integrals from t[0] to t. */
struct sm_profile_sums {
    double speed, moment;         /* [m/s], [m] */
    double spread, spread_moment; /* [m/s], [m] */
};
void sm_profile_sums(const struct sm_profile *profile, double t, struct sm_profile_sums *out);

/* Time at which the spread integral reaches a value [m/s], between from and to [s]; the nearer end if it does not. */
double sm_profile_when_spread(const struct sm_profile *profile, double spread, double from, double to);

/* Last time at which there is thrust [s]. */
double sm_profile_burnout(const struct sm_profile *profile);

#endif
