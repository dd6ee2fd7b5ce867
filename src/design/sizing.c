#include "design/sizing.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "num/points.h"

enum { MAX_WISHES = SM_N_MEASURES + 3 };
static const double active_within = 2e-3; /* of a limit, a few whiskers */
static const double broken_within = 1e-6; /* a limit broken by no more counts as kept */
static const double loosened_by = 0.01;
static const double least_gain = 5e-4; /* the search itself stays 3e-4 off limits and holds values as near */

/* What the burn of a found motor warns of, as it would of the motor's file. */
static enum sm_status put_warnings(const struct sm_design *d, const double *x, struct sm_arena *arena,
                                   struct sm_sizing *s, struct sm_error *err)
{
    struct sm_change changes[SM_DESIGN_CHANGES];
    const size_t n = sm_design_changes(d->spec, x, changes);
    const struct sm_run_options plain = {0};
    struct sm_motor *motor;
    struct sm_result *result;
    SM_TRY(sm_motor_vary(d->motor, changes, n, NULL, &motor, err));
    enum sm_status status = sm_simulate(motor, &plain, NULL, &result, err);
    if (status == SM_OK) {
        struct sm_warning_found *kept = sm_arena_alloc(arena, result->n_warnings + 1, sizeof *kept);
        for (size_t i = 0; kept && i < result->n_warnings; i++)
            kept[i] = result->warnings[i];
        s->warnings = kept;
        s->n_warnings = kept ? result->n_warnings : 0;
        status = kept ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
        sm_result_free(result);
    }
    sm_motor_free(motor);
    return status;
}

/* A sizing with the arena that it lives in. */
struct owned {
    struct sm_sizing sizing; /* first, so that a pointer to it is one to the whole */
    struct sm_arena arena;
    struct sm_sized_value values[SM_OPTIM_VARIABLES];
    struct sm_sized_limit limits[SM_OPTIM_LIMITS];
    struct sm_sized_wish wishes[MAX_WISHES];
};

/* ---- wishes ---- */

static void add_wish(struct sm_sized_wish *wishes, size_t *n, const char *what, enum sm_dim dim, int aim,
                     double wanted, double got)
{
    struct sm_sized_wish *w = &wishes[(*n)++];
    *w = (struct sm_sized_wish){.dim = dim, .aim = aim, .wanted = wanted, .got = got};
    sm_text_format(w->what, sizeof w->what, "%s", what);
}

/* Each wish with what it got; is_exact: by a full burn, which needs no correction. */
static size_t list_wishes(const struct sm_design *d, const struct sm_measured *m, int is_exact,
                          struct sm_sized_wish *wishes)
{
    const struct sm_request_wishes *w = &d->spec->wanted;
    const struct sm_size_figure *figures;
    const double *figure = m->figure;
    size_t n = 0;
    sm_size_figures(&figures);
    if (d->trade)
        return 0;
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        if (!isnan(w->of[i].value) || w->of[i].aim >= 0)
            add_wish(wishes, &n, figures[i].name, figures[i].dim,
                     w->of[i].aim < 0    ? 0
                     : w->of[i].aim == 1 ? 1
                                         : -1,
                     w->of[i].value, figure[i]);
    if (w->under_class) {
        char what[32];
        sm_text_format(what, sizeof what, "under_class %s", w->under_class);
        add_wish(wishes, &n, what, SM_DIM_IMPULSE, 0,
                 sm_class_limit(w->under_class) * (1.0 - w->class_reserve), figure[SM_F_TOTAL_IMPULSE]);
    }
    if (w->neutral)
        add_wish(wishes, &n, "neutral, rms uneven", SM_DIM_NONE, 0, 0.0, m->uneven);
    if (w->thrust.n > 0)
        add_wish(wishes, &n, "thrust, rms miss", SM_DIM_NONE, 0, 0.0, sm_design_shape(d, m, is_exact));
    return n;
}

/* By how much a wish is met better, relative [1]. */
static double gain_of(const struct sm_sized_wish *before, const struct sm_sized_wish *after)
{
    if (before->aim != 0)
        return before->aim * (after->got - before->got) / fabs(before->got);
    const double size = before->wanted > 0.0 ? before->wanted : 1.0;
    return (fabs(before->got - before->wanted) - fabs(after->got - after->wanted)) / size;
}

/* ---- what limits cost ---- */

/* Searches again with limit i looser, and tells the wish that gains most. */
static enum sm_status reckon_cost(struct sm_design *d, const struct sm_optim_result *result, size_t i,
                                  struct sm_sized_limit *limit, struct sm_error *err)
{
    struct sm_bound *b = &d->bounds[i];
    const struct sm_bound as_asked = *b;
    struct sm_optim_result looser;
    struct sm_measured m[2];
    struct sm_sized_wish wishes[2][MAX_WISHES];
    size_t n = 0;
    if (strncmp(b->pointer, "/wanted", 7) == 0)
        return SM_OK; /* an end that a wish comes near to: more room would be another wish */
    b->bound += b->side * loosened_by * fabs(b->bound);
    b->back -= b->kind == SM_BOUND_BAND ? loosened_by : 0.0;
    const enum sm_status status = sm_design_search(d, result->x, 0, &looser, err);
    *b = as_asked;
    SM_TRY(status);
    for (int k = 0; k < 2; k++) {
        SM_TRY(sm_design_measure_at(d, k ? looser.x : result->x, SM_MODEL_EQUILIBRIUM, 1e-5, &m[k], err));
        for (size_t f = 0; f < SM_N_MEASURES; f++)
            m[k].figure[f] *= d->factor[f];
        n = list_wishes(d, &m[k], 0, wishes[k]);
    }
    double most = least_gain;
    for (size_t k = 0; k < n; k++) {
        const double gain = gain_of(&wishes[0][k], &wishes[1][k]);
        if (!(gain > most))
            continue;
        most = gain;
        memcpy(limit->gains, wishes[0][k].what, sizeof limit->gains);
        limit->gains_dim = wishes[0][k].dim;
        limit->gains_from = wishes[0][k].got;
        limit->gains_to = wishes[1][k].got;
    }
    return SM_OK;
}

/* ---- making ---- */

static void put_values(const struct sm_design *d, const double *x, struct sm_sized_value *values)
{
    for (size_t i = 0; i < d->spec->n_free; i++) {
        const struct sm_free_value *v = &d->spec->free[i];
        const double near = v->is_whole ? 0.0 : 1e-3 * (v->to - v->from);
        values[i] = (struct sm_sized_value){.of = v->of,
                                            .dim = v->dim,
                                            .is_whole = v->is_whole != 0,
                                            .from = v->from,
                                            .to = v->to,
                                            .value = x[i],
                                            .at = x[i] <= v->from + near ? -1
                                                  : x[i] >= v->to - near ? 1
                                                                         : 0};
    }
}

static void put_limits(const struct sm_design *d, const struct sm_measured *full,
                       struct sm_sized_limit *limits)
{
    for (size_t i = 0; i < d->n_bounds; i++) {
        const struct sm_bound *b = &d->bounds[i];
        struct sm_sized_limit *l = &limits[i];
        *l = (struct sm_sized_limit){.dim = b->dim,
                                     .is_most = b->side > 0,
                                     .bound = b->bound,
                                     .got = b->kind == SM_BOUND_BAND ? full->band[b->side > 0]
                                                                     : full->figure[b->figure],
                                     .gains_from = SM_ABSENT,
                                     .gains_to = SM_ABSENT,
                                     .share = SM_ABSENT,
                                     .share_error = SM_ABSENT};
        memcpy(l->what, b->what, sizeof l->what);
        memcpy(l->pointer, b->pointer, sizeof l->pointer);
        double broken = sm_bound_broken(d, b, full, 1);
        if (b->kind == SM_BOUND_BAND)
            broken += b->stray;
        else /* as those at the percentile have it */
            broken = b->side * (l->got * b->margin - b->bound) / (b->bound != 0.0 ? fabs(b->bound) : 1.0);
        l->is_active = broken > -active_within;
        l->is_kept = sm_bound_broken(d, b, full, 1) <= broken_within;
    }
}

enum sm_status sm_sizing_make(const struct sm_design *d, const struct sm_optim_result *result,
                              const struct sm_measured *full, double gap, struct sm_sizing **sizing,
                              struct sm_error *err)
{
    struct sm_arena arena;
    *sizing = NULL;
    sm_arena_init(&arena, NULL);
    struct owned *o = sm_arena_alloc(&arena, 1, sizeof *o);
    if (!o) {
        sm_arena_release(&arena);
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    o->arena = arena;
    put_values(d, result->x, o->values);
    put_limits(d, full, o->limits);
    struct sm_sizing *s = &o->sizing;
    *s = (struct sm_sizing){.request = d->spec->name,
                            .motor = d->motor->spec.name,
                            .complete = true,
                            .seed = d->seed,
                            .restarts = d->restarts,
                            .evaluations = d->looks,
                            .searches = result->searches,
                            .agreeing = result->agreeing,
                            .values = o->values,
                            .n_values = d->spec->n_free,
                            .limits = o->limits,
                            .n_limits = d->n_bounds,
                            .wishes = o->wishes,
                            .n_wishes = list_wishes(d, full, 1, o->wishes),
                            .model_gap = gap,
                            .burst_margin = d->margin,
                            .is_margin_low = d->is_margin_low != 0,
                            .holds = true};
    memcpy(s->figures, full->figure, sizeof full->figure);
    const enum sm_status status = put_warnings(d, result->x, &o->arena, s, err);
    if (status == SM_OK)
        *sizing = s;
    else
        sm_sizing_free(s);
    return status;
}

void sm_sizing_free(struct sm_sizing *sizing)
{
    if (!sizing)
        return;
    struct sm_arena arena = ((struct owned *)sizing)->arena; /* it lives in its own arena */
    sm_arena_release(&arena);
}

/* ---- a run ---- */

/* Fresh samples, with a seed of their own. */
static enum sm_status check_robust(struct sm_design *d, const struct sm_design_maker *maker,
                                   const struct sm_size_options *o, const double *x, struct owned *owned,
                                   struct sm_error *err)
{
    enum { CHECK = 7001 }; /* which of the seed's random numbers */
    struct sm_sizing *s = &owned->sizing;
    struct sm_motor *motor;
    struct sm_stray stray;
    s->robust = o->robust;
    s->samples = o->samples > 0 ? o->samples : 1000;
    s->check_seed = sm_random(d->seed, CHECK) >> 32; /* short enough to be typed */
    SM_TRY(maker->make(maker->user, x, &motor, err));
    const enum sm_status status = sm_stray_draw(d, motor, s->samples, s->check_seed, o->threads, &stray, err);
    for (size_t i = 0; i < d->n_bounds && status == SM_OK; i++) {
        struct sm_sized_limit *l = &owned->limits[i];
        l->share = sm_stray_share(d, &stray, i);
        l->share_error = sqrt(o->robust * (1.0 - o->robust) / (double)s->samples);
        s->holds = s->holds && l->share >= o->robust - 3.0 * l->share_error;
    }
    s->n_impossible = stray.n_impossible;
    sm_stray_release(&stray);
    sm_motor_free(motor);
    return status;
}

static enum sm_status finish(struct sm_design *d, const struct sm_design_maker *maker,
                             const struct sm_size_options *o, const struct sm_optim_result *result,
                             struct owned *owned, struct sm_error *err)
{
    for (size_t i = 0; i < d->n_bounds; i++)
        if (owned->limits[i].is_active)
            SM_TRY(reckon_cost(d, result, i, &owned->limits[i], err));
    if (o->robust > 0.0)
        SM_TRY(check_robust(d, maker, o, result->x, owned, err));
    owned->sizing.evaluations = d->looks;
    return SM_OK;
}

static void mark_stopped(struct sm_sizing *s)
{
    s->complete = false;
    s->robust = 0.0; /* nothing was checked */
    s->samples = s->n_impossible = 0;
}

/* What a search had found when it was stopped, by a full burn. Status: SM_E_CANCELLED if that is nothing. */
static enum sm_status make_stopped(struct sm_design *d, struct sm_optim_result *result,
                                   struct sm_sizing **sizing, struct sm_error *err)
{
    const double full_accuracy = 1e-5;
    struct sm_measured full;
    if (!result->found)
        return sm_fail(err, SM_E_CANCELLED, "stopped before any motor was found");
    sm_design_round(d->spec, result->x);
    if (sm_design_measure_at(d, result->x, SM_MODEL_TRANSIENT, full_accuracy, &full, NULL) != SM_OK)
        return sm_fail(err, SM_E_CANCELLED, "stopped before a motor was found that burns");
    SM_TRY(sm_sizing_make(d, result, &full, SM_ABSENT, sizing, err));
    mark_stopped(*sizing);
    return SM_OK;
}

/* All but what is told of the motor found. */
static enum sm_status seek(struct sm_design *d, const struct sm_design_maker *maker,
                           const struct sm_size_options *o, struct sm_optim_result *result,
                           struct sm_measured *full, double *gap, struct sm_error *err)
{
    SM_TRY(sm_design_search(d, NULL, d->restarts, result, err));
    SM_TRY(sm_design_settle(d, result, full, gap, err));
    return o->robust > 0.0 ? sm_design_make_robust(d, maker, o, result, full, err) : SM_OK;
}

enum sm_status sm_design_size(struct sm_design *d, const struct sm_design_maker *maker,
                              const struct sm_size_options *o, struct sm_sizing **sizing,
                              struct sm_error *err)
{
    struct sm_optim_result result = {0};
    struct sm_measured full;
    struct sm_error why = {0};
    double gap = 0.0;
    *sizing = NULL;
    enum sm_status status = seek(d, maker, o, &result, &full, &gap, &why);
    if (status == SM_E_CANCELLED)
        status = make_stopped(d, &result, sizing, &why);
    else if (status == SM_OK) {
        status = sm_sizing_make(d, &result, &full, gap, sizing, &why);
        if (status == SM_OK)
            status = finish(d, maker, o, &result, (struct owned *)*sizing, &why);
        if (status == SM_E_CANCELLED) {
            mark_stopped(*sizing);
            status = SM_OK;
        }
    }
    if (status == SM_OK)
        return SM_OK;
    sm_sizing_free(*sizing);
    *sizing = NULL;
    if (err)
        *err = why;
    return status;
}
