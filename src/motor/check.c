#include "motor/check.h"

#include <math.h>

static const double usual_start = 0.5e6; /* without an igniter's flow [Pa] */
static const double least_start = 1e3;   /* where the ambient pressure is less [Pa] */

/* ---- igniter ---- */

static enum sm_status check_triangle(struct sm_igniter *igniter, struct sm_error *err)
{
    if (isnan(igniter->peak_flow) || isnan(igniter->duration))
        return sm_at(
            err,
            sm_fail(err, SM_E_FIELD, "an igniter needs \"peak_flow\" and \"duration\", or a table \"flow\""),
            isnan(igniter->peak_flow) ? "/peak_flow" : "/duration");
    if (!(igniter->duration > 0.0))
        return sm_at(err, sm_fail(err, SM_E_RANGE, "an igniter must last longer than 0 s"), "/duration");
    if (isnan(igniter->peak_time))
        igniter->peak_time = 0.5 * igniter->duration;
    if (igniter->peak_time > igniter->duration)
        return sm_at(err,
                     sm_fail(err, SM_E_RANGE, "peak_time %.4g s is past the igniter's duration of %.4g s",
                             igniter->peak_time, igniter->duration),
                     "/peak_time");
    return SM_OK;
}

static enum sm_status check_table(const struct sm_igniter *igniter, struct sm_error *err)
{
    const struct sm_igniter_point *point = igniter->flow.items;
    if (!isnan(igniter->peak_flow) || !isnan(igniter->peak_time) || !isnan(igniter->duration))
        return sm_at(err, sm_fail(err, SM_E_FIELD, "give either the triangle or \"flow\", not both"),
                     "/flow");
    for (size_t i = 1; i < igniter->flow.n; i++)
        if (!(point[i].time > point[i - 1].time))
            return sm_at(err,
                         sm_fail(err, SM_E_RANGE, "time %.6g s is not after the one before, %.6g s",
                                 point[i].time, point[i - 1].time),
                         "/flow/%zu/time", i);
    return SM_OK;
}

static enum sm_status check_igniter(struct sm_motor *motor, struct sm_error *err)
{
    struct sm_igniter *igniter = &motor->spec.ignition.igniter;
    const int has_triangle =
        !isnan(igniter->peak_flow) || !isnan(igniter->peak_time) || !isnan(igniter->duration);
    motor->has_igniter = igniter->flow.n > 0 || has_triangle;
    if (igniter->flow.n > 0)
        return sm_at(err, check_table(igniter, err), "/ignition/igniter");
    return has_triangle ? sm_at(err, check_triangle(igniter, err), "/ignition/igniter") : SM_OK;
}

/* ---- pressure and flame ---- */

static enum sm_status check_pressure(struct sm_motor *motor, struct sm_error *err)
{
    const double given = motor->spec.ignition.pressure;
    motor->start_pressure = given;
    if (isnan(given))
        motor->start_pressure = motor->has_igniter ? fmax(motor->ambient, least_start) : usual_start;
    if (motor->start_pressure < motor->ambient)
        return sm_at(err,
                     sm_fail(err, SM_E_RANGE, "the ignition pressure of %.6g Pa is below the ambient %.6g Pa",
                             motor->start_pressure, motor->ambient),
                     "/ignition/pressure");
    return SM_OK;
}

static enum sm_status check_flame(const struct sm_motor *motor, struct sm_error *err)
{
    const double speed = motor->spec.ignition.spread_speed;
    const double sound = sqrt(motor->gas.gamma * motor->gas.rt);
    if (isnan(speed) || speed < sound)
        return SM_OK;
    return sm_at(err,
                 sm_fail(err, SM_E_RANGE,
                         "a flame that spreads at %.6g m/s would outrun sound in the gas, %.4g m/s", speed,
                         sound),
                 "/ignition/spread_speed");
}

static enum sm_status check_heat(const struct sm_motor *motor, struct sm_error *err)
{
    const struct sm_case *chamber = &motor->spec.chamber;
    const double flame = motor->spec.propellant.flame_temperature;
    if (!(chamber->heat_transfer > 0.0))
        return SM_OK;
    if (isnan(flame))
        return sm_at(err,
                     sm_fail(err, SM_E_FIELD,
                             "heat_transfer needs a propellant with flame_temperature and molar_mass, not "
                             "with characteristic_velocity"),
                     "/case/heat_transfer");
    if (chamber->wall_temperature >= flame)
        return sm_at(err,
                     sm_fail(err, SM_E_RANGE, "the wall at %.4g K is not cooler than the flame at %.4g K",
                             chamber->wall_temperature, flame),
                     "/case/wall_temperature");
    return SM_OK;
}

enum sm_status sm_motor_check_start(struct sm_motor *motor, struct sm_error *err)
{
    SM_TRY(check_igniter(motor, err));
    SM_TRY(check_pressure(motor, err));
    SM_TRY(check_flame(motor, err));
    return check_heat(motor, err);
}
