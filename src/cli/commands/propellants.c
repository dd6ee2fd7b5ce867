#include "terminal.h"

#include <string.h>

struct listing {
    const char *wanted; /* NULL: all, a line each */
    enum sm_unit_system system;
    size_t n_shown;
    char near[128]; /* the name nearest to the wanted one so far, or "" */
};

static void print_line(const struct sm_propellant_info *p, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER];
    printf(
        "%-22s %11s %11s %11s %9s %8.3f  %s\n", p->name, cli_measure(a, p->density, SM_DIM_DENSITY, system),
        cli_measure(b, p->rate_low, SM_DIM_SPEED, system), cli_measure(c, p->rate_high, SM_DIM_SPEED, system),
        cli_velocity(d, p->cstar, system), p->exponent_high, p->standing);
}

static void print_fact(const char *label, const char *text)
{
    printf("  %-24s %s\n", label, text);
}

static void print_one(const struct sm_propellant_info *p, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], text[256];
    printf("%s, %s\n", p->name, p->standing);
    print_fact("density", cli_measure(a, p->density, SM_DIM_DENSITY, system));
    snprintf(text, sizeof text, "%s delivered, gamma %.4g", cli_velocity(a, p->cstar, system), p->gamma);
    print_fact("c*", text);
    snprintf(text, sizeof text, "%s to %s, in %zu stretch%s", cli_number(a, p->from, SM_DIM_PRESSURE, system),
             cli_number(b, p->to, SM_DIM_PRESSURE, system), p->n_segments, p->n_segments == 1 ? "" : "es");
    print_fact("burning rate given for", text);
    snprintf(text, sizeof text, "%s, exponent %.3g", cli_measure(a, p->rate_low, SM_DIM_SPEED, system),
             p->exponent_low);
    print_fact("rate at 1 MPa", text);
    snprintf(text, sizeof text, "%s, exponent %.3g", cli_measure(a, p->rate_high, SM_DIM_SPEED, system),
             p->exponent_high);
    print_fact("rate at 5 MPa", text);
    print_fact("temperature sensitivity",
               p->temperature_sensitivity == 0.0 /* as the file's reader leaves it, or as given there */
                   ? "none, or not known"
                   : cli_number(a, p->temperature_sensitivity, SM_DIM_PER_TEMPERATURE, system));
    fputc('\n', stdout);
    cli_wrap(stdout, p->source, 2, 2);
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
    if (!l->wanted && l->n_shown == 0)
        printf("%-22s %11s %11s %11s %9s %8s  %s\n", "name", "density", "at 1 MPa", "at 5 MPa", "c*",
               "exponent", "standing");
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
    const enum sm_status status = sm_propellant_each(&cli->load, show, &l, &problems);
    cli_say_problems(&problems);
    sm_diag_release(&problems);
    if (status == SM_OK && l.wanted && l.n_shown == 0) {
        cli_say_unknown(cli, "there is no propellant", l.wanted, l.near[0] ? l.near : NULL);
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
    .detail =
        "The list gives the burning rate at two pressures, the delivered characteristic velocity and the "
        "exponent at 5 MPa. standing says how far the numbers can be trusted.",
    .example = "slowmatch propellants kndx",
    .shared = CLI_UNITS,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .max_arguments = 1,
    .run = run,
};
