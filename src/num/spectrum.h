/* Where the power of a record lies in frequency. */
#ifndef SM_NUM_SPECTRUM_H
#define SM_NUM_SPECTRUM_H

#include <stddef.h>

#include "base/arena.h"
#include "base/fail.h"

struct sm_spectrum {
    double *
        power; /* n_bins of them, one-sided; bin i is at i * step; bin 0 is left 0 [unit of x squared per Hz] */
    size_t n_bins;  /* 1 + half of the segment */
    double step;    /* between bins [Hz] */
    size_t segment; /* samples of each segment: a power of two */
    size_t n_averaged;
};

/*
 * Power spectral density by Welch's method: segments that overlap by half, each without its best straight line,
 * Hann's window, mean of the periodograms.
 *
 * Given: x[n] equally spaced by interval [s]; segment, a power of two from 16 up, at most n.
 * Returned: *out in the arena. Status: SM_E_RANGE for the segment; SM_E_NOMEM; SM_E_INTERNAL if GSL refuses.
 * Reference: P. Welch, IEEE Trans. Audio Electroacoust. 15 (1967) 70.
 */
enum sm_status sm_spectrum_welch(struct sm_arena *arena, const double *x, size_t n, double interval,
                                 size_t segment, struct sm_spectrum *out, struct sm_error *err) SM_MUST_CHECK;

#endif
