#include "ballistics/result.h"
#include "curve/impulse.h"

#include <math.h>

static const double gravity = 9.80665; /* standard acceleration of free fall [m/s2], CGPM 1901 */

static size_t ends_burning(unsigned faces)
{
    return (faces & SM_FACE_FORE_END ? 1u : 0u) + (faces & SM_FACE_AFT_END ? 1u : 0u);
}

/* A prism's section is its volume over what is left of its length, and the port is what the section leaves
 * free. */
static double port_of(const struct sm_grain_entry *entry, const struct sm_geometry *g, double w)
{
    const double length = g->length - (double)ends_burning(entry->common.burning) * w;
    const double whole =
        0.25 * 3.14159265358979323846 * entry->common.outer_diameter * entry->common.outer_diameter;
    if (w >= g->web || !(length > 0.0))
        return whole;
    struct sm_geometry_at at;
    sm_geometry_eval(g, w, &at);
    return fmax(g->port_area, whole - at.value[SM_VOLUME] / length);
}

static const struct sm_grain_entry *last_cored(const struct sm_motor *motor, size_t *place)
{
    for (size_t i = motor->spec.n_grains; i-- > 0;)
        if (motor->geometry[i].port_area > 0.0) {
            *place = i;
            return &motor->spec.grains[i];
        }
    return NULL;
}

double sm_port_area(const struct sm_motor *motor, double w)
{
    size_t i;
    const struct sm_grain_entry *entry = last_cored(motor, &i);
    return entry ? port_of(entry, &motor->geometry[i], w) : 0.0;
}

/* Largest mass flux at the exit of the last cored grain's port while it burns: all that leaves the nozzle is
 * taken to pass there, so gas from faces behind it counts too. */
static double flux_maximum(const struct sm_motor *motor, const struct sm_series *s)
{
    size_t place;
    if (!last_cored(motor, &place))
        return SM_ABSENT;
    double largest = 0.0;
    for (size_t i = 0; i < s->n; i++)
        if (s->web[i] < motor->geometry[place].web)
            largest = fmax(largest, s->mass_flow[i] / sm_port_area(motor, s->web[i]));
    return largest;
}

static double column_maximum(const double *y, size_t n)
{
    double largest = y[0];
    for (size_t i = 1; i < n; i++)
        largest = fmax(largest, y[i]);
    return largest;
}

static enum sm_status fill_grain(const struct sm_motor *motor, const struct sm_chamber *chamber,
                                 struct sm_run *run, struct sm_error *err)
{
    struct sm_grain_summary *g = &run->result.grain;
    const struct sm_geometry *stack = &motor->stack;
    struct sm_geometry_at start, sliver;
    sm_geometry_eval(stack, 0.0, &start);
    sm_geometry_eval(stack, stack->web_main, &sliver);
    double *webs = sm_arena_alloc(&run->arena, motor->spec.n_grains, sizeof *webs);
    if (!webs)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < motor->spec.n_grains; i++)
        webs[i] = motor->geometry[i].web;
    const double port = sm_port_area(motor, 0.0), volume = start.value[SM_VOLUME];
    const double bore = motor->spec.chamber.bore;
    *g = (struct sm_grain_summary){
        .mass = motor->propellant_mass,
        .web = stack->web,
        .webs = webs,
        .n_webs = motor->spec.n_grains,
        .sliver_fraction = stack->web_main < stack->web ? sliver.value[SM_VOLUME] / volume : 0.0,
        .neutrality =
            column_maximum(run->result.series.burn_area, run->result.series.n) * stack->web / volume,
        .filling = volume / (0.25 * 3.14159265358979323846 * bore * bore * motor->spec.chamber.length),
        .port_to_throat = port > 0.0 ? port / chamber->throat_area : SM_ABSENT,
        .mass_flux_maximum = run->result.series.mass_flux ? run->result.axial.mass_flux_maximum
                                                          : flux_maximum(motor, &run->result.series),
    };
    return SM_OK;
}

static void fill_chamber(const struct sm_motor *motor, const struct sm_curve_numbers *numbers,
                         struct sm_result *result)
{
    const struct sm_series *s = &result->series;
    result->chamber = (struct sm_chamber_summary){
        .pressure_maximum = numbers->pressure_maximum,
        .pressure_average = numbers->pressure_average,
        .kn_initial = s->kn[0],
        .kn_maximum = column_maximum(s->kn, s->n),
        .cstar_delivered = motor->gas.cstar,
        .throat_final = s->throat_diameter[s->n - 1],
    };
}

static void fill_thrust(const struct sm_curve_numbers *numbers, double propellant_mass, double total,
                        struct sm_thrust_summary *out)
{
    *out = (struct sm_thrust_summary){
        .total_impulse = total,
        .impulse_in_burn_time = numbers->impulse_in_burn_time,
        .burn_start = numbers->burn_start,
        .burn_time = numbers->burn_time,
        .action_time = numbers->action_time,
        .average = total / numbers->burn_time,
        .average_in_burn_time = numbers->average_in_burn_time,
        .maximum = numbers->maximum,
        .maximum_steady = numbers->maximum_steady,
        .initial = numbers->initial,
        .specific_impulse = total / (propellant_mass * gravity),
        .exhaust_velocity = total / propellant_mass,
    };
}

static void fill_none(struct sm_result *result)
{
    result->chamber = (struct sm_chamber_summary){
        .pressure_maximum = SM_ABSENT,
        .pressure_average = SM_ABSENT,
        .kn_initial = SM_ABSENT,
        .kn_maximum = SM_ABSENT,
        .cstar_delivered = SM_ABSENT,
        .throat_final = SM_ABSENT,
    };
    result->grain = (struct sm_grain_summary){
        .mass = result->propellant_mass,
        .web = SM_ABSENT,
        .sliver_fraction = SM_ABSENT,
        .neutrality = SM_ABSENT,
        .filling = SM_ABSENT,
        .port_to_throat = SM_ABSENT,
        .mass_flux_maximum = SM_ABSENT,
    };
}

enum sm_status sm_result_summarize(const struct sm_motor *motor, const struct sm_chamber *chamber,
                                   double total_impulse, struct sm_run *run, struct sm_error *err)
{
    struct sm_result *result = &run->result;
    const struct sm_series *s = &result->series;
    const struct sm_curve curve = {.time = s->time, .thrust = s->thrust, .pressure = s->pressure, .n = s->n};
    const struct sm_curve_rule rule = {.burn_end = result->burn_end,
                                       .ambient = chamber ? chamber->jet.ambient : 0.0};
    struct sm_curve_numbers numbers;
    SM_TRY(sm_curve_numbers(&curve, &rule, &numbers, err));
    const double total = isnan(total_impulse) ? numbers.total_impulse : total_impulse;
    result->propellant_mass = motor->propellant_mass;
    fill_thrust(&numbers, motor->propellant_mass, total, &result->thrust);
    fill_none(result);
    if (chamber) {
        fill_chamber(motor, &numbers, result);
        SM_TRY(fill_grain(motor, chamber, run, err));
    }
    sm_impulse_class_of(total, &result->impulse_class);
    const double delay = motor->spec.is_curve ? motor->spec.bare.delay : SM_ABSENT;
    sm_impulse_designation(&result->impulse_class, result->thrust.average, delay, result->designation,
                           sizeof result->designation);
    return SM_OK;
}
