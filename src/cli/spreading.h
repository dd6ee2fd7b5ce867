/* What the commands that show a spread share. */
#ifndef CLI_SPREADING_H
#define CLI_SPREADING_H

#include "command.h"

/* A whole number from an option, or the fallback without it. False, said, on a fault. */
bool cli_take_count(const struct cli *cli, const char *option, unsigned long long least,
                    unsigned long long most, unsigned long long fallback, unsigned long long *out);

/* Reads the options of `slowmatch spread`, after cli_load_options. False, said, on a fault. */
bool cli_spread_options(const struct cli *cli, struct sm_spread_options *options);

/* Loads the motor and runs; problems are said. NULL on failure. With progress on a terminal unless quiet. */
enum cli_exit cli_spread_run(struct cli *cli, const struct sm_spread_options *options, bool is_quiet,
                             struct sm_spread **spread);

/* Writes the files asked for and shows the spread. */
enum cli_exit cli_spread_show(const struct cli *cli, const struct sm_spread *spread);

#endif
