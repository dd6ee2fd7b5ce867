#include "figures.h"
#include "terminal.h"

#include <stddef.h>
#include <string.h>

#define AT(field) offsetof(struct sm_result, field)

const struct cli_figure cli_figures[] = {
    {"thrust", "total impulse", SM_DIM_IMPULSE, AT(thrust.total_impulse), NULL, true},
    {NULL, "burn time", SM_DIM_TIME, AT(thrust.burn_time), "5 % of maximum thrust to 5 %", true},
    {NULL, "average", SM_DIM_FORCE, AT(thrust.average), "total impulse over burn time", true},
    {NULL, "average in burn time", SM_DIM_FORCE, AT(thrust.average_in_burn_time), NULL, false},
    {NULL, "maximum", SM_DIM_FORCE, AT(thrust.maximum), NULL, true},
    {NULL, "maximum, steady", SM_DIM_FORCE, AT(thrust.maximum_steady), "without an ignition spike", false},
    {NULL, "initial", SM_DIM_FORCE, AT(thrust.initial), NULL, true},
    {NULL, "specific impulse", SM_DIM_TIME, AT(thrust.specific_impulse), NULL, true},
    {NULL, "exhaust velocity", SM_DIM_NONE, AT(thrust.exhaust_velocity),
     "m/s, total impulse over propellant mass", false},
    {NULL, "action time", SM_DIM_TIME, AT(thrust.action_time), "10 % of maximum pressure to 10 %", false},
    {"chamber", "maximum pressure", SM_DIM_PRESSURE, AT(chamber.pressure_maximum), NULL, true},
    {NULL, "average pressure", SM_DIM_PRESSURE, AT(chamber.pressure_average), NULL, true},
    {NULL, "Kn at the start", SM_DIM_NONE, AT(chamber.kn_initial), "burning area over throat area", true},
    {NULL, "Kn, largest", SM_DIM_NONE, AT(chamber.kn_maximum), NULL, true},
    {"grain", "propellant mass", SM_DIM_MASS, AT(grain.mass), NULL, true},
    {NULL, "web", SM_DIM_LENGTH, AT(grain.web), "the thickest", true},
    {NULL, "neutrality", SM_DIM_NONE, AT(grain.neutrality), "largest over mean burning area", true},
    {NULL, "sliver fraction", SM_DIM_NONE, AT(grain.sliver_fraction), NULL, false},
    {NULL, "filling", SM_DIM_NONE, AT(grain.filling), "of the case", true},
    {NULL, "port to throat", SM_DIM_NONE, AT(grain.port_to_throat), "areas, at the start", true},
    {NULL, "mass flux, largest", SM_DIM_MASS_FLUX, AT(grain.mass_flux_maximum), "at the port's exit", false},
    {"end burner", "wall bare", SM_DIM_AREA, AT(end_burner.bare_area),
     "of the case's side, when all is burned", false},
    {NULL, "bare for", SM_DIM_TIME, AT(end_burner.bare_longest), "its first part", false},
    {NULL, "bare for, on average", SM_DIM_TIME, AT(end_burner.bare_mean), NULL, false},
    {NULL, "droop of pressure", SM_DIM_NONE, AT(end_burner.droop), "share of it, by heat to the bare wall",
     false},
    {NULL, "droop, if", SM_DIM_NONE, AT(end_burner.droop_low),
     "share of the pressure, the wall takes 100 W/m2K", false},
    {NULL, "droop, if", SM_DIM_NONE, AT(end_burner.droop_high),
     "share of the pressure, the wall takes 400 W/m2K", false},
    {NULL, "fire runs ahead", SM_DIM_NONE, AT(end_burner.ratio),
     "times the rate; what follows is beside a flat face", false},
    {NULL, "area", SM_DIM_NONE, AT(end_burner.area_factor), "times, at most", false},
    {NULL, "pressure", SM_DIM_NONE, AT(end_burner.pressure_factor), "times, at most", false},
    {NULL, "it tends to", SM_DIM_NONE, AT(end_burner.pressure_limit), "times, in a long grain", false},
    {NULL, "burn time if flat", SM_DIM_TIME, AT(end_burner.burn_time_flat), NULL, false},
    {NULL, "wall burned through", SM_DIM_TIME, AT(end_burner.wall_front_time),
     "when its fire comes to the far end", false},
};
const size_t cli_n_figures = sizeof cli_figures / sizeof cli_figures[0];

double cli_figure_value(const struct cli_figure *figure, const struct sm_result *result)
{
    return *(const double *)(const void *)((const char *)result + figure->offset);
}

const char *const cli_caution = "Predicted, not measured; it does not certify. Follow the law where you are, "
                                "the codes that apply and your range's "
                                "safety officer, and never stand near a test.";

/* Each source once, with what it is worth if it was not read itself. */
static void print_sources(const struct sm_rule_finding *found, size_t n)
{
    char text[4096] = "Sources: ";
    size_t used = strlen(text), n_put = 0;
    for (size_t i = 0; i < n; i++) {
        bool is_new = found[i].source != NULL;
        for (size_t j = 0; j < i && is_new; j++)
            is_new = !found[j].source || strcmp(found[i].source, found[j].source) != 0;
        if (!is_new || used + strlen(found[i].source) + 32 > sizeof text)
            continue;
        const bool is_published = strcmp(found[i].standing, "published") == 0;
        used += (size_t)snprintf(text + used, sizeof text - used, "%s%s%s%s%s", n_put++ > 0 ? "; " : "",
                                 found[i].source, is_published ? "" : " [",
                                 is_published ? "" : found[i].standing, is_published ? "" : "]");
    }
    cli_wrap(stdout, text, 2, 100);
}

void cli_print_guidance(const struct sm_rule_case *c)
{
    struct sm_rule_finding found[SM_MAX_FINDINGS];
    const size_t n = sm_rules_judge(c, found);
    puts("\nlevels and limits, as guidance");
    for (size_t i = 0; i < n; i++)
        cli_wrap(stdout, found[i].text, 2, 100);
    print_sources(found, n);
}
