#include "num/filter.h"

#include <math.h>

static const double pi = 3.14159265358979323846;

enum sm_status sm_filter_design(double cutoff, struct sm_filter *out, struct sm_error *err)
{
    if (!(cutoff > 0.0 && cutoff < 0.5))
        return sm_fail(err, SM_E_RANGE,
                       "a cut-off of %.4g of the sampling rate is not between 0 and one half", cutoff);
    /* Each pass is -1.5 dB where both together are -3 dB: (1 + (wc/w1)^4) = sqrt(2). */
    const double warped = tan(pi * cutoff) / pow(sqrt(2.0) - 1.0, 0.25);
    const double square = warped * warped, damping = sqrt(2.0) * warped;
    const double whole = 1.0 + damping + square;
    *out = (struct sm_filter){
        .b0 = square / whole,
        .b1 = 2.0 * square / whole,
        .b2 = square / whole,
        .a1 = 2.0 * (square - 1.0) / whole,
        .a2 = (1.0 - damping + square) / whole,
        .cutoff = cutoff,
    };
    return SM_OK;
}

double sm_filter_gain(const struct sm_filter *filter, double frequency)
{
    const double ratio = tan(pi * frequency) / tan(pi * filter->cutoff);
    return 1.0 / (1.0 + (sqrt(2.0) - 1.0) * ratio * ratio * ratio * ratio);
}

size_t sm_filter_reach(const struct sm_filter *filter)
{
    /* The response decays as exp(-sqrt(2) pi fc h i) or faster: over three periods of the cut-off to 2e-6. */
    return (size_t)ceil(3.0 / filter->cutoff);
}

/* One pass over x[n] in place, beginning as if x[0] had stood for ever. */
static void pass(const struct sm_filter *f, double *x, size_t n, int is_backward)
{
    double x1 = is_backward ? x[n - 1] : x[0], x2 = x1, y1 = x1, y2 = x1;
    for (size_t k = 0; k < n; k++) {
        const size_t i = is_backward ? n - 1 - k : k;
        const double value = f->b0 * x[i] + f->b1 * x1 + f->b2 * x2 - f->a1 * y1 - f->a2 * y2;
        x2 = x1;
        x1 = x[i];
        y2 = y1;
        y1 = value;
        x[i] = value;
    }
}

/* The sample at place i, which may lie past either end by any number. */
static double turned(const double *x, size_t n, long i)
{
    const long last = (long)n - 1;
    if (i < 0)
        return 2.0 * x[0] - x[-i < last ? -i : last];
    if (i > last)
        return 2.0 * x[last] - x[2 * last - i > 0 ? 2 * last - i : 0];
    return x[i];
}

void sm_filter_apply(const struct sm_filter *filter, const double *x, size_t n, double *room, double *y)
{
    const size_t reach = sm_filter_reach(filter), all = n + 2 * reach;
    for (size_t k = 0; k < reach; k++) {
        room[k] = turned(x, n, (long)k - (long)reach);
        room[reach + n + k] = turned(x, n, (long)(n + k));
    }
    for (size_t i = 0; i < n; i++)
        room[reach + i] = x[i];
    pass(filter, room, all, 0);
    pass(filter, room, all, 1);
    for (size_t i = 0; i < n; i++)
        y[i] = room[reach + i];
}
