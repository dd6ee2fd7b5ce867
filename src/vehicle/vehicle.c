/* What a vehicle file may say, and what the rows can't see. */
#include "vehicle/vehicle.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

enum { MAX_GROUPS = 8 };
static const double right_angle = 1.57079632679489662;

#define TEXT(owner, field, text)                                                                             \
    {                                                                                                        \
        .name = #field, .kind = SM_TEXT, .offset = offsetof(struct owner, field), .fallback = SM_REQUIRED,   \
        .help = text                                                                                         \
    }
#define QUANTITY(owner, field, dimension, low, high, usual, text)                                            \
    {                                                                                                        \
        .name = #field, .kind = SM_QUANTITY, .dim = dimension, .offset = offsetof(struct owner, field),      \
        .min = low, .max = high, .fallback = usual, .help = text                                             \
    }
#define RECORD(field, list, usual, text)                                                                     \
    {                                                                                                        \
        .name = #field, .kind = SM_RECORD, .offset = offsetof(struct sm_vehicle_spec, field), .rows = list,  \
        .n_rows = SM_COUNT(list), .fallback = usual, .help = text                                            \
    }

static const struct sm_param body_rows[] = {
    QUANTITY(sm_vehicle_body, dry_mass, SM_DIM_MASS, 1e-3, 1e5, SM_REQUIRED,
             "without propellant, with the motors' cases in it"),
    QUANTITY(sm_vehicle_body, center_of_mass, SM_DIM_LENGTH, 0.0, 100.0, SM_OPTIONAL,
             "of that dry vehicle, from its nose"),
    QUANTITY(sm_vehicle_body, inertia_roll, SM_DIM_INERTIA, 1e-9, 1e7, SM_OPTIONAL,
             "of that dry vehicle about its axis"),
    QUANTITY(sm_vehicle_body, inertia_pitch, SM_DIM_INERTIA, 1e-9, 1e7, SM_OPTIONAL,
             "of that dry vehicle about its centre of mass, in turning towards azimuth 0"),
    QUANTITY(sm_vehicle_body, inertia_yaw, SM_DIM_INERTIA, 1e-9, 1e7, SM_OPTIONAL,
             "the same in turning towards azimuth 90 deg; as in pitch if not given"),
};
/* In place of a time. */
static const struct sm_param ignite_height = {
    .name = "ignite_at",
    .kind = SM_QUANTITY,
    .dim = SM_DIM_LENGTH,
    .offset = offsetof(struct sm_motor_group, ignite_height),
    .min = 0.1,
    .max = 1e5,
    .fallback = SM_OPTIONAL,
    .help = "the height over the ground at which they are lit as the vehicle falls through it",
};
static const struct sm_param group_rows[] = {
    {.name = "name",
     .kind = SM_TEXT,
     .offset = offsetof(struct sm_motor_group, name),
     .fallback = SM_OPTIONAL,
     .help = "of the group, as \"boost\" and \"hover\" where there are several"},
    TEXT(sm_motor_group, motor,
         "path of a motor file, or of a curve's that tells masses, from this file's folder"),
    {.name = "count",
     .kind = SM_WHOLE,
     .offset = offsetof(struct sm_motor_group, count),
     .min = 1,
     .max = 64,
     .fallback = 1,
     .help = "motors of this kind, lit together"},
    QUANTITY(sm_motor_group, ring_radius, SM_DIM_LENGTH, 0.0, 100.0, 0.0,
             "of their ring, or half of a pair's spacing"),
    QUANTITY(sm_motor_group, spacing, SM_DIM_LENGTH, 1e-4, 200.0, SM_OPTIONAL,
             "between neighbours on their ring, in place of its radius"),
    QUANTITY(sm_motor_group, azimuth, SM_DIM_ANGLE, -6.2832, 6.2832, 0.0,
             "of the first of them around the axis"),
    QUANTITY(sm_motor_group, pivot, SM_DIM_LENGTH, 0.0, 100.0, SM_OPTIONAL,
             "place about which they tilt, from the vehicle's nose"),
    QUANTITY(sm_motor_group, pivot_on_motor, SM_DIM_LENGTH, 0.0, 30.0, SM_OPTIONAL,
             "the same from the motor's head end; half its length if not given"),
    QUANTITY(sm_motor_group, cant, SM_DIM_ANGLE, 0.0, 1.5, 0.0, "fixed, outwards from the axis"),
    QUANTITY(sm_motor_group, tilt_limit, SM_DIM_ANGLE, 0.0, right_angle, 0.0, "either way from the cant"),
    QUANTITY(sm_motor_group, tilt_limit_across, SM_DIM_ANGLE, 0.0, right_angle, 0.0,
             "either way across the splay, for turning"),
    QUANTITY(sm_motor_group, tilt_rate, SM_DIM_ANGULAR_RATE, 1e-3, 1e3, SM_OPTIONAL,
             "of splay, in place of tilt_time"),
    QUANTITY(sm_motor_group, tilt_time, SM_DIM_TIME, 0.0, 10.0, 0.0,
             "that splay takes from its least to its most, at an even rate"),
    {.name = "ignite_at",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_TIME,
     .offset = offsetof(struct sm_motor_group, ignite_at),
     .min = 0.0,
     .max = 1e4,
     .fallback = 0.0,
     .help = "after the first ignition command",
     .alternative = &ignite_height},
    QUANTITY(sm_motor_group, ignition_delay, SM_DIM_TIME, 0.0, 60.0, 0.0,
             "from the command to the start of the motor's curve"),
    QUANTITY(sm_motor_group, ignition_delay_tolerance, SM_DIM_TIME, 0.0, 10.0, 0.0, "its standard deviation"),
    QUANTITY(
        sm_motor_group, eject_at, SM_DIM_TIME, 0.0, 1e4, SM_OPTIONAL,
        "when its ejection charge fires, after the first ignition command; by its motor's own delay if not "
        "given"),
};
static const struct sm_param air_rows[] = {
    QUANTITY(sm_vehicle_air, area, SM_DIM_AREA, 0.0, 1e4, 0.0, "that drag is reckoned with; 0 for no drag"),
    QUANTITY(sm_vehicle_air, drag_coefficient, SM_DIM_NONE, 0.0, 10.0, 0.0, "of that area"),
};
static const struct sm_param site_rows[] = {
    QUANTITY(sm_vehicle_site, altitude, SM_DIM_LENGTH, -500.0, 9000.0, 0.0, "of the ground"),
    QUANTITY(sm_vehicle_site, gravity, SM_DIM_ACCELERATION, 0.1, 100.0, 9.80665, "at the site"),
};
static const struct sm_param launch_rows[] = {
    QUANTITY(sm_vehicle_launch, release_thrust, SM_DIM_FORCE, 0.0, 1e7, 0.0,
             "that each motor lit at the start must exceed before it is let go; 0: let go at once"),
    QUANTITY(sm_vehicle_launch, abort_after, SM_DIM_TIME, 0.0, 60.0, 1.0,
             "it is not let go at all if that is not so by then"),
    QUANTITY(sm_vehicle_launch, rail_length, SM_DIM_LENGTH, 0.0, 100.0, 0.0, "0 for none"),
};
static const struct sm_param landing_rows[] = {
    QUANTITY(sm_vehicle_landing, speed_limit, SM_DIM_SPEED, 0.0, 20.0, 1.0, "of the legs at contact"),
    QUANTITY(sm_vehicle_landing, reserve, SM_DIM_NONE, 0.0, 0.45, 0.08,
             "share of the range of throttle that is kept for steering at both ends"),
    QUANTITY(sm_vehicle_landing, replan_every, SM_DIM_TIME, 0.02, 1e3, 0.5,
             "time between the instants at which a flight that is off is planned anew"),
    QUANTITY(sm_vehicle_landing, least_splay, SM_DIM_ANGLE, 0.0, 1.0, 0.0,
             "that plans keep; without any, a change of splay does not change thrust"),
};
static const struct sm_param tolerance_rows[] = {
    QUANTITY(sm_vehicle_tolerances, thrust, SM_DIM_NONE, 0.0, 0.3, 0.0, "standard deviation, as a share"),
    QUANTITY(sm_vehicle_tolerances, cold, SM_DIM_NONE, 0.0, 0.9, 0.0, "share of thrust lost at the coldest"),
    QUANTITY(sm_vehicle_tolerances, mass, SM_DIM_NONE, 0.0, 0.3, 0.0, "standard deviation, as a share"),
    QUANTITY(sm_vehicle_tolerances, burn_time, SM_DIM_NONE, 0.0, 0.3, 0.0,
             "standard deviation, as a share, with impulse kept: a longer burn is a weaker one"),
    QUANTITY(sm_vehicle_tolerances, mismatch, SM_DIM_NONE, 0.0, 0.3, SM_OPTIONAL,
             "of one motor's thrust from the others', standard deviation, as a share; that of thrust if not "
             "given"),
    QUANTITY(sm_vehicle_tolerances, mount_angle, SM_DIM_ANGLE, 0.0, 0.5, 0.0,
             "of one motor's thrust, in each of two directions, standard deviation"),
    QUANTITY(sm_vehicle_tolerances, mount_offset, SM_DIM_LENGTH, 0.0, 1.0, 0.0,
             "of one motor's place sideways, in each of two directions, standard deviation"),
};

const struct sm_param sm_vehicle_params[] = {
    TEXT(sm_vehicle_spec, name, "what it is called"),
    RECORD(body, body_rows, SM_REQUIRED, "the vehicle itself"),
    {.name = "motors",
     .kind = SM_LIST,
     .offset = offsetof(struct sm_vehicle_spec, motors),
     .min = 1,
     .max = MAX_GROUPS,
     .fallback = SM_REQUIRED,
     .rows = group_rows,
     .n_rows = SM_COUNT(group_rows),
     .row_size = sizeof(struct sm_motor_group),
     .help = "groups of motors"},
    RECORD(aerodynamics, air_rows, SM_OPTIONAL, "its drag"),
    RECORD(site, site_rows, SM_OPTIONAL, "where it flies"),
    RECORD(launch, launch_rows, SM_OPTIONAL, "how it is let go"),
    RECORD(landing, landing_rows, SM_OPTIONAL, "how it may land"),
    RECORD(tolerances, tolerance_rows, SM_OPTIONAL, "how far off it may be"),
};
const size_t sm_n_vehicle_params = SM_COUNT(sm_vehicle_params);

size_t sm_vehicle_rows(const struct sm_param **rows)
{
    *rows = sm_vehicle_params;
    return sm_n_vehicle_params;
}

void sm_group_splay(const struct sm_motor_group *group, double least_splay, double *low, double *high)
{
    *high = group->cant + group->tilt_limit;
    *low = fmin(fmax(group->cant - group->tilt_limit, least_splay), *high);
}

/* Half of a motor's length [m]; SM_ABSENT if that is not told. */
static double middle_of(const struct sm_motor *motor)
{
    return 0.5 * (motor->spec.is_curve ? motor->spec.bare.length : motor->spec.chamber.length);
}

static enum sm_status settle_group(struct sm_motor_group *g, const struct sm_motor *motor, double least_splay,
                                   struct sm_error *err)
{
    if (!isnan(g->spacing)) {
        if (g->count < 2)
            return sm_at(err, sm_fail(err, SM_E_FIELD, "one motor has no neighbour to be spaced from"),
                         "/spacing");
        if (g->ring_radius > 0.0)
            return sm_at(err,
                         sm_fail(err, SM_E_FIELD, "spacing and ring_radius say the same: give one of them"),
                         "/spacing");
        g->ring_radius = 0.5 * g->spacing / sin(2.0 * right_angle / g->count);
    }
    if (!isnan(g->tilt_rate)) {
        double low, high;
        if (g->tilt_time > 0.0)
            return sm_at(err,
                         sm_fail(err, SM_E_FIELD, "tilt_rate and tilt_time say the same: give one of them"),
                         "/tilt_rate");
        sm_group_splay(g, least_splay, &low, &high);
        g->tilt_time = (high - low) / g->tilt_rate;
    }
    g->pivot_on_motor = isnan(g->pivot_on_motor) ? middle_of(motor) : g->pivot_on_motor;
    return SM_OK;
}

enum sm_status sm_vehicle_settle(struct sm_vehicle *vehicle, struct sm_error *err)
{
    struct sm_vehicle_spec *spec = &vehicle->spec;
    struct sm_motor_group *groups = spec->motors.items;
    struct sm_vehicle_body *body = &spec->body;
    for (size_t i = 0; i < spec->motors.n; i++) {
        const enum sm_status status =
            settle_group(&groups[i], vehicle->motors[i], spec->landing.least_splay, err);
        if (status != SM_OK)
            return sm_at(err, status, "/motors/%zu", i);
    }
    body->inertia_yaw = isnan(body->inertia_yaw) ? body->inertia_pitch : body->inertia_yaw;
    if (isnan(spec->tolerances.mismatch))
        spec->tolerances.mismatch = spec->tolerances.thrust;
    return SM_OK;
}

int sm_group_waits_for_height(const struct sm_motor_group *group)
{
    return group->ignite_height > 0.0;
}

int sm_group_has_throttle(const struct sm_motor_group *group)
{
    return group->count > 1 && group->ring_radius > 0.0 && group->tilt_limit > 0.0;
}

/* Mass of a motor without its propellant; 0 if its hardware is not told [kg]. */
static double empty_mass(const struct sm_motor *motor)
{
    if (motor->spec.is_curve)
        return isnan(motor->spec.bare.loaded_mass)
                   ? 0.0
                   : motor->spec.bare.loaded_mass - motor->spec.bare.propellant_mass;
    return motor->has_hardware ? motor->hardware.mass : 0.0;
}

/* No body has a moment of inertia above the sum of the other two. */
static enum sm_status check_inertia(const struct sm_vehicle_body *body, struct sm_error *err)
{
    static const char *const names[] = {"inertia_roll", "inertia_pitch", "inertia_yaw"};
    const double value[] = {body->inertia_roll, body->inertia_pitch, body->inertia_yaw};
    for (size_t i = 0; i < SM_COUNT(value); i++) {
        const double others = value[(i + 1) % 3] + value[(i + 2) % 3];
        if (value[i] > others)
            return sm_at(
                err,
                sm_fail(err, SM_E_RANGE,
                        "%s %.4g kg m2 is more than the other two together, %.4g kg m2: no body is so",
                        names[i], value[i], others),
                "/body/%s", names[i]);
    }
    return SM_OK;
}

/* What is lit at a height must be taken up to it. */
static enum sm_status check_ignition(const struct sm_vehicle_spec *spec, struct sm_error *err)
{
    const struct sm_motor_group *groups = spec->motors.items;
    for (size_t i = 0; i < spec->motors.n; i++)
        if (!sm_group_waits_for_height(&groups[i]))
            return SM_OK;
    return sm_at(
        err,
        sm_fail(err, SM_E_RANGE,
                "all motors are to be lit at a height on the way down, and none takes the vehicle up "
                "to it: light some at a time"),
        "/motors/0/ignite_at");
}

enum sm_status sm_vehicle_check(const struct sm_vehicle *vehicle, struct sm_error *err)
{
    const struct sm_motor_group *groups = vehicle->spec.motors.items;
    double cases = 0.0;
    for (size_t i = 0; i < vehicle->spec.motors.n; i++) {
        double low, high;
        if (isnan(vehicle->motors[i]->propellant_mass))
            return sm_at(err,
                         sm_fail(err, SM_E_FIELD,
                                 "of this motor only a thrust curve is known: give its file the columns "
                                 "propellant_mass and motor_mass, or put it into a motor file with "
                                 "loaded_mass and propellant_mass"),
                         "/motors/%zu/motor", i);
        sm_group_splay(&groups[i], vehicle->spec.landing.least_splay, &low, &high);
        if (high > right_angle)
            return sm_at(err,
                         sm_fail(err, SM_E_RANGE,
                                 "cant and tilt_limit together reach %.4g deg; 90 deg is the most",
                                 high * 90.0 / right_angle),
                         "/motors/%zu/tilt_limit", i);
        cases += groups[i].count * empty_mass(vehicle->motors[i]);
    }
    if (vehicle->spec.body.dry_mass < cases)
        return sm_at(err,
                     sm_fail(err, SM_E_RANGE,
                             "dry_mass %.4g kg is less than that of its motors' empty cases, %.4g kg",
                             vehicle->spec.body.dry_mass, cases),
                     "/body/dry_mass");
    SM_TRY(check_ignition(&vehicle->spec, err));
    return check_inertia(&vehicle->spec.body, err);
}

int sm_vehicle_carries(const struct sm_vehicle *vehicle, const char *motor)
{
    const struct sm_motor_group *groups = vehicle->spec.motors.items;
    int n = 0;
    for (size_t i = 0; i < vehicle->spec.motors.n; i++)
        if (strcmp(vehicle->motors[i]->spec.name, motor) == 0)
            n += groups[i].count;
    return n;
}
