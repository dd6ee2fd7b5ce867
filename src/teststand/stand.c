/* What a stand file may say. */
#include "teststand/record.h"

#include <stddef.h>

static const char *const delimiters[] = {"comma", "semicolon", "tab", "blanks", NULL};
static const char *const decimals[] = {"point", "comma", NULL};
static const char *const orientations[] = {"horizontal", "nozzle-up", "nozzle-down", NULL};
static const char *const drifts[] = {"none", "linear", "weight", NULL};

#define TEXT(owner, field, text)                                                                             \
    {                                                                                                        \
        .name = #field, .kind = SM_TEXT, .offset = offsetof(struct owner, field), .fallback = SM_OPTIONAL,   \
        .help = text                                                                                         \
    }
#define FLAG(owner, field, text)                                                                             \
    {                                                                                                        \
        .name = #field, .kind = SM_FLAG, .offset = offsetof(struct owner, field), .fallback = SM_OPTIONAL,   \
        .help = text                                                                                         \
    }
#define CHOICE(owner, field, list, text)                                                                     \
    {                                                                                                        \
        .name = #field, .kind = SM_CHOICE, .offset = offsetof(struct owner, field), .fallback = SM_OPTIONAL, \
        .words = list, .help = text                                                                          \
    }
#define QUANTITY(owner, field, dimension, low, high, usual, text)                                            \
    {                                                                                                        \
        .name = #field, .kind = SM_QUANTITY, .dim = dimension, .offset = offsetof(struct owner, field),      \
        .min = low, .max = high, .fallback = usual, .help = text                                             \
    }

/* The two channels differ in the dimension of a count alone. */
#define CHANNEL(dimension)                                                                                   \
    {                                                                                                        \
        TEXT(sm_stand_channel, column, "name in the header, or number from 1"),                              \
            TEXT(sm_stand_channel, unit, "of the readings, if neither scale nor header says"),               \
            QUANTITY(sm_stand_channel, scale, dimension, 1e-12, 1e9, SM_OPTIONAL,                            \
                     "what one count stands for, in place of a unit"),                                       \
            QUANTITY(sm_stand_channel, baseline, SM_DIM_NONE, -1e12, 1e12, SM_OPTIONAL,                      \
                     "reading at rest, in the record's own units; from the quiet span if not given"),        \
            FLAG(sm_stand_channel, reversed, "do readings fall as the quantity rises?"),                     \
            QUANTITY(sm_stand_channel, gain_uncertainty, SM_DIM_NONE, 0.0, 0.5, 0.01,                        \
                     "standard uncertainty of the calibration, as a share"),                                 \
    }
static const struct sm_param thrust_rows[] = CHANNEL(SM_DIM_FORCE);
static const struct sm_param pressure_rows[] = CHANNEL(SM_DIM_PRESSURE);

#define CELSIUS(x) ((x) + 273.15)

const struct sm_param sm_stand_params[] = {
    TEXT(sm_stand, name, "of the stand"),
    TEXT(sm_stand, time_column, "name in the header, or number from 1"),
    TEXT(sm_stand, time_unit, "of the times, if the header does not say; s"),
    QUANTITY(sm_stand, sample_rate, SM_DIM_FREQUENCY, 1e-3, 1e7, SM_OPTIONAL,
             "rows a second, in place of a column of times"),
    CHOICE(sm_stand, delimiter, delimiters, "between columns; guessed if not given"),
    CHOICE(sm_stand, decimal, decimals, "decimal sign; guessed if not given"),
    TEXT(sm_stand, comment, "what lines that are passed over begin with"),
    FLAG(sm_stand, log,
         "a terminal's log: lines that are no data are passed over, the clock may start again"),
    {.name = "thrust",
     .kind = SM_RECORD,
     .offset = offsetof(struct sm_stand, thrust),
     .rows = thrust_rows,
     .n_rows = SM_COUNT(thrust_rows),
     .fallback = SM_OPTIONAL,
     .help = "the load cell"},
    {.name = "pressure",
     .kind = SM_RECORD,
     .offset = offsetof(struct sm_stand, pressure),
     .rows = pressure_rows,
     .n_rows = SM_COUNT(pressure_rows),
     .fallback = SM_OPTIONAL,
     .help = "the chamber's transmitter; at rest it reads the ambient pressure"},
    CHOICE(sm_stand, orientation, orientations,
           "of the motor; upright, the propellant's weight leaves the load cell"),
    CHOICE(sm_stand, drift, drifts,
           "what becomes of a level that moves: none, linear in time, or weight that leaves with the "
           "impulse; by the orientation if not given"),
    QUANTITY(sm_stand, cutoff, SM_DIM_FREQUENCY, 0.0, 1e6, SM_OPTIONAL,
             "of the low-pass; chosen by the record if not given, 0 for none"),
    QUANTITY(sm_stand, propellant_mass, SM_DIM_MASS, 1e-6, 1e5, SM_OPTIONAL, "burned"),
    QUANTITY(sm_stand, propellant_mass_uncertainty, SM_DIM_MASS, 0.0, 1e3, 0.0, "standard uncertainty"),
    QUANTITY(sm_stand, throat_diameter, SM_DIM_LENGTH, 1e-4, 2.0, SM_OPTIONAL, "before the firing"),
    QUANTITY(sm_stand, throat_diameter_after, SM_DIM_LENGTH, 1e-4, 2.0, SM_OPTIONAL, "after it"),
    QUANTITY(sm_stand, throat_uncertainty, SM_DIM_LENGTH, 0.0, 0.1, 0.0,
             "standard uncertainty of a diameter"),
    QUANTITY(sm_stand, ambient_pressure, SM_DIM_PRESSURE, 0.0, 1e7, 101325.0, "on the day"),
    QUANTITY(sm_stand, grain_temperature, SM_DIM_TEMPERATURE, CELSIUS(-80.0), CELSIUS(120.0), SM_OPTIONAL,
             "of the grain at ignition"),
    QUANTITY(sm_stand, time_uncertainty, SM_DIM_NONE, 0.0, 0.1, 1e-4,
             "standard uncertainty of the clock's rate, as a share"),
};
const size_t sm_n_stand_params = SM_COUNT(sm_stand_params);
