/*
 * Writes the invented firings that ship beside this file.
 *
 *     make_firings MOTOR SEED RATE EXPONENT > record.csv
 *
 * It burns MOTOR with another burning rate (RATE, as "4.5 mm/s", and EXPONENT of its first segment) and turns the prediction
 * into what a logger might have written: 400 rows a second, a quiet second before and after, an offset, a slow drift, a stand
 * that rings at 38 Hz after ignition, noise of 0.6 N and 0.15 bar. So the constants that a fit should find are known. The
 * shipped ones are of seeds 1, 2 and 3, "4.5 mm/s" and 0.36, of sandpiper-cored.json. All is invented.
 *
 * Random numbers: SplitMix64 (G. Steele, D. Lea, C. Flood, OOPSLA 2014), a normal deviate as the sum of twelve even ones
 * less six, so that the same seed gives the same bytes wherever this runs.
 */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "slowmatch/slowmatch.h"

static double even(uint64_t *state)
{
    uint64_t z = *state += 0x9e3779b97f4a7c15u;
    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
    z = (z ^ z >> 27) * 0x94d049bb133111ebu;
    return (double)((z ^ z >> 31) >> 11) / 9007199254740992.0;
}

static double normal(uint64_t *state)
{
    double sum = -6.0;
    for (int i = 0; i < 12; i++)
        sum += even(state);
    return sum;
}

static double column_at(const struct sm_series *s, const double *y, double t, double outside)
{
    if (t < 0.0 || t > s->time[s->n - 1])
        return outside;
    return sm_curve_at(s->time, y, s->n, t);
}

static void write_record(const struct sm_result *result, uint64_t seed)
{
    const double interval = 0.0025, quiet = 1.0;               /* [s] */
    const double noise = 0.6, offset = 2.3, drift = 0.08;      /* [N], [N], [N/s] */
    const double ringing = 38.0, size = 5.0, decay = 0.12;     /* [1/s], [N], [s] */
    const double ambient = 101325.0, pressure_noise = 15000.0; /* [Pa] */
    const double pi = 3.14159265358979323846;
    const struct sm_series *s = &result->series;
    const double end = quiet + s->time[s->n - 1] + quiet; /* [s] */
    uint64_t state = seed;
    puts("# invented: see examples/stand/make_firings.c");
    puts("time (ms),load (N),pressure (bar)");
    for (int i = 0; i * interval < end; i++) {
        const double t = i * interval - quiet;
        const double ring = t < 0.0 ? 0.0 : size * exp(-t / decay) * sin(2.0 * pi * ringing * t);
        const double load =
            column_at(s, s->thrust, t, 0.0) + ring + offset + drift * (t + quiet) + noise * normal(&state);
        const double pressure = column_at(s, s->pressure, t, ambient) + pressure_noise * normal(&state);
        printf("%.1f,%.2f,%.3f\n", 1000.0 * i * interval, load, pressure / 1e5);
    }
}

int main(int argc, char **argv)
{
    struct sm_motor *motor;
    struct sm_result *result;
    struct sm_diag problems = {0};
    struct sm_error err = {0};
    if (argc != 5) {
        fputs("usage: make_firings MOTOR SEED RATE EXPONENT > record.csv\n", stderr);
        return 2;
    }
    const struct sm_override overrides[] = {{"propellant.burn_rate.0.rate", argv[3]},
                                            {"propellant.burn_rate.0.exponent", argv[4]}};
    const struct sm_load_options load = {.overrides = overrides, .n_overrides = 2, .program = argv[0]};
    const struct sm_run_options run = {.accuracy = 1e-6};
    if (sm_motor_load(argv[1], &load, NULL, &motor, &problems) != SM_OK ||
        sm_simulate(motor, &run, NULL, &result, &err) != SM_OK) {
        fprintf(stderr, "make_firings: %s\n", problems.n > 0 ? problems.items[0].message : err.message);
        return 2;
    }
    write_record(result, strtoull(argv[2], NULL, 10));
    sm_result_free(result);
    sm_motor_free(motor);
    sm_diag_release(&problems);
    return fflush(stdout) == 0 ? 0 : 1;
}
