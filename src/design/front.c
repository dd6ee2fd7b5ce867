/*
 * Best compromises between two figures: the one is made best while the other is held to a level, from one end of the front
 * to the other.
 *
 * Reference: the method of bounded objectives, Y. Haimes, L. Lasdon, D. Wismer, IEEE Trans. Syst. Man Cybern. 1 (1971) 296
 * (from memory).
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "design/sizing.h"

struct owned {
    struct sm_trade trade; /* first, so that a pointer to it is one to the whole */
    struct sm_arena arena;
    const struct sm_sizing **points;
    size_t n; /* made so far */
};

/* A point of the front: where, and its two figures turned so that less is better. */
struct place {
    struct sm_optim_result result;
    struct sm_measured full;
    double gap;  /* [1] */
    double a, b; /* [SI unit of each figure] */
};

struct walk {
    struct sm_design *design;
    struct sm_aim aims[2];
    struct sm_bound *level; /* the limit on the second figure, last of the design's */
    struct place *places;
    size_t n;
    size_t n_missed; /* levels that no motor was found for */
};

static void read_place(const struct walk *w, struct place *p)
{
    p->a = w->aims[0].side * p->full.figure[w->aims[0].figure];
    p->b = w->aims[1].side * p->full.figure[w->aims[1].figure];
}

/* The best in figure `which`, with the other no worse than level; NaN: any. */
static enum sm_status find(struct walk *w, int which, double level, const double *start, size_t restarts,
                           struct place *p, struct sm_error *err)
{
    struct sm_design *d = w->design;
    const struct sm_aim *other = &w->aims[1 - which];
    const struct sm_size_figure *figures;
    sm_size_figures(&figures);
    d->trade = &w->aims[which];
    d->n_archive = 0;
    d->n_bounds = (size_t)(w->level - d->bounds);
    if (!isnan(level)) {
        *w->level = (struct sm_bound){.kind = SM_BOUND_FIGURE,
                                      .figure = other->figure,
                                      .dim = figures[other->figure].dim,
                                      .side = other->side,
                                      .bound = other->side * level,
                                      .back = sm_design_whisker,
                                      .margin = 1.0};
        sm_text_format(w->level->what, sizeof w->level->what, "%s on the front", figures[other->figure].name);
        d->n_bounds++;
    }
    SM_TRY(sm_design_search(d, start, restarts, &p->result, err));
    SM_TRY(sm_design_settle(d, &p->result, &p->full, &p->gap, err));
    read_place(w, p);
    return SM_OK;
}

/* Ends of the front: the best in one figure, and of those the best in the other. */
static enum sm_status find_end(struct walk *w, int which, struct place *p, struct sm_error *err)
{
    const double slack = 5e-4; /* of the first figure, so that the second search has room to move in */
    struct place first;
    struct sm_design *d = w->design;
    d->trade = &w->aims[which];
    SM_TRY(find(w, which, SM_ABSENT, NULL, d->restarts, &first, err));
    const double best = which == 0 ? first.a : first.b;
    *p = first;
    struct place second;
    struct sm_error ignored = {0};
    const enum sm_status status =
        find(w, 1 - which, best + slack * fabs(best), first.result.x, 0, &second, &ignored);
    if (status == SM_OK)
        *p = second;
    return status == SM_E_CANCELLED || status == SM_E_NOMEM
               ? find(w, which, SM_ABSENT, first.result.x, 0, p, err)
               : SM_OK;
}

static int is_beaten(const struct place *p, const struct place *by)
{
    const double a = 1e-4 * fabs(p->a), b = 1e-4 * fabs(p->b);
    return by->a <= p->a + a && by->b <= p->b + b && (by->a < p->a - a || by->b < p->b - b);
}

/* From one end to the other: from both neighbours, and every few points over the whole box. Stopped, the ends and what was
 * found between them stay. */
static enum sm_status walk(struct walk *w, size_t n, const struct place ends[2], struct sm_error *err)
{
    w->places[w->n++] = ends[0];
    for (size_t k = 1; k + 1 < n; k++) {
        const double level = ends[0].b + (ends[1].b - ends[0].b) * (double)k / (double)(n - 1);
        struct place *const p = &w->places[w->n];
        struct place other;
        struct sm_error why = {0};
        enum sm_status near = find(w, 0, level, p[-1].result.x, k % 3 == 0 ? 1 : 0, p, &why);
        enum sm_status far =
            near == SM_E_CANCELLED ? near : find(w, 0, level, ends[1].result.x, 0, &other, &why);
        const int is_stopped = near == SM_E_CANCELLED || far == SM_E_CANCELLED;
        if (near == SM_E_NOMEM || far == SM_E_NOMEM) {
            *err = why;
            return why.status;
        }
        if (far == SM_OK && (near != SM_OK || other.a < p->a))
            *p = other;
        const int is_found = near == SM_OK || far == SM_OK;
        w->n += is_found ? 1 : 0;
        w->n_missed += is_found || is_stopped ? 0 : 1;
        if (is_stopped) {
            w->places[w->n++] = ends[1];
            return SM_E_CANCELLED;
        }
    }
    w->places[w->n++] = ends[1];
    return SM_OK;
}

static int by_first(const void *p, const void *q)
{
    const double a = ((const struct place *)p)->a, b = ((const struct place *)q)->a;
    return (a > b) - (a < b);
}

/* So near that showing both would say the same twice. */
static int is_same(const struct place *p, const struct place *q)
{
    const double near = 1e-3;
    return fabs(p->a - q->a) <= near * fabs(p->a) && fabs(p->b - q->b) <= near * fabs(p->b);
}

/* Sizings of the places that none other beats, in order. */
static enum sm_status put_places(struct walk *w, struct owned *o, struct sm_error *err)
{
    qsort(w->places, w->n, sizeof *w->places, by_first);
    for (size_t i = 0; i < w->n; i++) {
        int keep = 1;
        for (size_t k = 0; k < w->n && keep; k++)
            keep = k == i || !(is_beaten(&w->places[i], &w->places[k]) ||
                               (k < i && is_same(&w->places[i], &w->places[k])));
        if (!keep)
            continue;
        struct sm_sizing *s;
        w->design->n_bounds = (size_t)(w->level - w->design->bounds);
        w->design->trade = &w->aims[0];
        SM_TRY(
            sm_sizing_make(w->design, &w->places[i].result, &w->places[i].full, w->places[i].gap, &s, err));
        o->points[o->n++] = s;
    }
    return SM_OK;
}

static enum sm_status run(struct walk *w, size_t n, struct owned *o, struct sm_error *err)
{
    struct place ends[2];
    w->places = sm_arena_alloc(&o->arena, n + 1, sizeof *w->places);
    o->points = sm_arena_alloc(&o->arena, n + 1, sizeof *o->points);
    if (!w->places || !o->points)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    enum sm_status status = find_end(w, 0, &ends[0], err);
    if (status == SM_E_CANCELLED)
        return sm_fail(err, SM_E_CANCELLED, "stopped before the first end of the front was found");
    SM_TRY(status);
    status = find_end(w, 1, &ends[1], err);
    if (status == SM_OK)
        status = walk(w, n, ends, err);
    else if (status == SM_E_CANCELLED)
        w->places[w->n++] = ends[0];
    o->trade.complete = status == SM_OK;
    return status == SM_OK || status == SM_E_CANCELLED ? put_places(w, o, err) : status;
}

enum sm_status sm_design_trade(struct sm_design *d, const size_t figure[2], const int sense[2], size_t n,
                               struct sm_trade **trade, struct sm_error *err)
{
    const struct sm_size_figure *figures;
    struct sm_arena arena;
    *trade = NULL;
    const size_t known = sm_size_figures(&figures);
    if (figure[0] >= known || figure[1] >= known || figure[0] == figure[1] || n < 2 ||
        n > SM_TRADE_MAX_POINTS)
        return sm_fail(err, SM_E_RANGE, "a trade is between two figures, over 2 to %d points",
                       (int)SM_TRADE_MAX_POINTS);
    if (d->n_bounds == SM_OPTIM_LIMITS)
        return sm_fail(err, SM_E_RANGE, "more than %d limits", (int)SM_OPTIM_LIMITS - 1);
    struct walk w = {.design = d, .level = &d->bounds[d->n_bounds]};
    sm_arena_init(&arena, NULL);
    struct owned *o = sm_arena_alloc(&arena, 1, sizeof *o);
    if (!o) {
        sm_arena_release(&arena);
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    o->arena = arena;
    for (int i = 0; i < 2; i++) {
        const enum sm_measure f = (enum sm_measure)figure[i];
        const int s = sense[i] ? sense[i] : figures[f].sense;
        w.aims[i] = (struct sm_aim){f, -s};
        o->trade.figure[i] = figure[i];
        o->trade.sense[i] = s;
        d->needs_hot = d->needs_hot || f == SM_F_PEAK_HOT || f == SM_F_BURST_MARGIN;
    }
    struct sm_error why = {0};
    enum sm_status status = sm_design_look_at_start(d, &why);
    if (status == SM_OK)
        status = run(&w, n, o, &why);
    if (status != SM_OK && err)
        *err = why;
    d->n_bounds = (size_t)(w.level - d->bounds);
    d->trade = NULL;
    o->trade.request = d->spec->name;
    o->trade.points = o->points;
    o->trade.n = o->n;
    o->trade.n_missed = w.n_missed;
    o->trade.evaluations = d->looks;
    o->trade.seed = d->seed;
    if (status == SM_OK)
        *trade = &o->trade;
    else
        sm_trade_free(&o->trade);
    return status;
}

void sm_trade_free(struct sm_trade *trade)
{
    if (!trade)
        return;
    struct owned *o = (struct owned *)trade;
    for (size_t i = 0; i < o->n; i++) {
        union {
            const struct sm_sizing *shown;
            struct sm_sizing *own;
        } point = {.shown = o->points[i]}; /* constant for those that read the trade; it is the trade's own */
        sm_sizing_free(point.own);
    }
    struct sm_arena arena = o->arena; /* it lives in its own arena */
    sm_arena_release(&arena);
}
