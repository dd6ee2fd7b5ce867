#include "figures.h"
#include "sidebyside.h"

#include <stdlib.h>
#include <string.h>

struct set {
    struct sm_motor *motors[SM_MAX_MOTORS];
    struct sm_result *results[SM_MAX_MOTORS];
    size_t n;
};

static void explain(const struct set *set, const struct sm_result *const *results)
{
    char text[2048];
    const struct sm_motor *motors[SM_MAX_MOTORS];
    for (size_t i = 0; i < set->n; i++)
        motors[i] = set->motors[i];
    if (sm_explain_burn_times(motors, results, set->n, text, sizeof text) <= 0)
        return;
    puts("\nwhy the burn times differ");
    cli_wrap(stdout, text, 2, 2);
}

static enum cli_standing standing_of(const struct sm_result *const *results, size_t n)
{
    size_t given = 0;
    for (size_t i = 0; i < n; i++)
        given += results[i]->is_curve;
    return given == 0 ? CLI_PREDICTED : given < n ? CLI_GIVEN_BESIDE_PREDICTED : CLI_GIVEN;
}

static enum cli_exit show(const struct cli *cli, const struct set *set)
{
    const char *headings[SM_MAX_MOTORS];
    const struct sm_result *results[SM_MAX_MOTORS];
    for (size_t i = 0; i < set->n; i++) {
        results[i] = set->results[i];
        headings[i] = set->results[i]->motor;
    }
    const enum cli_exit code = cli_write_side_by_side(cli, results, set->n);
    if (code != CLI_DONE || cli_flag(cli, "json"))
        return code;
    cli_print_side_by_side(results, headings, set->n, cli->system);
    explain(set, results);
    cli_print_caution(standing_of(results, set->n));
    return CLI_DONE;
}

static void release(struct set *set)
{
    for (size_t i = 0; i < set->n; i++) {
        sm_result_free(set->results[i]);
        sm_motor_free(set->motors[i]);
    }
}

static enum cli_exit run(struct cli *cli)
{
    struct set set = {.n = 0};
    enum cli_exit code = CLI_DONE;
    size_t n_warnings = 0;
    if (!cli_load_options(cli) || !cli_output_names(cli))
        return CLI_BAD_INPUT;
    for (size_t i = 0; i < cli->n_arguments && code == CLI_DONE; i++) {
        code = cli_burn(cli, cli->arguments[i], &set.motors[set.n], &set.results[set.n]);
        if (code != CLI_DONE)
            break;
        n_warnings += set.results[set.n]->n_warnings;
        code = set.results[set.n++]->complete ? CLI_DONE : CLI_STOPPED;
    }
    if (code == CLI_DONE)
        code = show(cli, &set);
    for (size_t i = 0; i < set.n && set.n == cli->n_arguments; i++)
        cli_say_warnings(set.results[i], cli->arguments[i]);
    if (code == CLI_DONE && cli_flag(cli, "strict") && n_warnings > 0)
        code = CLI_WARNED;
    release(&set);
    return code;
}

const struct sm_command sm_command_compare = {
    .name = "compare",
    .summary = "set two or more motors side by side: table, plots, and why their burn times differ",
    .arguments = "MOTOR MOTOR...",
    .detail =
        "Burns each motor, or takes a curve from a file (.csv, DAVE-ML, a result as JSON), and puts them "
        "in one table, with ratios to the first, and one plot of thrust and of pressure. --set acts on "
        "every motor.",
    .example =
        "slowmatch compare examples/sandpiper-end-burner.json examples/sandpiper-cored.json --plot both.svg",
    .shared = CLI_SET | CLI_JSON | CLI_CSV | CLI_PLOT | CLI_UNITS | CLI_STRICT | CLI_RUN | CLI_BURN_END,
    .min_arguments = 2,
    .max_arguments = SM_MAX_MOTORS,
    .run = run,
};
