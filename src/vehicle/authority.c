/* What the motors' tilt can turn through a flight, as mass, centre of mass and inertia change. */
#include "base/text.h"
#include "curve/curve.h"
#include "vehicle/lift.h"
#include "vehicle/turning.h"

#include <math.h>
#include <string.h>

static const double deviations = 3.0, turn = 6.28318530717958648;

enum { COLUMNS_ALONE = 6, COLUMNS_OF_AXES = 5, COLUMNS = COLUMNS_ALONE + 3 * COLUMNS_OF_AXES };

/* The propellant of one motor, and its thrust. */
struct burning {
    double thrust;            /* [N] */
    double mass;              /* [kg] */
    double at;                /* place of its centre of mass from the vehicle's nose [m] */
    double axial, transverse; /* inertias about its own centre of mass [kg m2] */
};

static void burning_at(const struct sm_motor_group *g, const struct sm_series *s, double t, struct burning *b)
{
    const double own = t - g->ignite_at - g->ignition_delay, held = fmax(own, s->time[0]);
    const int is_lit = own >= s->time[0] && own <= s->time[s->n - 1];
    const double ahead = sm_curve_at(s->time, s->center_of_mass, s->n, held) - g->pivot_on_motor;
    b->thrust = is_lit ? sm_curve_at(s->time, s->thrust, s->n, own) : 0.0;
    b->mass = sm_curve_at(s->time, s->propellant_mass, s->n, held);
    b->at = g->pivot + (isnan(ahead) ? 0.0 : ahead);
    b->axial = sm_curve_at(s->time, s->inertia_axial, s->n, held);
    b->transverse = sm_curve_at(s->time, s->inertia_transverse, s->n, held);
    if (isnan(b->axial) || isnan(b->transverse)) /* a curve without the motor's size: all in one point */
        b->axial = b->transverse = 0.0;
}

/* Mass, centre of mass [m] and inertias [kg m2] of the vehicle, motors as they stand without splay. */
struct whole {
    double mass;                  /* [kg] */
    double center;                /* [m] */
    double inertia[SM_TURN_AXES]; /* [kg m2] */
};

static void add_motors(const struct sm_motor_group *g, const struct burning *b, struct whole *w)
{
    for (int k = 0; k < g->count && b->mass > 0.0; k++) {
        const double phi = g->azimuth + turn * k / g->count, along = b->at - w->center;
        const double y = g->ring_radius * cos(phi), z = g->ring_radius * sin(phi);
        w->inertia[SM_TURN_PITCH] += b->transverse + b->mass * (along * along + y * y);
        w->inertia[SM_TURN_YAW] += b->transverse + b->mass * (along * along + z * z);
        w->inertia[SM_TURN_ROLL] += b->axial + b->mass * (y * y + z * z);
    }
}

/* The parallel-axis rule about the centre of mass of all. */
static void weigh(const struct sm_vehicle_spec *spec, const struct burning *b, struct whole *w)
{
    const struct sm_motor_group *groups = spec->motors.items;
    const struct sm_vehicle_body *body = &spec->body;
    double moment = body->dry_mass * body->center_of_mass;
    w->mass = body->dry_mass;
    for (size_t i = 0; i < spec->motors.n; i++) {
        w->mass += groups[i].count * b[i].mass;
        moment += b[i].mass > 0.0 ? groups[i].count * b[i].mass * b[i].at : 0.0;
    }
    w->center = moment / w->mass;
    const double along = body->center_of_mass - w->center, dry = body->dry_mass * along * along;
    w->inertia[SM_TURN_PITCH] = body->inertia_pitch + dry;
    w->inertia[SM_TURN_YAW] = body->inertia_yaw + dry;
    w->inertia[SM_TURN_ROLL] = body->inertia_roll;
    for (size_t i = 0; i < spec->motors.n; i++)
        add_motors(&groups[i], &b[i], w);
}

/* The splay nearest to that which holds the weight; each group keeps it within its own [rad]. */
static double hover_splay(const struct sm_vehicle_spec *spec, const struct burning *b, double weight)
{
    const struct sm_motor_group *groups = spec->motors.items;
    double fixed = 0.0, splayed = 0.0; /* thrust [N] */
    for (size_t i = 0; i < spec->motors.n; i++)
        if (sm_group_has_throttle(&groups[i]))
            splayed += groups[i].count * b[i].thrust;
        else
            fixed += groups[i].count * b[i].thrust * cos(groups[i].cant);
    return splayed > 0.0 ? acos(fmin(fmax((weight - fixed) / splayed, 0.0), 1.0)) : 0.0;
}

static void prepare(const struct sm_vehicle_spec *spec, size_t i, const struct burning *b,
                    const struct whole *w, double splay, struct sm_turning_group *out)
{
    const struct sm_motor_group *g = (const struct sm_motor_group *)spec->motors.items + i;
    double low, high;
    sm_group_splay(g, spec->landing.least_splay, &low, &high);
    *out = (struct sm_turning_group){
        .count = g->count,
        .radius = g->ring_radius,
        .azimuth = g->azimuth,
        .lever = g->pivot - w->center,
        .thrust = b->thrust,
        .splay = sm_group_has_throttle(g) ? fmin(fmax(splay, low), high) : g->cant,
        .low = g->cant - g->tilt_limit,
        .high = g->cant + g->tilt_limit,
        .across = g->tilt_limit_across,
    };
}

/* Inertia, tilt left, moment, acceleration, trim about one axis. */
static void turn_about(const struct sm_vehicle_spec *spec, const struct sm_turning_group *groups,
                       enum sm_turning_axis axis, const struct whole *w, double out[COLUMNS_OF_AXES])
{
    const struct sm_turning_errors errors = {spec->tolerances.mismatch, spec->tolerances.mount_angle,
                                             spec->tolerances.mount_offset};
    double left = 0.0, moment = 0.0, variance = 0.0;
    for (size_t i = 0; i < spec->motors.n; i++) {
        if (!(groups[i].thrust > 0.0))
            continue;
        const double own = sm_turning_left(&groups[i], axis);
        const double error = sm_turning_error(&groups[i], &errors, axis);
        left = fmax(left, own);
        moment += sm_turning_moment(&groups[i], axis, own);
        variance += error * error;
    }
    out[0] = w->inertia[axis];
    out[1] = left;
    out[2] = moment;
    out[3] = moment / w->inertia[axis];
    out[4] = sm_turning_trim(groups, spec->motors.n, axis, deviations * sqrt(variance));
}

/* One row at t: time, thrust to weight, splay, mass, centre of mass, axial authority, then those of the axes. */
static void fill_row(const struct sm_lift_study *s, double t, double row[COLUMNS])
{
    const struct sm_vehicle_spec *spec = &s->vehicle->spec;
    const struct sm_motor_group *motors = spec->motors.items;
    struct burning b[SM_FLIGHT_GROUPS];
    struct sm_turning_group groups[SM_FLIGHT_GROUPS];
    struct sm_profile_at at;
    struct whole w;
    for (size_t i = 0; i < spec->motors.n; i++)
        burning_at(&motors[i], &s->runs[i]->series, t, &b[i]);
    weigh(spec, b, &w);
    sm_profile_eval(&s->bare, t, &at);
    const double weight = at.mass * spec->site.gravity, splay = hover_splay(spec, b, weight);
    double axial = 0.0, widest = 0.0;
    for (size_t i = 0; i < spec->motors.n; i++) {
        prepare(spec, i, &b[i], &w, splay, &groups[i]);
        if (!sm_group_has_throttle(&motors[i]))
            continue;
        axial -= groups[i].count * groups[i].thrust * sin(groups[i].splay);
        widest = fmax(widest, groups[i].splay);
    }
    row[0] = t;
    row[1] = at.full / weight;
    row[2] = widest;
    row[3] = at.mass;
    row[4] = w.center;
    row[5] = axial;
    for (int axis = 0; axis < SM_TURN_AXES; axis++)
        turn_about(spec, groups, (enum sm_turning_axis)axis, &w,
                   row + COLUMNS_ALONE + axis * COLUMNS_OF_AXES);
}

/* What the file would have to tell for all of the figures; NULL if nothing. */
static enum sm_status say_missing(struct sm_lift_study *s, struct sm_error *err)
{
    const struct sm_vehicle_spec *spec = &s->vehicle->spec;
    const struct sm_motor_group *motors = spec->motors.items;
    char said[400] = "";
    const struct {
        const char *name;
        double value; /* [SI] */
    } wanted[] = {{"body.center_of_mass", spec->body.center_of_mass},
                  {"body.inertia_roll", spec->body.inertia_roll},
                  {"body.inertia_pitch", spec->body.inertia_pitch}};
    for (size_t i = 0; i < SM_COUNT(wanted); i++)
        if (isnan(wanted[i].value))
            sm_text_format(said + strlen(said), sizeof said - strlen(said), "%s%s", said[0] ? ", " : "",
                           wanted[i].name);
    for (size_t i = 0; i < spec->motors.n; i++)
        if (isnan(motors[i].pivot))
            sm_text_format(said + strlen(said), sizeof said - strlen(said), "%smotors.%zu.pivot",
                           said[0] ? ", " : "", i);
    s->lift.turning.missing = said[0] ? sm_arena_strdup(&s->arena, said) : NULL;
    return said[0] && !s->lift.turning.missing ? sm_fail(err, SM_E_NOMEM, "out of memory") : SM_OK;
}

enum sm_status sm_lift_fill_turning(struct sm_lift_study *s, struct sm_error *err)
{
    struct sm_lift_turning *out = &s->lift.turning;
    const double from = s->start.t, to = s->lift.figures.burnout_time;
    double *column[COLUMNS], row[COLUMNS];
    for (size_t k = 0; k < COLUMNS; k++) {
        column[k] = sm_arena_alloc(&s->arena, SM_LIFT_TURNS, sizeof **column);
        if (!column[k])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    for (size_t i = 0; i < SM_LIFT_TURNS; i++) {
        fill_row(s, from + (to - from) * (double)i / (SM_LIFT_TURNS - 1), row);
        for (size_t k = 0; k < COLUMNS; k++)
            column[k][i] = row[k];
    }
    *out = (struct sm_lift_turning){.n = SM_LIFT_TURNS,
                                    .time = column[0],
                                    .ratio = column[1],
                                    .splay = column[2],
                                    .mass = column[3],
                                    .center_of_mass = column[4],
                                    .axial = column[5],
                                    .least_splay = s->vehicle->spec.landing.least_splay};
    for (size_t axis = 0; axis < SM_LIFT_AXES; axis++) {
        double **own = column + COLUMNS_ALONE + axis * COLUMNS_OF_AXES;
        out->axes[axis] = (struct sm_lift_axis){own[0], own[1], own[2], own[3], own[4]};
    }
    return say_missing(s, err);
}

const char *sm_lift_axis_name(size_t axis)
{
    static const char *const names[SM_LIFT_AXES] = {"pitch", "yaw", "roll"};
    return axis < SM_LIFT_AXES ? names[axis] : NULL;
}
