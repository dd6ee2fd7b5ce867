/*
 * Curves as a spread draws them: deviations against what the motor file states, and what is kept of a drawn pair against its own
 * distributions.
 */
#include "vehicle/drawncurves.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "slowmatch/slowmatch.h"

static struct sm_vehicle *load(const char *name, const char *motor)
{
    struct sm_vehicle *vehicle = NULL;
    struct sm_diag diag = {0};
    char path[1024];
    const struct sm_override other = {"motors.0.motor", motor};
    struct sm_load_options options = {.propellant_folder = SM_SOURCE_DIR "/propellants"};
    if (motor) {
        options.overrides = &other;
        options.n_overrides = 1;
    }
    snprintf(path, sizeof path, SM_SOURCE_DIR "/examples/vehicles/%s.json", name);
    cr_assert(sm_vehicle_load(path, &options, NULL, &vehicle, &diag) == SM_OK, "%s",
              diag.n ? diag.items[0].message : "?");
    sm_diag_release(&diag);
    return vehicle;
}

Test(drawncurves, deviations_are_those_of_the_file)
{
    /* Impulse scaled by 1.5 % and thrust, at that impulse, by 3 %: so burn time strays by 3 %, the quotient of both. */
    struct sm_vehicle *v = load("curlew", "../curlew-tolerances.json");
    double impulse, burn_time;
    const char *from;
    int is_stated;
    cr_assert(sm_drawn_is_stated(v, &is_stated, NULL) == SM_OK && is_stated);
    cr_assert(sm_drawn_deviations(v->motors[0], NULL, &impulse, &burn_time, &from, NULL) == SM_OK);
    cr_expect(fabs(impulse - 0.015) < 0.001, "%g", impulse);
    cr_expect(fabs(burn_time - 0.03) < 0.004, "%g", burn_time);
    cr_expect(strstr(from, "its file's") != NULL);
    sm_vehicle_free(v);
}

Test(drawncurves, what_is_usual_is_said)
{
    struct sm_vehicle *v = load("curlew", NULL);
    double impulse, burn_time;
    const char *from;
    int is_stated;
    cr_assert(sm_drawn_is_stated(v, &is_stated, NULL) == SM_OK && !is_stated);
    cr_assert(sm_drawn_deviations(v->motors[0], NULL, &impulse, &burn_time, &from, NULL) == SM_OK);
    cr_expect(strstr(from, "usual") != NULL && impulse > 0.0 && burn_time > 0.0);
    sm_vehicle_free(v);
}

Test(drawncurves, a_pair_is_its_mean_and_its_propellant_goes_as_its_impulse)
{
    /* Of a bare curve both motors of a pair stray by themselves, so the mean's impulse strays by 1.5 % over the root of two. */
    enum { N = 400 };
    struct sm_vehicle *v = load("curlew", "../curlew-tolerances.json");
    struct sm_drawn_curves curves;
    struct sm_arena arena;
    struct sm_result *told = NULL;
    double sum = 0.0, squares = 0.0;
    sm_arena_init(&arena, NULL);
    cr_assert(sm_simulate(v->motors[0], NULL, NULL, &told, NULL) == SM_OK);
    cr_assert(sm_drawn_curves_init(v, N, 3, 1, NULL, &curves, NULL) == SM_OK);
    const struct sm_result *const runs[] = {told};
    for (size_t i = 0; i < N; i++) {
        struct sm_result drawn = {0};
        int is_possible;
        double impulse = 0.0;
        cr_assert(sm_drawn_curves_take(&curves, runs, i, &arena, &drawn, &is_possible, NULL) == SM_OK);
        cr_assert(is_possible);
        const struct sm_series *s = &drawn.series;
        for (size_t k = 1; k < s->n; k++)
            impulse += 0.5 * (s->thrust[k] + s->thrust[k - 1]) * (s->time[k] - s->time[k - 1]);
        cr_assert(fabs(s->propellant_mass[s->n - 1]) < 1e-9);
        cr_assert(fabs(s->propellant_mass[0] - told->series.propellant_mass[0]) < 1e-12);
        sum += impulse;
        squares += impulse * impulse;
    }
    const double mean = sum / N, share = sqrt(squares / N - mean * mean) / mean;
    cr_expect(fabs(mean / told->thrust.total_impulse - 1.0) < 2e-3, "%g N s", mean);
    cr_expect(fabs(share - 0.015 / sqrt(2.0)) < 1e-3, "%g", share);
    sm_drawn_curves_release(&curves);
    sm_result_free(told);
    sm_arena_release(&arena);
    sm_vehicle_free(v);
}
