/*
 * What runs on several threads, in a program without a test frame, for ThreadSanitizer to watch.
 *
 *     threads library SOURCE_FOLDER    spreads, solids cut into patches, and one motor burned by four threads at once
 *     threads planted                  a race on purpose, in the loop that all the library's threads run in
 *
 * Exit: 0 if all was computed, and the same by several threads as by one; 2 for wrong arguments.
 */
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "example_motor.h"
#include "num/parallel.h"

enum { THREADS = 4, SAMPLES = 48 };

static struct sm_motor *load(const char *folder, const char *file)
{
    struct sm_motor *motor = example_motor(folder, file, NULL, 0);
    if (!motor)
        exit(1);
    return motor;
}

/* ---- spreads ---- */

static double mean_impulse(const struct sm_motor *motor, int threads, bool sensitivity)
{
    const struct sm_spread_options options = {
        .n = SAMPLES, .seed = 7, .threads = threads, .sensitivity = sensitivity};
    struct sm_spread *spread = NULL;
    struct sm_error err = {0};
    if (sm_spread_run(motor, &options, NULL, &spread, &err) != SM_OK) {
        fprintf(stderr, "%s\n", err.message);
        exit(1);
    }
    const double mean = spread->distributions[0].mean;
    sm_spread_free(spread);
    return mean;
}

static int spread(const char *folder, const char *file, bool sensitivity)
{
    struct sm_motor *motor = load(folder, file);
    const double one = mean_impulse(motor, 1, sensitivity), many = mean_impulse(motor, THREADS, sensitivity);
    printf("%s: %.17g N s by one thread, %.17g by %d\n", file, one, many, THREADS);
    sm_motor_free(motor);
    return one != many;
}

/* ---- one motor, many threads ---- */

static void *burn(void *user)
{
    struct sm_result *result = NULL;
    struct sm_error err = {0};
    double *impulse = malloc(sizeof *impulse);
    if (impulse && sm_simulate(user, NULL, NULL, &result, &err) == SM_OK)
        *impulse = result->thrust.total_impulse;
    else if (impulse)
        *impulse = -1.0;
    sm_result_free(result);
    return impulse;
}

static int shared(const char *folder, const char *file)
{
    struct sm_motor *motor = load(folder, file);
    pthread_t threads[THREADS];
    double first = -1.0;
    int wrong = 0;
    for (int i = 0; i < THREADS; i++)
        if (pthread_create(&threads[i], NULL, burn, motor) != 0)
            exit(1);
    for (int i = 0; i < THREADS; i++) {
        void *impulse = NULL;
        pthread_join(threads[i], &impulse);
        const double value = impulse ? *(double *)impulse : -1.0;
        first = i == 0 ? value : first;
        wrong += value != first || value < 0.0;
        free(impulse);
    }
    printf("%s: %.17g N s by each of %d threads\n", file, first, THREADS);
    sm_motor_free(motor);
    return wrong;
}

/* ---- a race ---- */

static void add_one(void *user, int worker, size_t i)
{
    (void)worker, (void)i;
    ++*(volatile size_t *)user;
}

static void plant(void)
{
    size_t n = 0;
    sm_parallel_for(100000, THREADS, add_one, &n, NULL);
    printf("%zu of 100000 counted\n", n);
}

int main(int argc, char **argv)
{
    if (argc == 2 && strcmp(argv[1], "planted") == 0) {
        plant();
        return 0;
    }
    if (argc != 3 || strcmp(argv[1], "library") != 0) {
        fputs("usage: threads library SOURCE_FOLDER | threads planted\n", stderr);
        return 2;
    }
    const char *folder = argv[2];
    int wrong = spread(folder, "sandpiper-cored.json", false);
    wrong += spread(folder, "sandpiper-end-burner.json", true);
    wrong += spread(folder, "sandpiper-offset-bore.json", false);
    wrong += spread(folder, "curlew-tolerances.json", false);
    wrong += shared(folder, "sandpiper-canted-fins.json");
    return wrong > 0;
}
