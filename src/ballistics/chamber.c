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

void sm_chamber_surface(const struct sm_chamber *chamber, const struct sm_mode *mode, double w,
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

static double circle(double diameter)
{
    return 0.25 * M_PI * diameter * diameter;
}

/* c_p = gamma R / (gamma - 1) with R = RT / T of the gas as delivered. */
static void init_cooling(struct sm_chamber *chamber, const struct sm_motor *motor, double heat_transfer)
{
    const struct sm_motor_spec *spec = &motor->spec;
    const double gamma = motor->gas.gamma, flame = spec->propellant.flame_temperature;
    const double h = isnan(heat_transfer) ? spec->chamber.heat_transfer : heat_transfer;
    chamber->cools = h > 0.0 && !isnan(flame);
    if (!chamber->cools)
        return;
    chamber->cooling = h * (gamma - 1.0) * flame / (gamma * chamber->rt);
    chamber->wall_warmth = spec->chamber.wall_temperature / flame;
}

/* The gamma of expansion may be another than the chamber's; RT is then scaled so that c* holds still. */
static enum sm_status init_jet(struct sm_chamber *chamber, const struct sm_motor *motor, struct sm_error *err)
{
    const struct sm_nozzle *nozzle = &motor->spec.nozzle;
    const struct sm_gas *gas = &motor->gas;
    struct sm_nozzle lossy = *nozzle;
    lossy.thrust_efficiency *= motor->spec.propellant.lag_efficiency;
    const double gamma = isnan(nozzle->gamma) ? gas->gamma : nozzle->gamma;
    const double speed = gas->cstar * sm_gas_vandenkerckhove(gamma);
    const double rt = isnan(nozzle->gamma) ? gas->rt : speed * speed;
    chamber->discharge = nozzle->discharge_coefficient;
    chamber->throat_radius = 0.5 * nozzle->throat_diameter;
    chamber->throat_area = circle(nozzle->throat_diameter);
    chamber->erosion = nozzle->erosion;
    chamber->deposit = nozzle->deposit;
    chamber->wears = nozzle->erosion.rate > 0.0 || nozzle->deposit.rate > 0.0;
    chamber->closure_pressure = isnan(nozzle->closure_pressure) ? 0.0 : nozzle->closure_pressure;
    return sm_jet_init(&chamber->jet, &lossy, chamber->discharge * chamber->throat_area, gamma, gas->cstar,
                       rt, motor->ambient, err);
}

enum sm_status sm_chamber_init(struct sm_chamber *chamber, const struct sm_motor *motor, double temperature,
                               double heat_transfer, struct sm_arena *arena, struct sm_error *err)
{
    struct sm_geometry_at start;
    struct sm_epoch *epochs;
    sm_geometry_eval(&motor->stack, 0.0, &start);
    *chamber = (struct sm_chamber){
        .stack = &motor->stack,
        .density = motor->spec.propellant.density,
        .rt = motor->gas.rt,
        .volume_empty = motor->free_volume + start.value[SM_VOLUME],
        .start_pressure = motor->start_pressure,
    };
    chamber->loaded = motor->propellant_mass + chamber->start_pressure * motor->free_volume / chamber->rt;
    SM_TRY(find_runs(chamber, arena, err));
    SM_TRY(sm_epochs_make(motor, arena, &epochs, &chamber->n_epochs, err));
    chamber->epochs = epochs;
    SM_TRY(sm_bare_wall_init(&chamber->wall, motor, arena, err));
    init_cooling(chamber, motor, heat_transfer);
    sm_burn_law_init(&chamber->law, &motor->spec.propellant, temperature);
    return init_jet(chamber, motor, err);
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
    for (size_t i = 0; i < bands->n; i++) {
        const double lower = i == 0 ? 0.0 : bands->edge[i - 1];
        bands->segment[i] = sm_burn_law_segment(&chamber->law, lower);
    }
}

size_t sm_bands_find(const struct sm_bands *bands, double pressure)
{
    size_t band = 0;
    while (band + 1 < bands->n && pressure >= bands->edge[band])
        band++;
    return band;
}

/* ---- throat ---- */

static double throat_area(const struct sm_chamber *chamber, double growth)
{
    const double radius = chamber->throat_radius + growth;
    return M_PI * radius * radius;
}

const struct sm_jet *sm_chamber_jet(const struct sm_chamber *chamber, double growth, struct sm_jet *room)
{
    if (!chamber->wears)
        return &chamber->jet;
    *room = chamber->jet;
    sm_jet_resize(room, chamber->discharge * throat_area(chamber, growth));
    return room;
}

double sm_chamber_wear(const struct sm_chamber *chamber, const struct sm_epoch *epoch, double pressure,
                       double *slope)
{
    double speed = 0.0, steep = 0.0, part;
    if (epoch->erodes) {
        speed += sm_wear_speed(&chamber->erosion, pressure, &part);
        steep += part;
    }
    if (epoch->deposits) {
        speed -= sm_wear_speed(&chamber->deposit, pressure, &part);
        steep -= part;
    }
    if (slope)
        *slope = steep;
    return speed;
}

enum sm_status sm_chamber_check_throat(const struct sm_chamber *chamber, double growth, double t,
                                       struct sm_error *err)
{
    static const double closed = 0.1; /* share of the radius below which a throat is taken as closed [1] */
    const double radius = chamber->throat_radius + growth;
    if (!chamber->wears)
        return SM_OK;
    if (radius < closed * chamber->throat_radius)
        return sm_at(err,
                     sm_fail(err, SM_E_PHYSICS,
                             "at %.4g s the deposit has closed the throat to a tenth of its diameter", t),
                     "/nozzle/deposit/rate");
    if (chamber->jet.has_cone && chamber->discharge * throat_area(chamber, growth) >= chamber->jet.exit_area)
        return sm_at(err,
                     sm_fail(err, SM_E_PHYSICS,
                             "at %.4g s the throat has worn to %.4g mm, as wide as the exit: no cone is left",
                             t, 2e3 * radius),
                     "/nozzle/erosion/rate");
    return SM_OK;
}

/* ---- rest ---- */

double sm_supply_warmth(const struct sm_supply *supply, double rate)
{
    const double gen = supply->chamber->density * supply->lit_area * rate + supply->inflow;
    if (!(supply->heat > 0.0))
        return 1.0;
    return (gen + supply->heat * supply->chamber->wall_warmth) / (gen + supply->heat);
}

/* Let out and lost to cooling, at warmth x [kg/s]. */
static double drain(const struct sm_supply *supply, double pressure, double x)
{
    const double flow = supply->jet ? sm_jet_mass_flow(supply->jet, pressure, NULL) : 0.0;
    return sqrt(x) * flow + supply->heat * (x - supply->chamber->wall_warmth);
}

double sm_supply_surplus(const struct sm_supply *supply, double pressure, double rate)
{
    const struct sm_chamber *chamber = supply->chamber;
    const double x = isnan(supply->warmth) ? sm_supply_warmth(supply, rate) : supply->warmth;
    return (chamber->density - pressure / chamber->rt) * supply->lit_area * rate + supply->inflow -
           drain(supply, pressure, x);
}

double sm_supply_rest_rate(const struct sm_supply *supply, double pressure)
{
    const struct sm_chamber *chamber = supply->chamber;
    return (drain(supply, pressure, supply->warmth) - supply->inflow) /
           ((chamber->density - pressure / chamber->rt) * supply->lit_area);
}

/* ---- one instant ---- */

void sm_chamber_instant(const struct sm_chamber *chamber, const struct sm_bands *bands,
                        const struct sm_mode *mode, double t, const double *y, struct sm_instant *now)
{
    struct sm_surface surface;
    struct sm_jet room;
    const double growth = chamber->wears ? y[SM_GROWTH] : 0.0, x = chamber->cools ? y[SM_WARMTH] : 1.0;
    const struct sm_epoch *epoch = &chamber->epochs[mode->epoch];
    const struct sm_jet *jet = sm_chamber_jet(chamber, growth, &room);
    sm_chamber_surface(chamber, mode, y[SM_W], &surface);
    *now = (struct sm_instant){
        .area = surface.area,
        .volume_left = surface.volume,
        .lit = sm_epoch_lit(epoch, t),
        .throat_area = throat_area(chamber, growth),
        .exit_area = jet->exit_area,
    };
    if (!mode->is_closed) {
        now->mass_flow = sm_jet_mass_flow(jet, y[SM_P], NULL) / sqrt(x);
        now->thrust = sm_jet_thrust(jet, y[SM_P], NULL, NULL);
    }
    if (!mode->is_sliding || !(now->lit * surface.area > 0.0)) {
        now->rate = sm_burn_law_rate(&chamber->law, bands->segment[mode->band], y[SM_P], NULL);
        return;
    }
    const struct sm_supply supply = {
        .chamber = chamber,
        .jet = mode->is_closed ? NULL : jet,
        .lit_area = now->lit * surface.area,
        .inflow = sm_epoch_inflow(epoch, t),
        .heat = chamber->cools ? chamber->cooling * sm_bare_wall_area(&chamber->wall, y[SM_W], NULL) : 0.0,
        .warmth = x,
    };
    now->rate = sm_supply_rest_rate(&supply, y[SM_P]);
}
