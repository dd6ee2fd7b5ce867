/*
 * The highest soft landing by a direct transcription: throttle constant over each of many equal intervals, the best of all such
 * programs sought by NLopt's method of moving asymptotes (K. Svanberg, SIAM J. Optim. 12 (2002) 555, from memory), which knows
 * nothing of switches. It must not beat the switching flight to the same contact by more than 1e-4 of its apogee.
 *
 * It is asked for less than a landing, to be at the ground or below it, not sinking, so its best is no lower.
 */
#include "steady.h"
#include "vehicle/flight.h"

#include <criterion/criterion.h>
#include <math.h>
#include <nlopt.h>

enum { MOST = 800 };
static const double pi = 3.14159265358979323846, burn = 13.5, thrust = 26.0, release = 2.3, burned = 0.196,
                    g = 9.80665;

struct program {
    int n, top;         /* intervals, and how many up to the instant at which it is to be high */
    double drag, least; /* [kg/m], of the throttle [1] */
};

/* One interval, by the classical fourth-order method. */
static void fly(const struct program *p, int k, double u, double *h, double *v)
{
    const double dt = burn / p->n, t = k * dt, share[] = {0.0, 0.5, 0.5, 1.0};
    double a[4];
    for (int i = 0; i < 4; i++) {
        const double w = *v + (i > 0 ? share[i] * dt * a[i - 1] : 0.0);
        a[i] = ((p->least + u * (1.0 - p->least)) * thrust - p->drag * w * fabs(w)) /
                   (release - burned * (t + share[i] * dt) / burn) -
               g;
    }
    *h += dt * *v + dt * dt * (a[0] + a[1] + a[2]) / 6.0;
    *v += dt * (a[0] + 2.0 * a[1] + 2.0 * a[2] + a[3]) / 6.0;
}

/* Height and speed after so many intervals, and how they change with each throttle: slopes of one interval by central
 * differences, chained backwards. */
static void fly_all(const struct program *p, const double *u, int intervals, double *h, double *v, double *dh,
                    double *dv)
{
    static const double nudge = 1e-4;
    double height[MOST + 1] = {0.0}, speed[MOST + 1] = {0.0};
    for (int k = 0; k < intervals; k++) {
        height[k + 1] = height[k];
        speed[k + 1] = speed[k];
        fly(p, k, u[k], &height[k + 1], &speed[k + 1]);
    }
    *h = height[intervals];
    *v = speed[intervals];
    /* Sensitivities of the end's height and speed to the speed after interval k; to its height they are 1 and 0. */
    double h_by_v = 0.0, v_by_v = 1.0;
    for (int k = p->n; dh && k-- > 0;) {
        double up[2] = {height[k], speed[k]}, down[2] = {height[k], speed[k]};
        dh[k] = dv[k] = 0.0;
        if (k >= intervals)
            continue;
        fly(p, k, u[k] + nudge, &up[0], &up[1]);
        fly(p, k, u[k] - nudge, &down[0], &down[1]);
        const double a = (up[0] - down[0]) / (2.0 * nudge), b = (up[1] - down[1]) / (2.0 * nudge);
        dh[k] = a + h_by_v * b;
        dv[k] = v_by_v * b;
        double faster[2] = {height[k], speed[k] + nudge}, slower[2] = {height[k], speed[k] - nudge};
        fly(p, k, u[k], &faster[0], &faster[1]);
        fly(p, k, u[k], &slower[0], &slower[1]);
        const double c = (faster[0] - slower[0]) / (2.0 * nudge), d = (faster[1] - slower[1]) / (2.0 * nudge);
        h_by_v = c + h_by_v * d;
        v_by_v *= d;
    }
}

static double highest(unsigned n, const double *u, double *slope, void *user)
{
    const struct program *p = user;
    double h, v, other[MOST];
    cr_assert(n == (unsigned)p->n);
    fly_all(p, u, p->top, &h, &v, slope, slope ? other : NULL);
    return h;
}

/* Limits, kept where not above zero: height at the end, and the speed downwards then. */
static void landing(unsigned m, double *limits, unsigned n, const double *u, double *slope, void *user)
{
    const struct program *p = user;
    double v;
    fly_all(p, u, p->n, &limits[0], &v, slope, slope ? slope + n : NULL);
    limits[m - 1] = -v;
    for (unsigned k = 0; slope && k < n; k++)
        slope[n + k] = -slope[n + k];
}

static double best(int n, double top_time, double drag, double tilt)
{
    static const double exact[] = {1e-7, 1e-7};
    struct program p = {n, (int)lround(top_time / burn * n), drag, cos(tilt)};
    double u[MOST], reached = 0.0;
    for (int k = 0; k < n; k++)
        u[k] = 0.5;
    nlopt_opt opt = nlopt_create(NLOPT_LD_MMA, (unsigned)n);
    nlopt_set_lower_bounds1(opt, 0.0);
    nlopt_set_upper_bounds1(opt, 1.0);
    nlopt_set_max_objective(opt, highest, &p);
    nlopt_add_inequality_mconstraint(opt, 2, landing, &p, exact);
    nlopt_set_xtol_abs1(opt, 1e-6);
    nlopt_set_maxeval(opt, 3000);
    /* It can stop short where the start breaks a limit; begun again from there it goes on. */
    double limits[2] = {1.0, 1.0}, before = 0.0;
    for (int k = 0; k < 30 && (fmax(limits[0], limits[1]) > 1e-6 || fabs(reached - before) > 1e-7); k++) {
        before = reached;
        const nlopt_result result = nlopt_optimize(opt, u, &reached);
        cr_assert(result > 0 && result != NLOPT_MAXEVAL_REACHED, "%s", nlopt_result_to_string(result));
        landing(2, limits, (unsigned)n, u, NULL, &p);
    }
    cr_assert(fmax(limits[0], limits[1]) <= 1e-6, "%g m, %g m/s", limits[0], limits[1]);
    nlopt_destroy(opt);
    return reached;
}

static double switching(double drag, double tilt, double *when)
{
    struct steady v;
    struct sm_switches control;
    const struct sm_flight_state start = {0};
    struct sm_flight_state end;
    struct sm_flight_extremes passed;
    steady_set_up(&v, thrust, burned, tilt);
    const struct sm_flight_model model = {
        .profile = &v.profile, .drag = drag, .n = 1, .groups = {{.spread = v.spread, .high = tilt}}};
    cr_assert(sm_reach_highest(&v.profile, &start, burn, 0.0, 0.0, &control));
    cr_assert(sm_flight_land(&model, &start, burn, 0.0, &control));
    sm_flight_fly(&model, &start, &control, burn, &end, &passed);
    /* It is highest in the least leg, when its speed is nil. */
    double a = control.off, b = control.on;
    for (int k = 0; k < 50; k++) {
        *when = 0.5 * (a + b);
        sm_flight_fly(&model, &start, &control, *when, &end, &passed);
        if (end.v > 0.0)
            a = *when;
        else
            b = *when;
    }
    sm_arena_release(&v.arena);
    return passed.highest;
}

Test(transcription, does_not_beat_the_switching_flight)
{
    static const struct {
        double tilt, drag; /* [deg], [kg/m] */
    } cases[] = {{45.0, 0.0}, {60.0, 0.0}, {45.0, 0.02}};
    for (size_t i = 0; i < SM_COUNT(cases); i++) {
        double when;
        const double tilt = cases[i].tilt * pi / 180.0, apogee = switching(cases[i].drag, tilt, &when);
        const double coarse = best(400, when, cases[i].drag, tilt),
                     fine = best(800, when, cases[i].drag, tilt);
        cr_expect(fine < apogee * (1.0 + 1e-4), "%g deg, %g kg/m: %.6f m beats %.6f m", cases[i].tilt,
                  cases[i].drag, fine, apogee);
        cr_expect(fine > apogee * (1.0 - 1e-4), "%g deg, %g kg/m: %.6f m, far below %.6f m", cases[i].tilt,
                  cases[i].drag, fine, apogee);
        /* Halving the intervals quarters the error (a switch within one costs its square): a third of the difference is left. */
        const double error = fabs(fine - coarse) / 3.0;
        cr_expect(error < 1e-5 * apogee, "%g deg, %g kg/m: %.6f m and %.6f m", cases[i].tilt, cases[i].drag,
                  coarse, fine);
    }
}
