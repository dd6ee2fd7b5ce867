/*
 * A vehicle as data: what a file says, and the runs of its motors.
 *
 * Frame: places from the nose towards the tail.
 */
#ifndef SM_VEHICLE_VEHICLE_H
#define SM_VEHICLE_VEHICLE_H

#include "motor/motor.h"
#include "slowmatch/lift.h"

struct sm_vehicle_body {
    double dry_mass; /* without propellant, with the motors' cases [kg] */
    /* Of that dry vehicle; SM_ABSENT if not given. */
    double center_of_mass;                           /* [m] */
    double inertia_roll, inertia_pitch, inertia_yaw; /* about its own centre of mass [kg m2] */
};

/* Motors of one kind, lit together; splayed alike. */
struct sm_motor_group {
    const char *name;  /* NULL if it has none */
    const char *motor; /* file, from the vehicle file's folder */
    int count;
    double ring_radius;       /* from the axis; 0: on it [m] */
    double spacing;           /* between neighbours, in its place; SM_ABSENT if not given [m] */
    double azimuth;           /* of the first motor around the axis [rad] */
    double pivot;             /* about which they tilt; SM_ABSENT if not given [m] */
    double pivot_on_motor;    /* from the motor's head end; half its length if not given [m] */
    double cant;              /* fixed, outwards [rad] */
    double tilt_limit;        /* either way from the cant [rad] */
    double tilt_limit_across; /* either way, across the splay [rad] */
    double tilt_rate;         /* of splay, in place of the time; SM_ABSENT if not given [rad/s] */
    double tilt_time;         /* from least to most splay; 0: at once [s] */
    double ignite_at;         /* after the first ignition command; 0 if a height is given [s] */
    double ignite_height;     /* lit as the vehicle falls through it; SM_ABSENT if a time is given [m] */
    double ignition_delay;    /* from command to the start of the curve [s] */
    double ignition_delay_tolerance; /* one standard deviation [s] */
    double
        eject_at; /* its ejection charge, after the first ignition command; SM_ABSENT: its motor's own delay [s] */
};

struct sm_vehicle_air {
    double area;             /* that drag is reckoned with; 0: no drag [m2] */
    double drag_coefficient; /* [1] */
};

struct sm_vehicle_site {
    double altitude; /* of the ground, for the air's density [m] */
    double gravity;  /* [m/s2] */
};

struct sm_vehicle_launch {
    double release_thrust; /* that each motor lit at the start must exceed; 0: let go at once [N] */
    double abort_after;    /* if that is not so by then [s] */
    double rail_length;    /* 0: none [m] */
};

struct sm_vehicle_landing {
    double speed_limit;  /* of the legs [m/s] */
    double reserve;      /* of the range of throttle, kept at both ends [1] */
    double replan_every; /* time between the instants at which a flight is planned anew [s] */
    double least_splay;  /* that plans keep, for there is no steering by splay at none [rad] */
};

struct sm_vehicle_tolerances {
    double thrust;    /* one standard deviation, as a share [1] */
    double cold;      /* share of thrust lost at the coldest [1] */
    double mass;      /* one standard deviation, as a share [1] */
    double burn_time; /* one standard deviation, as a share, impulse kept [1] */
    double
        mismatch; /* of one motor's thrust from the others', one standard deviation; that of thrust if not given [1] */
    double mount_angle;  /* of one motor's thrust, either way, one standard deviation [rad] */
    double mount_offset; /* of one motor's pivot sideways, either way, one standard deviation [m] */
};

struct sm_vehicle_spec {
    const char *name;
    struct sm_vehicle_body body;
    struct sm_list motors; /* of struct sm_motor_group */
    struct sm_vehicle_air aerodynamics;
    struct sm_vehicle_site site;
    struct sm_vehicle_launch launch;
    struct sm_vehicle_landing landing;
    struct sm_vehicle_tolerances tolerances;
};

struct sm_vehicle {
    struct sm_arena arena;
    struct sm_vehicle_spec spec;
    struct sm_motor **motors; /* one a group, owned */
    const char *path;         /* of its file */
    const char *folder;       /* of its file, "" for the current one */
};

extern const struct sm_param sm_vehicle_params[];
extern const size_t sm_n_vehicle_params;

/* Puts in what follows from other values: rings from spacings, times of tilt from rates, and what is taken if not given.
 * Status: SM_E_FIELD, SM_E_RANGE with the pointer, where two values say the same. */
enum sm_status sm_vehicle_settle(struct sm_vehicle *vehicle, struct sm_error *err) SM_MUST_CHECK;

/* What the rows can't see. Status: SM_E_RANGE, SM_E_GEOMETRY, with the pointer. */
enum sm_status sm_vehicle_check(const struct sm_vehicle *vehicle, struct sm_error *err) SM_MUST_CHECK;

/* Splay of a group [rad]: the least and the most angle from the axis. */
void sm_group_splay(const struct sm_motor_group *group, double least_splay, double *low, double *high);

/* Is it lit at a height, in place of a time? */
int sm_group_waits_for_height(const struct sm_motor_group *group);

/* Can splay change this group's thrust along the axis without pushing sideways? */
int sm_group_has_throttle(const struct sm_motor_group *group);

#endif
