#include "num/bracket.h"

#include <float.h>
#include <math.h>

/* Share of the way from b to a at which to look next [1]: fa and fb differ in sign, c lies beyond b. */
static double next_share(double a, double b, double c, double fa, double fb, double fc)
{
    const double xi = (a - b) / (c - b), phi = (fa - fb) / (fc - fb);
    if (!(phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi))
        return 0.5;
    return fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb);
}

double sm_bracket_root(double (*f)(const void *user, double x), const void *user, double a, double b)
{
    enum { MOST = 200 };
    double fa = f(user, a), fb, share = 0.5;
    if (!(fa < 0.0))
        return a;
    fb = f(user, b);
    if (!(fb > 0.0))
        return b;
    /* From here on the newest place is a, the root lies between a and b, and c is the place before. */
    for (int k = 0; k < MOST; k++) {
        const double x = a + share * (b - a), fx = f(user, x);
        double c = a, fc = fa;
        if ((fx < 0.0) != (fa < 0.0)) {
            c = b;
            fc = fb;
            b = a;
            fb = fa;
        }
        a = x;
        fa = fx;
        const double best = fabs(fa) < fabs(fb) ? a : b, least = DBL_EPSILON * (fabs(best) + DBL_MIN);
        const double edge = least / fabs(b - a);
        if (!(edge < 0.5) || !(fabs(fa) > 0.0))
            return !(fabs(fa) > 0.0) ? a : best;
        share = fmin(fmax(next_share(a, b, c, fa, fb, fc), edge), 1.0 - edge);
    }
    return a;
}
