/*
 * Parameter rows: what a file may say, as data.
 *
 * From one row come reading and unit checking, range errors, help text, the JSON schema, forms, the reference
 * page and addressing by JSON pointer.
 */
#ifndef SLOWMATCH_PARAM_H
#define SLOWMATCH_PARAM_H

#include <stdbool.h>
#include <stddef.h>

#include "slowmatch/error.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ROW(code, name, SI unit as text, an example with a unit) */
#define SM_DIM_LIST(ROW)                                                                                     \
    ROW(SM_DIM_NONE, "number", "1", "0.95")                                                                  \
    ROW(SM_DIM_LENGTH, "length", "m", "34 mm")                                                               \
    ROW(SM_DIM_AREA, "area", "m2", "12 mm2")                                                                 \
    ROW(SM_DIM_VOLUME, "volume", "m3", "60 cm3")                                                             \
    ROW(SM_DIM_MASS, "mass", "kg", "140 g")                                                                  \
    ROW(SM_DIM_TIME, "time", "s", "20 ms")                                                                   \
    ROW(SM_DIM_PRESSURE, "pressure", "Pa", "3 MPa")                                                          \
    ROW(SM_DIM_TEMPERATURE, "temperature", "K", "21 degC")                                                   \
    ROW(SM_DIM_TEMPERATURE_DIFFERENCE, "temperature difference", "K", "10 K")                                \
    ROW(SM_DIM_PER_TEMPERATURE, "per temperature", "1/K", "0.002 1/K")                                       \
    ROW(SM_DIM_ANGLE, "angle", "rad", "15 deg")                                                              \
    ROW(SM_DIM_DENSITY, "density", "kg/m3", "1680 kg/m3")                                                    \
    ROW(SM_DIM_SPEED, "speed", "m/s", "4.1 mm/s")                                                            \
    ROW(SM_DIM_INERTIA, "moment of inertia", "kg m2", "2.4e-5 kg m2")                                        \
    ROW(SM_DIM_MOMENT, "moment of force", "N m", "0.5 N m")                                                  \
    ROW(SM_DIM_FORCE, "force", "N", "13 N")                                                                  \
    ROW(SM_DIM_IMPULSE, "impulse", "N s", "175 N s")                                                         \
    ROW(SM_DIM_MOLAR_MASS, "molar mass", "kg/mol", "23.5 g/mol")                                             \
    ROW(SM_DIM_MASS_FLOW, "mass flow", "kg/s", "5 g/s")                                                      \
    ROW(SM_DIM_MASS_FLUX, "mass flux", "kg m-2 s-1", "700 kg m-2 s-1")                                       \
    ROW(SM_DIM_ACCELERATION, "acceleration", "m s-2", "9.80665 m s-2")                                       \
    ROW(SM_DIM_FREQUENCY, "frequency", "1/s", "80 Hz")                                                       \
    ROW(SM_DIM_HEAT_TRANSFER, "heat transfer coefficient", "W m-2 K-1", "200 W m-2 K-1")                     \
    ROW(SM_DIM_SPECIFIC_HEAT, "specific heat", "J kg-1 K-1", "1500 J kg-1 K-1")                              \
    ROW(SM_DIM_VISCOSITY, "viscosity", "Pa s", "8e-5 Pa s")                                                  \
    ROW(SM_DIM_SPECIFIC_VOLUME, "specific volume", "m3/kg", "2e-6 m3/kg")                                    \
    ROW(SM_DIM_ANGULAR_RATE, "angular rate", "rad/s", "60 deg/s")

#define SM_DIM_ENUM(code, name, si, example) code,
enum sm_dim { SM_DIM_LIST(SM_DIM_ENUM) SM_DIM_COUNT };
#undef SM_DIM_ENUM

SM_API const char *sm_dim_name(enum sm_dim dim);    /* "pressure" */
SM_API const char *sm_dim_unit(enum sm_dim dim);    /* "Pa"; "1" for a bare number */
SM_API const char *sm_dim_example(enum sm_dim dim); /* "3 MPa" */

/* What a value is, and how it is stored at its offset in the owner's block. */
enum sm_kind {
    SM_QUANTITY, /* double, SI; SM_ABSENT (NaN) if optional and not given */
    SM_WHOLE,    /* int */
    SM_FLAG,     /* bool */
    SM_CHOICE,   /* int: place in words; -1 if optional and not given */
    SM_CHOICES,  /* unsigned: bit i set for words[i]; SM_CHOICES_ABSENT if optional and not given */
    SM_TEXT,     /* const char *: NULL if optional and not given */
    SM_LIST,     /* struct sm_list of blocks of row_size bytes read by rows */
    SM_RECORD    /* a block in place, read by rows; if absent its values are absent or at their fallback */
};
#define SM_CHOICES_ABSENT (~0u)

struct sm_list {
    void *items; /* n blocks of the row's row_size bytes */
    size_t n;
};

struct sm_param {
    const char *name;
    enum sm_kind kind;
    enum sm_dim dim;          /* of a quantity */
    size_t offset;            /* of the value in the owner's block [bytes] */
    double min, max;          /* inclusive [SI]; of a quantity or whole number; of a list, its length */
    double fallback;          /* [SI], place or bits; SM_REQUIRED: must be given; SM_OPTIONAL: stays absent */
    const char *const *words; /* of a choice or choices, NULL-terminated */
    const struct sm_param *rows; /* of a list's element or a record */
    size_t n_rows, row_size;
    /* Of a quantity: the row that it is read by if its unit is of that row's dimension, in the same block; NULL: none. The one that is
     * not given stays at its fallback. */
    const struct sm_param *alternative;
    const char *help; /* one line */
};

/* As a row's fallback. */
#define SM_REQUIRED ((double)__builtin_inf())
#define SM_OPTIONAL ((double)__builtin_nan(""))

#ifdef __cplusplus
}
#endif
#endif
