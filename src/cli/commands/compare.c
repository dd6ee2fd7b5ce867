#include "figures.h"
#include "terminal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NAME_WIDTH = 24, LABEL_WIDTH = 22 };

struct set {
    struct sm_motor *motors[SM_MAX_MOTORS];
    struct sm_result *results[SM_MAX_MOTORS];
    size_t n;
};

/* First what fits of a name; a longer one is cut, whole characters only. */
static void print_name(const char *name)
{
    size_t n = 0;
    int columns = 0;
    while (name[n] && columns < NAME_WIDTH - 2) {
        n++;
        while (((unsigned char)name[n] & 0xC0) == 0x80)
            n++;
        columns++;
    }
    printf("%*s%.*s", NAME_WIDTH - columns, "", (int)n, name);
}

static void print_cell(const struct cli_figure *f, const struct set *set, size_t i,
                       enum sm_unit_system system)
{
    char number[CLI_NUMBER], cell[2 * CLI_NUMBER];
    const double value = cli_figure_value(f, set->results[i]), first = cli_figure_value(f, set->results[0]);
    cli_number(number, value, f->dim, system);
    if (i > 0 && !isnan(value) && !isnan(first) && first != 0.0)
        snprintf(cell, sizeof cell, "%s  x%-6.3g", number, value / first);
    else
        snprintf(cell, sizeof cell, "%s", number);
    printf("%*s", NAME_WIDTH, cell);
}

static void print_table(const struct set *set, enum sm_unit_system system)
{
    printf("%*s", LABEL_WIDTH, "");
    for (size_t i = 0; i < set->n; i++)
        print_name(set->results[i]->motor);
    printf("\n%-*s", LABEL_WIDTH, "designation, predicted");
    for (size_t i = 0; i < set->n; i++)
        printf("%*s", NAME_WIDTH, set->results[i]->designation);
    fputc('\n', stdout);
    for (size_t j = 0; j < cli_n_figures; j++) {
        const struct cli_figure *f = &cli_figures[j];
        if (!f->in_compare)
            continue;
        printf("%-*s", LABEL_WIDTH, f->label);
        for (size_t i = 0; i < set->n; i++)
            print_cell(f, set, i, system);
        fputc('\n', stdout);
    }
    if (set->n > 1)
        puts("(x is the ratio to the first)");
}

struct plot_job {
    const struct set *set;
    enum sm_unit_system system;
    enum sm_picture_kind kind;
};

static enum sm_status write_plot(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct plot_job *job = user;
    const struct sm_result *results[SM_MAX_MOTORS];
    for (size_t i = 0; i < job->set->n; i++)
        results[i] = job->set->results[i];
    return sm_plot_results(results, job->set->n, job->system, job->kind, sink, err);
}

static void explain(const struct set *set)
{
    char text[2048];
    const struct sm_motor *motors[SM_MAX_MOTORS];
    const struct sm_result *results[SM_MAX_MOTORS];
    for (size_t i = 0; i < set->n; i++) {
        motors[i] = set->motors[i];
        results[i] = set->results[i];
    }
    if (sm_explain_burn_times(motors, results, set->n, text, sizeof text) <= 0)
        return;
    puts("\nwhy the burn times differ");
    cli_wrap(stdout, text, 2, 100);
}

static enum cli_exit write_json(const struct set *set)
{
    const struct sm_result *results[SM_MAX_MOTORS];
    struct sm_sink out = cli_stdout();
    struct sm_error err = {0};
    for (size_t i = 0; i < set->n; i++)
        results[i] = set->results[i];
    const enum sm_status status = sm_results_write_json(results, set->n, &out, &err);
    return cli_end_output(status, &err);
}

static enum cli_exit show(const struct cli *cli, const struct set *set)
{
    const char *plot = cli_value(cli, "plot");
    struct plot_job job = {set, cli->system, SM_PICTURE_SVG};
    struct sm_error err = {0};
    if (plot) {
        if (sm_picture_kind_of(plot, &job.kind, &err) != SM_OK)
            return CLI_BAD_INPUT;
        const enum cli_exit code = cli_write_file(plot, write_plot, &job);
        if (code != CLI_DONE)
            return code;
    }
    if (cli_flag(cli, "json"))
        return write_json(set);
    print_table(set, cli->system);
    explain(set);
    fputc('\n', stdout);
    cli_wrap(stdout, cli_caution, 0, 100);
    return CLI_DONE;
}

static void release(struct set *set)
{
    for (size_t i = 0; i < set->n; i++) {
        sm_result_free(set->results[i]);
        sm_motor_free(set->motors[i]);
    }
}

static enum cli_exit run(struct cli *cli)
{
    struct set set = {.n = 0};
    enum cli_exit code = CLI_DONE;
    size_t n_warnings = 0;
    if (!cli_load_options(cli) || !cli_output_names(cli))
        return CLI_BAD_INPUT;
    for (size_t i = 0; i < cli->n_arguments && code == CLI_DONE; i++) {
        code = cli_burn(cli, cli->arguments[i], &set.motors[set.n], &set.results[set.n]);
        if (code == CLI_DONE)
            n_warnings += set.results[set.n++]->n_warnings;
    }
    if (code == CLI_DONE)
        code = show(cli, &set);
    for (size_t i = 0; i < set.n && set.n == cli->n_arguments; i++)
        cli_say_warnings(set.results[i], cli->arguments[i]);
    if (code == CLI_DONE && cli_flag(cli, "strict") && n_warnings > 0)
        code = CLI_WARNED;
    release(&set);
    return code;
}

const struct sm_command sm_command_compare = {
    .name = "compare",
    .summary = "set two or more motors side by side: table, plots, and why their burn times differ",
    .arguments = "MOTOR MOTOR...",
    .detail = "Burns each motor and puts them in one table, with ratios to the first, and one plot of thrust "
              "and of "
              "pressure. --set acts on every motor.",
    .example =
        "slowmatch compare examples/sandpiper-end-burner.json examples/sandpiper-cored.json --plot both.svg",
    .shared = CLI_SET | CLI_JSON | CLI_PLOT | CLI_UNITS | CLI_STRICT | CLI_RUN,
    .min_arguments = 2,
    .max_arguments = SM_MAX_MOTORS,
    .run = run,
};
