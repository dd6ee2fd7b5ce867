#include "terminal.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char program[] = "slowmatch-workbench";

static bool take_port(const struct cli *cli, const char **port)
{
    const char *text = cli_value(cli, "port");
    char *rest = NULL;
    *port = text ? text : "0";
    const long number = strtol(*port, &rest, 10);
    if ((*port)[0] >= '0' && (*port)[0] <= '9' && *rest == '\0' && number <= 65535)
        return true;
    cli_say_usage(cli, "--port is a whole number from 0 to 65535, not '%s'", text);
    return false;
}

/* Its path beside this program, wherever that was unpacked. False if that can't be told. */
static bool beside(const char *self, char *path, size_t size)
{
    const ssize_t n = readlink(self, path, size - 1);
    if (n < 0)
        return false;
    path[n] = '\0';
    char *slash = strrchr(path, '/');
    if (!slash || (size_t)(slash + 1 - path) + sizeof program > size)
        return false;
    strcpy(slash + 1, program);
    return true;
}

static enum cli_exit run(struct cli *cli)
{
    char path[4096];
    const char *port;
    if (!take_port(cli, &port))
        return CLI_BAD_INPUT;
    char name[sizeof program], number[16], *words[4] = {name, number, NULL, NULL};
    strcpy(name, program);
    snprintf(number, sizeof number, "%s", port);
    if (cli->n_arguments > 0 && !(words[2] = strdup(cli->arguments[0])))
        return CLI_FAILED;
    if (beside(cli->program, path, sizeof path))
        execv(path, words);
    if (errno == ENOENT)
        execvp(program, words);
    fprintf(stderr, "slowmatch: error: %s\n",
            errno == ENOENT ? "this build has no workbench: it wants libmicrohttpd and npm when it is built"
                            : strerror(errno));
    free(words[2]);
    return CLI_FAILED;
}

static const struct cli_option options[] = {
    {"port", "N", "to listen on; a free one if not given"},
};

const struct sm_command sm_command_workbench = {
    .name = "workbench",
    .summary = "play with a design in the browser: every field, and curves that follow",
    .arguments = "[FILE]",
    .detail = "Serves a page to this machine alone, until Ctrl-C, and prints its address, which holds a "
              "secret of this "
              "run. FILE is a motor file, which the page can save back to, keeping what was there under the "
              "same name "
              "with ~ behind it.",
    .example = "slowmatch workbench examples/sandpiper-end-burner.json",
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .max_arguments = 1,
    .run = run,
};
