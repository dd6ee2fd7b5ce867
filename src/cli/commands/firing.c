#include "figures.h"
#include "records.h"
#include "terminal.h"

#include <math.h>
#include <string.h>

static const char *figure_text(char buf[CLI_NUMBER], enum sm_firing_figure k, double value,
                               enum sm_unit_system system)
{
    const struct sm_figure_info *info = sm_figure_describe(k);
    return info->is_velocity ? cli_velocity(buf, value, system) : cli_measure(buf, value, info->dim, system);
}

static void print_span(const char *label, const struct sm_span *span)
{
    if (isnan(span->from))
        printf("  %-22s none\n", label);
    else
        printf("  %-22s %.4g s to %.4g s\n", label, span->from, span->to);
}

static void print_reduction(const struct sm_firing *f, enum sm_unit_system system)
{
    static const char *const drifts[] = {"left as it is", "taken off along a line in time",
                                         "taken off in proportion to the impulse"};
    char a[CLI_NUMBER], b[CLI_NUMBER];
    puts("reduction");
    printf("  %-22s %zu, %s apart\n", "rows", f->n, cli_measure(a, f->interval, SM_DIM_TIME, system));
    print_span("quiet before", &f->quiet_before);
    print_span("quiet after", &f->quiet_after);
    printf("  %-22s %s, noise %s\n", "level at rest", cli_measure(a, f->tare, SM_DIM_FORCE, system),
           cli_measure(b, f->noise, SM_DIM_FORCE, system));
    if (!isnan(f->shift))
        printf("  %-22s %s, %s\n", "shift of the level", cli_measure(a, f->shift, SM_DIM_FORCE, system),
               drifts[f->drift]);
    print_span("firing, by hysteresis", &f->event);
    print_span("window of burn time", &f->burn);
    print_span("of total impulse", &f->total);
    if (!isnan(f->ringing))
        printf("  %-22s %.4g Hz\n", "ringing", f->ringing);
    if (f->cutoff > 0.0)
        printf("  %-22s %.4g Hz, impulse kept to %.1g\n", "low-pass", f->cutoff, fabs(f->impulse_kept));
    else
        printf("  %-22s none\n", "low-pass");
}

static void print_figures(const struct sm_firing *f, enum sm_unit_system system)
{
    puts("\nas recorded, with standard uncertainty");
    for (enum sm_firing_figure k = 0; k < SM_N_FIGURES; k++) {
        char a[CLI_NUMBER], b[CLI_NUMBER];
        if (isnan(f->figures[k].value))
            continue;
        printf("  %-22s %-14s +- %s\n", sm_figure_describe(k)->label,
               figure_text(a, k, f->figures[k].value, system),
               figure_text(b, k, f->figures[k].uncertainty, system));
    }
    char a[CLI_NUMBER], b[CLI_NUMBER];
    printf("  %-22s maximum %s, burn time %s\n", "behind the low-pass",
           cli_measure(a, f->maximum_filtered, SM_DIM_FORCE, system),
           cli_measure(b, f->burn_time_filtered, SM_DIM_TIME, system));
    fputc('\n', stdout);
    cli_print_class(&f->impulse_class, f->designation, system);
    printf("  chance that the true impulse lies in a higher class %.2f %%, in a lower %.2f %%\n",
           100.0 * f->chance_above, 100.0 * f->chance_below);
}

static void print_spread(const struct sm_firing_set *set, const struct cli_records *r,
                         enum sm_unit_system system)
{
    printf("\n%zu firings\n", set->n);
    for (enum sm_firing_figure k = 0; k < SM_N_FIGURES; k++) {
        const struct sm_firing_spread *s = &set->figures[k];
        char a[CLI_NUMBER], b[CLI_NUMBER];
        if (s->n < 2)
            continue;
        printf("  %-22s %-14s +- %-14s %.2f %%", sm_figure_describe(k)->label,
               figure_text(a, k, s->mean, system), figure_text(b, k, s->deviation, system),
               100.0 * s->variation);
        if (s->outlier >= 0)
            printf("  outlier: %s", r->firings[s->outlier]->name);
        fputc('\n', stdout);
    }
    printf("  deviation of total impulse is %s 6.7 %% of its mean (NFPA 1125, from memory)\n",
           set->is_steady ? "within" : "MORE than");
}

/* The prediction beside one firing or the mean of several. */
static void print_against(const struct cli_records *r, const struct sm_firing_set *set,
                          const struct sm_result *predicted, enum sm_unit_system system)
{
    printf("\nagainst %s\n  %-22s %-14s %-14s %s\n", predicted->motor, "", "measured", "predicted",
           "difference");
    for (enum sm_firing_figure k = 0; k < SM_N_FIGURES; k++) {
        char a[CLI_NUMBER], b[CLI_NUMBER];
        const double was = set ? set->figures[k].mean : r->firings[0]->figures[k].value;
        const double said = sm_figure_predicted(predicted, k);
        if (isnan(was) || isnan(said))
            continue;
        printf("  %-22s %-14s %-14s %+.2f %%\n", sm_figure_describe(k)->label, figure_text(a, k, was, system),
               figure_text(b, k, said, system),
               0.01 * round(1e4 * (was / said - 1.0)) + 0.0); /* -0 + 0 is 0 */
    }
    for (size_t i = 0; i < r->n; i++) {
        char a[CLI_NUMBER];
        printf("  %-22s %s %s\n", i == 0 ? "left, root mean square" : "",
               cli_measure(a, sm_firing_residual(r->firings[i], predicted), SM_DIM_FORCE, system),
               r->firings[i]->name);
    }
}

struct job {
    const struct sm_firing *const *firings;
    size_t n;
    const struct sm_firing_set *set;
    const struct sm_result *predicted;
    enum sm_unit_system system;
    enum sm_picture_kind kind;
};

static enum sm_status write_csv(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct job *job = user;
    return sm_firings_write_csv(job->firings, job->n, job->set, sink, err);
}

static enum sm_status write_plot(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct job *job = user;
    return sm_plot_firings(job->firings, job->n, job->set, job->predicted, job->system, job->kind, sink, err);
}

static void print_all(const struct cli *cli, const struct cli_records *r, const struct job *job)
{
    for (size_t i = 0; i < r->n; i++) {
        const struct sm_firing *f = r->firings[i];
        if (i > 0)
            fputc('\n', stdout);
        printf("%s: %s, as measured\n", f->name, f->designation);
        print_reduction(f, cli->system);
        print_figures(f, cli->system);
    }
    if (job->set)
        print_spread(job->set, r, cli->system);
    if (job->predicted)
        print_against(r, job->set, job->predicted, cli->system);
    cli_print_measured();
}

static enum cli_exit give(const struct cli *cli, const struct cli_records *r, struct job *job)
{
    const char *csv = cli_value(cli, "csv"), *plot = cli_value(cli, "plot");
    enum cli_exit code = CLI_DONE;
    if (csv)
        code = cli_write_file(csv, write_csv, job);
    if (code == CLI_DONE && plot && sm_picture_kind_of(plot, &job->kind, NULL) == SM_OK)
        code = cli_write_file(plot, write_plot, job);
    if (code != CLI_DONE)
        return code;
    if (!cli_flag(cli, "json")) {
        print_all(cli, r, job);
        return CLI_DONE;
    }
    struct sm_sink out = cli_stdout();
    struct sm_error err = {0};
    const enum sm_status status =
        sm_firings_write_json(job->firings, job->n, job->set, job->predicted, &out, &err);
    return cli_end_output(status, &err);
}

static enum cli_exit reckon(struct cli *cli, const struct cli_records *r, struct sm_result *predicted)
{
    struct sm_firing_set *set = NULL;
    struct sm_error err = {0};
    const struct sm_firing *firings[SM_MAX_MOTORS];
    size_t n_notes = 0;
    for (size_t i = 0; i < r->n; i++) {
        firings[i] = r->firings[i];
        n_notes += r->firings[i]->n_notes;
    }
    if (r->n > 1 && sm_firing_compare(firings, r->n, &set, &err) != SM_OK) {
        cli_say_error(&err);
        return cli_exit_of_run(err.status);
    }
    struct job job = {firings, r->n, set, predicted, cli->system, SM_PICTURE_SVG};
    enum cli_exit code = give(cli, r, &job);
    sm_firing_set_free(set);
    if (code == CLI_DONE && cli_flag(cli, "strict") && n_notes > 0)
        code = CLI_WARNED;
    return code;
}

static enum cli_exit run(struct cli *cli)
{
    struct cli_records records;
    struct sm_motor *motor = NULL;
    struct sm_result *predicted = NULL;
    const char *against = cli_value(cli, "against");
    if (!cli_load_options(cli) || !cli_output_names(cli))
        return CLI_BAD_INPUT;
    if (!against && cli_flag(cli, "set")) {
        cli_say_usage(cli, "--set goes with --against MOTOR");
        return CLI_BAD_INPUT;
    }
    enum cli_exit code = cli_read_records(cli, 0, &records);
    if (code != CLI_DONE)
        return code;
    if (against)
        code = cli_burn(cli, against, &motor, &predicted);
    if (code == CLI_DONE)
        code = reckon(cli, &records, predicted);
    sm_result_free(predicted);
    sm_motor_free(motor);
    cli_free_records(&records);
    return code;
}

static const struct cli_option options[] = {
    {"against", "MOTOR", "set a motor's prediction beside the records"},
    {"burn-end", "RULE",
     "which fall through 5 % of maximum thrust ends the burn: contiguous (the default) or last"},
};

const struct sm_command sm_command_firing = {
    .name = "firing",
    .summary = "reduce records from a test stand: impulse, class and uncertainty",
    .arguments = "RECORD...",
    .detail =
        "Reads delimited records of thrust, and pressure if there is any, takes off the level at rest, finds "
        "the firing and gives its figures by the standards' definitions, each with its standard "
        "uncertainty; of several records also their spread.",
    .example = "slowmatch firing examples/stand/sandpiper-firing-1.csv --stand examples/stand/bench.json",
    .shared = CLI_SET | CLI_JSON | CLI_CSV | CLI_PLOT | CLI_UNITS | CLI_STRICT | CLI_RECORD,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .min_arguments = 1,
    .max_arguments = SM_MAX_MOTORS,
    .run = run,
};
