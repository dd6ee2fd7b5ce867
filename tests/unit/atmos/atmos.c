/* The standard atmosphere against its printed tables. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "atmos/atmos.h"
#include "reference/reference.h"

static void compare(const char *file, enum sm_status (*at)(double, struct sm_air *, struct sm_error *))
{
    struct ref_table *t = ref_read(file);
    for (size_t i = 0; i < t->n_rows; i++) {
        struct sm_air air;
        struct sm_error err;
        cr_assert_eq(at(ref_number(t, i, "altitude"), &air, &err), SM_OK, "%s", err.message);
        ref_expect(t, i, "temperature", air.temperature);
        ref_expect(t, i, "pressure", air.pressure);
        ref_expect(t, i, "density", air.density);
    }
    free(t);
}

Test(atmos, by_geopotential_altitude)
{
    compare("atmosphere-geopotential.csv", sm_air_at_geopotential);
}

Test(atmos, by_geometric_altitude)
{
    compare("atmosphere-geometric.csv", sm_air_at);
}

/* The two altitudes differ by 2.4 % of the pressure at 32 km; H = r_0 Z/(r_0 + Z) [U.S. Standard Atmosphere, eq. 18]. */
Test(atmos, the_two_altitudes)
{
    struct sm_air a, b;
    cr_assert_eq(sm_air_at(32000.0, &a, NULL), SM_OK);
    cr_assert_eq(sm_air_at_geopotential(32000.0, &b, NULL), SM_OK);
    cr_expect_float_eq(a.pressure / b.pressure, 1.024, 5e-4);
    cr_assert_eq(sm_air_at_geopotential(6356766.0 * 32000.0 / (6356766.0 + 32000.0), &b, NULL), SM_OK);
    cr_expect_float_eq(a.pressure, b.pressure, 1e-12 * a.pressure);
}

/* dp/dH = -rho g_0, and no step at a layer's edge. */
Test(atmos, hydrostatic)
{
    struct sm_air at, above, below;
    for (double h = -4900.0; h < 84800.0; h += 137.0) {
        const double d = 0.5;
        cr_assert_eq(sm_air_at_geopotential(h, &at, NULL), SM_OK);
        cr_assert_eq(sm_air_at_geopotential(h + d, &above, NULL), SM_OK);
        cr_assert_eq(sm_air_at_geopotential(h - d, &below, NULL), SM_OK);
        const double slope = (above.pressure - below.pressure) / (2.0 * d);
        /* central difference: (d/scale height)^2/6, and rounding 1e-16 p/d */
        cr_expect_float_eq(slope, -at.density * 9.80665, 2e-8 * at.density * 9.80665, "H %g", h);
        cr_expect(above.pressure < below.pressure && above.density < below.density);
    }
}

Test(atmos, limits)
{
    struct sm_air air = {1.0, 2.0, 3.0};
    struct sm_error err;
    cr_expect_eq(sm_air_at(-5000.0, &air, &err), SM_OK);
    cr_expect_eq(sm_air_at(86000.0, &air, &err), SM_OK);
    cr_expect_eq(sm_air_at_geopotential(84852.0, &air, &err), SM_OK);
    const struct sm_air before = air;
    cr_expect_eq(sm_air_at(86000.1, &air, &err), SM_E_RANGE);
    cr_expect_not_null(strstr(err.message, "86000"));
    cr_expect_eq(sm_air_at(-5000.1, &air, &err), SM_E_RANGE);
    cr_expect_eq(sm_air_at((double)NAN, &air, &err), SM_E_RANGE);
    cr_expect_eq(sm_air_at_geopotential(84853.0, &air, &err), SM_E_RANGE);
    cr_expect_eq(memcmp(&before, &air, sizeof air), 0, "output touched on failure");
}
