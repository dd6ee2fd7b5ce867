#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "figures.h"
#include "terminal.h"

/* What was asked for on the command line. */
struct asked {
    struct sm_size_options options;
    bool is_trade;
    size_t figure[2];
    int sense[2];
    size_t n_points;
};

/* ---- options ---- */

static bool take_count(const struct cli *cli, const char *option, unsigned long long least,
                       unsigned long long most, unsigned long long fallback, unsigned long long *out)
{
    const char *text = cli_value(cli, option);
    char *rest = NULL;
    *out = fallback;
    if (!text)
        return true;
    errno = 0;
    *out = strtoull(text, &rest, 10);
    if (isdigit((unsigned char)text[0]) && *rest == '\0' && errno == 0 && *out >= least && *out <= most)
        return true;
    cli_say_usage(cli, "--%s is a whole number from %llu to %llu, not '%s'", option, least, most, text);
    return false;
}

/* "95 %", "95%" or "95" */
static bool take_robust(const struct cli *cli, double *share)
{
    const char *text = cli_value(cli, "robust");
    char *rest = NULL;
    if (!text)
        return true;
    const double percent = strtod(text, &rest);
    while (*rest == ' ' || *rest == '%')
        rest++;
    *share = percent / 100.0;
    if (rest != text && *rest == '\0' && percent >= 50.0 && percent <= 99.9)
        return true;
    cli_say_usage(cli, "--robust is a share from 50 %% to 99.9 %%, as 95, not '%s'", text);
    return false;
}

static bool take_accept(const struct cli *cli, bool *accepts)
{
    const char *text = cli_value(cli, "accept");
    *accepts = text && strcmp(text, "burst-margin") == 0;
    if (!text || *accepts)
        return true;
    cli_say_usage(cli, "--accept knows burst-margin alone, not '%s'", text);
    return false;
}

static void say_no_figure(const struct cli *cli, const char *name, const char *const *names)
{
    char list[600] = "";
    const char *near = sm_nearest_name(name, names);
    if (near) {
        cli_say_unknown(cli, "there is no figure", name, near);
        return;
    }
    for (size_t i = 0, n = 0; names[i] && n + 40 < sizeof list; i++)
        n += (size_t)snprintf(list + n, sizeof list - n, "%s%s", i > 0 ? ", " : "", names[i]);
    cli_say_usage(cli, "there is no figure '%s'; they are %s", name, list);
}

/* "burn_time", "burn_time:least" */
static bool take_figure(const struct cli *cli, const char *text, size_t n, size_t *figure, int *sense)
{
    const struct sm_size_figure *figures;
    const char *names[SM_SIZE_MAX_FIGURES + 1] = {0};
    char name[64];
    const char *colon = memchr(text, ':', n);
    const size_t length = colon ? (size_t)(colon - text) : n;
    const size_t known = sm_size_figures(&figures);
    const char *aim = colon ? colon + 1 : "";
    const size_t n_aim = colon ? n - length - 1 : 0;
    *sense = n_aim == 5 && strncmp(aim, "least", 5) == 0      ? -1
             : n_aim == 8 && strncmp(aim, "greatest", 8) == 0 ? 1
                                                              : 0;
    snprintf(name, sizeof name, "%.*s", (int)length, text);
    for (size_t i = 0; i < known; i++) {
        names[i] = figures[i].name;
        *figure = i;
        if (strcmp(name, figures[i].name) == 0 && (!colon || *sense != 0))
            return true;
    }
    if (colon && *sense == 0)
        cli_say_usage(cli, "--trade: behind '%s:' stands least or greatest", name);
    else
        say_no_figure(cli, name, names);
    return false;
}

static bool take_trade(const struct cli *cli, struct asked *a)
{
    const char *text = cli_value(cli, "trade");
    a->is_trade = text != NULL;
    if (!text)
        return true;
    const char *comma = strchr(text, ',');
    if (!comma || strchr(comma + 1, ',')) {
        cli_say_usage(
            cli, "--trade is two figures with a comma between, as burn_time,peak_pressure; not '%s'", text);
        return false;
    }
    if (!take_figure(cli, text, (size_t)(comma - text), &a->figure[0], &a->sense[0]) ||
        !take_figure(cli, comma + 1, strlen(comma + 1), &a->figure[1], &a->sense[1]))
        return false;
    if (a->figure[0] != a->figure[1])
        return true;
    cli_say_usage(cli, "--trade is between two figures, not one and itself");
    return false;
}

/* Options that say nothing without another. */
static bool fits(const struct cli *cli, const struct asked *a)
{
    static const char *const of_trades[] = {"csv", "plot", "points"};
    for (size_t i = 0; i < sizeof of_trades / sizeof of_trades[0]; i++)
        if (!a->is_trade && cli_value(cli, of_trades[i])) {
            cli_say_usage(cli, "--%s is of a front; it needs --trade", of_trades[i]);
            return false;
        }
    if (a->is_trade && a->options.robust > 0.0) {
        cli_say_usage(cli, "--robust sizes one motor: not with --trade");
        return false;
    }
    return true;
}

static bool take_options(const struct cli *cli, struct asked *a)
{
    unsigned long long seed, restarts, samples, threads, points;
    *a = (struct asked){0};
    if (!take_count(cli, "seed", 0, UINT64_MAX, 1, &seed) ||
        !take_count(cli, "restarts", 1, 50, 2, &restarts) ||
        !take_count(cli, "samples", 100, SM_MAX_SAMPLES, 1000, &samples) ||
        !take_count(cli, "threads", 1, 1024, 0, &threads) ||
        !take_count(cli, "points", 2, SM_TRADE_MAX_POINTS, 9, &points) ||
        !take_robust(cli, &a->options.robust) || !take_accept(cli, &a->options.accepts_burst_margin) ||
        !take_trade(cli, a))
        return false;
    a->options.seed = seed;
    a->options.restarts = (size_t)restarts;
    a->options.samples = (size_t)samples;
    a->options.threads = (int)threads;
    a->n_points = (size_t)points;
    return fits(cli, a);
}

/* ---- showing ---- */

static void print_values(const struct sm_sizing *s, enum sm_unit_system system)
{
    char value[CLI_NUMBER], from[CLI_NUMBER], to[CLI_NUMBER];
    puts("\nfree values");
    for (size_t i = 0; i < s->n_values; i++) {
        const struct sm_sized_value *v = &s->values[i];
        if (v->is_whole)
            snprintf(value, sizeof value, "%.0f", v->value);
        else
            cli_measure(value, v->value, v->dim, system);
        printf("  %-34s %-12s %s to %s%s\n", v->of, value, cli_number(from, v->from, v->dim, system),
               cli_number(to, v->to, v->dim, system),
               v->at < 0   ? "; at its least"
               : v->at > 0 ? "; at its most"
                           : "");
    }
}

static void print_wishes(const struct sm_sizing *s, enum sm_unit_system system)
{
    static const double much_missed = 0.01; /* of a wish [1]: told beside it */
    char wanted[CLI_NUMBER], got[CLI_NUMBER];
    if (s->n_wishes > 0)
        puts("\nwanted");
    for (size_t i = 0; i < s->n_wishes; i++) {
        const struct sm_sized_wish *w = &s->wishes[i];
        if (w->aim != 0)
            snprintf(wanted, sizeof wanted, "as %s as can be", w->aim > 0 ? "great" : "small");
        else
            cli_measure(wanted, w->wanted, w->dim, system);
        cli_measure(got, w->got, w->dim, system);
        const double miss = w->aim == 0 && w->wanted > 0.0 ? w->got / w->wanted - 1.0 : 0.0;
        if (fabs(miss) > much_missed)
            printf("  %-24s %-18s got %-14s %.2g %% %s\n", w->what, wanted, got, 100.0 * fabs(miss),
                   miss < 0.0 ? "under" : "over");
        else
            printf("  %-24s %-18s got %s\n", w->what, wanted, got);
    }
}

static void print_limit(const struct sm_sized_limit *l, bool is_complete, enum sm_unit_system system)
{
    char got[CLI_NUMBER], from[CLI_NUMBER], to[CLI_NUMBER], line[300];
    if (strncmp(l->what, "thrust at ", 10) == 0 && l->bound == 0.0)
        snprintf(got, sizeof got, "%.3g %% within", -100.0 * l->got);
    else
        cli_measure(got, l->got, l->dim, system);
    if (!l->is_kept || l->is_active)
        printf("  %-40s %-14s %s\n", l->what, got, l->is_kept ? "ACTIVE" : "BROKEN");
    else
        printf("  %-40s %s\n", l->what, got);
    if (l->is_active && !isnan(l->gains_from)) {
        cli_measure(from, l->gains_from, l->gains_dim, system);
        cli_measure(to, l->gains_to, l->gains_dim, system);
        const double change = 100.0 * (l->gains_to / l->gains_from - 1.0);
        if (strcmp(from, to) == 0)
            snprintf(line, sizeof line, "costs: 1 %% more room would change %s, %s, by %+.2g %%", l->gains,
                     from, change);
        else
            snprintf(line, sizeof line, "costs: 1 %% more room would bring %s from %s to %s (%+.2g %%)",
                     l->gains, from, to, change);
        cli_wrap(stdout, line, 6, 8);
    } else if (is_complete && l->is_active && strncmp(l->pointer, "/wanted", 7) != 0)
        puts("      no measurable cost: 1 % more room would better no wish by 0.05 %");
    if (!isnan(l->share) && l->share >= 1.0)
        puts("      held by all fresh samples");
    else if (!isnan(l->share)) {
        snprintf(line, sizeof line,
                 "held by %.2f %% of fresh samples; such a share has a standard error of %.2g %%",
                 100.0 * l->share, 100.0 * l->share_error);
        cli_wrap(stdout, line, 6, 8);
    }
}

static void print_figures(const struct sm_sizing *s, enum sm_unit_system system)
{
    const struct sm_size_figure *figures;
    const size_t n = sm_size_figures(&figures);
    char number[CLI_NUMBER];
    puts("\nby the full burn");
    for (size_t i = 0; i < n; i++)
        if (!isnan(s->figures[i]))
            printf("  %-24s %s\n", figures[i].name,
                   cli_measure(number, s->figures[i], figures[i].dim, system));
}

static void print_search(const struct sm_sizing *s)
{
    char line[300];
    if (s->complete)
        snprintf(line, sizeof line,
                 "seed %llu, %zu restarts, %zu quick burns; %zu of %zu local searches came as far; the quick "
                 "burn was %.2g %% off the full one before it was set right",
                 (unsigned long long)s->seed, s->restarts, s->evaluations, s->agreeing, s->searches,
                 100.0 * s->model_gap);
    else
        snprintf(line, sizeof line, "seed %llu, %zu restarts", (unsigned long long)s->seed, s->restarts);
    putchar('\n');
    cli_wrap(stdout, line, 0, 2);
    if (s->robust > 0.0) {
        snprintf(
            line, sizeof line,
            "each limit is to hold for %.4g %% of motors; checked with %zu fresh samples of seed %llu: %s",
            100.0 * s->robust, s->samples, (unsigned long long)s->check_seed,
            s->holds ? "all hold, within three standard errors"
                     : "NOT ALL HOLD within three standard errors");
        cli_wrap(stdout, line, 0, 2);
        if (s->n_impossible > 0)
            printf("%zu of these motors are impossible, and count as holding none\n", s->n_impossible);
    }
}

static void print_warnings(const struct sm_sizing *s)
{
    char line[sizeof s->warnings->text + sizeof s->warnings->code + 8];
    if (s->n_warnings > 0)
        puts("\na burn of it warns");
    for (size_t i = 0; i < s->n_warnings; i++) {
        snprintf(line, sizeof line, "- %s [%s]", s->warnings[i].text, s->warnings[i].code);
        cli_wrap(stdout, line, 2, 4);
    }
}

static bool warns_of(const struct sm_sizing *s, const char *code)
{
    for (size_t i = 0; i < s->n_warnings; i++)
        if (strcmp(s->warnings[i].code, code) == 0)
            return true;
    return false;
}

/* "low-pressure: 1, 2", each code where it comes first. */
static void print_trade_warnings(const struct sm_trade *t)
{
    bool is_first = true;
    for (size_t i = 0; i < t->n; i++)
        for (size_t k = 0; k < t->points[i]->n_warnings; k++) {
            const char *code = t->points[i]->warnings[k].code;
            char line[600];
            size_t n = (size_t)snprintf(line, sizeof line, "%s:", code);
            bool is_told = false;
            for (size_t p = 0; p < t->n && !is_told; p++) {
                is_told = p < i && warns_of(t->points[p], code);
                if (!is_told && warns_of(t->points[p], code) && n + 8 < sizeof line)
                    n += (size_t)snprintf(line + n, sizeof line - n, "%s %zu", p > i ? "," : "", p + 1);
            }
            if (is_told)
                continue;
            if (is_first)
                puts("\na burn warns of these; 'slowmatch burn' of the point's motor file tells more");
            is_first = false;
            cli_wrap(stdout, line, 2, 4);
        }
}

static void print_cautions(const struct sm_sizing *s)
{
    putchar('\n');
    for (size_t i = 0; sm_size_caution(s, i); i++)
        cli_wrap(stdout, sm_size_caution(s, i), 0, 0);
    cli_print_caution(CLI_PREDICTED);
}

/* What was stopped writes no file: what is found by then may break limits, and the next search may find better. */
static void print_stopped(const struct sm_sizing *s)
{
    char line[300];
    size_t n_broken = 0;
    for (size_t i = 0; i < s->n_limits; i++)
        n_broken += s->limits[i].is_kept ? 0 : 1;
    snprintf(
        line, sizeof line,
        "STOPPED after %zu quick burns: what follows is the best found by then%s. What limits cost is not "
        "reckoned, and no file is written",
        s->evaluations, n_broken ? ", and it breaks limits" : "; a longer search may find better");
    cli_wrap(stdout, line, 2, 4);
}

static void print_sizing(const struct sm_sizing *s, enum sm_unit_system system)
{
    printf("%s: %s, %s\n", s->request, s->motor, s->complete ? "sized" : "not sized to the end");
    if (!s->complete)
        print_stopped(s);
    print_values(s, system);
    print_wishes(s, system);
    if (s->n_limits > 0)
        puts("\nlimits");
    for (size_t i = 0; i < s->n_limits; i++)
        print_limit(&s->limits[i], s->complete, system);
    print_figures(s, system);
    print_warnings(s);
    print_search(s);
    print_cautions(s);
}

static void print_trade(const struct sm_trade *t, enum sm_unit_system system)
{
    const struct sm_size_figure *figures;
    char number[CLI_NUMBER];
    sm_size_figures(&figures);
    printf("%s: what can be had of %s (%s) and %s (%s)\n\n", t->request, figures[t->figure[0]].name,
           t->sense[0] > 0 ? "greatest" : "least", figures[t->figure[1]].name,
           t->sense[1] > 0 ? "greatest" : "least");
    printf("  %3s  %-18s %-18s", "", figures[t->figure[0]].name, figures[t->figure[1]].name);
    for (size_t k = 0; k < t->points[0]->n_values; k++)
        printf(" %s", t->points[0]->values[k].of);
    putchar('\n');
    for (size_t i = 0; i < t->n; i++) {
        printf("  %3zu ", i + 1);
        for (int k = 0; k < 2; k++)
            printf(" %-18s", cli_measure(number, t->points[i]->figures[t->figure[k]],
                                         figures[t->figure[k]].dim, system));
        for (size_t k = 0; k < t->points[i]->n_values; k++) {
            const struct sm_sized_value *v = &t->points[i]->values[k];
            const int width = k + 1 < t->points[i]->n_values ? (int)strlen(v->of) : 0;
            if (v->is_whole)
                printf(" %-*.0f", width, v->value);
            else
                printf(" %-*s", width, cli_measure(number, v->value, v->dim, system));
        }
        putchar('\n');
    }
    if (!t->complete)
        puts("\nSTOPPED before its end: these are the points found by then, and no file is written.");
    else if (t->n == 1)
        puts("\nThe two don't pull against each other here: one motor is best in both.");
    if (t->n_missed > 0)
        printf("\nfor %zu levels between the ends no motor was found; more restarts may help\n", t->n_missed);
    print_trade_warnings(t);
    printf("\nseed %llu, %zu quick burns\n", (unsigned long long)t->seed, t->evaluations);
    print_cautions(t->points[0]);
}

/* ---- files ---- */

struct motor_job {
    const struct sm_request *request;
    const struct sm_sizing *sizing;
};

static enum sm_status write_motor(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct motor_job *job = user;
    return sm_sizing_write_motor(job->request, job->sizing, sink, err);
}

struct trade_job {
    const struct sm_trade *trade;
    enum sm_unit_system system;
    enum sm_picture_kind kind;
};

static enum sm_status write_csv(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct trade_job *job = user;
    return sm_trade_write_csv(job->trade, sink, err);
}

static enum sm_status write_plot(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct trade_job *job = user;
    return sm_plot_trade(job->trade, job->system, job->kind, sink, err);
}

/* "front.json" for the third point: "front-3.json" */
static void number_name(char *out, size_t size, const char *path, size_t i)
{
    const char *slash = strrchr(path, '/'), *dot = strrchr(path, '.');
    const size_t stem = dot && (!slash || dot > slash) ? (size_t)(dot - path) : strlen(path);
    snprintf(out, size, "%.*s-%zu%s", (int)stem, path, i, path + stem);
}

static enum cli_exit write_motors(const char *path, const struct sm_request *request,
                                  const struct sm_trade *trade)
{
    enum cli_exit code = CLI_DONE;
    for (size_t i = 0; i < trade->n && code == CLI_DONE; i++) {
        char name[4096];
        struct motor_job job = {request, trade->points[i]};
        number_name(name, sizeof name, path, i + 1);
        code = cli_write_file(name, write_motor, &job);
    }
    return code;
}

/* ---- running ---- */

static int step(void *user, double fraction)
{
    int *shown = user;
    const int now = (int)(100.0 * fraction);
    if (*shown >= 0 && now != *shown) {
        fprintf(stderr, "\rsearching: %3d %%", now);
        *shown = now;
    }
    return cli_is_stopped();
}

static enum cli_exit say_failure(const struct cli *cli, enum sm_status status, struct sm_error *err)
{
    if (err->at.file[0] == '\0')
        snprintf(err->at.file, sizeof err->at.file, "%s", cli->arguments[0]);
    cli_say_error(err);
    /* A margin to be accepted, a figure that the motor does not have: faults of the request. */
    return status == SM_E_RANGE || status == SM_E_FIELD ? CLI_BAD_INPUT : cli_exit_of_run(status);
}

static enum cli_exit size_one(const struct cli *cli, const struct asked *a, const struct sm_request *request,
                              const struct sm_context *context)
{
    struct sm_sizing *sizing;
    struct sm_error err = {0};
    const char *output = cli_value(cli, "output");
    const enum sm_status status = sm_size_run(request, &a->options, context, &sizing, &err);
    if (*(int *)context->progress.user >= 0)
        fputs("\r                    \r", stderr);
    if (status != SM_OK)
        return say_failure(cli, status, &err);
    struct motor_job job = {request, sizing};
    enum cli_exit code = output && sizing->complete ? cli_write_file(output, write_motor, &job) : CLI_DONE;
    if (code == CLI_DONE && cli_flag(cli, "json")) {
        struct sm_sink out = cli_stdout();
        code = cli_end_output(sm_sizing_write_json(sizing, &out, &err), &err);
    } else if (code == CLI_DONE)
        print_sizing(sizing, cli->system);
    if (code == CLI_DONE && !sizing->complete)
        code = CLI_STOPPED;
    else if (code == CLI_DONE && !sizing->holds)
        code = CLI_FAILED;
    sm_sizing_free(sizing);
    return code;
}

static enum cli_exit trade(const struct cli *cli, const struct asked *a, const struct sm_request *request,
                           const struct sm_context *context)
{
    struct sm_trade *front;
    struct sm_error err = {0};
    const char *output = cli_value(cli, "output"), *csv = cli_value(cli, "csv"),
               *plot = cli_value(cli, "plot");
    const enum sm_status status =
        sm_trade_run(request, a->figure, a->sense, a->n_points, &a->options, context, &front, &err);
    if (*(int *)context->progress.user >= 0)
        fputs("\r                    \r", stderr);
    if (status != SM_OK)
        return say_failure(cli, status, &err);
    struct trade_job job = {front, cli->system, SM_PICTURE_SVG};
    const bool writes = front->complete;
    enum cli_exit code = output && writes ? write_motors(output, request, front) : CLI_DONE;
    if (code == CLI_DONE && csv && writes)
        code = cli_write_file(csv, write_csv, &job);
    if (code == CLI_DONE && plot && writes && sm_picture_kind_of(plot, &job.kind, NULL) == SM_OK)
        code = cli_write_file(plot, write_plot, &job);
    if (code == CLI_DONE && cli_flag(cli, "json")) {
        struct sm_sink out = cli_stdout();
        code = cli_end_output(sm_trade_write_json(front, &out, &err), &err);
    } else if (code == CLI_DONE)
        print_trade(front, cli->system);
    if (code == CLI_DONE && !front->complete)
        code = CLI_STOPPED;
    sm_trade_free(front);
    return code;
}

static enum cli_exit run(struct cli *cli)
{
    struct asked asked;
    struct sm_request *request;
    struct sm_diag problems = {0};
    int shown = isatty(STDERR_FILENO) ? 0 : -1;
    if (!cli_load_options(cli) || !cli_output_names(cli) || !take_options(cli, &asked))
        return CLI_BAD_INPUT;
    const enum sm_status status = sm_request_load(cli->arguments[0], &cli->load, NULL, &request, &problems);
    cli_say_problems(&problems);
    sm_diag_release(&problems);
    if (status != SM_OK)
        return cli_exit_of_input(status);
    cli_watch_interrupt();
    const struct sm_context context = {.progress = {.step = step, .user = &shown}};
    const enum cli_exit code =
        asked.is_trade ? trade(cli, &asked, request, &context) : size_one(cli, &asked, request, &context);
    sm_request_free(request);
    return code;
}

static const struct cli_option options[] = {
    {"output", "FILE",
     "where the sized motor goes, ready to burn; of a trade FILE-1, FILE-2 ...; -o for short"},
    {"trade", "A,B",
     "the best compromises between two figures, as burn_time,peak_pressure; A:least or A:greatest turns one"},
    {"points", "N", "of a trade: how many compromises to look for; 9 if not given"},
    {"robust", "PERCENT", "each limit is to hold for this share of motors that stray, as 95"},
    {"samples", "N", "of that: how many motors to draw; 1000 if not given"},
    {"seed", "N", "another seed searches from other places and draws other samples; 1 if not given"},
    {"restarts", "N", "global searches, each from places of its own; 2 if not given"},
    {"threads", "N", "for the samples: as many as the machine has if not given; the numbers are the same"},
    {"accept", "burst-margin", "a burst margin under 1.5, as \"accept\" in the request does"},
};

const struct sm_command sm_command_size = {
    .name = "size",
    .summary = "the motor for what is wanted: chooses free values so that limits hold",
    .arguments = "REQUEST",
    .detail = "Reads a request: a motor, which of its values are free within bounds, what is wanted and "
              "which limits are kept "
              "before anything else. Says which limits are active and what each costs, or which two "
              "conflict. Writes the motor "
              "ready to burn. Not a drawing for manufacture. 'slowmatch help figures' lists what may be "
              "wanted, limited or "
              "traded. Ctrl-C shows the best found by then.",
    .example = "slowmatch size examples/requests/sandpiper.json -o sized.json",
    .shared = CLI_SET | CLI_JSON | CLI_CSV | CLI_PLOT | CLI_UNITS,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .min_arguments = 1,
    .max_arguments = 1,
    .run = run,
};
