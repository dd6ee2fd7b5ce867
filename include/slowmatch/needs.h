/*
 * What thrust a wished flight needs: up to a height, hover there for a time, down again and touch at no speed, with splay of the
 * motors as the only throttle and a reserve of it kept.
 *
 * What comes out is a band of thrust against time for one motor, and a request that sm_request_load reads. Guidance only: see
 * sm_lift_caution.
 */
#ifndef SLOWMATCH_NEEDS_H
#define SLOWMATCH_NEEDS_H

#include <stdbool.h>

#include "slowmatch/lift.h"
#include "slowmatch/plot.h"

#ifdef __cplusplus
extern "C" {
#endif

struct sm_needs_wish {
    double hover_height; /* over the ground, above 0 [m] */
    double hover_time;   /* 0 or more [s] */
    double
        reserve; /* share of the range of throttle kept at both its ends, up to 0.45 [1]; NaN: the vehicle's own */
    double
        lift_ratio; /* thrust along the axis over weight as it lifts off, from 1 to 2 [1]; NaN: chosen, see below */
    double burn_time; /* of the motors that are to be designed [s]; NaN: up to contact */
    bool is_robust;   /* the request is for sizing motors that stray: note 3 */
    const char
        *group; /* of motors, that is to be designed: its place, as "0", or its name; NULL: the only one */
};

/* Legs of the flight: up, slower, hover, down, slower. */
enum { SM_NEEDS_LEGS = 5 };

struct sm_needs {
    const char *vehicle;             /* name, borrowed from the vehicle */
    const char *base;                /* name of the motor that the request starts from */
    struct sm_needs_wish wish;       /* with what was chosen in place of NaN */
    size_t group;                    /* that is to be designed */
    const char *group_name;          /* NULL: it has none */
    size_t n_groups;                 /* of the vehicle; the others are taken as they are */
    int count;                       /* motors of the group */
    double specific_impulse;         /* of the base, by which mass falls [s] */
    double gravity;                  /* at the site [m/s2] */
    double acceleration;             /* upwards or downwards, of all legs but hover [m/s2] */
    double begin[SM_NEEDS_LEGS + 1]; /* of each leg, after these motors' ignition, and contact [s] */
    double turn_time;                /* that splay takes from speeding up to slowing down [s] */
    double ease_time;                /* from slowing down to hover, and back [s] */
    double thrust;                   /* of one motor, steady, in the middle of what will do [N] */
    double thrust_least;             /* a steady thrust may be from this [N] */
    double thrust_most;              /* to this [N] */
    double propellant_mass;          /* of one motor, at that thrust for its burn time [kg] */
    double release_mass;             /* of the vehicle then [kg] */
    double splay_limit;              /* of the group; NaN: it is no throttle [rad] */
    double least_splay_limit;        /* with which the flight could still be flown [rad] */
    double longest_hover;            /* at that height, with the vehicle's splay limit [s] */
    /* The band, and the flight: columns of n. */
    size_t n;
    const double *time;   /* after these motors' ignition, rising; below 0 if others lift it off before [s] */
    const double *least;  /* thrust of one motor; NaN: no limit [N] */
    const double *most;   /* NaN before its ignition [N] */
    const double *height; /* [m] */
    const double *speed;  /* upwards [m/s] */
    const double *mass;   /* of the vehicle, at the steady thrust [kg] */
};

/*
 * Given: vehicle with a group of motors that can be splayed; base, path of a motor file, or of a request whose motor, free
 * values, wishes and limits are kept (NULL: the group's motor); options for reading it, whose overrides are passed over;
 * context.
 * Returned: *needs, to be freed with sm_needs_free before the vehicle; NULL on failure. Problems go to *diag, as
 * sm_motor_load's do.
 * Status: SM_E_PHYSICS if no steady thrust flies it: the message says what would do. SM_E_FIELD for a vehicle without
 * throttle, for several groups of which none is chosen, and for a base that has no grain. SM_E_RANGE for a wish out of range.
 * Notes:
 *   1) With any thrust within the band the flight is flown exactly, mass falling as under the steady thrust. Drag is reckoned,
 *      and the time that splay takes: each change of acceleration is a ramp that it can follow.
 *   2) Without a lift_ratio the acceleration is in the middle of those at which a steady thrust will do: half of the room goes
 *      to the flight, half is left to the motor.
 *   3) If it is_robust the flight is the one that leaves the motor most room, the burn is a tenth longer than the flight, and the
 *      request wishes for the steady thrust and that burn, away from the band's edges: from there a robust sizing finds its way,
 *      whose limits hold for motors that stray. A motor that burns just up to contact would have no room: one that burns out a
 *      little sooner misses all of the least thrust.
 */
SM_API enum sm_status sm_needs_study(const struct sm_vehicle *vehicle, const char *base,
                                     const struct sm_needs_wish *wish, const struct sm_load_options *options,
                                     const struct sm_context *context, struct sm_needs **needs,
                                     struct sm_diag *diag) SM_MUST_CHECK;
SM_API void sm_needs_free(struct sm_needs *needs);

/* As a slowmatch-request/1 file that will stand at path, from where it names the motor. Status: SM_E_RANGE if the base has
 * more dimensions than can be tied. */
SM_API enum sm_status sm_needs_write_request(const struct sm_needs *needs, const char *path,
                                             struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;
/* The band against the weight, and the flight. */
SM_API enum sm_status sm_plot_needs(const struct sm_needs *needs, enum sm_unit_system system,
                                    enum sm_picture_kind kind, struct sm_sink *sink,
                                    struct sm_error *err) SM_MUST_CHECK;
/* As slowmatch-needs/1 JSON. */
SM_API enum sm_status sm_needs_write_json(const struct sm_needs *needs, struct sm_sink *sink,
                                          struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
