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
         "In place of a file, - is standard input.\n"
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
