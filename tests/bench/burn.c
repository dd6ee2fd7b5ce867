/*
 * How fast a burn is: the library's call against GSL's Runge-Kutta-Fehlberg on the same equations, and the whole process
 * against /bin/true, all in one run, with the error beside every time. Machines differ; ratios are what counts.
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

#include "motor/motor.h"
#include "slowmatch/slowmatch.h"

enum { RUNS = 400, PROCESSES = 60 };

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *values, size_t n)
{
    qsort(values, n, sizeof *values, by_size);
    return values[n / 2];
}

static struct sm_motor *load(const char *folder, const char *file)
{
    char path[1024], propellants[1024];
    struct sm_motor *motor = NULL;
    struct sm_diag diag = {0};
    snprintf(path, sizeof path, "%s/examples/%s", folder, file);
    snprintf(propellants, sizeof propellants, "%s/propellants", folder);
    const struct sm_load_options options = {.propellant_folder = propellants};
    if (sm_motor_load(path, &options, NULL, &motor, &diag) != SM_OK)
        fprintf(stderr, "%s: %s\n", path, diag.n ? diag.items[0].message : "?");
    return motor;
}

/* Median time of a library call [s]; *impulse is what it gave [N s]. */
static double time_burn(const struct sm_motor *motor, double accuracy, bool warnings, double *impulse)
{
    static double times[RUNS];
    const struct sm_run_options options = {.accuracy = accuracy, .without_warnings = !warnings};
    for (int i = 0; i < RUNS; i++) {
        struct sm_result *result;
        const double start = now();
        if (sm_simulate(motor, &options, NULL, &result, NULL) != SM_OK)
            return (double)NAN;
        times[i] = now() - start;
        *impulse = result->thrust.total_impulse;
        sm_result_free(result);
    }
    return median(times, RUNS);
}

/* The same chamber for GSL: pressure, distance burned, impulse; the grain's table and the nozzle are the library's. */
static int slope(double t, const double y[], double dy[], void *user)
{
    const struct sm_motor *m = user;
    const struct sm_motor_spec *spec = &m->spec;
    const struct sm_burn_segment *law = spec->propellant.burn_rate.items;
    const double throat =
        0.25 * 3.14159265358979323846 * spec->nozzle.throat_diameter * spec->nozzle.throat_diameter;
    double area = 0.0, left = 0.0;
    const size_t piece = sm_geometry_find(&m->stack, y[1]);
    if (piece < m->stack.n_pieces)
        sm_piece_area(&m->stack.pieces[piece], y[1], &area, &left);
    const double lit = fmin(1.0, t / spec->ignition.spread_time);
    const double p = fmax(y[0], 1.0),
                 rate = area > 0.0 ? law[0].rate * pow(p / law[0].at, law[0].exponent) : 0.0;
    const double volume = m->case_volume - left, rt = m->gas.rt;
    dy[0] =
        rt / volume * (lit * (spec->propellant.density - p / rt) * area * rate - p * throat / m->gas.cstar);
    dy[1] = lit * rate;
    dy[2] = p * throat;
    return GSL_SUCCESS;
}

static double time_gsl(struct sm_motor *motor, double end)
{
    enum { TIMES = 40 };
    double times[TIMES];
    for (int i = 0; i < TIMES; i++) {
        const double start = now();
        gsl_odeiv2_system system = {slope, NULL, 3, motor};
        gsl_odeiv2_driver *d =
            gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rkf45, 1e-5, 1e-3, 1e-3);
        double t = 0.0, y[3] = {motor->spec.ignition.pressure, 0.0, 0.0};
        gsl_odeiv2_driver_apply(d, &t, end, y);
        gsl_odeiv2_driver_free(d);
        times[i] = now() - start;
    }
    return median(times, TIMES);
}

/* Median wall time of a process whose output is thrown away [s]. */
static double time_process(char *const argv[])
{
    double times[PROCESSES];
    for (int i = 0; i < PROCESSES; i++) {
        const double start = now();
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
        times[i] = now() - start;
    }
    return median(times, PROCESSES);
}

static void bench_library(const char *folder, const char *file)
{
    struct sm_motor *motor = load(folder, file);
    if (!motor)
        return;
    double impulse, exact, judged;
    time_burn(motor, 1e-8, false, &exact);
    const double plain = time_burn(motor, 1e-4, false, &impulse),
                 full = time_burn(motor, 1e-4, true, &judged);
    struct sm_result *result;
    if (sm_simulate(motor, NULL, NULL, &result, NULL) == SM_OK) {
        const double gsl = time_gsl(motor, result->series.time[result->series.n - 1]);
        printf("%-28s %8.1f us  impulse error %.1e  with warnings %8.1f us  GSL rkf45 at 1e-3 %8.1f us "
               "(x%.1f)\n",
               file, 1e6 * plain, fabs(impulse / exact - 1.0), 1e6 * full, 1e6 * gsl, gsl / plain);
        sm_result_free(result);
    }
    sm_motor_free(motor);
}

int main(int argc, char **argv)
{
    if (argc != 3) {
        fputs("usage: bench_burn PROGRAM SOURCE_FOLDER\n", stderr);
        return 2;
    }
    gsl_set_error_handler_off();
    puts("one burn in the library, accuracy 1e-4, median");
    bench_library(argv[2], "sandpiper-end-burner.json");
    bench_library(argv[2], "sandpiper-tubes.json");
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
