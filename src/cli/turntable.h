/* What a vehicle's motors can turn, as people read it. */
#ifndef CLI_TURNTABLE_H
#define CLI_TURNTABLE_H

#include "slowmatch/slowmatch.h"

/* Thrust, splay and centre of mass through the burn, then tilt left, angular acceleration and trim, on standard output. */
void cli_print_turning(const struct sm_lift *lift, enum sm_unit_system system);

#endif
