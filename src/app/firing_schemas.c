/* JSON Schemas of what firing and fit write. */
#include "app/firing_schemas.h"
#include "input/schema.h"
#include "slowmatch/firing.h"
#include "slowmatch/fit.h"

static void write_any(struct sm_json_writer *w, const void *user)
{
    sm_json_open_object(w);
    sm_json_member_string(w, "description", user);
    sm_json_close(w);
}

static void write_array(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"item", true, write_any, "see the header slowmatch/firing.h"};
    sm_schema_array(w, user, 0, 0, &item);
}

/* Each figure with its uncertainty, or null where there is none. */
static void write_figure(struct sm_json_writer *w, size_t i, const void *user)
{
    static const struct sm_schema_property value[] = {
        {"value", true, sm_schema_number_or_null, "SI"},
        {"uncertainty", true, sm_schema_number_or_null, "standard, SI"}};
    (void)user;
    if (i == 0) {
        sm_schema_object(w, "A figure.", NULL, 0, value, SM_COUNT(value));
        return;
    }
    sm_schema_null(w, NULL);
}

static void write_figure_or_null(struct sm_json_writer *w, const void *user)
{
    (void)user;
    sm_schema_one_of(w, 2, write_figure, NULL);
}

static void write_figures(struct sm_json_writer *w, const void *user)
{
    struct sm_schema_property properties[SM_N_FIGURES];
    for (enum sm_firing_figure k = 0; k < SM_N_FIGURES; k++)
        properties[k] =
            (struct sm_schema_property){sm_figure_describe(k)->name, true, write_figure_or_null, NULL};
    sm_schema_object(w, user, NULL, 0, properties, SM_N_FIGURES);
}

static void write_firing(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"record", true, sm_schema_text, "the file"},
        {"figures", true, write_figures, "By the standards' definitions."},
        {"class", true, write_any,
         "impulse class, designation, and the chances that the true one is another"},
        {"reduction", true, write_any, "windows, levels, low-pass: how the figures came about"},
        {"residual", false, sm_schema_number_or_null,
         "root mean square of what is left beside the prediction, N"},
        {"notes", true, write_array, "what is doubtful, with its line"},
        {"series", true, write_any, "time, thrust, filtered thrust and pressure, from the start of the burn"},
    };
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void write_firings(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"firing", true, write_firing, NULL};
    sm_schema_array(w, user, 1, 0, &item);
}

void sm_schema_firing_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, "slowmatch-firing/1"},
        {"firings", true, write_firings, "one for each record"},
        {"spread", true, write_any, "of several firings: mean, deviation, outlier, band; else null"},
        {"predicted", true, write_any, "the prediction's figures; null without --against"},
    };
    sm_schema_document(w, id, "Slowmatch firing", "What firing --json writes: all numbers SI.", NULL, 0,
                       properties, SM_COUNT(properties));
}

static void write_value(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"before", true, sm_schema_number_or_null, "the motor's own"},
        {"value", true, sm_schema_number_or_null, "fitted"},
        {"uncertainty", true, sm_schema_number_or_null, "standard, from the scatter about the fit"},
        {"calibration", true, sm_schema_number_or_null, "standard, from the gains"},
        {"low", true, sm_schema_number_or_null, "95 % interval from the scatter"},
        {"high", true, sm_schema_number_or_null, "its upper end"}};
    (void)user;
    sm_schema_object(w, NULL, NULL, 0, properties, SM_COUNT(properties));
}

static void write_values(struct sm_json_writer *w, const void *user)
{
    struct sm_schema_property properties[SM_N_FIT_PARAMETERS];
    for (size_t i = 0; i < SM_N_FIT_PARAMETERS; i++)
        properties[i] = (struct sm_schema_property){sm_fit_names()[i], false, write_value, NULL};
    sm_schema_object(w, user, NULL, 0, properties, SM_N_FIT_PARAMETERS);
}

void sm_schema_fit_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, "slowmatch-fit/1"},
        {"motor", true, sm_schema_text, "name of the motor"},
        {"complete", true, sm_schema_flag, "false if it was stopped before all searches came to their end"},
        {"values", true, write_values, "what was fitted"},
        {"correlation", true, write_array, "of the values, row by row"},
        {"is_separable", true, write_any, "can the firings tell the values from one another?"},
        {"condition", true, sm_schema_number_or_null, "of the slopes"},
        {"rate_pressure", true, sm_schema_number_or_null, "where the rate is known best, Pa"},
        {"rate", true, sm_schema_number_or_null, "there, m/s"},
        {"rate_uncertainty", true, sm_schema_number_or_null, "standard, from the scatter, m/s"},
        {"rate_calibration", true, sm_schema_number_or_null,
         "what gains off by their standard uncertainty do to it, m/s"},
        {"starts", true, sm_schema_number_or_null, "searches"},
        {"starts_agreed", true, sm_schema_number_or_null, "that ended alike"},
        {"advice", true, write_any, "what the firings can't tell, or null"},
        {"firings", true, write_array, "how the fit goes with each"},
    };
    sm_schema_document(w, id, "Slowmatch fit", "What fit --json writes: all numbers SI.", NULL, 0, properties,
                       SM_COUNT(properties));
}
