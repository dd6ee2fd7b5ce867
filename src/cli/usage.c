/* Finding commands, and saying how they are used. */
#include "command.h"
#include "terminal.h"

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
    cli_say_unknown(NULL, "there is no command", name, sm_nearest_name(name, names));
    return NULL;
}

void cli_print_overview(void)
{
    puts("slowmatch: what a solid motor's grain will do, before it is lit\n\nusage: slowmatch COMMAND ...\n");
    for (size_t i = 0; sm_command_list[i]; i++)
        cli_entry(sm_command_list[i]->name, sm_command_list[i]->summary, 2, 15);
    puts("\n"
         "'slowmatch help COMMAND' gives its options; 'slowmatch help TOPIC' tells of");
    cli_print_topics();
    puts("\n"
         "Numbers in files and options carry their units, as \"2.5 mm\". In place of a file, -\n"
         "is standard input.\n"
         "\n"
         "exit codes\n"
         "  0    done\n"
         "  1    could not compute, or output failed\n"
         "  2    bad input or usage\n"
         "  3    warnings, under --strict\n"
         "  70   a bug in slowmatch\n"
         "  130  stopped by the user; what was done is kept");
}

void cli_print_help(const struct sm_command *command)
{
    const struct cli_option *rows[CLI_MAX_OPTIONS];
    const size_t n = cli_options_of(command, rows);
    char title[256];
    snprintf(title, sizeof title, "slowmatch %s: %s", command->name, command->summary);
    cli_wrap(stdout, title, 0, 4);
    printf("\nusage: slowmatch %s [OPTIONS]%s%s\n", command->name, command->arguments[0] ? " " : "",
           command->arguments);
    if (command->detail) {
        fputc('\n', stdout);
        cli_wrap(stdout, command->detail, 0, 0);
    }
    puts("\noptions");
    for (size_t i = 0; i < n; i++) {
        char name[64];
        snprintf(name, sizeof name, "--%s%s%s", rows[i]->name, rows[i]->value ? " " : "",
                 rows[i]->value ? rows[i]->value : "");
        cli_entry(name, rows[i]->help, 2, 24);
    }
    if (command->example)
        printf("\nexample\n  %s\n", command->example);
}
