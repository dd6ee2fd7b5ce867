/* What lift says of a vehicle: the answer, its landings and how far off it may be. */
#ifndef CLI_LIFTREPORT_H
#define CLI_LIFTREPORT_H

#include "command.h"

/* The answer in a few lines: does it lift, hover and land, and how far off may it be? */
void cli_print_lift_answer(const struct sm_lift *lift, enum sm_unit_system system);

/* Landing windows under all bounds, and what comes after contact. */
void cli_print_landings(const struct sm_lift *lift, enum sm_unit_system system);

/* The plan, and how it ends on a vehicle that is not as told. */
void cli_print_off_by(const struct sm_lift *lift, enum sm_unit_system system);

#endif
