/* The quasi-steady march: pressure follows the burning area at once, and time is the integral of dw / r. */
#include "ballistics/balance.h"
#include "ballistics/trace.h"

#include <math.h>

enum { MAX_DEPTH = 24, FIRST_CUTS = 8 };
/* Part of what the books may be off by that one interval may use up; hundreds of intervals err, most by far less. */
static const double interval_share = 0.01;

struct march {
    const struct sm_chamber *chamber;
    struct sm_bands bands;
    struct sm_arena *arena;
    struct sm_trace *trace;
    size_t capacity;
    double accuracy;    /* of an interval's time and impulse, relative to the whole [1] */
    double least_rate;  /* below which the run is taken as gone out [m/s] */
    double peak_thrust; /* so far [N] */
    double impulse;     /* so far [N s] */
    double kept;        /* gas that fills what has burned, each bit at the pressure of its instant [kg] */
    struct sm_node now; /* last node */
};

/* State at one distance burned. */
struct point {
    double w, pressure, rate, thrust, flow; /* [m], [Pa], [m/s], [N], [kg/s] */
    double area, volume;                    /* burning [m2], of propellant left [m3] */
    double time, growth, warmth;            /* [s], of the throat's radius [m], [1] */
    double wear;                            /* of the throat's radius a distance burned [1] */
    double kept;                            /* gas that stays to fill the space, a distance burned [kg/m] */
    struct sm_mode mode;
};

static size_t epoch_at(const struct sm_chamber *chamber, double t)
{
    size_t i = 0;
    while (t >= chamber->epochs[i].until)
        i++;
    return i;
}

/* The chamber at w, reached from the point from with time and throat going on as at the point by. */
static enum sm_status point_at(struct march *m, size_t piece, double w, const struct point *from,
                               const struct point *by, struct point *out, struct sm_error *err)
{
    const struct sm_chamber *chamber = m->chamber;
    const double step = w - from->w, growth = from->growth + step * by->wear;
    const double time = step > 0.0 ? from->time + step / by->rate : from->time;
    double area, volume;
    struct sm_balance rest;
    struct sm_jet room;
    sm_piece_area(&chamber->stack->pieces[piece], w, &area, &volume);
    SM_TRY(sm_chamber_check_throat(chamber, growth, time, err));
    const struct sm_supply supply = {
        .chamber = chamber,
        .jet = sm_chamber_jet(chamber, growth, &room),
        /* Slivers end in no area at all; a whisker keeps the balance defined. */
        .lit_area = fmax(area, 1e-12 * chamber->throat_area),
        .heat = chamber->cools ? chamber->cooling * sm_bare_wall_area(&chamber->wall, w, NULL) : 0.0,
        .warmth = chamber->cools ? SM_ABSENT : 1.0,
    };
    SM_TRY(sm_balance_find(&supply, &m->bands, from->pressure, &rest, err));
    const size_t epoch = epoch_at(chamber, time);
    *out = (struct point){
        .w = w,
        .area = area,
        .volume = volume,
        .pressure = rest.pressure,
        .rate = fmax(rest.rate, m->least_rate),
        .thrust = sm_jet_thrust(supply.jet, rest.pressure, NULL, NULL),
        .time = time,
        .growth = growth,
        .warmth = sm_supply_warmth(&supply, rest.rate),
        .mode = {.piece = piece, .band = rest.band, .epoch = epoch, .is_sliding = rest.is_sliding},
    };
    out->mode.is_full = rest.pressure >= supply.jet->attached_pressure;
    out->kept = rest.pressure * area / (chamber->rt * out->warmth);
    out->flow = sm_jet_mass_flow(supply.jet, rest.pressure, NULL) / sqrt(out->warmth);
    if (chamber->wears)
        out->wear = sm_chamber_wear(chamber, &chamber->epochs[epoch], rest.pressure, NULL) / out->rate;
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
    m->now.y[SM_P] = p->pressure;
    m->now.y[SM_W] = p->w;
    m->now.y[SM_GROWTH] = p->growth;
    m->now.y[SM_WARMTH] = p->warmth;
    m->now.mode = p->mode;
    trace->nodes[trace->n_nodes++] = m->now;
    return SM_OK;
}

/* Simpson's rule for dt, F dt, mdot dt and the gas kept over [a, b] with its middle. */
static void add(struct march *m, const struct point *a, const struct point *mid, const struct point *b)
{
    const double sixth = (b->w - a->w) / 6.0;
    m->now.t += sixth * (1.0 / a->rate + 4.0 / mid->rate + 1.0 / b->rate);
    m->impulse += sixth * (a->thrust / a->rate + 4.0 * mid->thrust / mid->rate + b->thrust / b->rate);
    m->now.y[SM_EXPELLED] += sixth * (a->flow / a->rate + 4.0 * mid->flow / mid->rate + b->flow / b->rate);
    m->kept += sixth * (a->kept + 4.0 * mid->kept + b->kept);
}

/* How far the rule is off for the propellant burned, which is known, as a share of all there was [1]. */
static double book_error(const struct march *m, const struct point *a, const struct point *mid,
                         const struct point *b)
{
    const double rule = (b->w - a->w) / 6.0 * (a->area + 4.0 * mid->area + b->area);
    return fabs(rule - (a->volume - b->volume)) * m->chamber->density / m->chamber->loaded;
}

/* Is the middle so near the chord that neither a straight line in the series nor the rule's error is seen? */
static int is_fine(const struct march *m, const struct point *a, const struct point *mid,
                   const struct point *b)
{
    const double bend_p = fabs(mid->pressure - 0.5 * (a->pressure + b->pressure));
    const double bend_t = fabs(2.0 / mid->rate - 1.0 / a->rate - 1.0 / b->rate) * mid->rate;
    const double p = fmax(a->pressure, b->pressure);
    const double share = (b->w - a->w) / m->chamber->stack->web;
    return bend_p < 0.5 * m->accuracy * p && bend_t * share < m->accuracy &&
           book_error(m, a, mid, b) < interval_share * sm_books_allowed(m->accuracy);
}

static int same_formulas(const struct point *a, const struct point *b)
{
    return a->mode.band == b->mode.band && a->mode.is_sliding == b->mode.is_sliding &&
           a->mode.epoch == b->mode.epoch && a->mode.is_full == b->mode.is_full;
}

static enum sm_status interval(struct march *m, size_t piece, const struct point *a, struct point *b,
                               int depth, struct sm_error *err)
{
    struct point mid;
    SM_TRY(point_at(m, piece, 0.5 * (a->w + b->w), a, a, &mid, err));
    if (m->chamber->wears) /* the midpoint rule for the throat */
        SM_TRY(point_at(m, piece, b->w, a, &mid, b, err));
    if (depth >= MAX_DEPTH || (same_formulas(a, b) && is_fine(m, a, &mid, b))) {
        add(m, a, &mid, b);
        b->time = m->now.t;
        return put(m, b, err);
    }
    SM_TRY(interval(m, piece, a, &mid, depth + 1, err));
    SM_TRY(point_at(m, piece, b->w, &mid, &mid, b, err));
    return interval(m, piece, &mid, b, depth + 1, err);
}

static enum sm_status burn_piece(struct march *m, size_t i, struct point *last, struct sm_error *err)
{
    const struct sm_piece *piece = &m->chamber->stack->pieces[i];
    struct point a, b;
    SM_TRY(point_at(m, i, piece->w0, last, last, &a, err));
    if (i == 0 || sm_chamber_jumps(m->chamber, i - 1, i))
        SM_TRY(put(m, &a, err));
    for (int k = 1; k <= FIRST_CUTS; k++) {
        const double w = k == FIRST_CUTS ? piece->w1 : piece->w0 + (piece->w1 - piece->w0) * k / FIRST_CUTS;
        SM_TRY(point_at(m, i, w, &a, &a, &b, err));
        SM_TRY(interval(m, i, &a, &b, 0, err));
        a = b;
    }
    *last = a;
    return SM_OK;
}

/* Gas that a change of pressure would store or set free is what this model leaves out: its books hold the gas at the start
 * as it was, and that which fills what has burned. */
static void close_books(const struct march *m, const struct point *last)
{
    const struct sm_chamber *chamber = m->chamber;
    const struct sm_geometry *stack = chamber->stack;
    double all, left = 0.0, area;
    sm_piece_area(&stack->pieces[0], 0.0, &area, &all);
    if (last->mode.piece + 1 < stack->n_pieces) /* it was stopped */
        sm_piece_area(&stack->pieces[last->mode.piece], last->w, &area, &left);
    m->trace->volume_left = left;
    m->trace->gas_left = chamber->start_pressure * (chamber->volume_empty - all) / chamber->rt + m->kept;
}

enum sm_status sm_march_equilibrium(const struct sm_chamber *chamber, const struct sm_march_options *options,
                                    struct sm_arena *arena, struct sm_trace *trace, struct sm_error *err)
{
    struct march m = {.chamber = chamber, .arena = arena, .trace = trace, .accuracy = options->accuracy};
    *trace = (struct sm_trace){.end = SM_RUN_BURNED_OUT};
    sm_bands_init(&m.bands, chamber);
    m.least_rate = 1e-9 * sm_burn_law_rate(&chamber->law, 0, 1e5, NULL);
    m.now.y[SM_WARMTH] = 1.0;
    struct point last = {.pressure = chamber->start_pressure, .warmth = 1.0};
    for (size_t i = 0; i < chamber->stack->n_pieces; i++) {
        SM_TRY(burn_piece(&m, i, &last, err));
        if (options->progress && options->progress->step &&
            options->progress->step(options->progress->user, last.w / chamber->stack->web)) {
            trace->end = SM_RUN_CANCELLED;
            break;
        }
    }
    if (!(m.peak_thrust > 0.0))
        return sm_fail(err, SM_E_PHYSICS,
                       "the motor makes no thrust: its pressure falls to the ambient pressure; a "
                       "smaller throat or more burning area would help");
    trace->impulse = m.impulse;
    trace->expelled = m.now.y[SM_EXPELLED];
    close_books(&m, &last);
    trace->steps = trace->n_nodes;
    return SM_OK;
}
