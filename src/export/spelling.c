#include "export/spelling.h"
#include "base/fail.h"

static const struct sm_spelling spellings[] = {
    {SM_DIM_NONE, "1", "UNITLESS", "nd", "1", "", "Ratio"},
    {SM_DIM_TIME, "s", "SEC", "s", "s", " s=\"1\"", "Time"},
    {SM_DIM_FORCE, "N", "N", "N", "N", " kg=\"1\" m=\"1\" s=\"-2\"", "Force"},
    {SM_DIM_IMPULSE, "N.s", "N-SEC", "Ns", "N.s", " kg=\"1\" m=\"1\" s=\"-1\"", "Impulse"},
    {SM_DIM_MASS_FLOW, "kg.s-1", "KiloGM-PER-SEC", "kg_s", "kg/s", " kg=\"1\" s=\"-1\"", "MassFlowRate"},
    {SM_DIM_PRESSURE, "Pa", "PA", "Pa", "Pa", " kg=\"1\" m=\"-1\" s=\"-2\"", "Pressure"},
    {SM_DIM_MASS, "kg", "KiloGM", "kg", "kg", " kg=\"1\"", "Mass"},
    {SM_DIM_LENGTH, "m", "M", "m", "m", " m=\"1\"", "Length"},
    {SM_DIM_INERTIA, "kg.m2", "KiloGM-M2", "kgm2", "kg.m2", " kg=\"1\" m=\"2\"", "MomentOfInertia"},
    {SM_DIM_AREA, "m2", "M2", "m2", "m2", " m=\"2\"", "Area"},
    {SM_DIM_TEMPERATURE, "K", "K", "dgK", "K", " K=\"1\"", "ThermodynamicTemperature"},
};

const struct sm_spelling *sm_spelling_of(enum sm_dim dim)
{
    for (size_t i = 0; i < SM_COUNT(spellings); i++)
        if (spellings[i].dim == dim)
            return &spellings[i];
    return &spellings[0];
}
