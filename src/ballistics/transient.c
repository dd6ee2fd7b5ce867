/* The transient march: adaptive steps, each event met exactly, then the other formulas take over. */
#include "ballistics/trace.h"

#include <float.h>
#include <math.h>

enum { MAX_STEPS = 200000, MAX_ZERO_EVENTS = 64, REFINES = 8 };
/* Error allowed in a step, as a share of the accuracy asked of the total. By measurement on end burners and tubes, totals
 * then err by less than a tenth of the accuracy, and the books close to better than a hundredth. */
static const double step_share = 0.03;
static const double safety = 0.9;        /* usual share of the step that error control allows */
static const double tail_share = 1e-3;   /* of peak thrust, where tail-off ends */
static const double longest_burn = 1e5;  /* a day and more: no motor burns so long [s] */
static const double event_slack = 1e-13; /* an event is met when its measure is this small, relative */

enum event_kind { NO_EVENT, PIECE_END, BAND_TOP, BAND_BOTTOM, REST_HIGH, REST_LOW, FADED };

struct march {
    const struct sm_chamber *chamber;
    struct sm_bands bands;
    struct sm_chamber_system system;
    struct sm_arena *arena;
    struct sm_stretch *stretches;
    size_t n, capacity;
    double t, h;                 /* [s] */
    double y[SM_N_UNKNOWNS];     /* [Pa], [m], [N s], [kg] */
    double scale[SM_N_UNKNOWNS]; /* floor of the error scale [unit of y] */
    double tolerance;            /* relative, of a step [1] */
    double peak_thrust;          /* so far [N] */
    double fade_pressure;        /* below which the run ends; 0 while that is not yet judged [Pa] */
    size_t rejected, zero_events;
};

/* ---- events: a measure that is positive while the present mode holds ---- */

static int is_burned_out(const struct march *m)
{
    return m->system.mode.piece >= m->chamber->stack->n_pieces;
}

/* Rates on the two sides of the edge that a sliding chamber rests on: the lower segment gives the higher
 * rate. */
static void rest_bounds(const struct march *m, double *high, double *low)
{
    const size_t i = m->system.mode.band;
    const double edge = m->bands.edge[i];
    *high = sm_burn_law_rate(&m->chamber->law, m->bands.segment[i], edge, NULL);
    *low = sm_burn_law_rate(&m->chamber->law, m->bands.segment[i + 1], edge, NULL);
}

static double rest_rate(const struct march *m, double t, double w)
{
    struct sm_instant now;
    sm_chamber_instant(m->chamber, &m->bands, &m->system.mode, t, m->bands.edge[m->system.mode.band], w,
                       &now);
    return now.rate;
}

/* The measure of an event at time t, pressure p and distance burned w, scaled to be of order one. */
static double measure(const struct march *m, enum event_kind kind, double t, double p, double w)
{
    const struct sm_mode *mode = &m->system.mode;
    double high, low;
    switch (kind) {
    case PIECE_END: {
        const struct sm_piece *piece = &m->chamber->stack->pieces[m->chamber->run_end[mode->piece]];
        return (piece->w1 - w) / m->chamber->stack->web;
    }
    case BAND_TOP:
        return 1.0 - p / m->bands.edge[mode->band];
    case BAND_BOTTOM:
        return p / m->bands.edge[mode->band - 1] - 1.0;
    case REST_HIGH:
        rest_bounds(m, &high, &low);
        return 1.0 - rest_rate(m, t, w) / high;
    case REST_LOW:
        rest_bounds(m, &high, &low);
        return rest_rate(m, t, w) / low - 1.0;
    case FADED:
        return p / m->fade_pressure - 1.0;
    case NO_EVENT:
        break;
    }
    return 1.0;
}

/* Which events can end the present mode. Returned: how many. */
static size_t watched(const struct march *m, enum event_kind *kinds)
{
    const struct sm_mode *mode = &m->system.mode;
    size_t n = 0;
    if (!is_burned_out(m))
        kinds[n++] = PIECE_END;
    if (mode->is_sliding) {
        kinds[n++] = REST_HIGH;
        kinds[n++] = REST_LOW;
        return n;
    }
    if (mode->band + 1 < m->bands.n)
        kinds[n++] = BAND_TOP;
    if (mode->band > 0)
        kinds[n++] = BAND_BOTTOM;
    if (m->fade_pressure > 0.0)
        kinds[n++] = FADED;
    return n;
}

static double measure_dense(const struct march *m, enum event_kind kind, const struct sm_ros_step *step,
                            double theta)
{
    return measure(m, kind, step->t + theta * step->h, sm_ros_dense(step, SM_P, theta),
                   sm_ros_dense(step, SM_W, theta));
}

/* First theta in (0, 1] at which the measure is negative, found on a few samples and closed in by bisection.
 * 2 if none. The start counts as inside even if rounding says otherwise. */
static double first_crossing(const struct march *m, enum event_kind kind, const struct sm_ros_step *step)
{
    enum { SAMPLES = 4, HALVINGS = 60 };
    double low = 0.0, high = 2.0;
    for (int i = 1; i <= SAMPLES && high > 1.0; i++) {
        const double theta = (double)i / SAMPLES;
        if (measure_dense(m, kind, step, theta) < 0.0)
            high = theta;
        else
            low = theta;
    }
    for (int i = 0; i < HALVINGS && high <= 1.0 && high - low > DBL_EPSILON * high; i++) {
        const double middle = 0.5 * (low + high);
        if (measure_dense(m, kind, step, middle) < 0.0)
            high = middle;
        else
            low = middle;
    }
    return high;
}

static enum event_kind first_event(const struct march *m, const struct sm_ros_step *step, double *theta)
{
    enum event_kind kinds[6], first = NO_EVENT;
    const size_t n = watched(m, kinds);
    *theta = 2.0;
    for (size_t i = 0; i < n; i++) {
        const double at = first_crossing(m, kinds[i], step);
        if (at < *theta) {
            *theta = at;
            first = kinds[i];
        }
    }
    return first;
}

/* Repeats the step with other lengths until it ends on the event, by the secant of the last two ends. */
static enum sm_rhs end_on_event(struct march *m, enum event_kind kind, double theta, struct sm_ros_step *step)
{
    double h0 = 0.0, g0 = measure(m, kind, m->t, m->y[SM_P], m->y[SM_W]);
    double h1 = theta * step->h;
    for (int i = 0; i < REFINES; i++) {
        const enum sm_rhs answer = sm_ros_step(&m->system.ros, m->t, m->y, h1, step);
        if (answer != SM_RHS_GOOD)
            return answer;
        const double g1 = measure(m, kind, m->t + h1, step->y1[SM_P], step->y1[SM_W]);
        if (fabs(g1) < event_slack || g1 == g0)
            break;
        const double h2 = h1 - g1 * (h1 - h0) / (g1 - g0);
        if (!(h2 > 0.0) || !(fabs(h2 - h1) > 4.0 * DBL_EPSILON * (m->t + h1)))
            break;
        h0 = h1;
        g0 = g1;
        h1 = h2;
    }
    return SM_RHS_GOOD;
}

/* ---- changing mode ---- */

static double lit_area(const struct march *m)
{
    struct sm_instant now;
    sm_chamber_instant(m->chamber, &m->bands, &m->system.mode, m->t, m->y[SM_P], m->y[SM_W], &now);
    return now.lit * now.area;
}

/* Pressure has come to an edge of its band. Past a joint where the rate steps, the other side's formula may
 * push it back; it then rests on the edge, and the surface burns at just the rate that keeps it there
 * (Filippov's sliding mode). Without this the march would chatter for ever. */
static void cross_edge(struct march *m, size_t edge, int upwards)
{
    struct sm_mode *mode = &m->system.mode;
    m->y[SM_P] = m->bands.edge[edge];
    const size_t other = upwards ? edge + 1 : edge;
    if (m->bands.is_joint[edge] && !is_burned_out(m)) {
        const double rate = sm_burn_law_rate(&m->chamber->law, m->bands.segment[other], m->y[SM_P], NULL);
        const double surplus = sm_chamber_surplus(m->chamber, m->y[SM_P], lit_area(m), rate);
        if (upwards ? surplus < 0.0 : surplus > 0.0) {
            mode->band = edge;
            mode->is_sliding = 1;
            return;
        }
    }
    mode->band = other;
    mode->is_sliding = 0;
}

/* The area may jump at a piece's end, and a chamber that rested on a joint may then do so no longer. */
static void recheck_rest(struct march *m)
{
    struct sm_mode *mode = &m->system.mode;
    if (!mode->is_sliding)
        return;
    double high, low, rate;
    rest_bounds(m, &high, &low);
    if (is_burned_out(m))
        rate = SM_INF;
    else
        rate = rest_rate(m, m->t, m->y[SM_W]);
    if (rate <= high && rate >= low)
        return;
    mode->is_sliding = 0;
    if (rate < low)
        mode->band++;
}

/* Once the larger part of the web is gone, or all of it, thrust under a thousandth of its peak ends the run.
 */
static void judge_fading(struct march *m)
{
    if (m->fade_pressure > 0.0 || !(m->peak_thrust > 0.0))
        return;
    if (is_burned_out(m) || m->y[SM_W] > 0.5 * m->chamber->stack->web)
        m->fade_pressure = sm_pressure_of_thrust(&m->chamber->jet, tail_share * m->peak_thrust, m->y[SM_P]);
}

static void next_piece(struct march *m)
{
    struct sm_mode *mode = &m->system.mode;
    const size_t last = m->chamber->run_end[mode->piece];
    m->y[SM_W] = m->chamber->stack->pieces[last].w1;
    mode->piece = last + 1;
    recheck_rest(m);
}

/* Returned: is the run over? */
static int change_mode(struct march *m, enum event_kind kind)
{
    struct sm_mode *mode = &m->system.mode;
    switch (kind) {
    case PIECE_END:
        next_piece(m);
        break;
    case BAND_TOP:
        cross_edge(m, mode->band, 1);
        break;
    case BAND_BOTTOM:
        cross_edge(m, mode->band - 1, 0);
        break;
    case REST_HIGH:
        mode->is_sliding = 0;
        break;
    case REST_LOW:
        mode->is_sliding = 0;
        mode->band++;
        break;
    case FADED:
        return 1;
    case NO_EVENT:
        break;
    }
    return 0;
}

/* ---- steps ---- */

static double error_norm(const struct march *m, const struct sm_ros_step *step)
{
    double sum = 0.0;
    for (int i = 0; i < SM_N_UNKNOWNS; i++) {
        const double size = fmax(m->scale[i], i == SM_P ? fabs(step->y1[i]) : 0.0);
        const double e = step->error[i] / (m->tolerance * size);
        sum += e * e;
    }
    return sqrt(sum / SM_N_UNKNOWNS);
}

static enum sm_status keep(struct march *m, const struct sm_ros_step *step, struct sm_error *err)
{
    struct sm_stretch *room =
        sm_arena_grow(m->arena, m->stretches, m->n, &m->capacity, m->n + 1, sizeof *m->stretches);
    if (!room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    m->stretches = room;
    m->stretches[m->n++] = (struct sm_stretch){.step = *step, .mode = m->system.mode};
    m->t = step->t + step->h;
    for (int i = 0; i < SM_N_UNKNOWNS; i++)
        m->y[i] = step->y1[i];
    const double thrust = sm_jet_thrust(&m->chamber->jet, m->y[SM_P], NULL, NULL);
    m->peak_thrust = fmax(m->peak_thrust, thrust);
    if (!is_burned_out(m))
        m->system.mode.piece = sm_chamber_piece(m->chamber, &m->system.mode, m->y[SM_W]);
    return SM_OK;
}

/* Longest step that may be tried: not past the instant at which all of the surface is lit. */
static double step_limit(const struct march *m, double h)
{
    if (!m->system.mode.is_spreading)
        return h;
    const double left = m->chamber->spread_time - m->t;
    return h >= left * (1.0 - 1e-12) ? left : h;
}

/* Makes one step that meets the tolerance and ends at an event if there is one. */
static enum sm_status advance(struct march *m, enum event_kind *event, struct sm_error *err)
{
    struct sm_ros_step step;
    *event = NO_EVENT;
    for (;;) {
        const double h = step_limit(m, m->h);
        if (!(h > 4.0 * DBL_EPSILON * m->t) && !(m->system.mode.is_spreading && h > 0.0))
            return sm_fail(err, SM_E_NUMERIC, "the chamber march can't go on at %.6g s, %.6g Pa", m->t,
                           m->y[SM_P]);
        if (sm_ros_step(&m->system.ros, m->t, m->y, h, &step) != SM_RHS_GOOD) {
            m->h = 0.25 * h;
            m->rejected++;
            continue;
        }
        const double norm = error_norm(m, &step);
        const double factor = fmin(5.0, fmax(0.2, safety * pow(fmax(norm, 1e-10), -0.25)));
        if (norm > 1.0) {
            m->h = h * fmin(factor, 0.9);
            m->rejected++;
            continue;
        }
        double theta;
        *event = first_event(m, &step, &theta);
        if (*event != NO_EVENT && end_on_event(m, *event, theta, &step) != SM_RHS_GOOD)
            return sm_fail(err, SM_E_NUMERIC, "an event at %.6g s, %.6g Pa could not be met", m->t,
                           m->y[SM_P]);
        m->h = *event == NO_EVENT ? h * factor : h;
        return keep(m, &step, err);
    }
}

static enum sm_status check_sane(const struct march *m, struct sm_error *err)
{
    if (m->y[SM_P] > 1e9)
        return sm_fail(err, SM_E_PHYSICS,
                       "chamber pressure passes 1 GPa at %.4g s: the throat is far too small", m->t);
    if (m->zero_events > MAX_ZERO_EVENTS)
        return sm_fail(err, SM_E_NUMERIC, "the march is caught between two formulas at %.6g s, %.6g Pa", m->t,
                       m->y[SM_P]);
    return SM_OK;
}

static void begin(struct march *m, const struct sm_chamber *chamber, double accuracy, struct sm_arena *arena)
{
    *m = (struct march){.chamber = chamber, .arena = arena, .tolerance = step_share * accuracy};
    sm_bands_init(&m->bands, chamber);
    sm_chamber_system_init(&m->system, chamber, &m->bands);
    m->y[SM_P] = chamber->start_pressure;
    m->scale[SM_P] = 1e-3 * chamber->start_pressure;
    m->scale[SM_W] = chamber->stack->web;
    m->scale[SM_EXPELLED] = chamber->loaded;
    m->scale[SM_IMPULSE] = chamber->loaded * chamber->jet.cstar;
    m->system.mode.is_spreading = chamber->spread_time > 0.0;
    while (m->system.mode.band + 1 < m->bands.n && m->y[SM_P] >= m->bands.edge[m->system.mode.band])
        m->system.mode.band++;
    const double filling = chamber->volume_empty / (chamber->jet.throat_area * chamber->jet.cstar);
    m->h = 1e-3 * filling;
}

/* Without outside pressure nothing stops a chamber from emptying for ever; with it, a burned-out chamber at
 * that pressure is at rest. */
static int is_at_rest(const struct march *m)
{
    return is_burned_out(m) && m->y[SM_P] <= m->fade_pressure * (1.0 + event_slack);
}

static enum sm_status run(struct march *m, const struct sm_progress *progress, enum sm_run_end *end,
                          struct sm_error *err)
{
    for (size_t i = 0; i < MAX_STEPS && m->t < longest_burn; i++) {
        enum event_kind event;
        const double before = m->t;
        SM_TRY(advance(m, &event, err));
        m->zero_events = m->t > before + 8.0 * DBL_EPSILON * m->t ? 0 : m->zero_events + 1;
        if (m->system.mode.is_spreading && m->t >= m->chamber->spread_time * (1.0 - 1e-14))
            m->system.mode.is_spreading = 0;
        if (change_mode(m, event)) {
            *end = is_burned_out(m) ? SM_RUN_BURNED_OUT : SM_RUN_FADED;
            return SM_OK;
        }
        judge_fading(m);
        SM_TRY(check_sane(m, err));
        if (is_at_rest(m)) {
            *end = SM_RUN_BURNED_OUT;
            return SM_OK;
        }
        if (progress && progress->step && i % 64 == 63 &&
            progress->step(progress->user, m->y[SM_W] / m->chamber->stack->web)) {
            *end = SM_RUN_CANCELLED;
            return SM_OK;
        }
    }
    *end = SM_RUN_TIME_LIMIT;
    return SM_OK;
}

enum sm_status sm_march_transient(const struct sm_chamber *chamber, const struct sm_march_options *options,
                                  struct sm_arena *arena, struct sm_trace *trace, struct sm_error *err)
{
    struct march m;
    *trace = (struct sm_trace){0};
    begin(&m, chamber, options->accuracy, arena);
    SM_TRY(run(&m, options->progress, &trace->end, err));
    if (!(m.peak_thrust > 0.0))
        return sm_fail(err, SM_E_PHYSICS,
                       "the motor makes no thrust: its pressure falls to the ambient pressure; a "
                       "smaller throat or more burning area would help");
    struct sm_instant now;
    sm_chamber_instant(chamber, &m.bands, &m.system.mode, m.t, m.y[SM_P], m.y[SM_W], &now);
    trace->impulse = m.y[SM_IMPULSE];
    trace->expelled = m.y[SM_EXPELLED];
    trace->pressure_end = m.y[SM_P];
    trace->volume_left = now.volume_left;
    trace->steps = m.n;
    trace->rejected = m.rejected;
    return sm_trace_sample(chamber, m.stretches, m.n, options->accuracy, arena, trace, err);
}

double sm_pressure_of_thrust(const struct sm_jet *jet, double thrust, double highest)
{
    double low = 0.0, high = highest;
    for (int i = 0; i < 200 && sm_jet_thrust(jet, high, NULL, NULL) < thrust; i++)
        high *= 2.0;
    for (int i = 0; i < 200 && high - low > 2.0 * DBL_EPSILON * high; i++) {
        const double middle = 0.5 * (low + high);
        if (sm_jet_thrust(jet, middle, NULL, NULL) < thrust)
            low = middle;
        else
            high = middle;
    }
    return high;
}
