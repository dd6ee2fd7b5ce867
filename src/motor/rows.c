/* The rows of a motor file's sections. Limits catch slips of unit; what is merely unwise is a warning
 * elsewhere. */
#include "motor/motor.h"
#include "slowmatch/limits.h"

#include <stddef.h>

#define QUANTITY(owner, field, d, lo, hi, def, text)                                                         \
    {                                                                                                        \
        .name = #field, .kind = SM_QUANTITY, .dim = d, .offset = offsetof(struct owner, field), .min = lo,   \
        .max = hi, .fallback = def, .help = text                                                             \
    }

#define CELSIUS(t) (273.15 + (t))

const struct sm_param sm_case_params[] = {
    QUANTITY(sm_case, bore, SM_DIM_LENGTH, 1e-3, 5.0, SM_REQUIRED, "inner diameter of the case"),
    QUANTITY(sm_case, length, SM_DIM_LENGTH, 1e-3, 30.0, SM_REQUIRED,
             "inner length of the case, head end to nozzle"),
    QUANTITY(sm_case, burst_pressure, SM_DIM_PRESSURE, 1e5, 1e9, SM_OPTIONAL,
             "pressure at which the case bursts; of the hot case for burns over five seconds"),
    QUANTITY(sm_case, margin, SM_DIM_NONE, 1.0, 10.0, 1.5,
             "burst over peak pressure wanted on the hottest day"),
    QUANTITY(sm_case, free_volume, SM_DIM_VOLUME, 1e-9, 100.0, SM_OPTIONAL,
             "gas space before burning; reckoned from the case, the convergent and the grains if not given"),
    QUANTITY(sm_case, heat_transfer, SM_DIM_HEAT_TRANSFER, 0.0, 1e4, 0.0,
             "heat transfer coefficient from the gas to the case's bare wall; 0 leaves the loss out"),
    /* A liner that chars is near 600 K (from memory); the loss goes with flame less wall temperature, so it matters little. */
    QUANTITY(sm_case, wall_temperature, SM_DIM_TEMPERATURE, 100.0, 3000.0, 600.0,
             "of the bare wall that the gas heats"),
    /* Gas that leaves a burning wall blows most of the friction away, so that none is the nearer guess (from memory). */
    QUANTITY(sm_case, friction_factor, SM_DIM_NONE, 0.0, 0.1, 0.0,
             "Fanning's friction factor of the wall along the port, in the axial model"),
};
const size_t sm_n_case_params = SM_COUNT(sm_case_params);

static const char *const form_words[] = {"point", "tube", "disc", NULL};

static const struct sm_param part_params[] = {
    {.name = "name",
     .kind = SM_TEXT,
     .offset = offsetof(struct sm_hardware_part, name),
     .fallback = SM_OPTIONAL,
     .help = "what it is"},
    {.name = "form",
     .kind = SM_CHOICE,
     .offset = offsetof(struct sm_hardware_part, form),
     .words = form_words,
     .fallback = SM_PART_POINT,
     .help = "how its own inertia is reckoned"},
    QUANTITY(sm_hardware_part, mass, SM_DIM_MASS, 0.0, 1e5, SM_REQUIRED, "mass"),
    QUANTITY(sm_hardware_part, at, SM_DIM_LENGTH, -30.0, 60.0, SM_REQUIRED,
             "its centre of mass, from the head end"),
    QUANTITY(sm_hardware_part, length, SM_DIM_LENGTH, 0.0, 30.0, 0.0,
             "length along the axis, of a tube or disc"),
    QUANTITY(sm_hardware_part, outer_diameter, SM_DIM_LENGTH, 0.0, 5.0, 0.0,
             "outer diameter, of a tube or disc"),
    QUANTITY(sm_hardware_part, inner_diameter, SM_DIM_LENGTH, 0.0, 5.0, 0.0,
             "inner diameter, of a tube or ring"),
};

const struct sm_param sm_hardware_params[] = {
    QUANTITY(sm_hardware, mass, SM_DIM_MASS, 1e-6, 1e5, SM_OPTIONAL, "mass of everything but the propellant"),
    QUANTITY(sm_hardware, center_of_mass, SM_DIM_LENGTH, -30.0, 60.0, SM_OPTIONAL, "from the head end"),
    QUANTITY(sm_hardware, inertia_axial, SM_DIM_INERTIA, 0.0, 1e6, SM_OPTIONAL, "about the motor's axis"),
    QUANTITY(sm_hardware, inertia_transverse, SM_DIM_INERTIA, 0.0, 1e6, SM_OPTIONAL,
             "about a transverse axis through the hardware's centre of mass"),
    {.name = "parts",
     .kind = SM_LIST,
     .offset = offsetof(struct sm_hardware, parts),
     .min = 1,
     .max = 64,
     .fallback = SM_OPTIONAL,
     .rows = part_params,
     .n_rows = SM_COUNT(part_params),
     .row_size = sizeof(struct sm_hardware_part),
     .help = "case, closures, nozzle, liner one by one, in place of the totals"},
};
const size_t sm_n_hardware_params = SM_COUNT(sm_hardware_params);

static const struct sm_param flow_params[] = {
    QUANTITY(sm_igniter_point, time, SM_DIM_TIME, 0.0, 100.0, SM_REQUIRED, "time after ignition, rising"),
    QUANTITY(sm_igniter_point, mass_flow, SM_DIM_MASS_FLOW, 0.0, 1e3, SM_REQUIRED,
             "what the igniter gives off"),
};

static const struct sm_param igniter_params[] = {
    QUANTITY(sm_igniter, peak_flow, SM_DIM_MASS_FLOW, 0.0, 1e3, SM_OPTIONAL,
             "largest mass flow, of one that rises and falls in straight lines"),
    QUANTITY(sm_igniter, peak_time, SM_DIM_TIME, 0.0, 100.0, SM_OPTIONAL,
             "time of the largest flow; half of the duration if not given"),
    QUANTITY(sm_igniter, duration, SM_DIM_TIME, 0.0, 100.0, SM_OPTIONAL, "time until it is spent"),
    {.name = "flow",
     .kind = SM_LIST,
     .offset = offsetof(struct sm_igniter, flow),
     .min = 2,
     .max = SM_MAX_IGNITER_POINTS,
     .fallback = SM_OPTIONAL,
     .rows = flow_params,
     .n_rows = SM_COUNT(flow_params),
     .row_size = sizeof(struct sm_igniter_point),
     .help = "mass flow against time, straight lines between the points, in place of the triangle"},
};

const struct sm_param sm_ignition_params[] = {
    QUANTITY(sm_ignition, pressure, SM_DIM_PRESSURE, 1e3, 50e6, SM_OPTIONAL,
             "chamber pressure at time zero; 0.5 MPa if not given, or the ambient pressure with an igniter's "
             "flow"),
    QUANTITY(sm_ignition, spread_time, SM_DIM_TIME, 0.0, 10.0, 0.02, "time until all of the surface is lit"),
    /* The bound is beyond the speed of sound of any gas, so that the check can say what that is. */
    QUANTITY(sm_ignition, spread_speed, SM_DIM_SPEED, 1e-3, 1e5, SM_OPTIONAL,
             "speed of the flame along the grains from their foremost burning surface aft, in place of "
             "spread_time"),
    {.name = "igniter",
     .kind = SM_RECORD,
     .offset = offsetof(struct sm_ignition, igniter),
     .rows = igniter_params,
     .n_rows = SM_COUNT(igniter_params),
     .fallback = SM_OPTIONAL,
     .help = "gas from an igniter, of the same kind as the propellant's; none if not given"},
};
const size_t sm_n_ignition_params = SM_COUNT(sm_ignition_params);

const struct sm_param sm_conditions_params[] = {
    QUANTITY(sm_conditions, grain_temperature, SM_DIM_TEMPERATURE, CELSIUS(-80.0), CELSIUS(120.0),
             CELSIUS(21.0), "of the grain at ignition"),
    QUANTITY(sm_conditions, hottest_temperature, SM_DIM_TEMPERATURE, CELSIUS(-80.0), CELSIUS(120.0),
             CELSIUS(45.0), "hottest grain for which the case is judged"),
    QUANTITY(sm_conditions, coldest_temperature, SM_DIM_TEMPERATURE, CELSIUS(-80.0), CELSIUS(120.0),
             CELSIUS(-10.0), "coldest grain that is meant to fly"),
    QUANTITY(sm_conditions, ambient_pressure, SM_DIM_PRESSURE, 0.0, 1e7, SM_OPTIONAL,
             "around the nozzle; sea level if neither this nor altitude is given"),
    QUANTITY(sm_conditions, altitude, SM_DIM_LENGTH, -5000.0, 86000.0, SM_OPTIONAL,
             "above sea level, in place of ambient_pressure"),
};
const size_t sm_n_conditions_params = SM_COUNT(sm_conditions_params);

static const char *const burnback_words[] = {"straight", "geodesic", NULL};

const struct sm_param sm_grain_common_params[] = {
    QUANTITY(sm_grain_common, outer_diameter, SM_DIM_LENGTH, 1e-4, 5.0, SM_REQUIRED, "diameter of the grain"),
    QUANTITY(sm_grain_common, length, SM_DIM_LENGTH, 1e-4, 30.0, SM_REQUIRED, "length of the grain"),
    {.name = "burning",
     .kind = SM_CHOICES,
     .offset = offsetof(struct sm_grain_common, burning),
     .words = sm_face_words,
     .fallback = SM_OPTIONAL,
     .help = "faces that burn; the shape's usual ones if not given"},
    {.name = "burnback",
     .kind = SM_CHOICE,
     .offset = offsetof(struct sm_grain_common, burnback),
     .words = burnback_words,
     .fallback = SM_BURNBACK_STRAIGHT,
     .help =
         "how fronts are found: straight, and refused where what is inhibited makes that wrong; or geodesic, "
         "round the edges of an inhibited bore of a body of revolution"},
};
const size_t sm_n_grain_common_params = SM_COUNT(sm_grain_common_params);

const struct sm_param sm_grain_entry_params[] = {
    {.name = "count",
     .kind = SM_WHOLE,
     .offset = offsetof(struct sm_grain_entry, count),
     .min = 1,
     .max = 1000,
     .fallback = 1,
     .help = "how many such grains stand in a row"},
    QUANTITY(sm_grain_entry, spacing, SM_DIM_LENGTH, 0.0, 10.0, 0.0, "gap behind each of them"),
};
const size_t sm_n_grain_entry_params = SM_COUNT(sm_grain_entry_params);

const struct sm_param sm_bare_curve_params[] = {
    QUANTITY(sm_bare_curve, loaded_mass, SM_DIM_MASS, 1e-5, 1e5, SM_REQUIRED,
             "mass of the whole motor, loaded"),
    QUANTITY(sm_bare_curve, propellant_mass, SM_DIM_MASS, 1e-6, 1e5, SM_REQUIRED, "mass of its propellant"),
    QUANTITY(sm_bare_curve, length, SM_DIM_LENGTH, 1e-3, 30.0, SM_REQUIRED, "length of the motor"),
    QUANTITY(sm_bare_curve, diameter, SM_DIM_LENGTH, 1e-3, 5.0, SM_REQUIRED, "diameter of the motor"),
    QUANTITY(sm_bare_curve, center_of_mass_loaded, SM_DIM_LENGTH, 0.0, 30.0, SM_OPTIONAL,
             "from the head end, loaded; half the length if not given"),
    QUANTITY(sm_bare_curve, center_of_mass_empty, SM_DIM_LENGTH, 0.0, 30.0, SM_OPTIONAL,
             "from the head end, burned out; as loaded if not given"),
    QUANTITY(sm_bare_curve, exit_diameter, SM_DIM_LENGTH, 1e-4, 5.0, SM_OPTIONAL,
             "of the nozzle, to correct thrust for altitude; without it thrust is not corrected"),
    QUANTITY(sm_bare_curve, test_ambient_pressure, SM_DIM_PRESSURE, 0.0, 1e7, 101325.0,
             "around the nozzle when the curve was taken"),
    QUANTITY(sm_bare_curve, impulse_scale, SM_DIM_NONE, 0.1, 10.0, 1.0,
             "thrust is that of the curve times this, so total impulse grows with it"),
    QUANTITY(
        sm_bare_curve, thrust_scale, SM_DIM_NONE, 0.1, 10.0, 1.0,
        "thrust is that of the curve times this and time is over it: harder and shorter, total impulse as "
        "it was"),
    QUANTITY(sm_bare_curve, time_scale, SM_DIM_NONE, 0.1, 10.0, 1.0,
             "times are those of the curve times this, thrust as it was"),
    QUANTITY(sm_bare_curve, ignition_delay, SM_DIM_TIME, 0.0, 10.0, 0.0,
             "time from the signal until the curve begins"),
    QUANTITY(sm_bare_curve, temperature_coefficient, SM_DIM_PER_TEMPERATURE, -0.02, 0.02, 0.0,
             "share by which thrust grows, and time falls, a kelvin of grain temperature"),
    QUANTITY(sm_bare_curve, test_temperature, SM_DIM_TEMPERATURE, CELSIUS(-80.0), CELSIUS(120.0),
             CELSIUS(21.0), "of the grain when the curve was taken"),
    {.name = "source",
     .kind = SM_TEXT,
     .offset = offsetof(struct sm_bare_curve, source),
     .fallback = SM_OPTIONAL,
     .help = "where the curve comes from"},
};
const size_t sm_n_bare_curve_params = SM_COUNT(sm_bare_curve_params);
