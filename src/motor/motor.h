/*
 * A motor as data (struct sm_motor_spec, what a file says) and as a thing ready to burn (struct sm_motor).
 *
 * Frame: z from the head end of the chamber towards the nozzle.
 */
#ifndef SM_MOTOR_MOTOR_H
#define SM_MOTOR_MOTOR_H

#include "curve/curve.h"
#include "grain/shape.h"
#include "nozzle/nozzle.h"
#include "propellant/burnrate.h"
#include "slowmatch/motor.h"

struct sm_case {
    double bore;             /* [m] */
    double length;           /* of the chamber's cylinder [m] */
    double burst_pressure;   /* SM_ABSENT if not given [Pa] */
    double margin;           /* of burst over peak pressure, wanted [1] */
    double free_volume;      /* before burning; SM_ABSENT: reckoned [m3] */
    double heat_transfer;    /* from the gas to the bare wall; 0: none [W m-2 K-1] */
    double wall_temperature; /* of the bare wall [K] */
    double friction_factor;  /* Fanning's, of the wall along the port, in the axial model [1] */
};

/* A part of the hardware. A point, or a body of revolution with its own inertia. */
enum sm_part_form { SM_PART_POINT, SM_PART_TUBE, SM_PART_DISC };
struct sm_hardware_part {
    const char *name;
    int form;              /* enum sm_part_form */
    double mass;           /* [kg] */
    double at;             /* its centre of mass, from the head end [m] */
    double length;         /* along the axis, of a tube or disc [m] */
    double outer_diameter; /* [m] */
    double inner_diameter; /* [m] */
};

struct sm_hardware {
    double mass;               /* SM_ABSENT if there is no hardware [kg] */
    double center_of_mass;     /* from the head end [m] */
    double inertia_axial;      /* [kg m2] */
    double inertia_transverse; /* about its own centre of mass [kg m2] */
    struct sm_list parts;      /* of struct sm_hardware_part, in place of the totals */
};

/* What an igniter gives off: a triangle, or a table of straight lines. */
struct sm_igniter {
    double peak_flow;    /* SM_ABSENT: no triangle [kg/s] */
    double peak_time;    /* SM_ABSENT: half of the duration [s] */
    double duration;     /* [s] */
    struct sm_list flow; /* of struct sm_igniter_point, in place of the triangle */
};
struct sm_igniter_point {
    double time;      /* after ignition [s] */
    double mass_flow; /* [kg/s] */
};

struct sm_ignition {
    double
        pressure; /* in the chamber at time zero; SM_ABSENT: 0.5 MPa, or with an igniter the ambient's [Pa] */
    double spread_time; /* until all of the surface is lit [s] */
    double
        spread_speed; /* of the flame from the foremost burning surface aft, in place of the time; SM_ABSENT [m/s] */
    struct sm_igniter igniter;
};

struct sm_conditions {
    double grain_temperature;   /* [K] */
    double hottest_temperature; /* for the margin against bursting [K] */
    double coldest_temperature; /* [K] */
    double ambient_pressure;    /* SM_ABSENT: by altitude, or sea level [Pa] */
    double altitude;            /* geometric; SM_ABSENT: not given [m] */
};

/* One entry of "grains". */
struct sm_grain_entry {
    const struct sm_shape *shape;
    const void *params; /* the shape's own block */
    struct sm_grain_common common;
    int count;
    double spacing; /* gap behind each grain [m] */
};

/* A bare curve, of a bought or a measured motor. */
struct sm_bare_curve {
    struct sm_curve curve;
    double loaded_mass;           /* [kg] */
    double propellant_mass;       /* [kg] */
    double length, diameter;      /* [m] */
    double center_of_mass_loaded; /* from the head end; SM_ABSENT: the middle [m] */
    double center_of_mass_empty;  /* SM_ABSENT: as loaded [m] */
    double exit_diameter;         /* SM_ABSENT: thrust is not corrected for altitude [m] */
    double test_ambient_pressure; /* at which the curve was taken [Pa] */
    double delay;                 /* SM_ABSENT: not known; negative: plugged [s] */
    double impulse_scale;         /* thrust times this, at the times given [1] */
    double thrust_scale;          /* thrust times this and times over it, so that total impulse stays [1] */
    double time_scale;            /* times times this, thrust as given [1] */
    double ignition_delay;        /* nothing before this [s] */
    double
        temperature_coefficient; /* growth of thrust a kelvin of grain temperature, total impulse staying; 0: none [1/K] */
    double test_temperature; /* of the grain when the curve was taken [K] */
    const char *source;
    struct sm_list tolerances; /* of struct sm_tolerance, motor/tolerance.h */
};

/* What a file says, SI. Borrowed strings and lists live in the owner's arena. */
struct sm_motor_spec {
    const char *name;
    int is_curve; /* bare.curve is given in place of propellant, case, grains and nozzle */
    struct sm_propellant propellant;
    struct sm_case chamber;
    struct sm_grain_entry *grains; /* n_grains of them, from the head end */
    size_t n_grains;
    struct sm_nozzle nozzle;
    struct sm_hardware hardware;
    struct sm_ignition ignition;
    struct sm_conditions conditions;
    struct sm_bare_curve bare;
    struct sm_list tolerances; /* of struct sm_tolerance, motor/tolerance.h */
};

/* Mass, centre of mass and inertia of the hardware alone, parts added up. */
struct sm_body {
    double mass;               /* [kg] */
    double center_of_mass;     /* [m] */
    double inertia_axial;      /* [kg m2] */
    double inertia_transverse; /* about its own centre of mass [kg m2] */
};

struct sm_motor {
    struct sm_arena arena;
    struct sm_motor_spec spec;
    struct sm_geometry *geometry; /* one an entry of spec.grains */
    double *place;                /* fore face of each entry's first grain [m] */
    struct sm_geometry stack;     /* all grains together, z from the head end */
    double propellant_mass;       /* [kg] */
    double free_volume;           /* before burning [m3] */
    double case_volume;           /* of the chamber's cylinder and convergent [m3] */
    struct sm_gas gas;
    double ambient;        /* [Pa] */
    double start_pressure; /* in the chamber at time zero [Pa] */
    int has_igniter;
    int has_hardware;
    struct sm_body hardware;
};

/* Rows of a motor file's sections; the name and number of each. */
extern const struct sm_param sm_case_params[], sm_hardware_params[], sm_ignition_params[],
    sm_conditions_params[], sm_grain_common_params[], sm_grain_entry_params[], sm_bare_curve_params[];
extern const size_t sm_n_case_params, sm_n_hardware_params, sm_n_ignition_params, sm_n_conditions_params,
    sm_n_grain_common_params, sm_n_grain_entry_params, sm_n_bare_curve_params;

/*
 * Makes a motor of its spec: checks what the rows can't see, makes the burnback tables and stacks them.
 *
 * Given: motor with its arena initialised and its spec filled (all of it in that arena). Tables in geometry and stack that
 * have pieces already are kept (motor/vary.h).
 * Status: SM_E_GEOMETRY, SM_E_RANGE, SM_E_FIELD with the pointer of the value at fault.
 */
enum sm_status sm_motor_assemble(struct sm_motor *motor, struct sm_error *err) SM_MUST_CHECK;

/* A number of a grain's own, by the name of its row; fallback if its shape has none. */
double sm_grain_number(const struct sm_grain_entry *entry, const char *name, double fallback);

/* Propellant alone from its integrals: mass [kg], centre [m], inertias [kg m2] (axial about the motor's axis,
 * transverse about its own centre: the mean of the two transverse axes). Centre and inertia of nothing are
 * zero. */
void sm_propellant_body(double density, const struct sm_geometry_at *at, struct sm_body *body);

/* Two bodies on one axis as one. */
void sm_body_join(const struct sm_body *a, const struct sm_body *b, struct sm_body *out);

#endif
