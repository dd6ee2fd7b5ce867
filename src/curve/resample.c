#include "curve/resample.h"

#include <math.h>

/* ---- ranking ---- */

/* A stretch between two knots, and the sample in it that its lines miss most. */
struct stretch {
    size_t from, to, worst; /* worst = from: none in between */
    double deviation;       /* there, in the columns' scales [1] */
};

struct ranking {
    const double *time; /* [s] */
    const struct sm_resample_column *columns;
    size_t n_columns;
    struct stretch *heap; /* largest deviation first */
    size_t n_heap;
};

static struct stretch measure(const struct ranking *r, size_t from, size_t to)
{
    struct stretch s = {from, to, from, -1.0};
    const double width = r->time[to] - r->time[from];
    for (size_t c = 0; c < r->n_columns; c++) {
        const double *y = r->columns[c].y;
        const double slope = (y[to] - y[from]) / width, factor = 1.0 / r->columns[c].scale;
        for (size_t i = from + 1; i < to; i++) {
            const double off = factor * fabs(y[i] - (y[from] + slope * (r->time[i] - r->time[from])));
            if (off > s.deviation) {
                s.deviation = off;
                s.worst = i;
            }
        }
    }
    return s;
}

/* Of equal deviations the earlier stretch goes first, so that the ranking is the same everywhere. */
static int goes_before(const struct stretch *a, const struct stretch *b)
{
    return a->deviation > b->deviation || (a->deviation == b->deviation && a->from < b->from);
}

static void push(struct ranking *r, struct stretch s)
{
    size_t i = r->n_heap++;
    for (; i > 0 && goes_before(&s, &r->heap[(i - 1) / 2]); i = (i - 1) / 2)
        r->heap[i] = r->heap[(i - 1) / 2];
    r->heap[i] = s;
}

static struct stretch pop(struct ranking *r)
{
    const struct stretch top = r->heap[0], last = r->heap[--r->n_heap];
    size_t i = 0;
    for (size_t child = 1; child < r->n_heap; child = 2 * i + 1) {
        if (child + 1 < r->n_heap && goes_before(&r->heap[child + 1], &r->heap[child]))
            child++;
        if (!goes_before(&r->heap[child], &last))
            break;
        r->heap[i] = r->heap[child];
        i = child;
    }
    r->heap[i] = last;
    return top;
}

static void push_if_wide(struct ranking *r, size_t from, size_t to)
{
    if (to > from + 1)
        push(r, measure(r, from, to));
}

enum sm_status sm_resample_rank(const double *time, size_t n, const struct sm_resample_column *columns,
                                size_t n_columns, const size_t *forced, size_t n_forced,
                                struct sm_arena *arena, size_t *order, size_t *n_kept, struct sm_error *err)
{
    struct ranking r = {.time = time, .columns = columns, .n_columns = n_columns};
    char *is_kept = sm_arena_alloc(arena, n, 1);
    r.heap = sm_arena_alloc(arena, n, sizeof *r.heap);
    if (!is_kept || !r.heap)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    is_kept[0] = is_kept[n - 1] = 1;
    for (size_t i = 0; i < n_forced; i++)
        is_kept[forced[i]] = 1;
    size_t m = 0;
    for (size_t i = 0; i < n; i++)
        if (is_kept[i]) {
            if (m > 0)
                push_if_wide(&r, order[m - 1], i);
            order[m++] = i;
        }
    *n_kept = m;
    while (r.n_heap > 0) {
        const struct stretch s = pop(&r);
        order[m++] = s.worst;
        push_if_wide(&r, s.from, s.worst);
        push_if_wide(&r, s.worst, s.to);
    }
    return SM_OK;
}

/* ---- totals ---- */

/* Half the width of the lines that meet at i: the weight of y[i] in the integral [s]. */
static double weight(const double *time, size_t n, size_t i)
{
    const double before = i > 0 ? time[i] - time[i - 1] : 0.0;
    const double after = i + 1 < n ? time[i + 1] - time[i] : 0.0;
    return 0.5 * (before + after);
}

int sm_resample_conserve(const double *time, double *y, size_t n, double integral, double cap)
{
    for (size_t round = 0; round <= n; round++) {
        double at_cap = 0.0, free = 0.0;
        for (size_t i = 0; i < n; i++)
            *(y[i] >= cap ? &at_cap : &free) += weight(time, n, i) * y[i];
        const double wanted = integral - at_cap;
        if (!(free > 0.0)) /* nothing to move: right only if all of it is at the cap, or nothing is wanted */
            return fabs(wanted) <= 1e-12 * integral;
        const double factor = wanted / free;
        if (!(factor >= 0.0))
            return 0;
        int n_over = 0;
        for (size_t i = 0; i < n; i++) {
            if (y[i] >= cap)
                continue;
            y[i] *= factor;
            n_over += y[i] > cap;
            y[i] = fmin(y[i], cap);
        }
        if (n_over == 0)
            return 1;
    }
    return 0;
}

double sm_resample_deviation(const double *time, const double *y, size_t n, const double *knot_time,
                             const double *knots, size_t m, double *at)
{
    double worst = -1.0;
    size_t k = 0; /* the last knot not after the sample, or 0 */
    for (size_t i = 0; i < n; i++) {
        while (k + 1 < m && knot_time[k + 1] <= time[i])
            k++;
        double line = knots[k];
        if (k + 1 < m && time[i] > knot_time[k])
            line += (knots[k + 1] - knots[k]) * (time[i] - knot_time[k]) / (knot_time[k + 1] - knot_time[k]);
        const double off = fabs(y[i] - line);
        if (off > worst) {
            worst = off;
            *at = time[i];
        }
    }
    return worst;
}
