/* What is lit at a height on the way down, and how it is flown till then. */
#ifndef CLI_IGNITIONS_H
#define CLI_IGNITIONS_H

#include "command.h"

void cli_print_ignitions(const struct sm_lift *lift, enum sm_unit_system system);

#endif
