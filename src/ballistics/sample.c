/* From the march's smooth stretches to the nodes of a series. */
#include "ballistics/trace.h"

#include <float.h>
#include <math.h>

enum { MAX_PARTS = 256, MAX_MARKS = 3, CUBIC_ROOTS = 3, USUAL_NODES = 256 };

/* Instants within one step, as shares of it, in rising order. */
enum { MAX_INSTANTS = MAX_PARTS + MAX_MARKS * CUBIC_ROOTS + 8 };
struct instants {
    double theta[MAX_INSTANTS]; /* [1] */
    size_t n;
};

static void insert(struct instants *in, double theta)
{
    /* An instant that all but coincides with another adds nothing but rounding. */
    static const double close = 1e-9;
    size_t i = in->n;
    while (i > 0 && in->theta[i - 1] > theta)
        i--;
    if (in->n >= MAX_INSTANTS || (i > 0 && theta - in->theta[i - 1] < close) ||
        (i < in->n && in->theta[i] - theta < close))
        return;
    for (size_t j = in->n; j > i; j--)
        in->theta[j] = in->theta[j - 1];
    in->theta[i] = theta;
    in->n++;
}

static double pressure_at(const struct sm_ros_step *step, double theta)
{
    return sm_ros_dense(step, SM_P, theta);
}

/* Where the pressure turns inside the step: roots of the quadratic slope. Returned: how many, 0 to 2. */
static size_t turns(const struct sm_ros_step *step, double *theta)
{
    const double c4 = step->c4[SM_P], a = -3.0 * c4, b = 2.0 * (c4 - step->c3[SM_P]);
    const double c = step->y1[SM_P] - step->y0[SM_P] + step->c3[SM_P];
    const double d = b * b - 4.0 * a * c;
    if (!(d > 0.0))
        return 0;
    const double q = -0.5 * (b + copysign(sqrt(d), b));
    const double roots[2] = {a != 0.0 ? q / a : -1.0, q != 0.0 ? c / q : -1.0};
    size_t n = 0;
    for (int i = 0; i < 2; i++)
        if (roots[i] > 0.0 && roots[i] < 1.0)
            theta[n++] = roots[i];
    return n;
}

/* Crossing of a pressure level between two instants on whose two sides it lies. */
static double crossing(const struct sm_ros_step *step, double level, double low, double high)
{
    const int rising = pressure_at(step, high) > pressure_at(step, low);
    for (int i = 0; i < 80 && high - low > DBL_EPSILON; i++) {
        const double middle = 0.5 * (low + high);
        if ((pressure_at(step, middle) < level) == rising)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

static void insert_level(struct instants *in, const struct sm_ros_step *step, double level,
                         const double *turn, size_t n_turns)
{
    double ends[4] = {0.0};
    size_t n = 1;
    for (size_t i = 0; i < n_turns; i++)
        ends[n++] = turn[i];
    if (n == 3 && ends[1] > ends[2]) {
        const double swap = ends[1];
        ends[1] = ends[2];
        ends[2] = swap;
    }
    ends[n++] = 1.0;
    for (size_t i = 0; i + 1 < n; i++)
        if ((pressure_at(step, ends[i]) - level) * (pressure_at(step, ends[i + 1]) - level) < 0.0)
            insert(in, crossing(step, level, ends[i], ends[i + 1]));
}

/* Parts into which a step must be cut for straight lines to miss the cubic by at most slack: a chord over 1/k
 * of it errs by |P''| / (8 k^2), and |P''| of a cubic is largest at an end. */
static int parts(const struct sm_ros_step *step, double slack)
{
    const double bend0 = fabs(2.0 * (step->c4[SM_P] - step->c3[SM_P]));
    const double bend1 = fabs(2.0 * (step->c4[SM_P] - step->c3[SM_P]) - 6.0 * step->c4[SM_P]);
    const double k = ceil(sqrt(fmax(bend0, bend1) / (8.0 * slack)));
    return k < 1.0 ? 1 : k > MAX_PARTS ? MAX_PARTS : (int)k;
}

struct levels {
    double pressure[MAX_MARKS]; /* [Pa] */
    double peak;                /* [Pa] */
    double thrust;              /* at its peak [N] */
};

/* Peak pressure of the run, and peak thrust with it. */
static void find_peaks(const struct sm_chamber *chamber, const struct sm_stretch *s, size_t n,
                       struct levels *levels)
{
    levels->peak = chamber->start_pressure;
    levels->thrust = 0.0;
    for (size_t i = 0; i < n; i++) {
        double turn[2], highest = s[i].step.y1[SM_P];
        const size_t n_turns = turns(&s[i].step, turn);
        for (size_t j = 0; j < n_turns; j++)
            highest = fmax(highest, pressure_at(&s[i].step, turn[j]));
        levels->peak = fmax(levels->peak, highest);
        if (chamber->wears && !s[i].mode.is_closed) {
            struct sm_jet room;
            const struct sm_jet *jet = sm_chamber_jet(chamber, s[i].step.y1[SM_GROWTH], &room);
            levels->thrust = fmax(levels->thrust, sm_jet_thrust(jet, highest, NULL, NULL));
        }
    }
    if (!chamber->wears)
        levels->thrust = sm_jet_thrust(&chamber->jet, levels->peak, NULL, NULL);
    levels->pressure[1] = chamber->jet.ambient + 0.10 * (levels->peak - chamber->jet.ambient);
}

/* The levels that burn time (5 % of peak thrust) and action time (10 % of peak pressure, over the ambient) are read off,
 * through the throat as it is. */
static void find_levels(const struct sm_jet *jet, struct levels *levels)
{
    levels->pressure[0] = sm_pressure_of_thrust(jet, 0.05 * levels->thrust, levels->peak);
    levels->pressure[2] = sm_pressure_of_thrust(jet, 0.5 * levels->thrust, levels->peak);
}

static void choose(const struct sm_stretch *s, const struct levels *levels, double slack, struct instants *in)
{
    double turn[2];
    const struct sm_ros_step *step = &s->step;
    const int k = parts(step, slack);
    const size_t n_turns = turns(step, turn);
    in->n = 0;
    for (int i = 0; i <= k; i++)
        insert(in, (double)i / k);
    for (size_t i = 0; i < n_turns; i++)
        insert(in, turn[i]);
    for (size_t i = 0; i < MAX_MARKS; i++)
        insert_level(in, step, levels->pressure[i], turn, n_turns);
}

static struct sm_node node_at(const struct sm_stretch *s, int n_unknowns, double theta)
{
    const struct sm_ros_step *step = &s->step;
    const int at_end = theta >= 1.0; /* exactly the step's end, not the dense output's rounding of it */
    struct sm_node node = {.t = step->t + theta * step->h, .mode = s->mode, .y = {[SM_WARMTH] = 1.0}};
    for (int i = 0; i < n_unknowns; i++)
        node.y[i] = at_end ? step->y1[i] : sm_ros_dense(step, i, theta);
    return node;
}

/* A step's first instant repeats the last one's end, and is wanted only where the burning area jumps. */
static int starts_anew(const struct sm_chamber *chamber, const struct sm_stretch *s, size_t i)
{
    if (i == 0)
        return 1;
    const size_t before = chamber->run_end[s[i - 1].mode.piece], after = s[i].mode.piece;
    return after > before && sm_chamber_jumps(chamber, before, after);
}

enum sm_status sm_trace_sample(const struct sm_chamber *chamber, const struct sm_stretch *stretches, size_t n,
                               double accuracy, struct sm_arena *arena, struct sm_trace *trace,
                               struct sm_error *err)
{
    struct levels levels;
    find_peaks(chamber, stretches, n, &levels);
    find_levels(&chamber->jet, &levels);
    const int n_unknowns = chamber->wears || chamber->cools ? SM_N_UNKNOWNS : SM_N_PLAIN;
    const double slack = accuracy * levels.peak;
    size_t capacity = 0;
    for (size_t i = 0; i < n; i++) {
        struct instants in;
        struct sm_jet jet;
        if (chamber->wears)
            find_levels(sm_chamber_jet(chamber, stretches[i].step.y0[SM_GROWTH], &jet), &levels);
        choose(&stretches[i], &levels, slack, &in);
        const size_t wanted = trace->n_nodes + in.n;
        struct sm_node *room =
            sm_arena_grow(arena, trace->nodes, trace->n_nodes, &capacity,
                          wanted < USUAL_NODES ? USUAL_NODES : wanted, sizeof *trace->nodes);
        if (!room)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        trace->nodes = room;
        for (size_t j = starts_anew(chamber, stretches, i) ? 0 : 1; j < in.n; j++)
            trace->nodes[trace->n_nodes++] = node_at(&stretches[i], n_unknowns, in.theta[j]);
    }
    return SM_OK;
}
