#include "dotcurve.h"
#include "figures.h"
#include "temperatures.h"
#include "terminal.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* Figure, its standard deviation if there is one, and what it is, in columns. */
static void print_figure(const struct sm_shown_figure *f, const char *number, double share)
{
    char stray[CLI_NUMBER] = "", line[200];
    if (!isnan(share))
        snprintf(stray, sizeof stray, "+-%.2g %%", 100.0 * share);
    int n =
        snprintf(line, sizeof line, "  %-22s %-12s %-8s %s", f->label, number, stray, f->note ? f->note : "");
    while (n > 0 && line[n - 1] == ' ')
        n--;
    printf("%.*s\n", n, line);
}

/* The value that brings most of a figure's scatter; offset is that of the figure. */
static const char *most_of(const struct sm_one_sigma *s, size_t offset)
{
    const char *found = NULL;
    double most = 0.0;
    for (size_t i = 0; i < s->n_influences; i++) {
        const double effect =
            fabs(*(const double *)(const void *)((const char *)&s->influences[i].effect + offset));
        if (effect > most) {
            most = effect;
            found = s->influences[i].of;
        }
    }
    return found;
}

static void print_one_sigma(const struct sm_result *result)
{
    const struct sm_one_sigma *s = &result->one_sigma;
    char line[512];
    if (s->n_influences == 0)
        return;
    const char *time = most_of(s, offsetof(struct sm_figures, burn_time)),
               *pressure = most_of(s, offsetof(struct sm_figures, pressure_maximum)),
               *force = most_of(s, offsetof(struct sm_figures, maximum));
    int n =
        snprintf(line, sizeof line, "+- is one standard deviation, by %s",
                 s->is_usual ? "what is usual, for the file gives no tolerances" : "the file's tolerances");
    if (time && (pressure || force))
        snprintf(line + n, sizeof line - (size_t)n, "; most of it, in burn time by %s, in %s by %s", time,
                 pressure ? "pressure" : "thrust", pressure ? pressure : force);
    fputc('\n', stdout);
    cli_wrap(stdout, line, 2, 2);
}

static void print_figures(const struct sm_result *result, enum sm_unit_system system)
{
    const struct sm_shown_figure *figures;
    const size_t n_figures = sm_shown_list(&figures);
    const char *group = NULL; /* waits until one of its figures is there */
    for (size_t i = 0; i < n_figures; i++) {
        const struct sm_shown_figure *f = &figures[i];
        const double value = sm_shown_value(f, result);
        char number[CLI_NUMBER];
        group = f->group ? f->group : group;
        if (isnan(value))
            continue;
        if (group)
            printf("\n%s\n", group);
        group = NULL;
        sm_shown_text(number, f, value, system);
        print_figure(f, number, sm_shown_sigma(f, result) / value);
    }
}

static void print_losses(const struct sm_result *result)
{
    if (result->n_losses > 0)
        puts("\nspecific impulse, from ideal to delivered");
    for (size_t i = 0; i < result->n_losses; i++) {
        const struct sm_loss *line = &result->losses[i];
        char lost[CLI_NUMBER] = "";
        if (i > 0)
            snprintf(lost, sizeof lost, "%+.2f s", 0.01 * round(-100.0 * line->loss) + 0.0); /* -0 + 0 is 0 */
        printf("  %-17s %9s %7.1f s  %s\n", line->name, lost, line->specific_impulse, line->note);
    }
}

static void print_inputs(const struct sm_motor *motor, enum sm_unit_system system)
{
    struct sm_motor_facts f;
    char a[CLI_NUMBER], b[CLI_NUMBER], line[512];
    sm_motor_describe(motor, &f);
    cli_number(a, f.grain_temperature, SM_DIM_TEMPERATURE, system);
    cli_number(b, f.ambient_pressure, SM_DIM_PRESSURE, system);
    if (f.propellant)
        snprintf(line, sizeof line, "propellant %s (%s), grain at %s, ambient %s", f.propellant, f.standing,
                 a, b);
    else
        snprintf(line, sizeof line, "a bare curve%s%s, ambient %s", f.source ? " from: " : "",
                 f.source ? f.source : "", b);
    cli_wrap(stdout, line, 2, 4);
}

static void print_curve_notes(const struct sm_result *result)
{
    if (!result->is_curve)
        return;
    cli_wrap(stdout,
             result->altitude_corrected
                 ? "Thrust was brought to the ambient pressure by the nozzle's exit area."
                 : "Thrust is not corrected for altitude, since no exit_diameter is given.",
             2, 2);
    cli_wrap(stdout, "Mass flow is taken in proportion to thrust, an assumption.", 2, 2);
}

static void print_result(const struct cli *cli, const struct sm_motor *motor, const struct sm_result *result,
                         int count)
{
    printf("%s: %s, %s\n", result->motor, result->designation,
           result->is_curve ? "from its curve as given" : "predicted");
    print_inputs(motor, cli->system);
    print_curve_notes(result);
    if (!result->complete)
        puts("  STOPPED before its end: what follows is incomplete");
    cli_draw_curve(cli, &result->series);
    print_figures(result, cli->system);
    print_one_sigma(result);
    print_losses(result);
    fputc('\n', stdout);
    cli_print_class(&result->impulse_class, NULL, cli->system);
    if (count > 1)
        cli_print_installed(count, result->thrust.total_impulse, cli->system);
    const struct sm_rule_case c = {
        .impulse_each = result->thrust.total_impulse,
        .thrust_average = result->thrust.average,
        .propellant_each = result->propellant_mass,
        .vehicle_mass = (double)NAN,
        .count = count,
        .own_design = !result->is_curve,
    };
    cli_print_guidance(&c);
    cli_print_caution(result->is_curve ? CLI_GIVEN : CLI_PREDICTED);
}

static enum sm_status write_csv(void *user, struct sm_sink *sink, struct sm_error *err)
{
    return sm_result_write_csv(user, sink, err);
}

struct plot_job {
    const struct sm_motor *motor;
    const struct sm_result *result;
    enum sm_unit_system system;
    enum sm_picture_kind kind;
};

static enum sm_status write_plot(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct plot_job *job = user;
    return sm_plot_results(&job->result, 1, job->system, job->kind, sink, err);
}

static enum sm_status write_section(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct plot_job *job = user;
    return sm_draw_grains(job->motor, job->result, job->kind, sink, err);
}

static enum cli_exit write_files(const struct cli *cli, const struct sm_motor *motor,
                                 struct sm_result *result)
{
    const char *csv = cli_value(cli, "csv"), *plot = cli_value(cli, "plot"),
               *section = cli_value(cli, "section");
    struct plot_job job = {motor, result, cli->system, SM_PICTURE_SVG};
    enum cli_exit code = CLI_DONE;
    if (csv)
        code = cli_write_file(csv, write_csv, result);
    /* The names were looked at before the run. */
    if (code == CLI_DONE && plot && sm_picture_kind_of(plot, &job.kind, NULL) == SM_OK)
        code = cli_write_file(plot, write_plot, &job);
    if (code == CLI_DONE && section && sm_picture_kind_of(section, &job.kind, NULL) == SM_OK)
        code = cli_write_file(section, write_section, &job);
    return code;
}

static enum cli_exit write_json(const struct sm_result *result)
{
    struct sm_sink out = cli_stdout();
    struct sm_error err = {0};
    const enum sm_status status = sm_result_write_json(result, &out, &err);
    return cli_end_output(status, &err);
}

static enum cli_exit run(struct cli *cli)
{
    struct sm_motor *motor;
    struct sm_result *result;
    const char *path = cli->arguments[0];
    int count;
    if (!cli_load_options(cli) || !cli_count(cli, &count) || !cli_output_names(cli))
        return CLI_BAD_INPUT;
    if (cli_value(cli, "temperatures"))
        return cli_burn_temperatures(cli, path);
    enum cli_exit code = cli_burn(cli, path, &motor, &result);
    if (code != CLI_DONE)
        return code;
    code = write_files(cli, motor, result);
    if (code == CLI_DONE && cli_flag(cli, "json"))
        code = write_json(result);
    else if (code == CLI_DONE)
        print_result(cli, motor, result, count);
    cli_say_warnings(result, path);
    if (code == CLI_DONE && !result->complete)
        code = CLI_STOPPED;
    if (code == CLI_DONE && cli_flag(cli, "strict") && result->n_warnings > 0)
        code = CLI_WARNED;
    sm_result_free(result);
    sm_motor_free(motor);
    return code;
}

static const struct cli_option options[] = {
    {"plain", NULL, "draw the curve on a terminal without colour, and with plain characters"},
    {"section", "FILE", "draw the grains to scale, with the burning surface at equal times"},
    {"temperatures", "LIST",
     "burn at each grain temperature of a list and set them side by side, as \"-10 degC,21 degC,45 degC\", "
     "or "
     "cold,nominal,hot for the file's own"},
};

const struct sm_command sm_command_burn = {
    .name = "burn",
    .summary = "burn one motor: thrust, pressure, impulse class, tables and plots",
    .arguments = "MOTOR",
    .detail = "Reads a motor file, burns it and prints what it does: total impulse, burn time, thrust, "
              "pressure and class, with warnings where the design is doubtful. MOTOR may also hold a bought "
              "motor's bare curve; - is standard input.",
    .example = "slowmatch burn examples/sandpiper-end-burner.json --plot curve.svg",
    .shared =
        CLI_SET | CLI_JSON | CLI_CSV | CLI_PLOT | CLI_UNITS | CLI_STRICT | CLI_RUN | CLI_BURN_END | CLI_COUNT,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .min_arguments = 1,
    .max_arguments = 1,
    .run = run,
};
