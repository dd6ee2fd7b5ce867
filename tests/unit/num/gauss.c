/* Gauss points against the integrals of powers. */
#include <criterion/criterion.h>
#include <math.h>

#include "num/gauss.h"

/* n points are exact for all powers up to 2 n - 1: 1 / (k + 1), to rounding. The next power they miss by (n!)^4 / ((2 n + 1)
 * ((2 n)!)^2) of the interval (M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 25.4.29-30), which makes sure
 * that no more points are at work than asked for. */
Test(num_gauss, exact_for_powers)
{
    for (int n = 1; n <= SM_MOST_GAUSS; n++) {
        struct sm_gauss gauss;
        cr_assert_eq(sm_gauss_make(n, &gauss), SM_OK);
        cr_assert_eq(gauss.n, n);
        for (int k = 0; k <= 2 * n; k++) {
            double sum = 0.0;
            for (int i = 0; i < n; i++)
                sum += gauss.share[i] * pow(gauss.place[i], k);
            const double miss =
                k < 2 * n ? 0.0 : exp(4 * lgamma(n + 1.0) - 2 * lgamma(2 * n + 1.0)) / (2 * n + 1);
            cr_expect_float_eq(sum, 1.0 / (k + 1) - miss, 2e-15, "%d points, power %d: %.17g", n, k, sum);
        }
        for (int i = 1; i < n; i++)
            cr_expect_gt(gauss.place[i], gauss.place[i - 1]);
    }
}
