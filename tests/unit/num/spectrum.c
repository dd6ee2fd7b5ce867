/* Power spectra: the power of a sine and of white noise, both closed forms. */
#include "num/spectrum.h"

#include <criterion/criterion.h>
#include <math.h>

enum { N = 16384 };

static double x[N];

static void spectrum_of(struct sm_arena *arena, struct sm_spectrum *s)
{
    struct sm_error err;
    sm_arena_init(arena, NULL);
    cr_assert_eq(sm_spectrum_welch(arena, x, N, 1e-3, 1024, s, &err), SM_OK);
}

/* A sine of amplitude a has the power a^2 / 2, all of it near its frequency. */
Test(spectrum, of_a_sine)
{
    struct sm_arena arena;
    struct sm_spectrum s;
    for (int i = 0; i < N; i++)
        x[i] = 10.0 + 0.002 * i + 3.0 * sin(2.0 * 3.14159265358979323846 * 123.4 * 1e-3 * i);
    spectrum_of(&arena, &s);
    double sum = 0.0, near = 0.0;
    for (size_t k = 1; k < s.n_bins; k++) {
        sum += s.power[k] * s.step;
        if (fabs((double)k * s.step - 123.4) < 3.0 * s.step)
            near += s.power[k] * s.step;
    }
    cr_expect_float_eq(sum, 4.5, 0.01 * 4.5, "%g", sum);
    cr_expect_float_eq(near, 4.5, 0.01 * 4.5, "%g", near);
    sm_arena_release(&arena);
}

/* White noise of variance v at 1 kHz has the density 2 v / 1000 up to 500 Hz. */
Test(spectrum, of_white_noise)
{
    struct sm_arena arena;
    struct sm_spectrum s;
    unsigned long state = 3;
    double variance = 0.0;
    for (int i = 0; i < N; i++) {
        state = state * 3935559000370003845UL + 2691343689449507681UL;
        x[i] = (double)(state >> 11) / 9007199254740992.0 - 0.5;
        variance += x[i] * x[i] / N;
    }
    spectrum_of(&arena, &s);
    double low = 0.0, high = 0.0;
    for (size_t k = 2; k < s.n_bins - 1; k++)
        *(k < s.n_bins / 2 ? &low : &high) += s.power[k] / (double)(s.n_bins / 2);
    /* Each half is the mean of 256 bins of some 16 independent segments: 1/64, or 1.6 %; thrice that. */
    cr_expect_float_eq(low, 2.0 * variance / 1000.0, 0.05 * 2.0 * variance / 1000.0, "%g", low);
    cr_expect_float_eq(high, 2.0 * variance / 1000.0, 0.05 * 2.0 * variance / 1000.0, "%g", high);
    sm_arena_release(&arena);
}

Test(spectrum, refuses_segments_that_are_no_power_of_two)
{
    struct sm_arena arena;
    struct sm_spectrum s;
    struct sm_error err;
    sm_arena_init(&arena, NULL);
    cr_expect_eq(sm_spectrum_welch(&arena, x, N, 1.0, 1000, &s, &err), SM_E_RANGE);
    cr_expect_eq(sm_spectrum_welch(&arena, x, 512, 1.0, 1024, &s, &err), SM_E_RANGE);
    sm_arena_release(&arena);
}
