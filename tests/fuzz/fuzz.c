#include "fuzz.h"

#include <dirent.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* Processor time of one input [s]. Sanitizers and coverage make everything some ten times slower. */
#ifdef FUZZ_SLOW_BUILD
static const double most_seconds = 10.0;
#else
static const double most_seconds = 1.0;
#endif

static double processor_time(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

void fuzz_run_one(const struct fuzz_target *target, const uint8_t *bytes, size_t n)
{
    const double start = processor_time();
    target->run(bytes, n);
    const double took = processor_time() - start;
    if (took > most_seconds) {
        fprintf(stderr, "%s took %.2f s\n", target->name, took);
        abort();
    }
}

void fuzz_expect(int is_so, const char *claim)
{
    if (is_so)
        return;
    fprintf(stderr, "not so: %s\n", claim);
    abort();
}

void fuzz_expect_finite(const double *values, size_t n, const char *what)
{
    for (size_t i = 0; values && i < n; i++)
        if (!isfinite(values[i])) {
            fprintf(stderr, "%s: value %zu is %g\n", what, i, values[i]);
            abort();
        }
}

void fuzz_show(const char *text)
{
    if (getenv("SM_FUZZ_SHOW"))
        fprintf(stderr, "%s\n", text);
}

struct sm_units *fuzz_units(void)
{
    static struct sm_units *units;
    if (!units)
        fuzz_expect(sm_units_open(&units, NULL) == SM_OK, "the unit data can be read");
    return units;
}

const struct sm_load_options *fuzz_options(void)
{
    static struct sm_load_options options;
    options.units = fuzz_units();
    options.propellant_folder = SM_SOURCE_DIR "/propellants";
    return &options;
}

/* ---- files ---- */

static char folder[256];

static void remove_folder(void)
{
    char path[512];
    DIR *list = opendir(folder);
    for (struct dirent *entry; list && (entry = readdir(list));)
        if (entry->d_name[0] != '.') {
            snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
            unlink(path);
        }
    if (list)
        closedir(list);
    rmdir(folder);
}

static void make_folder(void)
{
    char link[300];
    const char *parent = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%.200s/slowmatch-fuzz-XXXXXX", parent ? parent : "/tmp");
    fuzz_expect(mkdtemp(folder) != NULL, "a folder for inputs can be made");
    snprintf(link, sizeof link, "%s/examples", folder);
    fuzz_expect(symlink(SM_SOURCE_DIR "/examples", link) == 0, "examples can be linked");
    atexit(remove_folder);
}

const char *fuzz_file(const uint8_t *bytes, size_t n, const char *ending)
{
    static char path[512];
    if (folder[0] == '\0')
        make_folder();
    snprintf(path, sizeof path, "%s/input%s", folder, ending);
    const int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    fuzz_expect(fd >= 0 && write(fd, bytes, n) == (ssize_t)n && close(fd) == 0, "an input can be written");
    return path;
}

void fuzz_grain_of_file(const char *shape, const char *path, const char *more)
{
    char text[1024];
    struct sm_diag diag = {0};
    struct sm_motor *motor = NULL;
    const int length = snprintf(
        text, sizeof text,
        "{\"format\":\"slowmatch-motor/1\",\"name\":\"any\",\"propellant\":\"generic-g\","
        "\"case\":{\"bore\":\"62 mm\",\"length\":\"130 mm\"},\"grains\":[{\"shape\":\"%s\","
        "\"outer_diameter\":\"60 mm\",\"length\":\"120 mm\",\"file\":\"%s\",\"file_unit\":\"1 mm\"%s}],"
        "\"nozzle\":{\"throat_diameter\":\"12 mm\",\"exit_diameter\":\"24 mm\"}}",
        shape, path, more);
    const enum sm_status status =
        sm_motor_parse(text, (size_t)length, "motor", fuzz_options(), NULL, &motor, &diag);
    fuzz_expect((status == SM_OK) == (motor != NULL), "a motor comes with success alone");
    if (motor) {
        struct sm_grain_facts facts;
        sm_motor_grain(motor, 0, &facts);
        fuzz_expect_finite(&facts.mass, 1, "mass");
        fuzz_expect_finite(&facts.area_mean, 1, "area");
        fuzz_expect(facts.mass > 0.0, "a grain has mass");
    }
    sm_motor_free(motor);
    sm_diag_release(&diag);
}

static int take(void *user, const char *bytes, size_t n)
{
    volatile char *last = user;
    if (n > 0)
        *last = bytes[n - 1]; /* so that a sanitizer sees what was never written */
    return 0;
}

struct sm_sink fuzz_nowhere(void)
{
    static char last;
    return (struct sm_sink){take, &last};
}

/* ---- draws ---- */

unsigned fuzz_byte(struct fuzz_draw *draw)
{
    if (draw->n == 0)
        return 0;
    draw->n--;
    return *draw->bytes++;
}

unsigned fuzz_below(struct fuzz_draw *draw, unsigned n)
{
    return fuzz_byte(draw) % n;
}

double fuzz_between(struct fuzz_draw *draw, double low, double high)
{
    const unsigned whole = fuzz_byte(draw) << 8, part = fuzz_byte(draw);
    return low + (high - low) * (double)(whole | part) / 65535.0;
}
