/* Powers from their value nearby, against the C library's pow: what the series leaves out, e^8. */
#include "num/power.h"

#include <criterion/criterion.h>
#include <math.h>

Test(power, is_pow_nearby_and_says_so_elsewhere)
{
    for (double n = -1.0; n <= 1.0; n += 0.05) {
        const struct sm_power power = {n, 7e6, pow(7e6, n)};
        double value = 0.0;
        for (double off = -0.02; off <= 0.02; off += 0.0007) {
            const double x = 7e6 * (1.0 + off);
            cr_assert(sm_power_near(&power, x, &value));
            cr_expect_float_eq(value / pow(x, n), 1.0, 3e-14, "n %g, off %g: %g", n, off,
                               value / pow(x, n) - 1.0);
        }
        cr_expect(!sm_power_near(&power, 7.2e6, &value) && !sm_power_near(&power, 6.8e6, &value));
    }
    const struct sm_power none = {0.5, 0.0, 0.0};
    double value = 0.0;
    cr_expect(!sm_power_near(&none, 1e-300, &value));
}
