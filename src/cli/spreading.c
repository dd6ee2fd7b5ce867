#include "spreading.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "figures.h"
#include "terminal.h"

/* ---- options ---- */

bool cli_take_count(const struct cli *cli, const char *option, unsigned long long least,
                    unsigned long long most, unsigned long long fallback, unsigned long long *out)
{
    const char *text = cli_value(cli, option);
    char *rest = NULL;
    *out = fallback;
    if (!text)
        return true;
    errno = 0;
    *out = strtoull(text, &rest, 10);
    if (text[0] >= '0' && text[0] <= '9' && *rest == '\0' && errno == 0 && *out >= least && *out <= most)
        return true;
    cli_say_usage(cli, "--%s is a whole number from %llu to %llu, not '%s'", option, least, most, text);
    return false;
}

static bool take_quantity(const struct cli *cli, const char *option, enum sm_dim dim, double *out)
{
    struct sm_error err = {0};
    const char *text = cli_value(cli, option);
    if (!text || sm_units_parse(cli->units, text, dim, out, &err) == SM_OK)
        return true;
    cli_say_usage(cli, "--%s: %s", option, err.message);
    return false;
}

static bool take_points(const struct cli *cli, bool *is_latin)
{
    const char *text = cli_value(cli, "points");
    *is_latin = text && strcmp(text, "latin") == 0;
    if (!text || *is_latin || strcmp(text, "sobol") == 0)
        return true;
    cli_say_usage(cli, "--points is sobol or latin, not '%s'", text);
    return false;
}

/* "2/5" */
static bool take_shard(const struct cli *cli, struct sm_spread_options *o)
{
    const char *text = cli_value(cli, "shard");
    unsigned long i, k;
    char slash, more;
    if (!text)
        return true;
    if (text[0] < '0' || text[0] > '9' || sscanf(text, "%8lu%c%8lu%c", &i, &slash, &k, &more) != 3 ||
        slash != '/' || i < 1 || i > k || k > SM_MAX_SHARDS || k > o->n) {
        cli_say_usage(
            cli, "--shard is as 2/5, the second of five, and no more of them than samples; not '%s'", text);
        return false;
    }
    o->shard = i;
    o->of = k;
    if (cli_value(cli, "output"))
        return true;
    cli_say_usage(cli, "--shard needs --output FILE, where its samples go for slowmatch merge");
    return false;
}

static bool take_pair(const struct cli *cli, struct sm_pair_options *p)
{
    static const char *const of_pairs[] = {
        "spacing", "splay", "arm", "arm-empty", "temperature-difference", "ignition-scatter"};
    p->is_pair = cli_flag(cli, "pair");
    for (size_t i = 0; i < sizeof of_pairs / sizeof of_pairs[0]; i++)
        if (!p->is_pair && cli_value(cli, of_pairs[i])) {
            cli_say_usage(cli, "--%s is of two motors lit together; it needs --pair", of_pairs[i]);
            return false;
        }
    return take_quantity(cli, "spacing", SM_DIM_LENGTH, &p->spacing) &&
           take_quantity(cli, "splay", SM_DIM_ANGLE, &p->splay) &&
           take_quantity(cli, "arm", SM_DIM_LENGTH, &p->arm) &&
           take_quantity(cli, "arm-empty", SM_DIM_LENGTH, &p->arm_empty) &&
           take_quantity(cli, "temperature-difference", SM_DIM_TEMPERATURE_DIFFERENCE,
                         &p->temperature_difference) &&
           take_quantity(cli, "ignition-scatter", SM_DIM_TIME, &p->ignition_scatter);
}

bool cli_spread_options(const struct cli *cli, struct sm_spread_options *o)
{
    unsigned long long n, seed, threads;
    *o = (struct sm_spread_options){0};
    if (!cli_take_count(cli, "samples", 2, SM_MAX_SAMPLES, 2000, &n) ||
        !cli_take_count(cli, "seed", 0, UINT64_MAX, 1, &seed) ||
        !cli_take_count(cli, "threads", 1, 1024, 0, &threads) || !take_points(cli, &o->is_latin) ||
        !take_quantity(cli, "pressure", SM_DIM_PRESSURE, &o->pressure) || !take_pair(cli, &o->pair) ||
        !cli_run_options(cli, &o->run))
        return false;
    o->n = (size_t)n;
    o->seed = seed;
    o->threads = (int)threads;
    o->sensitivity = cli_flag(cli, "sensitivity");
    if (o->sensitivity && (o->pair.is_pair || cli_value(cli, "shard"))) {
        cli_say_usage(cli, "--sensitivity is of one motor in one piece: not with --pair or --shard");
        return false;
    }
    if (cli_value(cli, "output") && !cli_value(cli, "shard")) {
        cli_say_usage(cli, "--output is for the samples of a --shard");
        return false;
    }
    return take_shard(cli, o);
}

/* ---- running ---- */

/* A line that counts up on a terminal, ten times a second at most by its own steps of a per cent. */
struct meter {
    bool is_shown;
    bool is_second; /* it began anew: the burns for sensitivities */
    int shown;      /* per cent */
};

static int step(void *user, double fraction)
{
    struct meter *meter = user;
    const int now = (int)(100.0 * fraction);
    meter->is_second = meter->is_second || now < meter->shown;
    if (meter->is_shown && now != meter->shown)
        fprintf(stderr, "\r%3d %% of the burns%s", now, meter->is_second ? " for sensitivities" : "");
    meter->shown = now;
    return cli_is_stopped();
}

static void say_size(const struct sm_spread_options *o)
{
    static const double mega = 1e6; /* bytes; below a tenth of the budget nothing is said */
    const double bytes = (double)sm_spread_bytes(o);
    if (bytes > 40.0 * mega)
        fprintf(stderr, "slowmatch: the samples take %.0f MB of memory\n", bytes / mega);
}

enum cli_exit cli_spread_run(struct cli *cli, const struct sm_spread_options *options, bool is_quiet,
                             struct sm_spread **spread)
{
    struct sm_diag problems = {0};
    struct sm_motor *motor = NULL;
    struct sm_error err = {0};
    struct meter meter = {!is_quiet && isatty(STDERR_FILENO), false, -1};
    const struct sm_context context = {.progress = {.step = step, .user = &meter}};
    *spread = NULL;
    enum sm_status status = sm_motor_load(cli->arguments[0], &cli->load, NULL, &motor, &problems);
    if (!is_quiet)
        cli_say_problems(&problems);
    sm_diag_release(&problems);
    if (status != SM_OK)
        return cli_exit_of_input(status);
    if (!is_quiet)
        say_size(options);
    status = sm_spread_run(motor, options, &context, spread, &err);
    if (meter.is_shown)
        fputs("\r                                      \r", stderr);
    sm_motor_free(motor);
    if (status == SM_OK)
        return CLI_DONE;
    if (err.at.file[0] == '\0')
        snprintf(err.at.file, sizeof err.at.file, "%s", cli->arguments[0]);
    if (!is_quiet)
        cli_say_error(&err);
    return cli_exit_of_run(status);
}

/* ---- showing ---- */

static const struct {
    const char *name, *label;
} labels[] = {
    {"total_impulse", "total impulse"},
    {"burn_time", "burn time"},
    {"average", "average thrust"},
    {"maximum", "maximum thrust"},
    {"pressure_maximum", "maximum pressure"},
    {"ignition", "ignition at"},
    {"burnout", "burnout at"},
    {"impulse_difference", "impulse"},
    {"ignition_difference", "ignition"},
    {"burnout_difference", "burnout"},
    {"thrust_difference_maximum", "thrust, largest"},
    {"lateral_force_maximum", "sideways, largest"},
    {"moment_maximum", "moment, largest"},
    {"alone_at_ignition", "alone at ignition"},
    {"alone_at_burnout", "alone at burnout"},
};
enum { N_SINGLE = 7 }; /* labels of a single motor; the rest are a pair's differences */

/* Places behind the point of "12.50"; of the second digit that counts of a plain number. */
static int places_of(const char *text)
{
    const char *point = strchr(text, '.');
    return point ? (int)strlen(point + 1) : 0;
}

/* A figure's levels as they are printed. */
enum { SHOWN_LEVELS = 3 };
struct level_text {
    char level[CLI_NUMBER], off[CLI_NUMBER];
};
struct row_text {
    const char *label, *unit;
    struct level_text at[SHOWN_LEVELS];
};

/* "12.5" and "+-0.3": to four digits, but to none far below its standard error. */
static void put_level(struct level_text *out, double level, double error, enum sm_dim dim,
                      enum sm_unit_system system)
{
    char text[CLI_NUMBER], shown[CLI_NUMBER];
    sm_show_digits(text, level, dim, system);
    sm_show_digits(shown, error, dim, system);
    const double uncertain = strtod(shown, NULL);
    out->off[0] = '\0';
    if (uncertain > 0.0) {
        const int second = 1 - (int)floor(log10(uncertain));
        snprintf(out->off, sizeof out->off, "+-%.2g", uncertain);
        if (second >= 0 && second < places_of(text))
            snprintf(text, sizeof text, "%.*f", second, strtod(text, NULL));
    }
    if (isnan(error) && !isnan(level))
        snprintf(out->off, sizeof out->off, "+-?");
    const double zero = strtod(text, NULL);
    snprintf(out->level, sizeof out->level, "%s", zero == 0.0 && text[0] == '-' ? text + 1 : text);
}

/* Instants of a few thousandths of a second are told in milliseconds: no row of zeros, no powers of ten. */
static void put_row(struct row_text *row, const struct sm_distribution *d, const char *label,
                    enum sm_unit_system system)
{
    static const size_t shown[SHOWN_LEVELS] = {0, 2, 4};
    double largest = 0.0; /* [s], of a time */
    for (size_t k = 0; k < SHOWN_LEVELS; k++)
        largest = fmax(largest, fabs(d->level[shown[k]]));
    const bool is_brief = d->dim == SM_DIM_TIME && largest > 0.0 && largest < 0.01;
    const double factor = is_brief ? 1e3 : 1.0;
    row->label = label;
    row->unit = is_brief ? "ms" : sm_show_unit(d->dim, system);
    for (size_t k = 0; k < SHOWN_LEVELS; k++)
        put_level(&row->at[k], factor * d->level[shown[k]], factor * d->level_error[shown[k]], d->dim,
                  system);
}

static int wider(int width, const char *text)
{
    const int own = (int)strlen(text);
    return own > width ? own : width;
}

/* Every column as wide as its widest entry, so that units stand in line. */
static void print_rows(const struct row_text *rows, size_t n, bool has_head)
{
    int level = 8, off = 8;
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < SHOWN_LEVELS; k++) {
            level = wider(level, rows[i].at[k].level);
            off = wider(off, rows[i].at[k].off);
        }
    if (has_head)
        printf("\n  %-18s %*s%-*s %*s%-*s %*s\n", "", level, "2.5 %", off, "", level, "median", off, "",
               level, "97.5 %");
    for (size_t i = 0; i < n; i++) {
        printf("  %-18s", rows[i].label);
        for (size_t k = 0; k < SHOWN_LEVELS; k++)
            printf(" %*s%-*s", level, rows[i].at[k].level, off, rows[i].at[k].off);
        printf(" %s\n", rows[i].unit);
    }
}

static void print_distributions(const struct sm_spread *s, size_t from, size_t to, enum sm_unit_system system)
{
    struct row_text rows[SM_SPREAD_MAX_QUANTITIES];
    size_t n = 0;
    for (size_t i = 0; i < s->n_distributions; i++)
        for (size_t k = from; k < to; k++)
            if (strcmp(labels[k].name, s->distributions[i].name) == 0)
                put_row(&rows[n++], &s->distributions[i], labels[k].label, system);
    print_rows(rows, n, from == 0);
}

static void print_chance(const char *before, const struct sm_chance *c, enum sm_dim dim,
                         enum sm_unit_system system)
{
    char chance[SM_CHANCE_TEXT], limit[CLI_NUMBER], line[300];
    snprintf(line, sizeof line, "%s%s (%s): %s", before, c->what, cli_number(limit, c->limit, dim, system),
             sm_chance_text(chance, c));
    cli_wrap(stdout, line, 2, 4);
}

static void print_chances(const struct sm_spread *s, enum sm_unit_system system)
{
    puts("\nhow likely");
    for (size_t i = 0; i < s->n_classes; i++)
        print_chance("class ", &s->classes[i], SM_DIM_IMPULSE, SM_UNITS_SI); /* classes are defined in N s */
    print_chance("over the ", &s->border, SM_DIM_IMPULSE, SM_UNITS_SI);
    for (size_t i = 0; i < s->n_pressures; i++)
        print_chance("pressure over ", &s->pressures[i], SM_DIM_PRESSURE, system);
}

static void print_pair(const struct sm_spread *s, enum sm_unit_system system)
{
    const double degree = 180.0 / 3.14159265358979323846;
    char force[CLI_NUMBER], lateral[CLI_NUMBER], moment[CLI_NUMBER], late[CLI_NUMBER], line[512];
    if (!s->pair.is_pair)
        return;
    puts("\nfirst motor less second, of a pair lit together");
    print_distributions(s, N_SINGLE, sizeof labels / sizeof labels[0], system);
    cli_measure(force, s->single_thrust, SM_DIM_FORCE, system);
    cli_measure(lateral, fabs(s->single_thrust * sin(s->pair.splay)), SM_DIM_FORCE, system);
    cli_measure(moment, fabs(s->single_thrust * s->moment_arm), SM_DIM_MOMENT, system);
    cli_measure(late, fabs(s->single_thrust * s->moment_arm_empty), SM_DIM_MOMENT, system);
    const bool is_moving = s->moment_arm != s->moment_arm_empty;
    snprintf(line, sizeof line,
             "While ignitions or burnouts lie apart one motor pushes alone, at %s on average: %s of it "
             "sideways, with a moment of %s%s%s%s.",
             force, lateral, moment, is_moving ? " at ignition and " : "", is_moving ? late : "",
             is_moving ? " when all is burned" : "");
    cli_wrap(stdout, line, 2, 2);
    if (!(s->pair.arm > 0.0))
        return;
    snprintf(line, sizeof line, "A mismatch makes no moment at a splay of %.3g deg%s",
             degree * s->neutral_splay, is_moving ? " at ignition and " : ".");
    if (is_moving)
        snprintf(line + strlen(line), sizeof line - strlen(line), "%.3g deg when all is burned.",
                 degree * s->neutral_splay_empty);
    cli_wrap(stdout, line, 2, 2);
}

/* "0.82+-0.07"; no sign before what rounds to nothing. */
static const char *put_index(char buf[CLI_NUMBER], double value, double error)
{
    const double shown = fabs(value) < 0.0005 ? 0.0 : value;
    if (isnan(value))
        snprintf(buf, CLI_NUMBER, "-");
    else
        snprintf(buf, CLI_NUMBER, "%.3f+-%.3f", shown, error);
    return buf;
}

static const struct sm_sensitivity *index_of(const struct sm_spread *s, size_t input, size_t figure)
{
    return &s->sensitivity[input * SM_SENSITIVITY_FIGURES + figure];
}

/* Inputs by falling total index of a figure; those of no index last. */
static void sort_inputs(const struct sm_spread *s, size_t figure, size_t *order)
{
    for (size_t i = 0; i < s->n_inputs; i++) {
        size_t k = i;
        const double own = index_of(s, i, figure)->total;
        for (; k > 0 && !(own <= index_of(s, order[k - 1], figure)->total) && !isnan(own); k--)
            order[k] = order[k - 1];
        order[k] = i;
    }
}

static void print_figure(const struct sm_spread *s, size_t figure, const char *name, int width)
{
    size_t order[2 * SM_MAX_TOLERANCES + 2];
    printf("\nshare of the variance of %s\n  %-*s %13s  %13s  %s\n", name, width, "by", "alone",
           "with others", "% a %");
    sort_inputs(s, figure, order);
    for (size_t k = 0; k < s->n_inputs; k++) {
        const struct sm_sensitivity *x = index_of(s, order[k], figure);
        char first[CLI_NUMBER], total[CLI_NUMBER], plain[CLI_NUMBER] = "-";
        if (!isnan(x->elasticity))
            snprintf(plain, sizeof plain, fabs(x->elasticity) < 0.0005 ? "0" : "%+.3f", x->elasticity);
        printf("  %-*s %13s  %13s  %s\n", width, s->inputs[order[k]].of,
               put_index(first, x->first, x->first_error), put_index(total, x->total, x->total_error), plain);
    }
}

static void print_sensitivity(const struct sm_spread *s)
{
    static const char *const names[] = {"total impulse", "burn time", "maximum pressure"};
    int width = 2;
    if (!s->sensitivity)
        return;
    for (size_t i = 0; i < s->n_inputs; i++)
        width = (int)strlen(s->inputs[i].of) > width ? (int)strlen(s->inputs[i].of) : width;
    for (size_t j = 0; j < SM_SENSITIVITY_FIGURES; j++)
        print_figure(s, j, j == 2 && s->is_curve ? "maximum thrust" : names[j], width);
    putchar('\n');
    cli_wrap(stdout,
             "Measure first what stands first. The last column tells by how many per cent the figure grows "
             "for one per cent more of the value.",
             2, 2);
}

static void print_inputs(const struct sm_spread *s)
{
    size_t n_latin = 0;
    char line[300], part[64] = "";
    if (s->n_held < s->n)
        snprintf(part, sizeof part, " of a shard, of %zu in all", s->n);
    for (size_t i = 0; i < s->n_inputs; i++)
        n_latin += s->inputs[i].is_latin ? 1 : 0;
    snprintf(line, sizeof line, "%zu %s%s, seed %llu, %zu value%s by %s; %s", s->n_done,
             s->pair.is_pair ? "pairs" : "samples", part, (unsigned long long)s->seed, s->n_inputs,
             s->n_inputs == 1 ? " strays" : "s stray",
             s->is_usual ? "what is usual, for the file gives no tolerances" : "the file's tolerances",
             n_latin == 0             ? "Sobol points with a digital shift"
             : n_latin == s->n_inputs ? "a Latin hypercube"
                                      : "Sobol points for the first 40, a Latin hypercube for the others");
    cli_wrap(stdout, line, 2, 4);
}

static void print_spread(const struct sm_spread *s, enum sm_unit_system system)
{
    char line[400];
    printf("%s: spread, predicted\n", s->motor);
    print_inputs(s);
    if (!s->complete) {
        if (s->n_done < s->n_held)
            snprintf(line, sizeof line, "STOPPED after %zu of %zu: what follows is of these alone", s->n_done,
                     s->n_held);
        else
            snprintf(line, sizeof line, "STOPPED during the burns for sensitivities, which are left out");
        cli_wrap(stdout, line, 2, 4);
    }
    if (s->n_impossible > 0) {
        snprintf(line, sizeof line,
                 "%zu of them are impossible, and left out of all that follows:", s->n_impossible);
        cli_wrap(stdout, line, 2, 4);
        for (size_t i = 0; i < SM_SPREAD_MAX_REASONS && s->reasons[i][0]; i++)
            cli_wrap(stdout, s->reasons[i], 4, 6);
    }
    print_distributions(s, 0, N_SINGLE, system);
    cli_wrap(stdout, "+- is the standard error of each percentile: four times as many samples halve it.", 2,
             2);
    if (isnan(s->distributions[0].level_error[0]))
        cli_wrap(stdout, "? stands where the samples are too few for that percentile; 39 would do.", 2, 2);
    print_chances(s, system);
    print_pair(s, system);
    print_sensitivity(s);
    cli_print_caution(CLI_PREDICTED);
}

static enum sm_status write_csv(void *user, struct sm_sink *sink, struct sm_error *err)
{
    return sm_spread_write_csv(user, sink, err);
}

struct plot_job {
    const struct sm_spread *spread;
    enum sm_unit_system system;
    enum sm_picture_kind kind;
};

static enum sm_status write_plot(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct plot_job *job = user;
    return sm_plot_spread(job->spread, job->system, job->kind, sink, err);
}

enum cli_exit cli_spread_show(const struct cli *cli, const struct sm_spread *spread)
{
    const char *csv = cli_value(cli, "csv"), *plot = cli_value(cli, "plot");
    struct plot_job job = {spread, cli->system, SM_PICTURE_SVG};
    enum cli_exit code = CLI_DONE;
    union {
        const struct sm_spread *fixed;
        void *any;
    } user = {.fixed = spread}; /* the writer does not write to it */
    if (csv)
        code = cli_write_file(csv, write_csv, user.any);
    if (code == CLI_DONE && plot && sm_picture_kind_of(plot, &job.kind, NULL) == SM_OK)
        code = cli_write_file(plot, write_plot, &job);
    if (code == CLI_DONE && cli_flag(cli, "json")) {
        struct sm_sink out = cli_stdout();
        struct sm_error err = {0};
        code = cli_end_output(sm_spread_write_json(spread, &out, &err), &err);
    } else if (code == CLI_DONE)
        print_spread(spread, cli->system);
    return code == CLI_DONE && !spread->complete ? CLI_STOPPED : code;
}
