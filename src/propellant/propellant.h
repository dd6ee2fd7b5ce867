/* A propellant as ballistic numbers: density, burning-rate law, gas. Never what it is made of. */
#ifndef SM_PROPELLANT_PROPELLANT_H
#define SM_PROPELLANT_PROPELLANT_H

#include "base/fail.h"
#include "propellant/erosive.h"
#include "slowmatch/param.h"

/* One stretch of Vieille's law, r = rate (P / at)^exponent for from <= P < to. */
struct sm_burn_segment {
    double from, to; /* [Pa] */
    double rate;     /* at the pressure `at` [m/s] */
    double at;       /* [Pa] */
    double exponent; /* [1], may be negative, below 1 */
};

enum sm_standing {
    SM_STANDING_MEASURED,
    SM_STANDING_PUBLISHED,
    SM_STANDING_FROM_MEMORY,
    SM_STANDING_INVENTED
};
extern const char *const sm_standing_words[]; /* "measured", "published", "from-memory", "invented" */

/* As a file gives it; optional values are SM_ABSENT when not given. */
struct sm_propellant {
    const char *name;
    const char *source;             /* full citation */
    int standing;                   /* enum sm_standing */
    double density;                 /* [kg/m3] */
    struct sm_list burn_rate;       /* of struct sm_burn_segment, in rising pressure */
    double temperature_sensitivity; /* sigma_p, of the rate at constant pressure [1/K], default 0 */
    double reference_temperature;   /* at which the rates hold [K] */
    double minimum_pressure;        /* below which it may not burn steadily [Pa] */
    double flame_temperature;       /* [K], with molar_mass; else characteristic_velocity is given */
    double molar_mass;              /* of the gas [kg/mol] */
    double gamma;                   /* ratio of specific heats of the gas [1] */
    double characteristic_velocity; /* ideal c* [m/s], in place of flame_temperature and molar_mass */
    double cstar_efficiency;        /* delivered over ideal c* [1] */
    double condensed_fraction;      /* mass of particles and droplets in the flow over all of it [1] */
    double condensed_specific_heat; /* SM_ABSENT or 0: as the gas's at constant pressure [J kg-1 K-1] */
    double lag_efficiency; /* delivered over ideal thrust of the stream, for its particles lag behind [1] */
    struct sm_erosive erosive;
    struct sm_list tolerances; /* how far these stray: for who studies that, who knows the items; else empty */
};
extern const struct sm_param sm_propellant_params[];
extern const size_t sm_n_propellant_params;

/* Says what is inconsistent between valid values: segments out of order, with gaps or overlapping; an
 * exponent of 1 or more; neither or both ways of giving the gas. The error's pointer is that of the value at
 * fault. */
enum sm_status sm_propellant_check(const struct sm_propellant *propellant,
                                   struct sm_error *err) SM_MUST_CHECK;

/* The gas in the chamber. c* and RT are the delivered ones and agree: c*^2 Gamma^2 = RT. With particles that keep up with the
 * gas in speed and temperature the mixture is a perfect gas of its own: R = (1 - X) R_gas, and both specific heats those of
 * gas and particles by their shares. Reference: from memory of G. Rudinger, Fundamentals of Gas-Particle Flow, Elsevier 1980;
 * derived in docs/theory.md. */
struct sm_gas {
    double gamma;       /* of the mixture [1] */
    double gamma_bare;  /* of the gas alone [1] */
    double cstar_bare;  /* ideal c* if all of the flow were gas [m/s] */
    double cstar;       /* delivered characteristic velocity [m/s] */
    double cstar_ideal; /* before cstar_efficiency [m/s] */
    double rt; /* specific gas constant times temperature, scaled by cstar_efficiency squared [J/kg] */
};
void sm_propellant_gas(const struct sm_propellant *propellant, struct sm_gas *gas);

/* Gamma(g) = sqrt(g) (2/(g+1))^((g+1)/(2(g-1))) [1]; c* = sqrt(RT) / Gamma. */
double sm_gas_vandenkerckhove(double gamma);

#endif
