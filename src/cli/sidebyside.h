/* Results in columns beside each other, with ratios to the first. */
#ifndef CLI_SIDEBYSIDE_H
#define CLI_SIDEBYSIDE_H

#include "terminal.h"

/* The figures that are compared, one column a result under its heading (n headings), three columns abreast. */
void cli_print_side_by_side(const struct sm_result *const *results, const char *const *headings, size_t n,
                            enum sm_unit_system system);

/* Writes --csv and --plot of n results, and with --json the machine form; the names were looked at before the runs. */
enum cli_exit cli_write_side_by_side(const struct cli *cli, const struct sm_result *const *results, size_t n);

#endif
