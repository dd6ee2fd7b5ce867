/* The command: finds the subcommand, runs it, ends with its exit code. */
#include "command.h"
#include "terminal.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static enum cli_exit run_command(const char *program, const struct sm_command *command, int argc, char **argv)
{
    struct cli *cli = calloc(1, sizeof *cli);
    if (!cli)
        return cli_no_memory();
    cli->program = program;
    cli->command = command;
    enum cli_exit code = CLI_BAD_INPUT;
    if (cli_parse(cli, argc, argv)) {
        if (cli_flag(cli, "help")) {
            cli_print_help(command);
            code = CLI_DONE;
        } else
            code = command->run(cli);
        if (code == CLI_BAD_INPUT && cli->is_out_of_memory)
            code = CLI_FAILED;
        if (code != CLI_DONE && cli_is_stopped())
            code = CLI_STOPPED;
    }
    cli_release(cli);
    free(cli);
    return code;
}

/* Where this program is, so that it finds its data beside it wherever it was unpacked. */
static const char *program_path(const char *called)
{
    static const char self[] = "/proc/self/exe";
    return access(self, R_OK) == 0 ? self : called;
}

int main(int argc, char **argv)
{
    const char *word = argc > 1 ? argv[1] : "help";
    enum cli_exit code;
    signal(SIGPIPE, SIG_IGN); /* a closed pipe is seen where it is written */
    cli_watch_interrupt();
    if (strcmp(word, "--version") == 0) {
        printf("slowmatch %s\n", sm_version());
        code = CLI_DONE;
    } else if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0) {
        cli_print_overview();
        code = CLI_DONE;
    } else {
        const struct sm_command *command = cli_find_command(word);
        code = command ? run_command(program_path(argv[0]), command, argc > 2 ? argc - 2 : 0, argv + 2)
                       : CLI_BAD_INPUT;
        if (argc < 2)
            code = CLI_BAD_INPUT;
    }
    const enum cli_exit closed = cli_close_stdout();
    return (int)(code == CLI_DONE ? closed : code);
}
