/* The chamber's equations for the integrator: slopes and their derivatives. */
#include "ballistics/chamber.h"

#include <math.h>

enum { N = SM_N_UNKNOWNS };

/* All that slope and Jacobian share. */
struct terms {
    struct sm_surface surface;
    struct sm_jet room;
    const struct sm_jet *jet;
    const struct sm_epoch *epoch;
    double pressure, volume; /* [Pa], [m3] */
    double lit, inflow;      /* [1], [kg/s] */
    double rate, rate_slope; /* [m/s], [m/s/Pa] */
    double net_density;      /* rho_p - P/(RT) [kg/m3] */
    double flow, flow_slope; /* through the nozzle at the flame's temperature [kg/s], [kg/s/Pa] */
    double growth, warmth;   /* [m], [1] */
    double heat, heat_slope; /* b [kg/s], db/dw [kg/s/m] */
    double wear, wear_slope; /* [m/s], [m/s/Pa] */
};

static void find_rare_terms(const struct sm_chamber_system *s, const double *y, struct terms *q)
{
    const struct sm_chamber *chamber = s->chamber;
    q->growth = y[SM_GROWTH];
    q->warmth = y[SM_WARMTH];
    q->jet = sm_chamber_jet(chamber, q->growth, &q->room);
    q->wear = sm_chamber_wear(chamber, q->epoch, q->pressure, &q->wear_slope);
    if (!chamber->cools)
        return;
    double growth;
    q->heat = chamber->cooling * sm_bare_wall_area(&chamber->wall, y[SM_W], &growth);
    q->heat_slope = chamber->cooling * growth;
}

static enum sm_rhs find_terms(const struct sm_chamber_system *s, double t, const double *y, struct terms *q)
{
    const struct sm_chamber *chamber = s->chamber;
    q->pressure = y[SM_P];
    if (!(q->pressure > 0.0) || !(q->pressure < 1e12))
        return SM_RHS_SMALLER_STEP;
    q->epoch = &chamber->epochs[s->mode.epoch];
    q->lit = sm_epoch_lit(q->epoch, t);
    q->inflow = sm_epoch_inflow(q->epoch, t);
    q->jet = &chamber->jet;
    q->growth = q->heat = q->heat_slope = q->wear = q->wear_slope = 0.0;
    q->warmth = 1.0;
    if (s->ros.n > SM_N_PLAIN) {
        if (!(chamber->throat_radius + y[SM_GROWTH] > 0.0) || !(y[SM_WARMTH] > 0.0))
            return SM_RHS_SMALLER_STEP;
        find_rare_terms(s, y, q);
    }
    sm_chamber_surface(chamber, &s->mode, y[SM_W], &q->surface);
    q->volume = chamber->volume_empty - q->surface.volume;
    q->net_density = chamber->density - q->pressure / chamber->rt;
    q->flow = q->flow_slope = 0.0;
    if (!s->mode.is_closed)
        q->flow = sm_jet_mass_flow(q->jet, q->pressure, &q->flow_slope);
    q->rate = sm_burn_law_rate(&chamber->law, s->bands->segment[s->mode.band], q->pressure, &q->rate_slope);
    return q->volume > 0.0 ? SM_RHS_GOOD : SM_RHS_SMALLER_STEP;
}

static double pressure_slope(const struct sm_chamber_system *s, const struct terms *q)
{
    const double x = q->warmth;
    return s->chamber->rt / q->volume *
           (q->lit * q->net_density * q->surface.area * q->rate + q->inflow - sqrt(x) * q->flow -
            q->heat * (x - s->chamber->wall_warmth));
}

/* Gas that the surface and the igniter make [kg/s]; m dx/dt = made (1 - x) - b (x - x_w). */
static double gas_made(const struct sm_chamber_system *s, const struct terms *q, double rate)
{
    return s->chamber->density * q->lit * q->surface.area * rate + q->inflow;
}

static double warmth_slope(const struct sm_chamber_system *s, const struct terms *q, double rate)
{
    const double mass = q->pressure * q->volume / (s->chamber->rt * q->warmth);
    return (gas_made(s, q, rate) * (1.0 - q->warmth) - q->heat * (q->warmth - s->chamber->wall_warmth)) /
           mass;
}

static double rest_rate(const struct sm_chamber_system *s, const struct terms *q)
{
    return (sqrt(q->warmth) * q->flow + q->heat * (q->warmth - s->chamber->wall_warmth) - q->inflow) /
           (q->net_density * q->lit * q->surface.area);
}

static enum sm_rhs slope(void *user, double t, const double *y, double *dy)
{
    const struct sm_chamber_system *s = user;
    struct terms q;
    const enum sm_rhs answer = find_terms(s, t, y, &q);
    if (answer != SM_RHS_GOOD)
        return answer;
    const int burning = s->mode.piece < s->chamber->stack->n_pieces;
    const double rate = s->mode.is_sliding ? rest_rate(s, &q) : q.rate;
    dy[SM_EXPELLED] = q.flow;
    dy[SM_P] = s->mode.is_sliding ? 0.0 : pressure_slope(s, &q);
    dy[SM_W] = burning ? q.lit * rate : 0.0;
    if (s->ros.n > SM_N_PLAIN) {
        dy[SM_EXPELLED] /= sqrt(q.warmth);
        dy[SM_GROWTH] = s->chamber->wears ? q.wear : 0.0;
        dy[SM_WARMTH] = s->chamber->cools ? warmth_slope(s, &q, rate) : 0.0;
    }
    return SM_RHS_GOOD;
}

/* ---- derivatives ---- */

/* What growth of the throat and the gas's warmth add. The stream goes as the throat's area, so that d ln(flow)/d(growth) is
 * 2 over the radius. */
static void rare_derivatives(const struct sm_chamber_system *s, const struct terms *q, double rate,
                             double rate_slope, double *jac, double *dfdt)
{
    const struct sm_chamber *chamber = s->chamber;
    const double x = q->warmth, root = sqrt(x), radius = chamber->throat_radius + q->growth;
    const int n = s->ros.n;
    const double by_growth = 2.0 * q->flow / radius;
    if (chamber->wears) {
        jac[SM_EXPELLED * n + SM_GROWTH] = by_growth / root;
        jac[SM_GROWTH * n + SM_P] = q->wear_slope;
    }
    jac[SM_EXPELLED * n + SM_P] = q->flow_slope / root;
    if (!chamber->cools)
        return;
    jac[SM_EXPELLED * n + SM_WARMTH] = -0.5 * q->flow / (x * root);
    const double gain = chamber->rt * x / (q->pressure * q->volume), excess = x - chamber->wall_warmth;
    const double speed = warmth_slope(s, q, rate);
    const double made_by_rate = chamber->density * q->lit * q->surface.area * (1.0 - x);
    const double made_by_w = chamber->density * q->lit * q->surface.slope * rate * (1.0 - x);
    jac[SM_WARMTH * n + SM_P] = gain * made_by_rate * rate_slope - speed / q->pressure;
    jac[SM_WARMTH * n + SM_W] =
        gain * (made_by_w - q->heat_slope * excess) - speed * q->surface.area / q->volume;
    jac[SM_WARMTH * n + SM_WARMTH] = speed / x - gain * (gas_made(s, q, rate) + q->heat);
    dfdt[SM_WARMTH] =
        gain * (1.0 - x) *
        (chamber->density * q->surface.area * rate * q->epoch->lit_slope + q->epoch->inflow_slope);
}

/* A sliding chamber holds its pressure; of what decides its rate, only area and throat feed back. */
static void sliding_derivatives(const struct sm_chamber_system *s, const struct terms *q, double *jac,
                                double *dfdt)
{
    const int n = s->ros.n;
    const double rate = rest_rate(s, q), made = q->net_density * q->surface.area;
    jac[SM_W * n + SM_W] = -q->lit * rate * q->surface.slope / q->surface.area;
    dfdt[SM_W] = -q->epoch->inflow_slope / made;
    if (n == SM_N_PLAIN)
        return;
    const double root = sqrt(q->warmth), radius = s->chamber->throat_radius + q->growth;
    jac[SM_W * n + SM_W] += q->heat_slope * (q->warmth - s->chamber->wall_warmth) / made;
    if (s->chamber->wears)
        jac[SM_W * n + SM_GROWTH] = root * 2.0 * q->flow / (radius * made);
    if (s->chamber->cools)
        jac[SM_W * n + SM_WARMTH] = (0.5 * q->flow / root + q->heat) / made;
    rare_derivatives(s, q, rate, 0.0, jac, dfdt);
    if (!s->chamber->cools)
        return;
    /* here the rate itself moves with w, growth and warmth */
    const double gain = s->chamber->rt * q->warmth / (q->pressure * q->volume) * s->chamber->density *
                        q->surface.area * (1.0 - q->warmth);
    for (int i = 0; i < n; i++)
        jac[SM_WARMTH * n + i] += gain * jac[SM_W * n + i];
    dfdt[SM_WARMTH] += gain * dfdt[SM_W] - gain * rate * q->epoch->lit_slope;
}

static void plain_derivatives(const struct sm_chamber_system *s, const struct terms *q, double *jac,
                              double *dfdt)
{
    const int n = s->ros.n;
    const double gain = s->chamber->rt / q->volume, area = q->lit * q->surface.area;
    const double speed = pressure_slope(s, q), root = sqrt(q->warmth);
    jac[SM_P * n + SM_P] =
        gain * (area * (q->net_density * q->rate_slope - q->rate / s->chamber->rt) - root * q->flow_slope);
    jac[SM_P * n + SM_W] =
        gain * q->lit * q->net_density * q->surface.slope * q->rate - speed * q->surface.area / q->volume;
    if (s->mode.piece < s->chamber->stack->n_pieces)
        jac[SM_W * n + SM_P] = q->lit * q->rate_slope;
    const double lit_slope = q->epoch->lit_slope;
    dfdt[SM_P] = gain * (q->net_density * q->surface.area * q->rate * lit_slope + q->epoch->inflow_slope);
    dfdt[SM_W] = q->rate * lit_slope;
    if (n == SM_N_PLAIN)
        return;
    const double radius = s->chamber->throat_radius + q->growth;
    jac[SM_P * n + SM_W] -= gain * q->heat_slope * (q->warmth - s->chamber->wall_warmth);
    if (s->chamber->wears)
        jac[SM_P * n + SM_GROWTH] = -gain * root * 2.0 * q->flow / radius;
    if (s->chamber->cools)
        jac[SM_P * n + SM_WARMTH] = -gain * (0.5 * q->flow / root + q->heat);
    rare_derivatives(s, q, q->rate, q->rate_slope, jac, dfdt);
}

static enum sm_rhs jacobian(void *user, double t, const double *y, double *jac, double *dfdt)
{
    const struct sm_chamber_system *s = user;
    const int n = s->ros.n;
    struct terms q;
    const enum sm_rhs answer = find_terms(s, t, y, &q);
    if (answer != SM_RHS_GOOD)
        return answer;
    for (int i = 0; i < n * n; i++)
        jac[i] = 0.0;
    for (int i = 0; i < n; i++)
        dfdt[i] = 0.0;
    jac[SM_EXPELLED * n + SM_P] = q.flow_slope;
    if (s->mode.is_sliding)
        sliding_derivatives(s, &q, jac, dfdt);
    else
        plain_derivatives(s, &q, jac, dfdt);
    return SM_RHS_GOOD;
}

void sm_chamber_system_init(struct sm_chamber_system *system, const struct sm_chamber *chamber,
                            const struct sm_bands *bands)
{
    *system = (struct sm_chamber_system){.chamber = chamber, .bands = bands};
    system->ros = (struct sm_ros_system){.n = chamber->wears || chamber->cools ? N : SM_N_PLAIN,
                                         .user = system,
                                         .slope = slope,
                                         .jacobian = jacobian};
}
