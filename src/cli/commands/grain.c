#include "terminal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct cli_option options[] = {
    {"rows", "N", "rows of the table, besides those at jumps; 21 if not given, 201 in files"},
};

static const double WORTH_SAYING =
    1e-6; /* share of the largest area; what is closer can't be seen here [1] */

static const double NOTHING = 1e-9; /* share of the largest area that is none to a table [1] */

struct job {
    const struct sm_motor *motor;
    const struct sm_grain_tables *tables;
    enum sm_unit_system system;
    enum sm_picture_kind kind;
};

static void print_port(const struct sm_grain_figures *f, const char *of, enum sm_unit_system system)
{
    char slivers[48] = "no slivers", port[160] = "", line[320], a[CLI_NUMBER], b[CLI_NUMBER];
    if (f->sliver_fraction > 0.0)
        snprintf(slivers, sizeof slivers, "slivers %.3g %% of the propellant", 100.0 * f->sliver_fraction);
    if (!isnan(f->port_perimeter))
        snprintf(port, sizeof port, ", port %s with a wall of %s round, %.4g times the throat",
                 cli_number(a, f->port_area, SM_DIM_AREA, system),
                 cli_number(b, f->port_perimeter, SM_DIM_LENGTH, system), f->port_to_throat);
    else if (!isnan(f->port_to_throat))
        snprintf(port, sizeof port, ", port %.4g times the throat", f->port_to_throat);
    snprintf(line, sizeof line, "volumetric loading %.4g of the %s, %s%s", f->loading, of, slivers, port);
    cli_wrap(stdout, line, 3, 3);
}

static void print_facts(const struct sm_motor *motor, const struct sm_grain_tables *tables,
                        enum sm_unit_system system)
{
    for (size_t i = 0; i < sm_motor_grains(motor); i++) {
        const struct sm_grain_figures *figures = &tables->tables[i].figures;
        struct sm_grain_facts f;
        char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER], line[512], times[32] = "";
        sm_motor_grain(motor, i, &f);
        if (f.count > 1)
            snprintf(times, sizeof times, ", %d of them, each", f.count);
        snprintf(line, sizeof line, "%zu: %s%s %s by %s, web %s", i + 1, f.shape, times,
                 cli_number(a, f.outer_diameter, SM_DIM_LENGTH, system),
                 cli_number(b, f.length, SM_DIM_LENGTH, system), cli_number(c, f.web, SM_DIM_LENGTH, system));
        cli_wrap(stdout, line, 0, 3);
        snprintf(
            line, sizeof line,
            "burning area%s %s at the start, %s at most, %s at least%s, %s on average: largest over mean "
            "%.4g",
            f.count > 1 ? " of each" : "", cli_number(a, f.area_initial, SM_DIM_AREA, system),
            cli_number(b, f.area_maximum, SM_DIM_AREA, system),
            cli_number(c, figures->burn_area_minimum, SM_DIM_AREA, system),
            figures->sliver_fraction > 0.0 ? " before slivers" : "",
            cli_number(d, f.area_mean, SM_DIM_AREA, system), figures->neutrality);
        cli_wrap(stdout, line, 3, 3);
        printf("   %s of propellant%s\n", cli_number(a, f.mass, SM_DIM_MASS, system),
               f.count > 1 ? " in all" : "");
        print_port(figures, "cylinder", system);
    }
}

static void print_table(const struct sm_grain_table *t, enum sm_unit_system system)
{
    puts("\nall together");
    print_port(&t->figures, "case", system);
    printf("%14s %14s %14s %14s %15s\n", "burned", "burning area", "volume", "mass", "centre of mass");
    for (size_t i = 0; i < t->n; i++) {
        char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER], e[CLI_NUMBER];
        const bool burns = fabs(t->area[i]) > NOTHING * t->figures.burn_area_maximum;
        printf("%14s %14s %14s %14s %15s\n", cli_measure(a, t->web[i], SM_DIM_LENGTH, system),
               cli_measure(b, burns ? t->area[i] : 0.0, SM_DIM_AREA, system),
               cli_measure(c, t->volume[i], SM_DIM_VOLUME, system),
               cli_measure(d, t->mass[i], SM_DIM_MASS, system),
               cli_measure(e, t->mass[i] > 0.0 ? t->center_of_mass[i] : (double)NAN, SM_DIM_LENGTH, system));
    }
    if (t->accuracy > WORTH_SAYING)
        printf("(areas are good to %.1e of the largest)\n", t->accuracy);
}

static enum sm_status write_csv(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct job *job = user;
    return sm_grain_tables_write_csv(job->tables, sink, err);
}

static enum sm_status write_plot(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct job *job = user;
    return sm_grain_tables_plot(job->motor, job->tables, job->system, job->kind, sink, err);
}

static enum cli_exit show(const struct cli *cli, struct job *job)
{
    const char *csv = cli_value(cli, "csv"), *plot = cli_value(cli, "plot");
    struct sm_error err = {0};
    enum cli_exit code = csv ? cli_write_file(csv, write_csv, job) : CLI_DONE;
    if (code == CLI_DONE && plot && sm_picture_kind_of(plot, &job->kind, &err) == SM_OK)
        code = cli_write_file(plot, write_plot, job);
    if (code != CLI_DONE)
        return code;
    if (!cli_flag(cli, "json")) {
        printf("%s\n", sm_motor_name(job->motor));
        print_facts(job->motor, job->tables, cli->system);
        print_table(&job->tables->tables[job->tables->n - 1], cli->system);
        return CLI_DONE;
    }
    struct sm_sink out = cli_stdout();
    const enum sm_status status = sm_grain_tables_write_json(job->motor, job->tables, &out, &err);
    return cli_end_output(status, &err);
}

static bool read_rows(const struct cli *cli, size_t *rows)
{
    const char *text = cli_value(cli, "rows");
    const bool is_file = cli_flag(cli, "json") || cli_flag(cli, "csv") || cli_flag(cli, "plot");
    *rows = is_file ? 201 : 21;
    if (!text)
        return true;
    char *rest;
    const long n = strtol(text, &rest, 10);
    if (*rest != '\0' || n < 2 || n > 100000) {
        cli_say_usage(cli, "--rows is a whole number from 2 to 100000, not '%s'", text);
        return false;
    }
    *rows = (size_t)n;
    return true;
}

static enum cli_exit run(struct cli *cli)
{
    struct sm_error err = {0};
    struct sm_motor *motor;
    struct sm_grain_tables *tables;
    const char *path = cli->arguments[0];
    size_t rows;
    if (!cli_load_options(cli) || !cli_output_names(cli) || !read_rows(cli, &rows))
        return CLI_BAD_INPUT;
    enum cli_exit code = cli_load_motor(cli, path, &motor);
    if (code != CLI_DONE)
        return code;
    const enum sm_status status = sm_grain_tables_make(motor, rows, &tables, &err);
    if (status != SM_OK) {
        snprintf(err.at.file, sizeof err.at.file, "%s", path);
        cli_say_error(&err);
        sm_motor_free(motor);
        return cli_exit_of_input(status);
    }
    struct job job = {motor, tables, cli->system, SM_PICTURE_SVG};
    code = show(cli, &job);
    sm_grain_tables_free(tables);
    sm_motor_free(motor);
    return code;
}

const struct sm_command sm_command_grain = {
    .name = "grain",
    .summary = "the burnback table alone: burning area, volume and balance against distance burned",
    .arguments = "MOTOR",
    .detail = "Gives the geometry of a motor's grains without burning them. --csv writes the whole stack's "
              "table, with the section and wetted perimeter of its last port; --json that of every entry as "
              "well, and "
              "moments; --plot the burning area against the distance burned.",
    .example = "slowmatch grain examples/sandpiper-tubes.json --plot area.svg",
    .shared = CLI_SET | CLI_JSON | CLI_CSV | CLI_PLOT | CLI_UNITS,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .min_arguments = 1,
    .max_arguments = 1,
    .run = run,
};
