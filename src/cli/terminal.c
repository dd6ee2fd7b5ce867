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
    if (diag->n_found > diag->n)
        fprintf(stderr, "and %zu more\n", diag->n_found - diag->n);
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

struct shown {
    const char *unit;
    double factor, offset; /* [SI]; value shown = (si - offset) / factor */
};

/* Units that people read, SI and United States customary. Factors are exact by definition (NIST SP 811). */
static const struct shown shown[SM_DIM_COUNT][2] = {
    [SM_DIM_NONE] = {{"", 1.0, 0.0}, {"", 1.0, 0.0}},
    [SM_DIM_LENGTH] = {{"mm", 1e-3, 0.0}, {"in", 0.0254, 0.0}},
    [SM_DIM_AREA] = {{"mm2", 1e-6, 0.0}, {"in2", 0.00064516, 0.0}},
    [SM_DIM_VOLUME] = {{"cm3", 1e-6, 0.0}, {"in3", 1.6387064e-5, 0.0}},
    [SM_DIM_MASS] = {{"g", 1e-3, 0.0}, {"lb", 0.45359237, 0.0}},
    [SM_DIM_TIME] = {{"s", 1.0, 0.0}, {"s", 1.0, 0.0}},
    [SM_DIM_PRESSURE] = {{"MPa", 1e6, 0.0}, {"psi", 6894.757293168361, 0.0}},
    [SM_DIM_TEMPERATURE] = {{"degC", 1.0, 273.15}, {"degF", 5.0 / 9.0, 459.67 * 5.0 / 9.0}},
    [SM_DIM_TEMPERATURE_DIFFERENCE] = {{"K", 1.0, 0.0}, {"degF", 5.0 / 9.0, 0.0}},
    [SM_DIM_PER_TEMPERATURE] = {{"%/K", 0.01, 0.0}, {"%/degF", 0.018, 0.0}},
    [SM_DIM_ANGLE] = {{"deg", 3.14159265358979323846 / 180.0, 0.0},
                      {"deg", 3.14159265358979323846 / 180.0, 0.0}},
    [SM_DIM_DENSITY] = {{"kg/m3", 1.0, 0.0}, {"lb/in3", 27679.904710203125, 0.0}},
    [SM_DIM_SPEED] = {{"mm/s", 1e-3, 0.0}, {"in/s", 0.0254, 0.0}},
    [SM_DIM_INERTIA] = {{"kg m2", 1.0, 0.0}, {"lb ft2", 0.0421401100938048, 0.0}},
    [SM_DIM_MOMENT] = {{"N m", 1.0, 0.0}, {"lbf ft", 1.3558179483314004, 0.0}},
    [SM_DIM_FORCE] = {{"N", 1.0, 0.0}, {"lbf", 4.4482216152605, 0.0}},
    [SM_DIM_IMPULSE] = {{"N s", 1.0, 0.0}, {"lbf s", 4.4482216152605, 0.0}},
    [SM_DIM_MOLAR_MASS] = {{"g/mol", 1e-3, 0.0}, {"g/mol", 1e-3, 0.0}},
    [SM_DIM_MASS_FLOW] = {{"g/s", 1e-3, 0.0}, {"lb/s", 0.45359237, 0.0}},
    [SM_DIM_MASS_FLUX] = {{"kg/m2s", 1.0, 0.0}, {"lb/in2s", 703.0695796391593, 0.0}},
    [SM_DIM_ACCELERATION] = {{"m/s2", 1.0, 0.0}, {"ft/s2", 0.3048, 0.0}},
    [SM_DIM_FREQUENCY] = {{"Hz", 1.0, 0.0}, {"Hz", 1.0, 0.0}},
    [SM_DIM_HEAT_TRANSFER] = {{"W/m2K", 1.0, 0.0}, {"W/m2K", 1.0, 0.0}},
    [SM_DIM_SPECIFIC_HEAT] = {{"J/kgK", 1.0, 0.0}, {"J/kgK", 1.0, 0.0}},
    [SM_DIM_VISCOSITY] = {{"Pa s", 1.0, 0.0}, {"Pa s", 1.0, 0.0}},
    [SM_DIM_SPECIFIC_VOLUME] = {{"m3/kg", 1.0, 0.0}, {"m3/kg", 1.0, 0.0}},
};

static double shown_value(double si, const struct shown *s)
{
    return (si - s->offset) / s->factor;
}

/* Values far from the usual unit read better in another of the same kind; the last row that fits counts. */
static const struct {
    enum sm_dim dim;
    double from, below; /* of the size of the value [SI] */
    struct shown unit;
} others[] = {
    {SM_DIM_LENGTH, 1.0, 1e4, {"m", 1.0, 0.0}},       {SM_DIM_LENGTH, 1e4, HUGE_VAL, {"km", 1e3, 0.0}},
    {SM_DIM_MASS, 1.0, HUGE_VAL, {"kg", 1.0, 0.0}},   {SM_DIM_VOLUME, 0.1, HUGE_VAL, {"m3", 1.0, 0.0}},
    {SM_DIM_SPEED, 1.0, HUGE_VAL, {"m/s", 1.0, 0.0}}, {SM_DIM_PRESSURE, 1e3, 0.2e6, {"kPa", 1e3, 0.0}},
    {SM_DIM_PRESSURE, 1e-9, 1e3, {"Pa", 1.0, 0.0}},
};

static const struct shown *unit_of(double si, enum sm_dim dim, enum sm_unit_system system)
{
    const struct shown *unit = &shown[dim][system];
    const double size = fabs(si);
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        if (system == SM_UNITS_SI && others[i].dim == dim && size >= others[i].from && size < others[i].below)
            unit = &others[i].unit;
    return unit;
}

static const char *put_number(char buf[CLI_NUMBER], double value, const char *format, const char *unit)
{
    if (isnan(value))
        return strcpy(buf, "-");
    if (fabs(value) >= 1000.0 && fabs(value) < 1e7)
        format = "%.0f";
    char number[CLI_NUMBER / 2];
    snprintf(number, sizeof number, format, value);
    const size_t n = strlen(number);
    if (number[n - 1] == '.')
        number[n - 1] = '\0';
    snprintf(buf, CLI_NUMBER, "%s%s%s", number, unit[0] ? " " : "", unit);
    return buf;
}

const char *cli_number(char buf[CLI_NUMBER], double si, enum sm_dim dim, enum sm_unit_system system)
{
    const struct shown *s = unit_of(si, dim, system);
    return put_number(buf, shown_value(si, s), "%.4g", s->unit);
}

const char *cli_measure(char buf[CLI_NUMBER], double si, enum sm_dim dim, enum sm_unit_system system)
{
    const struct shown *s = &shown[dim][system];
    return put_number(buf, shown_value(si, s), "%#.4g", s->unit);
}

const char *cli_velocity(char buf[CLI_NUMBER], double si, enum sm_unit_system system)
{
    static const struct shown fast[] = {{"m/s", 1.0, 0.0}, {"ft/s", 0.3048, 0.0}};
    return put_number(buf, shown_value(si, &fast[system]), "%#.4g", fast[system].unit);
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
