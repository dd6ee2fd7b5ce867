/* The burning-rate law and the equilibrium pressures that published examples draw from such laws. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "propellant/burnrate.h"
#include "reference/reference.h"

#define PSI  6894.757293168361
#define INCH 0.0254

static struct sm_burn_law law_of(struct sm_propellant *p, struct sm_burn_segment *segments, size_t n,
                                 double warmer)
{
    struct sm_burn_law law;
    p->burn_rate = (struct sm_list){segments, n};
    p->reference_temperature = 294.15;
    sm_burn_law_init(&law, p, 294.15 + warmer);
    return law;
}

static double rate(const struct sm_burn_law *law, double pressure)
{
    return sm_burn_law_rate(law, sm_burn_law_segment(law, pressure), pressure, NULL);
}

/* Where gas made equals gas let out, density rate(P) Kn = P/c*, by halving; there is one place for exponents below 1. */
static double equilibrium(const struct sm_burn_law *law, double density, double cstar, double kn)
{
    double lo = 1e3, hi = 1e9;
    for (int i = 0; i < 200; i++) {
        const double mid = sqrt(lo * hi);
        if (density * rate(law, mid) * kn > mid / cstar)
            lo = mid;
        else
            hi = mid;
    }
    return lo;
}

Test(burnrate, example_in_psi)
{
    struct ref_table *t = ref_read("burn-rate-psi.csv");
    struct sm_burn_segment one = {100.0 * PSI, 3000.0 * PSI, 0.00137 * INCH, PSI, 0.9};
    struct sm_burn_segment two = {100.0 * PSI, 3000.0 * PSI, 0.060 * INCH, PSI, 0.4};
    struct sm_propellant p = {0}, q = {0};
    const struct sm_burn_law first = law_of(&p, &one, 1, 0.0), second = law_of(&q, &two, 1, 0.0);
    for (size_t i = 0; i < t->n_rows; i++) {
        const double pressure = ref_number(t, i, "pressure") * PSI;
        ref_expect(t, i, "rate1", rate(&first, pressure) / INCH);
        ref_expect(t, i, "rate2", rate(&second, pressure) / INCH);
    }
    free(t);
}

/* Hindusthan College of Engineering and Technology, propulsion examination, question 7: 5.5 mm/s per MPa^0.4, 5 MPa. */
Test(burnrate, examination_question)
{
    struct sm_burn_segment s = {1e6, 10e6, 5.5e-3, 1e6, 0.4};
    struct sm_propellant p = {0};
    const struct sm_burn_law law = law_of(&p, &s, 1, 0.0);
    cr_expect_float_eq(rate(&law, 5e6), 10.47e-3, 1e-3 * 10.47e-3);
}

/* D. Davis, PROPULSION, part III examination, A1: 4.9173 mm/s per MPa^0.30 is 7.7933e-5 m/s per Pa^0.30. */
Test(burnrate, the_reference_pressure_carries_the_unit)
{
    struct sm_burn_segment mega = {1e6, 12e6, 4.9173e-3, 1e6, 0.30}, si = {1e6, 12e6, 7.7933e-5, 1.0, 0.30};
    struct sm_propellant p = {0}, q = {0};
    const struct sm_burn_law a = law_of(&p, &mega, 1, 0.0), b = law_of(&q, &si, 1, 0.0);
    for (double pressure = 1e6; pressure < 12e6; pressure += 1e6)
        cr_expect_float_eq(rate(&a, pressure), rate(&b, pressure),
                           2e-5 * rate(&a, pressure)); /* five digits given */
    cr_expect_float_eq(rate(&a, 7.5e6), 9.00e-3, 1e-3 * 9e-3);
}

Test(burnrate, equilibrium_chain)
{
    struct ref_table *t = ref_read("equilibrium-chain.csv");
    struct sm_burn_segment s = {0.3e6, 15e6, 3.2e-5, 1.0, 0.35};
    struct sm_propellant p = {.temperature_sensitivity = 0.0020};
    for (size_t i = 0; i < t->n_rows; i++) {
        const struct sm_burn_law law = law_of(&p, &s, 1, ref_number(t, i, "warmer"));
        const double diameter = 1e-3 * ref_number(t, i, "throat"), throat = 0.25 * M_PI * diameter * diameter;
        const double pressure = equilibrium(&law, 1750.0, 1500.0, ref_number(t, i, "kn"));
        ref_expect(t, i, "pressure", 1e-6 * pressure);
        ref_expect(t, i, "rate", 1e3 * rate(&law, pressure));
        ref_expect(t, i, "flow", pressure * throat / 1500.0);
        ref_expect(t, i, "thrust", 1e-3 * ref_number(t, i, "cf") * pressure * throat);
    }
    free(t);
}

Test(burnrate, pressures_along_a_burn)
{
    struct ref_table *t = ref_read("kn-table.csv");
    struct sm_burn_segment s = {0.3e6, 15e6, 3.2e-5, 1.0, 0.35};
    struct sm_propellant p = {0};
    const struct sm_burn_law law = law_of(&p, &s, 1, 0.0);
    for (size_t i = 0; i < t->n_rows; i++) {
        const double pressure = equilibrium(&law, 1750.0, 1500.0, ref_number(t, i, "kn"));
        ref_expect(t, i, "pressure", 1e-6 * pressure);
        ref_expect(t, i, "thrust", 1e-3 * 1.55 * pressure * 0.25 * M_PI * 0.01);
    }
    free(t);
}

/* Indian GATE examination, aerospace engineering: throat for 50 bar of a grain of 0.314 m2; the answer is 38 mm. */
Test(burnrate, throat_for_a_pressure)
{
    struct sm_burn_segment s = {1e6, 10e6, 6.65e-6, 1.0, 0.45};
    struct sm_propellant p = {0};
    const struct sm_burn_law law = law_of(&p, &s, 1, 0.0);
    const double flow = 1800.0 * 0.314 * rate(&law, 50e5), throat = flow * 1450.0 / 50e5;
    cr_expect_float_eq(1e3 * rate(&law, 50e5), 6.876, 1e-3);
    cr_expect_float_eq(flow, 3.887, 1e-3);
    cr_expect_float_eq(1e3 * sqrt(throat / (0.25 * M_PI)), 37.88, 0.1);
}

/* G. P. Sutton, O. Biblarz, Rocket Propulsion Elements, problem with printed answers 159, 2.73e-4, 0.01 1/K. */
Test(burnrate, problem_with_printed_answers)
{
    struct sm_burn_segment s = {1e6, 20e6, 38e-3, 14e6, 0.3};
    struct sm_propellant p = {.density = 1710.0,
                              .temperature_sensitivity = 0.007,
                              .flame_temperature = 2220.0,
                              .molar_mass = 23e-3,
                              .gamma = 1.27,
                              .characteristic_velocity = SM_ABSENT,
                              .cstar_efficiency = 1.0};
    const struct sm_burn_law law = law_of(&p, &s, 1, 0.0), warm = law_of(&p, &s, 1, 1.0);
    struct sm_gas gas;
    sm_propellant_gas(&p, &gas);
    const double kn = 14e6 / (gas.cstar * p.density * rate(&law, 14e6));
    cr_expect_float_eq(kn, 159.0, 5e-3 * 159.0);
    cr_expect_float_eq(sm_burn_law_rate(&law, 0, 1.0, NULL), 2.73e-4, 5e-3 * 2.73e-4);
    const double rise =
        log(equilibrium(&warm, p.density, gas.cstar, kn) / equilibrium(&law, p.density, gas.cstar, kn));
    cr_expect_float_eq(rise, 0.01, 5e-3 * 0.01);
}

Test(burnrate, sensitivities)
{
    struct ref_table *t = ref_read("area-sensitivity.csv");
    for (size_t i = 0; i < t->n_rows; i++) {
        struct sm_burn_segment s = {0.3e6, 15e6, 5e-3, 1e6, ref_number(t, i, "exponent")};
        struct sm_propellant p = {.temperature_sensitivity = ref_number(t, i, "sigma")};
        const struct sm_burn_law law = law_of(&p, &s, 1, 0.0);
        const double before = equilibrium(&law, 1750.0, 1500.0, 200.0);
        const struct sm_burn_law warm = law_of(&p, &s, 1, ref_number(t, i, "warmer"));
        ref_expect(t, i, "pressure",
                   equilibrium(&warm, 1750.0, 1500.0, 200.0 * ref_number(t, i, "area")) / before);
    }
    free(t);
}

/* ---- segments ---- */

/* The segments of one propellant of the table; returns how many. */
static size_t segments_of(const struct ref_table *t, const char *name, struct sm_burn_segment out[8])
{
    size_t n = 0;
    for (size_t i = 0; i < t->n_rows; i++)
        if (strcmp(ref_text(t, i, "propellant"), name) == 0)
            out[n++] =
                (struct sm_burn_segment){1e6 * ref_number(t, i, "from"), 1e6 * ref_number(t, i, "to"),
                                         1e-3 * ref_number(t, i, "a"), 1e6, ref_number(t, i, "exponent")};
    return n;
}

Test(burnrate, steps_at_joints_are_kept)
{
    struct ref_table *t = ref_read("sugar-burn-rates.csv"), *joints = ref_read("sugar-joints.csv");
    struct sm_burn_segment s[8];
    struct sm_propellant p = {0};
    const size_t n = segments_of(t, "kndx", s);
    const struct sm_burn_law law = law_of(&p, s, n, 0.0);
    cr_assert_eq(n, joints->n_rows + 1);
    for (size_t i = 0; i < joints->n_rows; i++) {
        const double joint = sm_burn_law_joint(&law, i);
        cr_expect_float_eq(joint, 1e6 * ref_number(joints, i, "pressure"), 1e-6);
        cr_expect_eq(sm_burn_law_segment(&law, joint * (1.0 - 1e-12)), i);
        cr_expect_eq(sm_burn_law_segment(&law, joint), i + 1);
        ref_expect(joints, i, "below", 1e3 * sm_burn_law_rate(&law, i, joint, NULL));
        ref_expect(joints, i, "above", 1e3 * sm_burn_law_rate(&law, i + 1, joint, NULL));
    }
    free(t);
    free(joints);
}

Test(burnrate, beyond_the_ends)
{
    struct ref_table *t = ref_read("sugar-burn-rates.csv");
    struct sm_burn_segment s[8];
    struct sm_propellant p = {0};
    const size_t n = segments_of(t, "knsb", s);
    const struct sm_burn_law law = law_of(&p, s, n, 0.0);
    cr_expect_eq(sm_burn_law_segment(&law, 1.0), 0);
    cr_expect_eq(sm_burn_law_segment(&law, 1e9), n - 1);
    cr_expect(sm_burn_law_outside(&law, 0.1029e6));
    cr_expect_not(sm_burn_law_outside(&law, 0.103e6));
    cr_expect_not(sm_burn_law_outside(&law, 10.67e6));
    cr_expect(sm_burn_law_outside(&law, 10.68e6));
    cr_expect_float_eq(rate(&law, 20e6), 9.653e-3 * pow(20.0, 0.064), 1e-15);
    free(t);
}

/* The slope is the derivative, for falling, flat and rising laws alike. */
Test(burnrate, slopes)
{
    for (double exponent = -1.5; exponent < 1.0; exponent += 0.3) {
        struct sm_burn_segment s = {0.1e6, 20e6, 6e-3, 3e6, exponent};
        struct sm_propellant p = {.temperature_sensitivity = 0.004};
        const struct sm_burn_law law = law_of(&p, &s, 1, 25.0);
        for (double pressure = 0.05e6; pressure < 30e6; pressure *= 1.7) {
            double slope;
            const double h = 1e-5 * pressure, r = sm_burn_law_rate(&law, 0, pressure, &slope);
            const double numeric = (sm_burn_law_rate(&law, 0, pressure + h, NULL) -
                                    sm_burn_law_rate(&law, 0, pressure - h, NULL)) /
                                   (2.0 * h);
            /* central difference: 1e-10 n^2 r/P, and 1e-16 r/h */
            cr_expect_float_eq(slope, numeric, 1e-9 * r / pressure);
        }
        cr_expect_float_eq(law.factor, exp(0.1), 1e-15);
    }
}
