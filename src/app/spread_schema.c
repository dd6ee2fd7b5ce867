#include "app/spread_schema.h"

#include "input/schema.h"
#include "slowmatch/spread.h"

static void column(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"value", true, sm_schema_number_or_null, NULL};
    sm_schema_array(w, user, 0, 0, &item);
}

static void columns(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"percentile", true, column, NULL};
    sm_schema_array(w, user, SM_SPREAD_LEVELS, SM_SPREAD_LEVELS, &item);
}

static void reasons(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"reason", true, sm_schema_text, "which sample, and why"};
    sm_schema_array(w, user, 0, SM_SPREAD_MAX_REASONS, &item);
}

static void samples(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"asked", true, sm_schema_whole, "in all"},
        {"done", true, sm_schema_whole, "burned, whatever came out"},
        {"impossible", true, sm_schema_whole, "of these, motors that can't be or have no answer"},
        {"seed", true, sm_schema_text, "a whole number of 64 bits, in decimal"},
        {"reasons", true, reasons, "why the first impossible ones are so"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void input(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"of", true, sm_schema_text,
         "JSON pointer to the value that strays, or words for what belongs to none"},
        {"motor", true, sm_schema_whole, "of a pair: 1 or 2; 0: both alike"},
        {"value", true, sm_schema_number_or_null, "as the motor has it, SI"},
        {"sigma", true, sm_schema_number_or_null, "its standard deviation, SI"},
        {"points", true, sm_schema_text, "sobol or latin"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void inputs(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"input", true, input, NULL};
    sm_schema_array(w, user, 0, 0, &item);
}

static void distribution(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"samples", true, sm_schema_whole, "that have it"},
        {"mean", true, sm_schema_number_or_null, NULL},
        {"mean_error", true, sm_schema_number_or_null, "standard error of the mean"},
        {"deviation", true, sm_schema_number_or_null, "standard deviation"},
        {"minimum", true, sm_schema_number_or_null, NULL},
        {"maximum", true, sm_schema_number_or_null, NULL},
        {"percentiles", true, column, "at the shares that bands name"},
        {"errors", true, column, "standard error of each, as of independent samples"}};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void distributions(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"total_impulse", true, distribution, "[N s]"},
        {"burn_time", true, distribution, "[s]"},
        {"average", true, distribution, "thrust over the burn time [N]"},
        {"maximum", true, distribution, "thrust [N]"},
        {"pressure_maximum", false, distribution, "[Pa]"},
        {"ignition", true, distribution, "when thrust exceeds 5 % of its maximum [s]"},
        {"burnout", true, distribution, "when it falls below that [s]"},
        {"impulse_difference", false, distribution, "of a pair, first less second [N s]"},
        {"ignition_difference", false, distribution, "[s]"},
        {"burnout_difference", false, distribution, "[s]"},
        {"thrust_difference_maximum", false, distribution, "largest size [N]"},
        {"lateral_force_maximum", false, distribution, "largest size [N]"},
        {"moment_maximum", false, distribution, "largest size [N m]"},
        {"alone_at_ignition", false, distribution, "how long one pushes while the other does not yet [s]"},
        {"alone_at_burnout", false, distribution, "or no longer [s]"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void chance(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"what", true, sm_schema_text, "what may come"},
        {"limit", true, sm_schema_number_or_null, "[N s] or [Pa]"},
        {"probability", true, sm_schema_number_or_null, "share of the samples"},
        {"error", true, sm_schema_number_or_null,
         "standard error; where all or none came, how far off it is at most, with 95 % "
         "confidence"}};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void chances(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"chance", true, chance, NULL};
    sm_schema_array(w, user, 0, 0, &item);
}

static void pair_choice(struct sm_json_writer *w, size_t i, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"spacing", true, sm_schema_number_or_null, "between the nozzles [m]"},
        {"splay", true, sm_schema_number_or_null, "of each thrust outwards [rad]"},
        {"arm", true, sm_schema_number_or_null, "from the nozzles to the centre of mass at ignition [m]"},
        {"arm_empty", true, sm_schema_number_or_null, "when all is burned [m]"},
        {"temperature_difference", true, sm_schema_number_or_null, "by which the second grain is hotter [K]"},
        {"ignition_scatter", true, sm_schema_number_or_null, "of each igniter [s]"},
        {"neutral_splay", true, sm_schema_number_or_null,
         "at which a mismatch makes no moment at ignition [rad]"},
        {"neutral_splay_empty", true, sm_schema_number_or_null, "when all is burned [rad]"},
        {"moment_arm", true, sm_schema_number_or_null, "of a difference of thrusts at ignition [m]"},
        {"moment_arm_empty", true, sm_schema_number_or_null, "when all is burned [m]"},
        {"single_thrust", true, sm_schema_number_or_null, "of one motor while the other is out [N]"},
        {"single_lateral_force", true, sm_schema_number_or_null, "[N]"},
        {"single_moment", true, sm_schema_number_or_null, "at ignition [N m]"},
        {"single_moment_empty", true, sm_schema_number_or_null, "when all is burned [N m]"}};
    (void)user;
    if (i == 0)
        sm_schema_null(w, "a single motor");
    else
        sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void pair(struct sm_json_writer *w, const void *user)
{
    sm_schema_one_of(w, 2, pair_choice, user);
}

static void indices(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"first", true, sm_schema_number_or_null, "first-order Sobol index"},
        {"first_error", true, sm_schema_number_or_null, "its standard error"},
        {"total", true, sm_schema_number_or_null, "total Sobol index"},
        {"total_error", true, sm_schema_number_or_null, "its standard error"},
        {"elasticity", true, sm_schema_number_or_null, "per cent a per cent"}};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void sensitivity_row(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"of", true, sm_schema_text, "JSON pointer"},
        {"total_impulse", true, indices, NULL},
        {"burn_time", true, indices, NULL},
        {"peak", true, indices, "of pressure; of thrust for a bare curve"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void sensitivity_choice(struct sm_json_writer *w, size_t i, const void *user)
{
    const struct sm_schema_property item = {"input", true, sensitivity_row, NULL};
    (void)user;
    if (i == 0)
        sm_schema_null(w, "not asked for");
    else
        sm_schema_array(w, NULL, 0, 0, &item);
}

static void sensitivity(struct sm_json_writer *w, const void *user)
{
    sm_schema_one_of(w, 2, sensitivity_choice, user);
}

static void bands(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"percent", true, column, "which percentiles, of bands and distributions alike"},
        {"time", true, column, "[s]"},
        {"thrust", true, columns, "[N], one column a percentile"},
        {"pressure", false, columns, "[Pa]"},
        {"thrust_difference", false, columns, "[N]"},
        {"moment", false, columns, "[N m]"},
        {"lateral_force", false, columns, "[N]"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

void sm_schema_spread_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, "slowmatch-spread/1"},
        {"motor", true, sm_schema_text, "name of the motor"},
        {"complete", true, sm_schema_flag, "false if it was stopped before its end"},
        {"standing", true, sm_schema_text, "what the numbers are worth"},
        {"tolerances", true, sm_schema_text, "file, or usual if the file gives none"},
        {"samples", true, samples, NULL},
        {"inputs", true, inputs, "what strays, in the order of the points' columns"},
        {"distributions", true, distributions, NULL},
        {"classes", true, chances, "impulse classes that came, the likeliest first"},
        {"border", true, chance, "passing the upper limit of the nominal motor's class"},
        {"exceeding", true, chances, "pressures"},
        {"pair", true, pair, NULL},
        {"sensitivity", true, sensitivity, NULL},
        {"bands", true, bands, NULL}};
    sm_schema_document(w, id, "Slowmatch spread",
                       "What spread --json and merge --json write: all numbers SI.", NULL, 0, properties,
                       SM_COUNT(properties));
}
