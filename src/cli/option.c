/* Command lines: tables of options, and what was given. */
#include "command.h"
#include "terminal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const struct {
    unsigned bit;
    struct cli_option option;
} shared[] = {
    {CLI_SET,
     {"set", "PLACE=VALUE",
      "override a value of the file, as --set nozzle.throat_diameter=\"2.5 mm\" (repeatable)"}},
    {CLI_RUN, {"model", "NAME", "transient (the default), equilibrium or axial"}},
    {CLI_RUN, {"stations", "N", "along the port, of the axial model (100 if not given)"}},
    {CLI_RUN, {"accuracy", "NUMBER", "relative accuracy of total impulse, 1e-9 to 1e-2; 1e-4 if not given"}},
    {CLI_BURN_END,
     {"burn-end", "RULE",
      "which fall through 5 % of maximum thrust ends the burn: last (the default) or contiguous"}},
    {CLI_COUNT, {"count", "N", "motors installed together, for levels and limits"}},
    {CLI_RECORD,
     {"stand", "FILE", "what the stand is, a slowmatch-stand file; once for all records or once for each"}},
    {CLI_RECORD, {"time-column", "COLUMN", "the column of times, by name or number"}},
    {CLI_RECORD, {"thrust-column", "COLUMN", "the column of thrusts, by name or number"}},
    {CLI_RECORD,
     {"pressure-column", "COLUMN", "the column of pressures, by name or number; none if not given"}},
    {CLI_RECORD, {"time-unit", "UNIT", "unit of the times; s if neither this nor the header says"}},
    {CLI_RECORD, {"thrust-unit", "UNIT", "unit of the thrusts; N if neither this nor the header says"}},
    {CLI_RECORD, {"pressure-unit", "UNIT", "unit of the pressures; Pa if neither this nor the header says"}},
    {CLI_RECORD, {"sample-rate", "RATE", "rows a second, as \"500 Hz\", if there are no times"}},
    {CLI_RECORD,
     {"baseline", "READING", "thrust reading at rest, in the record's units; else the quiet span's"}},
    {CLI_RECORD, {"propellant-mass", "MASS", "propellant burned, as \"98 g\""}},
    {CLI_RECORD, {"log", NULL, "pass over lines that are no data, and let the clock start again"}},
    {CLI_RECORD, {"drift", "KIND", "level that moves: none, linear or weight"}},
    {CLI_RECORD, {"cutoff", "FREQUENCY", "of the low-pass, as \"40 Hz\"; \"0 Hz\" for none"}},
    {CLI_JSON, {"json", NULL, "the machine form on standard output, and nothing else there"}},
    {CLI_CSV, {"csv", "FILE", "write the table as CSV"}},
    {CLI_PLOT, {"plot", "FILE", "draw to a .svg, .png or .pdf file"}},
    {CLI_UNITS, {"units", "SYSTEM", "si (the default) or us, for what people read"}},
    {CLI_STRICT, {"strict", NULL, "exit with 3 if there are warnings"}},
};

static const struct cli_option data_option = {"propellant-folder", "FOLDER", "where named propellants are"};
static const struct cli_option help_option = {"help", NULL, "this text"};

size_t cli_options_of(const struct sm_command *command, const struct cli_option **rows)
{
    size_t n = 0;
    for (size_t i = 0; i < command->n_options; i++)
        rows[n++] = &command->options[i];
    for (size_t i = 0; i < sizeof shared / sizeof shared[0]; i++)
        if (command->shared & shared[i].bit)
            rows[n++] = &shared[i].option;
    if (command->shared & CLI_SET)
        rows[n++] = &data_option;
    rows[n++] = &help_option;
    return n;
}

static const struct cli_option *find_option(const struct sm_command *command, const char *name, size_t n)
{
    const struct cli_option *rows[CLI_MAX_OPTIONS];
    const size_t n_rows = cli_options_of(command, rows);
    for (size_t i = 0; i < n_rows; i++)
        if (strlen(rows[i]->name) == n && strncmp(rows[i]->name, name, n) == 0)
            return rows[i];
    return NULL;
}

static bool unknown_option(const struct cli *cli, const char *given)
{
    const struct cli_option *rows[CLI_MAX_OPTIONS];
    const char *names[CLI_MAX_OPTIONS + 1] = {NULL};
    const size_t n = cli_options_of(cli->command, rows);
    for (size_t i = 0; i < n; i++)
        names[i] = rows[i]->name;
    char what[64], near_name[64] = "";
    const char *near = sm_nearest_name(given + 2, names);
    snprintf(what, sizeof what, "%s has no option", cli->command->name);
    if (near)
        snprintf(near_name, sizeof near_name, "--%s", near);
    cli_say_unknown(cli, what, given, near ? near_name : NULL);
    return false;
}

/* The two options that have a letter too. */
static const char *word_of_letter(const char *word)
{
    return strcmp(word, "-o") == 0 ? "output" : strcmp(word, "-n") == 0 ? "samples" : NULL;
}

static bool has_letter(const struct sm_command *command, const char *word)
{
    const char *name = word_of_letter(word);
    return name && find_option(command, name, strlen(name));
}

static bool take_option(struct cli *cli, int argc, char **argv, int *i)
{
    const char *name = word_of_letter(argv[*i]) ? word_of_letter(argv[*i]) : argv[*i] + 2;
    const char *equals = strchr(name, '=');
    const struct cli_option *option =
        find_option(cli->command, name, equals ? (size_t)(equals - name) : strlen(name));
    if (!option)
        return unknown_option(cli, argv[*i]);
    const char *value = equals ? equals + 1 : NULL;
    if (!option->value && value) {
        cli_say_usage(cli, "--%s takes no value", option->name);
        return false;
    }
    if (option->value && !value && ++*i < argc)
        value = argv[*i];
    if (option->value && !value) {
        cli_say_usage(cli, "--%s needs a value: --%s %s", option->name, option->name, option->value);
        return false;
    }
    cli->given[cli->n_given].option = option;
    cli->given[cli->n_given++].value = value;
    return true;
}

bool cli_parse(struct cli *cli, int argc, char **argv)
{
    bool only_arguments = false;
    if (argc >= CLI_MAX_GIVEN) {
        cli_say_usage(cli, "more than %d words on the command line", CLI_MAX_GIVEN - 1);
        return false;
    }
    for (int i = 0; i < argc; i++) {
        const char *word = argv[i];
        if (!only_arguments && strcmp(word, "--") == 0)
            only_arguments = true;
        else if (!only_arguments && strcmp(word, "-h") == 0)
            cli->given[cli->n_given++].option = &help_option;
        else if (!only_arguments && ((word[0] == '-' && word[1] == '-') || has_letter(cli->command, word))) {
            if (!take_option(cli, argc, argv, &i))
                return false;
        } else if (!only_arguments && word[0] == '-' && word[1] != '\0') {
            cli_say_usage(cli, "there is no option %s; options are whole words, as --json", word);
            return false;
        } else
            cli->arguments[cli->n_arguments++] = strcmp(word, "-") == 0 ? "/dev/stdin" : word;
    }
    if (cli_flag(cli, "help"))
        return true;
    if (cli->n_arguments < cli->command->min_arguments || cli->n_arguments > cli->command->max_arguments) {
        cli_say_usage(cli, "%s takes %s; %zu %s given", cli->command->name,
                      cli->command->max_arguments > 0 ? cli->command->arguments : "no arguments",
                      cli->n_arguments, cli->n_arguments == 1 ? "was" : "were");
        return false;
    }
    return true;
}

const char *cli_value(const struct cli *cli, const char *name)
{
    const char *value = NULL;
    for (size_t i = 0; i < cli->n_given; i++)
        if (strcmp(cli->given[i].option->name, name) == 0)
            value = cli->given[i].value;
    return value;
}

bool cli_flag(const struct cli *cli, const char *name)
{
    for (size_t i = 0; i < cli->n_given; i++)
        if (strcmp(cli->given[i].option->name, name) == 0)
            return true;
    return false;
}

/* Splits PLACE=VALUE. */
static bool take_override(struct cli *cli, const char *text)
{
    const char *equals = strchr(text, '=');
    if (!equals || equals == text) {
        cli_say_usage(cli, "--set needs PLACE=VALUE, as --set nozzle.throat_diameter=\"2.5 mm\", not '%s'",
                      text);
        return false;
    }
    char *place = strndup(text, (size_t)(equals - text));
    if (!place) {
        cli->is_out_of_memory = cli_no_memory() != CLI_DONE;
        return false;
    }
    cli->places[cli->load.n_overrides] = place;
    cli->overrides[cli->load.n_overrides++] = (struct sm_override){place, equals + 1};
    return true;
}

/* One of two words. */
static bool take_word(const struct cli *cli, const char *option, const char *first, const char *second,
                      int *out)
{
    const char *value = cli_value(cli, option);
    *out = value && strcmp(value, second) == 0;
    if (!value || *out || strcmp(value, first) == 0)
        return true;
    cli_say_usage(cli, "--%s is %s or %s, not '%s'", option, first, second, value);
    return false;
}

bool cli_unit_system(struct cli *cli)
{
    int is_us;
    if (!take_word(cli, "units", "si", "us", &is_us))
        return false;
    cli->system = is_us ? SM_UNITS_US : SM_UNITS_SI;
    return true;
}

bool cli_load_options(struct cli *cli)
{
    struct sm_error err = {0};
    if (sm_units_open(&cli->units, &err) != SM_OK) {
        cli_say_error(&err);
        cli->is_out_of_memory = err.status == SM_E_NOMEM;
        return false;
    }
    cli->load = (struct sm_load_options){
        .overrides = cli->overrides,
        .units = cli->units,
        .propellant_folder = cli_value(cli, "propellant-folder"),
        .program = cli->program,
    };
    for (size_t i = 0; i < cli->n_given; i++)
        if (strcmp(cli->given[i].option->name, "set") == 0 && !take_override(cli, cli->given[i].value))
            return false;
    return cli_unit_system(cli);
}

void cli_release(struct cli *cli)
{
    for (size_t i = 0; i < cli->load.n_overrides; i++)
        free(cli->places[i]);
    sm_units_free(cli->units);
}

bool cli_burn_end(const struct cli *cli, enum sm_burn_end *end)
{
    int is_second;
    if (!take_word(cli, "burn-end", "last", "contiguous", &is_second))
        return false;
    *end = is_second ? SM_BURN_END_CONTIGUOUS : SM_BURN_END_LAST;
    return true;
}

bool cli_run_options(const struct cli *cli, struct sm_run_options *options)
{
    static const char *const models[] = {"transient", "equilibrium", "axial"};
    const char *model = cli_value(cli, "model"), *stations = cli_value(cli, "stations");
    *options = (struct sm_run_options){0};
    if (!cli_burn_end(cli, &options->burn_end))
        return false;
    size_t which = 0;
    while (model && which < sizeof models / sizeof models[0] && strcmp(model, models[which]) != 0)
        which++;
    if (which == sizeof models / sizeof models[0]) {
        cli_say_usage(cli, "--model is transient, equilibrium or axial, not '%s'", model);
        return false;
    }
    options->model = (enum sm_model)which;
    if (stations) {
        char *rest;
        const long n = strtol(stations, &rest, 10);
        if (*rest != '\0' || n < SM_STATIONS_MIN || n > SM_STATIONS_MAX) {
            cli_say_usage(cli, "--stations is a whole number from %d to %d, not '%s'", SM_STATIONS_MIN,
                          SM_STATIONS_MAX, stations);
            return false;
        }
        if (options->model != SM_MODEL_AXIAL) {
            cli_say_usage(cli, "--stations is for --model axial");
            return false;
        }
        options->stations = (size_t)n;
    }
    const char *accuracy = cli_value(cli, "accuracy");
    if (accuracy) {
        char *rest;
        options->accuracy = strtod(accuracy, &rest);
        if (*rest != '\0' || !(options->accuracy >= 1e-9 && options->accuracy <= 1e-2)) {
            cli_say_usage(cli, "--accuracy is a number from 1e-9 to 1e-2, not '%s'", accuracy);
            return false;
        }
    }
    return true;
}

/* Do two names mean one file? What is no plain file, as /dev/null, may be named twice. */
static bool is_same_file(const char *a, const char *b)
{
    struct stat at_a, at_b;
    const bool there = stat(a, &at_a) == 0;
    if (there && !S_ISREG(at_a.st_mode))
        return false;
    return strcmp(a, b) == 0 ||
           (there && stat(b, &at_b) == 0 && at_a.st_dev == at_b.st_dev && at_a.st_ino == at_b.st_ino);
}

/* Is a file to be written none of those read, and none of the outputs before it? */
static bool is_apart(const struct cli *cli, const char *option, const char *const *before, size_t n_before)
{
    const char *name = cli_value(cli, option);
    for (size_t i = 0; name && i < cli->n_arguments; i++)
        if (is_same_file(name, cli->arguments[i])) {
            cli_say_usage(cli, "--%s would write over %s, which is read", option, cli->arguments[i]);
            return false;
        }
    const char *base = cli_value(cli, "base");
    if (name && base && is_same_file(name, base)) {
        cli_say_usage(cli, "--%s would write over %s, which is read", option, base);
        return false;
    }
    for (size_t i = 0; name && i < n_before; i++) {
        const char *other = cli_value(cli, before[i]);
        if (other && is_same_file(name, other)) {
            cli_say_usage(cli, "--%s and --%s both write to %s", before[i], option, name);
            return false;
        }
    }
    return true;
}

bool cli_output_names(const struct cli *cli)
{
    static const char *const options[] = {"csv",    "output", "needs", "sets",
                                          "flight", "off-by", "plot",  "section"};
    enum { FIRST_PICTURE = 6 };
    for (size_t i = 0; i < sizeof options / sizeof options[0]; i++) {
        enum sm_picture_kind kind;
        struct sm_error err = {0};
        const char *name = cli_value(cli, options[i]);
        if (name && strcmp(name, "-") == 0) {
            cli_say_usage(
                cli, "--%s: - stands for standard input alone; name a file, as ./- if it is to be called so",
                options[i]);
            return false;
        }
        if (!is_apart(cli, options[i], options, i))
            return false;
        if (i < FIRST_PICTURE || !name || sm_picture_kind_of(name, &kind, &err) == SM_OK)
            continue;
        cli_say_usage(cli, "--%s: %s", options[i], err.message);
        return false;
    }
    return true;
}

bool cli_count(const struct cli *cli, int *count)
{
    const char *text = cli_value(cli, "count");
    *count = 1;
    if (!text)
        return true;
    char *rest;
    const long n = strtol(text, &rest, 10);
    if (*rest != '\0' || n < 1 || n > 1000) {
        cli_say_usage(cli, "--count is a whole number from 1 to 1000, not '%s'", text);
        return false;
    }
    *count = (int)n;
    return true;
}

enum cli_exit cli_load_motor(const struct cli *cli, const char *path, struct sm_motor **motor)
{
    struct sm_diag problems = {0};
    const enum sm_status status = sm_motor_load(path, &cli->load, NULL, motor, &problems);
    cli_say_problems(&problems);
    sm_diag_release(&problems);
    return status == SM_OK ? CLI_DONE : cli_exit_of_input(status);
}

enum cli_exit cli_burn(struct cli *cli, const char *path, struct sm_motor **motor, struct sm_result **result)
{
    struct sm_run_options options;
    struct sm_error err = {0};
    *motor = NULL;
    *result = NULL;
    if (!cli_run_options(cli, &options))
        return CLI_BAD_INPUT;
    const enum cli_exit code = cli_load_motor(cli, path, motor);
    if (code != CLI_DONE)
        return code;
    const enum sm_status status = sm_simulate(*motor, &options, cli_context(), result, &err);
    if (status == SM_OK)
        return CLI_DONE;
    if (err.at.file[0] == '\0')
        snprintf(err.at.file, sizeof err.at.file, "%s", path);
    cli_say_error(&err);
    sm_motor_free(*motor);
    *motor = NULL;
    return cli_exit_of_run(status);
}
