/* What a propellant file may say, what is refused, and the gas. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "propellant/propellant.h"
#include "reference/reference.h"

static struct sm_propellant propellant_of(struct sm_burn_segment *segments, size_t n)
{
    const double none = SM_ABSENT;
    return (struct sm_propellant){
        .name = "test",
        .erosive = {none, none, none, 53.0, none, none, none, none, none, none, none},
        .source = "invented",
        .standing = SM_STANDING_INVENTED,
        .density = 1700.0,
        .burn_rate = {segments, n},
        .reference_temperature = 294.15,
        .flame_temperature = 2300.0,
        .molar_mass = 23.5e-3,
        .gamma = 1.22,
        .characteristic_velocity = SM_ABSENT,
        .cstar_efficiency = 0.95};
}

static const struct sm_param *row_of(const struct sm_param *rows, size_t n, const char *name)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(rows[i].name, name) == 0)
            return &rows[i];
    cr_assert_fail("no row %s", name);
    return NULL;
}

Test(propellant, rows_are_within_their_own_bounds)
{
    const struct sm_param *list = row_of(sm_propellant_params, sm_n_propellant_params, "burn_rate");
    cr_expect_eq(sm_n_propellant_params, 17);
    cr_expect_eq(list->row_size, sizeof(struct sm_burn_segment));
    cr_expect_eq(list->n_rows, 5);
    for (size_t k = 0; k < 2; k++) {
        const struct sm_param *rows = k ? list->rows : sm_propellant_params;
        for (size_t i = 0; i < (k ? list->n_rows : sm_n_propellant_params); i++) {
            cr_expect(rows[i].help[0], "%s", rows[i].name);
            if (rows[i].kind == SM_QUANTITY && isfinite(rows[i].fallback))
                cr_expect(rows[i].fallback >= rows[i].min && rows[i].fallback <= rows[i].max, "%s",
                          rows[i].name);
        }
    }
}

Test(propellant, defaults)
{
    cr_expect_eq(row_of(sm_propellant_params, sm_n_propellant_params, "temperature_sensitivity")->fallback,
                 0.0);
    cr_expect_eq(row_of(sm_propellant_params, sm_n_propellant_params, "reference_temperature")->fallback,
                 294.15);
    cr_expect_eq(row_of(sm_propellant_params, sm_n_propellant_params, "minimum_pressure")->fallback, 0.5e6);
    cr_expect_eq(row_of(sm_propellant_params, sm_n_propellant_params, "cstar_efficiency")->fallback, 1.0);
    static const char *const required[] = {"name", "source", "standing", "density", "burn_rate", "gamma"};
    for (size_t i = 0; i < SM_COUNT(required); i++)
        cr_expect_eq(row_of(sm_propellant_params, sm_n_propellant_params, required[i])->fallback,
                     SM_REQUIRED);
    cr_expect_str_eq(sm_standing_words[SM_STANDING_MEASURED], "measured");
    cr_expect_str_eq(sm_standing_words[SM_STANDING_INVENTED], "invented");
    cr_expect_null(sm_standing_words[SM_STANDING_INVENTED + 1]);
}

/* Checks that p is refused with this status, pointer, and a word in the message. */
static void expect_refused(const struct sm_propellant *p, enum sm_status status, const char *path,
                           const char *word)
{
    struct sm_error err = {0};
    cr_expect_eq(sm_propellant_check(p, &err), status, "%s", err.message);
    cr_expect_str_eq(err.at.path, path);
    cr_expect_not_null(strstr(err.message, word), "'%s' lacks '%s'", err.message, word);
    cr_expect_eq(sm_propellant_check(p, NULL), status);
}

Test(propellant, check_of_the_burn_rate)
{
    const struct sm_burn_segment low = {0.3e6, 2e6, 4.1e-3, 1e6, 0.42}, high = {2e6, 8e6, 4.1e-3, 1e6, 0.42};
    struct sm_burn_segment s[2] = {low, high};
    struct sm_propellant p = propellant_of(s, 2);
    cr_expect_eq(sm_propellant_check(&p, NULL), SM_OK);
    s[1].from = 2e6 * (1.0 + 1e-12); /* rounding of another unit */
    cr_expect_eq(sm_propellant_check(&p, NULL), SM_OK);
    s[1].from = 2.1e6;
    expect_refused(&p, SM_E_RANGE, "/burn_rate/1/from", "gap");
    s[1].from = 1.9e6;
    expect_refused(&p, SM_E_RANGE, "/burn_rate/1/from", "overlap");
    s[1] = low;
    s[0] = high;
    expect_refused(&p, SM_E_RANGE, "/burn_rate/1/from", "rising");
    s[0] = low;
    s[0].to = 0.2e6;
    expect_refused(&p, SM_E_RANGE, "/burn_rate/0/to", "start");
    p.burn_rate.n = 0;
    expect_refused(&p, SM_E_FIELD, "/burn_rate", "at least one");
}

Test(propellant, check_of_the_exponent)
{
    struct sm_burn_segment s[1] = {{0.3e6, 8e6, 4.1e-3, 1e6, 0.999}};
    struct sm_propellant p = propellant_of(s, 1);
    cr_expect_eq(sm_propellant_check(&p, NULL), SM_OK);
    s[0].exponent = 1.0;
    expect_refused(&p, SM_E_RANGE, "/burn_rate/0/exponent", "no stable pressure");
    s[0].exponent = 1.3;
    expect_refused(&p, SM_E_RANGE, "/burn_rate/0/exponent", "no stable pressure");
    s[0].exponent = -0.5;
    cr_expect_eq(sm_propellant_check(&p, NULL), SM_OK);
}

/* 4.1 mm/s at 1 MPa, mistyped: m/s for mm/s; Pa for MPa. */
Test(propellant, check_of_units)
{
    struct sm_burn_segment s[1] = {{0.3e6, 8e6, 4.1, 1e6, 0.42}};
    struct sm_propellant p = propellant_of(s, 1);
    expect_refused(&p, SM_E_RANGE, "/burn_rate/0/rate", "units");
    s[0].rate = 4.1e-6;
    expect_refused(&p, SM_E_RANGE, "/burn_rate/0/rate", "units");
    s[0].rate = 4.1e-3;
    s[0].at = 1.0;
    expect_refused(&p, SM_E_RANGE, "/burn_rate/0/rate", "units");
}

Test(propellant, check_of_the_gas)
{
    struct sm_burn_segment s[1] = {{0.3e6, 8e6, 4.1e-3, 1e6, 0.42}};
    struct sm_propellant p = propellant_of(s, 1);
    p.characteristic_velocity = 1400.0;
    expect_refused(&p, SM_E_FIELD, "/characteristic_velocity", "one or the other");
    p.flame_temperature = SM_ABSENT;
    expect_refused(&p, SM_E_FIELD, "/characteristic_velocity", "one or the other");
    p.molar_mass = SM_ABSENT;
    cr_expect_eq(sm_propellant_check(&p, NULL), SM_OK);
    p.characteristic_velocity = SM_ABSENT;
    expect_refused(&p, SM_E_FIELD, "/flame_temperature", "missing");
    p.molar_mass = 0.02;
    expect_refused(&p, SM_E_FIELD, "/flame_temperature", "molar_mass needs flame_temperature");
    p.molar_mass = SM_ABSENT;
    p.flame_temperature = 2000.0;
    expect_refused(&p, SM_E_FIELD, "/molar_mass", "flame_temperature needs molar_mass");
}

Test(gas, function_of_gamma)
{
    struct ref_table *t = ref_read("gamma-function.csv");
    for (size_t i = 0; i < t->n_rows; i++)
        ref_expect(t, i, "function", sm_gas_vandenkerckhove(ref_number(t, i, "gamma")));
    free(t);
}

Test(gas, published_characteristic_velocities)
{
    struct ref_table *t = ref_read("characteristic-velocity.csv");
    for (size_t i = 0; i < t->n_rows; i++) {
        struct sm_propellant p = propellant_of(NULL, 0);
        struct sm_gas gas;
        p.flame_temperature = ref_number(t, i, "temperature");
        p.molar_mass = 1e-3 * ref_number(t, i, "molar_mass");
        p.gamma = ref_number(t, i, "gamma");
        sm_propellant_gas(&p, &gas);
        ref_expect(t, i, "cstar", gas.cstar_ideal);
    }
    free(t);
}

/* The efficiency enters once, and c* and RT agree, whichever way the gas was given. */
Test(gas, both_ways_of_giving_it_agree)
{
    struct sm_propellant p = propellant_of(NULL, 0);
    struct sm_gas a, b;
    sm_propellant_gas(&p, &a);
    cr_expect_float_eq(a.cstar, 0.95 * a.cstar_ideal, 1e-12);
    /* CODATA 2018 gas constant, exact */
    cr_expect_float_eq(a.rt, 0.95 * 0.95 * 8.31446261815324 / 23.5e-3 * 2300.0, 1e-9);
    p.characteristic_velocity = a.cstar_ideal;
    p.flame_temperature = p.molar_mass = SM_ABSENT;
    sm_propellant_gas(&p, &b);
    cr_expect_float_eq(b.cstar, a.cstar, 1e-12);
    cr_expect_float_eq(b.rt, a.rt, 1e-9);
    const double function = sm_gas_vandenkerckhove(p.gamma);
    cr_expect_float_eq(b.cstar * b.cstar * function * function, b.rt, 1e-9);
    cr_expect_eq(b.gamma, 1.22);
}

/* Particles that keep up with the gas: R = (1 - X) R_gas, specific heats by shares. By hand for X = 0.4, gamma 1.25, the
 * particles' heat that of the gas: gamma = 1 / (0.6 / 1.25 + 0.4) = 1.1363636. Limits: none, and all but all condensed, when
 * the flow is isothermal. */
Test(propellant, particles_that_keep_up_make_a_gas_of_their_own)
{
    struct sm_burn_segment segment = {.from = 1e6, .to = 1e7, .rate = 5e-3, .at = 5e6, .exponent = 0.3};
    struct sm_propellant p = propellant_of(&segment, 1);
    struct sm_gas bare, mixed;
    p.gamma = 1.25;
    sm_propellant_gas(&p, &bare);
    cr_expect_eq(bare.gamma, 1.25);
    cr_expect_eq(bare.cstar_bare, bare.cstar_ideal);
    p.condensed_fraction = 0.4;
    sm_propellant_gas(&p, &mixed);
    cr_expect_float_eq(mixed.gamma, 1.1363636363636365, 1e-15);
    const double function = sm_gas_vandenkerckhove(1.1363636363636365);
    cr_expect_float_eq(mixed.cstar_ideal, sqrt(0.6 * 8.31446261815324 / 23.5e-3 * 2300.0) / function, 1e-9);
    cr_expect_float_eq(mixed.cstar_bare, bare.cstar_ideal, 1e-9);
    /* the particles' heat given: c_p of the gas is 1.25/0.25 R = 1769.035 J/kgK; with 1200: (0.6 + 0.4 * 0.678336) / (0.48 +
     * 0.4 * 0.678336) = 1.1597158 */
    p.condensed_specific_heat = 1200.0;
    sm_propellant_gas(&p, &mixed);
    cr_expect_float_eq(mixed.gamma, 1.1597158, 1e-7);
    p.condensed_specific_heat = SM_ABSENT;
    p.condensed_fraction = 0.7999;
    sm_propellant_gas(&p, &mixed);
    cr_expect(mixed.gamma > 1.0 && mixed.gamma < 1.05);
}

Test(propellant, heat_of_particles_needs_that_of_the_gas)
{
    struct sm_burn_segment segment = {.from = 1e6, .to = 1e7, .rate = 5e-3, .at = 5e6, .exponent = 0.3};
    struct sm_propellant p = propellant_of(&segment, 1);
    struct sm_error err = {0};
    p.flame_temperature = p.molar_mass = SM_ABSENT;
    p.characteristic_velocity = 1500.0;
    p.condensed_specific_heat = 1200.0;
    cr_expect_eq(sm_propellant_check(&p, &err), SM_E_FIELD);
    cr_expect_str_eq(err.at.path, "/condensed_specific_heat");
}
