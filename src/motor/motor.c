#include "motor/motor.h"
#include "atmos/atmos.h"
#include "motor/check.h"
#include "motor/hardware.h"

#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979323846;

/* The entrance to the nozzle is reckoned as a cone of 45 degrees from the bore to the throat: common
 * practice, no source. case.free_volume overrides all of it. */
static double convergent_volume(const struct sm_motor_spec *spec)
{
    const double big = 0.5 * spec->chamber.bore, small = 0.5 * spec->nozzle.throat_diameter;
    const double length = big - small;
    return pi / 3.0 * length * (big * big + big * small + small * small);
}

static enum sm_status check_temperatures(const struct sm_conditions *c, struct sm_error *err)
{
    if (c->coldest_temperature <= c->hottest_temperature)
        return SM_OK;
    return sm_at(
        err,
        sm_fail(err, SM_E_RANGE,
                "coldest_temperature %.5g K (263.15 K if not given) is above hottest_temperature %.5g K "
                "(318.15 K if not given)",
                c->coldest_temperature, c->hottest_temperature),
        "/conditions/coldest_temperature");
}

static enum sm_status ambient_of(const struct sm_conditions *conditions, double *ambient,
                                 struct sm_error *err)
{
    *ambient = 101325.0;
    if (!isnan(conditions->ambient_pressure) && !isnan(conditions->altitude))
        return sm_at(err,
                     sm_fail(err, SM_E_FIELD, "give either \"ambient_pressure\" or \"altitude\", not both"),
                     "/conditions/altitude");
    if (!isnan(conditions->ambient_pressure))
        *ambient = conditions->ambient_pressure;
    if (!isnan(conditions->altitude)) {
        struct sm_air air;
        const enum sm_status status = sm_air_at(conditions->altitude, &air, err);
        if (status != SM_OK)
            return sm_at(err, status, "/conditions/altitude");
        *ambient = air.pressure;
    }
    return SM_OK;
}

/* Makes each entry's table, if it has none yet, and sets its place; *end is where the last grain ends [m]. */
static enum sm_status make_grains(struct sm_motor *motor, double *end, struct sm_error *err)
{
    const struct sm_motor_spec *spec = &motor->spec;
    if (!motor->geometry)
        motor->geometry = sm_arena_alloc(&motor->arena, spec->n_grains, sizeof *motor->geometry);
    motor->place = sm_arena_alloc(&motor->arena, spec->n_grains, sizeof *motor->place);
    if (!motor->geometry || !motor->place)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    double place = 0.0;
    for (size_t i = 0; i < spec->n_grains; i++) {
        const struct sm_grain_entry *entry = &spec->grains[i];
        const enum sm_status status = motor->geometry[i].pieces
                                          ? SM_OK
                                          : sm_shape_geometry(entry->shape, &motor->arena, &entry->common,
                                                              entry->params, &motor->geometry[i], err);
        if (status != SM_OK)
            return sm_at(err, status, "/grains/%zu", i);
        motor->place[i] = place;
        place += entry->count * (entry->common.length + entry->spacing);
        *end = place - entry->spacing;
    }
    return SM_OK;
}

static enum sm_status stack_grains(struct sm_motor *motor, struct sm_error *err)
{
    const struct sm_motor_spec *spec = &motor->spec;
    if (motor->stack.pieces)
        return SM_OK;
    struct sm_stack_item *items = sm_arena_alloc(&motor->arena, spec->n_grains, sizeof *items);
    if (!items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < spec->n_grains; i++)
        items[i] = (struct sm_stack_item){
            .geometry = &motor->geometry[i],
            .shift = motor->place[i],
            .pitch = spec->grains[i].common.length + spec->grains[i].spacing,
            .count = spec->grains[i].count,
        };
    return sm_geometry_stack(&motor->arena, items, spec->n_grains, &motor->stack, err);
}

/* Rounding of a unit must not make a grain too large for its own case: this much is forgiven, relative. */
static const double size_slack = 1e-9;

static enum sm_status check_fit(const struct sm_motor_spec *spec, double end, struct sm_error *err)
{
    for (size_t i = 0; i < spec->n_grains; i++)
        if (spec->grains[i].common.outer_diameter > spec->chamber.bore * (1.0 + size_slack))
            return sm_at(err,
                         sm_fail(err, SM_E_GEOMETRY,
                                 "the grain is %.6g mm wide, but the case's bore is %.6g mm",
                                 1e3 * spec->grains[i].common.outer_diameter, 1e3 * spec->chamber.bore),
                         "/grains/%zu/outer_diameter", i);
    if (end > spec->chamber.length * (1.0 + size_slack))
        return sm_at(err,
                     sm_fail(err, SM_E_GEOMETRY,
                             "the grains and their gaps take %.6g mm, but the case is %.6g mm long",
                             1e3 * end, 1e3 * spec->chamber.length),
                     "/case/length");
    if (spec->nozzle.throat_diameter >= spec->chamber.bore)
        return sm_at(err,
                     sm_fail(err, SM_E_GEOMETRY,
                             "the throat of %.6g mm is not narrower than the case's bore of %.6g mm",
                             1e3 * spec->nozzle.throat_diameter, 1e3 * spec->chamber.bore),
                     "/nozzle/throat_diameter");
    return SM_OK;
}

static enum sm_status reckon_volume(struct sm_motor *motor, struct sm_error *err)
{
    const struct sm_motor_spec *spec = &motor->spec;
    struct sm_geometry_at at;
    sm_geometry_eval(&motor->stack, 0.0, &at);
    const double bore = spec->chamber.bore;
    motor->propellant_mass = spec->propellant.density * at.value[SM_VOLUME];
    motor->case_volume = 0.25 * pi * bore * bore * spec->chamber.length + convergent_volume(spec);
    motor->free_volume = isnan(spec->chamber.free_volume) ? motor->case_volume - at.value[SM_VOLUME]
                                                          : spec->chamber.free_volume;
    if (motor->free_volume <= 0.0)
        return sm_at(err, sm_fail(err, SM_E_GEOMETRY, "the grains leave no gas space in the case"),
                     "/case/length");
    return SM_OK;
}

static enum sm_status assemble_grains(struct sm_motor *motor, struct sm_error *err)
{
    const struct sm_motor_spec *spec = &motor->spec;
    double end = 0.0;
    enum sm_status status = sm_propellant_check(&spec->propellant, err);
    if (status != SM_OK)
        return sm_at(err, status, "/propellant");
    status = sm_nozzle_check(&spec->nozzle, err);
    if (status != SM_OK)
        return sm_at(err, status, "/nozzle");
    SM_TRY(make_grains(motor, &end, err));
    SM_TRY(check_fit(spec, end, err));
    SM_TRY(stack_grains(motor, err));
    SM_TRY(reckon_volume(motor, err));
    sm_propellant_gas(&spec->propellant, &motor->gas);
    return sm_motor_check_start(motor, err);
}

double sm_grain_number(const struct sm_grain_entry *entry, const char *name, double fallback)
{
    for (size_t i = 0; i < entry->shape->n_params; i++) {
        const struct sm_param *row = &entry->shape->params[i];
        if (row->kind == SM_QUANTITY && strcmp(row->name, name) == 0)
            return *(const double *)(const void *)((const char *)entry->params + row->offset);
    }
    return fallback;
}

static enum sm_status check_bare(const struct sm_bare_curve *bare, struct sm_error *err)
{
    struct sm_curve_numbers numbers;
    const struct sm_curve_rule rule = {0};
    const enum sm_status status = sm_curve_numbers(&bare->curve, &rule, &numbers, err);
    if (status != SM_OK)
        return sm_at(err, status, "/curve");
    if (bare->propellant_mass >= bare->loaded_mass)
        return sm_at(err,
                     sm_fail(err, SM_E_RANGE, "propellant_mass %.6g kg is not less than loaded_mass %.6g kg",
                             bare->propellant_mass, bare->loaded_mass),
                     "/curve/propellant_mass");
    return SM_OK;
}

enum sm_status sm_motor_assemble(struct sm_motor *motor, struct sm_error *err)
{
    SM_TRY(ambient_of(&motor->spec.conditions, &motor->ambient, err));
    SM_TRY(check_temperatures(&motor->spec.conditions, err));
    if (motor->spec.is_curve) {
        motor->propellant_mass = motor->spec.bare.propellant_mass;
        return check_bare(&motor->spec.bare, err);
    }
    const enum sm_status status =
        sm_hardware_body(&motor->spec.hardware, &motor->has_hardware, &motor->hardware, err);
    if (status != SM_OK)
        return sm_at(err, status, "/hardware");
    return assemble_grains(motor, err);
}
