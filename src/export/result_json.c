/* A result as slowmatch-result/1 JSON. */
#include "export/result_json.h"
#include "export/export.h"

#include <math.h>

static void put_thrust(struct sm_json_writer *w, const struct sm_thrust_summary *t)
{
    sm_json_member_object(w, "thrust");
    sm_json_member_number(w, "total_impulse", t->total_impulse);
    sm_json_member_number(w, "impulse_in_burn_time", t->impulse_in_burn_time);
    sm_json_member_number(w, "burn_start", t->burn_start);
    sm_json_member_number(w, "burn_time", t->burn_time);
    sm_json_member_number(w, "action_time", t->action_time);
    sm_json_member_number(w, "average", t->average);
    sm_json_member_number(w, "average_in_burn_time", t->average_in_burn_time);
    sm_json_member_number(w, "maximum", t->maximum);
    sm_json_member_number(w, "maximum_steady", t->maximum_steady);
    sm_json_member_number(w, "initial", t->initial);
    sm_json_member_number(w, "specific_impulse", t->specific_impulse);
    sm_json_member_number(w, "exhaust_velocity", t->exhaust_velocity);
    sm_json_close(w);
}

static void put_chamber(struct sm_json_writer *w, const struct sm_chamber_summary *c)
{
    sm_json_member_object(w, "chamber");
    sm_json_member_number(w, "pressure_maximum", c->pressure_maximum);
    sm_json_member_number(w, "pressure_average", c->pressure_average);
    sm_json_member_number(w, "kn_initial", c->kn_initial);
    sm_json_member_number(w, "kn_maximum", c->kn_maximum);
    sm_json_member_number(w, "cstar_delivered", c->cstar_delivered);
    sm_json_member_number(w, "throat_final", c->throat_final);
    sm_json_close(w);
}

static void put_grain(struct sm_json_writer *w, const struct sm_grain_summary *g)
{
    sm_json_member_object(w, "grain");
    sm_json_member_number(w, "mass", g->mass);
    if (g->n_webs > 1)
        sm_json_member_doubles(w, "web", g->webs, g->n_webs);
    else
        sm_json_member_number(w, "web", g->web);
    sm_json_member_number(w, "sliver_fraction", g->sliver_fraction);
    sm_json_member_number(w, "neutrality", g->neutrality);
    sm_json_member_number(w, "filling", g->filling);
    sm_json_member_number(w, "port_to_throat", g->port_to_throat);
    sm_json_member_number(w, "mass_flux_maximum", g->mass_flux_maximum);
    sm_json_close(w);
}

static void put_end_burner(struct sm_json_writer *w, const struct sm_end_burner_summary *e)
{
    sm_json_member_object(w, "end_burner");
    sm_json_member_number(w, "ratio", e->ratio);
    sm_json_member_number(w, "area_factor", e->area_factor);
    sm_json_member_number(w, "pressure_factor", e->pressure_factor);
    sm_json_member_number(w, "pressure_limit", e->pressure_limit);
    sm_json_member_number(w, "burn_time_flat", e->burn_time_flat);
    sm_json_member_number(w, "wall_front_time", e->wall_front_time);
    sm_json_member_number(w, "bare_area", e->bare_area);
    sm_json_member_number(w, "bare_longest", e->bare_longest);
    sm_json_member_number(w, "bare_mean", e->bare_mean);
    sm_json_member_number(w, "droop", e->droop);
    sm_json_member_number(w, "droop_low", e->droop_low);
    sm_json_member_number(w, "droop_high", e->droop_high);
    sm_json_close(w);
}

static void put_profile(struct sm_json_writer *w, const struct sm_axial_profile *p, size_t n)
{
    sm_json_open_object(w);
    sm_json_member_number(w, "time", p->time);
    sm_json_member_doubles(w, "pressure", p->pressure, n);
    sm_json_member_doubles(w, "speed", p->speed, n);
    sm_json_member_doubles(w, "mach", p->mach, n);
    sm_json_member_doubles(w, "mass_flux", p->mass_flux, n);
    sm_json_member_doubles(w, "rate", p->rate, n);
    sm_json_member_doubles(w, "web", p->web, n);
    sm_json_close(w);
}

static void put_axial(struct sm_json_writer *w, const struct sm_axial_summary *a)
{
    sm_json_member_object(w, "axial");
    sm_json_member_number(w, "head_maximum", a->head_maximum);
    sm_json_member_number(w, "aft_maximum", a->aft_maximum);
    sm_json_member_number(w, "drop", a->drop);
    sm_json_member_number(w, "mach_maximum", a->mach_maximum);
    sm_json_member_number(w, "mach_place", a->mach_place);
    sm_json_member_number(w, "mach_time", a->mach_time);
    sm_json_member_number(w, "mass_flux_maximum", a->mass_flux_maximum);
    sm_json_member_number(w, "mass_flux_place", a->mass_flux_place);
    sm_json_member_number(w, "erosive_ratio", a->erosive_ratio);
    sm_json_member_number(w, "peak_ratio", a->peak_ratio);
    sm_json_member_number(w, "erosive_peak", a->erosive_peak);
    sm_json_member_number(w, "volume_correction", a->volume_correction);
    sm_json_member_doubles(w, "place", a->place, a->n);
    sm_json_member_array(w, "profiles");
    for (size_t i = 0; i < a->n_profiles; i++)
        put_profile(w, &a->profiles[i], a->n);
    sm_json_close(w);
    sm_json_close(w);
}

static void put_losses(struct sm_json_writer *w, const struct sm_result *r)
{
    sm_json_member_array(w, "losses");
    for (size_t i = 0; i < r->n_losses; i++) {
        sm_json_open_object(w);
        sm_json_member_string(w, "name", r->losses[i].name);
        sm_json_member_string(w, "note", r->losses[i].note);
        sm_json_member_number(w, "specific_impulse", r->losses[i].specific_impulse);
        sm_json_member_number(w, "loss", r->losses[i].loss);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_figures(struct sm_json_writer *w, const struct sm_figures *f)
{
    sm_json_member_number(w, "total_impulse", f->total_impulse);
    sm_json_member_number(w, "burn_time", f->burn_time);
    sm_json_member_number(w, "average", f->average);
    sm_json_member_number(w, "maximum", f->maximum);
    sm_json_member_number(w, "specific_impulse", f->specific_impulse);
    sm_json_member_number(w, "pressure_maximum", f->pressure_maximum);
    sm_json_member_number(w, "pressure_average", f->pressure_average);
}

static void put_one_sigma(struct sm_json_writer *w, const struct sm_one_sigma *s)
{
    sm_json_member_object(w, "one_sigma");
    sm_json_member_string(w, "tolerances", s->n_influences == 0 ? NULL : s->is_usual ? "usual" : "file");
    put_figures(w, &s->figures);
    sm_json_member_array(w, "inputs");
    for (size_t i = 0; i < s->n_influences; i++) {
        const struct sm_influence *in = &s->influences[i];
        sm_json_open_object(w);
        sm_json_member_string(w, "of", in->of);
        sm_json_member_bool(w, "batch", in->is_batch);
        sm_json_member_number(w, "value", in->middle);
        sm_json_member_number(w, "sigma", in->sigma);
        put_figures(w, &in->effect);
        sm_json_close(w);
    }
    sm_json_close(w);
    sm_json_close(w);
}

static void put_class(struct sm_json_writer *w, const struct sm_result *r)
{
    sm_json_member_object(w, "class");
    sm_json_member_string(w, "letter", r->impulse_class.letter);
    sm_json_member_number(w, "upper_limit", r->impulse_class.to);
    sm_json_member_number(w, "margin", r->impulse_class.margin);
    sm_json_member_string(w, "designation", r->designation);
    sm_json_close(w);
}

void sm_warnings_put_json(struct sm_json_writer *w, const struct sm_warning_found *warnings, size_t n)
{
    sm_json_member_array(w, "warnings");
    for (size_t i = 0; i < n; i++) {
        sm_json_open_object(w);
        sm_json_member_string(w, "code", warnings[i].code);
        sm_json_member_string(w, "text", warnings[i].text);
        sm_json_member_string(w, "pointer", warnings[i].pointer);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_statistics(struct sm_json_writer *w, const struct sm_result *r)
{
    static const char *const ends[] = {"burned-out", "faded", "time-limit", "cancelled"};
    sm_json_member_object(w, "statistics");
    sm_json_member_whole(w, "steps", (long long)r->statistics.steps);
    sm_json_member_whole(w, "rejected", (long long)r->statistics.rejected);
    sm_json_member_number(w, "mass_residual", r->is_curve ? SM_NAN : r->statistics.mass_residual);
    sm_json_member_number(w, "accuracy", r->is_curve ? SM_NAN : r->statistics.accuracy);
    sm_json_member_string(w, "end", r->is_curve ? NULL : ends[r->statistics.end]);
    sm_json_close(w);
}

static void put_series(struct sm_json_writer *w, const struct sm_result *result)
{
    const struct sm_column *columns;
    const size_t n = sm_result_columns(result, &columns);
    sm_json_member_object(w, "series");
    for (size_t i = 0; i < n; i++) {
        const double *values = sm_result_column(result, i);
        if (values)
            sm_json_member_doubles(w, columns[i].name, values, result->series.n);
        else
            sm_json_member_null(w, columns[i].name);
    }
    sm_json_close(w);
}

static const struct sm_provenance_key provenance[] = {
    {"program", 1, "what reckoned it"},
    {"input", 1, "name of the motor file"},
    {"input_sha256", 1, "SHA-256 of the motor file"},
    {"set", 1, "values set over the file's"},
    {"date", 1, "a day, if one was given"},
    {"source", 1, "where a given curve comes from"},
    {"mass_properties", 1, "whose the masses are"},
    {"loaded_mass", 0, "mass of the whole motor before ignition, kg"},
    {"loaded_propellant", 0, "mass of propellant before ignition, kg"},
    {"ambient_pressure", 0, "pressure around the nozzle, Pa"},
    {"grain_temperature", 0, "temperature of the propellant, K"},
    {"exit_area", 0, "exit area of the nozzle, m2"},
};

size_t sm_provenance_keys(const struct sm_provenance_key **keys)
{
    *keys = provenance;
    return SM_COUNT(provenance);
}

static void put_provenance(struct sm_json_writer *w, const struct sm_export *from)
{
    sm_json_member_object(w, "provenance");
    for (size_t i = 0; i < SM_COUNT(provenance); i++) {
        const struct sm_fact *f = sm_facts_find(from, provenance[i].key);
        if (f && f->text)
            sm_json_member_string(w, f->key, f->text);
        else if (f)
            sm_json_member_number(w, f->key, f->number);
    }
    sm_json_close(w);
}

void sm_result_put_json(struct sm_json_writer *w, const struct sm_result *result,
                        const struct sm_export *from)
{
    static const char *const models[] = {"transient", "equilibrium", "axial"};
    sm_json_open_object(w);
    sm_json_member_string(w, "format", "slowmatch-result/1");
    sm_json_member_string(w, "motor", result->motor);
    sm_json_member_number(w, "grain_temperature", result->grain_temperature);
    sm_json_member_bool(w, "complete", result->complete);
    sm_json_member_string(w, "standing",
                          result->is_curve ? "from its curve as given; not a certification"
                                           : "predicted; not a certification");
    sm_json_member_string(w, "model", result->is_curve ? "curve" : models[result->model]);
    sm_json_member_string(w, "burn_end", result->burn_end == SM_BURN_END_CONTIGUOUS ? "contiguous" : "last");
    if (from)
        put_provenance(w, from);
    sm_json_member_object(w, "summary");
    put_thrust(w, &result->thrust);
    put_chamber(w, &result->chamber);
    put_grain(w, &result->grain);
    put_end_burner(w, &result->end_burner);
    if (result->model == SM_MODEL_AXIAL && !result->is_curve)
        put_axial(w, &result->axial);
    put_losses(w, result);
    put_one_sigma(w, &result->one_sigma);
    put_class(w, result);
    sm_json_close(w);
    sm_warnings_put_json(w, result->warnings, result->n_warnings);
    put_statistics(w, result);
    put_series(w, result);
    sm_json_close(w);
}

enum sm_status sm_result_write_json(const struct sm_result *result, struct sm_sink *sink,
                                    struct sm_error *err)
{
    struct sm_json_writer w;
    sm_json_write_init(&w, sink);
    sm_result_put_json(&w, result, NULL);
    return sm_json_write_end(&w, err);
}

enum sm_status sm_results_write_json(const struct sm_result *const *results, size_t n, struct sm_sink *sink,
                                     struct sm_error *err)
{
    struct sm_json_writer w;
    sm_json_write_init(&w, sink);
    sm_json_open_array(&w);
    for (size_t i = 0; i < n; i++)
        sm_result_put_json(&w, results[i], NULL);
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}
