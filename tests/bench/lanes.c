/*
 * How fast motors burn in vector lanes, beside GSL's Runge-Kutta-Fehlberg and, where Python has SciPy, its LSODA: the same
 * equations and the same 200 stored instants of thrust for each, in one run on one processor, with the error of total impulse
 * beside every time. Each error is against a solution of the same equations at 1e-11. The motor is the four tubes' in a vacuum,
 * where thrust is a multiple of pressure, so that the three need no nozzle formulas of ours.
 *
 *     bench_lanes SOURCE_FOLDER [SAMPLES]
 */
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "ballistics/chamber.h"
#include "ballistics/lanes.h"
#include "example_motor.h"
#include "num/parallel.h"

enum { INSTANTS = 200, TRIES = 5, AREAS = 2001 };

static double now(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static struct sm_motor *load(const char *folder, const char *file, const char *ambient)
{
    const struct sm_override surroundings = {"conditions.ambient_pressure", ambient};
    struct sm_motor *motor = example_motor(folder, file, &surroundings, 1);
    if (!motor)
        exit(1);
    return motor;
}

/* ---- lanes ---- */

struct study {
    struct sm_chamber chamber;
    struct sm_lane_table table;
    struct sm_lane_nozzle nozzle;
    double end;      /* until which thrust is stored [s] */
    double *thrust;  /* INSTANTS of each motor [N] */
    double *impulse; /* of each [N s] */
    size_t n;
    int varies; /* do the motors differ? */
    struct sm_lanes *lanes;
};

/* Thrust at even instants, straight between nodes. */
static void store_curve(const struct study *s, const struct sm_lane_curve *c, size_t i)
{
    const double step = s->end / (INSTANTS - 1);
    double *to = s->thrust + i * INSTANTS, t = 0.0;
    size_t j = 0;
    for (size_t k = 1; k < c->n && j < INSTANTS; k++) {
        const double until = c->time[k], from = c->time[k - 1], start = c->thrust[k - 1];
        if (t > until)
            continue;
        const double slope = (c->thrust[k] - start) / (until - from);
        for (; j < INSTANTS && t <= until; t = step * (double)++j)
            to[j] = start + slope * (t - from);
    }
    while (j < INSTANTS)
        to[j++] = 0.0;
    s->impulse[i] = c->impulse;
}

/* Eight motors of one geometry: burning rate and density stray by a few per cent, by golden-ratio steps. */
static void one_group(void *user, int worker, size_t group)
{
    const struct study *s = user;
    struct sm_lanes *lanes = &s->lanes[worker];
    struct sm_lane_curve curve;
    const size_t first = group * SM_LANES, left = s->n - first, n = left < SM_LANES ? left : SM_LANES;
    sm_lanes_clear(lanes);
    for (size_t k = 0; k < n; k++) {
        struct sm_chamber c = s->chamber;
        const double a = fmod(0.6180339887 * (double)(first + k), 1.0) - 0.5,
                     b = fmod(0.7548776662 * (double)(first + k), 1.0) - 0.5;
        if (s->varies) {
            c.law.factor *= 1.0 + 0.06 * a;
            c.density *= 1.0 + 0.02 * b;
        }
        sm_lanes_load(lanes, (int)k, &c, &s->table);
    }
    sm_lanes_march(lanes, sm_lane_set_best());
    for (size_t k = 0; k < n; k++) {
        if (!sm_lanes_curve(lanes, (int)k, &s->nozzle, &curve)) {
            fputs("a lane was not carried on\n", stderr);
            exit(1);
        }
        store_curve(s, &curve, first + k);
    }
}

static void set_up(struct study *s, const struct sm_motor *motor, size_t n, struct sm_arena *arena)
{
    if (sm_chamber_init(&s->chamber, motor, motor->spec.conditions.grain_temperature, SM_ABSENT, arena,
                        NULL) != SM_OK ||
        !sm_lane_table_make(&s->table, &s->chamber))
        exit(1);
    sm_lane_nozzle_make(&s->nozzle, &s->chamber.jet);
    s->n = n;
    s->thrust = malloc(n * INSTANTS * sizeof *s->thrust);
    s->impulse = malloc(n * sizeof *s->impulse);
    s->lanes = malloc((size_t)sm_parallel_threads(0) * sizeof *s->lanes);
    if (!s->thrust || !s->impulse || !s->lanes)
        exit(1);
    memset(s->thrust, 0, n * INSTANTS * sizeof *s->thrust); /* pages are there before the clock runs */
}

/* Shortest of some tries, on the wall [s]; *spent is the least of all processors' time. */
static double time_lanes(struct study *s, size_t n, int threads, double *spent)
{
    double best = INFINITY;
    s->n = n;
    *spent = INFINITY;
    for (int i = 0; i < TRIES; i++) {
        const double start = now(CLOCK_MONOTONIC), before = now(CLOCK_PROCESS_CPUTIME_ID);
        sm_parallel_for((n + SM_LANES - 1) / SM_LANES, threads, one_group, s, NULL);
        best = fmin(best, now(CLOCK_MONOTONIC) - start);
        *spent = fmin(*spent, now(CLOCK_PROCESS_CPUTIME_ID) - before);
    }
    return best;
}

/* ---- GSL ---- */

static int slope(double t, const double y[], double dy[], void *user)
{
    const struct sm_chamber *c = user;
    double area = 0.0, left = 0.0;
    const size_t piece = sm_geometry_find(c->stack, y[1]);
    if (piece < c->stack->n_pieces)
        sm_piece_area(&c->stack->pieces[piece], y[1], &area, &left);
    const double lit = c->n_epochs == 2 ? fmin(1.0, t / c->epochs[0].until) : 1.0;
    const double p = fmax(y[0], 1.0);
    const double rate =
        area > 0.0 ? sm_burn_law_rate(&c->law, sm_burn_law_segment(&c->law, p), p, NULL) : 0.0;
    dy[0] = c->rt / (c->volume_empty - left) *
            (lit * (c->density - p / c->rt) * area * rate - p * c->jet.throat_area / c->jet.cstar);
    dy[1] = lit * rate;
    dy[2] = p;
    return GSL_SUCCESS;
}

/* Integral of pressure until the end [Pa s], by way of all the instants. */
static double run_gsl(struct sm_chamber *c, const gsl_odeiv2_step_type *type, double tolerance, double end)
{
    const gsl_odeiv2_system system = {slope, NULL, 3, c};
    gsl_odeiv2_driver *d = gsl_odeiv2_driver_alloc_y_new(&system, type, 1e-5, 0.0, tolerance);
    double t = 0.0, y[3] = {c->start_pressure, 1e-12, 1e-12};
    int status = GSL_SUCCESS;
    for (int i = 1; i < INSTANTS && status == GSL_SUCCESS; i++)
        status = gsl_odeiv2_driver_apply(d, &t, end * i / (INSTANTS - 1), y);
    gsl_odeiv2_driver_free(d);
    return status == GSL_SUCCESS ? y[2] : (double)NAN;
}

static void bench_gsl(struct study *s, double exact, double lane)
{
    static const double tolerances[] = {1e-2, 1e-3, 1e-4, 1e-5, 1e-6};
    for (size_t i = 0; i < sizeof tolerances / sizeof tolerances[0]; i++) {
        enum { RUNS = 40 };
        double best = INFINITY, got = NAN;
        for (int k = 0; k < RUNS; k++) {
            const double start = now(CLOCK_PROCESS_CPUTIME_ID);
            got = run_gsl(&s->chamber, gsl_odeiv2_step_rkf45, tolerances[i], s->end);
            best = fmin(best, now(CLOCK_PROCESS_CPUTIME_ID) - start);
        }
        printf("  GSL rkf45 at %.0e      %9.2f us  impulse error %.1e  x%.0f\n", tolerances[i], 1e6 * best,
               fabs(got / exact - 1.0), best / lane);
    }
}

/* ---- SciPy ---- */

/* The chamber's numbers for lanes.py: the surface as a table that it takes straight between. */
static void write_chamber(const struct study *s, FILE *to)
{
    const struct sm_chamber *c = &s->chamber;
    fprintf(to, "{\"rt\": %.17g, \"density\": %.17g, \"drain\": %.17g, \"space\": %.17g, \"start\": %.17g,",
            c->rt, c->density, c->jet.throat_area / c->jet.cstar, c->volume_empty, c->start_pressure);
    fprintf(to, " \"ramp\": %.17g, \"end\": %.17g, \"instants\": %d, \"law\": [",
            c->n_epochs == 2 ? c->epochs[0].until : 0.0, s->end, (int)INSTANTS);
    for (size_t i = 0; i < c->law.n; i++) {
        const struct sm_burn_segment *seg = &c->law.segments[i];
        fprintf(to, "%s[%.17g, %.17g, %.17g]", i ? ", " : "",
                c->law.factor * seg->rate * pow(seg->at, -seg->exponent), seg->exponent,
                i + 1 < c->law.n ? sm_burn_law_joint(&c->law, i) : 1e300);
    }
    for (int column = 0; column < 3; column++) {
        static const char *const names[] = {"web", "area", "left"};
        fprintf(to, "], \"%s\": [", names[column]);
        for (int i = 0; i < AREAS; i++) {
            struct sm_surface at;
            const double w = c->stack->web * i / (AREAS - 1);
            const size_t piece = i + 1 < AREAS ? sm_geometry_find(c->stack, w) : c->stack->n_pieces - 1;
            sm_piece_surface(&c->stack->pieces[piece], w, &at);
            fprintf(to, "%s%.17g", i ? ", " : "", column == 0 ? w : column == 1 ? at.area : at.volume);
        }
    }
    fputs("]}\n", to);
}

static void bench_scipy(const struct study *s, const char *folder, double lane)
{
    char name[] = "/tmp/lanesXXXXXX", command[2048];
    const int file = mkstemp(name);
    FILE *to = file >= 0 ? fdopen(file, "w") : NULL;
    if (!to)
        return;
    write_chamber(s, to);
    fclose(to);
    snprintf(command, sizeof command, "${PYTHON:-python3} '%s/tests/bench/lanes.py' '%s' %.9g", folder, name,
             lane);
    fflush(stdout);
    if (system(command) != 0)
        puts("  SciPy is not there: python3-scipy, with PYTHON=/usr/bin/python3 if another one comes first");
    remove(name);
}

/* ---- all ---- */

static void compare(const char *folder)
{
    struct sm_motor *motor = load(folder, "sandpiper-tubes.json", "0 Pa");
    struct sm_arena arena;
    struct study s = {0};
    struct sm_run_options fine = {.accuracy = 1e-8, .without_warnings = true};
    struct sm_result *result;
    double spent;
    sm_arena_init(&arena, NULL);
    set_up(&s, motor, 8000, &arena);
    if (sm_simulate(motor, &fine, NULL, &result, NULL) != SM_OK)
        exit(1);
    s.end = result->series.time[result->series.n - 1];
    sm_result_free(result);
    const double exact = run_gsl(&s.chamber, gsl_odeiv2_step_rk8pd, 1e-11, s.end);
    time_lanes(&s, 8000, 1, &spent);
    const double lane = spent / 8000.0;
    printf("four tubes in a vacuum, one processor, %d instants stored\n", (int)INSTANTS);
    printf("  in lanes               %9.2f us  impulse error %.1e\n", 1e6 * lane,
           fabs(s.impulse[0] / (exact * s.chamber.jet.thrust_slope) - 1.0));
    bench_gsl(&s, exact, lane);
    bench_scipy(&s, folder, lane);
    sm_arena_release(&arena);
    sm_motor_free(motor);
}

static void scale(const char *folder, size_t n)
{
    struct sm_motor *motor = load(folder, "sandpiper-tubes.json", "101325 Pa");
    struct sm_arena arena;
    struct study s = {.end = 1.0, .varies = 1};
    sm_arena_init(&arena, NULL);
    set_up(&s, motor, n, &arena);
    s.end = 3.0;
    printf("stored curves at sea level, the geometry fixed (aim: 100000 under 0.3 s on 2 cores)\n");
    for (size_t part = n / 4; part <= n; part *= 2)
        for (int threads = 1; threads <= 2; threads++) {
            double spent;
            const double wall = time_lanes(&s, part, threads, &spent);
            printf("  %7zu on %d: %.3f s, %.3f s of processors, %.2f us each\n", part, threads, wall, spent,
                   1e6 * spent / (double)part);
        }
    sm_arena_release(&arena);
    sm_motor_free(motor);
}

int main(int argc, char **argv)
{
    if (argc < 2) {
        fputs("usage: bench_lanes SOURCE_FOLDER [SAMPLES]\n", stderr);
        return 2;
    }
    gsl_set_error_handler_off();
    compare(argv[1]);
    scale(argv[1], argc > 2 ? strtoul(argv[2], NULL, 10) : 100000);
    return 0;
}
