/* What goes into lanes and what comes out of them; the march itself is in ballistics/lanemarch.h. */
#include "ballistics/lanes.h"

#include <math.h>
#include <string.h>

#include "ballistics/trace.h"

enum {
    RUN_STEPS = 2, /* in a stretch between two kinks, at least */
    SETTLE_STEPS =
        6 /* short ones while the chamber settles, where a stretch begins with a step of the area */
};

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
    const double before = k > 0 ? table->rows[k - 1].dw : SM_INF, first = fmax(0.0, 2.0 * mean - last);
    const double change = (last - first) / (0.5 * (first + last));
    table->rows[k] = (struct sm_lane_row){.w = from,
                                          .to = to,
                                          .dw = dw,
                                          .area0 = first,
                                          .area1 = last,
                                          .pace = dw / before,
                                          .swing = first + last > 0.0 ? change * change : 0.0,
                                          .left = b->volume};
}

/* A stretch of pieces that join without kink. */
struct run {
    size_t first, last; /* pieces */
    double w0, width;   /* [m] */
    double
        settle; /* distance burned while the chamber settles after a step of the area; 0: there is none [m] */
    size_t n_settle, n; /* steps while it settles, and all */
};

/* Distance burned in one time constant of y, at the pressure that the chamber tends to with such a surface; 0 if that is beyond the
 * law [m]. */
static double settling(const struct sm_chamber *c, const struct sm_surface *surface)
{
    const double drain = c->jet.throat_area / c->jet.cstar;
    for (size_t i = 0; i < c->law.n; i++) {
        const struct sm_burn_segment *s = &c->law.segments[i];
        const double n1 = 1.0 - s->exponent, a = c->law.factor * s->rate * pow(s->at, -s->exponent);
        const double y = c->density * a * surface->area / drain;
        if (!(n1 > 0.0 && y > 0.0))
            break;
        const double p = pow(y, 1.0 / n1);
        if (i + 1 < c->law.n && p > sm_burn_law_joint(&c->law, i))
            continue;
        return a * p / y * (c->volume_empty - surface->volume) / (n1 * c->rt * drain);
    }
    return 0.0;
}

static size_t find_runs(const struct sm_chamber *c, struct run *runs, size_t most)
{
    static const double least =
        0.01; /* step of the area that is settled after, as a share of the larger [1] */
    const struct sm_geometry *g = c->stack;
    size_t n = 0;
    for (size_t i = 0; i < g->n_pieces; i = c->run_end[i] + 1, n++) {
        if (n == most)
            return most + 1;
        struct run *run = &runs[n];
        *run = (struct run){.first = i, .last = c->run_end[i], .w0 = g->pieces[i].w0};
        run->width = g->pieces[run->last].w1 - run->w0;
        if (i == 0)
            continue;
        struct sm_surface before, after;
        sm_piece_surface(&g->pieces[i - 1], run->w0, &before);
        sm_piece_surface(&g->pieces[i], run->w0, &after);
        if (fabs(after.area - before.area) > least * fmax(after.area, before.area))
            run->settle = settling(c, &after);
    }
    return n;
}

/* Shares out all steps: what is left of them goes by length. Returned: 0 if there are too few. */
static int share_out(const struct sm_geometry *g, struct run *runs, size_t n)
{
    size_t settling_runs = 0;
    for (size_t i = 0; i < n; i++)
        settling_runs += runs[i].settle > 0.0;
    if (n * 2 * RUN_STEPS > SM_LANE_STEPS)
        return 0;
    size_t extra = SETTLE_STEPS;
    while (extra > 0 && 2 * (n * RUN_STEPS + settling_runs * extra) > SM_LANE_STEPS)
        extra--;
    const double free = (double)(SM_LANE_STEPS - RUN_STEPS * n - extra * settling_runs);
    double done = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double until = i + 1 < n ? free * (runs[i].w0 + runs[i].width) / g->web : free;
        runs[i].n_settle = runs[i].settle > 0.0 ? extra : 0;
        runs[i].n = RUN_STEPS + runs[i].n_settle + (size_t)(floor(until + 0.5) - done);
        done = floor(until + 0.5);
    }
    return 1;
}

/* Where step j of a run ends, as a share of it. The first ones after a step of the area grow by half each. */
static double share_at(const struct run *run, size_t j)
{
    static const double first = 0.25,
                        most = 0.25; /* of the settling distance; of the run for all of them [1] */
    if (j == run->n)
        return 1.0;
    const double all = 2.0 * first * (pow(1.5, (double)run->n_settle) - 1.0) * run->settle / run->width;
    const double scale = all > most ? most / all : 1.0;
    if (j <= run->n_settle)
        return scale * 2.0 * first * (pow(1.5, (double)j) - 1.0) * run->settle / run->width;
    const double u = (double)(j - run->n_settle) / (double)(run->n - run->n_settle);
    const double from = run->n_settle > 0 ? scale * all : 0.0;
    return from + (1.0 - from) * clustered(u);
}

static void put_run(struct sm_lane_table *table, const struct sm_geometry *g, const struct run *run, size_t k)
{
    size_t piece = run->first;
    double from = run->w0;
    struct sm_surface before, after;
    sm_piece_surface(&g->pieces[piece], from, &before);
    for (size_t j = 1; j <= run->n; j++) {
        const double to = j < run->n ? run->w0 + run->width * share_at(run, j) : g->pieces[run->last].w1;
        while (piece < run->last && to > g->pieces[piece].w1)
            piece++;
        sm_piece_surface(&g->pieces[piece], to, &after);
        put_step(table, k++, from, to, &before, &after);
        before = after;
        from = to;
    }
}

int sm_lane_table_make(struct sm_lane_table *table, const struct sm_chamber *chamber)
{
    enum { MOST = SM_LANE_STEPS / (2 * RUN_STEPS) };
    const struct sm_geometry *g = chamber->stack;
    struct run runs[MOST];
    struct sm_surface start;
    const size_t n = find_runs(chamber, runs, MOST);
    if (n > MOST || !share_out(g, runs, n))
        return 0;
    size_t k = 0;
    for (size_t i = 0; i < n; i++) {
        put_run(table, g, &runs[i], k);
        k += runs[i].n;
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
    l->area[lane] = table->area;
    l->slope[lane] = table->slope;
    l->table[lane] = table;
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
                                   l->start, l->space,   l->area,     l->slope,   l->empty};
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
        l->table[i] = l->table[from];
    }
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

/* Pressure over ambient at the edges of the regimes. A cone that ends before the fold has no third. */
static void set_edges(struct sm_lane_nozzle *nozzle, const struct sm_jet *jet)
{
    const double choking = jet->choking_pressure / jet->ambient;
    const double top = 1.2 * fmax(jet->attached_pressure / jet->ambient, choking);
    nozzle->edge[0] = 1.0;
    nozzle->edge[1] = choking;
    nozzle->edge[2] = nozzle->is_long ? fmin(fmax(jet->fold_balance, choking), top) : top;
    nozzle->edge[3] = top;
}

/* d(time) and d(area under the pressure) by s = sqrt(P over ambient - 1), as P falls: 2 s over the flow's share of that of a choked
 * throat, and over P. Near s = 0 the share goes as s. */
static void emptying_by_root(const struct sm_jet *jet, double s, double out[2])
{
    static const double least = 1e-3; /* the limit is reached to a millionth [1] */
    const double held = fmax(s, least), x = 1.0 + held * held, p = x * jet->ambient;
    const double share = sm_jet_mass_flow(jet, p, NULL) * jet->cstar / (jet->throat_area * p);
    out[0] = 2.0 * held / (share * x);
    out[1] = 2.0 * held / share;
}

static void make_emptying(struct sm_lane_nozzle *nozzle, const struct sm_jet *jet)
{
    const double top = sqrt(nozzle->edge[1] - 1.0), step = top / SM_LANE_EMPTYING;
    double above[2], middle[2], below[2];
    nozzle->per_root = 1.0 / step;
    nozzle->emptying[SM_LANE_EMPTYING][0] = nozzle->emptying[SM_LANE_EMPTYING][1] = 0.0;
    emptying_by_root(jet, top, above);
    for (int i = SM_LANE_EMPTYING - 1; i >= 0; i--) {
        emptying_by_root(jet, (i + 0.5) * step, middle);
        emptying_by_root(jet, i * step, below);
        for (int k = 0; k < 2; k++) {
            nozzle->emptying[i][k] =
                nozzle->emptying[i + 1][k] + step / 6.0 * (above[k] + 4.0 * middle[k] + below[k]);
            above[k] = below[k];
        }
    }
}

void sm_lane_nozzle_make(struct sm_lane_nozzle *nozzle, const struct sm_jet *jet)
{
    static const double inside = 1e-12; /* as seen from within a regime, whose end may be a step [1] */
    *nozzle = (struct sm_lane_nozzle){.gamma = jet->gamma, .is_long = jet->exit_mach > jet->fold_mach};
    if (!(jet->ambient > 0.0))
        return; /* always full */
    set_edges(nozzle, jet);
    for (int k = 0; k < SM_LANE_REGIMES; k++) {
        const double from = nozzle->edge[k], width = nozzle->edge[k + 1] - from;
        nozzle->per[k] = width > 0.0 ? SM_LANE_CELLS / width : 0.0;
        for (int i = 0; i <= SM_LANE_CELLS && width > 0.0; i++) {
            const double x =
                i < SM_LANE_CELLS ? from + width * i / SM_LANE_CELLS : nozzle->edge[k + 1] * (1.0 - inside);
            sm_jet_parts(jet, jet->ambient * x, nozzle->parts[k][i]);
        }
    }
    make_emptying(nozzle, jet);
}

/* A lane's nozzle, with what its thrust is often asked with. */
struct outlet {
    const struct sm_jet *jet;
    const struct sm_lane_nozzle *nozzle;
    int fits;           /* do the tables serve? */
    double per_ambient; /* [1/Pa] */
    double push, fall,
        back; /* ambient pressure on the throat [N]; as of sm_jet_fall [1]; ambient on the exit [N] */
};

static struct outlet outlet_of(const struct sm_jet *jet, const struct sm_lane_nozzle *nozzle)
{
    return (struct outlet){.jet = jet,
                           .nozzle = nozzle,
                           .fits = jet->ambient > 0.0 && nozzle->gamma == jet->gamma &&
                                   nozzle->is_long == (jet->exit_mach > jet->fold_mach),
                           .per_ambient = 1.0 / jet->ambient,
                           .push = jet->ambient * jet->throat_area,
                           .fall = sm_jet_fall(jet),
                           .back = jet->ambient * jet->exit_area};
}

/* Thrust at P [Pa] where the cone does not flow full. */
static double part_thrust(const struct outlet *o, double pressure)
{
    const struct sm_lane_nozzle *nozzle = o->nozzle;
    const double x = pressure * o->per_ambient;
    if (!(x > 1.0))
        return 0.0;
    if (!o->fits || !(x < nozzle->edge[SM_LANE_REGIMES]))
        return sm_jet_thrust(o->jet, pressure, NULL, NULL);
    const int k = (x >= nozzle->edge[1]) + (x >= nozzle->edge[2]);
    const double at = (x - nozzle->edge[k]) * nozzle->per[k];
    const int i = at < SM_LANE_CELLS ? (int)at : SM_LANE_CELLS - 1;
    const double u = at - i, *a = nozzle->parts[k][i], *b = nozzle->parts[k][i + 1];
    const double plain = a[0] + u * (b[0] - a[0]), fall = a[1] + u * (b[1] - a[1]),
                 area = a[2] + u * (b[2] - a[2]);
    const double thrust = o->push * (o->jet->efficiency * (plain - o->fall * fall) - area);
    return thrust > 0.0 ? thrust : 0.0;
}

static double thrust_of(const struct outlet *o, double pressure)
{
    return pressure >= o->jet->attached_pressure ? o->jet->thrust_slope * pressure - o->back
                                                 : part_thrust(o, pressure);
}

/* Pressure halfway in time through a step, of the parabola through its ends whose mean is that of the step; the mean itself where
 * that is not between the ends. */
static double middle_of(double before, double after, double mean)
{
    const double middle = 0.25 * (6.0 * mean - before - after);
    return (middle - before) * (middle - after) < 0.0 ? middle : mean;
}

/* Thrust's integral from the last node to the next one [N s]; under is that of the pressure [Pa s]. */
static double impulse_between(const struct outlet *o, const struct sm_lane_curve *c, size_t i, double under)
{
    const struct sm_jet *jet = o->jet;
    const double dt = c->time[i] - c->time[i - 1];
    if (!(dt > 0.0))
        return 0.0;
    if (c->pressure[i] >= jet->attached_pressure && c->pressure[i - 1] >= jet->attached_pressure)
        return jet->thrust_slope * under - o->back * dt;
    return dt * (1.0 / 6.0) *
           (c->thrust[i - 1] + 4.0 * thrust_of(o, middle_of(c->pressure[i - 1], c->pressure[i], under / dt)) +
            c->thrust[i]);
}

static void put_node(struct sm_lane_curve *c, const struct outlet *o, double t, double pressure, double under,
                     double propellant)
{
    const size_t i = c->n++;
    c->time[i] = t;
    c->pressure[i] = pressure;
    c->thrust[i] = thrust_of(o, pressure);
    c->propellant[i] = propellant;
    if (i > 0)
        c->impulse += impulse_between(o, c, i, under);
}

/* A step over which pressure changes by much is shown as two. */
static int is_steep(double before, double after)
{
    static const double much = 0.1; /* of the larger pressure [1] */
    return fabs(after - before) > much * (after > before ? after : before);
}

static void put_steep_end(struct sm_lane_curve *c, const struct outlet *o, double t, double pressure,
                          double under, double propellant)
{
    const size_t i = c->n - 1;
    const double dt = t - c->time[i], before = c->pressure[i];
    const double middle = middle_of(before, pressure, under / dt);
    if ((middle - before) * (middle - pressure) < 0.0) {
        const double half = dt * (5.0 * before + 8.0 * middle - pressure) / 24.0;
        put_node(c, o, c->time[i] + 0.5 * dt, middle, half, 0.5 * (c->propellant[i] + propellant));
        under -= half;
    }
    put_node(c, o, t, pressure, under, propellant);
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

/* Time [s] and area under the pressure [Pa s] while the burned-out chamber empties through an unchoked throat from one pressure
 * to a lower one: of dP/dt = -P share(P) / tau, by Simpson's sum over ln P. */
static void empty_slowly(const struct sm_jet *jet, double tau, double from, double to, double *dt,
                         double *under)
{
    const double factor = sqrt(to / from), at[3] = {from, from * factor, to};
    const double step = -tau * log(factor) * jet->throat_area / (3.0 * jet->cstar);
    *dt = *under = 0.0;
    for (int k = 0; k < 3; k++) {
        const double part = step * (k == 1 ? 4.0 : 1.0) * at[k] / sm_jet_mass_flow(jet, at[k], NULL);
        *dt += part;
        *under += part * at[k];
    }
}

/* What is read of the table at P over ambient x. */
static void emptying_at(const struct sm_lane_nozzle *nozzle, double x, double out[2])
{
    const double at = sqrt(x - 1.0) * nozzle->per_root;
    const int i = at < SM_LANE_EMPTYING ? (int)at : SM_LANE_EMPTYING - 1;
    for (int k = 0; k < 2; k++)
        out[k] = nozzle->emptying[i][k] + (at - i) * (nozzle->emptying[i + 1][k] - nozzle->emptying[i][k]);
}

static void put_free_tail(const struct outlet *o, double tau, double p, double end, struct sm_lane_curve *c)
{
    enum { NODES = 6 };
    const double factor = pow(end / p, 1.0 / NODES), ambient = o->jet->ambient;
    double t = c->time[c->n - 1], before[2] = {0.0, 0.0}, after[2];
    if (o->fits)
        emptying_at(o->nozzle, p * o->per_ambient, before);
    for (int i = 0; i < NODES; i++, p *= factor) {
        double dt, under;
        if (o->fits) {
            emptying_at(o->nozzle, p * factor * o->per_ambient, after);
            dt = tau * (after[0] - before[0]);
            under = tau * ambient * (after[1] - before[1]);
            before[0] = after[0];
            before[1] = after[1];
        } else
            empty_slowly(o->jet, tau, p, p * factor, &dt, &under);
        put_node(c, o, t += dt, p * factor, under, 0.0);
    }
}

/* The burned-out chamber empties. While choked P falls by equal factors in equal times. */
static void put_tail(const struct sm_lanes *l, int lane, const struct outlet *o, double end,
                     struct sm_lane_curve *c)
{
    enum { NODES = 8 };
    const double tau = l->empty[lane] / (l->rt[lane] * l->drain[lane]);
    double t = c->time[c->n - 1], p = c->pressure[c->n - 1];
    const double knee = fmax(end, fmin(p, o->jet->choking_pressure));
    if (p > knee) {
        const double gain = log(knee / p) * (1.0 / NODES), factor = exp(gain), dt = -tau * gain;
        for (int i = 0; i < NODES; i++, p *= factor)
            put_node(c, o, t += dt, p * factor, tau * p * (1.0 - factor), 0.0);
    }
    if (p > end * (1.0 + 1e-9))
        put_free_tail(o, tau, p, end, c);
}

static int is_sound(const struct sm_lanes *l, int lane)
{
    const double end = l->time[SM_LANE_MARCHED - 1][lane], under = l->area_under[SM_LANE_MARCHED - 1][lane];
    return l->has[lane] && !l->failed[lane] && isfinite(end) && isfinite(under) && end < 1e5;
}

/* Shares of a step's time and of the area under its pressure that have gone by when pressure has come down from p0 to p, of a fall to
 * p1 that is as slow as the area's: with P^n = y^m, and the area as y and straight in distance burned, the time goes as
 * y^(1 - m) = P^(1 - 2n), the volume burned, and with it the area under P, as y^2. */
static double fallen(double p0, double p1, double p, double exponent)
{
    static const double flat = 1e-3; /* exponent that is as good as none [1] */
    if (fabs(exponent) < flat)
        return log(p0 / p) / log(p0 / p1);
    return (1.0 - pow(p / p0, exponent)) / (1.0 - pow(p1 / p0, exponent));
}

/* Ends the curve within a step to time t, where thrust comes down to a level [N]. */
static void end_within(const struct sm_lanes *l, int lane, const struct outlet *o, double t, double pressure,
                       double under, double propellant, double level, struct sm_lane_curve *c)
{
    const size_t i = c->n - 1;
    const double from = c->pressure[i];
    const double p = fmin(from, fmax(pressure, pressure_of(o->jet, level, from)));
    size_t k = 0;
    while (k + 1 < l->n_segments[lane] && p >= l->joint[k][lane])
        k++;
    const double n = l->exponent[k][lane], gone = fallen(from, pressure, p, 2.0 - 2.0 * n);
    put_node(c, o, c->time[i] + fallen(from, pressure, p, 1.0 - 2.0 * n) * (t - c->time[i]), p, gone * under,
             c->propellant[i] + gone * (propellant - c->propellant[i]));
}

/* The nodes up to burnout, or until thrust has come down to `share` of its peak. Returned: whether it has; -1 for a pressure of no sense.
 * Nearly all steps are gentle and the cone full at both ends: those are written here, without detours. */
static int put_march(const struct sm_lanes *l, int lane, const struct outlet *o, double share,
                     struct sm_lane_curve *c, double *peak)
{
    const double slope = o->jet->thrust_slope, back = o->back, density = l->density[lane];
    const double full = o->jet->attached_pressure, half = 0.5 * (l->space[lane] + l->empty[lane]);
    double most = 0.0, last = 0.0, before = 0.0;
    for (int i = 0; i < SM_LANE_MARCHED; i++) {
        const double t = l->time[i][lane], p = l->pressure[i][lane], under = l->area_under[i][lane],
                     room = l->room[i][lane];
        const double step = under - last, left = density * (l->empty[lane] - room);
        if (!(p < 1e9))
            return -1;
        if (i > 0 && t == c->time[c->n - 1])
            continue;
        const double thrust = p >= full ? slope * p - back : part_thrust(o, p);
        if (i > 0 && room > half && thrust <= share * most) {
            end_within(l, lane, o, t, p, step, left, share * most, c);
            *peak = most;
            return 1;
        }
        most = thrust > most ? thrust : most;
        if (i > 0 && p >= full && before >= full && !is_steep(before, p)) {
            const size_t k = c->n++;
            c->time[k] = t;
            c->pressure[k] = p;
            c->thrust[k] = thrust;
            c->propellant[k] = left;
            c->impulse += slope * step - back * (t - c->time[k - 1]);
        } else if (i > 0 && is_steep(before, p))
            put_steep_end(c, o, t, p, step, left);
        else
            put_node(c, o, t, p, step, left);
        last = under;
        before = p;
    }
    *peak = most;
    return 0;
}

int sm_lanes_curve(const struct sm_lanes *l, int lane, const struct sm_lane_nozzle *nozzle,
                   struct sm_lane_curve *c)
{
    static const double tail_share =
        1e-3; /* of peak thrust, where tail-off ends, as in the general march [1] */
    const struct outlet o = outlet_of(&l->jet[lane], nozzle);
    double peak = 0.0;
    if (!is_sound(l, lane))
        return 0;
    c->n = 0;
    c->impulse = 0.0;
    const int is_over = put_march(l, lane, &o, tail_share, c, &peak);
    if (is_over < 0 || !(peak > 0.0))
        return 0;
    if (!is_over)
        put_tail(l, lane, &o, pressure_of(&l->jet[lane], tail_share * peak, c->pressure[c->n - 1]), c);
    return 1;
}
