/* The quasi-steady march: pressure follows the burning area at once, and time is the integral of dw / r. */
#include "ballistics/balance.h"
#include "ballistics/trace.h"

#include <math.h>

enum { MAX_DEPTH = 24, FIRST_CUTS = 8 };

struct march {
    const struct sm_chamber *chamber;
    struct sm_bands bands;
    struct sm_arena *arena;
    struct sm_trace *trace;
    size_t capacity;
    double accuracy;    /* of an interval's time and impulse, relative to the whole [1] */
    double least_rate;  /* below which the run is taken as gone out [m/s] */
    double peak_thrust; /* so far [N] */
    struct sm_node now; /* last node */
};

/* State at one distance burned. */
struct point {
    double w, pressure, rate, thrust, flow; /* [m], [Pa], [m/s], [N], [kg/s] */
    struct sm_mode mode;
};

static enum sm_status point_at(struct march *m, size_t piece, double w, double start_pressure,
                               struct point *out, struct sm_error *err)
{
    double area, volume;
    struct sm_balance rest;
    sm_piece_area(&m->chamber->stack->pieces[piece], w, &area, &volume);
    /* Slivers end in no area at all; a whisker keeps the balance defined. */
    area = fmax(area, 1e-12 * m->chamber->jet.throat_area);
    SM_TRY(sm_balance_find(m->chamber, &m->bands, area, start_pressure, &rest, err));
    *out = (struct point){
        .w = w,
        .pressure = rest.pressure,
        .rate = fmax(rest.rate, m->least_rate),
        .thrust = sm_jet_thrust(&m->chamber->jet, rest.pressure, NULL, NULL),
        .flow = sm_jet_mass_flow(&m->chamber->jet, rest.pressure, NULL),
        .mode = {.piece = piece, .band = rest.band, .is_sliding = rest.is_sliding},
    };
    m->peak_thrust = fmax(m->peak_thrust, out->thrust);
    return SM_OK;
}

static enum sm_status put(struct march *m, const struct point *p, struct sm_error *err)
{
    struct sm_trace *trace = m->trace;
    struct sm_node *room =
        sm_arena_grow(m->arena, trace->nodes, trace->n_nodes, &m->capacity, trace->n_nodes + 1, sizeof *room);
    if (!room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    trace->nodes = room;
    m->now.pressure = p->pressure;
    m->now.w = p->w;
    m->now.mode = p->mode;
    trace->nodes[trace->n_nodes++] = m->now;
    return SM_OK;
}

/* Simpson's rule for dt, F dt and mdot dt over [a, b] with its middle. */
static void add(struct march *m, const struct point *a, const struct point *mid, const struct point *b)
{
    const double sixth = (b->w - a->w) / 6.0;
    m->now.t += sixth * (1.0 / a->rate + 4.0 / mid->rate + 1.0 / b->rate);
    m->now.impulse += sixth * (a->thrust / a->rate + 4.0 * mid->thrust / mid->rate + b->thrust / b->rate);
    m->now.expelled += sixth * (a->flow / a->rate + 4.0 * mid->flow / mid->rate + b->flow / b->rate);
}

/* Is the middle so near the chord that neither a straight line in the series nor the rule's error is seen? */
static int is_fine(const struct march *m, const struct point *a, const struct point *mid,
                   const struct point *b)
{
    const double bend_p = fabs(mid->pressure - 0.5 * (a->pressure + b->pressure));
    const double bend_t = fabs(2.0 / mid->rate - 1.0 / a->rate - 1.0 / b->rate) * mid->rate;
    const double p = fmax(a->pressure, b->pressure);
    const double share = (b->w - a->w) / m->chamber->stack->web;
    return bend_p < 0.5 * m->accuracy * p && bend_t * share < m->accuracy;
}

static enum sm_status interval(struct march *m, size_t piece, const struct point *a, const struct point *b,
                               int depth, struct sm_error *err)
{
    struct point mid;
    SM_TRY(point_at(m, piece, 0.5 * (a->w + b->w), a->pressure, &mid, err));
    const int same = a->mode.band == b->mode.band && a->mode.is_sliding == b->mode.is_sliding;
    if (depth >= MAX_DEPTH || (same && is_fine(m, a, &mid, b))) {
        add(m, a, &mid, b);
        return put(m, b, err);
    }
    SM_TRY(interval(m, piece, a, &mid, depth + 1, err));
    struct point end;
    SM_TRY(point_at(m, piece, b->w, mid.pressure, &end, err));
    return interval(m, piece, &mid, &end, depth + 1, err);
}

static enum sm_status burn_piece(struct march *m, size_t i, double *pressure, struct sm_error *err)
{
    const struct sm_piece *piece = &m->chamber->stack->pieces[i];
    struct point a, b;
    SM_TRY(point_at(m, i, piece->w0, *pressure, &a, err));
    if (i == 0 || sm_chamber_jumps(m->chamber, i - 1, i))
        SM_TRY(put(m, &a, err));
    for (int k = 1; k <= FIRST_CUTS; k++) {
        const double w = k == FIRST_CUTS ? piece->w1 : piece->w0 + (piece->w1 - piece->w0) * k / FIRST_CUTS;
        SM_TRY(point_at(m, i, w, a.pressure, &b, err));
        SM_TRY(interval(m, i, &a, &b, 0, err));
        a = b;
    }
    *pressure = m->now.pressure;
    return SM_OK;
}

enum sm_status sm_march_equilibrium(const struct sm_chamber *chamber, const struct sm_march_options *options,
                                    struct sm_arena *arena, struct sm_trace *trace, struct sm_error *err)
{
    struct march m = {.chamber = chamber, .arena = arena, .trace = trace, .accuracy = options->accuracy};
    *trace = (struct sm_trace){.end = SM_RUN_BURNED_OUT};
    sm_bands_init(&m.bands, chamber);
    m.least_rate = 1e-9 * sm_burn_law_rate(&chamber->law, 0, 1e5, NULL);
    double pressure = chamber->start_pressure;
    for (size_t i = 0; i < chamber->stack->n_pieces; i++) {
        SM_TRY(burn_piece(&m, i, &pressure, err));
        if (options->progress && options->progress->step &&
            options->progress->step(options->progress->user, m.now.w / chamber->stack->web)) {
            trace->end = SM_RUN_CANCELLED;
            break;
        }
    }
    if (!(m.peak_thrust > 0.0))
        return sm_fail(err, SM_E_PHYSICS,
                       "the motor makes no thrust: its pressure falls to the ambient pressure; a "
                       "smaller throat or more burning area would help");
    trace->impulse = m.now.impulse;
    trace->expelled = m.now.expelled;
    trace->pressure_end = m.now.pressure;
    trace->steps = trace->n_nodes;
    return SM_OK;
}
