#include "propellant/propellant.h"

#include <math.h>
#include <stddef.h>

#include "propellant/burnrate.h"
#include "slowmatch/limits.h"

/* Molar gas constant [J/(mol K)], exact in the SI of 2019. Reference: CODATA 2018. */
#define GAS_CONSTANT 8.31446261815324

/* Two pressures at a joint are the same if they differ by no more than this share [1]: unit conversion rounds
 * "0.779 MPa" and "779 kPa" apart by some 1e-16, while any gap that somebody means is far wider. */
#define JOINT_SLACK 1e-9

/* Rates within which a propellant's must lie over its own range [m/s]. Rates of 1 to 100 mm/s at 7 MPa are
 * usual [D. Davis, PROPULSION - A Rocket Propulsion Engineering Course, module 20]; a hundred times less and
 * ten times more leave room for low pressures and odd propellants, and still catch a slip of unit. */
#define RATE_LEAST 1e-5
#define RATE_MOST  1.0

const char *const sm_standing_words[] = {"measured", "published", "from-memory", "invented", NULL};

#define QUANTITY(owner, field, d, lo, hi, def, text)                                                         \
    {                                                                                                        \
        .name = #field, .kind = SM_QUANTITY, .dim = SM_DIM_##d, .offset = offsetof(struct owner, field),     \
        .min = lo, .max = hi, .fallback = def, .help = text                                                  \
    }

static const struct sm_param segment_params[] = {
    QUANTITY(sm_burn_segment, from, PRESSURE, 1e3, 1e8, SM_REQUIRED, "lower end of the segment's pressures"),
    QUANTITY(sm_burn_segment, to, PRESSURE, 1e3, 1e8, SM_REQUIRED, "upper end of the segment's pressures"),
    QUANTITY(sm_burn_segment, rate, SPEED, 1e-9, 1.0, SM_REQUIRED, "burning rate at the pressure `at`"),
    QUANTITY(sm_burn_segment, at, PRESSURE, 1.0, 1e8, SM_REQUIRED,
             "pressure at which the burning rate is `rate`; it may lie outside the segment"),
    /* The bound is beyond 1 so that the check below can say why 1 is too much. */
    QUANTITY(sm_burn_segment, exponent, NONE, -5.0, 5.0, SM_REQUIRED,
             "pressure exponent, below 1; may be negative"),
};

const struct sm_param sm_propellant_params[] = {
    {.name = "name",
     .kind = SM_TEXT,
     .offset = offsetof(struct sm_propellant, name),
     .fallback = SM_REQUIRED,
     .help = "what it is called"},
    {.name = "source",
     .kind = SM_TEXT,
     .offset = offsetof(struct sm_propellant, source),
     .fallback = SM_REQUIRED,
     .help = "where the numbers are from: a full citation"},
    {.name = "standing",
     .kind = SM_CHOICE,
     .offset = offsetof(struct sm_propellant, standing),
     .fallback = SM_REQUIRED,
     .words = sm_standing_words,
     .help = "how far the numbers can be trusted"},
    QUANTITY(sm_propellant, density, DENSITY, 500.0, 4000.0, SM_REQUIRED, "density of the grain as cast"),
    {.name = "burn_rate",
     .kind = SM_LIST,
     .offset = offsetof(struct sm_propellant, burn_rate),
     .min = 1,
     .max = SM_MAX_BURN_SEGMENTS,
     .fallback = SM_REQUIRED,
     .rows = segment_params,
     .n_rows = SM_COUNT(segment_params),
     .row_size = sizeof(struct sm_burn_segment),
     .help = "burning-rate law, rate * (pressure / at)^exponent, in segments of rising pressure that join"},
    QUANTITY(sm_propellant, temperature_sensitivity, PER_TEMPERATURE, -0.01, 0.02, 0.0,
             "share by which the rate at constant pressure grows a kelvin of grain temperature"),
    QUANTITY(sm_propellant, reference_temperature, TEMPERATURE, 200.0, 400.0, 294.15,
             "grain temperature at which the rates hold"),
    QUANTITY(sm_propellant, minimum_pressure, PRESSURE, 0.0, 1e7, 0.5e6,
             "pressure below which it may not burn steadily"),
    QUANTITY(sm_propellant, flame_temperature, TEMPERATURE, 500.0, 5000.0, SM_OPTIONAL,
             "temperature of the gas in the chamber, with molar_mass"),
    QUANTITY(sm_propellant, molar_mass, MOLAR_MASS, 5e-3, 0.2, SM_OPTIONAL,
             "molar mass of the gas; where condensed_fraction is left out, that of gas and particles "
             "together which "
             "gives the right c*"),
    QUANTITY(sm_propellant, gamma, NONE, 1.01, 1.67, SM_REQUIRED, "ratio of specific heats of the gas"),
    QUANTITY(sm_propellant, characteristic_velocity, SPEED, 300.0, 3500.0, SM_OPTIONAL,
             "ideal characteristic velocity, in place of flame_temperature and molar_mass"),
    QUANTITY(sm_propellant, cstar_efficiency, NONE, 0.5, 1.0, 1.0,
             "delivered over ideal characteristic velocity"),
    QUANTITY(sm_propellant, condensed_fraction, NONE, 0.0, 0.8, 0.0,
             "mass of particles and droplets in the flow over all of it"),
    QUANTITY(sm_propellant, condensed_specific_heat, SPECIFIC_HEAT, 100.0, 1e4, SM_OPTIONAL,
             "of particles and droplets; that of the gas at constant pressure if not given"),
    QUANTITY(
        sm_propellant, lag_efficiency, NONE, 0.5, 1.0, 1.0,
        "delivered over ideal thrust of the stream where particles lag behind the gas; 1 if they keep up"),
    {.name = "erosive",
     .kind = SM_RECORD,
     .offset = offsetof(struct sm_propellant, erosive),
     .rows = sm_erosive_params,
     .n_rows = SM_N_EROSIVE_PARAMS,
     .fallback = SM_OPTIONAL,
     .help =
         "what gas that rushes along the port adds to the rate, in the axial model; nothing if not given"},
};
const size_t sm_n_propellant_params = SM_COUNT(sm_propellant_params);

static enum sm_status check_exponent(const struct sm_burn_segment *s, struct sm_error *err)
{
    if (s->exponent < 1.0)
        return SM_OK;
    return sm_at(
        err,
        sm_fail(err, SM_E_RANGE,
                "exponent %g must be below 1: from 1 on, a rise of pressure adds at least as much to the "
                "gas made as to the gas let out, so there is no stable pressure",
                s->exponent),
        "/exponent");
}

/* A slip in the unit of rate or at shows in the rate that comes out. */
static enum sm_status check_rate(const struct sm_burn_segment *s, double pressure, struct sm_error *err)
{
    const double rate = s->rate * pow(pressure / s->at, s->exponent);
    if (rate >= RATE_LEAST && rate <= RATE_MOST)
        return SM_OK;
    return sm_at(err,
                 sm_fail(err, SM_E_RANGE,
                         "the rate comes out at %.3g mm/s at %.4g MPa; propellants burn at %g to %g mm/s: "
                         "look at the units of rate and at",
                         1e3 * rate, 1e-6 * pressure, 1e3 * RATE_LEAST, 1e3 * RATE_MOST),
                 "/rate");
}

static enum sm_status check_segment(const struct sm_burn_segment *s, struct sm_error *err)
{
    if (!(s->from < s->to))
        return sm_at(err,
                     sm_fail(err, SM_E_RANGE,
                             "the segment ends at %.6g MPa, which is not above its start at %.6g MPa",
                             1e-6 * s->to, 1e-6 * s->from),
                     "/to");
    SM_TRY(check_exponent(s, err));
    SM_TRY(check_rate(s, s->from, err));
    return check_rate(s, s->to, err);
}

static enum sm_status check_joint(const struct sm_burn_segment *below, const struct sm_burn_segment *s,
                                  struct sm_error *err)
{
    const double gap = s->from - below->to;
    if (fabs(gap) <= JOINT_SLACK * below->to)
        return SM_OK;
    return sm_at(err,
                 sm_fail(err, SM_E_RANGE,
                         "the segment starts at %.6g MPa, which leaves %s the one before, up to %.6g MPa: "
                         "segments must join in rising pressure",
                         1e-6 * s->from, gap > 0.0 ? "a gap to" : "an overlap with", 1e-6 * below->to),
                 "/from");
}

static enum sm_status check_burn_rate(const struct sm_list *list, struct sm_error *err)
{
    const struct sm_burn_segment *segments = list->items;
    if (list->n == 0)
        return sm_at(err, sm_fail(err, SM_E_FIELD, "at least one burn_rate segment is needed"), "/burn_rate");
    for (size_t i = 0; i < list->n; i++) {
        enum sm_status status = check_segment(&segments[i], err);
        if (status == SM_OK && i > 0)
            status = check_joint(&segments[i - 1], &segments[i], err);
        if (status != SM_OK)
            return sm_at(err, status, "/burn_rate/%zu", i);
    }
    return SM_OK;
}

static enum sm_status check_gas(const struct sm_propellant *p, struct sm_error *err)
{
    const bool has_cstar = !isnan(p->characteristic_velocity);
    const bool has_temperature = !isnan(p->flame_temperature), has_molar_mass = !isnan(p->molar_mass);
    if (has_cstar && (has_temperature || has_molar_mass))
        return sm_at(err,
                     sm_fail(err, SM_E_FIELD,
                             "characteristic_velocity stands in place of flame_temperature and molar_mass; "
                             "give one or the other"),
                     "/characteristic_velocity");
    if (has_cstar || (has_temperature && has_molar_mass))
        return SM_OK;
    if (has_temperature || has_molar_mass)
        return sm_at(err,
                     sm_fail(err, SM_E_FIELD, "%s needs %s beside it",
                             has_molar_mass ? "molar_mass" : "flame_temperature",
                             has_molar_mass ? "flame_temperature" : "molar_mass"),
                     has_molar_mass ? "/flame_temperature" : "/molar_mass");
    return sm_at(
        err,
        sm_fail(err, SM_E_FIELD,
                "the gas is missing: give flame_temperature and molar_mass, or characteristic_velocity"),
        "/flame_temperature");
}

static enum sm_status check_condensed(const struct sm_propellant *p, struct sm_error *err)
{
    if (!(p->condensed_specific_heat > 0.0) || !isnan(p->flame_temperature))
        return SM_OK;
    return sm_at(
        err,
        sm_fail(err, SM_E_FIELD,
                "condensed_specific_heat says nothing without the gas's own: give flame_temperature and "
                "molar_mass in place of characteristic_velocity"),
        "/condensed_specific_heat");
}

enum sm_status sm_propellant_check(const struct sm_propellant *propellant, struct sm_error *err)
{
    SM_TRY(check_burn_rate(&propellant->burn_rate, err));
    SM_TRY(check_gas(propellant, err));
    SM_TRY(check_condensed(propellant, err));
    return sm_at(err, sm_erosive_check(&propellant->erosive, propellant->flame_temperature, err), "/erosive");
}

double sm_gas_vandenkerckhove(double gamma)
{
    const double power = (gamma + 1.0) / (2.0 * (gamma - 1.0));
    return sqrt(gamma) * pow(2.0 / (gamma + 1.0), power);
}

/* Specific heats by shares, over the gas's own c_p. */
static double mixture_gamma(const struct sm_propellant *p)
{
    const double x = p->condensed_fraction, gamma = p->gamma;
    double heat = 1.0; /* of the particles over the gas's c_p [1] */
    if (p->condensed_specific_heat > 0.0)
        heat = p->condensed_specific_heat * (gamma - 1.0) / gamma * p->molar_mass / GAS_CONSTANT;
    return ((1.0 - x) + x * heat) / ((1.0 - x) / gamma + x * heat);
}

void sm_propellant_gas(const struct sm_propellant *propellant, struct sm_gas *gas)
{
    const double x = propellant->condensed_fraction, bare = sm_gas_vandenkerckhove(propellant->gamma);
    gas->gamma_bare = propellant->gamma;
    gas->gamma = x > 0.0 ? mixture_gamma(propellant) : propellant->gamma;
    const double function = sm_gas_vandenkerckhove(gas->gamma);
    if (isnan(propellant->characteristic_velocity))
        gas->cstar_ideal =
            sqrt((1.0 - x) * GAS_CONSTANT / propellant->molar_mass * propellant->flame_temperature) /
            function;
    else
        gas->cstar_ideal = propellant->characteristic_velocity;
    gas->cstar_bare = gas->cstar_ideal * function / (bare * sqrt(1.0 - x));
    gas->cstar = propellant->cstar_efficiency * gas->cstar_ideal;
    gas->rt = (gas->cstar * function) * (gas->cstar * function);
}
