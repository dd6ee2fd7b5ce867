/* The study of a vehicle's lift, hover and landing in its steps: the inside of lift.c. */
#ifndef SM_VEHICLE_LIFT_H
#define SM_VEHICLE_LIFT_H

#include "vehicle/flight.h"
#include "vehicle/lighting.h"
#include "vehicle/reach.h"
#include "vehicle/thrust.h"

struct sm_lift_study {
    struct sm_lift lift; /* first, so that a result is also its study */
    struct sm_arena arena;
    const struct sm_vehicle *told; /* as its file has it */
    const struct sm_vehicle
        *vehicle; /* all of its motors lit at times: those lit at a height, when it falls through it */
    struct sm_lighting lighting;         /* when that is */
    const struct sm_result *const *runs; /* one a group */
    struct sm_profile bare, reserve;     /* with the bare bounds, and with the reserve kept */
    const struct sm_profile *lifting;    /* of what lifts it: bare, or without the motors lit at heights */
    struct sm_flight_state lift_off;
    struct sm_flight_state start; /* of the flights studied: lift-off, or the last ignition at a height */
    struct sm_flight_state
        start_reserve; /* the same with the reserve kept, where lift-off is later; time SM_ABSENT if never */
    struct sm_flight_model flown, flown_reserve; /* drag and splay as the file has them */
    int lifts_in_corner;
};

/* When it is let go, as changed. Status: SM_E_PHYSICS if a motor does not come up to the release thrust in time. */
enum sm_status sm_lift_release(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                               const struct sm_vehicle_change *change, double *t,
                               struct sm_error *err) SM_MUST_CHECK;

/* The first time from t on at which full thrust holds the weight [s]; SM_ABSENT if there is none. */
double sm_lift_off_time(const struct sm_profile *profile, double t);

/* The last time at which thrust at most splay is not under the weight: who touches down before would lift off again [s];
 * SM_ABSENT if it is always under it after from. */
double sm_lift_down_from(const struct sm_profile *profile, double from);

/* How it leaves the rail at full thrust; without one, its greatest thrust to weight within half a second of lift-off alone. */
struct sm_leaving {
    double time;   /* after lift-off [s] */
    double speed;  /* [m/s] */
    double thrust; /* [N] */
    double ratio;  /* thrust to weight [1] */
};
struct sm_leaving sm_lift_leave_rail(const struct sm_profile *profile, const struct sm_flight_state *start,
                                     double length);

/* Of thrust to weight, through the burn [1]. */
double sm_lift_greatest_ratio(const struct sm_profile *profile);

/* For how long thrust can be made equal to the weight [s]; first and last time of it. */
double sm_lift_hover(const struct sm_profile *profile, double from, double *first, double *last);

/* Fills the figures. */
enum sm_status sm_lift_fill_figures(struct sm_lift_study *study, struct sm_error *err) SM_MUST_CHECK;

/* Fills the figures of the worst corner, and what it is. */
enum sm_status sm_lift_fill_corner(struct sm_lift_study *study, struct sm_error *err) SM_MUST_CHECK;

/* Fills what tilt can turn, once the figures are there. */
enum sm_status sm_lift_fill_turning(struct sm_lift_study *study, struct sm_error *err) SM_MUST_CHECK;

/* Fills one landing window from n contact times; nothing if the start never comes. */
enum sm_status sm_lift_fill_window(struct sm_lift_study *study, const struct sm_profile *profile,
                                   const struct sm_flight_state *start, size_t n,
                                   struct sm_landing_window *window, struct sm_error *err) SM_MUST_CHECK;

/* How flights of such a profile go with drag and the time that splay takes. */
enum sm_status sm_lift_flown_model(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                                   const struct sm_profile *profile, const struct sm_vehicle_change *change,
                                   struct sm_arena *arena, struct sm_flight_model *model,
                                   struct sm_error *err) SM_MUST_CHECK;

/* Fills the window with drag and the time that splay takes, of the same n contact times as the one without. */
enum sm_status sm_lift_fill_flown(struct sm_lift_study *study, const struct sm_flight_model *model,
                                  const struct sm_flight_state *start,
                                  const struct sm_landing_window *without, size_t n,
                                  struct sm_landing_window *window, struct sm_lift_touchdown *touchdown,
                                  struct sm_error *err) SM_MUST_CHECK;

/* Fills the reachable sets and the tubes. */
enum sm_status sm_lift_fill_sets(struct sm_lift_study *study, struct sm_error *err) SM_MUST_CHECK;

/* Fills the longest hover at the height asked for, once the sets are there. */
void sm_lift_fill_hover_at(struct sm_lift_study *study, const struct sm_lift_options *options);

/* Chooses the plan, once the windows are there, and flies it. */
enum sm_status sm_lift_fill_plan(struct sm_lift_study *study, struct sm_error *err) SM_MUST_CHECK;

/* How the plan ends, three ways, on a vehicle that differs so and whose motors burn so: ends, and paths if wanted; *lifts 0: it does
 * not lift off. */
struct sm_lift_differing {
    const struct sm_result *const *runs; /* one a group */
    struct sm_vehicle_change change;
    int is_detailed; /* margins and paths too? */
};
enum sm_status sm_lift_fly_ways(const struct sm_lift_study *study, const struct sm_lift_differing *differing,
                                struct sm_arena *arena, struct sm_lift_off_by *out, int *lifts,
                                struct sm_error *err) SM_MUST_CHECK;

/* Fills how the plan ends on a vehicle that is not as told. */
enum sm_status sm_lift_fill_off_by(struct sm_lift_study *study, const struct sm_context *context,
                                   struct sm_error *err) SM_MUST_CHECK;

/* Draws vehicles and fills what their windows are, once the plan is there. Status: SM_E_CANCELLED. */
enum sm_status sm_lift_fill_sampled(struct sm_lift_study *study, const struct sm_lift_options *options,
                                    const struct sm_context *context, struct sm_error *err) SM_MUST_CHECK;

/* First and last contact, and the highest flight that lands, from a scan of n contact times whose ends are refined.
 * Returned: 0 if there is none. */
int sm_lift_window_ends(const struct sm_profile *profile, const struct sm_flight_state *start, double limit,
                        size_t n, double *first, double *last, double *highest);

/* The highest flight that arrives with thrust equal to the weight: as softly as told, or else at the limit. Returned: *eased, from when
 * splay grows again [s], speed of contact [m/s] and apogee [m], and its control; SM_ABSENT if there is none. */
void sm_lift_ease_down(const struct sm_flight_model *model, const struct sm_flight_state *start, double T,
                       double contact, double limit, struct sm_switches *control, double eased[3]);

/* The same of flights with drag and the time that splay takes. */
int sm_lift_flown_ends(const struct sm_flight_model *model, const struct sm_flight_state *start, double limit,
                       size_t n, double *first, double *last, double *highest);

/* The greatest moment of motors that stand off the axis by themselves, about the vehicle's centre of mass [N m]; 0 if there is none.
 * Where that centre or a pivot is not told, their cant is taken not to count. */
struct sm_lift_unbalanced {
    double moment; /* [N m] */
    double time;   /* [s] */
    size_t group;  /* the first that stands so */
};
struct sm_lift_unbalanced sm_lift_find_unbalanced(const struct sm_lift_study *study);

/* Fills the warnings. */
enum sm_status sm_lift_fill_warnings(struct sm_lift_study *study, struct sm_error *err) SM_MUST_CHECK;

#endif
