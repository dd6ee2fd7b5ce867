/* A wished flight, and what it needs: lift --needs. */
#ifndef CLI_NEEDS_H
#define CLI_NEEDS_H

#include "command.h"

/* What is wished, NaN for what is not given. False, said, on a fault or if options don't go together. */
bool cli_take_wish(const struct cli *cli, struct sm_needs_wish *wish);

/* Reckons what it needs, writes the request and shows it; faults are said. */
enum cli_exit cli_needs(const struct cli *cli, const struct sm_vehicle *vehicle,
                        const struct sm_needs_wish *wish);

#endif
