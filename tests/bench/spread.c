/*
 * How fast samples of a spread are, by kind of motor, and how they go with threads.
 *
 *     bench_spread SOURCE_FOLDER [SAMPLES]
 */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "slowmatch/slowmatch.h"

static double now(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
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
    sm_diag_release(&diag);
    return motor;
}

/* Time of a whole spread, on the wall and of all processors [s]; *error is the standard error of mean impulse over it [1]. */
static double time_spread(const struct sm_motor *motor, size_t n, int threads, double *spent, double *error)
{
    const struct sm_spread_options options = {.n = n, .seed = 1, .threads = threads};
    struct sm_spread *spread = NULL;
    struct sm_error err = {0};
    const double start = now(CLOCK_MONOTONIC), spent_before = now(CLOCK_PROCESS_CPUTIME_ID);
    if (sm_spread_run(motor, &options, NULL, &spread, &err) != SM_OK) {
        fprintf(stderr, "%s\n", err.message);
        exit(1);
    }
    const double taken = now(CLOCK_MONOTONIC) - start;
    *spent = now(CLOCK_PROCESS_CPUTIME_ID) - spent_before;
    *error = spread->distributions[0].mean_error / spread->distributions[0].mean;
    sm_spread_free(spread);
    return taken;
}

int main(int argc, char **argv)
{
    static const struct {
        const char *what, *file;
    } motors[] = {
        {"bare curve", "curlew-bought.json"},
        {"cored, usual tolerances", "sandpiper-cored.json"},
        {"end burner, its length too", "sandpiper-end-burner.json"},
        {"stack of tubes", "sandpiper-tubes.json"},
        {"offset bore", "sandpiper-offset-bore.json"},
    };
    const size_t n = argc > 2 ? strtoul(argv[2], NULL, 10) : 4000;
    if (argc < 2) {
        fputs("usage: bench_spread SOURCE_FOLDER [SAMPLES]\n", stderr);
        return 2;
    }
    printf("%zu samples each; standard error of mean impulse beside every time\n", n);
    for (size_t i = 0; i < sizeof motors / sizeof motors[0]; i++) {
        struct sm_motor *motor = load(argv[1], motors[i].file);
        double error, spent, spent_two;
        if (!motor)
            return 1;
        const double one = time_spread(motor, n, 1, &spent, &error),
                     two = time_spread(motor, n, 2, &spent_two, &error);
        printf("  %-26s %6.1f us a sample (%6.1f of a processor), two threads %6.1f us (x%.2f), %.1e\n",
               motors[i].what, 1e6 * one / (double)n, 1e6 * spent / (double)n, 1e6 * two / (double)n,
               one / two, error);
        sm_motor_free(motor);
    }
    return 0;
}
