/* What is printed of every result beside its figures: class, guidance, caution. */
#ifndef CLI_FIGURES_H
#define CLI_FIGURES_H

#include "terminal.h"

/* A class and its limits; designation may be NULL. */
void cli_print_class(const struct sm_impulse_class *c, const char *designation, enum sm_unit_system system);
/* "3 of them: 525 N s installed". */
void cli_print_installed(int count, double impulse_each, enum sm_unit_system system);

/* Levels and limits for a case, on standard output, each with its source in brief. */
void cli_print_guidance(const struct sm_rule_case *c);

/* The two sentences that every result ends with. */
/* Where the numbers come from that a caution is of. */
enum cli_standing { CLI_PREDICTED, CLI_GIVEN, CLI_GIVEN_BESIDE_PREDICTED };

void cli_print_caution(enum cli_standing standing);

#endif
