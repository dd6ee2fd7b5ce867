/*
 * How fast landing windows are: of one vehicle, and of many drawn from its tolerances, with the error of the highest flight against
 * twice the contact times beside; and a lift study beside GSL's integrator flying the same highest flight.
 *
 *     bench_lift SOURCE_FOLDER [SAMPLES]
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include "slowmatch/slowmatch.h"
#include "vehicle/lift.h"

enum { KNOTS = 28, ROUNDS = 400 };
static const double burn = 13.5, thrust = 26.0, release = 2.3, burned = 0.196, g = 9.80665,
                    least = 0.70710678118654752;

/* Of all processors, for others may be using them too [s]. */
static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* By the clock [s]. */
static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* ---- one flight beside another integrator ---- */

struct fall {
    double drag;  /* [kg/m] */
    double share; /* of full thrust [1] */
};

static int slope(double t, const double y[], double dy[], void *user)
{
    const struct fall *f = user;
    dy[0] = y[1];
    dy[1] = (thrust * f->share - f->drag * y[1] * fabs(y[1])) / (release - burned * t / burn) - g;
    return GSL_SUCCESS;
}

static double fly_by_gsl(const struct sm_switches *control, double drag, double tolerance)
{
    struct fall f = {.drag = drag, .share = 1.0};
    const double until[] = {control->off, control->on, burn}, share[] = {1.0, least, 1.0};
    double t = 0.0, y[2] = {0.0, 0.0};
    gsl_odeiv2_system system = {slope, NULL, 2, &f};
    gsl_odeiv2_driver *driver =
        gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-2, tolerance, tolerance);
    for (int i = 0; i < 3; i++) {
        f.share = share[i];
        gsl_odeiv2_driver_reset(driver);
        if (gsl_odeiv2_driver_apply(driver, &t, until[i], y) != GSL_SUCCESS)
            exit(1);
    }
    gsl_odeiv2_driver_free(driver);
    return y[0];
}

static void beside_gsl(void)
{
    double t[KNOTS], full[KNOTS], low[KNOTS], spread[KNOTS], mass[KNOTS];
    for (int i = 0; i < KNOTS; i++) {
        t[i] = burn * i / (KNOTS - 1);
        full[i] = thrust;
        low[i] = thrust * least;
        spread[i] = thrust - low[i];
        mass[i] = release - burned * i / (KNOTS - 1);
    }
    struct sm_arena arena;
    struct sm_profile p = {
        .n = KNOTS, .t = t, .thrust = full, .full = full, .least = low, .mass = mass, .gravity = g};
    sm_arena_init(&arena, NULL);
    if (sm_profile_integrate(&p, &arena, NULL) != SM_OK)
        exit(1);
    const struct sm_flight_model model = {
        .profile = &p, .drag = 0.003, .n = 1, .groups = {{.spread = spread, .high = acos(least)}}};
    const struct sm_switches control = {4.3, 9.1};
    const struct sm_flight_state start = {0};
    struct sm_flight_state end = {0};
    struct sm_flight_extremes passed;
    const double exact = fly_by_gsl(&control, model.drag, 1e-13);
    double begin = now(), theirs = 0.0;
    for (int i = 0; i < ROUNDS; i++)
        theirs = fly_by_gsl(&control, model.drag, 1e-10);
    const double gsl = (now() - begin) / ROUNDS;
    begin = now();
    for (int i = 0; i < ROUNDS; i++)
        sm_flight_fly(&model, &start, &control, burn, &end, &passed);
    const double ours = (now() - begin) / ROUNDS;
    printf("a flight with drag: %.1f us, off by %.0e m; GSL rk8pd at 1e-10 %.1f us (x%.2f), off by %.0e m\n",
           1e6 * ours, fabs(end.h - exact), 1e6 * gsl, gsl / ours, fabs(theirs - exact));
    double first, last, highest;
    begin = now();
    for (int i = 0; i < ROUNDS / 10; i++)
        (void)sm_lift_window_ends(&p, &start, 0.0, 64, &first, &last, &highest);
    printf("a landing window of 64 contacts: %.2f ms; highest %.3f m, in closed form 18.775 m\n",
           1e4 * (now() - begin) / ROUNDS, highest);
    sm_arena_release(&arena);
}

/* ---- windows ---- */

static double time_study(const struct sm_vehicle *vehicle, size_t samples, int threads, struct sm_lift **lift)
{
    const struct sm_lift_options options = {.samples = samples, .seed = 1, .threads = threads};
    struct sm_error err = {0};
    const double begin = now();
    if (sm_lift_study(vehicle, &options, NULL, lift, &err) != SM_OK) {
        fprintf(stderr, "%s\n", err.message);
        exit(1);
    }
    return now() - begin;
}

int main(int argc, char **argv)
{
    static const char *const files[] = {"sandpiper", "curlew"};
    const size_t n = argc > 2 ? strtoul(argv[2], NULL, 10) : 10000;
    if (argc < 2) {
        fputs("usage: bench_lift SOURCE_FOLDER [SAMPLES]\n", stderr);
        return 2;
    }
    beside_gsl();
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        char path[1024], propellants[1024];
        struct sm_vehicle *vehicle = NULL;
        struct sm_lift *lift = NULL, *sampled = NULL;
        struct sm_diag diag = {0};
        snprintf(path, sizeof path, "%s/examples/vehicles/%s.json", argv[1], files[i]);
        snprintf(propellants, sizeof propellants, "%s/propellants", argv[1]);
        const struct sm_load_options options = {.propellant_folder = propellants};
        if (sm_vehicle_load(path, &options, NULL, &vehicle, &diag) != SM_OK) {
            fprintf(stderr, "%s: %s\n", path, diag.n ? diag.items[0].message : "?");
            return 1;
        }
        const double alone = time_study(vehicle, 0, 1, &lift), one = time_study(vehicle, n, 1, &sampled);
        sm_lift_free(sampled);
        const double wall = seconds(), two = time_study(vehicle, n, 2, &sampled);
        /* A sample's two windows are scanned at fewer contact times than the vehicle's own. */
        printf("%-10s whole study %.0f ms; two windows of a drawn vehicle %.2f ms; %zu drawn %.1f s of a "
               "processor, on two threads "
               "%.1f s in all, by the clock %.1f s; middle of the highest flights %.2f m, as told %.2f m\n",
               files[i], 1e3 * alone, 1e3 * (one - alone) / (double)n, n, one, two, seconds() - wall,
               sampled->sampled.highest[0][1], lift->windows[SM_LIFT_BARE].highest);
        sm_lift_free(sampled);
        sm_lift_free(lift);
        sm_vehicle_free(vehicle);
        sm_diag_release(&diag);
    }
    return 0;
}
