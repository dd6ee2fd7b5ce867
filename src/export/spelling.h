/* How standards spell the units of the columns. */
#ifndef SM_EXPORT_SPELLING_H
#define SM_EXPORT_SPELLING_H

#include "slowmatch/param.h"

struct sm_spelling {
    enum sm_dim dim;
    const char *ucum;     /* Unified Code for Units of Measure 2.2: "kg.s-1" */
    const char *qudt;     /* local name in http://qudt.org/vocab/unit/: "KiloGM-PER-SEC" */
    const char *dave;     /* ANSI/AIAA S-119: "kg_s" */
    const char *fmi;      /* name in a unit's description: "kg/s" */
    const char *fmi_base; /* its exponents, as attributes of BaseUnit: " kg=\"1\" s=\"-1\"" */
    const char *quantity; /* of FMI's Real: "MassFlowRate" */
};

/* The spelling of a dimension that a column has; that of SM_DIM_NONE for any other. */
const struct sm_spelling *sm_spelling_of(enum sm_dim dim);

#endif
