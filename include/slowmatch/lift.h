/*
 * Can a vehicle lift, hover and land on its motors, if tilting them apart is its only throttle?
 *
 * Guidance only: see sm_lift_caution.
 */
#ifndef SLOWMATCH_LIFT_H
#define SLOWMATCH_LIFT_H

#include <stddef.h>
#include <stdint.h>

#include "slowmatch/motor.h"
#include "slowmatch/param.h"
#include "slowmatch/simulate.h"
#include "slowmatch/sink.h"

#ifdef __cplusplus
extern "C" {
#endif

#define SM_VEHICLE_FORMAT "slowmatch-vehicle/1"

struct sm_vehicle;

/*
 * Reads a vehicle file with the motors it names, and checks it.
 *
 * Given: path; options (NULL: none), whose overrides are for the vehicle file; context (NULL: defaults).
 * Returned: *vehicle, to be freed with sm_vehicle_free; NULL on failure. Problems go to *diag, as sm_motor_load's do.
 */
SM_API enum sm_status sm_vehicle_load(const char *path, const struct sm_load_options *options,
                                      const struct sm_context *context, struct sm_vehicle **vehicle,
                                      struct sm_diag *diag) SM_MUST_CHECK;
SM_API void sm_vehicle_free(struct sm_vehicle *vehicle);
/* How many motors of that name it carries. */
SM_API int sm_vehicle_carries(const struct sm_vehicle *vehicle, const char *motor);
/* Rows of a vehicle file. Returned: how many. */
SM_API size_t sm_vehicle_rows(const struct sm_param **rows);

/* One number each; SM_ABSENT (NaN) where there is no such thing. */
struct sm_lift_figures {
    double release_time;   /* when it is let go, after the first ignition command [s] */
    double release_mass;   /* then [kg] */
    double release_ratio;  /* thrust to weight then [1] */
    double greatest_ratio; /* through the burn [1] */
    double burnout_time;   /* last thrust [s] */
    double rail_time;      /* leaving the rail, after release [s] */
    double rail_speed;     /* [m/s] */
    double rail_thrust;    /* [N] */
    double
        rail_ratio; /* thrust to weight then; without a rail the most within half a second of lift-off [1] */
    double corner_time;      /* the same in the worst corner [s] */
    double corner_speed;     /* [m/s] */
    double corner_thrust;    /* [N] */
    double corner_ratio;     /* thrust to weight then, likewise; the greatest if it does not lift [1] */
    double straight_apogee;  /* flown without any splay and without drag [m] */
    double straight_delay;   /* from burnout to that apogee [s] */
    double hover_time;       /* for which thrust can hold the weight [s] */
    double hover_from;       /* first and last time of that [s] */
    double hover_to;         /* [s] */
    double hover_tilt_first; /* splay that hover needs then [rad] */
    double hover_tilt_last;  /* [rad] */
    double least_limit; /* least splay limit at which thrust at most splay stays under the weight [rad] */
    double least_limit_reserved; /* the same with the reserve kept [rad] */
    double
        down_from; /* whoever touches down before lifts off again, for thrust at most splay is not under the weight till
                         then [s] */
    double mass_for_no_lift; /* mass at release above which it never lifts off [kg] */
    double velocity_ideal;   /* of thrust over mass, without gravity [m/s] */
    double velocity_gravity; /* lost to gravity from release to burnout [m/s] */
};

/* A figure by its place, for tables and files. */
struct sm_lift_figure {
    const char *group; /* starts a new group if not NULL */
    const char *key, *label, *note;
    enum sm_dim dim;
    size_t offset; /* of the double in struct sm_lift_figures [bytes] */
    bool is_velocity;
};
SM_API size_t sm_lift_figure_list(const struct sm_lift_figure **figures);

/* Bounds under which windows and sets are reckoned: without drag and with splay that changes at once, with all of the range of
 * throttle and with the reserve kept at both its ends; then both with drag and the time that splay takes. */
enum sm_lift_bounds { SM_LIFT_BARE, SM_LIFT_RESERVE, SM_LIFT_DRAG, SM_LIFT_DRAG_RESERVE, SM_LIFT_BOUNDS };
/* "bare", "reserve", "drag", "drag_reserve". */
SM_API const char *sm_lift_bounds_name(enum sm_lift_bounds bounds);

/* Flights that land and stay down: a contact after which thrust at most splay would exceed the weight again before burnout is left
 * out. With drag: each flight of the window without, solved again; where it would hop after contact and come down beyond the legs'
 * limit, the flight that arrives with thrust equal to the weight instead, and if there is none the contact is left out. */
struct sm_landing_window {
    size_t n;                    /* contact times at which a landing exists */
    const double *time;          /* of contact, n of them, ascending [s] */
    const double *contact_speed; /* the softest one, downwards [m/s] */
    const double *apogee;        /* of the highest flight that lands then [m] */
    const double *splay_from;    /* that flight's splay is most from then [s] */
    const double *splay_to;      /* to then [s] */
    double highest;              /* of all apogees; SM_ABSENT if there is no landing [m] */
    double highest_time;         /* its contact time [s] */
    double settled;              /* contact from which thrust at most splay stays under the weight [s] */
    size_t n_rising;             /* contacts left out because it would rise again */
};

/* What comes after the contacts of a window with drag and the time that splay takes: splay goes to its most at once, and while it
 * grows the vehicle may hop. Columns of the window's n. */
struct sm_lift_touchdown {
    const double *ratio;      /* thrust at most splay over weight, the greatest from contact to burnout [1] */
    const double *ratio_time; /* when [s] */
    const double *rise;       /* of the hop; 0: none [m] */
    const double *rise_speed; /* downwards, as it comes down again [m/s] */
    const double *rise_time;  /* when it is down again; NaN without a hop [s] */
    /* The flight to the same contact that arrives with thrust equal to the weight, so that nothing makes it hop: NaN where there
     * is none. */
    const double *eased_from;   /* its splay grows again from then [s] */
    const double *eased_speed;  /* of contact, downwards [m/s] */
    const double *eased_apogee; /* [m] */
};

/* Columns of one length n. */
struct sm_lift_series {
    size_t n;
    const double *time;         /* since the first ignition command [s] */
    const double *thrust;       /* of all motors, untilted [N] */
    const double *full, *least; /* along the axis at least and at most splay [N] */
    const double *mass;         /* of the vehicle [kg] */
    const double *weight;       /* [N] */
    const double *ratio;        /* full over weight [1] */
    const double *hover_tilt;   /* splay that hover needs; NaN where there is none [rad] */
    const double *hover_low;    /* heights at which it can hover then, without drag; NaN: none [m] */
    const double *hover_high;   /* [m] */
};

/* How a flight ends that was planned on the curve as told and flown on another, and how near it came to the edge of the tube
 * on its way. Either it touches the ground, or it is still up at burnout. */
struct sm_lift_end {
    double contact_time;  /* [s] */
    double contact_speed; /* downwards [m/s] */
    double height_left;   /* at burnout [m] */
    double speed_left;    /* upwards [m/s] */
    /* Least distance to the edge of the vehicle's own tube, with drag and the time that splay takes, all of the range of throttle
     * allowed, and when; 0 where it has left the tube. */
    double margin_height;      /* at the same speed [m] */
    double margin_height_time; /* [s] */
    double margin_speed;       /* at the same height [m/s] */
    double margin_speed_time;  /* [s] */
    double margin_thrust;      /* share of thrust, more or less from then on; at most 0.5 is looked at [1] */
    double margin_thrust_time; /* [s] */
};

enum sm_lift_way {
    SM_LIFT_FIXED,     /* splay a fixed program of time, or of time since the last ignition at a height */
    SM_LIFT_REPLANNED, /* planned anew at instants, knowing the true remaining curve */
    SM_LIFT_REPLANNED_AS_TOLD, /* planned anew at instants, on the curve as told */
    SM_LIFT_WAYS
};
/* "fixed", "replanned", "replanned_as_told". */
SM_API const char *sm_lift_way_name(enum sm_lift_way way);

/* Held from the first ignition command to lift-off, flown up to the last ignition at a height if there is one, flown to contact, and on
 * the ground to burnout, where it may hop. */
enum sm_lift_phase {
    SM_LIFT_HELD,
    SM_LIFT_TO_IGNITION,
    SM_LIFT_FLYING,
    SM_LIFT_AFTER_CONTACT,
    SM_LIFT_PHASES
};
/* "held", "to ignition", "flight", "after contact". */
SM_API const char *sm_lift_phase_name(enum sm_lift_phase phase);

/* The plan flown as told, with drag and the time that splay takes, and what the tube without either leaves it in flight, with all
 * of the range of throttle: columns of n. */
struct sm_lift_flight {
    size_t n;
    const enum sm_lift_phase *phase;
    const double *time;                     /* [s] */
    const double *height, *speed;           /* [m], upwards [m/s] */
    const double *height_low, *height_high; /* of the tube at that speed [m] */
    const double *speed_low, *speed_high;   /* of the tube at that height [m/s] */
};

/* A flight to contact or burnout: columns of n. */
struct sm_lift_path {
    size_t n;
    const double *time;           /* [s] */
    const double *height, *speed; /* [m], upwards [m/s] */
    const double
        *throttle; /* thrust along the axis over that without any tilt; NaN where no motor burns [1] */
};

/* The plan flown on a vehicle that is not as told. */
struct sm_lift_off_by {
    const char *what;
    struct sm_lift_end ways[SM_LIFT_WAYS];
    struct sm_lift_path paths[SM_LIFT_WAYS]; /* from lift-off or the last ignition at a height */
};

/* Heights and speeds that can be reached at one time, or from which a landing still can: columns of n. The ground cuts them
 * off. */
struct sm_lift_set {
    double time; /* [s] */
    size_t n;
    const double *at;         /* speed of a reachable set [m/s]; height of the tube [m] */
    const double *low, *high; /* height of a reachable set [m]; speed of the tube [m/s] */
};

/* Heights at which it can stand still: columns of SM_LIFT_HOVERS; NaN: none. */
struct sm_lift_hover_set {
    const double *low[SM_LIFT_BOUNDS], *high[SM_LIFT_BOUNDS]; /* [m] */
    const double *time;                                       /* [s] */
};

/* Vehicles drawn from tolerances, each with its own landing window; those with drag and the time that splay takes of the first n_flown
 * alone. Shares are of all drawn so, percentiles of those that land. */
enum { SM_LIFT_PERCENTILES = 3 }; /* 5, 50 and 95 */
struct sm_lift_sampled {
    size_t n; /* 0: none asked for */
    uint64_t seed;
    double lands[SM_LIFT_BOUNDS]; /* share for which a landing exists [1] */
    const char *curves;           /* whose tolerances thrust strays by */
    bool strays_otherwise;        /* mass or ignition delay, by the vehicle file's tolerances */
    size_t n_flown; /* the first of them, flown three ways, with drag and the time that splay takes */
    double plan_within[SM_LIFT_WAYS]; /* share of those that touch within the legs' limit [1] */
    double first[SM_LIFT_BOUNDS][SM_LIFT_PERCENTILES];   /* contact [s] */
    double last[SM_LIFT_BOUNDS][SM_LIFT_PERCENTILES];    /* contact [s] */
    double highest[SM_LIFT_BOUNDS][SM_LIFT_PERCENTILES]; /* flight that lands [m] */
};

/* The longest hover at a height that was asked for: it is there at from, and a landing still exists at to; NaN: none. */
struct sm_lift_hover_at {
    double height;               /* SM_ABSENT: none asked for [m] */
    double from[SM_LIFT_BOUNDS]; /* [s] */
    double to[SM_LIFT_BOUNDS];   /* [s] */
};

/*
 * What the motors' tilt can turn, from lift-off to burnout at the splay nearest to that which holds the weight, each group within
 * its own: columns of SM_LIFT_TURNS. Pitch turns towards azimuth 0, yaw towards azimuth 90 degrees, both by a tilt of all motors
 * the same way beside the splay; roll by one that is opposed, the same way round. NaN where the file does not tell enough.
 */
enum { SM_LIFT_AXES = 3, SM_LIFT_TURNS = 33 };
struct sm_lift_axis {
    const double *inertia;      /* of the vehicle about its centre of mass [kg m2] */
    const double *tilt;         /* that the stops leave [rad] */
    const double *moment;       /* that it gives [N m] */
    const double *acceleration; /* [rad/s2] */
    const double
        *trim; /* tilt that three deviations of mismatch and mount errors ask for; NaN: there is none [rad] */
};
struct sm_lift_turning {
    size_t n;
    const double *time;           /* [s] */
    const double *ratio;          /* thrust to weight [1] */
    const double *splay;          /* [rad] */
    const double *mass;           /* [kg] */
    const double *center_of_mass; /* from the nose [m] */
    const double *axial;          /* change of thrust along the axis with splay: none at no splay [N/rad] */
    struct sm_lift_axis axes[SM_LIFT_AXES];
    double least_splay;  /* that plans keep [rad] */
    const char *missing; /* what the file would have to tell for all of this; NULL if nothing */
};
/* "pitch", "yaw", "roll". */
SM_API const char *sm_lift_axis_name(size_t axis);

/* A group that was lit at a height on the way down. */
struct sm_lift_ignition {
    size_t group;      /* its place in the file */
    double height;     /* over the ground [m] */
    double time;       /* when it fell through it [s] */
    double speed;      /* then, upwards [m/s] */
    double burns_from; /* after its ignition delay [s] */
};

enum { SM_LIFT_CASES = 9, SM_LIFT_SETS = 25, SM_LIFT_HOVERS = 33, SM_LIFT_MASSES = 9, SM_LIFT_LIMITS = 13 };
/* Hover and landing of a vehicle of another mass or splay limit. */
struct sm_lift_row {
    double hover[2]; /* for which the weight can be held: bare, and with the reserve kept [s] */
    double first[SM_LIFT_BOUNDS], last[SM_LIFT_BOUNDS]; /* contact; NaN: nothing lands [s] */
    double highest[SM_LIFT_BOUNDS];                     /* flight that lands [m] */
    double down_from;                                   /* as the figure [s] */
};

struct sm_lift {
    const char *vehicle;     /* name, borrowed from the vehicle */
    bool has_throttle;       /* motors that can be splayed */
    const char *no_throttle; /* why not; NULL if it has */
    struct sm_lift_figures figures;
    const char *corner;   /* what the worst corner is made of, and what the file does not state */
    const char *ejection; /* the delay wanted, or that it is to be plugged */
    const struct sm_lift_ignition *ignitions; /* in turn */
    size_t n_ignitions;                       /* 0: all motors are lit at times */
    const char *steering;                     /* how it was flown until the last of them; NULL: none */
    double ignition_highest;                  /* of that flight; SM_ABSENT: none [m] */
    struct sm_lift_turning turning;
    struct sm_landing_window windows[SM_LIFT_BOUNDS];
    struct sm_lift_touchdown touchdown[SM_LIFT_BOUNDS - SM_LIFT_DRAG]; /* of the last two windows */
    struct sm_lift_series series;
    /* The plan: the highest flight of the reserve's window, or of the bare one if it has none, to the contact in the middle of
     * that window. SM_ABSENT if nothing lands. */
    double plan_contact;    /* [s] */
    double plan_speed;      /* then, downwards [m/s] */
    double plan_splay_from; /* [s] */
    double plan_splay_to;   /* [s] */
    bool plan_keeps_reserve;
    struct sm_lift_flight plan; /* n 0 if nothing lands */
    double replan_every;        /* [s] */
    double speed_limit;         /* of the legs [m/s] */
    double reserve;             /* share of the range of throttle kept at both ends [1] */
    double
        splay_limit; /* of the groups that are throttles; SM_ABSENT if they differ, or there are none [rad] */
    struct sm_lift_off_by off_by[SM_LIFT_CASES]; /* the first: as told */
    size_t n_off_by;                             /* 0 if nothing lands */
    const char
        *off_by_from; /* where the deviations of thrust and burn time come from; NULL if nothing lands */
    struct sm_lift_set reachable[SM_LIFT_BOUNDS][SM_LIFT_SETS], tube[SM_LIFT_BOUNDS][SM_LIFT_SETS];
    size_t n_sets;                  /* of each; 0 without throttle */
    struct sm_lift_hover_set hover; /* NULL without throttle */
    struct sm_lift_hover_at hover_at;
    double masses[SM_LIFT_MASSES]; /* at release [kg] */
    struct sm_lift_row by_mass[SM_LIFT_MASSES];
    double limits[SM_LIFT_LIMITS]; /* of splay [rad] */
    struct sm_lift_row by_limit[SM_LIFT_LIMITS];
    struct sm_lift_sampled sampled;
    const struct sm_warning_found *warnings;
    size_t n_warnings;
};

/* All zeros: no samples. */
struct sm_lift_options {
    size_t samples; /* vehicles to draw, up to SM_MAX_SAMPLES */
    uint64_t seed;
    int threads;         /* 0: as many as the machine has; the numbers are the same */
    double hover_height; /* at which the longest hover is sought; 0: not asked [m] */
};

/*
 * Given: options, NULL for all zeros.
 * Status: SM_E_PHYSICS if it can't lift: the message says by how much and what would.
 * Returned: *lift, to be freed with sm_lift_free before the vehicle.
 */
SM_API enum sm_status sm_lift_study(const struct sm_vehicle *vehicle, const struct sm_lift_options *options,
                                    const struct sm_context *context, struct sm_lift **lift,
                                    struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_lift_free(struct sm_lift *lift);

/* How many of the flights that are off, not that as told, touch within the legs' limit. */
SM_API size_t sm_lift_touch_within(const struct sm_lift *lift, enum sm_lift_way way);

/* What every output says: sentence i, NULL past the last. */
SM_API const char *sm_lift_caution(size_t i);

/* As slowmatch-lift/1 JSON; the series, and the outlines of the sets, as RFC 4180 CSV. */
SM_API enum sm_status sm_lift_write_json(const struct sm_lift *lift, struct sm_sink *sink,
                                         struct sm_error *err) SM_MUST_CHECK;
SM_API enum sm_status sm_lift_write_csv(const struct sm_lift *lift, struct sm_sink *sink,
                                        struct sm_error *err) SM_MUST_CHECK;
/* The plan's flight by its phases, as RFC 4180 CSV. */
SM_API enum sm_status sm_lift_write_flight(const struct sm_lift *lift, struct sm_sink *sink,
                                           struct sm_error *err) SM_MUST_CHECK;
/* The flights that are off, three ways, likewise. */
SM_API enum sm_status sm_lift_write_off_by(const struct sm_lift *lift, struct sm_sink *sink,
                                           struct sm_error *err) SM_MUST_CHECK;
SM_API enum sm_status sm_lift_write_sets(const struct sm_lift *lift, struct sm_sink *sink,
                                         struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
