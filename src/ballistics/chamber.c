#include "ballistics/chamber.h"

#include <math.h>

/* ---- surface ---- */

size_t sm_chamber_piece(const struct sm_chamber *chamber, const struct sm_mode *mode, double w)
{
    size_t i = mode->piece;
    while (i < chamber->run_end[mode->piece] && w > chamber->stack->pieces[i].w1)
        i++;
    return i;
}

static void surface_at(const struct sm_chamber *chamber, const struct sm_mode *mode, double w,
                       struct sm_surface *out)
{
    *out = (struct sm_surface){0};
    if (mode->piece < chamber->stack->n_pieces)
        sm_piece_surface(&chamber->stack->pieces[sm_chamber_piece(chamber, mode, w)], w, out);
}

int sm_chamber_jumps(const struct sm_chamber *chamber, size_t before, size_t after)
{
    const struct sm_geometry *g = chamber->stack;
    struct sm_surface a, b = {0};
    sm_piece_surface(&g->pieces[before], g->pieces[before].w1, &a);
    if (after < g->n_pieces)
        sm_piece_surface(&g->pieces[after], g->pieces[after].w0, &b);
    return fabs(a.area - b.area) > 1e-10 * fmax(a.area, b.area);
}

/* Two pieces join smoothly if area and slope agree to what a table's own accuracy leaves undecided. The
 * integrator need not stop there. */
static int join_smoothly(const struct sm_geometry *g, size_t i)
{
    struct sm_surface a, b;
    sm_piece_surface(&g->pieces[i], g->pieces[i].w1, &a);
    sm_piece_surface(&g->pieces[i + 1], g->pieces[i + 1].w0, &b);
    const double size = fmax(fabs(a.area), fabs(b.area));
    return fabs(a.area - b.area) <= 1e-9 * size && fabs(a.slope - b.slope) * g->web <= 1e-4 * size;
}

static enum sm_status find_runs(struct sm_chamber *chamber, struct sm_arena *arena, struct sm_error *err)
{
    const struct sm_geometry *g = chamber->stack;
    size_t *end = sm_arena_alloc(arena, g->n_pieces + 1, sizeof *end);
    if (!end)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = g->n_pieces; i-- > 0;)
        end[i] = i + 1 < g->n_pieces && join_smoothly(g, i) ? end[i + 1] : i;
    end[g->n_pieces] = g->n_pieces;
    chamber->run_end = end;
    return SM_OK;
}

/* ---- set-up ---- */

enum sm_status sm_chamber_init(struct sm_chamber *chamber, const struct sm_motor *motor, double temperature,
                               struct sm_arena *arena, struct sm_error *err)
{
    const struct sm_motor_spec *spec = &motor->spec;
    const double throat =
        0.25 * 3.14159265358979323846 * spec->nozzle.throat_diameter * spec->nozzle.throat_diameter;
    struct sm_geometry_at start;
    sm_geometry_eval(&motor->stack, 0.0, &start);
    *chamber = (struct sm_chamber){
        .stack = &motor->stack,
        .density = spec->propellant.density,
        .rt = motor->gas.rt,
        .volume_empty = motor->free_volume + start.value[SM_VOLUME],
        .spread_time = spec->ignition.spread_time,
        .start_pressure = spec->ignition.pressure,
    };
    chamber->loaded = motor->propellant_mass + chamber->start_pressure * motor->free_volume / chamber->rt;
    SM_TRY(find_runs(chamber, arena, err));
    sm_burn_law_init(&chamber->law, &spec->propellant, temperature);
    return sm_jet_init(&chamber->jet, &spec->nozzle, throat, motor->gas.gamma, motor->gas.cstar,
                       motor->gas.rt, motor->ambient, err);
}

/* ---- bands ---- */

static void insert_edge(struct sm_bands *bands, double pressure, int is_joint)
{
    if (!(pressure > 0.0) || bands->n >= SM_MAX_BANDS)
        return;
    size_t i = bands->n - 1;
    for (; i > 0 && bands->edge[i - 1] > pressure; i--) {
        bands->edge[i] = bands->edge[i - 1];
        bands->is_joint[i] = bands->is_joint[i - 1];
    }
    bands->edge[i] = pressure;
    bands->is_joint[i] = is_joint;
    bands->n++;
}

void sm_bands_init(struct sm_bands *bands, const struct sm_chamber *chamber)
{
    *bands = (struct sm_bands){.n = 1};
    for (size_t i = 0; i + 1 < chamber->law.n; i++)
        insert_edge(bands, sm_burn_law_joint(&chamber->law, i), 1);
    insert_edge(bands, chamber->jet.choking_pressure, 0);
    if (chamber->jet.attached_pressure > chamber->jet.choking_pressure)
        insert_edge(bands, chamber->jet.attached_pressure, 0);
    for (size_t i = 0; i < bands->n; i++) {
        const double lower = i == 0 ? 0.0 : bands->edge[i - 1];
        bands->segment[i] = sm_burn_law_segment(&chamber->law, lower);
    }
}

/* ---- rates ---- */

double sm_chamber_rest_rate(const struct sm_chamber *chamber, double pressure, double lit_area)
{
    return sm_jet_mass_flow(&chamber->jet, pressure, NULL) /
           ((chamber->density - pressure / chamber->rt) * lit_area);
}

double sm_chamber_surplus(const struct sm_chamber *chamber, double pressure, double lit_area, double rate)
{
    return (chamber->density - pressure / chamber->rt) * lit_area * rate -
           sm_jet_mass_flow(&chamber->jet, pressure, NULL);
}

static double lit_share(const struct sm_chamber *chamber, const struct sm_mode *mode, double t)
{
    return mode->is_spreading ? t / chamber->spread_time : 1.0;
}

void sm_chamber_instant(const struct sm_chamber *chamber, const struct sm_bands *bands,
                        const struct sm_mode *mode, double t, double pressure, double w,
                        struct sm_instant *now)
{
    struct sm_surface surface;
    surface_at(chamber, mode, w, &surface);
    *now = (struct sm_instant){
        .area = surface.area,
        .volume_left = surface.volume,
        .lit = lit_share(chamber, mode, t),
        .mass_flow = sm_jet_mass_flow(&chamber->jet, pressure, NULL),
        .thrust = sm_jet_thrust(&chamber->jet, pressure, NULL, NULL),
    };
    if (mode->is_sliding && now->lit * surface.area > 0.0)
        now->rate = sm_chamber_rest_rate(chamber, pressure, now->lit * surface.area);
    else
        now->rate = sm_burn_law_rate(&chamber->law, bands->segment[mode->band], pressure, NULL);
}

/* ---- right-hand side ---- */

/* All that slope and Jacobian share. */
struct terms {
    struct sm_surface surface;
    double pressure, volume;      /* [Pa], [m3] */
    double lit, rate, rate_slope; /* [1], [m/s], [m/s/Pa] */
    double net_density;           /* rho_p - P/(RT) [kg/m3] */
    double flow, flow_slope;      /* [kg/s], [kg/s/Pa] */
};

static enum sm_rhs find_terms(const struct sm_chamber_system *s, double t, const double *y, struct terms *q)
{
    const struct sm_chamber *chamber = s->chamber;
    q->pressure = y[SM_P];
    if (!(q->pressure > 0.0) || !(q->pressure < 1e12))
        return SM_RHS_SMALLER_STEP;
    surface_at(chamber, &s->mode, y[SM_W], &q->surface);
    q->volume = chamber->volume_empty - q->surface.volume;
    q->lit = lit_share(chamber, &s->mode, t);
    q->net_density = chamber->density - q->pressure / chamber->rt;
    q->flow = sm_jet_mass_flow(&chamber->jet, q->pressure, &q->flow_slope);
    q->rate = sm_burn_law_rate(&chamber->law, s->bands->segment[s->mode.band], q->pressure, &q->rate_slope);
    return q->volume > 0.0 ? SM_RHS_GOOD : SM_RHS_SMALLER_STEP;
}

static double pressure_slope(const struct sm_chamber_system *s, const struct terms *q)
{
    return s->chamber->rt / q->volume * (q->lit * q->net_density * q->surface.area * q->rate - q->flow);
}

static enum sm_rhs slope(void *user, double t, const double *y, double *dy)
{
    const struct sm_chamber_system *s = user;
    struct terms q;
    const enum sm_rhs answer = find_terms(s, t, y, &q);
    if (answer != SM_RHS_GOOD)
        return answer;
    const int burning = s->mode.piece < s->chamber->stack->n_pieces;
    dy[SM_IMPULSE] = sm_jet_thrust(&s->chamber->jet, q.pressure, NULL, NULL);
    dy[SM_EXPELLED] = q.flow;
    if (s->mode.is_sliding) {
        dy[SM_P] = 0.0;
        dy[SM_W] = q.flow / (q.net_density * q.surface.area);
    } else {
        dy[SM_P] = pressure_slope(s, &q);
        dy[SM_W] = burning ? q.lit * q.rate : 0.0;
    }
    return SM_RHS_GOOD;
}

static enum sm_rhs jacobian(void *user, double t, const double *y, double *jac, double *dfdt)
{
    enum { N = SM_N_UNKNOWNS };
    const struct sm_chamber_system *s = user;
    struct terms q;
    const enum sm_rhs answer = find_terms(s, t, y, &q);
    if (answer != SM_RHS_GOOD)
        return answer;
    for (int i = 0; i < N * N; i++)
        jac[i] = 0.0;
    for (int i = 0; i < N; i++)
        dfdt[i] = 0.0;
    double thrust_slope;
    sm_jet_thrust(&s->chamber->jet, q.pressure, &thrust_slope, NULL);
    jac[SM_IMPULSE * N + SM_P] = thrust_slope;
    jac[SM_EXPELLED * N + SM_P] = q.flow_slope;
    if (s->mode.is_sliding) {
        jac[SM_W * N + SM_W] = -q.flow * q.surface.slope / (q.net_density * q.surface.area * q.surface.area);
        return SM_RHS_GOOD;
    }
    const double gain = s->chamber->rt / q.volume;
    const double area = q.lit * q.surface.area;
    jac[SM_P * N + SM_P] =
        gain * (area * (q.net_density * q.rate_slope - q.rate / s->chamber->rt) - q.flow_slope);
    jac[SM_P * N + SM_W] = gain * q.lit * q.net_density * q.surface.slope * q.rate -
                           pressure_slope(s, &q) * q.surface.area / q.volume;
    if (s->mode.piece < s->chamber->stack->n_pieces)
        jac[SM_W * N + SM_P] = q.lit * q.rate_slope;
    if (s->mode.is_spreading) {
        dfdt[SM_P] = gain * q.net_density * q.surface.area * q.rate / s->chamber->spread_time;
        dfdt[SM_W] = q.rate / s->chamber->spread_time;
    }
    return SM_RHS_GOOD;
}

void sm_chamber_system_init(struct sm_chamber_system *system, const struct sm_chamber *chamber,
                            const struct sm_bands *bands)
{
    *system = (struct sm_chamber_system){.chamber = chamber, .bands = bands};
    system->ros =
        (struct sm_ros_system){.n = SM_N_UNKNOWNS, .user = system, .slope = slope, .jacobian = jacobian};
}
