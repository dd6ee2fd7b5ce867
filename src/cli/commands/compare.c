#include "figures.h"
#include "terminal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { CELL_WIDTH = 24, LABEL_WIDTH = 22, RATIO_WIDTH = 9, PER_BLOCK = 3, LINE = 512 };

struct set {
    struct sm_motor *motors[SM_MAX_MOTORS];
    struct sm_result *results[SM_MAX_MOTORS];
    size_t n;
};

/* Bytes of a text that take at most so many columns, whole characters only; *columns is what they take. */
static size_t fitting(const char *text, int most, int *columns)
{
    size_t n = 0;
    *columns = 0;
    while (text[n] && *columns < most) {
        n++;
        while (((unsigned char)text[n] & 0xC0) == 0x80)
            n++;
        ++*columns;
    }
    return n;
}

/* A line of a table that grows by cells, and ends without blanks. */
struct line {
    char text[LINE];
    size_t n;
};

static void start_line(struct line *line, const char *label)
{
    line->n = (size_t)snprintf(line->text, sizeof line->text, "%-*s", LABEL_WIDTH, label);
}

static void put_cell(struct line *line, const char *text)
{
    const int room = CELL_WIDTH - 2;
    const char *cut = "";
    int columns;
    size_t n = fitting(text, room, &columns);
    if (text[n]) {
        cut = "..";
        n = fitting(text, room - 2, &columns);
        columns += 2;
    }
    line->n += (size_t)snprintf(line->text + line->n, sizeof line->text - line->n, "%*s%.*s%s",
                                CELL_WIDTH - columns, "", (int)n, text, cut);
}

static void end_line(struct line *line)
{
    while (line->n > 0 && line->text[line->n - 1] == ' ')
        line->n--;
    printf("%.*s\n", (int)line->n, line->text);
}

/* A figure, with its ratio to the first motor's behind it. */
static void put_figure(struct line *line, const struct cli_figure *f, const struct set *set, size_t i,
                       enum sm_unit_system system)
{
    char number[CLI_NUMBER], ratio[CLI_NUMBER] = "", cell[2 * CLI_NUMBER];
    const double value = cli_figure_value(f, set->results[i]), first = cli_figure_value(f, set->results[0]);
    cli_figure_text(number, f, value, system);
    if (i > 0 && !isnan(value) && !isnan(first) && first != 0.0)
        snprintf(ratio, sizeof ratio, "  x%.3g", value / first);
    snprintf(cell, sizeof cell, "%s%-*s", number, set->n > 1 ? RATIO_WIDTH : 0, ratio);
    put_cell(line, cell);
}

static void print_block(const struct set *set, size_t from, size_t to, enum sm_unit_system system)
{
    struct line line;
    start_line(&line, "");
    for (size_t i = from; i < to; i++)
        put_cell(&line, set->results[i]->motor);
    end_line(&line);
    start_line(&line, "designation");
    for (size_t i = from; i < to; i++) {
        char cell[CLI_NUMBER];
        snprintf(cell, sizeof cell, "%s, %s", set->results[i]->designation,
                 set->results[i]->is_curve ? "as given" : "predicted");
        put_cell(&line, cell);
    }
    end_line(&line);
    for (size_t j = 0; j < cli_n_figures; j++) {
        if (!cli_figures[j].in_compare)
            continue;
        start_line(&line, cli_figures[j].label);
        for (size_t i = from; i < to; i++)
            put_figure(&line, &cli_figures[j], set, i, system);
        end_line(&line);
    }
    fputc('\n', stdout);
}

static void print_table(const struct set *set, enum sm_unit_system system)
{
    for (size_t from = 0; from < set->n; from += PER_BLOCK)
        print_block(set, from, from + PER_BLOCK < set->n ? from + PER_BLOCK : set->n, system);
    puts("(x: times that of the first)");
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
    cli_wrap(stdout, text, 2, 2);
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
    cli_print_caution();
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
        if (code != CLI_DONE)
            break;
        n_warnings += set.results[set.n]->n_warnings;
        code = set.results[set.n++]->complete ? CLI_DONE : CLI_STOPPED;
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
    .detail = "Burns each motor, or takes a curve from a file (.csv, DAVE-ML, a result as JSON), and puts them "
              "in one table, with ratios to the first, and one plot of thrust and of pressure. --set acts on "
              "every motor.",
    .example =
        "slowmatch compare examples/sandpiper-end-burner.json examples/sandpiper-cored.json --plot both.svg",
    .shared = CLI_SET | CLI_JSON | CLI_PLOT | CLI_UNITS | CLI_STRICT | CLI_RUN | CLI_BURN_END,
    .min_arguments = 2,
    .max_arguments = SM_MAX_MOTORS,
    .run = run,
};
