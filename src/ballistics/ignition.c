#include "ballistics/ignition.h"

#include <math.h>
#include <stdlib.h>

/* A function of time by straight lines; it may jump where two points share their time. */
struct polyline {
    struct knot {
        double t, y; /* [s], [1] or [kg/s] */
    } * knots;
    size_t n;
    double after; /* past the last knot [1] or [kg/s] */
};

/* ---- lit share ---- */

/* A stretch of burning surface along the axis; an end has no length. */
struct strip {
    double from, to; /* [m] */
    double area;     /* [m2] */
};

static void put_grain(const struct sm_grain_entry *entry, const struct sm_geometry *g, double z,
                      struct strip *strips, size_t *n)
{
    struct sm_geometry_at at;
    sm_geometry_eval(g, 0.0, &at);
    const int fore = (entry->common.burning & SM_FACE_FORE_END) != 0;
    const int aft = (entry->common.burning & SM_FACE_AFT_END) != 0;
    const double section = at.value[SM_VOLUME] / g->length, area = -at.slope[SM_VOLUME];
    const double walls = fmax(0.0, area - (fore + aft) * section);
    if (fore)
        strips[(*n)++] = (struct strip){z, z, section};
    if (walls > 1e-9 * area)
        strips[(*n)++] = (struct strip){z, z + g->length, walls};
    if (aft)
        strips[(*n)++] = (struct strip){z + g->length, z + g->length, section};
}

static struct strip *find_strips(const struct sm_motor *motor, struct sm_arena *arena, size_t *n)
{
    size_t copies = 0;
    for (size_t i = 0; i < motor->spec.n_grains; i++)
        copies += (size_t)motor->spec.grains[i].count;
    struct strip *strips = sm_arena_alloc(arena, 3 * copies, sizeof *strips);
    *n = 0;
    for (size_t i = 0; strips && i < motor->spec.n_grains; i++) {
        const struct sm_grain_entry *entry = &motor->spec.grains[i];
        for (int k = 0; k < entry->count; k++)
            put_grain(entry, &motor->geometry[i],
                      motor->place[i] + k * (entry->common.length + entry->spacing), strips, n);
    }
    return strips;
}

static int earlier(const void *a, const void *b)
{
    const struct knot *x = a, *y = b;
    return (x->t > y->t) - (x->t < y->t);
}

/* Lit share once the flame has reached z; where ends lie at z itself, without them or with. */
static double reached(const struct strip *strips, size_t n, double z, int with_ends)
{
    double lit = 0.0, all = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double length = strips[i].to - strips[i].from;
        const double share = length > 0.0 ? fmin(1.0, fmax(0.0, (z - strips[i].from) / length))
                                          : (with_ends ? z >= strips[i].from : z > strips[i].from);
        lit += share * strips[i].area;
        all += strips[i].area;
    }
    return lit / all;
}

static enum sm_status lit_by_flame(const struct sm_motor *motor, struct sm_arena *arena, struct polyline *out,
                                   struct sm_error *err)
{
    size_t n = 0;
    const struct strip *strips = find_strips(motor, arena, &n);
    struct knot *knots = sm_arena_alloc(arena, 4 * n, sizeof *knots);
    struct knot *places = sm_arena_alloc(arena, 2 * n, sizeof *places); /* z in the stead of t */
    if (!strips || !knots || !places)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    double first = SM_INF;
    for (size_t i = 0; i < n; i++)
        first = fmin(first, strips[i].from);
    for (size_t i = 0; i < n; i++) {
        places[2 * i] = (struct knot){strips[i].from, 0.0};
        places[2 * i + 1] = (struct knot){strips[i].to, 0.0};
    }
    qsort(places, 2 * n, sizeof *places, earlier);
    size_t used = 0;
    double last = -SM_INF;
    for (size_t i = 0; i < 2 * n; i++) {
        const double z = places[i].t;
        if (!(z > last))
            continue;
        last = z;
        const double t = (z - first) / motor->spec.ignition.spread_speed;
        const double before = reached(strips, n, z, 0), with = reached(strips, n, z, 1);
        knots[used++] = (struct knot){t, before};
        if (with > before)
            knots[used++] = (struct knot){t, with};
    }
    *out = (struct polyline){knots, used, 1.0};
    return SM_OK;
}

static enum sm_status lit_share(const struct sm_motor *motor, struct sm_arena *arena, struct polyline *out,
                                struct sm_error *err)
{
    if (!isnan(motor->spec.ignition.spread_speed))
        return lit_by_flame(motor, arena, out, err);
    struct knot *knots = sm_arena_alloc(arena, 2, sizeof *knots);
    if (!knots)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    knots[1] = (struct knot){motor->spec.ignition.spread_time, 1.0};
    *out = (struct polyline){knots, 2, 1.0};
    return SM_OK;
}

/* ---- igniter ---- */

static enum sm_status igniter_flow(const struct sm_motor *motor, struct sm_arena *arena, struct polyline *out,
                                   struct sm_error *err)
{
    const struct sm_igniter *igniter = &motor->spec.ignition.igniter;
    *out = (struct polyline){0};
    if (!motor->has_igniter)
        return SM_OK;
    const struct sm_igniter_point *given = igniter->flow.items;
    const size_t n = igniter->flow.n > 0 ? igniter->flow.n : 3;
    struct knot *knots = sm_arena_alloc(arena, n, sizeof *knots);
    if (!knots)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < igniter->flow.n; i++)
        knots[i] = (struct knot){given[i].time, given[i].mass_flow};
    if (igniter->flow.n == 0) {
        knots[1] = (struct knot){igniter->peak_time, igniter->peak_flow};
        knots[2] = (struct knot){igniter->duration, 0.0};
    }
    *out = (struct polyline){knots, n, 0.0};
    return SM_OK;
}

/* ---- epochs ---- */

/* Value at t and slope of the stretch that holds the middle of an epoch. */
static void line_at(const struct polyline *line, double middle, double t, double *value, double *slope)
{
    *value = line->after;
    *slope = 0.0;
    if (line->n > 0 && middle < line->knots[0].t)
        *value = 0.0;
    for (size_t i = 0; i + 1 < line->n; i++) {
        const struct knot *a = &line->knots[i], *b = a + 1;
        if (!(middle > a->t && middle < b->t))
            continue;
        *slope = (b->y - a->y) / (b->t - a->t);
        *value = a->y + *slope * (t - a->t);
    }
}

static size_t put_times(const struct polyline *line, struct knot *times, size_t n)
{
    for (size_t i = 0; i < line->n; i++)
        times[n++].t = line->knots[i].t;
    return n;
}

static struct sm_epoch epoch_at(const struct sm_motor *motor, const struct polyline *lit,
                                const struct polyline *inflow, double from, double until)
{
    const struct sm_nozzle *nozzle = &motor->spec.nozzle;
    const double middle = isinf(until) ? from + 1.0 : 0.5 * (from + until);
    struct sm_epoch epoch = {.from = from,
                             .until = until,
                             .erodes = nozzle->erosion.rate > 0.0 && middle > nozzle->erosion.onset,
                             .deposits = nozzle->deposit.rate > 0.0 && middle > nozzle->deposit.onset};
    line_at(lit, middle, from, &epoch.lit, &epoch.lit_slope);
    line_at(inflow, middle, from, &epoch.inflow, &epoch.inflow_slope);
    return epoch;
}

enum sm_status sm_epochs_make(const struct sm_motor *motor, struct sm_arena *arena, struct sm_epoch **epochs,
                              size_t *n, struct sm_error *err)
{
    struct polyline lit = {0}, inflow = {0};
    SM_TRY(lit_share(motor, arena, &lit, err));
    SM_TRY(igniter_flow(motor, arena, &inflow, err));
    struct knot *times = sm_arena_alloc(arena, lit.n + inflow.n + 3, sizeof *times);
    struct sm_epoch *room = sm_arena_alloc(arena, lit.n + inflow.n + 4, sizeof *room);
    if (!times || !room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    size_t n_times = put_times(&inflow, times, put_times(&lit, times, 1)); /* the first is ignition itself */
    if (motor->spec.nozzle.erosion.rate > 0.0)
        times[n_times++].t = motor->spec.nozzle.erosion.onset;
    if (motor->spec.nozzle.deposit.rate > 0.0)
        times[n_times++].t = motor->spec.nozzle.deposit.onset;
    qsort(times, n_times, sizeof *times, earlier);
    *n = 0;
    for (size_t i = 0; i < n_times; i++) {
        const double until = i + 1 < n_times ? times[i + 1].t : SM_INF;
        if (until > times[i].t)
            room[(*n)++] = epoch_at(motor, &lit, &inflow, times[i].t, until);
    }
    *epochs = room;
    return SM_OK;
}

double sm_epochs_delivered(const struct sm_epoch *epochs, size_t n, double t)
{
    double sum = 0.0;
    for (size_t i = 0; i < n && epochs[i].from < t; i++) {
        const double span = fmin(t, epochs[i].until) - epochs[i].from;
        sum += span * (epochs[i].inflow + 0.5 * span * epochs[i].inflow_slope);
    }
    return sum;
}
