/* The transient march: adaptive steps, each event met exactly, then the other formulas take over. */
#include "ballistics/march.h"

#include <float.h>
#include <math.h>

enum { MAX_STEPS = 200000, MAX_ZERO_EVENTS = 64, REFINES = 8, USUAL_STEPS = 128 };
/* Error allowed in a step, as a share of the accuracy asked of the total. By measurement on motors of every shape, totals
 * then err by less than a tenth of the accuracy. */
static const double step_share = 0.1;
/* What the books may be off by is spent as propellant goes, a part of it being free from the start. One step may use up a part
 * of what is left, and always a little, so that rounding can't stop the march. [1] */
static const double book_start = 0.2, book_share = 0.1, book_least = 2e-3;
static const double safety = 0.9;        /* usual share of the step that error control allows */
static const double tail_share = 1e-3;   /* of peak thrust, where tail-off ends */
static const double longest_burn = 1e5;  /* a day and more: no motor burns so long [s] */
static const double event_slack = 1e-13; /* an event is met when its measure is this small, relative */

/* Repeats the step with other lengths until it ends on the event, by the secant of the last two ends. */
static enum sm_rhs end_on_event(struct sm_march *m, enum sm_event kind, double theta,
                                struct sm_ros_step *step)
{
    double h0 = 0.0, g0 = sm_event_measure(m, kind, m->t, m->y);
    double h1 = theta * step->h;
    for (int i = 0; i < REFINES; i++) {
        const enum sm_rhs answer = sm_ros_step(&m->system.ros, m->t, m->y, h1, step);
        if (answer != SM_RHS_GOOD)
            return answer;
        const double g1 = sm_event_measure(m, kind, m->t + h1, step->y1);
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

/* Thrust under a thousandth of its peak ends the run, once half of the propellant is gone. While thrust is near its peak
 * there is no need to know at what pressure that will be. */
static void judge_fading(struct sm_march *m)
{
    static const double near_peak = 0.5; /* [1] */
    if (m->fade_pressure > 0.0 || !(m->peak_thrust > 0.0))
        return;
    if (!sm_march_burned_out(m) && !(m->may_fade && m->thrust < near_peak * m->peak_thrust))
        return;
    struct sm_jet room;
    const struct sm_jet *jet = sm_chamber_jet(m->chamber, m->y[SM_GROWTH], &room);
    m->fade_pressure = sm_pressure_of_thrust(jet, tail_share * m->peak_thrust, m->y[SM_P]);
}

/* ---- steps ---- */

/* All that the books count: let out, in the chamber as gas and as propellant, less what the igniter brought [kg]. */
static double booked(const struct sm_march *m, double t, const double *y)
{
    const struct sm_chamber *chamber = m->chamber;
    struct sm_surface surface;
    sm_chamber_surface(chamber, &m->system.mode, y[SM_W], &surface);
    const double x = chamber->cools ? y[SM_WARMTH] : 1.0;
    const double gas = y[SM_P] * (chamber->volume_empty - surface.volume) / (chamber->rt * x);
    return y[SM_EXPELLED] + gas + chamber->density * surface.volume -
           sm_epochs_delivered(chamber->epochs, chamber->n_epochs, t);
}

/* How far the step puts the books off, over what it may. */
static double book_error(const struct sm_march *m, const struct sm_ros_step *step)
{
    const double more = booked(m, step->t + step->h, step->y1) - m->booked;
    const double spent = fabs(m->booked - m->chamber->loaded);
    const double free = book_start + (1.0 - book_start) * m->y[SM_EXPELLED] / m->chamber->loaded;
    const double left = book_share * (free * m->books_allowed - spent);
    return fabs(more) / fmax(left, book_least * m->books_allowed);
}

/* The stepper's estimate of the step's error, over what is allowed. */
static double error_norm(const struct sm_march *m, const struct sm_ros_step *step)
{
    const int n = m->system.ros.n;
    double sum = 0.0;
    for (int i = 0; i < n; i++) {
        const double size = fmax(m->scale[i], i == SM_P ? fabs(step->y1[i]) : 0.0);
        const double e = step->error[i] / (m->tolerance * size);
        sum += e * e;
    }
    return sqrt(sum / n);
}

/* A higher peak moves the thrust at which the run will end. */
static void note_thrust(struct sm_march *m)
{
    struct sm_jet room;
    const struct sm_jet *jet = sm_chamber_jet(m->chamber, m->y[SM_GROWTH], &room);
    m->thrust = m->system.mode.is_closed ? 0.0 : sm_jet_thrust(jet, m->y[SM_P], NULL, NULL);
    if (m->thrust > m->peak_thrust) {
        m->peak_thrust = m->thrust;
        m->fade_pressure = 0.0;
    }
}

/* Thrust feeds nothing back, so its integral need not go through the stepper: Gauss's rule of three points on the step's dense
 * output, which is a cubic [N s]. */
static double impulse_of(const struct sm_march *m, const struct sm_ros_step *step)
{
    static const double at[] = {0.11270166537925831, 0.5, 0.88729833462074169};
    static const double weight[] = {5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0};
    double sum = 0.0;
    for (size_t i = 0; i < SM_COUNT(at) && !m->system.mode.is_closed; i++) {
        struct sm_jet room;
        const double growth = m->chamber->wears ? sm_ros_dense(step, SM_GROWTH, at[i]) : 0.0;
        const struct sm_jet *jet = sm_chamber_jet(m->chamber, growth, &room);
        sum += weight[i] * sm_jet_thrust(jet, sm_ros_dense(step, SM_P, at[i]), NULL, NULL);
    }
    return sum * step->h;
}

static enum sm_status keep(struct sm_march *m, const struct sm_ros_step *step, struct sm_error *err)
{
    const size_t wanted = m->n < USUAL_STEPS ? USUAL_STEPS : m->n + 1;
    struct sm_stretch *room =
        sm_arena_grow(m->arena, m->stretches, m->n, &m->capacity, wanted, sizeof *m->stretches);
    if (!room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    m->stretches = room;
    m->stretches[m->n++] = (struct sm_stretch){.step = *step, .mode = m->system.mode};
    m->impulse += impulse_of(m, step);
    m->t = step->t + step->h;
    for (int i = 0; i < m->system.ros.n; i++)
        m->y[i] = step->y1[i];
    m->booked = booked(m, m->t, m->y);
    note_thrust(m);
    if (!sm_march_burned_out(m))
        m->system.mode.piece = sm_chamber_piece(m->chamber, &m->system.mode, m->y[SM_W]);
    return SM_OK;
}

/* Longest step that may be tried: not past the end of the epoch. */
static double step_limit(const struct sm_march *m, double h)
{
    const double left = m->chamber->epochs[m->system.mode.epoch].until - m->t;
    return h >= left * (1.0 - 1e-12) ? left : h;
}

/* Too short to move the clock, and not what is left of an epoch. */
static int is_stuck(const struct sm_march *m, double h)
{
    return !(h > 4.0 * DBL_EPSILON * m->t) && !(h > 0.0 && h < m->h);
}

/* Makes one step that meets the tolerance and ends at an event if there is one. */
static enum sm_status advance(struct sm_march *m, enum sm_event *event, struct sm_error *err)
{
    struct sm_ros_step step;
    for (;;) {
        const double h = step_limit(m, m->h);
        *event = SM_NO_EVENT;
        if (is_stuck(m, h))
            return sm_fail(err, SM_E_INTERNAL, "the chamber march can't go on at %.6g s, %.6g Pa", m->t,
                           m->y[SM_P]);
        if (sm_ros_step(&m->system.ros, m->t, m->y, h, &step) != SM_RHS_GOOD) {
            m->h = 0.25 * h;
            m->rejected++;
            continue;
        }
        double norm = error_norm(m, &step), theta;
        if (norm <= 1.0) {
            *event = sm_event_first(m, &step, &theta);
            if (*event != SM_NO_EVENT && end_on_event(m, *event, theta, &step) != SM_RHS_GOOD)
                return sm_fail(err, SM_E_INTERNAL, "an event at %.6g s, %.6g Pa could not be met", m->t,
                               m->y[SM_P]);
            /* Shorter is not always better: the surface may end like a root, with no bound to its slope. */
            if (*event != SM_NO_EVENT)
                norm = error_norm(m, &step);
            norm = fmax(norm, book_error(m, &step));
        }
        const double factor = fmin(5.0, fmax(0.2, safety * pow(fmax(norm, 1e-10), -0.25)));
        if (norm > 1.0) {
            m->h = step.h * fmin(factor, 0.9);
            m->rejected++;
            continue;
        }
        m->h = *event == SM_NO_EVENT ? h * factor : fmax(h, step.h * factor);
        return keep(m, &step, err);
    }
}

static enum sm_status check_sane(const struct sm_march *m, struct sm_error *err)
{
    if (m->y[SM_P] > 1e9)
        return sm_fail(err, SM_E_PHYSICS,
                       "chamber pressure passes 1 GPa at %.4g s: the throat is far too small", m->t);
    if (m->system.mode.is_closed && sm_march_burned_out(m) &&
        m->system.mode.epoch + 1 == m->chamber->n_epochs)
        return sm_at(
            err,
            sm_fail(err, SM_E_PHYSICS,
                    "the nozzle's closure holds: the pressure comes to %.4g MPa and it opens at %.4g "
                    "MPa",
                    1e-6 * m->y[SM_P], 1e-6 * m->chamber->closure_pressure),
            "/nozzle/closure_pressure");
    SM_TRY(sm_chamber_check_throat(m->chamber, m->y[SM_GROWTH], m->t, err));
    if (m->zero_events > MAX_ZERO_EVENTS)
        return sm_fail(err, SM_E_INTERNAL, "the march is caught between two formulas at %.6g s, %.6g Pa", m->t,
                       m->y[SM_P]);
    return SM_OK;
}

/* Distance at which half of the propellant is burned [m]. */
static double half_web(const struct sm_geometry *stack)
{
    struct sm_surface all, some;
    sm_piece_surface(&stack->pieces[0], 0.0, &all);
    double low = 0.0, high = stack->web;
    for (int i = 0; i < 40; i++) {
        const double middle = 0.5 * (low + high);
        sm_piece_surface(&stack->pieces[sm_geometry_find(stack, middle)], middle, &some);
        if (some.volume > 0.5 * all.volume)
            low = middle;
        else
            high = middle;
    }
    return high;
}

static void begin(struct sm_march *m, const struct sm_chamber *chamber, double accuracy,
                  struct sm_arena *arena)
{
    *m = (struct sm_march){.chamber = chamber, .arena = arena, .tolerance = step_share * accuracy};
    sm_bands_init(&m->bands, chamber);
    sm_chamber_system_init(&m->system, chamber, &m->bands);
    m->y[SM_P] = chamber->start_pressure;
    m->scale[SM_P] = 1e-3 * chamber->start_pressure;
    m->scale[SM_W] = chamber->stack->web;
    m->scale[SM_EXPELLED] = chamber->loaded;
    m->scale[SM_GROWTH] = chamber->throat_radius;
    m->scale[SM_WARMTH] = m->y[SM_WARMTH] = 1.0;
    sm_march_set_mode(m);
    note_thrust(m);
    m->booked = chamber->loaded;
    /* half is left for rounding, and for ends of steps that are put exactly on their events */
    m->books_allowed = 0.5 * sm_books_allowed(accuracy) * chamber->loaded;
    m->half_web = half_web(chamber->stack);
    const double filling = chamber->volume_empty / (chamber->jet.throat_area * chamber->jet.cstar);
    m->h = 1e-3 * filling;
}

/* An event puts pressure or distance burned on its very place, a rounding from where the step ended; the step is then told to
 * end there too, so that the series neither passes it nor turns back. */
static void meet_exactly(struct sm_march *m)
{
    struct sm_ros_step *last = &m->stretches[m->n - 1].step;
    last->y1[SM_P] = m->y[SM_P];
    last->y1[SM_W] = m->y[SM_W];
}

/* Has thrust faded already when that comes to be judged? Without outside pressure nothing stops a chamber from emptying for
 * ever; with it, a burned-out chamber at that pressure is at rest. */
static int has_faded(const struct sm_march *m)
{
    return m->fade_pressure > 0.0 && m->y[SM_P] <= m->fade_pressure * (1.0 + event_slack);
}

static enum sm_run_end end_of(const struct sm_march *m)
{
    return sm_march_burned_out(m) ? SM_RUN_BURNED_OUT : SM_RUN_FADED;
}

static enum sm_status run(struct sm_march *m, const struct sm_progress *progress, enum sm_run_end *end,
                          struct sm_error *err)
{
    for (size_t i = 0; i < MAX_STEPS && m->t < longest_burn; i++) {
        enum sm_event event;
        const double before = m->t;
        SM_TRY(advance(m, &event, err));
        m->zero_events = m->t > before + 8.0 * DBL_EPSILON * m->t ? 0 : m->zero_events + 1;
        sm_event_pass_epochs(m);
        const int is_over = sm_event_pass(m, event);
        meet_exactly(m);
        if (!is_over) {
            judge_fading(m);
            SM_TRY(check_sane(m, err));
        }
        if (is_over || has_faded(m)) {
            *end = end_of(m);
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
    struct sm_march m;
    *trace = (struct sm_trace){0};
    begin(&m, chamber, options->accuracy, arena);
    SM_TRY(run(&m, options->progress, &trace->end, err));
    if (!(m.peak_thrust > 0.0))
        return sm_fail(err, SM_E_PHYSICS,
                       "the motor makes no thrust: its pressure falls to the ambient pressure; a "
                       "smaller throat or more burning area would help");
    struct sm_instant now;
    sm_chamber_instant(chamber, &m.bands, &m.system.mode, m.t, m.y, &now);
    trace->impulse = m.impulse;
    trace->expelled = m.y[SM_EXPELLED];
    trace->volume_left = now.volume_left;
    trace->gas_left = m.y[SM_P] * (chamber->volume_empty - now.volume_left) / (chamber->rt * m.y[SM_WARMTH]);
    trace->delivered = sm_epochs_delivered(chamber->epochs, chamber->n_epochs, m.t);
    trace->steps = m.n;
    trace->rejected = m.rejected;
    return sm_trace_sample(chamber, m.stretches, m.n, options->accuracy, arena, trace, err);
}

double sm_pressure_of_thrust(const struct sm_jet *jet, double thrust, double highest)
{
    double low = 0.0, high = highest, miss_low = -thrust;
    double miss_high = sm_jet_thrust(jet, high, NULL, NULL) - thrust;
    for (int i = 0; i < 200 && miss_high < 0.0; i++) {
        high *= 2.0;
        miss_high = sm_jet_thrust(jet, high, NULL, NULL) - thrust;
    }
    /* False position with the Illinois rule: an end that stays is given half its weight. Every third try halves, for the
     * flat stretch below ambient. */
    int stays = 0;
    for (int i = 1; i < 200 && high - low > 4.0 * DBL_EPSILON * high; i++) {
        double middle = (low * miss_high - high * miss_low) / (miss_high - miss_low);
        if (i % 3 == 0 || !(middle > low && middle < high))
            middle = 0.5 * (low + high);
        const double miss = sm_jet_thrust(jet, middle, NULL, NULL) - thrust;
        if (miss < 0.0) {
            low = middle;
            miss_low = miss;
            miss_high *= stays < 0 ? 0.5 : 1.0;
            stays = -1;
        } else {
            high = middle;
            miss_high = miss;
            miss_low *= stays > 0 ? 0.5 : 1.0;
            stays = 1;
        }
    }
    return high;
}
