/* Many burns of one design, each with values drawn from its tolerances: bands, percentiles and chances. */
#include "../bench.h"

#include <math.h>
#include <string.h>

enum { MOST_SAMPLES = 100000 }; /* more are for the command, which says what memory they take */

static void put_figure(const struct sm_distribution *d, enum sm_unit_system system, struct web_reply *r)
{
    char text[SM_SHOW_TEXT];
    web_open(r, '{');
    web_member(r, "name", d->name);
    web_key(r, "levels");
    web_open(r, '[');
    for (size_t k = 0; k < SM_SPREAD_LEVELS; k++)
        web_text(r, sm_show_measure(text, d->level[k], d->dim, system));
    web_close(r, ']');
    web_close(r, '}');
}

static void put_chances(const char *key, const struct sm_chance *chances, size_t n, enum sm_dim dim,
                        enum sm_unit_system system, struct web_reply *r)
{
    char text[400], limit[SM_SHOW_TEXT], chance[SM_CHANCE_TEXT];
    web_key(r, key);
    web_open(r, '[');
    for (size_t i = 0; i < n; i++) {
        const struct sm_chance *c = &chances[i];
        snprintf(text, sizeof text, "%s (%s): %s", c->what, sm_show_number(limit, c->limit, dim, system),
                 sm_chance_text(chance, c));
        web_text(r, text);
    }
    web_close(r, ']');
}

static void put_band(const struct sm_spread *s, const struct sm_spread_band *band, enum sm_unit_system system,
                     struct web_reply *r)
{
    char axis[64];
    const char *unit = sm_show_unit(band->dim, system);
    enum { LOW = 0, MIDDLE = 2, HIGH = SM_SPREAD_LEVELS - 1 };
    snprintf(axis, sizeof axis, "%s (%s)", band->name, unit);
    web_open(r, '{');
    web_member(r, "id", band->name);
    web_member(r, "unit", unit);
    web_member(r, "axis", axis);
    web_key(r, "low");
    web_digits(r, band->level[LOW], s->n_instants, band->dim, system);
    web_key(r, "middle");
    web_digits(r, band->level[MIDDLE], s->n_instants, band->dim, system);
    web_key(r, "high");
    web_digits(r, band->level[HIGH], s->n_instants, band->dim, system);
    web_close(r, '}');
}

static void put_bands(const struct sm_spread *s, enum sm_unit_system system, struct web_reply *r)
{
    web_key(r, "time");
    web_open(r, '{');
    web_key(r, "shown");
    web_digits(r, s->time, s->n_instants, SM_DIM_TIME, system);
    web_key(r, "values");
    web_open(r, '[');
    for (size_t i = 0; i < s->n_instants; i++)
        web_double(r, s->time[i]);
    web_close(r, ']');
    web_close(r, '}');
    web_key(r, "bands");
    web_open(r, '[');
    for (size_t i = 0; i < s->n_bands; i++)
        put_band(s, &s->bands[i], system, r);
    web_close(r, ']');
}

static void put_spread(const struct sm_spread *s, enum sm_unit_system system, struct web_reply *r)
{
    char text[240];
    snprintf(text, sizeof text, "%zu of %zu burns, seed %llu, by %s%s", s->n_done, s->n,
             (unsigned long long)s->seed,
             s->is_usual ? "usual tolerances, for the file gives none" : "the file's tolerances",
             s->complete ? "" : "; STOPPED before its end");
    web_open(r, '{');
    web_member(r, "basis", text);
    web_key(r, "impossible");
    web_whole(r, (long long)s->n_impossible);
    web_key(r, "percent");
    web_open(r, '[');
    for (size_t k = 0; k < SM_SPREAD_LEVELS; k++) {
        snprintf(text, sizeof text, "%g %%", sm_spread_percent[k]);
        web_text(r, text);
    }
    web_close(r, ']');
    web_key(r, "figures");
    web_open(r, '[');
    for (size_t i = 0; i < s->n_distributions; i++)
        put_figure(&s->distributions[i], system, r);
    web_close(r, ']');
    put_chances("classes", s->classes, s->n_classes, SM_DIM_IMPULSE, SM_UNITS_SI, r); /* defined in N s */
    put_chances("pressures", s->pressures, s->n_pressures, SM_DIM_PRESSURE, system, r);
    put_bands(s, system, r);
    web_close(r, '}');
}

static void answer(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    long long samples, seed;
    struct sm_error err = {0};
    struct sm_spread *spread = NULL;
    if (!web_query_whole(request, "samples", 2, MOST_SAMPLES, 1000, &samples, reply) ||
        !web_query_whole(request, "seed", 0, INT64_MAX, 1, &seed, reply))
        return;
    struct sm_motor *motor = web_motor(bench, request, 0, reply);
    if (!motor)
        return;
    const struct sm_spread_options options = {.n = (size_t)samples, .seed = (uint64_t)seed};
    if (sm_spread_run(motor, &options, request->context, &spread, &err) == SM_OK)
        put_spread(spread, web_query_units(request), reply);
    else
        web_problem(reply, &err);
    sm_spread_free(spread);
    sm_motor_free(motor);
}

const struct web_route web_route_bands = {
    .path = "spread", .is_post = true, .is_long = true, .answer = answer};
