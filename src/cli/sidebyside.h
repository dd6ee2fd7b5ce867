/* Results in columns beside each other, with ratios to the first. */
#ifndef CLI_SIDEBYSIDE_H
#define CLI_SIDEBYSIDE_H

#include "terminal.h"

/* The figures that are compared, one column a result under its heading (n headings), three columns abreast. */
void cli_print_side_by_side(const struct sm_result *const *results, const char *const *headings, size_t n,
                            enum sm_unit_system system);

#endif
