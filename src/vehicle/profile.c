#include "vehicle/profile.h"

#include <float.h>
#include <math.h>

/* Gauss-Legendre nodes and weights on [0, 1], four points: exact to degree 7, so that thrust over mass, each a straight
 * line between knots, is integrated to rounding over steps that burn a few percent of the mass. Abramowitz and Stegun,
 * Handbook of Mathematical Functions, table 25.4. */
enum { POINTS = 4 };
static const double node[POINTS] = {0.0694318442029737, 0.3300094782075719, 0.6699905217924281,
                                    0.9305681557970263};
static const double weight[POINTS] = {0.1739274225687269, 0.3260725774312731, 0.3260725774312731,
                                      0.1739274225687269};

static double line(double a, double b, double share)
{
    return a + (b - a) * share;
}

/* Adds the integrals over the part [0, share] of interval i. */
static void add_interval(const struct sm_profile *p, size_t i, double share, struct sm_profile_sums *sums)
{
    const double whole = p->t[i + 1] - p->t[i], width = share * whole;
    for (int k = 0; k < POINTS && width > 0.0; k++) {
        const double x = share * node[k], w = weight[k] * width;
        const double t = p->t[i] + x * whole, thrust = line(p->full[i], p->full[i + 1], x);
        const double per_mass = 1.0 / line(p->mass[i], p->mass[i + 1], x);
        const double full = thrust * per_mass;
        const double spread = (thrust - line(p->least[i], p->least[i + 1], x)) * per_mass;
        sums->speed += w * full;
        sums->moment += w * t * full;
        sums->spread += w * spread;
        sums->spread_moment += w * t * spread;
    }
}

static void keep(struct sm_profile *p, size_t i, const struct sm_profile_sums *sums)
{
    p->speed[i] = sums->speed;
    p->moment[i] = sums->moment;
    p->spread[i] = sums->spread;
    p->spread_moment[i] = sums->spread_moment;
}

static enum sm_status fill_cells(struct sm_profile *p, struct sm_arena *arena, struct sm_error *err)
{
    const double span = p->t[p->n - 1] - p->t[0];
    unsigned knot = 0;
    p->cells = sm_arena_alloc(arena, p->n, sizeof *p->cells);
    if (!p->cells)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    p->cells_per_time = span > 0.0 ? (double)p->n / span : 0.0;
    for (size_t i = 0; i < p->n; i++) {
        const double start = p->t[0] + span * (double)i / (double)p->n;
        while (knot + 2 < p->n && p->t[knot + 1] <= start)
            knot++;
        p->cells[i] = knot;
    }
    return SM_OK;
}

static int is_over(const struct sm_profile *p, const double *thrust, size_t i)
{
    return thrust[i] > p->mass[i] * p->gravity;
}

enum sm_status sm_profile_integrate(struct sm_profile *p, struct sm_arena *arena, struct sm_error *err)
{
    double **columns[] = {&p->speed, &p->moment, &p->spread, &p->spread_moment};
    struct sm_profile_sums sums = {0};
    for (size_t i = 0; i < SM_COUNT(columns); i++) {
        *columns[i] = sm_arena_alloc(arena, p->n, sizeof(double));
        if (!*columns[i])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    p->full_turns = sm_arena_alloc(arena, p->n, sizeof *p->full_turns);
    p->least_turns = sm_arena_alloc(arena, p->n, sizeof *p->least_turns);
    if (!p->full_turns || !p->least_turns)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i + 1 < p->n; i++) {
        add_interval(p, i, 1.0, &sums);
        keep(p, i + 1, &sums);
        p->full_turns[i + 1] =
            p->full_turns[i] + (is_over(p, p->full, i) != is_over(p, p->full, i + 1) ? 1U : 0U);
        p->least_turns[i + 1] =
            p->least_turns[i] + (is_over(p, p->least, i) != is_over(p, p->least, i + 1) ? 1U : 0U);
    }
    return fill_cells(p, arena, err);
}

int sm_profile_is_one_sided(const struct sm_profile *p, int is_full, double a, double b)
{
    const unsigned *turns = is_full ? p->full_turns : p->least_turns;
    return turns[sm_profile_find(p, a)] == turns[sm_profile_find(p, b) + 1];
}

size_t sm_profile_find(const struct sm_profile *p, double t)
{
    const double cell = (t - p->t[0]) * p->cells_per_time;
    if (!(cell > 0.0))
        return 0;
    const size_t last = p->n - 1, i = cell < (double)last ? (size_t)cell : last;
    size_t low = p->cells[i], high = i < last ? p->cells[i + 1] + 1 : last;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (p->t[middle] <= t)
            low = middle;
        else
            high = middle;
    }
    /* By rounding t may lie in the cell beside. */
    while (low > 0 && p->t[low] > t)
        low--;
    while (low + 2 < p->n && p->t[low + 1] <= t)
        low++;
    return low;
}

static double share_of(const struct sm_profile *p, size_t i, double t)
{
    const double width = p->t[i + 1] - p->t[i];
    return width > 0.0 ? fmin(fmax((t - p->t[i]) / width, 0.0), 1.0) : 1.0;
}

void sm_profile_eval(const struct sm_profile *p, double t, struct sm_profile_at *out)
{
    const size_t i = sm_profile_find(p, t);
    const double x = share_of(p, i, t);
    *out = (struct sm_profile_at){
        .thrust = line(p->thrust[i], p->thrust[i + 1], x),
        .full = line(p->full[i], p->full[i + 1], x),
        .least = line(p->least[i], p->least[i + 1], x),
        .mass = line(p->mass[i], p->mass[i + 1], x),
    };
}

void sm_profile_sums(const struct sm_profile *p, double t, struct sm_profile_sums *out)
{
    const size_t i = sm_profile_find(p, t);
    *out = (struct sm_profile_sums){p->speed[i], p->moment[i], p->spread[i], p->spread_moment[i]};
    add_interval(p, i, share_of(p, i, t), out);
}

/* Newton's method between a and b, halving where it would leave them; the integral never falls. */
static double within_interval(const struct sm_profile *p, size_t i, double spread, double a, double b)
{
    const double whole = p->t[i + 1] - p->t[i];
    double t = whole > 0.0 && p->spread[i + 1] > p->spread[i]
                   ? p->t[i] + whole * spread / (p->spread[i + 1] - p->spread[i])
                   : 0.5 * (a + b);
    for (int k = 0; k < 60 && b - a > DBL_EPSILON * fabs(b); k++) {
        struct sm_profile_sums sums = {0};
        t = t > a && t < b ? t : 0.5 * (a + b);
        const double x = share_of(p, i, t);
        add_interval(p, i, x, &sums);
        const double over = sums.spread - spread;
        if (over <= 0.0)
            a = t;
        else
            b = t;
        const double rate = (line(p->full[i], p->full[i + 1], x) - line(p->least[i], p->least[i + 1], x)) /
                            line(p->mass[i], p->mass[i + 1], x);
        const double next = rate > 0.0 ? t - over / rate : 0.5 * (a + b);
        if (fabs(next - t) <= 2.0 * DBL_EPSILON * fabs(t))
            return fmin(fmax(next, a), b);
        t = next;
    }
    return 0.5 * (a + b);
}

double sm_profile_when_spread(const struct sm_profile *p, double spread, double from, double to)
{
    /* Knots first, then bisection within one interval. */
    size_t low = sm_profile_find(p, from), high = sm_profile_find(p, to) + 1;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (p->spread[middle] <= spread)
            low = middle;
        else
            high = middle;
    }
    return within_interval(p, low, spread - p->spread[low], fmax(from, p->t[low]), fmin(to, p->t[low + 1]));
}

double sm_profile_burnout(const struct sm_profile *p)
{
    size_t i = p->n - 1;
    while (i > 0 && !(p->thrust[i] > 0.0) && !(p->thrust[i - 1] > 0.0))
        i--;
    return p->t[i];
}
