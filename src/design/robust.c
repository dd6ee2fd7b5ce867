#include "design/robust.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "motor/tolerance.h"
#include "num/parallel.h"
#include "num/percentile.h"
#include "num/points.h"

static const double sample_accuracy = 1e-4; /* far below any scatter worth sizing for */

struct drawing {
    const struct sm_design *design;
    const struct sm_motor *motor;
    struct sm_tolerances tolerances;
    const double *u; /* column by column, n each [1] */
    struct sm_pool *pools;
    struct sm_stray *stray;
    char *is_good;
};

static double value_of(const struct sm_bound *b, const struct sm_measured *m)
{
    return b->kind == SM_BOUND_BAND ? m->band[b->side > 0] : m->figure[b->figure];
}

static void one(void *user, int worker, size_t i)
{
    struct drawing *w = user;
    struct sm_pool *pool = &w->pools[worker];
    struct sm_change changes[SM_MAX_TOLERANCES];
    struct sm_motor *motor;
    struct sm_measured m;
    const size_t n = w->stray->n;
    for (size_t k = 0; k < w->tolerances.n; k++) {
        const struct sm_tolerance *t = &w->tolerances.items[k];
        changes[k] = (struct sm_change){t->of, sm_tolerance_quantile(t, w->u[k * n + i])};
    }
    sm_pool_reset(pool);
    if (sm_motor_vary(w->motor, changes, w->tolerances.n, &pool->allocator, &motor, NULL) != SM_OK ||
        sm_design_measure(w->design, motor, SM_MODEL_TRANSIENT, sample_accuracy, &pool->allocator, &m,
                          NULL) != SM_OK)
        return;
    w->is_good[i] = 1;
    for (size_t b = 0; b < w->design->n_bounds; b++)
        w->stray->values[b * n + i] = value_of(&w->design->bounds[b], &m);
}

/* Brings the good ones of each bound together and in order. */
static void gather(struct drawing *w)
{
    struct sm_stray *s = w->stray;
    for (size_t b = 0; b < w->design->n_bounds; b++) {
        size_t k = 0;
        for (size_t i = 0; i < s->n; i++)
            if (w->is_good[i])
                s->values[b * s->n + k++] = s->values[b * s->n + i];
        sm_sort(s->values + b * s->n, k);
    }
    for (size_t i = 0; i < s->n; i++)
        s->n_good += w->is_good[i] ? 1 : 0;
    s->n_impossible = s->n - s->n_good;
}

static enum sm_status draw(struct drawing *w, uint64_t seed, int threads, struct sm_error *err)
{
    struct sm_stray *s = w->stray;
    const int workers = sm_parallel_threads(threads);
    SM_TRY(sm_tolerances_of(w->motor, &w->tolerances, err));
    double *u = sm_arena_alloc(&s->arena, s->n * w->tolerances.n, sizeof *u);
    s->values = sm_arena_alloc(&s->arena, s->n * (w->design->n_bounds + 1), sizeof *s->values);
    w->is_good = sm_arena_alloc(&s->arena, s->n, 1);
    w->pools = sm_arena_alloc(&s->arena, (size_t)workers, sizeof *w->pools);
    if (!u || !s->values || !w->is_good || !w->pools)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(sm_points(s->n, w->tolerances.n, seed, 0, u, err));
    w->u = u;
    for (int i = 0; i < workers; i++)
        sm_pool_init(&w->pools[i], NULL);
    const size_t done = sm_parallel_for(s->n, threads, one, w, w->design->progress);
    int is_starved = 0;
    for (int i = 0; i < workers; i++) {
        is_starved |= w->pools[i].arena.is_starved;
        sm_pool_release(&w->pools[i]);
    }
    if (is_starved) /* a motor that there was no memory for is no motor that can't be */
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    if (done < s->n)
        return sm_fail(err, SM_E_CANCELLED, "stopped before its end");
    gather(w);
    return s->n_good > 0 ? SM_OK
                         : sm_fail(err, SM_E_PHYSICS, "none of %zu motors that stray has an answer", s->n);
}

enum sm_status sm_stray_draw(const struct sm_design *design, const struct sm_motor *motor, size_t n,
                             uint64_t seed, int threads, struct sm_stray *stray, struct sm_error *err)
{
    struct drawing w = {.design = design, .motor = motor, .stray = stray};
    *stray = (struct sm_stray){.n = n};
    sm_arena_init(&stray->arena, NULL);
    return draw(&w, seed, threads, err);
}

void sm_stray_release(struct sm_stray *stray)
{
    sm_arena_release(&stray->arena);
}

double sm_stray_share(const struct sm_design *design, const struct sm_stray *s, size_t i)
{
    const struct sm_bound *b = &design->bounds[i];
    size_t n = 0;
    for (size_t k = 0; k < s->n_good; k++) {
        const double v = s->values[i * s->n + k];
        n += (b->side > 0 || b->kind == SM_BOUND_BAND ? v <= b->bound : v >= b->bound) ? 1 : 0;
    }
    return (double)n / (double)s->n;
}

/* Sets each bound's margin so that its percentile is what the limit is about. Returned: the largest change [1]. */
static double take_margins(struct sm_design *d, const struct sm_stray *s, const struct sm_measured *full,
                           double share)
{
    double largest = 0.0;
    for (size_t i = 0; i < d->n_bounds; i++) {
        struct sm_bound *b = &d->bounds[i];
        const double nominal = value_of(b, full);
        const int is_upper = b->side > 0 || b->kind == SM_BOUND_BAND;
        const double reached =
            sm_percentile(s->values + i * s->n, s->n_good, is_upper ? share : 1.0 - share, NULL);
        if (b->kind == SM_BOUND_BAND) {
            largest = fmax(largest, fabs(reached - nominal - b->stray));
            b->stray = reached - nominal;
        } else if (nominal > 0.0) {
            largest = fmax(largest, fabs(reached / nominal / b->margin - 1.0));
            b->margin = reached / nominal;
        }
    }
    return largest;
}

enum sm_status sm_design_make_robust(struct sm_design *d, const struct sm_design_maker *maker,
                                     const struct sm_size_options *o, struct sm_optim_result *result,
                                     struct sm_measured *full, struct sm_error *err)
{
    enum { ROUNDS = 8 };
    const size_t n = o->samples > 0 ? o->samples : 1000;
    const double settled = 1e-3; /* well within what percentiles of any such number of samples err by */
    for (int round = 0; round < ROUNDS; round++) {
        struct sm_motor *motor;
        struct sm_stray stray;
        struct sm_optim_result next;
        double gap;
        SM_TRY(maker->make(maker->user, result->x, &motor, err));
        enum sm_status status = sm_stray_draw(d, motor, n, d->seed, o->threads, &stray, err);
        const double change = status == SM_OK ? take_margins(d, &stray, full, o->robust) : 0.0;
        sm_stray_release(&stray);
        sm_motor_free(motor);
        if (status != SM_OK || change < settled)
            return status;
        d->n_archive = 0; /* of the margins before */
        SM_TRY(sm_design_search(d, result->x, round == 0 ? d->restarts : 0, &next, err));
        SM_TRY(sm_design_settle(d, &next, full, &gap, err));
        next.evaluations += result->evaluations;
        if (round > 0) { /* of the whole box, not of this last step */
            next.searches = result->searches;
            next.agreeing = result->agreeing;
        }
        *result = next;
    }
    return sm_fail(err, SM_E_NUMERIC, "the margins for motors that stray did not come to rest");
}
