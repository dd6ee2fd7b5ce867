#include "figures.h"
#include "terminal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct cli_option options[] = {
    {"impulse", "VALUE", "total impulse of one motor, as \"175 N s\""},
    {"average-thrust", "VALUE", "average thrust of one motor, as \"13 N\""},
    {"propellant-mass", "VALUE", "propellant of one motor, as \"98 g\""},
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

static bool read_case(const struct cli *cli, struct sm_rule_case *c)
{
    *c = (struct sm_rule_case){.count = 1};
    return quantity(cli, "impulse", SM_DIM_IMPULSE, &c->impulse_each) &&
           quantity(cli, "average-thrust", SM_DIM_FORCE, &c->thrust_average) &&
           quantity(cli, "propellant-mass", SM_DIM_MASS, &c->propellant_each) &&
           quantity(cli, "vehicle-mass", SM_DIM_MASS, &c->vehicle_mass) && cli_count(cli, &c->count);
}

static void print_line(const char *label, const char *number, const char *note)
{
    printf("  %-22s %-14s %s\n", label, number, note);
}

static void print_curve(const struct sm_curve_numbers *n, enum sm_burn_end end, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], note[160];
    printf("  %-22s %s\n", "total impulse", cli_measure(a, n->total_impulse, SM_DIM_IMPULSE, system));
    printf("  %-22s %s\n", "in the burn time",
           cli_measure(a, n->impulse_in_burn_time, SM_DIM_IMPULSE, system));
    snprintf(note, sizeof note, "%s to %s, 5 %% of maximum (%s)",
             cli_number(a, n->burn_start, SM_DIM_TIME, system),
             cli_number(b, n->burn_end, SM_DIM_TIME, system),
             end == SM_BURN_END_LAST ? "last fall" : "contiguous");
    print_line("burn time", cli_measure(a, n->burn_time, SM_DIM_TIME, system), note);
    print_line("average", cli_measure(a, n->average, SM_DIM_FORCE, system), "total impulse over burn time");
    snprintf(note, sizeof note, "at %s", cli_number(b, n->maximum_time, SM_DIM_TIME, system));
    print_line("maximum", cli_measure(a, n->maximum, SM_DIM_FORCE, system), note);
    fputc('\n', stdout);
}

/* Takes impulse and average thrust from a delimited file. */
static enum cli_exit from_curve(const struct cli *cli, const char *path, struct sm_rule_case *c)
{
    enum sm_burn_end end;
    struct sm_curve_owner *owner;
    struct sm_curve curve;
    struct sm_curve_numbers numbers;
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
        print_curve(&numbers, end, cli->system);
    }
    return CLI_DONE;
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
    cli_print_caution();
}

static enum cli_exit run(struct cli *cli)
{
    struct sm_rule_case c;
    struct sm_error err = {0};
    if (!cli_load_options(cli) || !options_fit(cli) || !read_case(cli, &c))
        return CLI_BAD_INPUT;
    if (cli->n_arguments > 0) {
        const enum cli_exit code = from_curve(cli, cli->arguments[0], &c);
        if (code != CLI_DONE)
            return code;
    }
    if (!cli_flag(cli, "json")) {
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
    .arguments = "[CURVE]",
    .detail = "Gives the class of a total impulse, or of a curve in a file (delimited text, with W3C metadata "
              "beside it or not, DAVE-ML, or a result as JSON), how far the next border is, and what "
              "published levels and limits say of it, as guidance.",
    .example = "slowmatch classify --impulse \"175 N s\" --average-thrust \"13 N\" --count 2",
    .shared = CLI_JSON | CLI_UNITS | CLI_BURN_END | CLI_COUNT,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .max_arguments = 1,
    .run = run,
};
