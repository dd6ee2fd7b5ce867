#include "ballistics/losses.h"

#include <math.h>

static const double gravity = 9.80665; /* standard acceleration of free fall [m/s2], CGPM 1901 */

enum line {
    IDEAL,
    CONDENSED,
    OWN_GAMMA,
    COMBUSTION,
    HEAT,
    DISCHARGE,
    DIVERGENCE,
    SEPARATION,
    LAG,
    NOZZLE,
    N_STREAMS
};

static const struct {
    const char *name, *note;
} texts[] = {
    [IDEAL] = {"ideal", "all of it gas, the cone full, nothing lost"},
    [CONDENSED] = {"condensed phase", "particles that keep up with the gas"},
    [OWN_GAMMA] = {"expansion", "with the nozzle's own gamma"},
    [COMBUSTION] = {"combustion", "c* delivered over ideal"},
    [HEAT] = {"heat to the wall", "that is bare"},
    [DISCHARGE] = {"throat", "the stream is narrower than it"},
    [DIVERGENCE] = {"divergence", "of the exit cone"},
    [SEPARATION] = {"separation", "from the cone; a gain where that saves suction"},
    [LAG] = {"particle lag", "behind the gas"},
    [NOZZLE] = {"nozzle", "thrust_efficiency: friction and the rest"},
    [N_STREAMS] = {"left over", "igniter's gas; what is left in the chamber"},
};

/* A nozzle for each line. Lines that change no thrust at a given pressure share one. */
struct streams {
    struct sm_jet jet[N_STREAMS];
    double narrowing;       /* throat's area over the stream's [1] */
    double flow[N_STREAMS]; /* mass flow over that with the delivered c* through the stream's area [1] */
};

static enum sm_status make(struct sm_jet *jet, const struct sm_motor *motor, const struct sm_chamber *chamber,
                           double gamma, int diverges, double efficiency, double discharge,
                           struct sm_error *err)
{
    struct sm_nozzle nozzle = motor->spec.nozzle;
    const double speed = motor->gas.cstar * sm_gas_vandenkerckhove(gamma);
    nozzle.half_angle = diverges ? nozzle.half_angle : 0.0;
    nozzle.thrust_efficiency = efficiency;
    return sm_jet_init(jet, &nozzle, discharge * chamber->throat_area, gamma, motor->gas.cstar, speed * speed,
                       motor->ambient, err);
}

static enum sm_status make_streams(struct streams *s, const struct sm_motor *motor,
                                   const struct sm_chamber *chamber, struct sm_error *err)
{
    const struct sm_gas *gas = &motor->gas;
    const double own = chamber->jet.gamma, lag = motor->spec.propellant.lag_efficiency;
    const double discharge = chamber->discharge;
    SM_TRY(make(&s->jet[IDEAL], motor, chamber, gas->gamma_bare, 0, 1.0, 1.0, err));
    SM_TRY(make(&s->jet[CONDENSED], motor, chamber, gas->gamma, 0, 1.0, 1.0, err));
    SM_TRY(make(&s->jet[OWN_GAMMA], motor, chamber, own, 0, 1.0, 1.0, err));
    SM_TRY(make(&s->jet[DISCHARGE], motor, chamber, own, 0, 1.0, discharge, err));
    SM_TRY(make(&s->jet[DIVERGENCE], motor, chamber, own, 1, 1.0, discharge, err));
    SM_TRY(make(&s->jet[LAG], motor, chamber, own, 1, lag, discharge, err));
    s->jet[COMBUSTION] = s->jet[HEAT] = s->jet[OWN_GAMMA];
    s->jet[SEPARATION] = s->jet[DIVERGENCE];
    s->jet[NOZZLE] = chamber->jet;
    s->narrowing = 1.0 / discharge;
    for (int i = 0; i < N_STREAMS; i++)
        s->flow[i] = 1.0;
    s->flow[IDEAL] = s->narrowing * gas->cstar / gas->cstar_bare;
    s->flow[CONDENSED] = s->flow[OWN_GAMMA] = s->narrowing * gas->cstar / gas->cstar_ideal;
    s->flow[COMBUSTION] = s->flow[HEAT] = s->narrowing;
    return SM_OK;
}

static void resize(struct streams *s, const struct sm_chamber *chamber, double growth)
{
    const double radius = chamber->throat_radius + growth, area = M_PI * radius * radius;
    for (int i = 0; i < N_STREAMS; i++)
        sm_jet_resize(&s->jet[i], i < DISCHARGE ? area : area * chamber->discharge);
}

/* Thrust of each line [N] at stagnation pressure P; actual [N] is what the run has. Without choking there is one formula. */
static void push_of(const struct streams *s, double pressure, double actual, double push[N_STREAMS])
{
    for (int i = 0; i < N_STREAMS; i++) {
        const struct sm_jet *jet = &s->jet[i];
        if (pressure < jet->choking_pressure || i == NOZZLE)
            push[i] = actual;
        else if (i < SEPARATION)
            push[i] = jet->thrust_slope * pressure - jet->ambient * jet->exit_area;
        else
            push[i] = sm_jet_thrust(jet, pressure, NULL, NULL);
    }
}

struct sums {
    double push[N_STREAMS]; /* [N s] */
    double flow, full_flow; /* as it was, and with the gas as hot as the flame [kg] */
};

static void add_up(struct streams *s, const struct sm_chamber *chamber, const struct sm_series *series,
                   struct sums *sums)
{
    double before[N_STREAMS] = {0.0}, full_before = 0.0;
    *sums = (struct sums){0};
    for (size_t i = 0; i < series->n; i++) {
        const double p = series->pressure_nozzle ? series->pressure_nozzle[i] : series->pressure[i];
        const int flows = series->mass_flow[i] > 0.0;
        double push[N_STREAMS] = {0.0};
        if (chamber->wears)
            resize(s, chamber, 0.5 * series->throat_diameter[i] - chamber->throat_radius);
        if (flows)
            push_of(s, p, series->thrust[i], push);
        const double full = flows ? sm_jet_mass_flow(&s->jet[NOZZLE], p, NULL) : 0.0;
        const double half = i > 0 ? 0.5 * (series->time[i] - series->time[i - 1]) : 0.0;
        for (int k = 0; k < N_STREAMS; k++) {
            sums->push[k] += half * (push[k] + before[k]);
            before[k] = push[k];
        }
        sums->flow += i > 0 ? half * (series->mass_flow[i] + series->mass_flow[i - 1]) : 0.0;
        sums->full_flow += half * (full + full_before);
        full_before = full;
    }
}

/* Does this motor have such a loss at all? What it has not is left out of the table. */
static int applies(int line, const struct sm_motor *motor, const struct sm_chamber *chamber)
{
    switch (line) {
    case CONDENSED:
        return motor->spec.propellant.condensed_fraction > 0.0;
    case OWN_GAMMA:
        return !isnan(motor->spec.nozzle.gamma);
    case HEAT:
        return chamber->cools;
    case DISCHARGE:
        return chamber->discharge < 1.0;
    case DIVERGENCE:
        return chamber->jet.has_cone;
    case SEPARATION:
        return chamber->jet.has_cone && chamber->jet.ambient > 0.0;
    case LAG:
        return motor->spec.propellant.lag_efficiency < 1.0;
    default:
        return 1;
    }
}

enum sm_status sm_losses_reckon(const struct sm_motor *motor, const struct sm_chamber *chamber,
                                struct sm_run *run, struct sm_error *err)
{
    struct streams s;
    struct sums sums;
    struct sm_result *result = &run->result;
    struct sm_loss *lines = sm_arena_alloc(&run->arena, N_STREAMS + 1, sizeof *lines);
    if (!lines)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(make_streams(&s, motor, chamber, err));
    add_up(&s, chamber, &result->series, &sums);
    double last = 0.0;
    for (int i = 0; i <= N_STREAMS; i++) {
        if (!applies(i, motor, chamber))
            continue;
        double now = result->thrust.specific_impulse;
        if (i < N_STREAMS)
            now = sums.push[i] / (gravity * s.flow[i] * (i < HEAT ? sums.full_flow : sums.flow));
        lines[result->n_losses++] = (struct sm_loss){texts[i].name, texts[i].note, now, i ? last - now : 0.0};
        last = now;
    }
    result->losses = lines;
    return SM_OK;
}
