#include "num/spectrum.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_fft_real.h>
#include <math.h>

static const double pi = 3.14159265358979323846;

/* Window at place i of m, and the segment without the line through its mean and mean slope. */
static void prepare(const double *x, size_t m, double *out)
{
    const double last = (double)(m - 1), middle = 0.5 * last;
    double mean = 0.0, slope = 0.0, spread = 0.0;
    for (size_t i = 0; i < m; i++) {
        const double at = (double)i - middle;
        mean += x[i];
        slope += at * x[i];
        spread += at * at;
    }
    mean /= (double)m;
    slope /= spread;
    for (size_t i = 0; i < m; i++) {
        const double hann = 0.5 * (1.0 - cos(2.0 * pi * (double)i / (double)m));
        out[i] = hann * (x[i] - mean - slope * ((double)i - middle));
    }
}

/* Adds the squared moduli of a transform in GSL's half-complex order. */
static void add_power(const double *transform, size_t m, double *power)
{
    for (size_t k = 1; k < m / 2; k++)
        power[k] += transform[k] * transform[k] + transform[m - k] * transform[m - k];
    power[m / 2] += transform[m / 2] * transform[m / 2];
}

enum sm_status sm_spectrum_welch(struct sm_arena *arena, const double *x, size_t n, double interval,
                                 size_t segment, struct sm_spectrum *out, struct sm_error *err)
{
    if (segment < 16 || segment > n || (segment & (segment - 1)) != 0)
        return sm_fail(err, SM_E_RANGE, "a segment of %zu samples is no power of two from 16 to %zu", segment,
                       n);
    struct sm_spectrum s = {
        .n_bins = 1 + segment / 2, .step = 1.0 / ((double)segment * interval), .segment = segment};
    double *room = sm_arena_alloc(arena, segment, sizeof *room);
    s.power = sm_arena_alloc(arena, s.n_bins, sizeof *s.power);
    if (!room || !s.power)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t from = 0; from + segment <= n; from += segment / 2) {
        prepare(x + from, segment, room);
        if (gsl_fft_real_radix2_transform(room, 1, segment) != GSL_SUCCESS)
            return sm_fail(err, SM_E_INTERNAL, "the Fourier transform of %zu samples failed", segment);
        add_power(room, segment, s.power);
        s.n_averaged++;
    }
    /* Hann's window has a mean square of 3/8; two sides of the spectrum are told as one. */
    const double scale = 2.0 * interval / (0.375 * (double)segment * (double)s.n_averaged);
    for (size_t k = 1; k < s.n_bins; k++)
        s.power[k] *= k == segment / 2 ? 0.5 * scale : scale;
    *out = s;
    return SM_OK;
}
