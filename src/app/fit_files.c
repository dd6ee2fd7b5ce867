/* A fit as JSON, and its propellant as a file of its own. */
#include "base/text.h"
#include "doc/json_write.h"
#include "motor/motor.h"
#include "slowmatch/fit.h"

#include <math.h>

/* A quantity as files have it: a text with its SI unit, a bare number where it has no dimension. */
static void put_quantity(struct sm_json_writer *w, double si, enum sm_dim dim)
{
    char number[SM_DOUBLE_TEXT], text[SM_DOUBLE_TEXT + 32];
    if (dim == SM_DIM_NONE) {
        sm_json_put_number(w, si);
        return;
    }
    sm_text_format(text, sizeof text, "%s %s", sm_text_double(number, si), sm_dim_unit(dim));
    sm_json_put_string(w, text);
}

static void put_rows(struct sm_json_writer *w, const struct sm_param *rows, size_t n, const void *block);

static void put_list(struct sm_json_writer *w, const struct sm_param *row, const struct sm_list *list)
{
    sm_json_open_array(w);
    for (size_t i = 0; i < list->n; i++) {
        sm_json_open_object_row(w);
        put_rows(w, row->rows, row->n_rows, (const char *)list->items + i * row->row_size);
        sm_json_close(w);
    }
    sm_json_close(w);
}

/* A record all of whose quantities are absent was not given. */
static int is_given(const struct sm_param *row, const char *at)
{
    for (size_t i = 0; i < row->n_rows; i++)
        if (row->rows[i].kind == SM_QUANTITY &&
            !isnan(*(const double *)(const void *)(at + row->rows[i].offset)))
            return 1;
    return 0;
}

/* Every row that is given, but for texts of NULL; a reader of the same rows gets the same block. */
static void put_rows(struct sm_json_writer *w, const struct sm_param *rows, size_t n, const void *block)
{
    for (size_t i = 0; i < n; i++) {
        const struct sm_param *row = &rows[i];
        const void *at = (const char *)block + row->offset;
        if (row->kind == SM_QUANTITY && !isnan(*(const double *)at)) {
            sm_json_put_key(w, row->name);
            put_quantity(w, *(const double *)at, row->dim);
        } else if (row->kind == SM_WHOLE) {
            sm_json_member_whole(w, row->name, *(const int *)at);
        } else if (row->kind == SM_CHOICE && *(const int *)at >= 0) {
            sm_json_member_string(w, row->name, row->words[*(const int *)at]);
        } else if (row->kind == SM_TEXT && *(const char *const *)at) {
            sm_json_member_string(w, row->name, *(const char *const *)at);
        } else if (row->kind == SM_LIST && ((const struct sm_list *)at)->n > 0) {
            sm_json_put_key(w, row->name);
            put_list(w, row, at);
        } else if (row->kind == SM_RECORD && is_given(row, at)) {
            sm_json_put_key(w, row->name);
            sm_json_open_object(w);
            put_rows(w, row->rows, row->n_rows, at);
            sm_json_close(w);
        }
    }
}

/*
 * Is the law written with its rate at the pressure where that is known best? There rate and exponent stray by themselves, as
 * tolerances do; anywhere else each would be given what the two make up for together.
 */
static bool is_at_best(const struct sm_fit *fit)
{
    const double least = 1e3, most = 1e8; /* what a file may give as "at" [Pa] */
    bool has_exponent = false;
    for (size_t j = 0; j < fit->n_values; j++)
        has_exponent = has_exponent || fit->values[j].parameter == SM_FIT_EXPONENT;
    return has_exponent && fit->rate > 0.0 && fit->rate_pressure > least && fit->rate_pressure < most;
}

/* A value as the propellant's file has it. */
static struct sm_fit_value as_written(const struct sm_fit *fit, size_t j)
{
    struct sm_fit_value v = fit->values[j];
    if (v.parameter == SM_FIT_RATE && is_at_best(fit)) {
        v.value = fit->rate;
        v.uncertainty = fit->rate_uncertainty;
        v.calibration = fit->rate_calibration;
    }
    return v;
}

/* "rate 0.004501 +- 0.000003 m/s, ...". */
static void describe(const struct sm_fit *fit, char *text, size_t size)
{
    size_t n = 0;
    text[0] = '\0';
    for (size_t j = 0; j < fit->n_values && n < size; j++) {
        const struct sm_fit_value written = as_written(fit, j), *const v = &written;
        n += (size_t)sm_text_format(text + n, size - n, "%s%s %.5g", j > 0 ? ", " : "",
                                    sm_fit_names()[v->parameter], v->value);
        if (!isnan(v->uncertainty) && n < size)
            n +=
                (size_t)sm_text_format(text + n, size - n, " +- %.2g", hypot(v->uncertainty, v->calibration));
        if (v->dim != SM_DIM_NONE && n < size)
            n += (size_t)sm_text_format(text + n, size - n, " %s", sm_dim_unit(v->dim));
        if (v->parameter == SM_FIT_RATE && is_at_best(fit) && n < size)
            n += (size_t)sm_text_format(text + n, size - n, " at %.4g MPa", 1e-6 * fit->rate_pressure);
    }
}

static void put_tolerance(struct sm_json_writer *w, const struct sm_fit_value *v)
{
    static const char *const pointers[SM_N_FIT_PARAMETERS] = {
        [SM_FIT_RATE] = "/burn_rate/0/rate",
        [SM_FIT_EXPONENT] = "/burn_rate/0/exponent",
        [SM_FIT_CSTAR] = "/cstar_efficiency",
        [SM_FIT_SENSITIVITY] = "/temperature_sensitivity",
    };
    if (!pointers[v->parameter] || isnan(v->uncertainty))
        return;
    sm_json_open_object_row(w);
    sm_json_member_string(w, "of", pointers[v->parameter]);
    sm_json_put_key(w, "normal");
    put_quantity(w, hypot(v->uncertainty, v->calibration), v->dim);
    sm_json_member_bool(w, "batch", true);
    sm_json_close(w);
}

enum sm_status sm_fit_write_propellant(const struct sm_fit *fit, const char *name, struct sm_sink *sink,
                                       struct sm_error *err)
{
    struct sm_propellant propellant = fit->motor->spec.propellant;
    struct sm_json_writer w;
    char text[512], source[900];
    struct sm_burn_segment segment = *(const struct sm_burn_segment *)propellant.burn_rate.items;
    if (is_at_best(fit)) { /* of a law of one segment: no other has its exponent fitted */
        segment.at = fit->rate_pressure;
        segment.rate = fit->rate;
        propellant.burn_rate.items = &segment;
    }
    describe(fit, text, sizeof text);
    sm_text_format(source, sizeof source, "fitted to %zu firing(s) of %.100s: %s; all else from: %.200s",
                   fit->n_firings, sm_motor_name(fit->motor), text, propellant.source);
    propellant.name = name;
    propellant.source = source;
    propellant.standing = SM_STANDING_MEASURED;
    sm_json_write_init(&w, sink);
    sm_json_open_object(&w);
    sm_json_member_string(&w, "format", "slowmatch-propellant/1");
    if (fit->advice[0])
        sm_json_member_string(&w, "note", fit->advice);
    put_rows(&w, sm_propellant_params, sm_n_propellant_params, &propellant);
    sm_json_member_array(&w, "tolerances");
    for (size_t j = 0; j < fit->n_values; j++) {
        const struct sm_fit_value v = as_written(fit, j);
        put_tolerance(&w, &v);
    }
    sm_json_close(&w);
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}

static void put_values(struct sm_json_writer *w, const struct sm_fit *fit)
{
    sm_json_member_object(w, "values");
    for (size_t j = 0; j < fit->n_values; j++) {
        const struct sm_fit_value *v = &fit->values[j];
        sm_json_member_object(w, sm_fit_names()[v->parameter]);
        sm_json_member_number(w, "before", v->before);
        sm_json_member_number(w, "value", v->value);
        sm_json_member_number(w, "uncertainty", v->uncertainty);
        sm_json_member_number(w, "calibration", v->calibration);
        sm_json_member_number(w, "low", v->low);
        sm_json_member_number(w, "high", v->high);
        sm_json_close(w);
    }
    sm_json_close(w);
    sm_json_member_array(w, "correlation");
    for (size_t j = 0; j < fit->n_values; j++) {
        sm_json_open_row(w);
        for (size_t k = 0; k < fit->n_values; k++)
            sm_json_put_number(w, fit->is_separable ? fit->correlation[j * fit->n_values + k] : (double)NAN);
        sm_json_close(w);
    }
    sm_json_close(w);
}

enum sm_status sm_fit_write_json(const struct sm_fit *fit, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_json_writer w;
    sm_json_write_init(&w, sink);
    sm_json_open_object(&w);
    sm_json_member_string(&w, "format", "slowmatch-fit/1");
    sm_json_member_string(&w, "motor", sm_motor_name(fit->motor));
    sm_json_member_bool(&w, "complete", fit->complete);
    put_values(&w, fit);
    sm_json_member_bool(&w, "is_separable", fit->is_separable);
    sm_json_member_number(&w, "condition", fit->condition);
    sm_json_member_number(&w, "rate_pressure", fit->rate_pressure);
    sm_json_member_number(&w, "rate", fit->rate);
    sm_json_member_number(&w, "rate_uncertainty", fit->rate_uncertainty);
    sm_json_member_number(&w, "rate_calibration", fit->rate_calibration);
    sm_json_member_whole(&w, "starts", fit->n_starts);
    sm_json_member_whole(&w, "starts_agreed", fit->n_agreed);
    sm_json_member_string(&w, "advice", fit->advice[0] ? fit->advice : NULL);
    sm_json_member_array(&w, "firings");
    for (size_t i = 0; i < fit->n_firings; i++) {
        const struct sm_fit_firing *f = &fit->firings[i];
        sm_json_open_object_row(&w);
        sm_json_member_number(&w, "residual_before", f->residual_before);
        sm_json_member_number(&w, "residual", f->residual);
        sm_json_member_number(&w, "durbin_watson", f->durbin_watson);
        sm_json_member_number(&w, "runs", f->runs);
        sm_json_member_number(&w, "pressure_from", f->pressure_from);
        sm_json_member_number(&w, "pressure_to", f->pressure_to);
        sm_json_close(&w);
    }
    sm_json_close(&w);
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}
