/* One motor at several grain temperatures. */
#ifndef CLI_TEMPERATURES_H
#define CLI_TEMPERATURES_H

#include "terminal.h"

/* Burns the motor in path at each temperature of --temperatures and writes one table, plot, CSV or JSON array. */
enum cli_exit cli_burn_temperatures(struct cli *cli, const char *path);

#endif
