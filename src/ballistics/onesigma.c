#include "ballistics/onesigma.h"

#include <math.h>
#include <stdlib.h>

#include "base/pool.h"
#include "motor/tolerance.h"

/* The figures, in the order of sm_figures' fields. */
static void figures_of(const struct sm_result *r, struct sm_figures *out)
{
    *out = (struct sm_figures){
        .total_impulse = r->thrust.total_impulse,
        .burn_time = r->thrust.burn_time,
        .average = r->thrust.average,
        .maximum = r->thrust.maximum,
        .specific_impulse = r->thrust.specific_impulse,
        .pressure_maximum = r->chamber.pressure_maximum,
        .pressure_average = r->chamber.pressure_average,
    };
}

enum { N_FIGURES = sizeof(struct sm_figures) / sizeof(double) };

static double *figure(struct sm_figures *f, size_t i)
{
    return (double *)f + i;
}

void sm_one_sigma_absent(struct sm_one_sigma *out)
{
    *out = (struct sm_one_sigma){0};
    for (size_t i = 0; i < N_FIGURES; i++)
        *figure(&out->figures, i) = SM_ABSENT;
}

/* Burns the motor with some values changed. False if it has no answer; *is_out if memory ran out. */
static int burn_stray(const struct sm_motor *motor, const struct sm_run_options *options,
                      const struct sm_change *changes, size_t n, struct sm_pool *pool, struct sm_figures *out,
                      int *is_out)
{
    struct sm_run_options plain = *options;
    const struct sm_context context = {.allocator = &pool->allocator};
    struct sm_motor *varied = NULL;
    struct sm_result *result = NULL;
    plain.without_warnings = true;
    if (plain.model == SM_MODEL_AXIAL)
        plain.stations = 20; /* what few stations miss, they miss on both sides of a change */
    sm_pool_reset(pool);
    enum sm_status status = sm_motor_vary(motor, changes, n, &pool->allocator, &varied, NULL);
    if (status == SM_OK)
        status = sm_simulate(varied, &plain, &context, &result, NULL);
    *is_out = *is_out || status == SM_E_NOMEM;
    if (status == SM_OK)
        figures_of(result, out);
    return status == SM_OK;
}

/* Change of the figures by one standard deviation of one value. False if the motor has no answer on either side. */
static int influence_of(const struct sm_motor *motor, const struct sm_run_options *options,
                        const struct sm_tolerance *t, const struct sm_figures *middle, struct sm_pool *pool,
                        struct sm_influence *out, int *is_out)
{
    const double sigma = sm_tolerance_sigma(t);
    const struct sm_change up = {t->of, t->middle + sigma}, down = {t->of, t->middle - sigma};
    struct sm_figures high = *middle, low = *middle;
    const int has_high = burn_stray(motor, options, &up, 1, pool, &high, is_out);
    const int has_low = burn_stray(motor, options, &down, 1, pool, &low, is_out);
    const double width = (double)(has_high + has_low);
    for (size_t i = 0; i < N_FIGURES; i++)
        *figure(&out->effect, i) = (*figure(&high, i) - *figure(&low, i)) / width;
    out->of = t->of;
    out->dim = t->dim;
    out->middle = t->middle;
    out->sigma = sigma;
    out->is_batch = t->is_batch != 0;
    return width > 0.0;
}

static enum sm_status reckon(const struct sm_motor *motor, const struct sm_run_options *options,
                             const struct sm_tolerances *tolerances, struct sm_pool *pool, struct sm_run *run,
                             struct sm_error *err)
{
    struct sm_one_sigma *out = &run->result.one_sigma;
    struct sm_influence *influences = sm_arena_alloc(&run->arena, tolerances->n, sizeof *influences);
    struct sm_figures sum = {0}, own, middle;
    int is_out = 0;
    if (!influences)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    figures_of(&run->result, &own);
    middle = own;
    /* Nothing changed: the run that the shares are taken of. */
    if (options->model != run->result.model && !burn_stray(motor, options, NULL, 0, pool, &middle, &is_out))
        return is_out ? sm_fail(err, SM_E_NOMEM, "out of memory") : SM_OK;
    for (size_t i = 0; i < tolerances->n; i++) {
        if (!influence_of(motor, options, &tolerances->items[i], &middle, pool, &influences[i], &is_out))
            return is_out ? sm_fail(err, SM_E_NOMEM, "out of memory") : SM_OK;
        for (size_t k = 0; k < N_FIGURES; k++) {
            *figure(&influences[i].effect, k) *= *figure(&own, k) / *figure(&middle, k);
            *figure(&sum, k) += pow(*figure(&influences[i].effect, k), 2.0);
        }
    }
    for (size_t k = 0; k < N_FIGURES; k++)
        *figure(&out->figures, k) = sqrt(*figure(&sum, k));
    out->is_usual = tolerances->is_usual != 0;
    out->influences = influences;
    out->n_influences = tolerances->n;
    return is_out ? sm_fail(err, SM_E_NOMEM, "out of memory") : SM_OK;
}

enum sm_status sm_one_sigma_reckon(const struct sm_motor *motor, const struct sm_run_options *options,
                                   struct sm_run *run, struct sm_error *err)
{
    struct sm_tolerances tolerances;
    struct sm_pool pool;
    SM_TRY(sm_tolerances_of(motor, &tolerances, err));
    sm_pool_init(&pool, run->arena.allocator);
    struct sm_run_options simple = *options;
    if (simple.model == SM_MODEL_AXIAL)
        simple.model = SM_MODEL_TRANSIENT;
    const enum sm_status status = reckon(motor, &simple, &tolerances, &pool, run, err);
    sm_pool_release(&pool);
    return status;
}
