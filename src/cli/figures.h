/* The figures that burn and compare show: one table of labels, units and where each stands in a result. */
#ifndef CLI_FIGURES_H
#define CLI_FIGURES_H

#include "terminal.h"

struct cli_figure {
    const char *group; /* starts a new group if not NULL */
    const char *label;
    enum sm_dim dim;
    size_t offset;    /* of the double in struct sm_result [bytes] */
    const char *note; /* behind the value; may be NULL */
    size_t sigma;     /* of its one-sigma there; 0: it has none [bytes] */
    bool in_compare;
    bool is_velocity; /* of gas [m/s], shown as such */
};
extern const struct cli_figure cli_figures[];
extern const size_t cli_n_figures;

double cli_figure_value(const struct cli_figure *figure, const struct sm_result *result);

/* Its standard deviation, in its unit; NaN where there is none. */
double cli_figure_sigma(const struct cli_figure *figure, const struct sm_result *result);

const char *cli_figure_text(char buf[CLI_NUMBER], const struct cli_figure *figure, double value,
                            enum sm_unit_system system);

/* A class and its limits; designation may be NULL. */
void cli_print_class(const struct sm_impulse_class *c, const char *designation, enum sm_unit_system system);
/* "3 of them: 525 N s installed". */
void cli_print_installed(int count, double impulse_each, enum sm_unit_system system);

/* Levels and limits for a case, on standard output, each with its source in brief. */
void cli_print_guidance(const struct sm_rule_case *c);

/* The two sentences that every result ends with. */
void cli_print_caution(void);

#endif
