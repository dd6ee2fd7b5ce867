/* Events of the transient march: what ends a mode, and which one follows. */
#include "ballistics/march.h"

#include <float.h>
#include <math.h>

/* ---- measures: positive while the present mode holds ---- */

/* Rates on the two sides of the edge that a sliding chamber rests on: the lower segment gives the higher
 * rate. */
static void rest_bounds(const struct sm_march *m, double *high, double *low)
{
    const size_t i = m->system.mode.band;
    const double edge = m->bands.edge[i];
    *high = sm_burn_law_rate(&m->chamber->law, m->bands.segment[i], edge, NULL);
    *low = sm_burn_law_rate(&m->chamber->law, m->bands.segment[i + 1], edge, NULL);
}

static double rest_rate(const struct sm_march *m, double t, const double *y)
{
    struct sm_instant now;
    double at[SM_N_UNKNOWNS] = {0.0};
    for (int i = 0; i < m->system.ros.n; i++)
        at[i] = y[i];
    at[SM_P] = m->bands.edge[m->system.mode.band];
    sm_chamber_instant(m->chamber, &m->bands, &m->system.mode, t, at, &now);
    return now.rate;
}

static double attached_pressure(const struct sm_march *m, const double *y)
{
    struct sm_jet room;
    return sm_chamber_jet(m->chamber, m->chamber->wears ? y[SM_GROWTH] : 0.0, &room)->attached_pressure;
}

double sm_event_measure(const struct sm_march *m, enum sm_event kind, double t, const double *y)
{
    const struct sm_mode *mode = &m->system.mode;
    const double p = y[SM_P];
    double high, low;
    switch (kind) {
    case SM_PIECE_END: {
        const struct sm_piece *piece = &m->chamber->stack->pieces[m->chamber->run_end[mode->piece]];
        return (piece->w1 - y[SM_W]) / m->chamber->stack->web;
    }
    case SM_BAND_TOP:
        return 1.0 - p / m->bands.edge[mode->band];
    case SM_BAND_BOTTOM:
        return p / m->bands.edge[mode->band - 1] - 1.0;
    case SM_REST_HIGH:
        rest_bounds(m, &high, &low);
        return 1.0 - rest_rate(m, t, y) / high;
    case SM_REST_LOW:
        rest_bounds(m, &high, &low);
        return rest_rate(m, t, y) / low - 1.0;
    case SM_FILLS:
        return 1.0 - p / attached_pressure(m, y);
    case SM_LEAVES:
        return p / attached_pressure(m, y) - 1.0;
    case SM_OPENS:
        return 1.0 - p / m->chamber->closure_pressure;
    case SM_HALF_GONE:
        return (m->half_web - y[SM_W]) / m->chamber->stack->web;
    case SM_FADED:
        return p / m->fade_pressure - 1.0;
    case SM_NO_EVENT:
        break;
    }
    return 1.0;
}

/* ---- finding ---- */

enum { MAX_WATCHED = 8 };

/* Which events can end the present mode. Returned: how many. */
static size_t watched(const struct sm_march *m, enum sm_event *kinds)
{
    const struct sm_mode *mode = &m->system.mode;
    const struct sm_jet *jet = &m->chamber->jet;
    size_t n = 0;
    if (!sm_march_burned_out(m))
        kinds[n++] = SM_PIECE_END;
    if (!m->may_fade)
        kinds[n++] = SM_HALF_GONE;
    if (m->chamber->wears && jet->ambient > 0.0)
        kinds[n++] = mode->is_full ? SM_LEAVES : SM_FILLS;
    if (mode->is_sliding) {
        kinds[n++] = SM_REST_HIGH;
        kinds[n++] = SM_REST_LOW;
        return n;
    }
    if (!m->chamber->wears && jet->attached_pressure > jet->choking_pressure)
        kinds[n++] = mode->is_full ? SM_LEAVES : SM_FILLS;
    if (mode->band + 1 < m->bands.n)
        kinds[n++] = SM_BAND_TOP;
    if (mode->band > 0)
        kinds[n++] = SM_BAND_BOTTOM;
    if (mode->is_closed)
        kinds[n++] = SM_OPENS;
    if (m->fade_pressure > 0.0)
        kinds[n++] = SM_FADED;
    return n;
}

/* The unknowns that measures look at, within the step. */
static void dense_at(const struct sm_march *m, const struct sm_ros_step *step, double theta, double *y)
{
    y[SM_P] = sm_ros_dense(step, SM_P, theta);
    y[SM_W] = sm_ros_dense(step, SM_W, theta);
    y[SM_EXPELLED] = 0.0;
    for (int i = SM_N_PLAIN; i < m->system.ros.n; i++)
        y[i] = sm_ros_dense(step, i, theta);
}

enum { SAMPLES = 4, HALVINGS = 60 };

/* First theta in (0, 1] at which the measure is negative, found on a few samples and closed in by bisection.
 * 2 if none. The start counts as inside even if rounding says otherwise. */
static double first_crossing(const struct sm_march *m, enum sm_event kind, const struct sm_ros_step *step,
                             double samples[SAMPLES][SM_N_UNKNOWNS])
{
    double low = 0.0, high = 2.0, y[SM_N_UNKNOWNS];
    for (int i = 0; i < SAMPLES && high > 1.0; i++) {
        const double theta = (i + 1.0) / SAMPLES;
        if (sm_event_measure(m, kind, step->t + theta * step->h, samples[i]) < 0.0)
            high = theta;
        else
            low = theta;
    }
    for (int i = 0; i < HALVINGS && high <= 1.0 && high - low > DBL_EPSILON * high; i++) {
        const double middle = 0.5 * (low + high);
        dense_at(m, step, middle, y);
        if (sm_event_measure(m, kind, step->t + middle * step->h, y) < 0.0)
            high = middle;
        else
            low = middle;
    }
    return high;
}

enum sm_event sm_event_first(const struct sm_march *m, const struct sm_ros_step *step, double *theta)
{
    enum sm_event kinds[MAX_WATCHED], first = SM_NO_EVENT;
    double samples[SAMPLES][SM_N_UNKNOWNS];
    const size_t n = watched(m, kinds);
    for (int i = 0; i < SAMPLES; i++)
        dense_at(m, step, (i + 1.0) / SAMPLES, samples[i]);
    *theta = 2.0;
    for (size_t i = 0; i < n; i++) {
        const double at = first_crossing(m, kinds[i], step, samples);
        if (at < *theta) {
            *theta = at;
            first = kinds[i];
        }
    }
    return first;
}

/* ---- changing mode ---- */

/* Pressure has come to an edge of its band. Past a joint where the rate steps, the other side's formula may
 * push it back; it then rests on the edge, and the surface burns at just the rate that keeps it there
 * (Filippov's sliding mode). Without this the march would chatter for ever. */
static void cross_edge(struct sm_march *m, size_t edge, int upwards)
{
    struct sm_mode *mode = &m->system.mode;
    m->y[SM_P] = m->bands.edge[edge];
    const size_t other = upwards ? edge + 1 : edge;
    mode->is_sliding = 0;
    if (m->bands.is_joint[edge] && !sm_march_burned_out(m)) {
        const double beyond = sm_burn_law_rate(&m->chamber->law, m->bands.segment[other], m->y[SM_P], NULL);
        mode->band = edge;
        mode->is_sliding = 1;
        const double rest = rest_rate(m, m->t, m->y);
        if (isfinite(rest) && (upwards ? beyond < rest : beyond > rest))
            return;
    }
    mode->band = other;
    mode->is_sliding = 0;
}

/* The area may jump at a piece's end, and a chamber that rested on a joint may then do so no longer. */
static void recheck_rest(struct sm_march *m)
{
    struct sm_mode *mode = &m->system.mode;
    if (!mode->is_sliding)
        return;
    double high, low, rate = SM_INF;
    rest_bounds(m, &high, &low);
    if (!sm_march_burned_out(m))
        rate = rest_rate(m, m->t, m->y);
    if (rate <= high && rate >= low)
        return;
    mode->is_sliding = 0;
    if (rate < low)
        mode->band++;
}

static void next_piece(struct sm_march *m)
{
    struct sm_mode *mode = &m->system.mode;
    const size_t last = m->chamber->run_end[mode->piece];
    m->y[SM_W] = m->chamber->stack->pieces[last].w1;
    mode->piece = last + 1;
    recheck_rest(m);
}

int sm_event_pass(struct sm_march *m, enum sm_event kind)
{
    struct sm_mode *mode = &m->system.mode;
    switch (kind) {
    case SM_PIECE_END:
        next_piece(m);
        break;
    case SM_BAND_TOP:
        cross_edge(m, mode->band, 1);
        break;
    case SM_BAND_BOTTOM:
        cross_edge(m, mode->band - 1, 0);
        break;
    case SM_REST_HIGH:
        mode->is_sliding = 0;
        break;
    case SM_REST_LOW:
        mode->is_sliding = 0;
        mode->band++;
        break;
    case SM_FILLS:
    case SM_LEAVES:
        mode->is_full = !mode->is_full;
        break;
    case SM_OPENS:
        mode->is_closed = 0;
        break;
    case SM_HALF_GONE:
        m->may_fade = 1;
        break;
    case SM_FADED:
        return 1;
    case SM_NO_EVENT:
        break;
    }
    return 0;
}

void sm_event_pass_epochs(struct sm_march *m)
{
    const struct sm_epoch *epochs = m->chamber->epochs;
    const size_t before = m->system.mode.epoch;
    while (m->t >= epochs[m->system.mode.epoch].until * (1.0 - 1e-14))
        m->system.mode.epoch++;
    if (m->system.mode.epoch != before)
        recheck_rest(m); /* a whole end may have caught fire at once */
}

void sm_march_set_mode(struct sm_march *m)
{
    struct sm_mode *mode = &m->system.mode;
    mode->band = sm_bands_find(&m->bands, m->y[SM_P]);
    mode->is_full = m->y[SM_P] >= m->chamber->jet.attached_pressure;
    mode->is_closed = m->y[SM_P] < m->chamber->closure_pressure;
}
