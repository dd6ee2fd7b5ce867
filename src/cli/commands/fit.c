#include "records.h"
#include "terminal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const labels[SM_N_FIT_PARAMETERS] = {"burning rate",   "exponent",
                                                        "c* efficiency",  "thrust efficiency",
                                                        "throat erosion", "temperature sensitivity"};

/* "rate,exponent" to bits. */
static bool take_choice(const struct cli *cli, unsigned *vary)
{
    const char *text = cli_value(cli, "vary");
    const char *const *names = sm_fit_names();
    *vary = 0;
    while (text && *text) {
        char word[32];
        const size_t n = strcspn(text, ",");
        snprintf(word, sizeof word, "%.*s", (int)(n < sizeof word ? n : sizeof word - 1), text);
        unsigned bit = 0;
        for (unsigned i = 0; names[i]; i++)
            if (strcmp(names[i], word) == 0)
                bit = 1u << i;
        if (!bit) {
            cli_say_unknown(cli, "--vary knows no", word, sm_nearest_name(word, names));
            return false;
        }
        *vary |= bit;
        text += n + (text[n] == ',');
    }
    return true;
}

static bool take_starts(const struct cli *cli, int *starts)
{
    const char *text = cli_value(cli, "starts");
    char *rest;
    *starts = 0;
    if (!text)
        return true;
    const long n = strtol(text, &rest, 10);
    if (rest != text && *rest == '\0' && n >= 1 && n <= 16) {
        *starts = (int)n;
        return true;
    }
    cli_say_usage(cli, "--starts is a whole number from 1 to 16, not '%s'", text);
    return false;
}

static void print_values(const struct sm_fit *fit, enum sm_unit_system system)
{
    printf("  %-24s %-13s %-13s %-12s %-12s 95 %% by the scatter\n", "", "before", "fitted", "+- scatter",
           "+- gains");
    for (size_t j = 0; j < fit->n_values; j++) {
        const struct sm_fit_value *v = &fit->values[j];
        char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER], e[CLI_NUMBER], f[CLI_NUMBER];
        printf("  %-24s %-13s %-13s %-12s %-12s %s to %s\n", labels[v->parameter],
               cli_measure(a, v->before, v->dim, system), cli_measure(b, v->value, v->dim, system),
               cli_measure(c, v->uncertainty, v->dim, system), cli_measure(d, v->calibration, v->dim, system),
               cli_measure(e, v->low, v->dim, system), cli_measure(f, v->high, v->dim, system));
    }
}

static void print_how_sure(const struct sm_fit *fit, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER];
    if (!isnan(fit->rate))
        printf("  %-24s %s +- %s at %s\n", "rate known best", cli_measure(a, fit->rate, SM_DIM_SPEED, system),
               cli_measure(b, hypot(fit->rate_uncertainty, fit->rate_calibration), SM_DIM_SPEED, system),
               cli_measure(c, fit->rate_pressure, SM_DIM_PRESSURE, system));
    for (size_t j = 0; j < fit->n_values; j++)
        for (size_t k = 0; k < j; k++)
            if (fit->condition < 1e12)
                printf("  correlation of %s and %s %.3f\n", labels[fit->values[k].parameter],
                       labels[fit->values[j].parameter], fit->correlation[j * fit->n_values + k]);
    printf("  %d of %d searches from places apart end there; condition of the slopes %.3g\n", fit->n_agreed,
           fit->n_starts, fit->condition);
    if (!fit->complete)
        cli_wrap(stdout, "STOPPED: these are the searches that had come to their end, and no file is written",
                 2, 4);
}

static void print_fit(const struct sm_fit *fit, const struct cli_records *records, enum sm_unit_system system)
{
    printf("%s, fitted to %zu firing%s\n", sm_motor_name(fit->motor), fit->n_firings,
           fit->n_firings > 1 ? "s" : "");
    print_values(fit, system);
    print_how_sure(fit, system);
    puts("\nleft in thrust, root mean square");
    for (size_t i = 0; i < fit->n_firings; i++) {
        const struct sm_fit_firing *f = &fit->firings[i];
        char a[CLI_NUMBER], b[CLI_NUMBER];
        char runs[32] = "all to one side";
        if (isfinite(f->runs))
            snprintf(runs, sizeof runs, "runs %+.1f", f->runs);
        printf("  before %s, now %s; Durbin-Watson %.2f, %s  %s\n",
               cli_measure(a, f->residual_before, SM_DIM_FORCE, system),
               cli_measure(b, f->residual, SM_DIM_FORCE, system), f->durbin_watson, runs,
               records->firings[i]->name);
    }
    puts("  (independent residuals: Durbin-Watson near 2, runs within -2 to 2; else the model does not "
         "follow the firing)");
    fputc('\n', stdout);
    if (fit->advice[0]) {
        cli_wrap(stdout, fit->advice, 0, 0);
        fputc('\n', stdout);
    }
    cli_wrap(stdout,
             "Fitted constants hold between the pressures that were fired. They certify nothing; never stand "
             "near a test.",
             0, 0);
}

struct job {
    const struct sm_fit *fit;
    const char *name;
    const struct sm_firing *const *firings;
    size_t n;
    const struct sm_result *predicted;
    enum sm_unit_system system;
    enum sm_picture_kind kind;
};

static enum sm_status write_propellant(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct job *job = user;
    return sm_fit_write_propellant(job->fit, job->name, sink, err);
}

static enum sm_status write_plot(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct job *job = user;
    return sm_plot_firings(job->firings, job->n, NULL, job->predicted, job->system, job->kind, sink, err);
}

static enum cli_exit plot_fit(const char *path, struct job *job)
{
    struct sm_result *result;
    struct sm_error err = {0};
    if (sm_picture_kind_of(path, &job->kind, NULL) != SM_OK)
        return CLI_BAD_INPUT; /* the name was looked at before */
    if (sm_simulate(job->fit->motor, NULL, NULL, &result, &err) != SM_OK) {
        cli_say_error(&err);
        return cli_exit_of_run(err.status);
    }
    job->predicted = result;
    const enum cli_exit code = cli_write_file(path, write_plot, job);
    sm_result_free(result);
    return code;
}

/* "marsh-1" of "out/marsh-1.json". */
static void name_of(const char *path, char *name, size_t size)
{
    const char *slash = strrchr(path, '/');
    snprintf(name, size, "%s", slash ? slash + 1 : path);
    char *dot = strrchr(name, '.');
    if (dot && dot != name)
        *dot = '\0';
}

static enum cli_exit give(const struct cli *cli, const struct cli_records *records, const struct sm_fit *fit)
{
    const char *output = cli_value(cli, "output"), *plot = cli_value(cli, "plot");
    char name[128] = "";
    const struct sm_firing *firings[SM_MAX_MOTORS];
    for (size_t i = 0; i < records->n; i++)
        firings[i] = records->firings[i];
    struct job job = {fit, name, firings, records->n, NULL, cli->system, SM_PICTURE_SVG};
    enum cli_exit code = CLI_DONE;
    if (output && fit->complete) {
        name_of(output, name, sizeof name);
        code = cli_write_file(output, write_propellant, &job);
    }
    if (code == CLI_DONE && plot && fit->complete)
        code = plot_fit(plot, &job);
    if (code != CLI_DONE)
        return code;
    if (!cli_flag(cli, "json")) {
        print_fit(fit, records, cli->system);
        return CLI_DONE;
    }
    struct sm_sink out = cli_stdout();
    struct sm_error err = {0};
    const enum sm_status status = sm_fit_write_json(fit, &out, &err);
    return cli_end_output(status, &err);
}

static enum cli_exit fit_records(const struct cli *cli, const struct cli_records *records,
                                 const struct sm_motor *motor)
{
    struct sm_fit_options options = {.progress = cli_context()->progress};
    struct sm_fit *fit;
    struct sm_error err = {0};
    const struct sm_firing *firings[SM_MAX_MOTORS];
    if (!take_choice(cli, &options.vary) || !take_starts(cli, &options.starts))
        return CLI_BAD_INPUT;
    for (size_t i = 0; i < records->n; i++)
        firings[i] = records->firings[i];
    if (sm_fit_firings(motor, firings, records->n, &options, &fit, &err) != SM_OK) {
        if (err.at.file[0] == '\0')
            snprintf(err.at.file, sizeof err.at.file, "%s", cli->arguments[0]);
        cli_say_error(&err);
        return err.status == SM_E_RANGE || err.status == SM_E_FIELD ? CLI_BAD_INPUT
                                                                    : cli_exit_of_run(err.status);
    }
    enum cli_exit code = give(cli, records, fit);
    if (code == CLI_DONE && !fit->complete)
        code = CLI_STOPPED;
    sm_fit_free(fit);
    return code;
}

static enum cli_exit run(struct cli *cli)
{
    struct cli_records records;
    struct sm_motor *motor = NULL;
    if (!cli_load_options(cli) || !cli_output_names(cli))
        return CLI_BAD_INPUT;
    enum cli_exit code = cli_load_motor(cli, cli->arguments[0], &motor);
    if (code == CLI_DONE)
        code = cli_read_records(cli, 1, &records);
    if (code == CLI_DONE) {
        code = fit_records(cli, &records, motor);
        cli_free_records(&records);
    }
    sm_motor_free(motor);
    return code;
}

static const struct cli_option options[] = {
    {"vary", "NAMES",
     "what to fit, between commas: rate, exponent, cstar, thrust, erosion, sensitivity; rate,exponent if not "
     "given"},
    {"starts", "N", "searches from places apart, 1 to 16; 3 if not given"},
    {"output", "FILE", "write the fitted propellant, -o for short"},
};

const struct sm_command sm_command_fit = {
    .name = "fit",
    .summary = "learn a propellant's constants from firings",
    .arguments = "MOTOR RECORD...",
    .detail =
        "Changes the chosen values of the motor until it burns as the records say, by least squares over all "
        "of them at "
        "once, and says how well each is known, and what the firings can't tell. With --output it writes the "
        "propellant as a file that motors can name.",
    .example = "slowmatch fit examples/sandpiper-cored.json examples/stand/sandpiper-firing-1.csv --stand "
               "examples/stand/bench.json",
    .shared = CLI_SET | CLI_JSON | CLI_PLOT | CLI_UNITS | CLI_RECORD,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .min_arguments = 2,
    .max_arguments = SM_MAX_MOTORS + 1,
    .run = run,
};
