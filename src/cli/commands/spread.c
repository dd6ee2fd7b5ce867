#include "spreading.h"

#include "terminal.h"

static enum sm_status write_part(void *user, struct sm_sink *sink, struct sm_error *err)
{
    return sm_spread_pack(user, sink, err);
}

static enum cli_exit run(struct cli *cli)
{
    struct sm_spread_options options;
    struct sm_spread *spread = NULL;
    if (!cli_load_options(cli) || !cli_output_names(cli) || !cli_spread_options(cli, &options))
        return CLI_BAD_INPUT;
    enum cli_exit code = cli_spread_run(cli, &options, false, &spread);
    if (code != CLI_DONE)
        return code;
    if (cli_value(cli, "output"))
        code = cli_write_file(cli_value(cli, "output"), write_part, spread);
    if (code == CLI_DONE)
        code = cli_spread_show(cli, spread);
    sm_spread_free(spread);
    return code;
}

static const struct cli_option options[] = {
    {"samples", "N", "how many motors, or pairs, to draw and burn; -n for short; 2000 if not given"},
    {"seed", "N", "another seed draws other samples; 1 if not given"},
    {"points", "KIND", "sobol (the default, for the first 40 values that stray) or latin"},
    {"threads", "N", "as many as the machine has if not given; the numbers are the same"},
    {"pressure", "PRESSURE", "how likely it is exceeded, as \"5 MPa\""},
    {"sensitivity", NULL, "burn N (d + 2) more for Sobol indices of the d values that stray"},
    {"pair", NULL, "two motors lit together, side by side"},
    {"spacing", "LENGTH", "of a pair: between the two nozzles"},
    {"splay", "ANGLE", "of a pair: of each thrust outwards from the axis"},
    {"arm", "LENGTH", "of a pair: from the nozzles to the vehicle's centre of mass at ignition"},
    {"arm-empty", "LENGTH", "of a pair: the same when all is burned; as at ignition if not given"},
    {"temperature-difference", "KELVINS",
     "of a pair: by which the second grain is hotter, as one in the sun"},
    {"ignition-scatter", "TIME", "of a pair: standard deviation of each igniter's own delay"},
    {"shard", "I/K", "draw the I-th of K parts of the samples, to be put together by merge"},
    {"output", "FILE", "where a shard's samples go; -o for short"},
};

const struct sm_command sm_command_spread = {
    .name = "spread",
    .summary = "how far motors of one design stray: many burns with values drawn from tolerances",
    .arguments = "MOTOR",
    .detail =
        "Draws motors from the tolerances of the file (or usual ones), burns each, and shows percentiles "
        "with their standard errors, how likely each impulse class and pressure is, and the mismatch of a "
        "pair. Ctrl-C keeps what is done.",
    .example = "slowmatch spread examples/sandpiper-end-burner.json -n 4000 --seed 7 --plot bands.svg",
    .shared = CLI_SET | CLI_JSON | CLI_CSV | CLI_PLOT | CLI_UNITS | CLI_RUN | CLI_BURN_END,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .min_arguments = 1,
    .max_arguments = 1,
    .run = run,
};
