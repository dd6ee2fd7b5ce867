/* A sizing as slowmatch-sizing/1 JSON, a trade as slowmatch-trade/1 JSON, and as CSV. */
#include <math.h>

#include "base/sink.h"
#include "base/text.h"
#include "doc/json_write.h"
#include "slowmatch/design.h"

static void put_seed(struct sm_json_writer *w, const char *key, uint64_t seed)
{
    char text[32];
    sm_text_format(text, sizeof text, "%llu", (unsigned long long)seed);
    sm_json_member_string(w, key, text); /* 64 bits don't fit a number of JSON */
}

static void put_values(struct sm_json_writer *w, const struct sm_sizing *s)
{
    sm_json_member_array(w, "values");
    for (size_t i = 0; i < s->n_values; i++) {
        const struct sm_sized_value *v = &s->values[i];
        sm_json_open_object(w);
        sm_json_member_string(w, "of", v->of);
        sm_json_member_number(w, "value", v->value);
        sm_json_member_number(w, "from", v->from);
        sm_json_member_number(w, "to", v->to);
        sm_json_member_string(w, "at", v->at < 0 ? "from" : v->at > 0 ? "to" : "between");
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_limits(struct sm_json_writer *w, const struct sm_sizing *s)
{
    sm_json_member_array(w, "limits");
    for (size_t i = 0; i < s->n_limits; i++) {
        const struct sm_sized_limit *l = &s->limits[i];
        sm_json_open_object(w);
        sm_json_member_string(w, "what", l->what);
        sm_json_member_string(w, "pointer", l->pointer);
        sm_json_member_number(w, "bound", l->bound);
        sm_json_member_number(w, "got", l->got);
        sm_json_member_bool(w, "active", l->is_active);
        sm_json_member_string(w, "gains", isnan(l->gains_from) ? NULL : l->gains);
        sm_json_member_number(w, "gains_from", l->gains_from);
        sm_json_member_number(w, "gains_to", l->gains_to);
        sm_json_member_number(w, "share", l->share);
        sm_json_member_number(w, "share_error", l->share_error);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_wishes(struct sm_json_writer *w, const struct sm_sizing *s)
{
    sm_json_member_array(w, "wanted");
    for (size_t i = 0; i < s->n_wishes; i++) {
        const struct sm_sized_wish *x = &s->wishes[i];
        sm_json_open_object(w);
        sm_json_member_string(w, "what", x->what);
        sm_json_member_string(w, "aim", x->aim > 0 ? "greatest" : x->aim < 0 ? "least" : "value");
        sm_json_member_number(w, "wanted", x->wanted);
        sm_json_member_number(w, "got", x->got);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_figures(struct sm_json_writer *w, const struct sm_sizing *s)
{
    const struct sm_size_figure *figures;
    const size_t n = sm_size_figures(&figures);
    sm_json_member_object(w, "figures");
    for (size_t i = 0; i < n; i++)
        sm_json_member_number(w, figures[i].name, s->figures[i]);
    sm_json_close(w);
}

static void put_search(struct sm_json_writer *w, const struct sm_sizing *s)
{
    sm_json_member_object(w, "search");
    put_seed(w, "seed", s->seed);
    sm_json_member_whole(w, "restarts", (long long)s->restarts);
    sm_json_member_whole(w, "evaluations", (long long)s->evaluations);
    sm_json_member_whole(w, "searches", (long long)s->searches);
    sm_json_member_whole(w, "agreeing", (long long)s->agreeing);
    sm_json_member_number(w, "model_gap", s->model_gap);
    sm_json_close(w);
}

static void put_robust(struct sm_json_writer *w, const struct sm_sizing *s)
{
    sm_json_put_key(w, "robust");
    if (!(s->robust > 0.0)) {
        sm_json_put_null(w);
        return;
    }
    sm_json_open_object(w);
    sm_json_member_number(w, "share", s->robust);
    sm_json_member_whole(w, "samples", (long long)s->samples);
    sm_json_member_whole(w, "impossible", (long long)s->n_impossible);
    put_seed(w, "seed", s->check_seed);
    sm_json_member_bool(w, "holds", s->holds);
    sm_json_close(w);
}

static void put_warnings(struct sm_json_writer *w, const struct sm_sizing *s)
{
    sm_json_member_array(w, "warnings");
    for (size_t i = 0; i < s->n_warnings; i++) {
        sm_json_open_object(w);
        sm_json_member_string(w, "code", s->warnings[i].code);
        sm_json_member_string(w, "text", s->warnings[i].text);
        sm_json_member_string(w, "pointer", s->warnings[i].pointer);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_cautions(struct sm_json_writer *w, const struct sm_sizing *s)
{
    sm_json_member_array(w, "cautions");
    for (size_t i = 0; sm_size_caution(s, i); i++)
        sm_json_put_string(w, sm_size_caution(s, i));
    sm_json_close(w);
}

enum sm_status sm_sizing_write_json(const struct sm_sizing *s, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_json_writer w;
    sm_json_write_init(&w, sink);
    sm_json_open_object(&w);
    sm_json_member_string(&w, "format", "slowmatch-sizing/1");
    sm_json_member_string(&w, "request", s->request);
    sm_json_member_string(&w, "motor", s->motor);
    sm_json_member_string(&w, "standing", "predicted");
    sm_json_member_bool(&w, "complete", s->complete);
    put_cautions(&w, s);
    put_values(&w, s);
    put_wishes(&w, s);
    put_limits(&w, s);
    put_figures(&w, s);
    put_warnings(&w, s);
    put_robust(&w, s);
    put_search(&w, s);
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}

enum sm_status sm_trade_write_json(const struct sm_trade *t, struct sm_sink *sink, struct sm_error *err)
{
    const struct sm_size_figure *figures;
    struct sm_json_writer w;
    sm_size_figures(&figures);
    sm_json_write_init(&w, sink);
    sm_json_open_object(&w);
    sm_json_member_string(&w, "format", "slowmatch-trade/1");
    sm_json_member_string(&w, "request", t->request);
    sm_json_member_string(&w, "standing", "predicted");
    sm_json_member_bool(&w, "complete", t->complete);
    put_cautions(&w, t->points[0]);
    sm_json_member_array(&w, "between");
    for (int i = 0; i < 2; i++) {
        sm_json_open_object(&w);
        sm_json_member_string(&w, "figure", figures[t->figure[i]].name);
        sm_json_member_string(&w, "aim", t->sense[i] > 0 ? "greatest" : "least");
        sm_json_close(&w);
    }
    sm_json_close(&w);
    put_seed(&w, "seed", t->seed);
    sm_json_member_whole(&w, "evaluations", (long long)t->evaluations);
    sm_json_member_whole(&w, "missed", (long long)t->n_missed);
    sm_json_member_array(&w, "points");
    for (size_t i = 0; i < t->n; i++) {
        sm_json_open_object(&w);
        put_values(&w, t->points[i]);
        put_limits(&w, t->points[i]);
        put_figures(&w, t->points[i]);
        put_warnings(&w, t->points[i]);
        sm_json_close(&w);
    }
    sm_json_close(&w);
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}

/* "/grains/0/length (m)"; pointers hold no quotes or commas unless a key does. */
static enum sm_status put_header(const struct sm_trade *t, struct sm_sink *sink, struct sm_error *err)
{
    const struct sm_size_figure *figures;
    const size_t n = sm_size_figures(&figures);
    for (size_t i = 0; i < t->points[0]->n_values; i++) {
        const struct sm_sized_value *v = &t->points[0]->values[i];
        SM_TRY(sm_sink_format(sink, err, "%s%s (%s)", i ? "," : "", v->of, sm_dim_unit(v->dim)));
    }
    for (size_t i = 0; i < n; i++)
        SM_TRY(sm_sink_format(sink, err, ",%s (%s)", figures[i].name, sm_dim_unit(figures[i].dim)));
    return sm_sink_text(sink, "\r\n", err);
}

enum sm_status sm_trade_write_csv(const struct sm_trade *t, struct sm_sink *sink, struct sm_error *err)
{
    const struct sm_size_figure *figures;
    const size_t n = sm_size_figures(&figures);
    char number[SM_DOUBLE_TEXT];
    SM_TRY(put_header(t, sink, err));
    for (size_t k = 0; k < t->n; k++) {
        const struct sm_sizing *s = t->points[k];
        for (size_t i = 0; i < s->n_values; i++)
            SM_TRY(
                sm_sink_format(sink, err, "%s%s", i ? "," : "", sm_text_double(number, s->values[i].value)));
        for (size_t i = 0; i < n; i++)
            SM_TRY(sm_sink_format(sink, err, ",%s",
                                  isnan(s->figures[i]) ? "" : sm_text_double(number, s->figures[i])));
        SM_TRY(sm_sink_text(sink, "\r\n", err));
    }
    return SM_OK;
}
