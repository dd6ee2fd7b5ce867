#include "export/ambients.h"
#include "ballistics/elsewhere.h"

#include <math.h>
#include <string.h>

/* Thrust between two ambient pressures of the table is this near to the run's, over the largest thrust [1]. */
static const double ambient_error = 1e-3;
/* Highest ambient pressure of the table, if the run's own is not near it: below the lowest land and a storm's high [Pa]. */
static const double highest_ambient = 110e3;
struct grid {
    struct sm_export *e;
    const struct sm_series *series;
    struct sm_arena *arena;
    double **thrust; /* of the run's rows at each pressure [N] */
};

static enum sm_status out_of_memory(struct sm_error *err)
{
    return sm_fail(err, SM_E_NOMEM, "out of memory");
}

static enum sm_status add_ambient(struct grid *g, double pressure, struct sm_error *err)
{
    struct sm_export *e = g->e;
    double *thrust = sm_arena_alloc(g->arena, g->series->n, sizeof *thrust);
    if (!thrust)
        return out_of_memory(err);
    if (pressure == e->motor->ambient)
        for (size_t i = 0; i < g->series->n; i++)
            thrust[i] = fmax(0.0, g->series->thrust[i]);
    else
        SM_TRY(sm_thrust_elsewhere(e->motor, e->result, pressure, g->arena, thrust, err));
    size_t at = e->n_ambient++;
    for (; at > 0 && e->ambient[at - 1] > pressure; at--) {
        e->ambient[at] = e->ambient[at - 1];
        g->thrust[at] = g->thrust[at - 1];
    }
    e->ambient[at] = pressure;
    g->thrust[at] = thrust;
    return SM_OK;
}

/* How far thrust half-way between pressures k and k + 1 is from the line between them, over the largest [1]. */
static enum sm_status bend(struct grid *g, size_t k, double *off, struct sm_error *err)
{
    const struct sm_export *e = g->e;
    const size_t n = g->series->n;
    double worst = 0.0, largest = 0.0;
    double *middle = sm_arena_alloc(g->arena, n, sizeof *middle);
    if (!middle)
        return out_of_memory(err);
    SM_TRY(sm_thrust_elsewhere(e->motor, e->result, 0.5 * (e->ambient[k] + e->ambient[k + 1]), g->arena,
                               middle, err));
    for (size_t i = 0; i < n; i++) {
        worst = fmax(worst, fabs(middle[i] - 0.5 * (g->thrust[k][i] + g->thrust[k + 1][i])));
        largest = fmax(largest, g->series->thrust[i]);
    }
    *off = worst / largest;
    return SM_OK;
}

/* Pressures are put half-way into the intervals where straight lines miss most, until none misses by more than is
 * allowed or there is no more room. */
static enum sm_status refine_ambient(struct grid *g, struct sm_error *err)
{
    struct sm_export *e = g->e;
    double off[SM_MAX_AMBIENT];
    for (size_t k = 0; k + 1 < e->n_ambient; k++)
        SM_TRY(bend(g, k, &off[k], err));
    while (e->n_ambient < SM_MAX_AMBIENT) {
        size_t worst = 0;
        for (size_t k = 1; k + 1 < e->n_ambient; k++)
            if (off[k] > off[worst])
                worst = k;
        if (off[worst] <= ambient_error)
            break;
        SM_TRY(add_ambient(g, 0.5 * (e->ambient[worst] + e->ambient[worst + 1]), err));
        memmove(off + worst + 2, off + worst + 1, (e->n_ambient - worst - 3) * sizeof *off);
        SM_TRY(bend(g, worst, &off[worst], err));
        SM_TRY(bend(g, worst + 1, &off[worst + 1], err));
    }
    return SM_OK;
}

enum sm_status sm_export_ambients(struct sm_export *e, struct sm_arena *arena, double *thrust[SM_MAX_AMBIENT],
                                  struct sm_error *err)
{
    struct grid g = {e, &e->result->series, arena, thrust};
    const double own = e->motor->ambient;
    SM_TRY(add_ambient(&g, own, err));
    if (sm_thrust_varies(e->motor)) {
        if (own > 0.0)
            SM_TRY(add_ambient(&g, 0.0, err));
        SM_TRY(add_ambient(&g, own > 0.95 * highest_ambient ? 1.1 * own : highest_ambient, err));
        SM_TRY(refine_ambient(&g, err));
    }
    while (e->ambient[e->own] != own)
        e->own++;
    return SM_OK;
}
