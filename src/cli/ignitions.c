#include "ignitions.h"

#include "terminal.h"

void cli_print_ignitions(const struct sm_lift *lift, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER], line[600];
    if (lift->n_ignitions == 0)
        return;
    puts("\nlit at a height, on the way down");
    for (size_t i = 0; i < lift->n_ignitions; i++) {
        const struct sm_lift_ignition *g = &lift->ignitions[i];
        snprintf(
            line, sizeof line,
            "The motors of /motors/%zu: at %s, through which it falls at %s with %s; they burn from %s on.",
            g->group, cli_height(a, g->height, system), cli_measure(b, g->time, SM_DIM_TIME, system),
            cli_velocity(c, -g->speed, system), cli_measure(d, g->burns_from, SM_DIM_TIME, system));
        cli_wrap(stdout, line, 2, 2);
    }
    snprintf(line, sizeof line, "Before, it comes up to %s. %s",
             cli_height(a, lift->ignition_highest, system), lift->steering);
    cli_wrap(stdout, line, 2, 2);
}
