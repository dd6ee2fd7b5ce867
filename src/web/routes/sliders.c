/*
 * How far a value can be dragged, in the unit that it is written in.
 *
 * The body has a line a value: place of its dimension, least, most [SI], the text, with tabs between. The answer is a list of
 * {"unit", "low", "high", "step", "at"}, all text for the page to put in as it is, or null for what is no value.
 */
#include "../bench.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_LINES = 2000, LINE = 400, STEPS = 200 };

struct line {
    enum sm_dim dim;
    double min, max; /* [SI] */
    const char *text;
};

/* A value in its own unit is (si - zero) / one. */
struct scale {
    char unit[64];
    double zero, one; /* [SI] */
    double at;        /* in that unit [1] */
};

static bool read_line(char *text, struct line *line)
{
    char *rest;
    const long dim = strtol(text, &rest, 10);
    if (dim < 0 || dim >= SM_DIM_COUNT || *rest != '\t')
        return false;
    line->dim = (enum sm_dim)dim;
    line->min = strtod(rest + 1, &rest);
    if (*rest != '\t')
        return false;
    line->max = strtod(rest + 1, &rest);
    if (*rest != '\t' || !(line->min <= line->max))
        return false;
    line->text = rest + 1;
    return true;
}

static bool parse_with(struct sm_units *units, const char *number, const char *unit, enum sm_dim dim,
                       double *si)
{
    char text[96];
    snprintf(text, sizeof text, "%s%s%s", number, unit[0] ? " " : "", unit);
    return sm_units_parse(units, text, dim, si, NULL) == SM_OK;
}

static bool read_scale(struct sm_units *units, const struct line *line, struct scale *s)
{
    double si; /* [SI] */
    char *rest;
    if (sm_units_parse(units, line->text, line->dim, &si, NULL) != SM_OK)
        return false;
    s->at = strtod(line->text, &rest);
    while (*rest == ' ')
        rest++;
    snprintf(s->unit, sizeof s->unit, "%s", rest);
    if (!parse_with(units, "0", s->unit, line->dim, &s->zero) ||
        !parse_with(units, "1", s->unit, line->dim, &s->one))
        return false;
    s->one -= s->zero;
    return s->one > 0.0;
}

/* A round step, 1, 2 or 5 times a power of ten, that goes about STEPS times into the span. */
static double round_step(double span, int *decimals)
{
    const double power = pow(10.0, floor(log10(span / STEPS)));
    const double factor = span / STEPS / power;
    *decimals = (int)fmax(0.0, -floor(log10(span / STEPS)));
    return power * (factor < 2.0 ? 1.0 : factor < 5.0 ? 2.0 : 5.0);
}

/* Half to twice of the value, 40 K to either side of a temperature, and a place near zero for what is zero; within its limits. */
static void span_of(const struct line *line, const struct scale *s, double *low, double *high)
{
    static const double degrees = 40.0; /* a wide range of weather [K] */
    const double least = (line->min - s->zero) / s->one, most = (line->max - s->zero) / s->one;
    if (line->dim == SM_DIM_TEMPERATURE) {
        *low = s->at - degrees / s->one;
        *high = s->at + degrees / s->one;
    } else if (s->at == 0.0) {
        *low = fmax(least, -1.0);
        *high = fmin(most, 1.0);
    } else {
        *low = fmin(0.5 * s->at, 2.0 * s->at);
        *high = fmax(0.5 * s->at, 2.0 * s->at);
    }
    *low = fmax(*low, least);
    *high = fmin(*high, most);
}

static void put_slider(const struct line *line, const struct scale *s, bool is_whole, struct web_reply *r)
{
    double low, high;
    char text[64];
    int decimals = 0;
    span_of(line, s, &low, &high);
    if (!(high > low) || !isfinite(high - low)) {
        web_text(r, NULL);
        return;
    }
    const double step = is_whole ? 1.0 : round_step(high - low, &decimals);
    low = ceil(low / step - 1e-9) * step; /* a whisker of rounding is no step */
    high = floor(high / step + 1e-9) * step;
    web_open(r, '{');
    web_member(r, "unit", s->unit);
    snprintf(text, sizeof text, "%.*f", decimals, low);
    web_member(r, "low", text);
    snprintf(text, sizeof text, "%.*f", decimals, high);
    web_member(r, "high", text);
    snprintf(text, sizeof text, "%.*f", decimals, step);
    web_member(r, "step", text);
    snprintf(text, sizeof text, "%.*f", decimals, s->at);
    web_member(r, "at", text);
    web_close(r, '}');
}

static void put_line(struct web_bench *bench, const char *text, size_t n, struct web_reply *r)
{
    char copy[LINE];
    struct line line;
    struct scale scale;
    const bool is_whole = n > 0 && text[0] == 'w'; /* a count */
    if (n >= sizeof copy) {
        web_text(r, NULL);
        return;
    }
    snprintf(copy, sizeof copy, "%.*s", (int)(n - is_whole), text + is_whole);
    pthread_mutex_lock(&bench->reading);
    const bool good = read_line(copy, &line) && read_scale(bench->load.units, &line, &scale);
    pthread_mutex_unlock(&bench->reading);
    if (good)
        put_slider(&line, &scale, is_whole, r);
    else
        web_text(r, NULL);
}

static void answer(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    const char *at = request->body, *end = at ? at + request->n_body : NULL;
    web_open(reply, '[');
    for (size_t i = 0; i < MOST_LINES && at && at < end; i++) {
        const char *stop = memchr(at, '\n', (size_t)(end - at));
        const size_t n = (size_t)((stop ? stop : end) - at);
        put_line(bench, at, n, reply);
        at += n + 1;
    }
    web_close(reply, ']');
}

const struct web_route web_route_sliders = {.path = "sliders", .is_post = true, .answer = answer};
