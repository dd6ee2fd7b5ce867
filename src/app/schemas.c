/* JSON Schemas of the file formats, from the readers' own rows. */
#include "app/firing_schemas.h"
#include "app/grain_schema.h"
#include "app/lift_schema.h"
#include "app/needs_schema.h"
#include "app/sizing_schema.h"
#include "app/spread_schema.h"
#include "base/text.h"
#include "export/result_json.h"
#include "input/read_motor.h"
#include "input/read_propellant.h"
#include "input/read_record.h"
#include "input/read_tolerances.h"
#include "input/schema.h"
#include "slowmatch/catalog.h"
#include "slowmatch/lift.h"
#include "slowmatch/limits.h"
#include "slowmatch/simulate.h"

#include <string.h>

/* ---- motor ---- */

static void write_rows(struct sm_json_writer *w, const struct sm_param *rows, size_t n,
                       const char *description)
{
    const struct sm_schema_rows tables[] = {{rows, n}};
    sm_schema_object(w, description, tables, 1, NULL, 0);
}

static void write_case(struct sm_json_writer *w, const void *user)
{
    (void)user;
    write_rows(w, sm_case_params, sm_n_case_params, "The case, as the gas sees it.");
}

static void write_nozzle(struct sm_json_writer *w, const void *user)
{
    (void)user;
    write_rows(w, sm_nozzle_params, sm_n_nozzle_params, "The nozzle.");
}

static void write_hardware(struct sm_json_writer *w, const void *user)
{
    (void)user;
    write_rows(w, sm_hardware_params, sm_n_hardware_params,
               "All that is not propellant, as totals or as a list of parts.");
}

static void write_ignition(struct sm_json_writer *w, const void *user)
{
    (void)user;
    write_rows(w, sm_ignition_params, sm_n_ignition_params, "How it starts.");
}

static void write_conditions(struct sm_json_writer *w, const void *user)
{
    (void)user;
    write_rows(w, sm_conditions_params, sm_n_conditions_params, "Temperature and surroundings.");
}

static const struct sm_schema_property propellant_properties[] = {
    {"format", true, sm_schema_const, SM_PROPELLANT_FORMAT},
    {"tolerances", false, sm_schema_tolerances, NULL},
};

static void propellant_choice(struct sm_json_writer *w, size_t i, const void *user)
{
    static const char text[] = "a name among the shipped propellants, or the path of a file";
    const struct sm_schema_rows rows = {sm_propellant_params, sm_n_propellant_params};
    (void)user;
    if (i == 0)
        sm_schema_text(w, text);
    else
        sm_schema_object(w, NULL, &rows, 1, propellant_properties, SM_COUNT(propellant_properties));
}

static void write_propellant(struct sm_json_writer *w, const void *user)
{
    (void)user;
    sm_schema_one_of(w, 2, propellant_choice, NULL);
}

static void write_shape(struct sm_json_writer *w, size_t i, const void *user)
{
    const struct sm_shape *shape = sm_shape_list[i];
    const struct sm_schema_property name = {"shape", true, sm_schema_const, shape->name};
    const struct sm_schema_rows tables[] = {{sm_grain_common_params, sm_n_grain_common_params},
                                            {sm_grain_entry_params, sm_n_grain_entry_params},
                                            {shape->params, shape->n_params}};
    (void)user;
    sm_schema_object(w, shape->summary, tables, SM_COUNT(tables), &name, 1);
}

static void write_grain(struct sm_json_writer *w, const void *user)
{
    (void)user;
    sm_schema_one_of(w, sm_shape_count(), write_shape, NULL);
}

static void write_grains(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"grain", true, write_grain, NULL};
    (void)user;
    sm_schema_array(w, "From the head end to the nozzle.", 1, SM_MAX_GRAINS, &item);
}

/* Samples of a curve: a unit once, then bare numbers. */
static void write_samples(struct sm_json_writer *w, const void *user)
{
    sm_json_open_object(w);
    sm_json_member_string(w, "type", "object");
    sm_json_member_string(w, "description", user);
    sm_json_member_object(w, "properties");
    sm_json_member_object(w, "unit");
    sm_json_member_string(w, "type", "string");
    sm_json_close(w);
    sm_json_member_object(w, "values");
    sm_json_member_string(w, "type", "array");
    sm_json_member_whole(w, "minItems", 2);
    sm_json_member_object(w, "items");
    sm_json_member_string(w, "type", "number");
    sm_json_close(w);
    sm_json_close(w);
    sm_json_close(w);
    sm_json_member_array(w, "required");
    sm_json_put_string(w, "unit");
    sm_json_put_string(w, "values");
    sm_json_close(w);
    sm_json_member_bool(w, "additionalProperties", false);
    sm_json_close(w);
}

static void write_curve(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"time", false, write_samples, "times since ignition, with \"thrust\""},
        {"thrust", false, write_samples, "thrust at those times"},
        {"file", false, sm_schema_text, "a delimited text file beside this one, in place of time and thrust"},
        {"time_column", false, sm_schema_text, "name or number of its column of times"},
        {"thrust_column", false, sm_schema_text, "name or number of its column of thrusts"},
        {"time_unit", false, sm_schema_text, "unit of that column, s if neither this nor the header says"},
        {"thrust_unit", false, sm_schema_text, "unit of that column, N if neither this nor the header says"},
        {"delay", false, sm_schema_text, "delay of the ejection charge, as \"7 s\", or \"plugged\""},
        {"tolerances", false, sm_schema_tolerances, NULL},
    };
    const struct sm_schema_rows rows = {sm_bare_curve_params, sm_n_bare_curve_params};
    (void)user;
    sm_schema_object(w, "A motor given by its bare curve.", &rows, 1, properties, SM_COUNT(properties));
}

/* Which of these go together, grains or a curve, is told by the reader's own messages. */
static void write_motor_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, SM_MOTOR_FORMAT},
        {"name", true, sm_schema_text, "what it is called"},
        {"propellant", false, write_propellant, NULL},
        {"case", false, write_case, NULL},
        {"grains", false, write_grains, NULL},
        {"nozzle", false, write_nozzle, NULL},
        {"hardware", false, write_hardware, NULL},
        {"ignition", false, write_ignition, NULL},
        {"conditions", false, write_conditions, NULL},
        {"curve", false, write_curve, NULL},
        {"tolerances", false, sm_schema_tolerances, NULL},
    };
    sm_schema_document(w, id, "Slowmatch motor",
                       "A motor: either propellant, case, grains and nozzle, or a bare curve.", NULL, 0,
                       properties, SM_COUNT(properties));
}

static void write_propellant_document(struct sm_json_writer *w, const char *id)
{
    const struct sm_schema_rows rows = {sm_propellant_params, sm_n_propellant_params};
    sm_schema_document(w, id, "Slowmatch propellant", "A propellant as ballistic numbers.", &rows, 1,
                       propellant_properties, SM_COUNT(propellant_properties));
}

/* ---- result ---- */

/* A number, or one for each entry of "grains". */
static void write_webs(struct sm_json_writer *w, const void *user)
{
    (void)user;
    sm_json_open_object(w);
    sm_json_member_array(w, "type");
    sm_json_put_string(w, "number");
    sm_json_put_string(w, "array");
    sm_json_put_string(w, "null");
    sm_json_close(w);
    sm_json_close(w);
}

static void write_column(struct sm_json_writer *w, const void *user)
{
    sm_json_open_object(w);
    sm_json_member_array(w, "type");
    sm_json_put_string(w, "array");
    sm_json_put_string(w, "null");
    sm_json_close(w);
    sm_json_member_string(w, "description", user);
    sm_json_put_key(w, "items");
    sm_schema_number_or_null(w, NULL);
    sm_json_close(w);
}

static void write_series(struct sm_json_writer *w, const void *user)
{
    enum { MOST = 32, TEXT = 64 };
    struct sm_schema_property properties[MOST];
    char text[MOST][TEXT];
    const struct sm_column *columns;
    const size_t n = sm_column_list(&columns);
    (void)user;
    for (size_t i = 0; i < n; i++) {
        sm_text_format(text[i], TEXT, "%s, in %s", sm_dim_name(columns[i].dim), sm_dim_unit(columns[i].dim));
        /* The last eight are the whole motor's, absent without hardware, and the axial model's. */
        properties[i] = (struct sm_schema_property){columns[i].name, i + 8 < n, write_column, text[i]};
    }
    sm_schema_object(w, "Columns of one length, SI; null where the motor has no such thing.", NULL, 0,
                     properties, n);
}

static void write_figures(struct sm_json_writer *w, const char *description, const char *const *names,
                          size_t n)
{
    enum { MOST = 32 };
    struct sm_schema_property properties[MOST];
    for (size_t i = 0; i < n; i++)
        properties[i] = (struct sm_schema_property){names[i], true, sm_schema_number_or_null, NULL};
    sm_schema_object(w, description, NULL, 0, properties, n);
}

static void write_thrust_summary(struct sm_json_writer *w, const void *user)
{
    static const char *const names[] = {
        "total_impulse",    "impulse_in_burn_time", "burn_start", "burn_time",      "action_time",
        "average",          "average_in_burn_time", "maximum",    "maximum_steady", "initial",
        "specific_impulse", "exhaust_velocity"};
    (void)user;
    write_figures(w, "Thrust [N], impulse [N s], times [s], exhaust velocity [m/s].", names, SM_COUNT(names));
}

static void write_chamber_summary(struct sm_json_writer *w, const void *user)
{
    static const char *const names[] = {"pressure_maximum", "pressure_average", "kn_initial",
                                        "kn_maximum",       "cstar_delivered",  "throat_final"};
    (void)user;
    write_figures(w, "Pressures [Pa], c* [m/s], throat diameter [m]; null for a bare curve.", names,
                  SM_COUNT(names));
}

static void write_grain_summary(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"mass", true, sm_schema_number_or_null, NULL},
        {"web", true, write_webs, NULL},
        {"sliver_fraction", true, sm_schema_number_or_null, NULL},
        {"neutrality", true, sm_schema_number_or_null, NULL},
        {"filling", true, sm_schema_number_or_null, NULL},
        {"port_to_throat", true, sm_schema_number_or_null, NULL},
        {"mass_flux_maximum", true, sm_schema_number_or_null, NULL}};
    (void)user;
    sm_schema_object(w, "Propellant mass [kg], web [m], mass flux [kg m-2 s-1].", NULL, 0, properties,
                     SM_COUNT(properties));
}

static void write_end_burner_summary(struct sm_json_writer *w, const void *user)
{
    static const char *const names[] = {
        "ratio",     "area_factor",  "pressure_factor", "pressure_limit", "burn_time_flat", "wall_front_time",
        "bare_area", "bare_longest", "bare_mean",       "droop",          "droop_low",      "droop_high"};
    (void)user;
    write_figures(
        w,
        "Of a motor that burns from one end alone, else null: factors beside a flat face, times [s], "
        "bare wall [m2], falls of pressure by heat to the wall as shares.",
        names, SM_COUNT(names));
}

static void write_loss(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"name", true, sm_schema_text, "which loss; the first line is the ideal"},
        {"note", true, sm_schema_text, "what it is"},
        {"specific_impulse", true, sm_schema_number_or_null, NULL},
        {"loss", true, sm_schema_number_or_null, NULL}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void write_losses(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"loss", true, write_loss, NULL};
    (void)user;
    sm_schema_array(w, "From ideal to delivered specific impulse, line by line [s].", 0, 0, &item);
}

#define FIGURE_NAMES                                                                                         \
    "total_impulse", "burn_time", "average", "maximum", "specific_impulse", "pressure_maximum",              \
        "pressure_average"

/* Properties of its own, then the headline figures. */
static void write_with_figures(struct sm_json_writer *w, const char *description,
                               const struct sm_schema_property *own, size_t n_own)
{
    static const char *const figures[] = {FIGURE_NAMES};
    enum { MOST = 16 };
    struct sm_schema_property properties[MOST];
    for (size_t i = 0; i < n_own; i++)
        properties[i] = own[i];
    for (size_t i = 0; i < SM_COUNT(figures); i++)
        properties[n_own + i] = (struct sm_schema_property){figures[i], true, sm_schema_number_or_null, NULL};
    sm_schema_object(w, description, NULL, 0, properties, n_own + SM_COUNT(figures));
}

static void write_influence(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property own[] = {
        {"of", true, sm_schema_text, "JSON pointer to the value that strays"},
        {"batch", true, sm_schema_flag, "shared by motors of one batch"},
        {"value", true, sm_schema_number_or_null, NULL},
        {"sigma", true, sm_schema_number_or_null, NULL}};
    (void)user;
    write_with_figures(w, "What one standard deviation of it does to each figure, SI.", own, SM_COUNT(own));
}

static void write_influences(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"input", true, write_influence, NULL};
    (void)user;
    sm_schema_array(w, "One entry a value that strays.", 0, 0, &item);
}

static void write_one_sigma(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property own[] = {
        {"tolerances", true, sm_schema_text_or_null,
         "whose they are: the file's, or usual ones; null: not reckoned"},
        {"inputs", true, write_influences, NULL}};
    (void)user;
    write_with_figures(w, "One standard deviation of the headline figures [N s, s, N, N, s, Pa, Pa].", own,
                       SM_COUNT(own));
}

static void write_class_summary(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"letter", true, sm_schema_text, "impulse class"},
        {"upper_limit", true, sm_schema_number_or_null, NULL},
        {"margin", true, sm_schema_number_or_null, NULL},
        {"designation", true, sm_schema_text, "class, average thrust and delay; as predicted"}};
    (void)user;
    sm_schema_object(w, "Impulse class [N s].", NULL, 0, properties, SM_COUNT(properties));
}

static void write_numbers(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"number", true, sm_schema_number_or_null, NULL};
    sm_schema_array(w, user, 0, 0, &item);
}

static void write_profile(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"time", true, sm_schema_number_or_null, NULL},
        {"pressure", true, write_numbers, "static, in Pa; null where a station has burned away"},
        {"speed", true, write_numbers, "of the gas towards the nozzle, in m/s"},
        {"mach", true, write_numbers, "Mach number"},
        {"mass_flux", true, write_numbers, "in kg/m2s"},
        {"rate", true, write_numbers, "of burning, in m/s"},
        {"web", true, write_numbers, "distance burned, in m"}};
    (void)user;
    sm_schema_object(w, "The flow by station at one instant.", NULL, 0, properties, SM_COUNT(properties));
}

static void write_profiles(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"profile", true, write_profile, NULL};
    (void)user;
    sm_schema_array(w, "At the peak of head pressure, the largest Mach number, and 25, 50 and 75 % burned.",
                    0, 0, &item);
}

static void write_axial_summary(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"head_maximum", true, sm_schema_number_or_null, NULL},
        {"aft_maximum", true, sm_schema_number_or_null, NULL},
        {"drop", true, sm_schema_number_or_null, NULL},
        {"mach_maximum", true, sm_schema_number_or_null, NULL},
        {"mach_place", true, sm_schema_number_or_null, NULL},
        {"mach_time", true, sm_schema_number_or_null, NULL},
        {"mass_flux_maximum", true, sm_schema_number_or_null, NULL},
        {"mass_flux_place", true, sm_schema_number_or_null, NULL},
        {"erosive_ratio", true, sm_schema_number_or_null, NULL},
        {"peak_ratio", true, sm_schema_number_or_null, NULL},
        {"erosive_peak", true, sm_schema_number_or_null, NULL},
        {"volume_correction", true, sm_schema_number_or_null, NULL},
        {"place", true, write_numbers, "of the stations, from the head end, in m"},
        {"profiles", true, write_profiles, NULL}};
    (void)user;
    sm_schema_object(
        w,
        "Of the axial model alone: head-end and aft pressure [Pa], the first over the second less 1, Mach "
        "number, places [m], mass flux [kg/m2s], burning rate over that by pressure alone, head-end peak "
        "over the lumped chamber's, and the largest such "
        "ratio with as much propellant burned.",
        NULL, 0, properties, SM_COUNT(properties));
}

static void write_summary(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"thrust", true, write_thrust_summary, NULL}, {"chamber", true, write_chamber_summary, NULL},
        {"grain", true, write_grain_summary, NULL},   {"end_burner", true, write_end_burner_summary, NULL},
        {"losses", true, write_losses, NULL},         {"one_sigma", true, write_one_sigma, NULL},
        {"axial", false, write_axial_summary, NULL},  {"class", true, write_class_summary, NULL}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void write_warning(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"code", true, sm_schema_text, "which warning"},
        {"text", true, sm_schema_text, "what, and what to do"},
        {"pointer", true, sm_schema_text, "the value best changed"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void write_warnings(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"warning", true, write_warning, NULL};
    (void)user;
    sm_schema_array(w, "What is doubtful.", 0, 0, &item);
}

static void write_end(struct sm_json_writer *w, const void *user)
{
    (void)user;
    sm_json_open_object(w);
    sm_json_member_array(w, "type");
    sm_json_put_string(w, "string");
    sm_json_put_string(w, "null");
    sm_json_close(w);
    sm_json_close(w);
}

static void write_statistics(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"steps", true, sm_schema_number_or_null, NULL},
        {"rejected", true, sm_schema_number_or_null, NULL},
        {"mass_residual", true, sm_schema_number_or_null, NULL},
        {"accuracy", true, sm_schema_number_or_null, NULL},
        {"end", true, write_end, NULL}};
    (void)user;
    sm_schema_object(w, "How the march went.", NULL, 0, properties, SM_COUNT(properties));
}

static void write_provenance(struct sm_json_writer *w, const void *user)
{
    enum { MOST = 16 };
    struct sm_schema_property properties[MOST];
    const struct sm_provenance_key *keys;
    const size_t n = sm_provenance_keys(&keys);
    (void)user;
    for (size_t i = 0; i < n; i++)
        properties[i] = (struct sm_schema_property){
            keys[i].key, false, keys[i].is_text ? sm_schema_text : sm_schema_number_or_null,
            keys[i].is_text ? keys[i].meaning : NULL};
    sm_schema_object(w, "Where it comes from: written by export, not by burn --json. All numbers SI.", NULL,
                     0, properties, n);
}

static void write_result_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, "slowmatch-result/1"},
        {"motor", true, sm_schema_text, "name of the motor"},
        {"grain_temperature", true, sm_schema_number_or_null, NULL},
        {"complete", true, sm_schema_flag, "false if it was stopped before its end"},
        {"standing", true, sm_schema_text, "what the numbers are worth"},
        {"model", true, sm_schema_text, "transient, equilibrium, axial or curve"},
        {"burn_end", true, sm_schema_text, "last or contiguous: which fall through 5 % ends the burn"},
        {"provenance", false, write_provenance, NULL},
        {"summary", true, write_summary, NULL},
        {"warnings", true, write_warnings, NULL},
        {"statistics", true, write_statistics, NULL},
        {"series", true, write_series, NULL},
    };
    sm_schema_document(w, id, "Slowmatch result",
                       "What burn --json and export --to json write: all numbers SI.", NULL, 0, properties,
                       SM_COUNT(properties));
}

/* ---- by name ---- */

static void write_stand_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property format = {"format", true, sm_schema_const, SM_STAND_FORMAT};
    const struct sm_schema_rows rows = {sm_stand_params, sm_n_stand_params};
    sm_schema_document(w, id, "Slowmatch stand", "What a test stand's records hold, and what the stand is.",
                       &rows, 1, &format, 1);
}

static void write_vehicle_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property format = {"format", true, sm_schema_const, SM_VEHICLE_FORMAT};
    struct sm_schema_rows rows;
    rows.n_rows = sm_vehicle_rows(&rows.rows);
    sm_schema_document(w, id, "Slowmatch vehicle",
                       "What is lifted, by which motors, and how they may be tilted apart.", &rows, 1,
                       &format, 1);
}

static const char *const names[] = {
    "slowmatch-motor",   "slowmatch-propellant", "slowmatch-result", "slowmatch-stand", "slowmatch-spread",
    "slowmatch-vehicle", "slowmatch-firing",     "slowmatch-fit",    "slowmatch-grain", "slowmatch-request",
    "slowmatch-sizing",  "slowmatch-trade",      "slowmatch-lift",   "slowmatch-needs", NULL};
static void (*const writers[])(struct sm_json_writer *w, const char *id) = {
    write_motor_document,       write_propellant_document, write_result_document,
    write_stand_document,       sm_schema_spread_document, write_vehicle_document,
    sm_schema_firing_document,  sm_schema_fit_document,    sm_schema_grain_document,
    sm_schema_request_document, sm_schema_sizing_document, sm_schema_trade_document,
    sm_schema_lift_document,    sm_schema_needs_document};

const char *const *sm_schema_names(void)
{
    return names;
}

enum sm_status sm_schema_write(const char *name, struct sm_sink *sink, struct sm_error *err)
{
    const char *near = sm_nearest_name(name, names);
    for (size_t i = 0; names[i]; i++)
        if (strcmp(names[i], name) == 0) {
            struct sm_json_writer w;
            sm_json_write_init(&w, sink);
            writers[i](&w, name);
            return sm_json_write_end(&w, err);
        }
    return sm_fail(err, SM_E_FIELD, "there is no schema \"%.60s\"%s%s%s ('slowmatch schema' lists them)",
                   name, near ? "; did you mean \"" : "", near ? near : "", near ? "\"?" : "");
}
