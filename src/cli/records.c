#include "records.h"
#include "terminal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static bool take_quantity(const struct cli *cli, const char *option, enum sm_dim dim, bool may_be_zero,
                          double *si)
{
    struct sm_error err = {0};
    const char *text = cli_value(cli, option);
    if (!text)
        return true;
    if (sm_units_parse(cli->units, text, dim, si, &err) == SM_OK &&
        (*si > 0.0 || (may_be_zero && *si == 0.0)))
        return true;
    cli_say_usage(cli, "--%s: %s", option, err.message[0] ? err.message : "must be more than zero");
    return false;
}

static void take_text(const struct cli *cli, const char *option, const char **text)
{
    const char *value = cli_value(cli, option);
    if (value)
        *text = value;
}

static bool take_baseline(const struct cli *cli, double *baseline)
{
    const char *text = cli_value(cli, "baseline");
    char *rest;
    if (!text)
        return true;
    *baseline = strtod(text, &rest);
    if (rest != text && *rest == '\0' && isfinite(*baseline))
        return true;
    cli_say_usage(cli, "--baseline is a bare number in the record's own units, not '%s'", text);
    return false;
}

static bool take_drift(const struct cli *cli, int *drift)
{
    static const char *const words[] = {"none", "linear", "weight", NULL};
    const char *text = cli_value(cli, "drift");
    for (int i = 0; text && words[i]; i++)
        if (strcmp(text, words[i]) == 0) {
            *drift = i;
            return true;
        }
    if (!text)
        return true;
    cli_say_usage(cli, "--drift is none, linear or weight, not '%s'", text);
    return false;
}

/* The i-th --stand; NULL past the last. */
static const char *stand_path(const struct cli *cli, size_t i)
{
    for (size_t k = 0; k < cli->n_given; k++)
        if (strcmp(cli->given[k].option->name, "stand") == 0 && i-- == 0)
            return cli->given[k].value;
    return NULL;
}

static size_t count_stands(const struct cli *cli)
{
    size_t n = 0;
    while (stand_path(cli, n))
        n++;
    return n;
}

/* A stand of its own, at place i of the owners. */
static enum cli_exit read_stand(const struct cli *cli, size_t i, struct cli_records *records)
{
    struct sm_stand *s = &records->stand;
    const char *path = stand_path(cli, i);
    sm_stand_init(s);
    if (path) {
        struct sm_diag problems = {0};
        const enum sm_status status = sm_stand_load(path, cli->units, &records->owners[i], s, &problems);
        cli_say_problems(&problems);
        sm_diag_release(&problems);
        if (status != SM_OK)
            return cli_exit_of_input(status);
    }
    take_text(cli, "time-column", &s->time_column);
    take_text(cli, "time-unit", &s->time_unit);
    take_text(cli, "thrust-column", &s->thrust.column);
    take_text(cli, "thrust-unit", &s->thrust.unit);
    take_text(cli, "pressure-column", &s->pressure.column);
    take_text(cli, "pressure-unit", &s->pressure.unit);
    s->log = s->log || cli_flag(cli, "log");
    if (take_quantity(cli, "sample-rate", SM_DIM_FREQUENCY, false, &s->sample_rate) &&
        take_quantity(cli, "propellant-mass", SM_DIM_MASS, false, &s->propellant_mass) &&
        take_quantity(cli, "cutoff", SM_DIM_FREQUENCY, true, &s->cutoff) &&
        take_baseline(cli, &s->thrust.baseline) && take_drift(cli, &s->drift))
        return CLI_DONE;
    return CLI_BAD_INPUT;
}

void cli_print_measured(void)
{
    fputc('\n', stdout);
    cli_wrap(stdout,
             "Measured on a stand of one's own: it certifies nothing. Follow the law where you are, the "
             "codes that "
             "apply and your range's safety officer, and never stand near a test.",
             0, 0);
}

size_t cli_say_notes(const struct sm_firing *firing)
{
    for (size_t i = 0; i < firing->n_notes; i++) {
        const struct sm_firing_note *note = &firing->notes[i];
        fprintf(stderr, "%s:", firing->name);
        if (note->line > 0)
            fprintf(stderr, "%u:", note->line);
        fprintf(stderr, " warning: %s [%s]\n", note->text, note->code);
    }
    return firing->n_notes;
}

static enum cli_exit read_one(const struct cli *cli, const char *path, enum sm_burn_end end,
                              struct cli_records *records)
{
    struct sm_error err = {0};
    const enum sm_status status =
        sm_firing_load(path, &records->stand, cli->units, end, &records->firings[records->n], &err);
    if (status != SM_OK) {
        cli_say_error(&err);
        return cli_exit_of_input(status);
    }
    cli_say_notes(records->firings[records->n++]);
    return CLI_DONE;
}

enum cli_exit cli_read_records(const struct cli *cli, size_t first, struct cli_records *records)
{
    enum sm_burn_end end = SM_BURN_END_CONTIGUOUS;
    const size_t n = cli->n_arguments - first, n_stands = count_stands(cli);
    memset(records, 0, sizeof *records);
    if (cli_flag(cli, "burn-end") && !cli_burn_end(cli, &end))
        return CLI_BAD_INPUT;
    if (n_stands > 1 && n_stands != n) {
        cli_say_usage(cli, "give --stand once for all records, or once for each: %zu for %zu", n_stands, n);
        return CLI_BAD_INPUT;
    }
    enum cli_exit code = CLI_DONE;
    for (size_t i = 0; i < n && code == CLI_DONE; i++) {
        if (i == 0 || n_stands > 1)
            code = read_stand(cli, i, records);
        if (code == CLI_DONE)
            code = read_one(cli, cli->arguments[first + i], end, records);
    }
    if (code != CLI_DONE)
        cli_free_records(records);
    return code;
}

void cli_free_records(struct cli_records *records)
{
    for (size_t i = 0; i < records->n; i++)
        sm_firing_free(records->firings[i]);
    for (size_t i = 0; i < SM_MAX_MOTORS; i++)
        sm_stand_free(records->owners[i]);
    memset(records, 0, sizeof *records);
}
