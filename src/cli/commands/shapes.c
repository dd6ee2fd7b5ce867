#include "terminal.h"

#include <math.h>
#include <string.h>

static void list(void)
{
    for (size_t i = 0; i < sm_shape_count(); i++) {
        struct sm_shape_info info;
        sm_shape_describe(i, &info);
        printf("%-24s %s\n", info.name, info.summary);
    }
    puts("\n'slowmatch shapes NAME' gives a shape's parameters and an example.");
}

static void print_range(const struct sm_param *row, enum sm_unit_system system)
{
    char low[CLI_NUMBER], high[CLI_NUMBER], usual[CLI_NUMBER];
    if (row->kind != SM_QUANTITY && row->kind != SM_WHOLE)
        return;
    printf("; %s to %s", cli_number(low, row->min, row->dim, system),
           cli_number(high, row->max, row->dim, system));
    if (isfinite(row->fallback))
        printf(", %s if not given", cli_number(usual, row->fallback, row->dim, system));
    else if (isinf(row->fallback))
        printf(", must be given");
}

static void print_rows(const struct sm_param *rows, size_t n, int indent, enum sm_unit_system system)
{
    for (size_t i = 0; i < n; i++) {
        printf("%*s%-*s %s", indent, "", 24 - indent, rows[i].name, rows[i].help ? rows[i].help : "");
        print_range(&rows[i], system);
        fputc('\n', stdout);
        if (rows[i].rows)
            print_rows(rows[i].rows, rows[i].n_rows, indent + 2, system);
    }
}

static void print_faces(const struct sm_shape_info *info)
{
    printf("\nfaces that may burn:");
    for (size_t i = 0; info->faces[i]; i++)
        if (info->has_faces & (1u << i))
            printf(" %s%s", info->faces[i], info->burning & (1u << i) ? " (usually)" : "");
    fputc('\n', stdout);
}

static enum cli_exit describe(struct cli *cli, const char *name)
{
    struct sm_shape_info info;
    const struct sm_param *common;
    const char *near = NULL;
    const size_t i = sm_shape_place(name, &near);
    if (i == sm_shape_count()) {
        cli_say_usage(cli, "there is no shape \"%s\"%s%s%s", name, near ? "; did you mean \"" : "",
                      near ? near : "", near ? "\"?" : "");
        return CLI_BAD_INPUT;
    }
    sm_shape_describe(i, &info);
    printf("%s: %s\n\n", info.name, info.summary);
    const size_t n_common = sm_grain_params(&common);
    print_rows(common, n_common, 0, cli->system);
    print_rows(info.params, info.n_params, 0, cli->system);
    print_faces(&info);
    printf("\nexample\n  %s\n", info.example);
    return CLI_DONE;
}

static enum cli_exit run(struct cli *cli)
{
    if (!cli_load_options(cli))
        return CLI_BAD_INPUT;
    if (cli->n_arguments == 0) {
        list();
        return CLI_DONE;
    }
    return describe(cli, cli->arguments[0]);
}

const struct sm_command sm_command_shapes = {
    .name = "shapes",
    .summary = "list the grain shapes, or describe one",
    .arguments = "[NAME]",
    .example = "slowmatch shapes tube",
    .shared = CLI_UNITS,
    .max_arguments = 1,
    .run = run,
};
