#include "needs.h"
#include "terminal.h"

#include <math.h>
#include <stdlib.h>

/* A quantity with its unit, or a bare number; what is not given stays NaN. */
static bool take_quantity(const struct cli *cli, const char *option, enum sm_dim dim, double *out)
{
    struct sm_error err = {0};
    const char *text = cli_value(cli, option);
    *out = (double)NAN;
    if (!text || sm_units_parse(cli->units, text, dim, out, &err) == SM_OK)
        return true;
    cli_say_usage(cli, "--%s: %s", option, err.message);
    return false;
}

static bool in_range(const struct cli *cli, const char *option, bool is_right, const char *what)
{
    const char *text = cli_value(cli, option);
    if (!text || is_right)
        return true;
    cli_say_usage(cli, "--%s is %s; it must be %s", option, text, what);
    return false;
}

/* What says nothing without another option, or beside one. */
static bool fits(const struct cli *cli)
{
    static const char *const of_needs[] = {"base", "group", "reserve", "lift-ratio", "burn-time"};
    static const char *const of_studies[] = {"csv", "sets", "flight", "off-by", "samples", "seed", "threads"};
    const bool is_needs = cli_value(cli, "needs") != NULL;
    for (size_t i = 0; i < sizeof of_needs / sizeof *of_needs; i++)
        if (!is_needs && cli_value(cli, of_needs[i])) {
            cli_say_usage(cli, "--%s is of what a flight needs; it goes with --needs", of_needs[i]);
            return false;
        }
    for (size_t i = 0; i < sizeof of_studies / sizeof *of_studies; i++)
        if (is_needs && cli_value(cli, of_studies[i])) {
            cli_say_usage(cli, "--%s is of flights on motors that are there; leave it or --needs out",
                          of_studies[i]);
            return false;
        }
    if (!is_needs && cli_flag(cli, "robust")) {
        cli_say_usage(cli, "--robust is of what a flight needs; it goes with --needs");
        return false;
    }
    if (is_needs && (!cli_value(cli, "hover-height") || !cli_value(cli, "hover-time"))) {
        cli_say_usage(cli, "--needs wants to know the flight: --hover-height and --hover-time");
        return false;
    }
    if (cli_value(cli, "hover-time") && !cli_value(cli, "hover-height")) {
        cli_say_usage(cli, "--hover-time wants to know where: --hover-height");
        return false;
    }
    return true;
}

bool cli_take_wish(const struct cli *cli, struct sm_needs_wish *wish)
{
    *wish = (struct sm_needs_wish){.is_robust = cli_flag(cli, "robust"), .group = cli_value(cli, "group")};
    return fits(cli) && take_quantity(cli, "hover-height", SM_DIM_LENGTH, &wish->hover_height) &&
           take_quantity(cli, "hover-time", SM_DIM_TIME, &wish->hover_time) &&
           take_quantity(cli, "reserve", SM_DIM_NONE, &wish->reserve) &&
           take_quantity(cli, "lift-ratio", SM_DIM_NONE, &wish->lift_ratio) &&
           take_quantity(cli, "burn-time", SM_DIM_TIME, &wish->burn_time) &&
           in_range(cli, "hover-height", wish->hover_height > 0.0 && wish->hover_height <= 1e4,
                    "above 0, up to 10000 m") &&
           in_range(cli, "hover-time", wish->hover_time >= 0.0 && wish->hover_time <= 1e4,
                    "from 0 to 10000 s") &&
           in_range(cli, "burn-time", wish->burn_time > 0.0 && wish->burn_time <= 1e4,
                    "above 0, up to 10000 s") &&
           in_range(cli, "reserve", wish->reserve >= 0.0 && wish->reserve <= 0.45,
                    "from 0 to 0.45, for it is kept at both ends of the range of throttle") &&
           in_range(cli, "lift-ratio", wish->lift_ratio > 1.0 && wish->lift_ratio < 2.0,
                    "over 1, or it does not lift, and under 2, for it slows as fast as it speeds up");
}

/* ---- showing ---- */

/* The answer first: what one motor must give, and where the request is. */
static void print_answer(const struct sm_needs *n, const char *file, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER], e[CLI_NUMBER], line[600],
        isp[CLI_NUMBER], which[80] = "";
    if (n->n_groups > 1)
        snprintf(which, sizeof which, " in group %zu%s%.40s", n->group, n->group_name ? ", " : "",
                 n->group_name ? n->group_name : "");
    printf("%s: what a flight to %s, with %s of hover, needs\n\n", n->vehicle,
           cli_height(a, n->wish.hover_height, system),
           cli_number(b, n->wish.hover_time, SM_DIM_TIME, system));
    snprintf(line, sizeof line,
             "Each of %d %s%s: a steady thrust from %s to %s, for %s. %s is in the middle, and takes %s of "
             "propellant at a specific impulse of %s.",
             n->count, n->count == 1 ? "motor" : "motors", which,
             cli_measure(a, n->thrust_least, SM_DIM_FORCE, system),
             cli_measure(b, n->thrust_most, SM_DIM_FORCE, system),
             cli_measure(c, n->wish.burn_time, SM_DIM_TIME, system),
             cli_measure(d, n->thrust, SM_DIM_FORCE, system),
             cli_number(e, n->propellant_mass, SM_DIM_MASS, system),
             cli_measure(isp, n->specific_impulse, SM_DIM_TIME, system));
    cli_wrap(stdout, line, 2, 2);
    if (!(n->thrust_least > 0.0))
        cli_wrap(stdout, "The other motors could fly it alone.", 2, 2);
    snprintf(line, sizeof line, "Written to %.200s as a request, which 'slowmatch size%s' reads.", file,
             n->wish.is_robust ? " --robust PERCENT" : "");
    cli_wrap(stdout, line, 2, 2);
}

static void print_flight(const struct sm_needs *n, enum sm_unit_system system)
{
    static const char *const legs[SM_NEEDS_LEGS] = {"up, faster", "up, slower", "hover", "down, faster",
                                                    "down, slower"};
    char a[CLI_NUMBER], b[CLI_NUMBER];
    printf("\nthe flight, after %s ignition\n", n->count == 1 ? "this motor's" : "these motors'");
    for (size_t i = 0; i < SM_NEEDS_LEGS; i++)
        printf("  %-22s %s to %s\n", legs[i], cli_measure(a, n->begin[i], SM_DIM_TIME, system),
               cli_measure(b, n->begin[i + 1], SM_DIM_TIME, system));
    printf("  %-22s %-14s codes commonly ask for 3, from memory\n", "thrust to weight",
           cli_measure(a, n->wish.lift_ratio, SM_DIM_NONE, system));
    printf("  %-22s %-14s as it lifts off\n", "mass", cli_vehicle_mass(a, n->release_mass, system));
    if (n->turn_time > 0.0)
        printf("  %-22s %-14s from faster to slower; %s to hover\n", "splay turns in",
               cli_measure(a, n->turn_time, SM_DIM_TIME, system),
               cli_measure(b, n->ease_time, SM_DIM_TIME, system));
}

/* Rows at which a leg begins, at which a limit jumps or comes or goes, and the first and last. */
static bool is_shown(const struct sm_needs *n, size_t i)
{
    static const double near = 0.005, jump = 0.02; /* [s], [1] */
    if (i == 0 || i + 1 == n->n)
        return true;
    for (size_t k = 0; k <= SM_NEEDS_LEGS; k++)
        if (n->time[i - 1] < n->begin[k] && n->time[i] >= n->begin[k])
            return true;
    for (size_t k = i; k <= i + 1; k++)
        if (isnan(n->least[k]) != isnan(n->least[k - 1]) || isnan(n->most[k]) != isnan(n->most[k - 1]) ||
            (n->time[k] - n->time[k - 1] < near && fabs(n->most[k] / n->most[k - 1] - 1.0) > jump))
            return true;
    return false;
}

static void print_band(const struct sm_needs *n, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER], e[CLI_NUMBER];
    puts("\nthrust of one motor, that may be anywhere in this band");
    printf("  %-10s %-10s %-12s %-12s %s\n", "time", "height", "at least", "at most", "mass");
    for (size_t i = 0; i < n->n; i++)
        if (is_shown(n, i))
            printf("  %-10s %-10s %-12s %-12s %s\n", cli_measure(a, n->time[i], SM_DIM_TIME, system),
                   cli_height(b, n->height[i], system), cli_measure(c, n->least[i], SM_DIM_FORCE, system),
                   cli_measure(d, n->most[i], SM_DIM_FORCE, system), cli_vehicle_mass(e, n->mass[i], system));
}

static void print_needs(const struct sm_needs *n, const char *file, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER];
    print_answer(n, file, system);
    print_flight(n, system);
    print_band(n, system);
    puts("\nwhat there is to spare");
    if (!isnan(n->splay_limit))
        printf("  %-22s %-14s the vehicle's is %s\n", "splay limit, least",
               cli_measure(a, n->least_splay_limit, SM_DIM_ANGLE, system),
               cli_measure(b, n->splay_limit, SM_DIM_ANGLE, system));
    printf("  %-22s %-14s with a reserve of %.3g kept\n\n", "hover there, longest",
           cli_measure(c, n->longest_hover, SM_DIM_TIME, system), n->wish.reserve);
    for (size_t i = 0; sm_lift_caution(i); i++)
        cli_wrap(stdout, sm_lift_caution(i), 0, 0);
}

struct request_job {
    const struct sm_needs *needs;
    const char *path;
};

static enum sm_status write_request(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct request_job *job = user;
    return sm_needs_write_request(job->needs, job->path, sink, err);
}

struct plot_job {
    const struct sm_needs *needs;
    enum sm_unit_system system;
    enum sm_picture_kind kind;
};

static enum sm_status write_plot(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct plot_job *job = user;
    return sm_plot_needs(job->needs, job->system, job->kind, sink, err);
}

static enum cli_exit write_files(const struct cli *cli, const struct sm_needs *needs)
{
    const char *plot = cli_value(cli, "plot");
    struct request_job request = {needs, cli_value(cli, "needs")};
    struct plot_job picture = {needs, cli->system, SM_PICTURE_SVG};
    const enum cli_exit code = cli_write_file(request.path, write_request, &request);
    /* The name was looked at before. */
    if (code != CLI_DONE || !plot || sm_picture_kind_of(plot, &picture.kind, NULL) != SM_OK)
        return code;
    return cli_write_file(plot, write_plot, &picture);
}

enum cli_exit cli_needs(const struct cli *cli, const struct sm_vehicle *vehicle,
                        const struct sm_needs_wish *wish)
{
    struct sm_needs *needs;
    struct sm_diag problems = {0};
    struct sm_error err = {0};
    const enum sm_status status =
        sm_needs_study(vehicle, cli_value(cli, "base"), wish, &cli->load, cli_context(), &needs, &problems);
    cli_say_problems(&problems);
    sm_diag_release(&problems);
    if (status != SM_OK)
        return cli_exit_of_input(status);
    enum cli_exit code = write_files(cli, needs);
    if (code == CLI_DONE && cli_flag(cli, "json")) {
        struct sm_sink out = cli_stdout();
        code = cli_end_output(sm_needs_write_json(needs, &out, &err), &err);
    } else if (code == CLI_DONE)
        print_needs(needs, cli_value(cli, "needs"), cli->system);
    sm_needs_free(needs);
    return code;
}
