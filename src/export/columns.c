/* The columns of a result's series, by name, with units. */
#include "base/fail.h"
#include "slowmatch/simulate.h"

#include <stddef.h>

#define COLUMN(field, d)                                                                                     \
    {                                                                                                        \
        .name = #field, .dim = d, .offset = offsetof(struct sm_series, field)                                \
    }

static const struct sm_column columns[] = {
    COLUMN(time, SM_DIM_TIME),
    COLUMN(thrust, SM_DIM_FORCE),
    COLUMN(pressure, SM_DIM_PRESSURE),
    COLUMN(mass_flow, SM_DIM_MASS_FLOW),
    COLUMN(burn_area, SM_DIM_AREA),
    COLUMN(kn, SM_DIM_NONE),
    COLUMN(web, SM_DIM_LENGTH),
    COLUMN(propellant_mass, SM_DIM_MASS),
    COLUMN(center_of_mass, SM_DIM_LENGTH),
    COLUMN(inertia_axial, SM_DIM_INERTIA),
    COLUMN(inertia_transverse, SM_DIM_INERTIA),
    COLUMN(throat_diameter, SM_DIM_LENGTH),
    COLUMN(area_ratio, SM_DIM_NONE),
    COLUMN(motor_mass, SM_DIM_MASS),
    COLUMN(motor_center_of_mass, SM_DIM_LENGTH),
    COLUMN(motor_inertia_axial, SM_DIM_INERTIA),
    COLUMN(motor_inertia_transverse, SM_DIM_INERTIA),
    COLUMN(pressure_aft, SM_DIM_PRESSURE),
    COLUMN(pressure_nozzle, SM_DIM_PRESSURE),
    COLUMN(mach, SM_DIM_NONE),
    COLUMN(mass_flux, SM_DIM_MASS_FLUX),
};

size_t sm_column_list(const struct sm_column **out)
{
    *out = columns;
    return SM_COUNT(columns);
}

size_t sm_result_columns(const struct sm_result *result, const struct sm_column **out)
{
    *out = columns;
    /* The last four are the axial model's, and left out altogether with another; so are then the whole motor's four before
     * them where there is no hardware. */
    if (result->series.mach)
        return SM_COUNT(columns);
    return result->series.motor_mass ? SM_COUNT(columns) - 4 : SM_COUNT(columns) - 8;
}

const double *sm_result_column(const struct sm_result *result, size_t i)
{
    return *(double *const *)(const void *)((const char *)&result->series + columns[i].offset);
}
