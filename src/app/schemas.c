/* JSON Schemas of the file formats, from the readers' own rows. */
#include "input/read_motor.h"
#include "input/read_propellant.h"
#include "input/schema.h"
#include "slowmatch/catalog.h"
#include "slowmatch/limits.h"

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

/* ---- by name ---- */

static const char *const names[] = {"slowmatch-motor", "slowmatch-propellant", NULL};
static void (*const writers[])(struct sm_json_writer *w, const char *id) = {write_motor_document,
                                                                            write_propellant_document};

const char *const *sm_schema_names(void)
{
    return names;
}

enum sm_status sm_schema_write(const char *name, struct sm_sink *sink, struct sm_error *err)
{
    for (size_t i = 0; names[i]; i++)
        if (strcmp(names[i], name) == 0) {
            struct sm_json_writer w;
            sm_json_write_init(&w, sink);
            writers[i](&w, name);
            return sm_json_write_end(&w, err);
        }
    return sm_fail(err, SM_E_FIELD,
                   "there is no schema \"%.60s\"; there are slowmatch-motor and slowmatch-propellant", name);
}
