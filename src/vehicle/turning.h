/*
 * How motors that tilt turn a vehicle: moments about its centre of mass, what the stops leave, and what errors ask for.
 *
 * Frame: x along the axis to the nose, y towards azimuth 0, z across both. Pitch turns in the plane of x and y, yaw in that of x
 * and z, roll about x. A motor at azimuth phi tilts about its pivot first outwards, by its splay (its nozzle away from the axis,
 * so that its thrust points inwards), then across.
 */
#ifndef SM_VEHICLE_TURNING_H
#define SM_VEHICLE_TURNING_H

#include <stddef.h>

enum sm_turning_axis { SM_TURN_PITCH, SM_TURN_YAW, SM_TURN_ROLL, SM_TURN_AXES };

/* Motors evenly on a ring, at one instant. */
struct sm_turning_group {
    int count;
    double radius;    /* of the ring [m] */
    double azimuth;   /* of the first [rad] */
    double lever;     /* from the vehicle's centre of mass back to the pivots [m] */
    double thrust;    /* of one motor [N] */
    double splay;     /* of each [rad] */
    double low, high; /* stops of splay; alike: it is fixed [rad] */
    double across;    /* stop either way across the splay; 0: it can't tilt that way [rad] */
};

/* One standard deviation each, of every motor by itself. */
struct sm_turning_errors {
    double mismatch; /* of thrust, as a share [1] */
    double angle;    /* of thrust in each of two directions [rad] */
    double offset;   /* of the pivot sideways in each of two directions [m] */
};

/*
 * Moment that a tilt beside the splay gives about an axis, whatever the stops [N m].
 *
 * Notes: For pitch and yaw every motor is turned by the same angle about the same axis, a way that it can't tilt left out; for
 *   roll each is tilted across by it, all the same way round. With both ways free, thrust F, lever L, splay delta and angle eps
 *   a pair in its own plane gives 2 F sin eps (L cos delta + (s/2) sin delta) with s its spacing, a pair across its plane
 *   2 F sin eps L cos delta, and a ring of N >= 3 of radius r N F sin eps (L cos delta + (r/2) sin delta); roll is
 *   N F r sin eps.
 */
double sm_turning_moment(const struct sm_turning_group *group, enum sm_turning_axis axis, double angle);

/* The greatest such tilt, either way, that no stop is in the way of [rad]; 0 if it gives no moment. */
double sm_turning_left(const struct sm_turning_group *group, enum sm_turning_axis axis);

/* Standard deviation of the moment that the errors give about an axis [N m]. */
double sm_turning_error(const struct sm_turning_group *group, const struct sm_turning_errors *errors,
                        enum sm_turning_axis axis);

/* The tilt of all groups, whatever the stops, whose moment is so much [rad]: a right angle if no tilt is enough, SM_ABSENT if they
 * can't tilt that way or no motor burns. */
double sm_turning_trim(const struct sm_turning_group *groups, size_t n, enum sm_turning_axis axis,
                       double moment);

#endif
