/* What a burn says of an end burner beside its flat twin. */
#include "bench_motor.h"

#include "ballistics/wall.h"

#include <stdio.h>

/* With Kn up by k, P goes up by k^(1/(1-n)) [SB, ch. 11; D. Davis, PROPULSION, module 21: 1.1004 at 20 deg with n = 0.35].
 * A long grain is a whole cone for most of its burn. */
Test(endburner, a_long_cone_has_the_published_pressure)
{
    const double k = 1.0 / cos(20.0 * M_PI / 180.0);
    char ratio[32];
    snprintf(ratio, sizeof ratio, "%.15g", k);
    const struct sm_override change[] = {{"propellant", "generic-g"},
                                         {"grains.0.bond_line_ratio", ratio},
                                         {"grains.0.length", "400 mm"},
                                         {"case.length", "420 mm"},
                                         {"nozzle.exit_diameter", "4 mm"}};
    struct sm_motor *motor = load_text(end_burner_text, change, SM_COUNT(change));
    struct sm_result *r = run_whole(motor);
    const struct sm_end_burner_summary *e = &r->end_burner;
    cr_expect_float_eq(e->pressure_limit, 1.1004, 5e-5);
    cr_expect_float_eq(e->area_factor, k, 1e-6);
    /* the gas that fills the space burned out costs the denser chamber 0.05 % more */
    cr_expect_float_eq(e->pressure_factor, 1.1004, 1e-3);
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(endburner, the_flat_twin_is_the_motor_with_ratios_of_one)
{
    static const struct sm_override cone[] = {{"grains.0.bond_line_ratio", "1.2"},
                                              {"grains.0.axis_ratio", "1.1"}};
    struct sm_motor *motor = load_text(end_burner_text, cone, 2), *flat = load_text(end_burner_text, NULL, 0);
    struct sm_result *r = run_whole(motor), *f = run_whole(flat);
    const struct sm_end_burner_summary *e = &r->end_burner;
    cr_expect_eq(e->ratio, 1.2);
    cr_expect(relative(e->burn_time_flat, f->thrust.burn_time) < 2e-3); /* run beside at 1e-3 */
    cr_expect(relative(e->pressure_factor, r->chamber.pressure_maximum / f->chamber.pressure_maximum) < 2e-3);
    cr_expect(r->thrust.burn_time < f->thrust.burn_time);
    cr_expect(isnan(f->end_burner.ratio) && isnan(f->end_burner.burn_time_flat));
    sm_result_free(r);
    sm_result_free(f);
    sm_motor_free(motor);
    sm_motor_free(flat);
}

/* A flat face at steady pressure lays the wall bare evenly: the first part for the whole burn, the mean for half of it, if the
 * case is as long as the grain. The side is that of a cylinder. */
Test(endburner, the_wall_is_bare_as_long_as_arithmetic_says)
{
    static const struct sm_override change[] = {{"case.length", "88 mm"}, {"ignition.spread_time", "0 s"}};
    struct sm_motor *motor = load_text(end_burner_text, change, 2);
    struct sm_result *r = run_whole(motor);
    const struct sm_end_burner_summary *e = &r->end_burner;
    cr_expect(relative(e->bare_area, M_PI * 30e-3 * 88e-3) < 1e-12);
    cr_expect(relative(e->bare_mean, 0.5 * e->bare_longest) < 0.01, "%g of %g s", e->bare_mean,
              e->bare_longest);
    sm_result_free(r);
    sm_motor_free(motor);
}

/* The fire along the wall runs at k times the rate, so it is through when a kth of the length is burned. */
Test(endburner, the_wall_front_is_through_before_the_rest)
{
    static const struct sm_override change[] = {{"grains.0.bond_line_ratio", "1.25"}};
    struct sm_motor *motor = load_text(end_burner_text, change, 1);
    struct sm_result *r = run_whole(motor);
    const struct sm_series *s = &r->series;
    size_t i = 0;
    while (s->time[i] < r->end_burner.wall_front_time)
        i++;
    cr_expect(relative(s->web[i], 88e-3 / 1.25) < 0.01);
    cr_expect(r->end_burner.wall_front_time < r->thrust.burn_time);
    sm_result_free(r);
    sm_motor_free(motor);
}

/* A recess lights more surface at once, which dies away: pressure starts high and comes down to the flat face's. */
Test(endburner, a_recess_kicks_at_the_start)
{
    static const struct sm_override change[] = {{"grains.0.recess_diameter", "10 mm"},
                                                {"grains.0.recess_depth", "10 mm"}};
    struct sm_motor *motor = load_text(end_burner_text, change, 2),
                    *flat = load_text(end_burner_text, NULL, 0);
    struct sm_result *r = run_whole(motor), *f = run_whole(flat);
    const double section = 0.25 * M_PI * 29e-3 * 29e-3,
                 wall = M_PI * 10e-3 * 10e-3; /* face and bottom, and the side */
    cr_expect(relative(r->series.burn_area[0], section + wall) < 1e-9);
    cr_expect(r->chamber.pressure_maximum > 1.3 * f->chamber.pressure_maximum);
    const size_t late = r->series.n * 3 / 4;
    size_t i = late;
    while (r->series.web[i] < 60e-3)
        i++;
    cr_expect(relative(r->series.pressure[i], f->chamber.pressure_average) < 0.02);
    sm_result_free(r);
    sm_result_free(f);
    sm_motor_free(motor);
    sm_motor_free(flat);
}

Test(endburner, heat_to_the_wall_is_banded_where_the_gas_is_known)
{
    struct sm_motor *motor = load_text(end_burner_text, NULL, 0);
    struct sm_result *r = run_whole(motor);
    cr_expect(r->end_burner.droop_low > 0.03 && r->end_burner.droop_low < 0.055);
    cr_expect(r->end_burner.droop_high > 0.12 && r->end_burner.droop_high < 0.2);
    cr_expect(isnan(r->end_burner.droop));
    sm_result_free(r);
    sm_motor_free(motor);
    static const struct sm_override unknown[] = {{"propellant", "generic-g"}},
                                    taken[] = {{"case.heat_transfer", "100 W m-2 K-1"}};
    motor = load_text(end_burner_text, unknown, 1);
    r = run_whole(motor);
    cr_expect(isnan(r->end_burner.droop_low));
    sm_result_free(r);
    sm_motor_free(motor);
    motor = load_text(end_burner_text, taken, 1);
    r = run_whole(motor);
    cr_expect(relative(r->end_burner.droop, r->end_burner.droop_low) < 1e-12);
    sm_result_free(r);
    sm_motor_free(motor);
}

Test(endburner, a_cored_motor_has_none_of_it)
{
    struct sm_motor *motor = load_text(tubes_text, NULL, 0);
    struct sm_result *r = run_whole(motor);
    const double *value = &r->end_burner.ratio;
    for (size_t i = 0; i < sizeof r->end_burner / sizeof *value; i++)
        cr_expect(isnan(value[i]));
    sm_result_free(r);
    sm_motor_free(motor);
}

/* At one Kn pressure grows by pi_K = sigma_p / (1 - n) a kelvin [SB, ch. 12]. */
Test(endburner, pressure_grows_with_temperature_as_the_textbook_says)
{
    struct sm_motor *motor = load_text(end_burner_text, NULL, 0);
    const double sigma = motor->spec.propellant.temperature_sensitivity;
    const struct sm_burn_segment *law = motor->spec.propellant.burn_rate.items;
    const double n = law[0].exponent;
    const struct sm_run_options cold = {.accuracy = 1e-6, .grain_temperature = 263.15},
                                hot = {.accuracy = 1e-6, .grain_temperature = 318.15};
    struct sm_result *a, *b;
    struct sm_error err = {0};
    cr_assert_eq(sm_simulate(motor, &cold, NULL, &a, &err), SM_OK, "%s", err.message);
    cr_assert_eq(sm_simulate(motor, &hot, NULL, &b, &err), SM_OK, "%s", err.message);
    /* P^(1 - n) goes as exp(sigma_p T) and, since gas stays to fill the space, as rho_p - rho_gas */
    const double rt = motor->gas.rt, density = motor->spec.propellant.density;
    const double low = a->chamber.pressure_maximum, high = b->chamber.pressure_maximum;
    const double stays = log((density - high / rt) / (density - low / rt));
    const double found = ((1.0 - n) * log(high / low) - stays) / 55.0;
    cr_expect(relative(found, sigma) < 1e-5, "%g, textbook %g", found, sigma);
    cr_expect_eq(b->grain_temperature, 318.15);
    sm_result_free(a);
    sm_result_free(b);
    sm_motor_free(motor);
}

/* Least distance burned at which fire has come to the wall at this depth, by trying many places that it may have come from: the
 * flat face, a recess 8 mm wide with a cone at its bottom, or an axis along which it runs twice as fast. */
static double fire_comes(double radius, double depth, int by_axis)
{
    enum { PLACES = 20000 };
    double least = depth;
    for (int i = 0; i <= PLACES; i++) {
        const double u = (double)i / PLACES, along = u * 0.088;
        const double wall = fmin(2.0 * u, 1.0), cone = fmax(2.0 * u - 1.0, 0.0);
        const double r = by_axis ? 0.0 : 4e-3 * (1.0 - cone);
        const double z = by_axis ? along : 12e-3 * wall + 6e-3 * cone;
        least = fmin(least, (by_axis ? 0.5 * along : 0.0) + hypot(radius - r, depth - z));
    }
    return least;
}

Test(endburner, fires_from_recess_and_wire_bare_the_wall_in_their_time)
{
    static const char *const grains[] = {
        "{\"shape\":\"end-burner\",\"outer_diameter\":\"29 mm\",\"length\":\"88 mm\",\"recess_diameter\":\"8 "
        "mm\",\"recess_depth\":\"12 mm\",\"recess_point\":\"6 mm\"}",
        "{\"shape\":\"end-burner\",\"outer_diameter\":\"29 mm\",\"length\":\"88 mm\",\"axis_ratio\":2}"};
    for (int k = 0; k < 2; k++) {
        const struct sm_override o[] = {{"grains.0", grains[k]}};
        struct sm_motor *motor = load_text(end_burner_text, o, 1);
        const struct sm_cover cover = sm_cover_of(&motor->spec.grains[0], motor->geometry[0].web);
        for (double depth = 1e-3; depth < 85e-3; depth += 1.7e-3) {
            double speed;
            const double w = fire_comes(0.5 * 29e-3, depth, k);
            if (k == 0 && depth <= 12e-3 && w >= 10.5e-3)
                continue; /* the recess's wall comes to all of its depth at once */
            const double left = sm_cover_left(&cover, w, &speed);
            cr_expect_float_eq(88e-3 - left, depth, 2e-6, "depth %g, case %d: %g", depth, k, 88e-3 - left);
            const double later = sm_cover_left(&cover, w + 1e-6, &speed);
            cr_expect(later == 0.0 || fabs((left - later) / 1e-6 / speed - 1.0) < 0.01, "depth %g, case %d",
                      depth, k);
        }
        sm_motor_free(motor);
    }
}
