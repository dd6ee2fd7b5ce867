#include "terminal.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

/* ---- problems ---- */

void cli_say_error(const struct sm_error *err)
{
    if (err->at.file[0])
        fprintf(stderr, "%s:", err->at.file);
    if (err->at.line > 0)
        fprintf(stderr, "%u:", err->at.line);
    if (err->at.line > 0 && err->at.column > 0)
        fprintf(stderr, "%u:", err->at.column);
    fprintf(stderr, "%serror: %s", err->at.file[0] ? " " : "", err->message);
    if (err->at.path[0])
        fprintf(stderr, " [%s]", err->at.path);
    fputc('\n', stderr);
    if (err->excerpt[0])
        fprintf(stderr, "    %s\n", err->excerpt);
    if (err->excerpt[0] && err->caret > 0)
        fprintf(stderr, "    %*s\n", (int)err->caret, "^");
}

void cli_say_problems(const struct sm_diag *diag)
{
    for (size_t i = 0; i < diag->n; i++)
        cli_say_error(&diag->items[i]);
    if (diag->n_found > 0 && diag->n == 0) /* there was no room for one */
        fputs("error: out of memory\n", stderr);
    else if (diag->n_found > diag->n)
        fprintf(stderr, "and %zu more\n", diag->n_found - diag->n);
}

enum cli_exit cli_no_memory(void)
{
    fputs("slowmatch: error: out of memory\n", stderr);
    return CLI_FAILED;
}

void cli_say_usage(const struct cli *cli, const char *fmt, ...)
{
    va_list args;
    fputs("slowmatch: ", stderr);
    va_start(args, fmt);
    vfprintf(stderr, fmt, args);
    va_end(args);
    fprintf(stderr, " (see 'slowmatch help%s%s')\n", cli && cli->command ? " " : "",
            cli && cli->command ? cli->command->name : "");
}

void cli_say_unknown(const struct cli *cli, const char *what, const char *name, const char *near)
{
    if (near)
        cli_say_usage(cli, "%s '%s'; did you mean '%s'?", what, name, near);
    else
        cli_say_usage(cli, "%s '%s'", what, name);
}

void cli_say_warning(const struct sm_warning_found *warning, const char *name)
{
    char line[600];
    snprintf(line, sizeof line, "%s: warning: %s [%s]", name, warning->text, warning->code);
    /* the figures come first where both go to one place; a fault is seen when it is closed */
    fflush(stdout);
    cli_wrap(stderr, line, 0, 4);
}

void cli_say_warnings(const struct sm_result *result, const char *name)
{
    for (size_t i = 0; i < result->n_warnings; i++)
        cli_say_warning(&result->warnings[i], name);
}

enum cli_exit cli_exit_of_input(enum sm_status status)
{
    switch (status) {
    case SM_OK:
        return CLI_DONE;
    case SM_E_NOMEM:
    case SM_E_NUMERIC:
    case SM_E_PHYSICS:
        return CLI_FAILED;
    case SM_E_INTERNAL:
        return CLI_BUG;
    case SM_E_CANCELLED:
        return CLI_STOPPED;
    default:
        return CLI_BAD_INPUT;
    }
}

enum cli_exit cli_exit_of_run(enum sm_status status)
{
    return status == SM_E_IO ? CLI_FAILED : cli_exit_of_input(status);
}

/* ---- numbers ---- */

_Static_assert((int)CLI_NUMBER == (int)SM_SHOW_TEXT, "numbers are put by the library");

const char *cli_number(char buf[CLI_NUMBER], double si, enum sm_dim dim, enum sm_unit_system system)
{
    return sm_show_number(buf, si, dim, system);
}

const char *cli_measure(char buf[CLI_NUMBER], double si, enum sm_dim dim, enum sm_unit_system system)
{
    return sm_show_measure(buf, si, dim, system);
}

const char *cli_velocity(char buf[CLI_NUMBER], double si, enum sm_unit_system system)
{
    return sm_show_velocity(buf, si, system);
}

const char *cli_vehicle_mass(char buf[CLI_NUMBER], double si, enum sm_unit_system system)
{
    if (system == SM_UNITS_US || !(si >= 1.0 && si < 1000.0))
        return cli_measure(buf, si, SM_DIM_MASS, system);
    snprintf(buf, CLI_NUMBER, "%#.4g kg", si);
    return buf;
}

const char *cli_height(char buf[CLI_NUMBER], double si, enum sm_unit_system system)
{
    static const double none = 1e-9, least = 1e-3; /* below the first there is none to speak of [m] */
    if (isnan(si))
        snprintf(buf, CLI_NUMBER, "-");
    else if (fabs(si) < least && fabs(si) >= none)
        snprintf(buf, CLI_NUMBER, "%s", system == SM_UNITS_US ? "under 0.04 in" : "under 1 mm");
    else if (system == SM_UNITS_US)
        snprintf(buf, CLI_NUMBER, "%.4g ft", fabs(si) < none ? 0.0 : si / 0.3048);
    else
        snprintf(buf, CLI_NUMBER, "%.4g m", fabs(si) < none ? 0.0 : si);
    return buf;
}

/* ---- output ---- */

static int write_stdout(void *user, const char *bytes, size_t n)
{
    (void)user;
    errno = 0;
    if (fwrite(bytes, 1, n, stdout) != n)
        return errno ? errno : EIO;
    return 0;
}

struct sm_sink cli_stdout(void)
{
    return (struct sm_sink){write_stdout, NULL};
}

/* Why standard output takes no more: an earlier write may have failed with its reason lost, so one more byte is tried. */
static int output_fault(void)
{
    errno = 0;
    if (fflush(stdout) == 0 && !ferror(stdout))
        return 0;
    clearerr(stdout);
    errno = 0;
    fputc('\n', stdout);
    fflush(stdout);
    return errno ? errno : EIO;
}

enum cli_exit cli_close_stdout(void)
{
    const int fault = output_fault();
    if (fault != 0 && fault != EPIPE) /* a reader that has seen enough, as head, is not worth a message */
        fprintf(stderr, "slowmatch: error: can't write to standard output: %s\n", strerror(fault));
    return fault == 0 ? CLI_DONE : CLI_FAILED;
}

enum cli_exit cli_end_output(enum sm_status status, const struct sm_error *err)
{
    /* A fault of standard output itself is said once, when it is closed. */
    if (status != SM_OK && status != SM_E_IO)
        cli_say_error(err);
    return cli_exit_of_run(status);
}

enum cli_exit cli_write_file(const char *path, cli_writer *writer, void *user)
{
    struct sm_file_sink file;
    struct sm_error err = {0};
    enum sm_status status = sm_file_sink_open(&file, path, &err);
    if (status == SM_OK) {
        status = writer(user, &file.sink, &err);
        if (status == SM_OK)
            status = sm_file_sink_commit(&file, &err);
        else
            sm_file_sink_abandon(&file);
    }
    if (status == SM_OK)
        return CLI_DONE;
    if (err.at.file[0] == '\0')
        snprintf(err.at.file, sizeof err.at.file, "%s", path);
    cli_say_error(&err);
    return cli_exit_of_run(status);
}
