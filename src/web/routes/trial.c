/* Burns the motor, and one that was set beside it: all that the page shows of a design. */
#include "../bench.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { MOST = 2 }; /* motors side by side */

struct trial {
    struct sm_motor *motors[MOST];
    struct sm_result *results[MOST];
    size_t n;
    enum sm_unit_system system;
    struct web_reply *reply;
};

static long long microseconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (long long)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

/* ---- figures ---- */

static void put_figure(const struct trial *t, const struct sm_shown_figure *f, const char *group)
{
    char text[SM_SHOW_TEXT];
    struct web_reply *r = t->reply;
    const double value = sm_shown_value(f, t->results[0]), sigma = sm_shown_sigma(f, t->results[0]);
    web_open(r, '{');
    web_member(r, "group", group);
    web_member(r, "label", f->label);
    web_member(r, "text", sm_shown_text(text, f, value, t->system));
    if (t->n > 1)
        web_member(r, "beside", sm_shown_text(text, f, sm_shown_value(f, t->results[1]), t->system));
    snprintf(text, sizeof text, "+-%.2g %%", 100.0 * sigma / value);
    web_member(r, "sigma", isnan(sigma) ? NULL : text);
    web_member(r, "note", f->note);
    web_close(r, '}');
}

static bool has_figure(const struct trial *t, const struct sm_shown_figure *f)
{
    bool found = false;
    for (size_t i = 0; i < t->n; i++)
        found = found || !isnan(sm_shown_value(f, t->results[i]));
    return found;
}

static void put_figures(const struct trial *t)
{
    const struct sm_shown_figure *figures;
    const char *group = NULL; /* waits until one of its figures is there */
    const size_t n = sm_shown_list(&figures);
    web_key(t->reply, "figures");
    web_open(t->reply, '[');
    for (size_t i = 0; i < n; i++) {
        group = figures[i].group ? figures[i].group : group;
        if (!has_figure(t, &figures[i]))
            continue;
        put_figure(t, &figures[i], group);
        group = NULL;
    }
    web_close(t->reply, ']');
}

/* ---- class, warnings, guidance ---- */

static void put_class(const struct trial *t)
{
    const struct sm_impulse_class *c = &t->results[0]->impulse_class;
    char text[200], margin[SM_SHOW_TEXT], above[SM_SHOW_TEXT], to[SM_SHOW_TEXT];
    snprintf(text, sizeof text, "class %s: above %s, to %s; %s left to its upper limit", c->letter,
             sm_show_number(above, c->above, SM_DIM_IMPULSE, t->system),
             sm_show_number(to, c->to, SM_DIM_IMPULSE, t->system),
             sm_show_measure(margin, c->margin, SM_DIM_IMPULSE, t->system));
    web_member(t->reply, "class", text);
}

static void put_warnings(const struct trial *t)
{
    const struct sm_result *x = t->results[0];
    web_key(t->reply, "warnings");
    web_open(t->reply, '[');
    for (size_t i = 0; i < x->n_warnings; i++) {
        web_open(t->reply, '{');
        web_member(t->reply, "code", x->warnings[i].code);
        web_member(t->reply, "text", x->warnings[i].text);
        web_member(t->reply, "pointer", x->warnings[i].pointer);
        web_close(t->reply, '}');
    }
    web_close(t->reply, ']');
}

static void put_guidance(const struct trial *t)
{
    const struct sm_result *x = t->results[0];
    struct sm_rule_finding found[SM_MAX_FINDINGS];
    const struct sm_rule_case c = {
        .impulse_each = x->thrust.total_impulse,
        .thrust_average = x->thrust.average,
        .propellant_each = x->propellant_mass,
        .vehicle_mass = (double)NAN,
        .count = 1,
        .own_design = !x->is_curve,
    };
    const size_t n = sm_rules_judge(&c, found);
    web_key(t->reply, "guidance");
    web_open(t->reply, '[');
    for (size_t i = 0; i < n; i++) {
        char line[320];
        snprintf(line, sizeof line, found[i].brief ? "%s (%s)" : "%s", found[i].text, found[i].brief);
        web_text(t->reply, line);
    }
    web_close(t->reply, ']');
}

/* ---- curves ---- */

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* All instants at which one of the runs has a row. NULL if memory is out. */
static double *all_instants(const struct trial *t, size_t *n)
{
    size_t room = 0;
    for (size_t i = 0; i < t->n; i++)
        room += t->results[i]->series.n;
    double *time = malloc(room * sizeof *time); /* [s] */
    *n = 0;
    for (size_t i = 0; time && i < t->n; i++) {
        memcpy(time + *n, t->results[i]->series.time, t->results[i]->series.n * sizeof *time);
        *n += t->results[i]->series.n;
    }
    if (time && t->n > 1)
        qsort(time, *n, sizeof *time, by_size);
    return time;
}

/* A column at these instants; the same ones: as it stands. Nothing is said past its end. */
static void put_column(const struct trial *t, size_t i, const double *column, enum sm_dim dim,
                       const double *time, size_t n)
{
    const struct sm_series *s = &t->results[i]->series;
    double *y = t->n > 1 ? malloc(n * sizeof *y) : NULL; /* [SI] */
    for (size_t k = 0; y && k < n; k++)
        y[k] = time[k] > s->time[s->n - 1] ? (double)NAN : sm_curve_at(s->time, column, s->n, time[k]);
    if (t->n == 1 || y)
        web_digits(t->reply, y ? y : column, n, dim, t->system);
    else
        t->reply->is_full = true;
    free(y);
}

static void put_line(const struct trial *t, size_t i, const char *label, long long colour,
                     const double *column, enum sm_dim dim, const double *time, size_t n)
{
    web_open(t->reply, '{');
    web_member(t->reply, "label", label);
    web_key(t->reply, "colour");
    web_whole(t->reply, colour);
    web_key(t->reply, "shown");
    put_column(t, i, column, dim, time, n);
    web_close(t->reply, '}');
}

static void put_panel(const struct trial *t, const char *id, enum sm_dim dim, size_t offset,
                      const double *time, size_t n)
{
    enum { BESIDE_COLOUR = 0, OWN_COLOUR = 1 }; /* of the plots' palette: grey for what stands beside */
    const char *unit = sm_show_unit(dim, t->system);
    char axis[64];
    web_open(t->reply, '{');
    web_member(t->reply, "id", id);
    web_member(t->reply, "unit", unit);
    snprintf(axis, sizeof axis, "%s (%s)", id, unit);
    web_member(t->reply, "axis", axis);
    web_key(t->reply, "series");
    web_open(t->reply, '[');
    for (size_t i = t->n; i-- > 0;) { /* one's own on top */
        const double *column =
            *(double *const *)(const void *)((const char *)&t->results[i]->series + offset);
        if (column)
            put_line(t, i, i == 0 ? id : "beside", i == 0 ? OWN_COLOUR : BESIDE_COLOUR, column, dim, time, n);
    }
    web_close(t->reply, ']');
    web_close(t->reply, '}');
}

static void put_curves(const struct trial *t)
{
    size_t n;
    double *time = all_instants(t, &n);
    if (!time) {
        t->reply->is_full = true;
        return;
    }
    web_key(t->reply, "time");
    web_open(t->reply, '{');
    web_key(t->reply, "shown");
    web_digits(t->reply, time, n, SM_DIM_TIME, t->system);
    web_key(t->reply, "values");
    web_open(t->reply, '[');
    for (size_t i = 0; i < n; i++)
        web_double(t->reply, time[i]);
    web_close(t->reply, ']');
    web_close(t->reply, '}');
    web_key(t->reply, "panels");
    web_open(t->reply, '[');
    put_panel(t, "thrust", SM_DIM_FORCE, offsetof(struct sm_series, thrust), time, n);
    put_panel(t, "pressure", SM_DIM_PRESSURE, offsetof(struct sm_series, pressure), time, n);
    web_close(t->reply, ']');
    free(time);
}

/* ---- all of it ---- */

static void put_facts(const struct trial *t)
{
    const struct sm_result *x = t->results[0];
    struct sm_motor_facts facts;
    char line[512] = "", temperature[SM_SHOW_TEXT], ambient[SM_SHOW_TEXT];
    sm_motor_describe(t->motors[0], &facts);
    sm_show_number(temperature, facts.grain_temperature, SM_DIM_TEMPERATURE, t->system);
    sm_show_number(ambient, facts.ambient_pressure, SM_DIM_PRESSURE, t->system);
    if (facts.propellant)
        snprintf(line, sizeof line, "predicted; propellant %s (%s), grain at %s, ambient %s",
                 facts.propellant, facts.standing, temperature, ambient);
    else
        snprintf(line, sizeof line, "from its curve as given, ambient %s", ambient);
    web_member(t->reply, "name", x->motor);
    web_member(t->reply, "designation", x->designation);
    web_member(t->reply, "basis", line);
    web_key(t->reply, "hasGrains");
    web_flag(t->reply, !x->is_curve);
}

static void put_beside(const struct trial *t)
{
    char text[1600];
    if (t->n < 2)
        return;
    web_member(t->reply, "besideName", t->results[1]->motor);
    web_member(t->reply, "besideDesignation", t->results[1]->designation);
    if (sm_explain_burn_times((const struct sm_motor *const *)t->motors,
                              (const struct sm_result *const *)t->results, t->n, text, sizeof text) > 0)
        web_member(t->reply, "why", text);
}

static void put_trial(const struct trial *t, long long started)
{
    const long long burned = microseconds();
    web_open(t->reply, '{');
    put_facts(t);
    put_class(t);
    put_figures(t);
    put_warnings(t);
    put_guidance(t);
    put_beside(t);
    put_curves(t);
    web_key(t->reply, "burnMicroseconds");
    web_whole(t->reply, burned - started);
    web_key(t->reply, "engineMicroseconds");
    web_whole(t->reply, microseconds() - started);
    web_close(t->reply, '}');
}

static void answer(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    const long long started = microseconds();
    struct trial t = {.system = web_query_units(request), .reply = reply};
    const char *text;
    size_t n;
    bool good = web_burn(bench, request, 0, &t.motors[0], &t.results[0], reply);
    t.n = good ? 1 : 0;
    if (good && web_part(request, 1, &text, &n)) {
        good = web_burn(bench, request, 1, &t.motors[1], &t.results[1], reply);
        t.n += good ? 1 : 0;
    }
    if (good)
        put_trial(&t, started);
    for (size_t i = 0; i < t.n; i++) {
        sm_result_free(t.results[i]);
        sm_motor_free(t.motors[i]);
    }
}

const struct web_route web_route_trial = {.path = "trial", .is_post = true, .answer = answer};
