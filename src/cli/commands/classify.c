#include "figures.h"
#include "records.h"
#include "terminal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct cli_option options[] = {
    {"impulse", "VALUE", "total impulse of one motor, as \"175 N s\""},
    {"average-thrust", "VALUE", "average thrust of one motor, as \"13 N\""},
    {"propellant-mass", "VALUE", "propellant of one motor, as \"98 g\""},
    {"cluster", "N[,N...]",
     "motors installed together: of each file one number, or one for all; 1 if not given"},
    {"stand", "FILE", "the files are records of that slowmatch-stand: reduce them first"},
    {"vehicle-mass", "VALUE", "the whole vehicle at lift-off, as \"1.4 kg\""},
    {"time-column", "COLUMN", "the curve's column of times, by name or number"},
    {"thrust-column", "COLUMN",
     "the curve's column of thrusts, by name or number; in DAVE-ML a force's name"},
    {"time-unit", "UNIT", "unit of the times; s if neither this nor the header says"},
    {"thrust-unit", "UNIT", "unit of the thrusts; N if neither this nor the header says"},
};

/* In SI [N s], [N], [kg]: far more than any motor's; beyond it the classes' numbers mean nothing. */
static const double MOST = 1e12;

/* One option with a unit; absent if not given. */
static bool quantity(const struct cli *cli, const char *option, enum sm_dim dim, double *si)
{
    struct sm_error err = {0};
    const char *text = cli_value(cli, option);
    *si = (double)NAN;
    if (!text)
        return true;
    if (sm_units_parse(cli->units, text, dim, si, &err) == SM_OK && *si > 0.0 && *si <= MOST)
        return true;
    cli_say_usage(cli, "--%s: %s", option,
                  err.message[0] ? err.message : "must be more than zero, and at most 1e12 in SI units");
    return false;
}

/* Is nothing given that would be passed over? */
static bool options_fit(const struct cli *cli)
{
    static const char *const of_curve[] = {"time-column", "thrust-column", "time-unit", "thrust-unit"};
    const bool is_curve = cli->n_arguments > 0;
    if (is_curve == cli_flag(cli, "impulse")) {
        cli_say_usage(cli, "give either --impulse \"175 N s\" or the file of a curve");
        return false;
    }
    if (is_curve && cli_flag(cli, "average-thrust")) {
        cli_say_usage(cli, "--average-thrust goes with --impulse; a curve has its own");
        return false;
    }
    for (size_t i = 0; !is_curve && i < sizeof of_curve / sizeof of_curve[0]; i++)
        if (cli_flag(cli, of_curve[i])) {
            cli_say_usage(cli, "--%s goes with the file of a curve, not with --impulse", of_curve[i]);
            return false;
        }
    return true;
}

/* Two ways of one thing must not meet. */
static bool modes_fit(const struct cli *cli)
{
    static const char *const by_stand[] = {"time-column", "thrust-column", "time-unit", "thrust-unit"};
    if (cli_flag(cli, "stand") && cli->n_arguments == 0) {
        cli_say_usage(cli, "--stand goes with records, not with --impulse");
        return false;
    }
    for (size_t i = 0; cli_flag(cli, "stand") && i < sizeof by_stand / sizeof by_stand[0]; i++)
        if (cli_flag(cli, by_stand[i])) {
            cli_say_usage(cli, "--%s is for the stand file to say where --stand is given", by_stand[i]);
            return false;
        }
    if (cli->n_arguments > 1 && cli_flag(cli, "propellant-mass")) {
        cli_say_usage(cli, "--propellant-mass is of one motor; of a mixed cluster the stand files tell it");
        return false;
    }
    return true;
}

/* How many of each file, or of the one --impulse. */
static bool read_cluster(const struct cli *cli, int *counts)
{
    enum { MOST_EACH = 1000 };
    const char *text = cli_value(cli, "cluster");
    const size_t n = cli->n_arguments > 1 ? cli->n_arguments : 1;
    size_t given = 0;
    for (size_t i = 0; i < n; i++)
        counts[i] = 1;
    while (text) {
        char *rest;
        const long count = strtol(text, &rest, 10);
        if (rest == text || (*rest != ',' && *rest != '\0') || count < 1 || count > MOST_EACH || given == n) {
            cli_say_usage(
                cli,
                "--cluster is a whole number from 1 to 1000, or one for each file between commas, not '%s'",
                cli_value(cli, "cluster"));
            return false;
        }
        counts[given++] = (int)count;
        text = *rest == ',' ? rest + 1 : NULL;
    }
    for (size_t i = 1; given == 1 && i < n; i++)
        counts[i] = counts[0];
    if (given > 1 && given < n)
        cli_say_usage(cli, "--cluster has %zu numbers for %zu files", given, n);
    return given <= 1 || given == n;
}

static bool read_case(const struct cli *cli, struct sm_rule_case *c)
{
    *c = (struct sm_rule_case){.count = 1};
    return quantity(cli, "impulse", SM_DIM_IMPULSE, &c->impulse_each) &&
           quantity(cli, "average-thrust", SM_DIM_FORCE, &c->thrust_average) &&
           quantity(cli, "propellant-mass", SM_DIM_MASS, &c->propellant_each) &&
           quantity(cli, "vehicle-mass", SM_DIM_MASS, &c->vehicle_mass);
}

static void print_line(const char *label, const char *number, const char *note)
{
    if (note[0])
        printf("  %-22s %-14s %s\n", label, number, note);
    else
        printf("  %-22s %s\n", label, number);
}

/* Does it begin or end above a thousandth of its maximum, as a record whose level at rest was left in? */
static bool is_unrested_curve(const struct sm_curve *c, const struct sm_curve_numbers *n)
{
    return fmax(fabs(c->thrust[0]), fabs(c->thrust[c->n - 1])) > 1e-3 * n->maximum;
}

/* Does it end above what the burn time ends at, as a file that was cut short? As the warning cut-short has it. */
static bool is_cut_curve(const struct sm_curve *c, const struct sm_curve_numbers *n)
{
    return c->thrust[c->n - 1] > 0.05 * n->maximum;
}

static void print_curve(const struct sm_curve_numbers *n, bool is_unrested, bool is_cut, enum sm_burn_end end,
                        enum sm_unit_system system)
{
    static const double much_outside =
        0.02; /* of the total impulse [1], as the warning outside-burn has it */
    char a[CLI_NUMBER], b[CLI_NUMBER], note[160] = "";
    printf("  %-22s %s\n", "total impulse", cli_measure(a, n->total_impulse, SM_DIM_IMPULSE, system));
    const double outside = 1.0 - n->impulse_in_burn_time / n->total_impulse;
    if (outside > much_outside && is_unrested)
        snprintf(note, sizeof note, "%.1f %% is outside: a level at rest? see --stand", 100.0 * outside);
    print_line("in the burn time", cli_measure(a, n->impulse_in_burn_time, SM_DIM_IMPULSE, system), note);
    snprintf(note, sizeof note, "%s to %s, 5 %% of maximum (%s)",
             cli_number(a, n->burn_start, SM_DIM_TIME, system),
             cli_number(b, n->burn_end, SM_DIM_TIME, system),
             end == SM_BURN_END_LAST ? "last fall" : "contiguous");
    print_line("burn time", cli_measure(a, n->burn_time, SM_DIM_TIME, system), note);
    print_line("average", cli_measure(a, n->average, SM_DIM_FORCE, system), "total impulse over burn time");
    snprintf(note, sizeof note, "at %s", cli_number(b, n->maximum_time, SM_DIM_TIME, system));
    print_line("maximum", cli_measure(a, n->maximum, SM_DIM_FORCE, system), note);
    if (is_cut)
        cli_wrap(stdout,
                 "The curve breaks off over 5 % of its maximum: is it cut short? Impulse, time and class are "
                 "those "
                 "of what is there.",
                 2, 2);
    fputc('\n', stdout);
}

/* Takes impulse and average thrust from a delimited file. */
static enum cli_exit from_curve(const struct cli *cli, const char *path, struct sm_rule_case *c)
{
    enum sm_burn_end end;
    struct sm_curve_owner *owner;
    struct sm_curve curve;
    struct sm_curve_numbers numbers;
    bool is_unrested = false, is_cut = false;
    struct sm_error err = {0};
    const struct sm_curve_columns columns = {
        .time = cli_value(cli, "time-column"),
        .thrust = cli_value(cli, "thrust-column"),
        .time_unit = cli_value(cli, "time-unit"),
        .thrust_unit = cli_value(cli, "thrust-unit"),
    };
    if (!cli_burn_end(cli, &end))
        return CLI_BAD_INPUT;
    enum sm_status status = sm_curve_load(path, &columns, cli->units, &owner, &curve, &err);
    if (status == SM_OK) {
        const struct sm_curve_rule rule = {.burn_end = end};
        status = sm_curve_numbers(&curve, &rule, &numbers, &err);
        is_unrested = status == SM_OK && is_unrested_curve(&curve, &numbers);
        is_cut = status == SM_OK && is_cut_curve(&curve, &numbers);
        sm_curve_free(owner);
    }
    if (status != SM_OK) {
        if (err.at.file[0] == '\0')
            snprintf(err.at.file, sizeof err.at.file, "%s", path);
        cli_say_error(&err);
        return cli_exit_of_input(status);
    }
    c->impulse_each = numbers.total_impulse;
    c->thrust_average = numbers.average;
    if (!cli_flag(cli, "json")) {
        printf("%s\n", path);
        print_curve(&numbers, is_unrested, is_cut, end, cli->system);
    }
    return CLI_DONE;
}

static enum cli_exit from_record(const struct cli *cli, const struct sm_firing *f, struct sm_rule_case *c)
{
    char a[CLI_NUMBER], b[CLI_NUMBER];
    const struct sm_figure *impulse = &f->figures[SM_FIGURE_TOTAL_IMPULSE];
    c->impulse_each = impulse->value;
    c->thrust_average = f->figures[SM_FIGURE_AVERAGE].value;
    if (isnan(c->propellant_each))
        c->propellant_each = f->propellant_mass;
    c->own_design = 1;
    if (!cli_flag(cli, "json"))
        printf("%s: %s, %s +- %s; a higher class %.2f %%, a lower %.2f %%\n", f->name, f->designation,
               cli_measure(a, impulse->value, SM_DIM_IMPULSE, cli->system),
               cli_measure(b, impulse->uncertainty, SM_DIM_IMPULSE, cli->system), 100.0 * f->chance_above,
               100.0 * f->chance_below);
    return CLI_DONE;
}

/* Puts a motor of which there are `count` into the cluster: of one motor's limits the largest decides, of the rest the sum. */
static void join(struct sm_rule_case *all, const struct sm_rule_case *one, int count)
{
    const bool is_first = all->count == 0;
    all->count += count;
    all->installed_impulse += count * one->impulse_each;
    all->installed_propellant =
        is_first ? count * one->propellant_each : all->installed_propellant + count * one->propellant_each;
    all->impulse_each = fmax(all->impulse_each, one->impulse_each);
    /* fmax passes over what is absent */
    all->thrust_average = fmax(all->thrust_average, one->thrust_average);
    all->propellant_each = fmax(all->propellant_each, one->propellant_each);
    all->own_design |= one->own_design;
    all->vehicle_mass = one->vehicle_mass;
}

static enum cli_exit gather(const struct cli *cli, const int *counts, struct sm_rule_case *all)
{
    struct cli_records records = {.n = 0};
    const size_t n = cli->n_arguments > 1 ? cli->n_arguments : 1;
    const bool by_stand = cli_flag(cli, "stand");
    enum cli_exit code = by_stand ? cli_read_records(cli, 0, &records) : CLI_DONE;
    *all = (struct sm_rule_case){.thrust_average = (double)NAN, .propellant_each = (double)NAN};
    for (size_t i = 0; i < n && code == CLI_DONE; i++) {
        struct sm_rule_case one;
        if (!read_case(cli, &one))
            code = CLI_BAD_INPUT;
        else if (by_stand)
            code = from_record(cli, records.firings[i], &one);
        else if (cli->n_arguments > 0)
            code = from_curve(cli, cli->arguments[i], &one);
        if (code == CLI_DONE)
            join(all, &one, counts[i]);
    }
    cli_free_records(&records);
    return code;
}

/* A mixed cluster as a whole. */
static void print_mixed(const struct cli *cli, const int *counts, const struct sm_rule_case *c)
{
    struct sm_impulse_class k;
    char all[CLI_NUMBER];
    sm_impulse_class_of(c->installed_impulse, &k);
    fputs("cluster of ", stdout);
    for (size_t i = 0; i < cli->n_arguments; i++)
        printf("%s%d %s", i > 0 ? " + " : "", counts[i], cli->arguments[i]);
    printf(": %s installed\n", cli_measure(all, c->installed_impulse, SM_DIM_IMPULSE, cli->system));
    cli_print_class(&k, NULL, cli->system);
    cli_print_guidance(c);
    if (cli_flag(cli, "stand"))
        cli_print_measured();
    else
        cli_print_caution(CLI_GIVEN);
}

static void print_case(const struct cli *cli, const struct sm_rule_case *c)
{
    struct sm_impulse_class k;
    char designation[32] = "";
    sm_impulse_class_of(c->impulse_each, &k);
    if (!isnan(c->thrust_average))
        sm_impulse_designation(&k, c->thrust_average, (double)NAN, designation, sizeof designation);
    cli_print_class(&k, designation[0] ? designation : NULL, cli->system);
    if (c->count > 1)
        cli_print_installed(c->count, c->impulse_each, cli->system);
    cli_print_guidance(c);
    if (cli_flag(cli, "stand"))
        cli_print_measured();
    else
        cli_print_caution(CLI_GIVEN);
}

static enum cli_exit run(struct cli *cli)
{
    struct sm_rule_case c;
    struct sm_error err = {0};
    int counts[SM_MAX_MOTORS];
    if (!cli_load_options(cli) || !options_fit(cli) || !modes_fit(cli) || !read_cluster(cli, counts))
        return CLI_BAD_INPUT;
    const enum cli_exit code = gather(cli, counts, &c);
    if (code != CLI_DONE)
        return code;
    if (!cli_flag(cli, "json")) {
        if (cli->n_arguments > 1)
            print_mixed(cli, counts, &c);
        else
            print_case(cli, &c);
        return CLI_DONE;
    }
    struct sm_sink out = cli_stdout();
    const enum sm_status status = sm_class_write_json(&c, &out, &err);
    return cli_end_output(status, &err);
}

const struct sm_command sm_command_classify = {
    .name = "classify",
    .summary = "impulse class, levels and limits from an impulse or a measured curve",
    .arguments = "[CURVE...]",
    .detail =
        "Gives the class of a total impulse, or of a curve in a file (delimited text, with W3C metadata "
        "beside it or not, DAVE-ML, or a result as JSON), how far the next border is, and what "
        "published levels and limits say of it, as guidance. Several files are a mixed cluster, "
        "installed together.",
    .example = "slowmatch classify --impulse \"175 N s\" --average-thrust \"13 N\" --cluster 2",
    .shared = CLI_JSON | CLI_UNITS | CLI_BURN_END,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .max_arguments = SM_MAX_MOTORS,
    .run = run,
};
