/* Reduced firings as JSON and CSV. */
#include "base/sink.h"
#include "base/text.h"
#include "doc/json_write.h"
#include "slowmatch/firing.h"
#include "slowmatch/simulate.h"

#include <math.h>

static const char *const drifts[] = {"none", "linear", "weight"};

static void put_span(struct sm_json_writer *w, const char *key, const struct sm_span *span)
{
    sm_json_put_key(w, key);
    if (isnan(span->from)) {
        sm_json_put_null(w);
        return;
    }
    sm_json_open_row(w);
    sm_json_put_number(w, span->from);
    sm_json_put_number(w, span->to);
    sm_json_close(w);
}

static void put_figures(struct sm_json_writer *w, const struct sm_firing *f)
{
    sm_json_member_object(w, "figures");
    for (enum sm_firing_figure k = 0; k < SM_N_FIGURES; k++) {
        sm_json_put_key(w, sm_figure_describe(k)->name);
        if (isnan(f->figures[k].value)) {
            sm_json_put_null(w);
            continue;
        }
        sm_json_open_object_row(w);
        sm_json_member_number(w, "value", f->figures[k].value);
        sm_json_member_number(w, "uncertainty", f->figures[k].uncertainty);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_notes(struct sm_json_writer *w, const struct sm_firing *f)
{
    sm_json_member_array(w, "notes");
    for (size_t i = 0; i < f->n_notes; i++) {
        sm_json_open_object(w);
        sm_json_member_string(w, "code", f->notes[i].code);
        sm_json_member_string(w, "text", f->notes[i].text);
        sm_json_put_key(w, "line");
        if (f->notes[i].line > 0)
            sm_json_put_whole(w, f->notes[i].line);
        else
            sm_json_put_null(w);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_reduction(struct sm_json_writer *w, const struct sm_firing *f)
{
    sm_json_member_object(w, "reduction");
    sm_json_member_whole(w, "rows", (long long)f->n);
    sm_json_member_whole(w, "rows_skipped", (long long)f->n_skipped);
    sm_json_member_whole(w, "clock_restarts", (long long)f->n_restarts);
    sm_json_member_number(w, "interval", f->interval);
    sm_json_member_number(w, "noise", f->noise);
    sm_json_member_number(w, "tare", f->tare);
    sm_json_member_number(w, "shift", f->shift);
    sm_json_member_string(w, "drift", drifts[f->drift]);
    put_span(w, "quiet_before", &f->quiet_before);
    put_span(w, "quiet_after", &f->quiet_after);
    put_span(w, "event", &f->event);
    put_span(w, "burn", &f->burn);
    put_span(w, "total", &f->total);
    sm_json_member_number(w, "cutoff", f->cutoff);
    sm_json_member_number(w, "ringing", f->ringing);
    sm_json_member_number(w, "impulse_kept", f->impulse_kept);
    sm_json_member_number(w, "maximum_filtered", f->maximum_filtered);
    sm_json_member_number(w, "burn_time_filtered", f->burn_time_filtered);
    sm_json_close(w);
}

static void put_firing(struct sm_json_writer *w, const struct sm_firing *f, const struct sm_result *predicted)
{
    sm_json_open_object(w);
    sm_json_member_string(w, "record", f->name);
    put_figures(w, f);
    sm_json_member_object(w, "class");
    sm_json_member_string(w, "letter", f->impulse_class.letter);
    sm_json_member_number(w, "upper_limit", f->impulse_class.to);
    sm_json_member_number(w, "margin", f->impulse_class.margin);
    sm_json_member_string(w, "designation", f->designation);
    sm_json_member_number(w, "chance_above", f->chance_above);
    sm_json_member_number(w, "chance_below", f->chance_below);
    sm_json_close(w);
    put_reduction(w, f);
    if (predicted)
        sm_json_member_number(w, "residual", sm_firing_residual(f, predicted));
    put_notes(w, f);
    sm_json_member_object(w, "series");
    sm_json_member_doubles(w, "time", f->t, f->m);
    sm_json_member_doubles(w, "thrust", f->thrust, f->m);
    sm_json_member_doubles(w, "filtered", f->filtered, f->m);
    if (f->p)
        sm_json_member_doubles(w, "pressure", f->p, f->m);
    else
        sm_json_member_null(w, "pressure");
    sm_json_close(w);
    sm_json_close(w);
}

static void put_set(struct sm_json_writer *w, const struct sm_firing_set *set)
{
    sm_json_member_object(w, "spread");
    sm_json_member_bool(w, "is_steady", set->is_steady);
    sm_json_member_object(w, "figures");
    for (enum sm_firing_figure k = 0; k < SM_N_FIGURES; k++) {
        const struct sm_firing_spread *s = &set->figures[k];
        sm_json_put_key(w, sm_figure_describe(k)->name);
        if (s->n < 2) {
            sm_json_put_null(w);
            continue;
        }
        sm_json_open_object_row(w);
        sm_json_member_whole(w, "n", (long long)s->n);
        sm_json_member_number(w, "mean", s->mean);
        sm_json_member_number(w, "deviation", s->deviation);
        sm_json_member_number(w, "variation", s->variation);
        sm_json_put_key(w, "outlier");
        if (s->outlier >= 0)
            sm_json_put_whole(w, s->outlier);
        else
            sm_json_put_null(w);
        sm_json_close(w);
    }
    sm_json_close(w);
    sm_json_member_number(w, "tolerance_factor", set->factor);
    sm_json_member_doubles(w, "time", set->at, set->n_at);
    sm_json_member_doubles(w, "mean", set->mean, set->n_at);
    sm_json_member_doubles(w, "low", set->low, set->n_at);
    sm_json_member_doubles(w, "high", set->high, set->n_at);
    sm_json_close(w);
}

enum sm_status sm_firings_write_json(const struct sm_firing *const *firings, size_t n,
                                     const struct sm_firing_set *set, const struct sm_result *predicted,
                                     struct sm_sink *sink, struct sm_error *err)
{
    struct sm_json_writer w;
    sm_json_write_init(&w, sink);
    sm_json_open_object(&w);
    sm_json_member_string(&w, "format", "slowmatch-firing/1");
    sm_json_member_array(&w, "firings");
    for (size_t i = 0; i < n; i++)
        put_firing(&w, firings[i], predicted);
    sm_json_close(&w);
    if (set)
        put_set(&w, set);
    else
        sm_json_member_null(&w, "spread");
    sm_json_put_key(&w, "predicted");
    if (predicted) {
        sm_json_open_object(&w);
        sm_json_member_string(&w, "motor", predicted->motor);
        for (enum sm_firing_figure k = 0; k < SM_N_FIGURES; k++)
            sm_json_member_number(&w, sm_figure_describe(k)->name, sm_figure_predicted(predicted, k));
        sm_json_close(&w);
    } else {
        sm_json_put_null(&w);
    }
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}

static enum sm_status write_row(struct sm_sink *sink, const double *values, size_t n, struct sm_error *err)
{
    char text[SM_DOUBLE_TEXT];
    for (size_t i = 0; i < n; i++)
        SM_TRY(sm_sink_format(sink, err, "%s%s", i > 0 ? "," : "", sm_text_double(text, values[i])));
    return sm_sink_text(sink, "\r\n", err);
}

enum sm_status sm_firings_write_csv(const struct sm_firing *const *firings, size_t n,
                                    const struct sm_firing_set *set, struct sm_sink *sink,
                                    struct sm_error *err)
{
    if (n > 1 && set) {
        SM_TRY(sm_sink_text(sink, "time (s),mean thrust (N),low (N),high (N)\r\n", err));
        for (size_t i = 0; i < set->n_at; i++) {
            const double row[] = {set->at[i], set->mean[i], set->low[i], set->high[i]};
            SM_TRY(write_row(sink, row, SM_COUNT(row), err));
        }
        return SM_OK;
    }
    const struct sm_firing *f = firings[0];
    SM_TRY(sm_sink_format(sink, err, "time (s),thrust (N),filtered thrust (N)%s\r\n",
                          f->p ? ",pressure (Pa)" : ""));
    for (size_t i = 0; i < f->m; i++) {
        const double row[] = {f->t[i], f->thrust[i], f->filtered[i], f->p ? f->p[i] : 0.0};
        SM_TRY(write_row(sink, row, f->p ? 4 : 3, err));
    }
    return SM_OK;
}
