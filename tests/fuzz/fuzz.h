/*
 * A fuzz target is one file in tests/fuzz/targets/ that defines one row, struct fuzz_target fuzz_target_<file>.
 *
 * It feeds any bytes to one reader or one computation. It must not crash, leak, run long, or claim success with numbers
 * that are none; what it claims it says through fuzz_expect.
 */
#ifndef FUZZ_FUZZ_H
#define FUZZ_FUZZ_H

#include <stddef.h>
#include <stdint.h>

#include "slowmatch/slowmatch.h"

struct fuzz_target {
    const char *name; /* that of its file and of its corpus */
    void (*run)(const uint8_t *bytes, size_t n);
};

/* Generated from the files in targets/; NULL-terminated. */
extern const struct fuzz_target *const fuzz_target_list[];

/* Runs one input within the limit of time, a second of one core and more in a slow build; ends the process beyond. */
void fuzz_run_one(const struct fuzz_target *target, const uint8_t *bytes, size_t n);

/* Ends the process with a message if what was claimed is not so. */
void fuzz_expect(int is_so, const char *claim);
void fuzz_expect_finite(const double *values, size_t n, const char *what);

/* Says what was drawn from an input, if the variable SM_FUZZ_SHOW is set. */
void fuzz_show(const char *text);

/* Shared by all inputs of a process. */
struct sm_units *fuzz_units(void);
const struct sm_load_options *fuzz_options(void);

/* Writes the bytes to a file "input<ending>" in a folder of the process, in which the project's examples stand as
 * "examples". Returned: its path, borrowed until the next call. */
const char *fuzz_file(const uint8_t *bytes, size_t n, const char *ending);

/* Assembles a motor round one grain of that shape, 60 mm by 120 mm, its port in a file in millimetres; the grain's numbers are
 * finite if it is accepted. more: further members of the grain, each with a comma before it. */
void fuzz_grain_of_file(const char *shape, const char *path, const char *more);

/* A sink that takes everything and keeps nothing. */
struct sm_sink fuzz_nowhere(void);

/* ---- choices drawn from an input ---- */

struct fuzz_draw {
    const uint8_t *bytes; /* n left; past the end all draws are 0 */
    size_t n;
};
unsigned fuzz_byte(struct fuzz_draw *draw);
unsigned fuzz_below(struct fuzz_draw *draw, unsigned n);
/* One of 65 536 values, both ends among them. */
double fuzz_between(struct fuzz_draw *draw, double low, double high);

#endif
