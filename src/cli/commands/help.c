#include "terminal.h"

#include <string.h>

static enum cli_exit run(struct cli *cli)
{
    if (cli->n_arguments == 0) {
        cli_print_overview();
        return CLI_DONE;
    }
    if (cli_print_topic(cli->arguments[0]))
        return CLI_DONE;
    const struct sm_command *command = cli_find_command(cli->arguments[0]);
    if (!command)
        return CLI_BAD_INPUT;
    cli_print_help(command);
    return CLI_DONE;
}

const struct sm_command sm_command_help = {
    .name = "help",
    .summary = "say what the commands are, or how to use one; or a topic",
    .arguments = "[COMMAND or TOPIC]",
    .example = "slowmatch help burn",
    .max_arguments = 1,
    .run = run,
};
