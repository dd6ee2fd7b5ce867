/* The figures that burn and compare show: one table of labels, units and where each stands in a result. */
#ifndef CLI_FIGURES_H
#define CLI_FIGURES_H

#include "command.h"

struct cli_figure {
    const char *group; /* starts a new group if not NULL */
    const char *label;
    enum sm_dim dim;
    size_t offset;    /* of the double in struct sm_result [bytes] */
    const char *note; /* behind the value; may be NULL */
    bool in_compare;
};
extern const struct cli_figure cli_figures[];
extern const size_t cli_n_figures;

double cli_figure_value(const struct cli_figure *figure, const struct sm_result *result);

/* Levels, limits and cautions for a case, wrapped, on standard output. */
void cli_print_guidance(const struct sm_rule_case *c);

/* The two sentences that every result ends with. */
extern const char *const cli_caution;

#endif
