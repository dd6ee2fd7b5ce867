/* The figures of a result that people are shown: one table for terminal and pages. */
#include "base/fail.h"
#include "slowmatch/show.h"

#include <math.h>
#include <stddef.h>

#define FIGURE(start, name, d, field, text, compared)                                                        \
    {                                                                                                        \
        .group = start, .label = name, .dim = d, .offset = offsetof(struct sm_result, field), .note = text,  \
        .in_compare = compared                                                                               \
    }

/* A headline figure, with its one-sigma. */
#define HEADLINE(start, name, d, field, own, text)                                                           \
    {                                                                                                        \
        .group = start, .label = name, .dim = d, .offset = offsetof(struct sm_result, field),                \
        .sigma = offsetof(struct sm_result, one_sigma.figures.own), .note = text, .in_compare = true         \
    }

static const struct sm_shown_figure figures[] = {
    HEADLINE("thrust", "total impulse", SM_DIM_IMPULSE, thrust.total_impulse, total_impulse, NULL),
    HEADLINE(NULL, "burn time", SM_DIM_TIME, thrust.burn_time, burn_time,
             "from 5 % of maximum thrust to 5 %"),
    HEADLINE(NULL, "average", SM_DIM_FORCE, thrust.average, average, "total impulse over burn time"),
    FIGURE(NULL, "average in burn time", SM_DIM_FORCE, thrust.average_in_burn_time,
           "only what falls in the burn time", false),
    HEADLINE(NULL, "maximum", SM_DIM_FORCE, thrust.maximum, maximum, NULL),
    FIGURE(NULL, "maximum, steady", SM_DIM_FORCE, thrust.maximum_steady, "without an ignition spike", false),
    FIGURE(NULL, "initial", SM_DIM_FORCE, thrust.initial, "when the ignition rise, or its spike, is over",
           true),
    HEADLINE(NULL, "specific impulse", SM_DIM_TIME, thrust.specific_impulse, specific_impulse, NULL),
    {.label = "exhaust velocity",
     .offset = offsetof(struct sm_result, thrust.exhaust_velocity),
     .note = "total impulse over propellant mass",
     .is_velocity = true},
    FIGURE(NULL, "action time", SM_DIM_TIME, thrust.action_time, "from 10 % of maximum pressure to 10 %",
           false),
    HEADLINE("chamber", "maximum pressure", SM_DIM_PRESSURE, chamber.pressure_maximum, pressure_maximum,
             NULL),
    HEADLINE(NULL, "average pressure", SM_DIM_PRESSURE, chamber.pressure_average, pressure_average,
             "over the burn time"),
    FIGURE(NULL, "Kn at the start", SM_DIM_NONE, chamber.kn_initial, "burning area over throat area", true),
    FIGURE(NULL, "Kn, largest", SM_DIM_NONE, chamber.kn_maximum, NULL, true),
    FIGURE("grain", "propellant mass", SM_DIM_MASS, grain.mass, NULL, true),
    FIGURE(NULL, "web", SM_DIM_LENGTH, grain.web, "the thickest", true),
    FIGURE(NULL, "neutrality", SM_DIM_NONE, grain.neutrality, "largest over mean burning area", true),
    FIGURE(NULL, "sliver fraction", SM_DIM_NONE, grain.sliver_fraction,
           "of the propellant, left when the web is burned", false),
    FIGURE(NULL, "filling", SM_DIM_NONE, grain.filling, "share of the case taken by propellant", true),
    FIGURE(NULL, "port to throat", SM_DIM_NONE, grain.port_to_throat, "areas, at the start", true),
    FIGURE(NULL, "mass flux, largest", SM_DIM_MASS_FLUX, grain.mass_flux_maximum, "at the port's exit",
           false),
    FIGURE("along the port", "head-end pressure", SM_DIM_PRESSURE, axial.head_maximum, "at its peak", false),
    FIGURE(NULL, "aft pressure", SM_DIM_PRESSURE, axial.aft_maximum, "static, at its peak", false),
    FIGURE(NULL, "drop of pressure", SM_DIM_NONE, axial.drop, "largest, head end over aft less 1", false),
    FIGURE(NULL, "Mach number, largest", SM_DIM_NONE, axial.mach_maximum, "in a port", false),
    FIGURE(NULL, "at", SM_DIM_LENGTH, axial.mach_place, "from the head end", false),
    FIGURE(NULL, "burning, erosive", SM_DIM_NONE, axial.erosive_ratio,
           "times the rate by pressure alone, at most", false),
    FIGURE(NULL, "peak over lumped", SM_DIM_NONE, axial.peak_ratio, "times that of --model transient", false),
    FIGURE(NULL, "erosive peak", SM_DIM_NONE, axial.erosive_peak, "times lumped, with as much burned", false),
    FIGURE("end burner", "wall bared", SM_DIM_AREA, end_burner.bare_area, "of the case's side, by the end",
           false),
    FIGURE(NULL, "bare for", SM_DIM_TIME, end_burner.bare_longest, "its first part, by the end", false),
    FIGURE(NULL, "bare for, average", SM_DIM_TIME, end_burner.bare_mean, NULL, false),
    FIGURE(NULL, "droop of pressure", SM_DIM_NONE, end_burner.droop, "share lost by heat to the bare wall",
           false),
    FIGURE(NULL, "droop at 100 W/m2K", SM_DIM_NONE, end_burner.droop_low,
           "share of pressure lost, should the wall take it", false),
    FIGURE(NULL, "droop at 400 W/m2K", SM_DIM_NONE, end_burner.droop_high,
           "share of pressure lost, should the wall take it", false),
    FIGURE(NULL, "lead, wall or wire", SM_DIM_NONE, end_burner.ratio,
           "times the rate; beside a flat face:", false),
    FIGURE(NULL, "burning area", SM_DIM_NONE, end_burner.area_factor, "times, at most", false),
    FIGURE(NULL, "pressure", SM_DIM_NONE, end_burner.pressure_factor, "times, at most", false),
    FIGURE(NULL, "pressure, long grain", SM_DIM_NONE, end_burner.pressure_limit, "times, tended to", false),
    FIGURE(NULL, "burn time, if flat", SM_DIM_TIME, end_burner.burn_time_flat, NULL, false),
    FIGURE(NULL, "edge burned through", SM_DIM_TIME, end_burner.wall_front_time,
           "when its fire comes to the far end", false),
};

size_t sm_shown_list(const struct sm_shown_figure **list)
{
    *list = figures;
    return SM_COUNT(figures);
}

double sm_shown_value(const struct sm_shown_figure *figure, const struct sm_result *result)
{
    return *(const double *)(const void *)((const char *)result + figure->offset);
}

double sm_shown_sigma(const struct sm_shown_figure *figure, const struct sm_result *result)
{
    return figure->sigma ? *(const double *)(const void *)((const char *)result + figure->sigma)
                         : (double)NAN;
}

const char *sm_shown_text(char buf[SM_SHOW_TEXT], const struct sm_shown_figure *figure, double value,
                          enum sm_unit_system system)
{
    return figure->is_velocity ? sm_show_velocity(buf, value, system)
                               : sm_show_measure(buf, value, figure->dim, system);
}
