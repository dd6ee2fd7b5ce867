#include "vehicle/drawncurves.h"

#include "motor/tolerance.h"
#include "uncertain/samples.h"

#include <math.h>
#include <string.h>

enum sm_status sm_drawn_is_stated(const struct sm_vehicle *vehicle, int *is_stated, struct sm_error *err)
{
    *is_stated = 0;
    for (size_t i = 0; i < vehicle->spec.motors.n; i++) {
        struct sm_tolerances t;
        SM_TRY(sm_tolerances_of(vehicle->motors[i], &t, err));
        *is_stated = *is_stated || !t.is_usual;
    }
    return SM_OK;
}

enum sm_status sm_drawn_curves_init(const struct sm_vehicle *vehicle, size_t n, uint64_t seed, int threads,
                                    const struct sm_allocator *allocator, struct sm_drawn_curves *curves,
                                    struct sm_error *err)
{
    const struct sm_motor_group *groups = vehicle->spec.motors.items;
    const struct sm_context context = {.allocator = allocator};
    *curves = (struct sm_drawn_curves){0};
    for (size_t i = 0; i < vehicle->spec.motors.n && i < SM_DRAWN_GROUPS; i++) {
        const struct sm_spread_options options = {
            .n = n, .seed = seed + i, .threads = threads, .pair = {.is_pair = groups[i].count > 1}};
        const enum sm_status status =
            sm_spread_run(vehicle->motors[i], &options, &context, &curves->spread[i], err);
        if (status != SM_OK)
            return sm_while(err, status, "drawing the motors of /motors/%zu", i);
        curves->n++;
    }
    return SM_OK;
}

void sm_drawn_curves_release(struct sm_drawn_curves *curves)
{
    for (size_t i = 0; i < curves->n; i++)
        sm_spread_free(curves->spread[i]);
    *curves = (struct sm_drawn_curves){0};
}

/* One group's curve. */
static enum sm_status take(const struct sm_spread_samples *s, const struct sm_series *told, size_t i,
                           struct sm_arena *arena, struct sm_series *out, struct sm_error *err)
{
    const size_t n = s->head.n_instants;
    double *thrust = sm_arena_alloc(arena, n, sizeof *thrust), *left = sm_arena_alloc(arena, n, sizeof *left);
    double impulse = 0.0;
    if (!thrust || !left)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t k = 0; k < n; k++) {
        thrust[k] = s->curve[SM_C_THRUST][k * s->count + i];
        if (s->curve[SM_C_DIFFERENCE]) /* of a pair, first less second: their mean */
            thrust[k] -= 0.5 * s->curve[SM_C_DIFFERENCE][k * s->count + i];
        if (k > 0)
            impulse += 0.5 * (thrust[k] + thrust[k - 1]) * (s->time[k] - s->time[k - 1]);
        left[k] = impulse;
    }
    for (size_t k = 0; k < n; k++)
        left[k] = told->propellant_mass[0] * (impulse > 0.0 ? 1.0 - left[k] / impulse : 1.0);
    *out = (struct sm_series){.n = n, .time = s->time, .thrust = thrust, .propellant_mass = left};
    return SM_OK;
}

enum sm_status sm_drawn_curves_take(const struct sm_drawn_curves *curves, const struct sm_result *const *told,
                                    size_t i, struct sm_arena *arena, struct sm_result *runs,
                                    int *is_possible, struct sm_error *err)
{
    *is_possible = 1;
    for (size_t g = 0; g < curves->n; g++) {
        /* A spread is also its samples. */
        const struct sm_spread_samples *s = (const struct sm_spread_samples *)(const void *)curves->spread[g];
        *is_possible = *is_possible && s->state[i] == SM_SAMPLE_DONE;
        if (*is_possible)
            SM_TRY(take(s, &told[g]->series, i, arena, &runs[g].series, err));
    }
    return SM_OK;
}

static double share_of(const struct sm_spread *spread, const char *name)
{
    for (size_t i = 0; i < spread->n_distributions; i++)
        if (strcmp(spread->distributions[i].name, name) == 0)
            return spread->distributions[i].deviation / spread->distributions[i].mean;
    return 0.0;
}

enum sm_status sm_drawn_deviations(const struct sm_motor *motor, const struct sm_context *context,
                                   double *impulse, double *burn_time, const char **from,
                                   struct sm_error *err)
{
    enum { DRAWN = 256 };
    const struct sm_spread_options options = {.n = DRAWN, .seed = 1, .threads = 1};
    struct sm_spread *spread;
    SM_TRY(sm_spread_run(motor, &options, context, &spread, err));
    *impulse = share_of(spread, "total_impulse");
    *burn_time = share_of(spread, "burn_time");
    *from = spread->is_usual
                ? "a spread of the first group's motor by usual tolerances, for no file states any"
                : "a spread of the first group's motor by its file's tolerances";
    sm_spread_free(spread);
    return SM_OK;
}
