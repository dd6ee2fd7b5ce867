/*
 * Outlines of sets with drag and ramps: without either they are the closed forms of reach.h and tube.h; and no flight under
 * arbitrary throttle, integrated here by itself (the classical fourth-order method, any numerics text), is ever outside.
 */
#include "vehicle/outline.h"
#include "draw.h"
#include "steady.h"
#include "vehicle/tube.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdint.h>

static const double pi = 3.14159265358979323846, burn = 13.5, thrust = 26.0, release = 2.3, burned = 0.196,
                    g = 9.80665, limit = 1.0;

/* The cubic through the four points about it; out of reach SM_INF. */
static double between(const double *x, const double *y, size_t n, double at)
{
    double sum = 0.0;
    size_t first = 0;
    if (n < 4 || at < x[0] - 1e-6 || at > x[n - 1] + 1e-6)
        return SM_INF;
    while (first + 4 < n && x[first + 2] < at)
        first++;
    for (size_t i = first; i < first + 4; i++) {
        double weight = 1.0;
        for (size_t k = first; k < first + 4; k++)
            weight *= k == i ? 1.0 : (at - x[k]) / (x[i] - x[k]);
        sum += weight * y[i];
    }
    return sum;
}

Test(outline, without_drag_and_ramps_it_is_the_closed_form)
{
    struct steady v;
    struct sm_outline o;
    const struct sm_flight_state start = {0};
    steady_set_up(&v, thrust, burned, 0.25 * pi);
    const struct sm_flight_model model = {
        .profile = &v.profile, .n = 1, .groups = {{.spread = v.spread, .high = 0.25 * pi}}};
    const struct sm_tube tube = {&v.profile, limit, 1.0};
    for (double t = 0.7; t < burn; t += 3.1) {
        double low, high;
        sm_outline_reachable(&model, &start, t, &o);
        cr_assert(o.n > 10, "%zu points at %g s", o.n, t);
        for (size_t i = 0; i < o.n; i++) {
            cr_assert(sm_reach_heights(&v.profile, &start, t, o.at[i], &low, &high) ||
                      fabs(o.at[i]) < 100.0); /* rounding at the ends */
            cr_expect(fabs(o.high[i] - high) < 1e-6 && fabs(o.low[i] - fmax(low, 0.0)) < 1e-4,
                      "%g s, %g m/s: %g, %g", t, o.at[i], o.low[i] - low, o.high[i] - high);
        }
        cr_assert(sm_outline_hover(&model, &start, t, &low, &high));
        double l, h;
        cr_assert(sm_reach_heights(&v.profile, &start, t, 0.0, &l, &h));
        cr_expect(fabs(low - fmax(l, 0.0)) < 1e-6 && fabs(high - h) < 1e-6);
        sm_outline_tube(&model, limit, t, sm_tube_latest(&tube, t), &o);
        cr_assert(o.n > 10, "%zu points at %g s", o.n, t);
        for (size_t i = 0; i + 1 < o.n; i++) {
            cr_assert(sm_tube_speeds(&tube, t, o.at[i], &low, &high), "%g s, %g m", t, o.at[i]);
            cr_expect(fabs(o.low[i] - low) < 1e-4 && fabs(o.high[i] - high) < 1e-4, "%g s, %g m: %g, %g", t,
                      o.at[i], o.low[i] - low, o.high[i] - high);
        }
    }
    sm_arena_release(&v.arena);
}

/* One step of a flight under a throttle of u of the whole. */
static void fly(double *t, double *h, double *v, double dt, double u, double drag)
{
    double k[4], dv = 0.0;
    for (int i = 0; i < 4; i++) {
        const double share = i == 0   ? 0.0
                             : i == 3 ? 1.0
                                      : 0.5,
                     w = *v + (i > 0 ? share * dt * k[i - 1] : 0.0);
        k[i] = (u * thrust - drag * w * fabs(w)) / (release - burned * (*t + share * dt) / burn) - g;
    }
    dv = dt * (k[0] + 2.0 * k[1] + 2.0 * k[2] + k[3]) / 6.0;
    *h += dt * *v + dt * dt * (k[0] + k[1] + k[2]) / 6.0;
    *v += dv;
    *t += dt;
}

enum { PIECES = 8, TIMES = 8 };
/* Of cubics between the points of an outline, the ground's corner left out [m] or [m/s]. */
static const double slack = 5e-3, corner = 0.3;

/* Half of them are at either end of the throttle, as edges are. */
static double any_throttle(uint64_t *seed)
{
    const double x = 2.0 * draw_uniform(seed, 0.0, 1.0) - 0.5, least = cos(0.25 * pi);
    return least + (1.0 - least) * fmin(fmax(x, 0.0), 1.0);
}

static void check_reach(const struct sm_flight_model *m, double drag, int flights)
{
    struct sm_outline o[TIMES];
    const struct sm_flight_state start = {0};
    uint64_t seed = 4;
    for (int i = 0; i < TIMES; i++)
        sm_outline_reachable(m, &start, burn * (i + 1) / TIMES, &o[i]);
    for (int f = 0; f < flights; f++) {
        double t = 0.0, h = 0.0, v = 0.0, u = 1.0, change = 0.0;
        for (int i = 0; i < TIMES; i++) {
            const double until = burn * (i + 1) / TIMES;
            while (t < until - 1e-9) {
                if (t >= change - 1e-9) {
                    u = any_throttle(&seed);
                    change = t + burn / PIECES * 2.0 * draw_uniform(&seed, 0.0, 1.0);
                }
                fly(&t, &h, &v, fmin(fmin(0.1, until - t), fmax(change - t, 1e-6)), u, drag);
            }
            if (h < 0.0)
                break; /* the ground cuts it off */
            const double low = between(o[i].at, o[i].low, o[i].n, v),
                         high = between(o[i].at, o[i].high, o[i].n, v);
            cr_assert(low < SM_INF, "flight %d: %g m/s at %g s", f, v, t);
            cr_assert((h > low - slack || low < corner) && h < high + slack,
                      "flight %d: %g m at %g m/s and %g s, not %g to %g", f, h, v, t, low, high);
        }
    }
}

static void check_tube(const struct sm_flight_model *m, const struct sm_profile *p, double drag, int flights)
{
    struct sm_outline o[TIMES];
    const struct sm_tube tube = {p, limit, 1.0};
    uint64_t seed = 5;
    int n = 0;
    for (int i = 0; i < TIMES; i++)
        sm_outline_tube(m, limit, burn * i / TIMES, sm_tube_latest(&tube, burn * i / TIMES), &o[i]);
    for (int f = 0; f < flights; f++) {
        double t = burn * (0.3 + 0.7 * draw_uniform(&seed, 0.0, 1.0)), h = 0.0,
               v = -limit * draw_uniform(&seed, 0.0, 1.0), u = 1.0, change = t;
        for (int i = TIMES; i-- > 0 && h >= 0.0;) {
            const double until = burn * i / TIMES;
            while (t > until + 1e-9 && h >= 0.0) {
                if (t <= change + 1e-9) {
                    u = any_throttle(&seed);
                    change = t - burn / PIECES * 2.0 * draw_uniform(&seed, 0.0, 1.0);
                }
                fly(&t, &h, &v, -fmin(fmin(0.1, t - until), fmax(t - change, 1e-6)), u, drag);
            }
            if (h < 0.0 || t > until + 1e-6)
                continue;
            double energy[SM_OUTLINE_POINTS]; /* of a fall, which hardly bends with height [m2/s2] */
            for (size_t k = 0; k < o[i].n; k++)
                energy[k] = o[i].low[k] * fabs(o[i].low[k]);
            const double low = between(o[i].at, energy, o[i].n, h),
                         high = between(o[i].at, o[i].high, o[i].n, h);
            cr_assert(low < SM_INF, "flight %d: %g m at %g s", f, h, t);
            cr_assert(v * fabs(v) > low - slack * (1.0 + fabs(v)) && v < high + slack,
                      "flight %d: %g m/s at %g m and %g s, not %g (its square) to %g", f, v, h, t, low, high);
            n++;
        }
    }
    cr_expect(n > flights, "only %d states", n);
}

Test(outline, holds_every_flight_under_any_throttle)
{
    const int flights = 10000;
    static const double drags[] = {0.0, 0.005};
    struct steady v;
    steady_set_up(&v, thrust, burned, 0.25 * pi);
    for (int i = 0; i < 2; i++) {
        const struct sm_flight_model model = {.profile = &v.profile,
                                              .drag = drags[i],
                                              .n = 1,
                                              .groups = {{.spread = v.spread, .high = 0.25 * pi}}};
        check_reach(&model, drags[i], flights);
        check_tube(&model, &v.profile, drags[i], flights);
    }
    sm_arena_release(&v.arena);
}
