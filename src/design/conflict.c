/* Which limits can't be kept together. */
#include <math.h>
#include <string.h>

#include "base/text.h"
#include "design/design.h"

static const double kept = 1e-6; /* as the search counts it */

/* Limit j is made small while limit i is kept; i == j: j alone. */
struct pair {
    struct sm_design *design;
    size_t i, j;
};

static enum sm_optim_answer look(void *user, const double *x, double *goal, double *limits)
{
    const struct pair *p = user;
    double all[SM_OPTIM_LIMITS], ignored;
    const enum sm_optim_answer answer = sm_design_look(p->design, x, &ignored, all);
    if (answer != SM_OPTIM_GOOD)
        return answer;
    *goal = fmax(all[p->j], 0.0); /* kept is kept: it need not be kept by more */
    if (isnan(all[p->j]))
        return SM_OPTIM_NO_SUCH_POINT;
    limits[0] = all[p->i];
    return SM_OPTIM_GOOD;
}

/* Was a point met that keeps both? */
static int was_kept(const struct sm_design *d, size_t i, size_t j)
{
    for (size_t k = 0; k < d->n_archive; k++) {
        const double *limits = d->archive + k * d->n_bounds;
        if (limits[i] <= kept && limits[j] <= kept)
            return 1;
    }
    return 0;
}

static enum sm_status search(struct sm_design *d, size_t i, size_t j, const double *start,
                             struct sm_optim_result *result, struct sm_error *err)
{
    struct pair pair = {d, i, j};
    const struct sm_optim_problem problem = {
        .variables = d->variables, .n = d->spec->n_free, .m = i == j ? 0 : 1, .eval = look, .user = &pair};
    const struct sm_optim_options options = {.seed = d->seed, .restarts = 1, .tolerance = kept};
    return sm_optim_search(&problem, start, &options, result, err);
}

static const char *put_got(struct sm_design *d, const struct sm_bound *b, const double *x,
                           char buf[SM_MEASURE_TEXT])
{
    struct sm_measured m;
    if (sm_design_measure_at(d, x, SM_MODEL_EQUILIBRIUM, 1e-4, &m, NULL) != SM_OK)
        sm_text_format(buf, SM_MEASURE_TEXT, "nothing");
    else if (b->kind == SM_BOUND_BAND)
        sm_text_format(buf, SM_MEASURE_TEXT, "%.3g %% beyond it", 100.0 * m.band[b->side > 0]);
    else
        sm_measure_text(buf, b->dim, m.figure[b->figure] * d->factor[b->figure] * b->margin, 4);
    return buf;
}

/* The free value that stands at one of its bounds, for a limit that no motor keeps. */
static const struct sm_free_value *at_bound(const struct sm_design *d, const double *x, int *is_to)
{
    for (size_t i = 0; i < d->spec->n_free; i++) {
        const struct sm_free_value *v = &d->spec->free[i];
        const double near = 1e-3 * (v->to - v->from);
        *is_to = x[i] >= v->to - near;
        if (*is_to || x[i] <= v->from + near)
            return v;
    }
    return NULL;
}

static enum sm_status refuse_alone(struct sm_design *d, size_t j, const double *x, struct sm_error *err)
{
    char got[SM_MEASURE_TEXT], bound[SM_MEASURE_TEXT];
    int is_to = 0;
    const struct sm_bound *b = &d->bounds[j];
    const struct sm_free_value *v = at_bound(d, x, &is_to);
    put_got(d, b, x, got);
    if (v)
        sm_fail(err, SM_E_PHYSICS, "'%.80s' conflicts with '%.60s %s %s': the nearest that can be is %s",
                b->what, v->of, is_to ? "to" : "from",
                sm_measure_text(bound, v->dim, is_to ? v->to : v->from, 6), got);
    else
        sm_fail(err, SM_E_PHYSICS, "'%.80s' can't be kept by any motor within the bounds: the nearest is %s",
                b->what, got);
    return sm_at(err, SM_E_PHYSICS, "%s", b->pointer);
}

static enum sm_status refuse_pair(struct sm_design *d, size_t i, size_t j, const double *x,
                                  struct sm_error *err)
{
    char got[SM_MEASURE_TEXT];
    sm_fail(err, SM_E_PHYSICS,
            "'%.80s' and '%.80s' conflict: with the first kept, the second comes to %s at best",
            d->bounds[i].what, d->bounds[j].what, put_got(d, &d->bounds[j], x, got));
    return sm_at(err, SM_E_PHYSICS, "%s", d->bounds[j].pointer);
}

/* No two conflict, but all together do. */
static enum sm_status refuse_together(struct sm_design *d, const struct sm_optim_result *nearest,
                                      struct sm_error *err)
{
    char text[160] = "";
    const char *pointer = "/limits";
    for (size_t i = 0; i < d->n_bounds; i++)
        if (!(nearest->limits[i] <= -1e-3)) { /* broken, or all but */
            const size_t n = strlen(text);
            sm_text_format(text + n, sizeof text - n, "%s'%s'", n ? ", " : "", d->bounds[i].what);
            pointer = d->bounds[i].pointer;
        }
    sm_fail(err, SM_E_PHYSICS, "any two of these limits can be kept, but not all of them: %s", text);
    return sm_at(err, SM_E_PHYSICS, "%s", pointer);
}

enum sm_status sm_design_conflict(struct sm_design *d, const struct sm_optim_result *nearest,
                                  struct sm_error *err)
{
    struct sm_optim_result r;
    for (size_t j = 0; j < d->n_bounds; j++) {
        if (was_kept(d, j, j))
            continue;
        SM_TRY(search(d, j, j, nearest->x, &r, err));
        if (!r.found || r.goal > kept)
            return refuse_alone(d, j, r.found ? r.x : nearest->x, err);
    }
    for (size_t j = 0; j < d->n_bounds; j++)
        for (size_t i = 0; i < d->n_bounds; i++) {
            /* Each pair once, the broken one second. */
            if (i == j || nearest->limits[j] <= kept || (i > j && !(nearest->limits[i] <= kept)) ||
                was_kept(d, i, j))
                continue;
            SM_TRY(search(d, i, j, nearest->x, &r, err));
            if (r.violation > 0.0 || r.goal > kept)
                return refuse_pair(d, i, j, r.x, err);
        }
    return refuse_together(d, nearest, err);
}
