/* The command: finds the subcommand, runs it, ends with its exit code. */
#include "command.h"
#include "terminal.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>

const struct sm_command *cli_find_command(const char *name)
{
    enum { MOST = 64 };
    const char *names[MOST + 1] = {NULL};
    size_t n = 0;
    for (; sm_command_list[n]; n++) {
        if (strcmp(sm_command_list[n]->name, name) == 0)
            return sm_command_list[n];
        if (n < MOST)
            names[n] = sm_command_list[n]->name;
    }
    const char *near = sm_nearest_name(name, names);
    if (near)
        cli_say_usage(NULL, "there is no command \"%s\"; did you mean \"%s\"?", name, near);
    else
        cli_say_usage(NULL, "there is no command \"%s\"", name);
    return NULL;
}

void cli_print_overview(void)
{
    puts("slowmatch: what a solid motor's grain will do, before it is lit\n\nusage: slowmatch COMMAND ...\n");
    for (size_t i = 0; sm_command_list[i]; i++)
        printf("  %-12s %s\n", sm_command_list[i]->name, sm_command_list[i]->summary);
    puts("\n'slowmatch help COMMAND' gives its options. Numbers in files and options carry their units, as "
         "\"2.5 mm\".\n"
         "Exit codes: 0 done; 1 could not compute, or output failed; 2 bad input or usage; 3 warnings under "
         "--strict;\n"
         "70 a bug in slowmatch; 130 stopped by the user.");
}

void cli_print_help(const struct sm_command *command)
{
    const struct cli_option *rows[CLI_MAX_OPTIONS];
    const size_t n = cli_options_of(command, rows);
    printf("slowmatch %s: %s\n\nusage: slowmatch %s [OPTIONS] %s\n", command->name, command->summary,
           command->name, command->arguments);
    if (command->detail) {
        fputc('\n', stdout);
        cli_wrap(stdout, command->detail, 0, 100);
    }
    puts("\noptions");
    for (size_t i = 0; i < n; i++) {
        char name[64];
        snprintf(name, sizeof name, "--%s%s%s", rows[i]->name, rows[i]->value ? " " : "",
                 rows[i]->value ? rows[i]->value : "");
        printf("  %-28s %s\n", name, rows[i]->help);
    }
    if (command->example)
        printf("\nexample\n  %s\n", command->example);
}

static enum cli_exit run_command(const char *program, const struct sm_command *command, int argc, char **argv)
{
    struct cli *cli = calloc(1, sizeof *cli);
    if (!cli) {
        fputs("slowmatch: error: out of memory\n", stderr);
        return CLI_FAILED;
    }
    cli->program = program;
    cli->command = command;
    enum cli_exit code = CLI_BAD_INPUT;
    if (cli_parse(cli, argc, argv)) {
        if (cli_flag(cli, "help")) {
            cli_print_help(command);
            code = CLI_DONE;
        } else
            code = command->run(cli);
    }
    cli_release(cli);
    free(cli);
    return code;
}

int main(int argc, char **argv)
{
    const char *word = argc > 1 ? argv[1] : "help";
    enum cli_exit code;
    signal(SIGPIPE, SIG_IGN); /* a closed pipe is seen where it is written */
    if (strcmp(word, "--version") == 0) {
        printf("slowmatch %s\n", sm_version());
        code = CLI_DONE;
    } else if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0) {
        cli_print_overview();
        code = CLI_DONE;
    } else {
        const struct sm_command *command = cli_find_command(word);
        code = command ? run_command(argv[0], command, argc > 2 ? argc - 2 : 0, argv + 2) : CLI_BAD_INPUT;
        if (argc < 2)
            code = CLI_BAD_INPUT;
    }
    const enum cli_exit closed = cli_close_stdout();
    return (int)(code == CLI_DONE ? closed : code);
}
