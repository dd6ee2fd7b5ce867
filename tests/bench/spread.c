/*
 * How fast samples of a spread are, by kind of motor, and how they go with threads; and how fast an end burner is sized.
 *
 *     bench_spread SOURCE_FOLDER [SAMPLES]
 */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "example_motor.h"

static double now(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
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

/* Motors whose dimensions all stray, and a star that every sample cuts anew: invented. */
#define BENCH_REST                                                                                           \
    "\"nozzle\":{\"throat_diameter\":\"9 mm\",\"exit_diameter\":\"19 mm\"},"                                 \
    "\"ignition\":{\"pressure\":\"1 MPa\",\"spread_time\":\"20 ms\"},"                                       \
    "\"case\":{\"bore\":\"38 mm\",\"length\":\"195 mm\"},\"propellant\":\"demo-slow-composite\","
#define BENCH_TUBE(length)                                                                                   \
    "{\"shape\":\"tube\",\"outer_diameter\":\"36 mm\",\"bore_diameter\":\"20 mm\",\"length\":\"" length "\"" \
    "}"
#define BENCH_TUBE_STRAYS(i)                                                                                 \
    "{\"of\":\"/grains/" i "/length\",\"normal\":\"0.5 %\"},{\"of\":\"/grains/" i                            \
    "/bore_diameter\",\"normal\":\"0.5 %\"},{\"of\":\"/grains/" i "/outer_diameter\",\"normal\":\"0.2 %\"},"
#define BENCH_STRAYS                                                                                         \
    "{\"of\":\"/propellant/burn_rate\",\"normal\":\"3 %\"},{\"of\":\"/propellant/density\",\"normal\":\"1 "  \
    "%\"},"                                                                                                  \
    "{\"of\":\"/nozzle/throat_diameter\",\"normal\":\"0.02 mm\"}]}"
static const char all_strays[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"four tubes, all astray\"," BENCH_REST
    "\"grains\":[" BENCH_TUBE("44 mm") "," BENCH_TUBE("44 mm") "," BENCH_TUBE("44 mm") "," BENCH_TUBE(
        "44 mm") "],\"tolerances\":"
                 "[" BENCH_TUBE_STRAYS("0") BENCH_TUBE_STRAYS("1") BENCH_TUBE_STRAYS("2")
                     BENCH_TUBE_STRAYS("3") BENCH_STRAYS;
static const char star_astray[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"star, cut anew\"," BENCH_REST
    "\"grains\":[{\"shape\":\"star\",\"outer_diameter\":\"36 mm\",\"length\":\"180 mm\",\"points\":6,"
    "\"web\":\"6 mm\",\"fillet_radius\":\"1 mm\",\"angle_fraction\":0.8,\"half_angle\":\"33 deg\"}],"
    "\"tolerances\":[{\"of\":\"/grains/0/web\",\"normal\":\"1 %\"},"
    "{\"of\":\"/grains/0/fillet_radius\",\"normal\":\"2 %\"}," BENCH_STRAYS;

static struct sm_motor *parse(const char *folder, const char *text)
{
    char propellants[1024];
    struct sm_motor *motor = NULL;
    struct sm_diag diag = {0};
    snprintf(propellants, sizeof propellants, "%s/propellants", folder);
    const struct sm_load_options options = {.propellant_folder = propellants};
    if (sm_motor_parse(text, strlen(text), "bench", &options, NULL, &motor, &diag) != SM_OK)
        fprintf(stderr, "%s\n", diag.n ? diag.items[0].message : "?");
    sm_diag_release(&diag);
    return motor;
}

static void time_motor(const char *what, struct sm_motor *motor, size_t n)
{
    double error, spent, spent_two;
    if (!motor)
        exit(1);
    const double one = time_spread(motor, n, 1, &spent, &error),
                 two = time_spread(motor, n, 2, &spent_two, &error);
    printf("  %-26s %6.1f us a sample (%6.1f of a processor), two threads %6.1f us (x%.2f), %.1e\n", what,
           1e6 * one / (double)n, 1e6 * spent / (double)n, 1e6 * two / (double)n, one / two, error);
    sm_motor_free(motor);
}

/* The example of three free values: best of three, on the wall and of the processor. */
static void time_sizing(const char *folder)
{
    char path[1024], propellants[1024];
    struct sm_request *request = NULL;
    struct sm_diag diag = {0};
    double wall = INFINITY, spent = INFINITY, off = 0.0;
    snprintf(path, sizeof path, "%s/examples/requests/sandpiper.json", folder);
    snprintf(propellants, sizeof propellants, "%s/propellants", folder);
    const struct sm_load_options options = {.propellant_folder = propellants};
    if (sm_request_load(path, &options, NULL, &request, &diag) != SM_OK)
        exit(1);
    for (int i = 0; i < 3; i++) {
        const struct sm_size_options size = {.seed = (uint64_t)i + 1};
        struct sm_sizing *sizing = NULL;
        const double start = now(CLOCK_MONOTONIC), before = now(CLOCK_PROCESS_CPUTIME_ID);
        if (sm_size_run(request, &size, NULL, &sizing, NULL) != SM_OK)
            exit(1);
        wall = fmin(wall, now(CLOCK_MONOTONIC) - start);
        spent = fmin(spent, now(CLOCK_PROCESS_CPUTIME_ID) - before);
        for (size_t k = 0; k < sizing->n_wishes; k++)
            if (sizing->wishes[k].aim == 0)
                off = fmax(off, fabs(sizing->wishes[k].got / sizing->wishes[k].wanted - 1.0));
        sm_sizing_free(sizing);
    }
    printf(
        "sizing an end burner of three free values: %.2f s, %.2f s of a processor (aim: 1 s); wishes missed "
        "by %.1e at most\n",
        wall, spent, off);
    sm_request_free(request);
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
    for (size_t i = 0; i < sizeof motors / sizeof motors[0]; i++)
        time_motor(motors[i].what, example_motor(argv[1], motors[i].file, NULL, 0), n);
    time_motor("four tubes, every size", parse(argv[1], all_strays), n);
    time_motor("star, cut anew", parse(argv[1], star_astray), n);
    time_sizing(argv[1]);
    return 0;
}
