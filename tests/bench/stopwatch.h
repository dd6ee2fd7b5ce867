/* Times of benchmarks. */
#ifndef SM_TESTS_BENCH_STOPWATCH_H
#define SM_TESTS_BENCH_STOPWATCH_H

#include <stdlib.h>
#include <time.h>

/* By the clock [s]. */
static inline double stopwatch_now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static inline int stopwatch_by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* That of values[n] [any], which it sorts. */
static inline double stopwatch_median(double *values, size_t n)
{
    qsort(values, n, sizeof *values, stopwatch_by_size);
    return values[n / 2];
}

#endif
