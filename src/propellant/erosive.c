#include "propellant/erosive.h"

#include <math.h>
#include <stddef.h>

#define QUANTITY(field, d, lo, hi, def, text)                                                                \
    {                                                                                                        \
        .name = #field, .kind = SM_QUANTITY, .dim = SM_DIM_##d,                                              \
        .offset = offsetof(struct sm_erosive, field), .min = lo, .max = hi, .fallback = def, .help = text    \
    }

const struct sm_param sm_erosive_params[SM_N_EROSIVE_PARAMS] = {
    QUANTITY(
        rate, SPEED, 0.0, 1.0, SM_OPTIONAL,
        "what heat transfer would add to the rate at `flux` and `diameter` if nothing shielded the wall"),
    QUANTITY(flux, MASS_FLUX, 1.0, 1e5, SM_OPTIONAL, "mass flux that goes with `rate`"),
    QUANTITY(diameter, LENGTH, 1e-4, 10.0, SM_OPTIONAL,
             "hydraulic diameter of the port that goes with `rate`"),
    QUANTITY(blowing, NONE, 1.0, 500.0, 53.0, "how much the gas that leaves the wall shields it"),
    QUANTITY(viscosity, VISCOSITY, 1e-6, 1e-2, SM_OPTIONAL, "of the gas, in place of `rate`"),
    QUANTITY(prandtl, NONE, 0.1, 10.0, SM_OPTIONAL, "Prandtl number of the gas, in place of `rate`"),
    QUANTITY(gas_specific_heat, SPECIFIC_HEAT, 100.0, 1e4, SM_OPTIONAL,
             "of the gas at constant pressure, in place of `rate`"),
    QUANTITY(solid_specific_heat, SPECIFIC_HEAT, 100.0, 1e4, SM_OPTIONAL,
             "of the propellant, in place of `rate`"),
    QUANTITY(surface_temperature, TEMPERATURE, 300.0, 2000.0, SM_OPTIONAL,
             "of the burning propellant, in place of `rate`"),
    QUANTITY(threshold, MASS_FLUX, 0.0, 1e5, SM_OPTIONAL, "mass flux from which on the rate grows by `gain`"),
    QUANTITY(gain, SPECIFIC_VOLUME, 0.0, 1e-2, SM_OPTIONAL,
             "growth of the rate with mass flux above the threshold, m/s for each kg/m2s"),
};

/* ---- checks ---- */

/* Fields of one form: how many of them are given, and the first that is not. */
static size_t given_of(const struct sm_erosive *e, const size_t *rows, size_t n, const char **missing)
{
    size_t given = 0;
    *missing = NULL;
    for (size_t i = 0; i < n; i++) {
        const struct sm_param *row = &sm_erosive_params[rows[i]];
        if (!isnan(*(const double *)(const void *)((const char *)e + row->offset)))
            given++;
        else if (!*missing)
            *missing = row->name;
    }
    return given;
}

/* Places in sm_erosive_params. */
static const size_t by_rate[] = {0, 1, 2}, by_gas[] = {4, 5, 6, 7, 8}, by_threshold[] = {9, 10};

static const struct {
    const size_t *rows;
    size_t n;
} forms[] = {{by_rate, 3}, {by_gas, 5}, {by_threshold, 2}};

static enum sm_status check_temperatures(const struct sm_erosive *e, double flame, struct sm_error *err)
{
    if (isnan(flame))
        return sm_at(
            err,
            sm_fail(err, SM_E_FIELD,
                    "erosive burning by the gas's properties needs flame_temperature; give rate, flux "
                    "and diameter instead"),
            "/viscosity");
    if (e->surface_temperature < flame)
        return SM_OK;
    return sm_at(err,
                 sm_fail(err, SM_E_RANGE, "the surface at %.4g K is not cooler than the flame at %.4g K",
                         e->surface_temperature, flame),
                 "/surface_temperature");
}

enum sm_status sm_erosive_check(const struct sm_erosive *e, double flame_temperature, struct sm_error *err)
{
    size_t n_forms = 0;
    for (size_t i = 0; i < SM_COUNT(forms); i++) {
        const char *missing;
        const size_t given = given_of(e, forms[i].rows, forms[i].n, &missing);
        if (given == 0)
            continue;
        if (missing)
            return sm_at(err,
                         sm_fail(err, SM_E_FIELD,
                                 "%s is missing: this form of erosive burning needs %zu values", missing,
                                 forms[i].n),
                         "/%s", missing);
        if (++n_forms > 1)
            return sm_at(
                err,
                sm_fail(err, SM_E_FIELD,
                        "give erosive burning one way: by rate, flux and diameter, by the gas, or by "
                        "threshold and gain"),
                "/%s", sm_erosive_params[forms[i].rows[0]].name);
        if (forms[i].rows == by_gas)
            SM_TRY(check_temperatures(e, flame_temperature, err));
    }
    return SM_OK;
}

/* ---- the law ---- */

void sm_erosive_init(struct sm_erosive_law *law, const struct sm_erosive *e, double density,
                     double temperature, double flame_temperature)
{
    *law = (struct sm_erosive_law){.shield = e->blowing * density};
    if (!isnan(e->threshold)) {
        law->form = SM_EROSIVE_THRESHOLD;
        law->threshold = e->threshold;
        law->gain = e->gain;
    } else if (!isnan(e->rate)) {
        law->form = SM_EROSIVE_HEAT;
        law->alpha = e->rate * pow(e->flux, -0.8) * pow(e->diameter, 0.2);
    } else if (!isnan(e->viscosity)) {
        law->form = SM_EROSIVE_HEAT;
        law->alpha = 0.0288 * e->gas_specific_heat * pow(e->viscosity, 0.2) * pow(e->prandtl, -2.0 / 3.0) *
                     (flame_temperature - e->surface_temperature) /
                     (density * e->solid_specific_heat * (e->surface_temperature - temperature));
    }
}

/* W(x) of W e^W = x for x >= 0, by Halley's method from ln(1 + x), which is above W by at most 0.4 of it: six steps at most to
 * rounding. Reference: R. M. Corless et al., On the Lambert W Function, Advances in Computational Mathematics 5 (1996) 329. */
static double lambert(double x)
{
    double w = log1p(x);
    for (int i = 0; i < 8; i++) {
        const double grown = exp(w), miss = w * grown - x;
        const double step = miss / (grown * (w + 1.0) - 0.5 * (w + 2.0) * miss / (w + 1.0));
        w -= step;
        if (fabs(step) <= 1e-6 * w) /* the next step would be of the order of the cube of this */
            break;
    }
    return w;
}

/* With e = r - r0 and q = beta rho_p / G: q e exp(q e) = q bare exp(-q r0). */
static double added(double q, double r0, double bare)
{
    return lambert(q * bare * exp(-q * r0)) / q;
}

/* Halley's method on e - bare exp(-q (r0 + e)), which grows with e and bends one way; near the root it triples the digits. */
double sm_erosive_added(const struct sm_erosive_law *law, double r0, double flux, double bare, double guess)
{
    const double q = law->shield / flux;
    double e = guess;
    for (int i = 0; i < 8; i++) {
        const double heat = bare * exp(-q * (r0 + e)), miss = e - heat, slope = 1.0 + q * heat;
        const double step = miss / (slope + 0.5 * miss * q * q * heat / slope);
        e = fmax(0.0, e - step);
        if (fabs(step) <= 3e-5 * e) /* the next step would be of the order of the cube of this */
            return e;
    }
    return added(q, r0, bare);
}

double sm_erosive_rate(const struct sm_erosive_law *law, double r0, double flux, double diameter)
{
    if (law->form == SM_EROSIVE_THRESHOLD)
        return r0 + law->gain * fmax(0.0, flux - law->threshold);
    if (law->form == SM_EROSIVE_HEAT && flux > 0.0)
        return r0 + added(law->shield / flux, r0, sm_erosive_bare(law, flux, pow(flux * diameter, -0.2)));
    return r0;
}
