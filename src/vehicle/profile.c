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
        const double t = p->t[i] + x * whole, mass = line(p->mass[i], p->mass[i + 1], x);
        const double full = line(p->full[i], p->full[i + 1], x) / mass;
        const double spread = full - line(p->least[i], p->least[i + 1], x) / mass;
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

enum sm_status sm_profile_integrate(struct sm_profile *p, struct sm_arena *arena, struct sm_error *err)
{
    double **columns[] = {&p->speed, &p->moment, &p->spread, &p->spread_moment};
    struct sm_profile_sums sums = {0};
    for (size_t i = 0; i < SM_COUNT(columns); i++) {
        *columns[i] = sm_arena_alloc(arena, p->n, sizeof(double));
        if (!*columns[i])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    for (size_t i = 0; i + 1 < p->n; i++) {
        add_interval(p, i, 1.0, &sums);
        keep(p, i + 1, &sums);
    }
    return SM_OK;
}

size_t sm_profile_find(const struct sm_profile *p, double t)
{
    size_t low = 0, high = p->n - 1;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (p->t[middle] <= t)
            low = middle;
        else
            high = middle;
    }
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
