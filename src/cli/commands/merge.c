#include "spreading.h"

#include "terminal.h"

static enum cli_exit run(struct cli *cli)
{
    struct sm_spread *spread = NULL;
    struct sm_error err = {0};
    if (!cli_unit_system(cli) || !cli_output_names(cli))
        return CLI_BAD_INPUT;
    const enum sm_status status = sm_spread_merge_files(cli->arguments, cli->n_arguments, &spread, &err);
    if (status != SM_OK) {
        cli_say_error(&err);
        return cli_exit_of_input(status);
    }
    const enum cli_exit code = cli_spread_show(cli, spread);
    sm_spread_free(spread);
    return code;
}

const struct sm_command sm_command_merge = {
    .name = "merge",
    .summary = "put the shards of a spread together: the same bits as one process",
    .arguments = "FILE...",
    .detail = "Reads what spread --shard I/K --output FILE wrote, all K of them in any order, and shows the "
              "spread.",
    .example = "slowmatch merge part1 part2 part3 --plot bands.svg",
    .shared = CLI_JSON | CLI_CSV | CLI_PLOT | CLI_UNITS,
    .min_arguments = 1,
    .max_arguments = CLI_MAX_GIVEN,
    .run = run,
};
