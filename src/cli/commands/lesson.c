#include "terminal.h"

#include <stdlib.h>

static enum sm_status write_page(void *user, struct sm_sink *sink, struct sm_error *err)
{
    return sm_lesson_write(user, sink, err);
}

/* Burns the two motors that are given. Those burned are in options even on failure. */
static enum cli_exit burn_both(struct cli *cli, const char *const paths[2], struct sm_motor *motors[2],
                               struct sm_result *results[2], struct sm_lesson_options *options)
{
    for (size_t i = 0; i < 2; i++) {
        const enum cli_exit code = cli_burn(cli, paths[i], &motors[i], &results[i]);
        if (code != CLI_DONE)
            return code;
        options->motors[i] = motors[i];
        options->results[i] = results[i];
    }
    return CLI_DONE;
}

static enum cli_exit run(struct cli *cli)
{
    const char *output = cli_value(cli, "output"), *first = cli_value(cli, "with");
    const char *const paths[2] = {first, cli->n_arguments > 0 ? cli->arguments[0] : NULL};
    struct sm_motor *motors[2] = {NULL, NULL};
    struct sm_result *results[2] = {NULL, NULL};
    struct sm_lesson_options options = {.context = cli_context()};
    if (!output) {
        cli_say_usage(cli, "name the page, as -o lesson.html");
        return CLI_BAD_INPUT;
    }
    if (!first != !paths[1]) {
        cli_say_usage(cli, "--with takes two motors, as --with a.json b.json");
        return CLI_BAD_INPUT;
    }
    if (!cli_load_options(cli) || !cli_output_names(cli))
        return CLI_BAD_INPUT;
    if (!first && cli->load.n_overrides > 0) {
        cli_say_usage(cli, "--set changes the motors of --with, and none are given");
        return CLI_BAD_INPUT;
    }
    options.system = cli->system;
    enum cli_exit code = first ? burn_both(cli, paths, motors, results, &options) : CLI_DONE;
    if (code == CLI_DONE)
        code = cli_write_file(output, write_page, &options);
    for (size_t i = 0; i < 2; i++) {
        sm_result_free(results[i]);
        sm_motor_free(motors[i]);
    }
    return code;
}

static const struct cli_option options[] = {
    {"output", "FILE", "the page to write, also as -o FILE"},
    {"with", "MOTOR MOTOR", "teach on two motors of one's own in place of the lesson's"},
};

const struct sm_command sm_command_lesson = {
    .name = "lesson",
    .summary = "write a lesson on why an end burner lasts longer, as a page of one file",
    .arguments = "",
    .detail = "Burns a few hundred motors and writes a page of one HTML file that needs no network: two "
              "grains burning side by side, "
              "sliders to change them, and leaves on the class border, on hot days and on erosive peaks, "
              "with questions.",
    .example = "slowmatch lesson -o lesson.html",
    .shared = CLI_SET | CLI_UNITS,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .min_arguments = 0,
    .max_arguments = 1,
    .run = run,
};
