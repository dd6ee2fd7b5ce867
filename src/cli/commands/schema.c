#include "terminal.h"

static enum cli_exit run(struct cli *cli)
{
    struct sm_sink out = cli_stdout();
    struct sm_error err = {0};
    if (cli->n_arguments == 0) {
        for (const char *const *name = sm_schema_names(); *name; name++)
            puts(*name);
        return CLI_DONE;
    }
    const enum sm_status status = sm_schema_write(cli->arguments[0], &out, &err);
    return cli_end_output(status, &err);
}

const struct sm_command sm_command_schema = {
    .name = "schema",
    .summary = "list the file formats, or write the JSON Schema of one",
    .arguments = "[FORMAT]",
    .example = "slowmatch schema slowmatch-motor",
    .max_arguments = 1,
    .run = run,
};
