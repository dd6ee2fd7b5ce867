/* What goes into lanes and what comes out of them; the march itself is in ballistics/lanemarch.h. */
#include "ballistics/lanes.h"

#include <math.h>
#include <string.h>

#include "ballistics/trace.h"

enum { RUN_STEPS = 2 }; /* in a stretch between two kinks, at least */

/* ---- the surface ---- */

/* Steps are a tenth as long at both ends of a stretch as even ones would be: there pressure bends most. */
static double clustered(double u)
{
    return 0.1 * u + 0.9 * u * u * (3.0 - 2.0 * u);
}

/* Areas at both ends of a step, moved together so that their mean is the volume burned over the distance. */
static void put_step(struct sm_lane_table *table, size_t k, double from, double to,
                     const struct sm_surface *a, const struct sm_surface *b)
{
    const double dw = to - from, mean = (a->volume - b->volume) / dw;
    const double last = fmax(0.0, b->area + mean - 0.5 * (a->area + b->area));
    table->w[k] = from;
    table->dw[k] = dw;
    table->area1[k] = last;
    table->area0[k] = fmax(0.0, 2.0 * mean - last);
}

/* Steps over pieces first to last, which join without kink. */
static void put_run(struct sm_lane_table *table, const struct sm_geometry *g, size_t first, size_t last,
                    size_t k, size_t n)
{
    const double w0 = g->pieces[first].w0, width = g->pieces[last].w1 - w0;
    struct sm_surface before, after;
    double from = w0;
    sm_piece_surface(&g->pieces[first], w0, &before);
    for (size_t j = 1; j <= n; j++) {
        const double to = j < n ? w0 + width * clustered((double)j / (double)n) : g->pieces[last].w1;
        while (first < last && to > g->pieces[first].w1)
            first++;
        sm_piece_surface(&g->pieces[first], to, &after);
        put_step(table, k++, from, to, &before, &after);
        before = after;
        from = to;
    }
}

int sm_lane_table_make(struct sm_lane_table *table, const struct sm_chamber *chamber)
{
    const struct sm_geometry *g = chamber->stack;
    struct sm_surface start;
    size_t runs = 0, k = 0;
    for (size_t i = 0; i < g->n_pieces; i = chamber->run_end[i] + 1)
        runs++;
    if (runs * 2 * RUN_STEPS > SM_LANE_STEPS)
        return 0;
    const double free = (double)(SM_LANE_STEPS - RUN_STEPS * runs);
    double done = 0.0;
    for (size_t i = 0; i < g->n_pieces; i = chamber->run_end[i] + 1) {
        const size_t last = chamber->run_end[i];
        const double until = last + 1 < g->n_pieces ? free * g->pieces[last].w1 / g->web : free;
        const size_t n = RUN_STEPS + (size_t)(floor(until + 0.5) - done);
        done = floor(until + 0.5);
        put_run(table, g, i, last, k, n);
        k += n;
    }
    sm_piece_surface(&g->pieces[0], 0.0, &start);
    table->volume = start.volume;
    table->area = start.area;
    table->slope = start.slope;
    table->smooth = g->pieces[chamber->run_end[0]].w1;
    table->web = g->web;
    return k == SM_LANE_STEPS;
}

/* ---- in ---- */

void sm_lanes_clear(struct sm_lanes *lanes)
{
    memset(lanes->has, 0, sizeof lanes->has);
}

/* Is all of the surface lit at once, or in a straight line of time, and nothing else going on? */
static int is_lit_evenly(const struct sm_chamber *c)
{
    const struct sm_epoch *e = c->epochs;
    for (size_t i = 0; i < c->n_epochs; i++)
        if (e[i].inflow != 0.0 || e[i].inflow_slope != 0.0)
            return 0;
    if (c->n_epochs > 2 || e[c->n_epochs - 1].lit != 1.0 || e[c->n_epochs - 1].lit_slope != 0.0)
        return 0;
    return c->n_epochs == 1 || e[0].lit == 0.0;
}

static int can_carry(const struct sm_chamber *c)
{
    if (c->wears || c->cools || c->closure_pressure > 0.0 || !is_lit_evenly(c) || c->law.n > SM_LANE_SEGMENTS)
        return 0;
    for (size_t i = 0; i < c->law.n; i++)
        if (!(c->law.segments[i].exponent < 1.0))
            return 0;
    return c->start_pressure > c->jet.ambient;
}

static void load_law(struct sm_lanes *l, int lane, const struct sm_burn_law *law)
{
    l->n_segments[lane] = law->n;
    for (size_t i = 0; i < law->n; i++) {
        const struct sm_burn_segment *s = &law->segments[i];
        l->rate[i][lane] = law->factor * s->rate * pow(s->at, -s->exponent);
        l->exponent[i][lane] = s->exponent;
        l->joint[i][lane] = i + 1 < law->n ? sm_burn_law_joint(law, i) : SM_INF;
    }
}

/* Time that the filling is marched in: five time constants of y, or until a fiftieth of what the surface is smooth for is burned
 * at the pressure that the chamber tends to. */
static double fill_time(const struct sm_lanes *l, int lane, const struct sm_lane_table *table)
{
    for (size_t i = 0; i < l->n_segments[lane]; i++) {
        const double n1 = 1.0 - l->exponent[i][lane], a = l->rate[i][lane];
        const double y = l->density[lane] * a * table->area / l->drain[lane], p = pow(y, 1.0 / n1);
        if (p > l->joint[i][lane])
            continue;
        return fmin(5.0 * l->space[lane] / (n1 * l->rt[lane] * l->drain[lane]),
                    0.02 * table->smooth * y / (a * p));
    }
    return 0.0;
}

static void load_table(struct sm_lanes *l, int lane, const struct sm_lane_table *table)
{
    l->area[lane] = table->area;
    l->slope[lane] = table->slope;
    l->smooth[lane] = table->smooth;
    for (size_t k = 0; k < SM_LANE_STEPS; k++) {
        l->w[k][lane] = table->w[k];
        l->dw[k][lane] = table->dw[k];
        l->area0[k][lane] = table->area0[k];
        l->area1[k][lane] = table->area1[k];
    }
}

int sm_lanes_load(struct sm_lanes *l, int lane, const struct sm_chamber *c, const struct sm_lane_table *table)
{
    if (!can_carry(c))
        return 0;
    const struct sm_jet *jet = &c->jet;
    l->rt[lane] = c->rt;
    l->density[lane] = c->density;
    l->drain[lane] = jet->throat_area / jet->cstar;
    l->choking[lane] = jet->choking_pressure;
    l->ambient[lane] = fmax(jet->ambient, 1e-3); /* so that ratios are finite; nothing is unchoked without */
    l->floor[lane] = fmax(1.0001 * jet->ambient, 1e-6 * c->start_pressure);
    l->gamma[lane] = jet->gamma;
    l->subsonic[lane] = jet->cstar * jet->cstar * jet->gamma / jet->rt;
    l->ramp[lane] = c->n_epochs == 2 ? c->epochs[0].until : 0.0;
    l->start[lane] = c->start_pressure;
    l->space[lane] = c->volume_empty - table->volume;
    l->empty[lane] = c->volume_empty;
    l->jet[lane] = *jet;
    load_law(l, lane, &c->law);
    load_table(l, lane, table);
    l->fill[lane] = fill_time(l, lane, table);
    l->has[lane] = 1;
    return 1;
}

/* A lane without a motor marches a copy of another, so that its numbers are sane. */
static void fill_gaps(struct sm_lanes *l)
{
    int from = 0;
    while (from < SM_LANES - 1 && !l->has[from])
        from++;
    for (int i = 0; i < SM_LANES; i++) {
        double *const columns[] = {l->rt,    l->density, l->drain,    l->choking, l->ambient,
                                   l->floor, l->gamma,   l->subsonic, l->ramp,    l->fill,
                                   l->start, l->space,   l->area,     l->slope,   l->smooth};
        l->failed[i] = 0;
        if (l->has[i])
            continue;
        for (size_t k = 0; k < SM_COUNT(columns); k++)
            columns[k][i] = columns[k][from];
        l->n_segments[i] = l->n_segments[from];
        for (size_t k = 0; k < l->n_segments[from]; k++) {
            l->rate[k][i] = l->rate[k][from];
            l->exponent[k][i] = l->exponent[k][from];
            l->joint[k][i] = l->joint[k][from];
        }
        for (size_t k = 0; k < SM_LANE_STEPS; k++) {
            l->w[k][i] = l->w[k][from];
            l->dw[k][i] = l->dw[k][from];
            l->area0[k][i] = l->area0[k][from];
            l->area1[k][i] = l->area1[k][from];
        }
    }
}

enum sm_lane_set sm_lanes_best(void)
{
#ifdef SM_LANES_X86
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq"))
        return SM_LANE_AVX512;
    if (__builtin_cpu_supports("avx2"))
        return SM_LANE_AVX2;
#endif
    return SM_LANE_PLAIN;
}

void sm_lanes_march(struct sm_lanes *l, enum sm_lane_set set)
{
    fill_gaps(l);
#ifdef SM_LANES_X86
    if (set == SM_LANE_AVX512) {
        sm_lane_march_avx512(l);
        return;
    }
    if (set == SM_LANE_AVX2) {
        sm_lane_march_avx2(l);
        return;
    }
#endif
    (void)set;
    sm_lane_march_plain(l);
}

/* ---- out ---- */

void sm_lane_nozzle_make(struct sm_lane_nozzle *nozzle, const struct sm_jet *jet)
{
    *nozzle = (struct sm_lane_nozzle){.gamma = jet->gamma, .is_long = jet->exit_mach > jet->fold_mach};
    if (!(jet->ambient > 0.0))
        return; /* always full */
    nozzle->top = log(fmax(1.2 * jet->attached_pressure, 1.2 * jet->choking_pressure) / jet->ambient);
    for (int i = 0; i <= SM_LANE_CELLS; i++)
        sm_jet_parts(jet, jet->ambient * exp(nozzle->top * i / SM_LANE_CELLS), nozzle->parts[i]);
}

static double thrust_of(const struct sm_jet *jet, const struct sm_lane_nozzle *nozzle, double pressure)
{
    if (pressure >= jet->attached_pressure)
        return jet->thrust_slope * pressure - jet->ambient * jet->exit_area;
    if (!(pressure > jet->ambient))
        return 0.0;
    const double reach = log(pressure / jet->ambient), at = reach * SM_LANE_CELLS / nozzle->top;
    if (nozzle->gamma != jet->gamma || nozzle->is_long != (jet->exit_mach > jet->fold_mach) ||
        !(reach < nozzle->top))
        return sm_jet_thrust(jet, pressure, NULL, NULL);
    const size_t i = (size_t)at;
    const double u = at - (double)i, *a = nozzle->parts[i], *b = nozzle->parts[i + 1];
    const double plain = a[0] + u * (b[0] - a[0]), fall = a[1] + u * (b[1] - a[1]),
                 area = a[2] + u * (b[2] - a[2]);
    return fmax(0.0, jet->ambient * jet->throat_area *
                         (jet->efficiency * (plain - sm_jet_fall(jet) * fall) - area));
}

/* Thrust's integral from the last node to the next one [N s]; under is that of the pressure [Pa s]. */
static double impulse_between(const struct sm_jet *jet, const struct sm_lane_nozzle *nozzle,
                              const struct sm_lane_curve *c, size_t i, double under)
{
    const double dt = c->time[i] - c->time[i - 1];
    if (!(dt > 0.0))
        return 0.0;
    if (c->pressure[i] >= jet->attached_pressure && c->pressure[i - 1] >= jet->attached_pressure)
        return jet->thrust_slope * under - jet->ambient * jet->exit_area * dt;
    return dt * (c->thrust[i - 1] + 4.0 * thrust_of(jet, nozzle, under / dt) + c->thrust[i]) / 6.0;
}

static void put_node(struct sm_lane_curve *c, const struct sm_jet *jet, const struct sm_lane_nozzle *nozzle,
                     double t, double pressure, double under, double propellant)
{
    const size_t i = c->n++;
    c->time[i] = t;
    c->pressure[i] = pressure;
    c->thrust[i] = thrust_of(jet, nozzle, pressure);
    c->propellant[i] = propellant;
    if (i > 0)
        c->impulse += impulse_between(jet, nozzle, c, i, under);
}

/* A step over which pressure changes by much is shown as two. */
static int is_steep(double before, double after)
{
    static const double much = 0.1; /* of the larger pressure [1] */
    return fabs(after - before) > much * (after > before ? after : before);
}

/* The middle of a steep step is that of the parabola through its ends whose mean is that of the step. It may end there, if thrust
 * has come down to a level [N]. */
static void put_steep_end(struct sm_lane_curve *c, const struct sm_jet *jet,
                          const struct sm_lane_nozzle *nozzle, double t, double pressure, double under,
                          double propellant, double level)
{
    const size_t i = c->n - 1;
    const double dt = t - c->time[i], before = c->pressure[i];
    const double middle = 0.25 * (6.0 * under / dt - before - pressure);
    if (middle > fmin(before, pressure) && middle < fmax(before, pressure)) {
        const double half = dt * (5.0 * before + 8.0 * middle - pressure) / 24.0;
        put_node(c, jet, nozzle, c->time[i] + 0.5 * dt, middle, half, 0.5 * (c->propellant[i] + propellant));
        under -= half;
        if (c->thrust[i + 1] <= level)
            return;
    }
    put_node(c, jet, nozzle, t, pressure, under, propellant);
}

/* Pressure at which thrust has fallen to F [N]: a formula where the throat is unchoked or the cone full. */
static double pressure_of(const struct sm_jet *jet, double thrust, double highest)
{
    if (!(jet->ambient > 0.0))
        return thrust / jet->thrust_slope;
    const double m2 =
        (thrust / (jet->ambient * jet->throat_area) + 1.0 - jet->efficiency) / (jet->efficiency * jet->gamma);
    const double p = jet->ambient * pow(1.0 + 0.5 * (jet->gamma - 1.0) * m2, jet->gamma / (jet->gamma - 1.0));
    return p < jet->choking_pressure ? p : sm_pressure_of_thrust(jet, thrust, highest);
}

/*
 * The burned-out chamber empties: dP/dt = -P share(P) / tau, tau = V c* / (RT A_t). While choked P falls by equal factors in equal
 * times; below, time is Simpson's sum of tau / share over ln P.
 */
static void put_tail(const struct sm_lanes *l, int lane, const struct sm_lane_nozzle *nozzle, double end,
                     struct sm_lane_curve *c)
{
    enum { CHOKED = 10, FREE = 8 };
    const struct sm_jet *jet = &l->jet[lane];
    const double tau = l->empty[lane] / (l->rt[lane] * l->drain[lane]);
    double t = c->time[c->n - 1], p = c->pressure[c->n - 1];
    const double knee = fmax(end, fmin(p, jet->choking_pressure));
    if (p > knee) {
        const double factor = pow(knee / p, 1.0 / CHOKED), dt = -tau * log(factor);
        for (int i = 0; i < CHOKED; i++, p *= factor)
            put_node(c, jet, nozzle, t += dt, p * factor, tau * p * (1.0 - factor), 0.0);
    }
    if (!(p > end * (1.0 + 1e-9)))
        return;
    const double factor = pow(end / p, 0.5 / FREE), step = -tau * log(factor) / 3.0;
    for (int i = 0; i < FREE; i++, p *= factor * factor) {
        double weight[3], under = 0.0, dt = 0.0;
        const double at[3] = {p, p * factor, p * factor * factor};
        for (int k = 0; k < 3; k++) {
            weight[k] =
                step * (k == 1 ? 4.0 : 1.0) * l->drain[lane] * at[k] / sm_jet_mass_flow(jet, at[k], NULL);
            dt += weight[k];
            under += weight[k] * at[k];
        }
        put_node(c, jet, nozzle, t += dt, at[2], under, 0.0);
    }
}

static int is_sound(const struct sm_lanes *l, int lane)
{
    const double end = l->time[lane][SM_LANE_MARCHED - 1], under = l->area_under[lane][SM_LANE_MARCHED - 1];
    return l->has[lane] && !l->failed[lane] && isfinite(end) && isfinite(under) && end < 1e5;
}

/* Cuts the last step where thrust comes down to a level [N]: thrust and its integral as if on a straight line. */
static void end_at(struct sm_lane_curve *c, double level)
{
    const size_t i = c->n - 1;
    const double fall = c->thrust[i - 1] - c->thrust[i],
                 cut = fall > 0.0 ? (level - c->thrust[i]) / fall : 0.0;
    const double dt = c->time[i] - c->time[i - 1];
    c->impulse -= 0.5 * cut * dt * (level + c->thrust[i]);
    c->time[i] -= cut * dt;
    c->pressure[i] += cut * (c->pressure[i - 1] - c->pressure[i]);
    c->thrust[i] = level;
}

/* The nodes up to burnout. Returned: whether thrust has come down to `share` of its peak before; -1 for a pressure of no sense.
 * Nearly all steps are gentle and the cone full at both ends: those are written here, without detours. */
static int put_march(const struct sm_lanes *l, int lane, const struct sm_lane_nozzle *nozzle, double share,
                     struct sm_lane_curve *c, double *peak)
{
    const struct sm_jet *jet = &l->jet[lane];
    const double *const time = l->time[lane], *const pressure = l->pressure[lane],
                        *const under = l->area_under[lane], *const room = l->room[lane];
    const double slope = jet->thrust_slope, back = jet->ambient * jet->exit_area, density = l->density[lane];
    const double full = jet->attached_pressure, half = 0.5 * (l->space[lane] + l->empty[lane]);
    double most = 0.0, last = 0.0, before = 0.0;
    for (int i = 0; i < SM_LANE_MARCHED; i++) {
        const double p = pressure[i], step = under[i] - last, left = density * (l->empty[lane] - room[i]);
        const double level = room[i] > half ? share * most : 0.0;
        if (!(p < 1e9))
            return -1;
        if (i > 0 && time[i] == time[i - 1])
            continue;
        if (i > 0 && p >= full && before >= full && !is_steep(before, p)) {
            const size_t k = c->n++;
            c->time[k] = time[i];
            c->pressure[k] = p;
            c->thrust[k] = slope * p - back;
            c->propellant[k] = left;
            c->impulse += slope * step - back * (time[i] - c->time[k - 1]);
        } else if (i > 0 && is_steep(before, p))
            put_steep_end(c, jet, nozzle, time[i], p, step, left, level);
        else
            put_node(c, jet, nozzle, time[i], p, step, left);
        last = under[i];
        before = p;
        const double thrust = c->thrust[c->n - 1];
        most = thrust > most ? thrust : most;
        if (room[i] > half && thrust <= share * most)
            break;
    }
    *peak = most;
    return most > 0.0 && c->thrust[c->n - 1] <= share * most;
}

int sm_lanes_curve(const struct sm_lanes *l, int lane, const struct sm_lane_nozzle *nozzle,
                   struct sm_lane_curve *c)
{
    static const double tail_share =
        1e-3; /* of peak thrust, where tail-off ends, as in the general march [1] */
    double peak = 0.0;
    if (!is_sound(l, lane))
        return 0;
    c->n = 0;
    c->impulse = 0.0;
    const int is_over = put_march(l, lane, nozzle, tail_share, c, &peak);
    if (is_over < 0 || !(peak > 0.0))
        return 0;
    if (is_over)
        end_at(c, tail_share * peak);
    else
        put_tail(l, lane, nozzle, pressure_of(&l->jet[lane], tail_share * peak, c->pressure[c->n - 1]), c);
    return 1;
}
