#include "num/propagate.h"

#include <math.h>
#include <string.h>

/* Slopes by input j into its column; room holds the inputs moved, above and below the outputs. */
static enum sm_status slope_by(const struct sm_propagation *p, size_t j, double *room, double *above,
                               double *below, double *slopes, struct sm_error *err)
{
    const double step = sqrt(p->covariance[j * p->n_inputs + j]);
    if (!(step > 0.0))
        return SM_OK;
    room[j] = p->inputs[j] + step;
    SM_TRY(p->model(p->user, room, above, err));
    room[j] = p->inputs[j] - step;
    SM_TRY(p->model(p->user, room, below, err));
    room[j] = p->inputs[j];
    for (size_t i = 0; i < p->n_outputs; i++)
        slopes[i * p->n_inputs + j] = (above[i] - below[i]) / (2.0 * step);
    return SM_OK;
}

static double combined(const struct sm_propagation *p, const double *slopes, size_t a, size_t b)
{
    const size_t n = p->n_inputs;
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            sum += slopes[a * n + i] * slopes[b * n + j] * p->covariance[i * n + j];
    return sum;
}

enum sm_status sm_propagate(const struct sm_propagation *p, struct sm_arena *arena, double *outputs,
                            double *covariance, double *slopes, struct sm_error *err)
{
    double *room = sm_arena_alloc(arena, p->n_inputs, sizeof *room);
    double *above = sm_arena_alloc(arena, p->n_outputs, sizeof *above);
    double *below = sm_arena_alloc(arena, p->n_outputs, sizeof *below);
    if (!room || !above || !below)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    memcpy(room, p->inputs, p->n_inputs * sizeof *room);
    memset(slopes, 0, p->n_outputs * p->n_inputs * sizeof *slopes);
    SM_TRY(p->model(p->user, p->inputs, outputs, err));
    for (size_t j = 0; j < p->n_inputs; j++)
        SM_TRY(slope_by(p, j, room, above, below, slopes, err));
    for (size_t a = 0; a < p->n_outputs; a++)
        for (size_t b = 0; b < p->n_outputs; b++)
            covariance[a * p->n_outputs + b] = combined(p, slopes, a, b);
    return SM_OK;
}
