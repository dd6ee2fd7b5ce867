#include "vehicle/thrust.h"

#include "curve/curve.h"

#include <math.h>
#include <stdlib.h>

/* Motors that start together: a group, or the one of it that is late. */
struct share {
    size_t group;
    const struct sm_series *series;
    double count;     /* [1] */
    double start;     /* of the curve [s] */
    double stretch;   /* of the curve's time; its thrust shrinks by as much [1] */
    double low, high; /* cosines of least and most splay [1] */
};

enum { MAX_SHARES = 16 };

static size_t list_shares(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                          const struct sm_vehicle_change *change, struct share *shares)
{
    const struct sm_motor_group *groups = vehicle->spec.motors.items;
    size_t n = 0;
    for (size_t i = 0; i < vehicle->spec.motors.n; i++) {
        double low, high;
        sm_group_splay(&groups[i], vehicle->spec.landing.least_splay, &low, &high);
        if (!sm_group_has_throttle(&groups[i]))
            low = high = groups[i].cant;
        else if (change->splay_limit > 0.0)
            high = fmax(change->splay_limit, low);
        const struct share all = {.group = i,
                                  .series = &runs[i]->series,
                                  .count = groups[i].count,
                                  .start = groups[i].ignite_at + groups[i].ignition_delay +
                                           change->delays * groups[i].ignition_delay_tolerance,
                                  .stretch = 1.0 + change->burn_time,
                                  .low = cos(low),
                                  .high = cos(high)};
        shares[n++] = all;
        if (i != change->late_group || !(change->late > 0.0))
            continue;
        shares[n] = all;
        shares[n].count = 1.0;
        shares[n++].start += change->late;
        shares[n - 2].count -= 1.0;
    }
    return n;
}

static int in_order(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

/* A curve that begins or ends above zero jumps there: over so short a time that no figure shows it [s]. */
static const double jump = 1e-9;

/* Thrust of one motor at t, both its first and last instant included, as far as times that are added up tell, and nothing outside
 * [N]. */
static double thrust_of(const struct share *s, double t)
{
    const double own = (t - s->start) / s->stretch, *time = s->series->time, rounding = 0.1 * jump;
    const size_t n = s->series->n;
    return own < time[0] - rounding || own > time[n - 1] + rounding
               ? 0.0
               : sm_curve_at(time, s->series->thrust, n, own) / s->stretch;
}

static void fill_row(const struct share *shares, size_t n, const struct sm_vehicle_change *change, double t,
                     struct sm_profile *p, size_t row)
{
    for (size_t i = 0; i < n; i++) {
        const struct share *s = &shares[i];
        const double thrust = s->count * thrust_of(s, t) * (1.0 + change->thrust);
        const double reserve = change->reserve * (s->low - s->high);
        p->thrust[row] += thrust;
        p->full[row] += thrust * (s->low - reserve);
        p->least[row] += thrust * (s->high + reserve);
        p->mass[row] += s->count * sm_curve_at(s->series->time, s->series->propellant_mass, s->series->n,
                                               fmax((t - s->start) / s->stretch, s->series->time[0]));
    }
}

/* Times of all knots of all shares, ascending, each once, from zero; and one knot outside either end of each. */
static size_t merge_times(const struct share *shares, size_t n, double *t)
{
    size_t m = 0, kept = 1;
    t[m++] = 0.0;
    for (size_t i = 0; i < n; i++) {
        const struct sm_series *s = shares[i].series;
        const double start = shares[i].start, stretch = shares[i].stretch;
        t[m++] = fmax(start + stretch * s->time[0] - jump, 0.0);
        for (size_t k = 0; k < s->n; k++)
            t[m++] = fmax(start + stretch * s->time[k], 0.0);
        t[m++] = fmax(start + stretch * s->time[s->n - 1] + jump, 0.0);
    }
    qsort(t, m, sizeof *t, in_order);
    for (size_t k = 1; k < m; k++)
        if (t[k] > t[kept - 1])
            t[kept++] = t[k];
    return kept;
}

enum sm_status sm_thrust_profile(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                                 const struct sm_vehicle_change *change, struct sm_arena *arena,
                                 struct sm_profile *profile, struct sm_error *err)
{
    struct share shares[MAX_SHARES];
    const size_t n = list_shares(vehicle, runs, change, shares);
    size_t most = 1;
    for (size_t i = 0; i < n; i++)
        most += shares[i].series->n + 2;
    struct sm_profile p = {.gravity = vehicle->spec.site.gravity};
    double **columns[] = {&p.t, &p.thrust, &p.full, &p.least, &p.mass};
    for (size_t i = 0; i < SM_COUNT(columns); i++) {
        *columns[i] = sm_arena_alloc(arena, most, sizeof(double));
        if (!*columns[i])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    p.n = merge_times(shares, n, p.t);
    for (size_t row = 0; row < p.n; row++) {
        p.mass[row] = vehicle->spec.body.dry_mass + change->mass;
        fill_row(shares, n, change, p.t[row], &p, row);
    }
    *profile = p;
    return sm_profile_integrate(profile, arena, err);
}

enum sm_status sm_thrust_spread(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                                const struct sm_vehicle_change *change, const struct sm_profile *profile,
                                size_t i, struct sm_arena *arena, double **spread, struct sm_error *err)
{
    struct share shares[MAX_SHARES];
    const size_t n = list_shares(vehicle, runs, change, shares);
    double *out = sm_arena_alloc(arena, profile->n, sizeof *out);
    if (!out)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t k = 0; k < n; k++) {
        const struct share *s = &shares[k];
        const double range =
            s->count * (1.0 + change->thrust) * (s->low - s->high) * (1.0 - 2.0 * change->reserve);
        for (size_t row = 0; row < profile->n && s->group == i; row++)
            out[row] += range * thrust_of(s, profile->t[row]);
    }
    *spread = out;
    return SM_OK;
}
