#include "figures.h"
#include "terminal.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

enum { MAX_NUMBERS = 64, DATE_TEXT = 16, MAX_TEMPLATE = 4 << 20 };

/* What is asked for, with what it owns. */
struct job {
    size_t form;
    struct sm_format_info info;
    const char *output; /* NULL: standard output */
    struct sm_export_options options;
    struct sm_export_number numbers[MAX_NUMBERS];
    char *quantities[MAX_NUMBERS]; /* of the numbers, owned; n_numbers of them */
    char *template_text;           /* owned */
    char date[DATE_TEXT], hash[SM_HASH_TEXT];
    struct sm_export *export; /* owned */
};

static void list_forms(void)
{
    for (size_t i = 0; i < sm_format_count(); i++) {
        struct sm_format_info info;
        sm_format_describe(i, &info);
        printf("%-10s %s\n", info.name, info.summary);
    }
}

/* ---- what is asked for ---- */

static bool find_form(const struct cli *cli, struct job *job)
{
    const char *name = cli_value(cli, "to"), *near = NULL;
    const size_t none = sm_format_count();
    if (cli_value(cli, "template")) {
        if (name && strcmp(name, "template") != 0) {
            cli_say_usage(cli, "--template goes with --to template, not with --to %s", name);
            return false;
        }
        name = "template";
    }
    if (!name && !job->output) {
        cli_say_usage(cli, "name the form, as --to csvw; 'slowmatch export' alone lists them");
        return false;
    }
    job->form = name ? sm_format_place(name, &near) : sm_format_of_file(job->output);
    if (job->form != none) {
        sm_format_describe(job->form, &job->info);
        return true;
    }
    if (name)
        cli_say_usage(cli, "there is no form \"%s\"%s%s%s; 'slowmatch export' alone lists them", name,
                      near ? "; did you mean \"" : "", near ? near : "", near ? "\"?" : "");
    else
        cli_say_usage(cli, "the ending of %s does not tell the form: name it, as --to csvw", job->output);
    return false;
}

static bool output_fits(const struct cli *cli, const struct job *job)
{
    if (job->output || (!job->info.is_binary && !job->info.companion))
        return true;
    cli_say_usage(cli,
                  job->info.companion ? "%s writes two files: name the first, as -o curve%s"
                                      : "%s is not for people's eyes: name a file, as -o motor%s",
                  job->info.name, job->info.ending);
    return false;
}

static bool take_points(const struct cli *cli, struct job *job)
{
    const char *text = cli_value(cli, "points");
    if (!text)
        return true;
    char *rest;
    errno = 0;
    const long n = strtol(text, &rest, 10);
    if (*text == '\0' || *rest != '\0' || errno != 0 || n < 2 || n > SM_MAX_CURVE_POINTS) {
        cli_say_usage(cli, "--points is a whole number from 2 to %d, not \"%s\"", SM_MAX_CURVE_POINTS, text);
        return false;
    }
    job->options.points = (size_t)n;
    return true;
}

static bool is_date(const char *text)
{
    int year, month, day, used = 0;
    return sscanf(text, "%4d-%2d-%2d%n", &year, &month, &day, &used) == 3 && used == 10 &&
           strlen(text) == 10 && month >= 1 && month <= 12 && day >= 1 && day <= 31;
}

/* --date, else the day of SOURCE_DATE_EPOCH, the custom of builds that give the same bytes each time. */
static bool take_date(const struct cli *cli, struct job *job)
{
    const char *text = cli_value(cli, "date"), *epoch = getenv("SOURCE_DATE_EPOCH");
    if (text && !is_date(text)) {
        cli_say_usage(cli, "--date is a day such as 2026-01-31, not \"%s\"", text);
        return false;
    }
    if (text) {
        snprintf(job->date, sizeof job->date, "%s", text);
    } else if (epoch) {
        char *rest;
        struct tm day;
        const time_t seconds = (time_t)strtoll(epoch, &rest, 10);
        if (*epoch == '\0' || *rest != '\0' || !gmtime_r(&seconds, &day) ||
            strftime(job->date, sizeof job->date, "%Y-%m-%d", &day) != 10) {
            cli_say_usage(cli, "SOURCE_DATE_EPOCH is seconds since 1970, not \"%s\"", epoch);
            return false;
        }
    }
    job->options.date = job->date[0] ? job->date : NULL;
    return true;
}

/* Splits QUANTITY=FORMAT. */
static bool take_numbers(const struct cli *cli, struct job *job)
{
    for (size_t i = 0; i < cli->n_given; i++) {
        const char *text = cli->given[i].value;
        if (strcmp(cli->given[i].option->name, "number") != 0)
            continue;
        const char *equals = strchr(text, '=');
        if (!equals || equals == text || job->options.n_numbers == MAX_NUMBERS) {
            cli_say_usage(cli, "--number needs QUANTITY=FORMAT, as --number thrust=%%.2f, not \"%s\"", text);
            return false;
        }
        char *quantity = strndup(text, (size_t)(equals - text));
        if (!quantity)
            return false;
        job->quantities[job->options.n_numbers] = quantity;
        job->numbers[job->options.n_numbers++] = (struct sm_export_number){quantity, equals + 1};
    }
    job->options.numbers = job->numbers;
    return true;
}

static bool read_template(struct cli *cli, const char *path, struct job *job)
{
    FILE *file = fopen(path, "rb");
    job->template_text = file ? malloc(MAX_TEMPLATE + 1) : NULL;
    errno = file ? 0 : errno;
    const size_t n = job->template_text ? fread(job->template_text, 1, MAX_TEMPLATE + 1, file) : 0;
    const bool bad = !job->template_text || ferror(file);
    const int code = errno ? errno : ENOMEM;
    cli->is_out_of_memory = bad && code == ENOMEM;
    if (bad)
        fprintf(stderr, "%s: error: can't read the template: %s\n", path, strerror(code));
    else if (n > MAX_TEMPLATE)
        fprintf(stderr, "%s: error: a template may have %d bytes at most\n", path, MAX_TEMPLATE);
    if (file)
        fclose(file);
    job->options.template_text = job->template_text;
    job->options.n_template = n;
    job->options.template_name = path;
    return !bad && n <= MAX_TEMPLATE;
}

/* Options that belong to one form are refused with others, where they would be passed over. */
static bool options_fit(const struct cli *cli, const struct job *job)
{
    static const struct {
        const char *option, *form;
    } rows[] = {
        {"fixed-point", "c-header"}, {"number", "template"}, {"html", "template"}, {"lenient", "template"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (cli_flag(cli, rows[i].option) && strcmp(job->info.name, rows[i].form) != 0) {
            cli_say_usage(cli, "--%s goes with --to %s, not with %s", rows[i].option, rows[i].form,
                          job->info.name);
            return false;
        }
    if (strcmp(job->info.name, "template") != 0 || cli_value(cli, "template"))
        return true;
    cli_say_usage(cli, "--to template needs the template: --template FILE");
    return false;
}

static bool take_options(struct cli *cli, struct job *job)
{
    job->output = cli_value(cli, "output");
    if (!find_form(cli, job) || !output_fits(cli, job) || !options_fit(cli, job) || !take_points(cli, job) ||
        !take_date(cli, job) || !take_numbers(cli, job))
        return false;
    job->options.for_html = cli_flag(cli, "html");
    job->options.unknown_is_empty = cli_flag(cli, "lenient");
    job->options.fixed_point = cli_flag(cli, "fixed-point");
    job->options.overrides = cli->load.overrides;
    job->options.n_overrides = cli->load.n_overrides;
    const char *slash = job->output ? strrchr(job->output, '/') : NULL;
    job->options.file_name = slash ? slash + 1 : job->output;
    return !cli_value(cli, "template") || read_template(cli, cli_value(cli, "template"), job);
}

/* Only a plain file can be read a second time. */
static bool take_hash(struct cli *cli, const char *path, struct job *job)
{
    struct stat info;
    struct sm_error err = {0};
    const char *slash = strrchr(path, '/');
    if (stat(path, &info) != 0 || !S_ISREG(info.st_mode))
        return true;
    if (sm_hash_file(path, job->hash, &err) != SM_OK) {
        cli_say_error(&err);
        cli->is_out_of_memory = err.status == SM_E_NOMEM;
        return false;
    }
    job->options.input_hash = job->hash;
    job->options.input_name = slash ? slash + 1 : path;
    return true;
}

/* ---- writing ---- */

static enum sm_status write_first(void *user, struct sm_sink *sink, struct sm_error *err)
{
    return sm_export_write(((struct job *)user)->export, sink, err);
}

static enum sm_status write_second(void *user, struct sm_sink *sink, struct sm_error *err)
{
    return sm_export_write_companion(((struct job *)user)->export, sink, err);
}

static enum cli_exit write_files(struct job *job)
{
    struct sm_error err = {0};
    if (!job->output) {
        struct sm_sink out = cli_stdout();
        return cli_end_output(sm_export_write(job->export, &out, &err), &err);
    }
    enum cli_exit code = cli_write_file(job->output, write_first, job);
    if (code != CLI_DONE || !job->info.companion)
        return code;
    const size_t size = strlen(job->output) + strlen(job->info.companion) + 1;
    char *path = malloc(size);
    if (!path)
        return cli_no_memory();
    snprintf(path, size, "%s%s", job->output, job->info.companion);
    code = cli_write_file(path, write_second, job);
    free(path);
    return code;
}

static void print_report(const struct job *job, const struct sm_result *result)
{
    struct sm_export_report r;
    sm_export_report(job->export, &r);
    printf("%s%s%s: %s, %zu rows", job->output, job->info.companion ? " and " : "",
           job->info.companion ? job->info.companion : "", job->info.name, r.rows);
    printf(r.rows < r.of ? " of %zu\n" : "\n", r.of);
    printf("  %s: %s, total impulse %.6g N s, %s\n", result->motor, result->designation,
           result->thrust.total_impulse, result->is_curve ? "from its curve as given" : "predicted");
    printf("  against the run: thrust within %.3g N (%.2g %% of maximum, at %.4g s), total impulse within "
           "%.1g, maximum within %.1g\n",
           r.thrust_off, 100.0 * r.thrust_off / result->thrust.maximum, r.thrust_off_at, r.impulse_off,
           r.peak_off);
    printf("  masses: %s\n", r.whole_motor    ? "of the propellant and of the whole motor"
                             : r.knows_masses ? "propellant only, since no hardware is given"
                                              : "unknown, since only thrust is given");
    if (!r.by_ambient)
        puts("  thrust holds at one ambient pressure: no exit_diameter is given");
    if (r.n_negative > 0)
        printf("  %zu values of the given curve are below zero and are written as zero\n", r.n_negative);
}

static enum cli_exit hand_over(struct cli *cli, struct job *job)
{
    struct sm_motor *motor;
    struct sm_result *result;
    struct sm_error err = {0};
    const char *path = cli->arguments[0];
    enum cli_exit code = cli_burn(cli, path, &motor, &result);
    if (code != CLI_DONE)
        return code;
    enum sm_status status = sm_export_open(motor, result, job->form, &job->options, &job->export, &err);
    if (status == SM_OK) {
        code = write_files(job);
        if (code == CLI_DONE && job->output)
            print_report(job, result);
        cli_say_warnings(result, path);
        if (code == CLI_DONE && cli_flag(cli, "strict") && result->n_warnings > 0)
            code = CLI_WARNED;
    } else {
        if (err.at.file[0] == '\0')
            snprintf(err.at.file, sizeof err.at.file, "%s", path);
        cli_say_error(&err);
        code = cli_exit_of_input(status);
    }
    sm_export_close(job->export);
    sm_result_free(result);
    sm_motor_free(motor);
    return code;
}

static enum cli_exit run(struct cli *cli)
{
    struct job *job = calloc(1, sizeof *job);
    enum cli_exit code = CLI_BAD_INPUT;
    if (!job)
        return cli_no_memory();
    if (cli->n_arguments == 0) {
        list_forms();
        code = CLI_DONE;
    } else if (cli_load_options(cli) && cli_output_names(cli) && take_options(cli, job) &&
               take_hash(cli, cli->arguments[0], job)) {
        code = hand_over(cli, job);
    }
    for (size_t i = 0; i < job->options.n_numbers; i++)
        free(job->quantities[i]);
    free(job->template_text);
    free(job);
    return code;
}

static const struct cli_option options[] = {
    {"to", "FORM", "which form; if not given, by the ending of the output's name"},
    {"output", "FILE", "what to write, also as -o FILE; standard output if not given, for forms of text"},
    {"points", "N", "rows of the table, chosen so that lines between them miss least; 2 or more"},
    {"date", "DAY", "a date to put in, as 2026-01-31; else that of SOURCE_DATE_EPOCH, else none"},
    {"template", "FILE", "a Mustache template, for --to template"},
    {"number", "QUANTITY=FORMAT",
     "how a template's numbers look, as --number thrust=%.2f (repeatable); shortest if not given"},
    {"html", NULL, "escape & < > and quotes in a template's values"},
    {"lenient", NULL, "let unknown names in a template be empty, as the specification has it"},
    {"fixed-point", NULL, "a C header of whole numbers in place of floats"},
};

const struct sm_command sm_command_export = {
    .name = "export",
    .summary = "hand the curve over to other programs, in open forms",
    .arguments = "[MOTOR]",
    .detail = "Burns a motor, or takes a bought motor's curve, and writes thrust, mass properties, class and "
              "provenance in a form that other programs read. Without MOTOR it lists the forms.",
    .example = "slowmatch export examples/sandpiper-cored.json --to dave-ml -o sandpiper.dml",
    .shared = CLI_SET | CLI_RUN | CLI_STRICT,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .max_arguments = 1,
    .run = run,
};
