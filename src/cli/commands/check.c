#include "terminal.h"

#include <string.h>

static enum cli_exit check_one(struct cli *cli, const char *path, size_t *n_warnings)
{
    struct sm_diag problems = {0};
    const char *what;
    const enum sm_status status = sm_file_check(path, &cli->load, &what, &problems);
    cli_say_problems(&problems);
    sm_diag_release(&problems);
    if (status != SM_OK)
        return cli_exit_of_input(status);
    if (strncmp(what, "slowmatch-motor", 15) != 0 && strcmp(what, "curve") != 0) {
        printf("%s: %s, no faults\n", path, what);
        return CLI_DONE;
    }
    struct sm_motor *motor;
    struct sm_result *result;
    const enum cli_exit code = cli_burn(cli, path, &motor, &result);
    if (code != CLI_DONE)
        return code;
    printf("%s: %s, no faults, %zu warning%s\n", path, what, result->n_warnings,
           result->n_warnings == 1 ? "" : "s");
    cli_say_warnings(result, path);
    const bool is_whole = result->complete;
    *n_warnings += result->n_warnings;
    sm_result_free(result);
    sm_motor_free(motor);
    return is_whole ? CLI_DONE : CLI_STOPPED;
}

static enum cli_exit run(struct cli *cli)
{
    enum cli_exit worst = CLI_DONE;
    size_t n_warnings = 0;
    if (!cli_load_options(cli))
        return CLI_BAD_INPUT;
    for (size_t i = 0; i < cli->n_arguments; i++)
        if (strcmp(cli->arguments[i], "/dev/stdin") == 0) {
            cli_say_usage(cli, "a file is read more than once to check it, so it can't be standard input");
            return CLI_BAD_INPUT;
        }
    for (size_t i = 0; i < cli->n_arguments && worst != CLI_STOPPED; i++) {
        const enum cli_exit code = check_one(cli, cli->arguments[i], &n_warnings);
        worst = code > worst ? code : worst;
    }
    if (worst == CLI_DONE && cli_flag(cli, "strict") && n_warnings > 0)
        return CLI_WARNED;
    return worst;
}

const struct sm_command sm_command_check = {
    .name = "check",
    .summary = "read files and say what is wrong or doubtful, without tables",
    .arguments = "FILE...",
    .detail =
        "Reads files of every format strictly, and curves, and reports every problem with its place. A motor "
        "is burned as well, for its warnings.",
    .example = "slowmatch check examples/*.json",
    .shared = CLI_SET | CLI_STRICT | CLI_RUN | CLI_BURN_END,
    .min_arguments = 1,
    .max_arguments = CLI_MAX_GIVEN,
    .run = run,
};
