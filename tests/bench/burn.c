/*
 * How fast a burn is: the library's call against GSL's Runge-Kutta-Fehlberg on the same equations, and the whole process
 * against /bin/true, all in one run, with the error beside every time. Machines differ; ratios are what counts.
 *
 * Measured once, both versions in one run on one machine: before flow along the port, wear, heat and ignition the lumped burns
 * of the end burner and of the tubes took 257 and 328 us, with them 161 and 190 us, 0.63 and 0.58 times as long.
 *
 *     bench_burn PROGRAM SOURCE_FOLDER
 */
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "bench/stopwatch.h"
#include "example_motor.h"
#include "motor/motor.h"

enum { RUNS = 400, PROCESSES = 60 };

/* Median time of a library call [s]; *impulse is what it gave [N s]. */
static double time_burn(const struct sm_motor *motor, double accuracy, bool warnings, double *impulse)
{
    static double times[RUNS];
    const struct sm_run_options options = {.accuracy = accuracy, .without_warnings = !warnings};
    for (int i = 0; i < RUNS; i++) {
        struct sm_result *result;
        const double start = stopwatch_now();
        if (sm_simulate(motor, &options, NULL, &result, NULL) != SM_OK)
            return (double)NAN;
        times[i] = stopwatch_now() - start;
        *impulse = result->thrust.total_impulse;
        sm_result_free(result);
    }
    return stopwatch_median(times, RUNS);
}

/* The same chamber for GSL: pressure, distance burned, impulse. Grain, law and nozzle are the library's own functions, so that
 * only the march differs. */
struct plain {
    const struct sm_motor *motor;
    struct sm_burn_law law;
    struct sm_jet jet;
};

static int slope(double t, const double y[], double dy[], void *user)
{
    const struct plain *c = user;
    const struct sm_motor *m = c->motor;
    double area = 0.0, left = 0.0;
    const size_t piece = sm_geometry_find(&m->stack, y[1]);
    if (piece < m->stack.n_pieces)
        sm_piece_area(&m->stack.pieces[piece], y[1], &area, &left);
    const double spread = m->spec.ignition.spread_time, lit = spread > 0.0 ? fmin(1.0, t / spread) : 1.0;
    const double p = fmax(y[0], 1.0), rt = m->gas.rt;
    const double rate =
        area > 0.0 ? sm_burn_law_rate(&c->law, sm_burn_law_segment(&c->law, p), p, NULL) : 0.0;
    const double volume = m->case_volume - left;
    dy[0] = rt / volume *
            (lit * (m->spec.propellant.density - p / rt) * area * rate - sm_jet_mass_flow(&c->jet, p, NULL));
    dy[1] = lit * rate;
    dy[2] = sm_jet_thrust(&c->jet, p, NULL, NULL);
    return GSL_SUCCESS;
}

static int init_plain(struct plain *c, const struct sm_motor *motor)
{
    const struct sm_nozzle *nozzle = &motor->spec.nozzle;
    const double throat = 0.25 * 3.14159265358979323846 * nozzle->throat_diameter * nozzle->throat_diameter;
    c->motor = motor;
    sm_burn_law_init(&c->law, &motor->spec.propellant, motor->spec.conditions.grain_temperature);
    return sm_jet_init(&c->jet, nozzle, throat, motor->gas.gamma, motor->gas.cstar, motor->gas.rt,
                       motor->ambient, NULL) == SM_OK;
}

/* Median time of GSL's Runge-Kutta-Fehlberg pair, totals alone, no events, no series [s]. */
static double time_gsl(struct plain *c, double end, double tolerance, double *impulse)
{
    enum { TIMES = 40 };
    double times[TIMES];
    for (int i = 0; i < TIMES; i++) {
        const double start = stopwatch_now();
        const gsl_odeiv2_system system = {slope, NULL, 3, c};
        gsl_odeiv2_driver *d =
            gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rkf45, 1e-5, 0.0, tolerance);
        double t = 0.0, y[3] = {c->motor->spec.ignition.pressure, 1e-12, 1e-12};
        const int status = gsl_odeiv2_driver_apply(d, &t, end, y);
        gsl_odeiv2_driver_free(d);
        times[i] = stopwatch_now() - start;
        *impulse = status == GSL_SUCCESS ? y[2] : (double)NAN;
    }
    return stopwatch_median(times, TIMES);
}

/* Median wall time of a process whose output is thrown away [s]. */
static double time_process(char *const argv[])
{
    double times[PROCESSES];
    for (int i = 0; i < PROCESSES; i++) {
        const double start = stopwatch_now();
        fflush(stdout); /* or each child would write what is buffered */
        const pid_t pid = fork();
        if (pid == 0) {
            if (!freopen("/dev/null", "w", stdout) || !freopen("/dev/null", "w", stderr))
                _exit(126);
            execv(argv[0], argv);
            _exit(127);
        }
        int status;
        waitpid(pid, &status, 0);
        times[i] = stopwatch_now() - start;
    }
    return stopwatch_median(times, PROCESSES);
}

static void compare_gsl(const struct sm_motor *motor, double plain_time, double exact)
{
    static const double tolerances[] = {1e-3, 1e-5, 1e-7};
    const struct sm_run_options options = {.accuracy = 1e-8, .without_warnings = true};
    struct sm_result *result;
    struct plain c;
    if (sm_simulate(motor, &options, NULL, &result, NULL) != SM_OK || !init_plain(&c, motor))
        return;
    for (size_t i = 0; i < sizeof tolerances / sizeof tolerances[0]; i++) {
        double impulse;
        const double gsl = time_gsl(&c, result->series.time[result->series.n - 1], tolerances[i], &impulse);
        printf("  GSL rkf45 at %.0e         %8.1f us  impulse error %.1e  x%.1f\n", tolerances[i], 1e6 * gsl,
               fabs(impulse / exact - 1.0), gsl / plain_time);
    }
    sm_result_free(result);
}

static void bench_library(const char *folder, const char *file)
{
    struct sm_motor *motor = example_motor(folder, file, NULL, 0);
    if (!motor)
        return;
    double impulse, exact, judged;
    time_burn(motor, 1e-8, false, &exact);
    const double plain = time_burn(motor, 1e-4, false, &impulse);
    const double full = time_burn(motor, 1e-4, true, &judged);
    printf("%s\n  events and all columns    %8.1f us  impulse error %.1e\n  with warnings judged      %8.1f "
           "us\n",
           file, 1e6 * plain, fabs(impulse / exact - 1.0), 1e6 * full);
    compare_gsl(motor, plain, exact);
    sm_motor_free(motor);
}

/* The axial model on four segments with 100 stations, with and without erosive burning, against the lumped one. */
static void bench_axial(const char *folder, const char *file)
{
    enum { TIMES = 20 };
    struct sm_motor *motor = example_motor(folder, file, NULL, 0);
    double times[TIMES], lumped, impulse, axial_impulse = 0.0, residual = 0.0;
    if (!motor)
        return;
    lumped = time_burn(motor, 1e-4, false, &impulse);
    for (int i = 0; i < TIMES; i++) {
        const struct sm_run_options options = {
            .model = SM_MODEL_AXIAL, .stations = 100, .without_warnings = true};
        struct sm_result *result;
        const double start = stopwatch_now();
        if (sm_simulate(motor, &options, NULL, &result, NULL) != SM_OK)
            return;
        times[i] = stopwatch_now() - start;
        axial_impulse = result->thrust.total_impulse;
        residual = result->statistics.mass_residual;
        sm_result_free(result);
    }
    const double axial = stopwatch_median(times, TIMES);
    printf("%-28s axial, 100 stations %8.2f ms (aim: under 20), books to %.1e, impulse %.2e off the lumped "
           "one; lumped "
           "%8.1f us (x%.0f)\n",
           file, 1e3 * axial, residual, axial_impulse / impulse - 1.0, 1e6 * lumped, axial / lumped);
    sm_motor_free(motor);
}

int main(int argc, char **argv)
{
    if (argc != 3) {
        fputs("usage: bench_burn PROGRAM SOURCE_FOLDER\n", stderr);
        return 2;
    }
    gsl_set_error_handler_off();
    puts("one burn in the library at accuracy 1e-4, median; GSL: the same equations, totals alone, and how "
         "many times\n"
         "as long it takes");
    bench_library(argv[2], "sandpiper-end-burner.json");
    bench_library(argv[2], "sandpiper-tubes.json");
    bench_axial(argv[2], "sandpiper-tubes.json");
    bench_axial(argv[2], "sandpiper-long-core.json");
    char motor[1024];
    snprintf(motor, sizeof motor, "%s/examples/sandpiper-end-burner.json", argv[2]);
    char nothing[] = "/bin/true", burn[] = "burn";
    char *const idle[] = {nothing, NULL}, *const whole[] = {argv[1], burn, motor, NULL};
    const double base = time_process(idle), all = time_process(whole);
    struct rusage usage;
    getrusage(RUSAGE_CHILDREN, &usage);
    printf("whole process: %.2f ms, /bin/true %.2f ms, beyond it %.2f ms; peak memory %.1f MB\n", 1e3 * all,
           1e3 * base, 1e3 * (all - base), (double)usage.ru_maxrss / 1024.0);
    return 0;
}
