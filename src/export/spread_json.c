/* A spread as slowmatch-spread/1 JSON, and its bands as CSV. */
#include "base/sink.h"
#include "base/text.h"
#include "doc/json_write.h"
#include "slowmatch/spread.h"

#include <math.h>

static void put_samples(struct sm_json_writer *w, const struct sm_spread *s)
{
    char seed[32];
    sm_text_format(seed, sizeof seed, "%llu", (unsigned long long)s->seed);
    sm_json_member_object(w, "samples");
    sm_json_member_whole(w, "asked", (long long)s->n);
    sm_json_member_whole(w, "done", (long long)s->n_done);
    sm_json_member_whole(w, "impossible", (long long)s->n_impossible);
    sm_json_member_string(w, "seed", seed); /* 64 bits don't fit a number of JSON */
    sm_json_member_array(w, "reasons");
    for (size_t i = 0; i < SM_SPREAD_MAX_REASONS && s->reasons[i][0]; i++)
        sm_json_put_string(w, s->reasons[i]);
    sm_json_close(w);
    sm_json_close(w);
}

static void put_inputs(struct sm_json_writer *w, const struct sm_spread *s)
{
    sm_json_member_array(w, "inputs");
    for (size_t i = 0; i < s->n_inputs; i++) {
        const struct sm_spread_input *in = &s->inputs[i];
        sm_json_open_object(w);
        sm_json_member_string(w, "of", in->of);
        sm_json_member_whole(w, "motor", in->motor);
        sm_json_member_number(w, "value", in->middle);
        sm_json_member_number(w, "sigma", in->sigma);
        sm_json_member_string(w, "points", in->is_latin ? "latin" : "sobol");
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_distributions(struct sm_json_writer *w, const struct sm_spread *s)
{
    sm_json_member_object(w, "distributions");
    for (size_t i = 0; i < s->n_distributions; i++) {
        const struct sm_distribution *d = &s->distributions[i];
        sm_json_member_object(w, d->name);
        sm_json_member_whole(w, "samples", (long long)d->n);
        sm_json_member_number(w, "mean", d->mean);
        sm_json_member_number(w, "mean_error", d->mean_error);
        sm_json_member_number(w, "deviation", d->deviation);
        sm_json_member_number(w, "minimum", d->minimum);
        sm_json_member_number(w, "maximum", d->maximum);
        sm_json_member_doubles(w, "percentiles", d->level, SM_SPREAD_LEVELS);
        sm_json_member_doubles(w, "errors", d->level_error, SM_SPREAD_LEVELS);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_chance(struct sm_json_writer *w, const struct sm_chance *c)
{
    sm_json_member_string(w, "what", c->what);
    sm_json_member_number(w, "limit", c->limit);
    sm_json_member_number(w, "probability", c->probability);
    sm_json_member_number(w, "error", c->error);
    sm_json_close(w);
}

static void put_chances(struct sm_json_writer *w, const char *key, const struct sm_chance *c, size_t n)
{
    sm_json_member_array(w, key);
    for (size_t i = 0; i < n; i++) {
        sm_json_open_object(w);
        put_chance(w, &c[i]);
    }
    sm_json_close(w);
}

static void put_pair(struct sm_json_writer *w, const struct sm_spread *s)
{
    const struct sm_pair_options *p = &s->pair;
    if (!p->is_pair) {
        sm_json_member_null(w, "pair");
        return;
    }
    sm_json_member_object(w, "pair");
    sm_json_member_number(w, "spacing", p->spacing);
    sm_json_member_number(w, "splay", p->splay);
    sm_json_member_number(w, "arm", p->arm);
    sm_json_member_number(w, "arm_empty", p->arm_empty > 0.0 ? p->arm_empty : p->arm);
    sm_json_member_number(w, "temperature_difference", p->temperature_difference);
    sm_json_member_number(w, "ignition_scatter", p->ignition_scatter);
    sm_json_member_number(w, "neutral_splay", s->neutral_splay);
    sm_json_member_number(w, "neutral_splay_empty", s->neutral_splay_empty);
    sm_json_member_number(w, "moment_arm", s->moment_arm);
    sm_json_member_number(w, "moment_arm_empty", s->moment_arm_empty);
    sm_json_member_number(w, "single_thrust", s->single_thrust);
    sm_json_member_number(w, "single_lateral_force", s->single_thrust * sin(p->splay));
    sm_json_member_number(w, "single_moment", s->single_thrust * s->moment_arm);
    sm_json_member_number(w, "single_moment_empty", s->single_thrust * s->moment_arm_empty);
    sm_json_close(w);
}

static void put_bands(struct sm_json_writer *w, const struct sm_spread *s)
{
    sm_json_member_object(w, "bands");
    sm_json_member_doubles(w, "percent", sm_spread_percent, SM_SPREAD_LEVELS);
    sm_json_member_doubles(w, "time", s->time, s->n_instants);
    for (size_t i = 0; i < s->n_bands; i++) {
        sm_json_member_array(w, s->bands[i].name);
        for (size_t k = 0; k < SM_SPREAD_LEVELS; k++)
            sm_json_put_doubles(w, s->bands[i].level[k], s->n_instants);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_sensitivity(struct sm_json_writer *w, const struct sm_spread *s)
{
    if (!s->sensitivity) {
        sm_json_member_null(w, "sensitivity");
        return;
    }
    sm_json_member_array(w, "sensitivity");
    for (size_t i = 0; i < s->n_inputs; i++) {
        sm_json_open_object(w);
        sm_json_member_string(w, "of", s->inputs[i].of);
        for (size_t j = 0; j < SM_SENSITIVITY_FIGURES; j++) {
            const struct sm_sensitivity *x = &s->sensitivity[i * SM_SENSITIVITY_FIGURES + j];
            sm_json_member_object(w, sm_sensitivity_names[j]);
            sm_json_member_number(w, "first", x->first);
            sm_json_member_number(w, "first_error", x->first_error);
            sm_json_member_number(w, "total", x->total);
            sm_json_member_number(w, "total_error", x->total_error);
            sm_json_member_number(w, "elasticity", x->elasticity);
            sm_json_close(w);
        }
        sm_json_close(w);
    }
    sm_json_close(w);
}

enum sm_status sm_spread_write_json(const struct sm_spread *s, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_json_writer w;
    sm_json_write_init(&w, sink);
    sm_json_open_object(&w);
    sm_json_member_string(&w, "format", "slowmatch-spread/1");
    sm_json_member_string(&w, "motor", s->motor);
    sm_json_member_bool(&w, "complete", s->complete);
    sm_json_member_string(&w, "standing", "predicted; not a certification");
    sm_json_member_string(&w, "tolerances", s->is_usual ? "usual" : "file");
    put_samples(&w, s);
    put_inputs(&w, s);
    put_distributions(&w, s);
    put_chances(&w, "classes", s->classes, s->n_classes);
    sm_json_member_object(&w, "border");
    put_chance(&w, &s->border);
    put_chances(&w, "exceeding", s->pressures, s->n_pressures);
    put_pair(&w, s);
    put_sensitivity(&w, s);
    put_bands(&w, s);
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}

enum sm_status sm_spread_write_csv(const struct sm_spread *s, struct sm_sink *sink, struct sm_error *err)
{
    char number[SM_DOUBLE_TEXT];
    SM_TRY(sm_sink_text(sink, "time", err));
    for (size_t i = 0; i < s->n_bands; i++)
        for (size_t k = 0; k < SM_SPREAD_LEVELS; k++)
            SM_TRY(sm_sink_format(sink, err, ",%s_%g", s->bands[i].name, sm_spread_percent[k]));
    SM_TRY(sm_sink_text(sink, "\r\n", err));
    for (size_t row = 0; row < s->n_instants; row++) {
        SM_TRY(sm_sink_text(sink, sm_text_double(number, s->time[row]), err));
        for (size_t i = 0; i < s->n_bands; i++)
            for (size_t k = 0; k < SM_SPREAD_LEVELS; k++)
                SM_TRY(sm_sink_format(sink, err, ",%s", sm_text_double(number, s->bands[i].level[k][row])));
        SM_TRY(sm_sink_text(sink, "\r\n", err));
    }
    return SM_OK;
}
