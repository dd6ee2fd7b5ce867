/*
 * US Standard Atmosphere 1976, up to 86 km geometric altitude.
 *
 * Seven layers of geopotential altitude H, in each of which the molecular-scale temperature T_M is linear; the
 * hydrostatic equation then gives the pressure in closed form, layer upon layer. The lowest layer goes on below sea
 * level. Density follows from T_M. The kinetic temperature is T_M M/M_0; the mean molar mass M leaves its sea-level
 * value M_0 only above 80 km.
 *
 * Reference: U.S. Standard Atmosphere, 1976, NOAA-S/T 76-1562: constants of its Tables 2 to 4, eqs. 18, 23, 33a and
 * 33b, and Table 8 for M/M_0.
 */
#include "atmos/atmos.h"

#include <math.h>
#include <stddef.h>

#define EARTH_RADIUS    6356766.0  /* r_0 [m] */
#define GRAVITY         9.80665    /* g_0 [m/s2] */
#define GAS_CONSTANT    8.31432    /* R*, as the standard has it [J/(mol K)]; not the SI's of today */
#define MOLAR_MASS      28.9644e-3 /* M_0 [kg/mol] */
#define SEA_PRESSURE    101325.0   /* [Pa] */
#define SEA_TEMPERATURE 288.15     /* [K] */

#define LOWEST  (-5000.0) /* [m] */
#define HIGHEST 86000.0   /* geometric [m] */

struct layer {
    double base;  /* geopotential altitude [m] */
    double lapse; /* dT_M/dH [K/m] */
};

static const struct layer layers[] = {
    {0.0, -6.5e-3}, {11e3, 0.0},     {20e3, 1.0e-3},  {32e3, 2.8e-3},
    {47e3, 0.0},    {51e3, -2.8e-3}, {71e3, -2.0e-3},
};

/* M/M_0 every 500 m of geometric altitude from 80 km, straight between [1]. */
static const double molar_mass_ratio[] = {1.0,      0.999996, 0.999989, 0.999971, 0.999941,
                                          0.999909, 0.999870, 0.999829, 0.999786, 0.999741,
                                          0.999694, 0.999641, 0.999579};
#define RATIO_BASE 80e3  /* [m] */
#define RATIO_STEP 500.0 /* [m] */

static double ratio_at(double geometric)
{
    const double place = (geometric - RATIO_BASE) / RATIO_STEP;
    if (!(place > 0.0))
        return 1.0;
    size_t i = (size_t)place;
    if (i > SM_COUNT(molar_mass_ratio) - 2)
        i = SM_COUNT(molar_mass_ratio) - 2;
    return molar_mass_ratio[i] + (place - (double)i) * (molar_mass_ratio[i + 1] - molar_mass_ratio[i]);
}

/* Pressure at the far side of a stretch of thickness dh over that at the near one, T_M there being temperature. */
static double pressure_ratio(double temperature, double lapse, double dh)
{
    const double weight = GRAVITY * MOLAR_MASS / GAS_CONSTANT; /* [K/m] */
    if (lapse == 0.0)
        return exp(-weight * dh / temperature);
    return pow(1.0 + lapse * dh / temperature, -weight / lapse);
}

static void air_at(double geopotential, double geometric, struct sm_air *air)
{
    double pressure = SEA_PRESSURE, temperature = SEA_TEMPERATURE;
    for (size_t i = 0; i < SM_COUNT(layers); i++) {
        const int is_last = i + 1 == SM_COUNT(layers) || geopotential < layers[i + 1].base;
        const double dh = (is_last ? geopotential : layers[i + 1].base) - layers[i].base;
        pressure *= pressure_ratio(temperature, layers[i].lapse, dh);
        temperature += layers[i].lapse * dh;
        if (is_last)
            break;
    }
    air->pressure = pressure;
    air->density = pressure * MOLAR_MASS / (GAS_CONSTANT * temperature);
    air->temperature = temperature * ratio_at(geometric);
}

static double geopotential_of(double geometric)
{
    return EARTH_RADIUS * geometric / (EARTH_RADIUS + geometric);
}

static enum sm_status out_of_range(double altitude, double highest, struct sm_error *err)
{
    return sm_fail(err, SM_E_RANGE, "altitude %g m is outside the standard atmosphere's %g to %.0f m",
                   altitude, LOWEST, highest);
}

enum sm_status sm_air_at(double altitude, struct sm_air *air, struct sm_error *err)
{
    if (!(altitude >= LOWEST && altitude <= HIGHEST))
        return out_of_range(altitude, HIGHEST, err);
    air_at(geopotential_of(altitude), altitude, air);
    return SM_OK;
}

enum sm_status sm_air_at_geopotential(double altitude, struct sm_air *air, struct sm_error *err)
{
    const double highest = geopotential_of(HIGHEST); /* 84 852 m */
    if (!(altitude >= LOWEST && altitude <= highest))
        return out_of_range(altitude, highest, err);
    air_at(altitude, EARTH_RADIUS * altitude / (EARTH_RADIUS - altitude), air);
    return SM_OK;
}
