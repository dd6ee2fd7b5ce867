#include "terminal.h"

#include <stdlib.h>
#include <string.h>

/* What is asked for, with what it owns. */
struct job {
    const struct cli *cli;
    const struct sm_motor *motor;
    const struct sm_result *result;
    struct sm_report_options options;
    char hash[SM_HASH_TEXT];
    struct text {
        char *bytes;
        size_t n, room;
    } inputs;                   /* owned */
    struct sm_vehicle *vehicle; /* owned */
    struct sm_lift *lift;       /* owned */
    struct sm_spread *spread;   /* owned */
};

static int keep(void *user, const char *bytes, size_t n)
{
    struct text *text = user;
    if (text->n + n + 1 > text->room) {
        const size_t room = 2 * (text->n + n + 1);
        char *more = realloc(text->bytes, room);
        if (!more)
            return 12; /* ENOMEM */
        text->bytes = more;
        text->room = room;
    }
    memcpy(text->bytes + text->n, bytes, n);
    text->n += n;
    text->bytes[text->n] = '\0';
    return 0;
}

static const char *without_folder(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

/* The inputs in full. What a curve's file or standard input holds is not said again. */
static enum cli_exit read_inputs(struct job *job, const char *path)
{
    struct sm_sink sink = {keep, &job->inputs};
    struct sm_error err = {0};
    job->options.input_name = without_folder(path);
    if (strcmp(path, "-") == 0)
        return CLI_DONE;
    enum sm_status status = sm_hash_file(path, job->hash, &err);
    if (status == SM_OK)
        job->options.input_hash = job->hash;
    if (status == SM_OK && !sm_motor_is_curve(job->motor))
        status = sm_motor_write_inputs(path, &job->cli->load, &sink, &err);
    job->options.input_text = job->inputs.bytes;
    if (status == SM_OK)
        return CLI_DONE;
    cli_say_error(&err);
    return cli_exit_of_input(status);
}

static enum cli_exit study_vehicle(struct job *job)
{
    const char *path = cli_value(job->cli, "vehicle");
    struct sm_load_options load = job->cli->load;
    struct sm_diag problems = {0};
    struct sm_error err = {0};
    if (!path)
        return CLI_DONE;
    load.overrides = NULL;
    load.n_overrides = 0;
    enum sm_status status = sm_vehicle_load(path, &load, NULL, &job->vehicle, &problems);
    cli_say_problems(&problems);
    sm_diag_release(&problems);
    if (status != SM_OK)
        return cli_exit_of_input(status);
    const int carried = sm_vehicle_carries(job->vehicle, job->result->motor);
    if (carried == 0) {
        cli_say_usage(job->cli, "--vehicle: %s carries no motor named '%s'", path, job->result->motor);
        return CLI_BAD_INPUT;
    }
    job->options.count = carried;
    status = sm_lift_study(job->vehicle, NULL, cli_context(), &job->lift, &err);
    job->options.lift = job->lift;
    if (status == SM_OK)
        return CLI_DONE;
    snprintf(err.at.file, sizeof err.at.file, "%s", path);
    cli_say_error(&err);
    return cli_exit_of_run(status);
}

/* Bands of a few hundred motors, if the file says how far its values stray. */
static enum cli_exit spread(struct job *job)
{
    enum { SAMPLES = 400 }; /* the 2.5th percentile is then the tenth motor, steady enough to be drawn */
    const struct sm_one_sigma *known = &job->result->one_sigma;
    struct sm_spread_options options = {.n = SAMPLES, .seed = 1};
    struct sm_error err = {0};
    if (known->is_usual || known->n_influences == 0 || job->result->model == SM_MODEL_AXIAL)
        return CLI_DONE;
    options.run.model = job->result->model;
    options.run.burn_end = job->result->burn_end;
    const enum sm_status status = sm_spread_run(job->motor, &options, cli_context(), &job->spread, &err);
    job->options.spread = job->spread;
    if (status == SM_OK)
        return CLI_DONE;
    cli_say_error(&err);
    return cli_exit_of_run(status);
}

static enum sm_status write_page(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct job *job = user;
    return sm_report_write(job->motor, job->result, &job->options, sink, err);
}

static enum cli_exit make(struct job *job, const char *path, const char *output)
{
    enum cli_exit code = read_inputs(job, path);
    if (code == CLI_DONE)
        code = study_vehicle(job);
    if (code == CLI_DONE)
        code = spread(job);
    if (code == CLI_DONE)
        code = cli_write_file(output, write_page, job);
    sm_lift_free(job->lift);
    sm_vehicle_free(job->vehicle);
    sm_spread_free(job->spread);
    free(job->inputs.bytes);
    return code;
}

static enum cli_exit run(struct cli *cli)
{
    struct sm_motor *motor;
    struct sm_result *result;
    const char *path = cli->arguments[0], *output = cli_value(cli, "output");
    int count;
    if (!output) {
        cli_say_usage(cli, "name the page, as -o report.html");
        return CLI_BAD_INPUT;
    }
    if (cli_value(cli, "vehicle") && cli_value(cli, "count")) {
        cli_say_usage(cli, "--count and --vehicle both say how many motors there are: give one of them");
        return CLI_BAD_INPUT;
    }
    if (!cli_load_options(cli) || !cli_count(cli, &count) || !cli_output_names(cli))
        return CLI_BAD_INPUT;
    enum cli_exit code = cli_burn(cli, path, &motor, &result);
    if (code != CLI_DONE)
        return code;
    struct job job = {.cli = cli, .motor = motor, .result = result};
    job.options.system = cli->system;
    job.options.count = count;
    job.options.overrides = cli->load.overrides;
    job.options.n_overrides = cli->load.n_overrides;
    code = make(&job, path, output);
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
    {"output", "FILE", "the page to write, also as -o FILE"},
    {"vehicle", "FILE", "a vehicle that carries this motor, for the flight card"},
};

const struct sm_command sm_command_report = {
    .name = "report",
    .summary = "write one motor's report as a page of one file, with a flight card to print",
    .arguments = "MOTOR",
    .detail = "Burns a motor and writes all that is known of it as one HTML file that needs no network: a "
              "flight card for "
              "the range, curves to point at, the fire front by time, mass and balance, losses, warnings, "
              "how far it strays, "
              "and the inputs in full. A bought motor's bare curve will do.",
    .example = "slowmatch report examples/sandpiper-end-burner.json --vehicle "
               "examples/vehicles/sandpiper.json -o report.html",
    .shared = CLI_SET | CLI_UNITS | CLI_STRICT | CLI_RUN | CLI_BURN_END | CLI_COUNT,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .min_arguments = 1,
    .max_arguments = 1,
    .run = run,
};
