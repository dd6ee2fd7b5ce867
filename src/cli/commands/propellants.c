#include "terminal.h"

#include <math.h>
#include <string.h>

struct listing {
    const char *wanted; /* NULL: all, a line each */
    enum sm_unit_system system;
    size_t n_shown;
    char near[128]; /* the name nearest to the wanted one so far, or "" */
};

static void print_line(const struct sm_propellant_info *p, enum sm_unit_system system)
{
    char density[CLI_NUMBER], cstar[CLI_NUMBER], low[CLI_NUMBER], high[CLI_NUMBER];
    snprintf(cstar, sizeof cstar, "%.0f m/s", p->cstar);
    printf("%-24s %-12s %-12s %-10s %-10s %9.3g  %s\n", p->name,
           cli_number(density, p->density, SM_DIM_DENSITY, system),
           cli_number(low, p->rate_low, SM_DIM_SPEED, system),
           cli_number(high, p->rate_high, SM_DIM_SPEED, system), cstar, p->exponent_high, p->standing);
}

static void print_one(const struct sm_propellant_info *p, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER];
    printf("%s (%s)\n", p->name, p->standing);
    printf("  %-26s %s\n", "density", cli_number(a, p->density, SM_DIM_DENSITY, system));
    printf("  %-26s %.0f m/s, gamma %.4g\n", "delivered c*", p->cstar, p->gamma);
    printf("  %-26s %s to %s, in %zu stretch%s\n", "burning rate given for",
           cli_number(a, p->from, SM_DIM_PRESSURE, system), cli_number(b, p->to, SM_DIM_PRESSURE, system),
           p->n_segments, p->n_segments == 1 ? "" : "es");
    printf("  %-26s %s, exponent %.3g\n", "rate at 1 MPa", cli_number(a, p->rate_low, SM_DIM_SPEED, system),
           p->exponent_low);
    printf("  %-26s %s, exponent %.3g\n", "rate at 5 MPa", cli_number(a, p->rate_high, SM_DIM_SPEED, system),
           p->exponent_high);
    printf("  %-26s %s\n", "temperature sensitivity",
           cli_number(a, p->temperature_sensitivity, SM_DIM_PER_TEMPERATURE, system));
    cli_wrap(stdout, p->source, 2, 100);
}

static void remember_nearest(struct listing *l, const char *name)
{
    const char *const names[] = {name, l->near[0] ? l->near : NULL, NULL};
    const char *near = sm_nearest_name(l->wanted, names);
    if (near == name)
        snprintf(l->near, sizeof l->near, "%s", name);
}

static void show(void *user, const struct sm_propellant_info *info)
{
    struct listing *l = user;
    if (l->wanted && strcmp(l->wanted, info->name) != 0) {
        remember_nearest(l, info->name);
        return;
    }
    if (l->wanted)
        print_one(info, l->system);
    else
        print_line(info, l->system);
    l->n_shown++;
}

static enum cli_exit run(struct cli *cli)
{
    struct sm_diag problems = {0};
    if (!cli_load_options(cli))
        return CLI_BAD_INPUT;
    struct listing l = {.wanted = cli->n_arguments > 0 ? cli->arguments[0] : NULL, .system = cli->system};
    if (!l.wanted)
        printf("%-24s %-12s %-12s %-10s %-10s %9s  %s\n", "name", "density", "at 1 MPa", "at 5 MPa", "c*",
               "exponent", "standing");
    const enum sm_status status = sm_propellant_each(&cli->load, show, &l, &problems);
    cli_say_problems(&problems);
    sm_diag_release(&problems);
    if (status == SM_OK && l.wanted && l.n_shown == 0) {
        cli_say_usage(cli, "there is no propellant \"%s\"%s%s%s", l.wanted,
                      l.near[0] ? "; did you mean \"" : "", l.near, l.near[0] ? "\"?" : "");
        return CLI_BAD_INPUT;
    }
    return cli_exit_of_input(status);
}

static const struct cli_option options[] = {
    {"propellant-folder", "FOLDER", "where named propellants are"},
};

const struct sm_command sm_command_propellants = {
    .name = "propellants",
    .summary = "list the propellants, or give one's numbers and source",
    .arguments = "[NAME]",
    .example = "slowmatch propellants kndx",
    .shared = CLI_UNITS,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .max_arguments = 1,
    .run = run,
};
