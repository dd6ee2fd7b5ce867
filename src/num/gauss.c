#include "num/gauss.h"

#include <math.h>

/* Legendre's polynomial of degree n at x, and its derivative, by the recurrence. */
static double legendre(int n, double x, double *slope)
{
    double last = 1.0, p = x;
    for (int k = 2; k <= n; k++) {
        const double next = ((2 * k - 1) * x * p - (k - 1) * last) / k;
        last = p;
        p = next;
    }
    *slope = n * (x * p - last) / (x * x - 1.0);
    return p;
}

/* Newton's method from Tricomi's guess, which is so near that five steps reach rounding for any n. */
void sm_gauss_make(int n, struct sm_gauss *out)
{
    enum { STEPS = 5 };
    out->n = n;
    for (int i = 0; i < n; i++) {
        double x = -cos(M_PI * (i + 0.75) / (n + 0.5)), slope = 1.0;
        for (int k = 0; k < STEPS; k++)
            x -= legendre(n, x, &slope) / slope;
        legendre(n, x, &slope);
        out->place[i] = 0.5 * (1.0 + x);
        out->share[i] = 1.0 / ((1.0 - x * x) * slope * slope);
    }
}
