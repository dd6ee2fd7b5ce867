/* Facts of a motor for people. */
#include "motor/motor.h"

#include <math.h>

const char *sm_motor_name(const struct sm_motor *motor)
{
    return motor->spec.name;
}

bool sm_motor_is_curve(const struct sm_motor *motor)
{
    return motor->spec.is_curve;
}

static void describe_curve(const struct sm_motor *motor, struct sm_motor_facts *f)
{
    const struct sm_bare_curve *bare = &motor->spec.bare;
    f->source = bare->source;
    f->loaded_mass = bare->loaded_mass;
    f->case_bore = bare->diameter;
    f->case_length = bare->length;
    f->exit_diameter = bare->exit_diameter;
}

static void describe_grains(const struct sm_motor *motor, struct sm_motor_facts *f)
{
    const struct sm_motor_spec *spec = &motor->spec;
    struct sm_burn_law law;
    sm_burn_law_init(&law, &spec->propellant, spec->conditions.grain_temperature);
    f->propellant = spec->propellant.name;
    f->standing = sm_standing_words[spec->propellant.standing];
    f->source = spec->propellant.source;
    f->loaded_mass = motor->has_hardware ? motor->propellant_mass + motor->hardware.mass : SM_ABSENT;
    f->case_bore = spec->chamber.bore;
    f->case_length = spec->chamber.length;
    f->free_volume = motor->free_volume;
    f->throat_diameter = spec->nozzle.throat_diameter;
    f->exit_diameter = spec->nozzle.exit_diameter;
    f->cstar = motor->gas.cstar;
    f->gamma = motor->gas.gamma;
    f->density = spec->propellant.density;
    f->temperature_sensitivity = spec->propellant.temperature_sensitivity;
    f->burst_pressure = spec->chamber.burst_pressure;
    f->margin = spec->chamber.margin;
    f->web = motor->stack.web;
    f->burn_rate_reference = sm_burn_law_rate(&law, sm_burn_law_segment(&law, 1e6), 1e6, NULL);
    for (size_t i = 0; i < spec->n_grains; i++)
        f->n_grains += (size_t)spec->grains[i].count;
}

void sm_motor_describe(const struct sm_motor *motor, struct sm_motor_facts *facts)
{
    *facts = (struct sm_motor_facts){
        .propellant_mass = motor->propellant_mass,
        .loaded_mass = SM_ABSENT,
        .grain_temperature = motor->spec.conditions.grain_temperature,
        .coldest_temperature = motor->spec.conditions.coldest_temperature,
        .hottest_temperature = motor->spec.conditions.hottest_temperature,
        .temperature_sensitivity = SM_ABSENT,
        .burst_pressure = SM_ABSENT,
        .margin = SM_ABSENT,
        .ambient_pressure = motor->ambient,
        .free_volume = SM_ABSENT,
        .throat_diameter = SM_ABSENT,
        .exit_diameter = SM_ABSENT,
        .cstar = SM_ABSENT,
        .gamma = SM_ABSENT,
        .density = SM_ABSENT,
        .web = SM_ABSENT,
        .burn_rate_reference = SM_ABSENT,
    };
    if (motor->spec.is_curve)
        describe_curve(motor, facts);
    else
        describe_grains(motor, facts);
}

size_t sm_motor_grains(const struct sm_motor *motor)
{
    return motor->spec.n_grains;
}

/* The axial way of the front if only ends burn: it is then the web, whatever the bore. */
static double axial_way(const struct sm_grain_entry *entry, const struct sm_geometry *g)
{
    const unsigned ends = SM_FACE_FORE_END | SM_FACE_AFT_END;
    return (entry->common.burning & ~ends) == 0 ? g->web : SM_ABSENT;
}

void sm_motor_grain(const struct sm_motor *motor, size_t i, struct sm_grain_facts *facts)
{
    const struct sm_grain_entry *entry = &motor->spec.grains[i];
    const struct sm_geometry *g = &motor->geometry[i];
    struct sm_geometry_at start;
    struct sm_geometry_figures figures;
    sm_geometry_eval(g, 0.0, &start);
    sm_geometry_figures(g, &figures);
    *facts = (struct sm_grain_facts){
        .shape = entry->shape->name,
        .count = entry->count,
        .outer_diameter = entry->common.outer_diameter,
        .length = entry->common.length,
        .web = g->web,
        .mass = entry->count * start.value[SM_VOLUME] * motor->spec.propellant.density,
        .filling = figures.loading,
        .area_initial = figures.area_initial,
        .area_maximum = figures.area_maximum,
        .area_mean = figures.area_mean,
        .burning_length = axial_way(entry, g),
    };
}
