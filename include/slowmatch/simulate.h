/*
 * Running a motor: thrust, pressure and mass properties against time, and what follows from them.
 */
#ifndef SLOWMATCH_SIMULATE_H
#define SLOWMATCH_SIMULATE_H

#include "slowmatch/curve.h"
#include "slowmatch/limits.h"
#include "slowmatch/motor.h"
#include "slowmatch/param.h"
#include "slowmatch/sink.h"

#ifdef __cplusplus
extern "C" {
#endif

enum sm_model {
    SM_MODEL_TRANSIENT,   /* the chamber fills and empties */
    SM_MODEL_EQUILIBRIUM, /* gas made equals gas let out at each instant */
    SM_MODEL_AXIAL /* gas flows along the port, and each station burns at its own pressure and mass flux */
};

struct sm_run_options {
    enum sm_model model;
    double accuracy;          /* of total impulse, relative, 1e-9 to 1e-2 [1]; 0 means 1e-4 */
    double grain_temperature; /* in place of the motor's own [K]; 0: its own */
    double
        heat_transfer; /* to the bare wall, in place of the motor's own [W m-2 K-1]; 0: its own; negative: none */
    enum sm_burn_end burn_end;
    size_t stations;       /* of the axial model, over all grains, 2 to 2000; 0 means 100 */
    bool without_warnings; /* skip judging, and all runs beside this one */
};

/* Columns of one length n; NULL where the motor has no such thing. SI, see the units beside each. */
struct sm_series {
    size_t n;
    double *time;                 /* from ignition [s] */
    double *thrust;               /* [N] */
    double *pressure;             /* chamber, absolute [Pa] */
    double *mass_flow;            /* out of the nozzle [kg/s] */
    double *burn_area;            /* [m2] */
    double *kn;                   /* burning area over throat area [1] */
    double *web;                  /* distance burned; of grains with thinner webs it stops at theirs [m] */
    double *propellant_mass;      /* [kg] */
    double *center_of_mass;       /* of the propellant, from the head end of the chamber [m] */
    double *inertia_axial;        /* of the propellant, about the motor's axis [kg m2] */
    double *inertia_transverse;   /* of the propellant, about its own centre of mass [kg m2] */
    double *throat_diameter;      /* [m] */
    double *area_ratio;           /* of the nozzle, exit over throat [1] */
    double *motor_mass;           /* with hardware [kg] */
    double *motor_center_of_mass; /* [m] */
    double *motor_inertia_axial;  /* [kg m2] */
    double *motor_inertia_transverse; /* about the motor's own centre of mass [kg m2] */
    /* Of the axial model alone; pressure is then the head end's. */
    double *pressure_aft;    /* static, where the nozzle begins [Pa] */
    double *pressure_nozzle; /* stagnation pressure there, which drives the nozzle [Pa] */
    double *mach;            /* largest along the port [1] */
    double *mass_flux;       /* largest along the port [kg m-2 s-1] */
};

struct sm_thrust_summary {
    double total_impulse;        /* [N s] */
    double impulse_in_burn_time; /* [N s] */
    double burn_start;           /* [s] */
    double burn_time;            /* [s] */
    double action_time;          /* [s] */
    double average;              /* total impulse over burn time [N] */
    double average_in_burn_time; /* [N] */
    double maximum;              /* [N] */
    double maximum_steady;       /* without an ignition spike [N] */
    double initial;              /* [N] */
    double specific_impulse;     /* total impulse over propellant weight [s] */
    double exhaust_velocity;     /* total impulse over propellant mass [m/s] */
};

struct sm_chamber_summary {
    double pressure_maximum; /* [Pa] */
    double pressure_average; /* over the burn time [Pa] */
    double kn_initial;       /* [1] */
    double kn_maximum;       /* [1] */
    double cstar_delivered;  /* [m/s] */
    double throat_final;     /* diameter [m] */
};

struct sm_grain_summary {
    double mass;        /* of propellant [kg] */
    double web;         /* thickest of the stack [m] */
    const double *webs; /* one an entry of "grains", n_webs of them [m] */
    size_t n_webs;
    double sliver_fraction;   /* of the volume, left when the web proper is burned [1] */
    double neutrality;        /* largest over mean burning area [1] */
    double filling;           /* propellant volume over the volume of the case's bore and length [1] */
    double port_to_throat;    /* port area at the aft end of the last cored grain over throat area [1] */
    double mass_flux_maximum; /* there [kg m-2 s-1] */
};

/* A line of the table from ideal to delivered specific impulse: what is left with all losses down to this one. The first line
 * is the ideal, the last one the delivered. */
struct sm_loss {
    const char *name, *note; /* static */
    double specific_impulse; /* after it [s] */
    double loss;             /* by it; 0 in the first line, below 0 for a gain [s] */
};

/* Of a motor that burns from one end alone; each SM_ABSENT for any other. "Flat" is the same motor with bond_line_ratio and
 * axis_ratio 1. The heat band is that of a bare wall that takes 100 to 400 W/m2K, run beside. */
struct sm_end_burner_summary {
    double
        ratio; /* the larger of bond_line_ratio and axis_ratio; this and the next five only if above 1 [1] */
    double area_factor;           /* largest burning area over the flat one's [1] */
    double pressure_factor;       /* largest pressure over the flat one's [1] */
    double pressure_limit;        /* what that tends to in a long grain, ratio^(1/(1-n)) [1] */
    double burn_time_flat;        /* [s] */
    double wall_front_time;       /* when the fire along the wall comes to the far end [s] */
    double bare_area;             /* of the case's side when all is burned [m2] */
    double bare_longest;          /* how long its first part has been bare by then [s] */
    double bare_mean;             /* how long its parts have been bare on average [s] */
    double droop;                 /* fall of pressure by heat to the wall, from start to end [1] */
    double droop_low, droop_high; /* the same with 100 and 400 W/m2K to the bare wall [1] */
};

/* The headline figures, or something of each of them: its standard deviation, its change. SM_ABSENT where the motor has none. */
struct sm_figures {
    double total_impulse;    /* [N s] */
    double burn_time;        /* [s] */
    double average;          /* thrust over the burn time [N] */
    double maximum;          /* thrust [N] */
    double specific_impulse; /* [s] */
    double pressure_maximum; /* [Pa] */
    double pressure_average; /* over the burn time [Pa] */
};

/* What one value that strays does to the figures. */
struct sm_influence {
    const char *of;           /* its JSON pointer */
    enum sm_dim dim;          /* of it */
    double middle;            /* as the motor has it [SI] */
    double sigma;             /* its standard deviation [SI] */
    bool is_batch;            /* shared by motors of one batch */
    struct sm_figures effect; /* change of each figure by one standard deviation upwards */
};

/* One standard deviation of the headline figures, by linear propagation of the motor's tolerances, or of usual ones if its
 * file gives none. All absent without warnings. */
struct sm_one_sigma {
    struct sm_figures figures;
    bool is_usual;                         /* of usual tolerances, not the file's */
    const struct sm_influence *influences; /* n_influences of them, in the order of the tolerances */
    size_t n_influences;
};

/* The flow along the port at one instant, by station: n values of each. */
struct sm_axial_profile {
    double time;             /* [s] */
    const double *pressure;  /* static [Pa] */
    const double *speed;     /* [m/s] */
    const double *mach;      /* [1] */
    const double *mass_flux; /* [kg m-2 s-1] */
    const double *rate;      /* of burning [m/s] */
    const double *web;       /* distance burned [m] */
};

/* Of the axial model; all SM_ABSENT, and nothing by station, with another. */
struct sm_axial_summary {
    double head_maximum, aft_maximum; /* static pressures [Pa] */
    double drop;                      /* largest head-end over aft pressure, less 1 [1] */
    double mach_maximum;              /* in a port [1] */
    double mach_place, mach_time;     /* [m], [s] */
    double mass_flux_maximum;         /* [kg m-2 s-1] */
    double mass_flux_place;           /* [m] */
    double erosive_ratio;             /* largest burning rate over that by pressure alone [1] */
    double peak_ratio; /* head-end peak over the lumped chamber's; absent without warnings [1] */
    double
        erosive_peak; /* largest head-end pressure over the lumped chamber's when as much is burned; likewise [1] */
    double
        volume_correction; /* largest miss of a grain's sections, summed along it, before it is made up [1] */
    size_t n;              /* stations */
    const double *place;   /* of the stations, from the head end [m] */
    /* At the peak of head pressure, at the largest Mach number, and with a quarter, a half and three quarters of the
     * propellant burned; n_profiles of them. */
    const struct sm_axial_profile *profiles;
    size_t n_profiles;
};

enum sm_run_end {
    SM_RUN_BURNED_OUT, /* all propellant gone and the chamber blown down */
    SM_RUN_FADED,      /* thrust fell under a thousandth of its peak with slivers left */
    SM_RUN_TIME_LIMIT,
    SM_RUN_CANCELLED
};

struct sm_run_statistics {
    size_t steps, rejected;
    double
        mass_residual; /* books' imbalance over loaded mass; the quasi-steady model's leave out the gas that a
                             change of pressure stores or sets free [1] */
    double accuracy;   /* asked for [1] */
    enum sm_run_end end;
};

/* One thing to look at, with what to do about it. */
struct sm_warning_found {
    char code[40];
    char text[400];
    char pointer[96]; /* the value that is best changed */
};

struct sm_result {
    const char *motor;       /* name */
    bool complete;           /* false if stopped before its end */
    bool is_curve;           /* from a bare curve: no chamber, no grain */
    bool altitude_corrected; /* a bare curve's thrust was brought to the ambient pressure */
    enum sm_model model;
    enum sm_burn_end burn_end;
    double propellant_mass, loaded_mass; /* [kg]; loaded SM_ABSENT without hardware */
    double grain_temperature; /* at which it was run [K]; SM_ABSENT if a bare curve was taken as given */
    struct sm_thrust_summary thrust;
    struct sm_chamber_summary chamber;
    struct sm_grain_summary grain;
    struct sm_end_burner_summary end_burner;
    struct sm_axial_summary axial;
    const struct sm_loss *losses; /* n_losses of them; none of a bare curve, nor without warnings */
    size_t n_losses;
    struct sm_one_sigma one_sigma;
    struct sm_impulse_class impulse_class;
    char designation[32];
    struct sm_run_statistics statistics;
    struct sm_series series;
    const struct sm_warning_found *warnings; /* n_warnings of them */
    size_t n_warnings;
};

/*
 * Burns a motor.
 *
 * Given: options (NULL: defaults), context (NULL: defaults).
 * Returned: *result, immutable, to be freed with sm_result_free; it borrows the motor's name, so free it
 * first. Status: SM_E_PHYSICS when the model has no answer (no thrust; pressure without bound), SM_E_RANGE
 * for options out of range, SM_E_CANCELLED only if nothing was done yet (else *result holds what was, with
 * complete false).
 */
SM_API enum sm_status sm_simulate(const struct sm_motor *motor, const struct sm_run_options *options,
                                  const struct sm_context *context, struct sm_result **result,
                                  struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_result_free(struct sm_result *result);

/* A column of the series by place: its key in files, and its dimension. */
struct sm_column {
    const char *name;
    enum sm_dim dim;
    size_t offset; /* of the pointer in struct sm_series [bytes] */
};
/* All columns there are, the whole motor's four last. Returned: how many; *columns is a static table. */
SM_API size_t sm_column_list(const struct sm_column **columns);
/* Returned: how many columns this result has; *columns is a static table. */
SM_API size_t sm_result_columns(const struct sm_result *result, const struct sm_column **columns);
/* Values of column i, series.n of them; NULL where the motor has no such thing. */
SM_API const double *sm_result_column(const struct sm_result *result, size_t i);

/* The result as slowmatch-result/1 JSON, and its series as RFC 4180 CSV with one header line. */
SM_API enum sm_status sm_result_write_json(const struct sm_result *result, struct sm_sink *sink,
                                           struct sm_error *err) SM_MUST_CHECK;
/* Several results as one JSON array. */
SM_API enum sm_status sm_results_write_json(const struct sm_result *const *results, size_t n,
                                            struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;
/* Class, border and findings of a case as slowmatch-class/1 JSON. */
SM_API enum sm_status sm_class_write_json(const struct sm_rule_case *c, struct sm_sink *sink,
                                          struct sm_error *err) SM_MUST_CHECK;
SM_API enum sm_status sm_result_write_csv(const struct sm_result *result, struct sm_sink *sink,
                                          struct sm_error *err) SM_MUST_CHECK;
/* Several results below each other in one CSV: motor and grain_temperature [K] first, then every column that one of them
 * has, empty where another has not. A name stands in quotes, and behind an apostrophe if it begins with one or with what makes
 * a spreadsheet take it for a formula (= + - @, a tab, an end of line). */
SM_API enum sm_status sm_results_write_csv(const struct sm_result *const *results, size_t n,
                                           struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
