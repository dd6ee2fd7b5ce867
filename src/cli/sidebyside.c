#include "sidebyside.h"
#include "figures.h"

#include <math.h>

enum { CELL_WIDTH = 24, LABEL_WIDTH = 22, RATIO_WIDTH = 9, PER_BLOCK = 3, LINE = 512 };

struct columns {
    const struct sm_result *const *results;
    const char *const *headings;
    size_t n;
    enum sm_unit_system system;
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

/* A figure, with its ratio to the first result's behind it. */
static void put_figure(struct line *line, const struct sm_shown_figure *f, const struct columns *c, size_t i)
{
    char number[CLI_NUMBER], ratio[CLI_NUMBER] = "", cell[2 * CLI_NUMBER];
    const double value = sm_shown_value(f, c->results[i]), first = sm_shown_value(f, c->results[0]);
    sm_shown_text(number, f, value, c->system);
    if (i > 0 && !isnan(value) && !isnan(first) && first != 0.0)
        snprintf(ratio, sizeof ratio, "  x%.3g", value / first);
    snprintf(cell, sizeof cell, "%s%-*s", number, c->n > 1 ? RATIO_WIDTH : 0, ratio);
    put_cell(line, cell);
}

static void print_block(const struct columns *c, size_t from, size_t to)
{
    const struct sm_shown_figure *figures;
    const size_t n_figures = sm_shown_list(&figures);
    struct line line;
    start_line(&line, "");
    for (size_t i = from; i < to; i++)
        put_cell(&line, c->headings[i]);
    end_line(&line);
    start_line(&line, "designation");
    for (size_t i = from; i < to; i++) {
        char cell[CLI_NUMBER];
        snprintf(cell, sizeof cell, "%s, %s", c->results[i]->designation,
                 c->results[i]->is_curve ? "as given" : "predicted");
        put_cell(&line, cell);
    }
    end_line(&line);
    for (size_t j = 0; j < n_figures; j++) {
        if (!figures[j].in_compare)
            continue;
        start_line(&line, figures[j].label);
        for (size_t i = from; i < to; i++)
            put_figure(&line, &figures[j], c, i);
        end_line(&line);
    }
    fputc('\n', stdout);
}

void cli_print_side_by_side(const struct sm_result *const *results, const char *const *headings, size_t n,
                            enum sm_unit_system system)
{
    const struct columns c = {results, headings, n, system};
    for (size_t from = 0; from < n; from += PER_BLOCK)
        print_block(&c, from, from + PER_BLOCK < n ? from + PER_BLOCK : n);
    puts("(x: times that of the first)");
}

struct output_job {
    const struct sm_result *const *results;
    size_t n;
    enum sm_unit_system system;
    enum sm_picture_kind kind;
};

static enum sm_status write_plot(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct output_job *job = user;
    return sm_plot_results(job->results, job->n, job->system, job->kind, sink, err);
}

static enum sm_status write_csv(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct output_job *job = user;
    return sm_results_write_csv(job->results, job->n, sink, err);
}

enum cli_exit cli_write_side_by_side(const struct cli *cli, const struct sm_result *const *results, size_t n)
{
    const char *csv = cli_value(cli, "csv"), *plot = cli_value(cli, "plot");
    struct output_job job = {results, n, cli->system, SM_PICTURE_SVG};
    enum cli_exit code = CLI_DONE;
    if (csv)
        code = cli_write_file(csv, write_csv, &job);
    if (code == CLI_DONE && plot && sm_picture_kind_of(plot, &job.kind, NULL) == SM_OK)
        code = cli_write_file(plot, write_plot, &job);
    if (code == CLI_DONE && cli_flag(cli, "json")) {
        struct sm_sink out = cli_stdout();
        struct sm_error err = {0};
        const enum sm_status status = sm_results_write_json(results, n, &out, &err);
        code = cli_end_output(status, &err);
    }
    return code;
}
