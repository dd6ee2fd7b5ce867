/*
 * Motors: loading, describing and freeing them. A motor is immutable once loaded, so threads may share it.
 */
#ifndef SLOWMATCH_MOTOR_H
#define SLOWMATCH_MOTOR_H

#include <stdbool.h>
#include <stddef.h>

#include "slowmatch/context.h"
#include "slowmatch/error.h"
#include "slowmatch/units.h"

#ifdef __cplusplus
extern "C" {
#endif

struct sm_motor;

/* An override of one value, as of --set: the place as a JSON pointer ("/nozzle/throat_diameter") or dotted
 * ("nozzle.throat_diameter"), the value as text with its unit ("2.5 mm"). */
struct sm_override {
    const char *place, *value;
};

struct sm_load_options {
    const struct sm_override *overrides; /* n_overrides of them, applied in order */
    size_t n_overrides;
    struct sm_units *units;        /* shared by many loads, for speed; NULL: opened for each */
    const char *propellant_folder; /* where named propellants are; NULL: the shipped ones */
    const char *program; /* path of the running program, to find shipped data beside it; may be NULL */
};

/*
 * Reads a motor file, with its propellant and curve, applies the overrides, checks it and makes its burnback
 * tables.
 *
 * Given: path; options (NULL: none); context (NULL: defaults).
 * Returned: *motor, to be freed with sm_motor_free; NULL on failure. Problems found, up to SM_DIAG_MAX, in
 * *diag, each with file, line and pointer. diag must be zeroed or hold earlier problems; release it with
 * sm_diag_release. Status: that of the first problem.
 */
SM_API enum sm_status sm_motor_load(const char *path, const struct sm_load_options *options,
                                    const struct sm_context *context, struct sm_motor **motor,
                                    struct sm_diag *diag) SM_MUST_CHECK;
/* As sm_motor_load, from text[0..n) that is called name in messages; files it names are sought from the
 * current folder. */
SM_API enum sm_status sm_motor_parse(const char *text, size_t n, const char *name,
                                     const struct sm_load_options *options, const struct sm_context *context,
                                     struct sm_motor **motor, struct sm_diag *diag) SM_MUST_CHECK;
SM_API void sm_motor_free(struct sm_motor *motor);

/* Borrowed until the motor is freed. */
SM_API const char *sm_motor_name(const struct sm_motor *motor);

/* A motor given by its bare curve, without grains. */
SM_API bool sm_motor_is_curve(const struct sm_motor *motor);

/* What it is made of, for people; numbers SI, SM_ABSENT (NaN) where it does not apply. */
struct sm_motor_facts {
    const char *propellant;                          /* name; NULL for a bare curve */
    const char *standing;                            /* of the propellant's numbers: "published", ... */
    const char *source;                              /* of the propellant or the curve; may be NULL */
    double propellant_mass;                          /* [kg] */
    double loaded_mass;                              /* with hardware [kg] */
    double grain_temperature;                        /* [K] */
    double coldest_temperature, hottest_temperature; /* that are to be reckoned with [K] */
    double temperature_sensitivity; /* sigma_p, of the burning rate at constant pressure [1/K] */
    double ambient_pressure;        /* [Pa] */
    double burst_pressure;          /* of the case; SM_ABSENT if not given [Pa] */
    double margin;                  /* burst over peak pressure wanted [1] */
    double case_bore;               /* or outer diameter of a bare curve's motor [m] */
    double case_length;             /* [m] */
    double free_volume;             /* of the chamber before burning [m3] */
    double throat_diameter;         /* [m] */
    double exit_diameter;           /* [m] */
    double cstar, gamma;            /* delivered characteristic velocity [m/s], ratio of specific heats [1] */
    double density;                 /* [kg/m3] */
    double web;                     /* the thickest [m] */
    double burn_rate_reference;     /* rate at 1 MPa and the grain temperature [m/s] */
    size_t n_grains;                /* with repeats */
};
SM_API void sm_motor_describe(const struct sm_motor *motor, struct sm_motor_facts *facts);

/* One entry of "grains". */
struct sm_grain_facts {
    const char *shape;
    int count;
    double outer_diameter, length;                /* [m] */
    double web;                                   /* [m] */
    double mass;                                  /* of all repeats [kg] */
    double filling;                               /* volume over the volume of its cylinder [1] */
    double area_initial, area_maximum, area_mean; /* of one [m2] */
    double burning_length; /* the distance the front travels along the axis if it burns only at its ends, else
                              SM_ABSENT [m] */
};
/* Returned: number of entries; fills facts for i below it. */
SM_API size_t sm_motor_grains(const struct sm_motor *motor);
SM_API void sm_motor_grain(const struct sm_motor *motor, size_t i, struct sm_grain_facts *facts);

#ifdef __cplusplus
}
#endif
#endif
