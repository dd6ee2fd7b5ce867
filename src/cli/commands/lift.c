#include "ignitions.h"
#include "liftreport.h"
#include "needs.h"
#include "spreading.h"
#include "terminal.h"
#include "turntable.h"

#include <math.h>
#include <string.h>

static void put_figure(char buf[CLI_NUMBER], const struct sm_lift_figure *f, double value,
                       enum sm_unit_system system)
{
    if (f->is_velocity)
        cli_velocity(buf, value, system);
    else if (f->dim == SM_DIM_LENGTH)
        cli_height(buf, value, system);
    else if (f->dim == SM_DIM_MASS)
        cli_vehicle_mass(buf, value, system);
    else
        cli_measure(buf, value, f->dim, system);
}

static void print_figures(const struct sm_lift *lift, enum sm_unit_system system)
{
    const struct sm_lift_figure *list;
    const size_t n = sm_lift_figure_list(&list);
    const char *group = NULL;
    for (size_t i = 0; i < n; i++) {
        const double value = *(const double *)(const void *)((const char *)&lift->figures + list[i].offset);
        char number[CLI_NUMBER];
        group = list[i].group ? list[i].group : group;
        if (strcmp(list[i].key, "hover_time") == 0 && !lift->has_throttle)
            break; /* hover is the last group */
        if (isnan(value))
            continue;
        if (group)
            printf("\n%s\n", group);
        group = NULL;
        put_figure(number, &list[i], value, system);
        if (list[i].note)
            printf("  %-22s %-14s %s\n", list[i].label, number, list[i].note);
        else
            printf("  %-22s %s\n", list[i].label, number);
        if (strcmp(list[i].key, "corner_ratio") == 0)
            cli_wrap(stdout, lift->corner, 2, 2);
        if (strcmp(list[i].key, "velocity_gravity") == 0)
            cli_wrap(stdout, lift->ejection, 2, 4);
    }
}

static void print_row(const char *what, const struct sm_lift_row *row, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER], e[CLI_NUMBER],
        window[2 * CLI_NUMBER + 4] = "-";
    if (!isnan(row->first[SM_LIFT_DRAG]))
        snprintf(window, sizeof window, "%s, %s",
                 cli_measure(b, row->first[SM_LIFT_DRAG], SM_DIM_TIME, system),
                 cli_measure(c, row->last[SM_LIFT_DRAG], SM_DIM_TIME, system));
    printf("  %-12s %-12s %-22s %-10s %s\n", what, cli_measure(a, row->hover[0], SM_DIM_TIME, system), window,
           cli_height(d, row->highest[SM_LIFT_DRAG], system),
           cli_height(e, row->highest[SM_LIFT_DRAG_RESERVE], system));
}

static void print_tables(const struct sm_lift *lift, enum sm_unit_system system)
{
    static const char columns[] = "hovers for   contact from, to       highest    with reserve";
    char what[CLI_NUMBER];
    if (!lift->has_throttle)
        return;
    puts("\nhow much may it weigh (with drag and the time that splay takes)");
    printf("  %-12s %s\n", "at release", columns);
    for (size_t i = 0; i < SM_LIFT_MASSES; i++)
        print_row(cli_vehicle_mass(what, lift->masses[i], system), &lift->by_mass[i], system);
    puts("\nhow far must it splay (with drag and the time that splay takes)");
    printf("  %-12s %s\n", "splay limit", columns);
    for (size_t i = 0; i < SM_LIFT_LIMITS; i++)
        print_row(cli_measure(what, lift->limits[i], SM_DIM_ANGLE, system), &lift->by_limit[i], system);
}

static void print_percentiles(const char *what, const double value[SM_LIFT_PERCENTILES], int is_height,
                              enum sm_unit_system system)
{
    char text[SM_LIFT_PERCENTILES][CLI_NUMBER];
    for (size_t i = 0; i < SM_LIFT_PERCENTILES; i++)
        if (is_height)
            cli_height(text[i], value[i], system);
        else
            cli_measure(text[i], value[i], SM_DIM_TIME, system);
    printf("    %-16s %-10s %-10s %s\n", what, text[0], text[1], text[2]);
}

static void print_sampled(const struct sm_lift *lift, enum sm_unit_system system)
{
    static const char *const ways[SM_LIFT_BOUNDS] = {"no drag, splay at once", "no drag, reserve kept",
                                                     "of those flown, with drag, splay in its time",
                                                     "of those flown, with drag, reserve kept"};
    const struct sm_lift_sampled *s = &lift->sampled;
    char line[400];
    if (s->n == 0)
        return;
    printf("\n%zu vehicles drawn from the tolerances, seed %llu\n", s->n, (unsigned long long)s->seed);
    snprintf(line, sizeof line, "%s; %s", s->curves,
             s->strays_otherwise
                 ? "mass and ignition delay stray by the vehicle file's"
                 : "mass and ignition delay do not stray, for the file states no tolerances of them");
    cli_wrap(stdout, line, 2, 2);
    printf("  of the first %zu, flown with drag and the time that splay takes, touch within\n"
           "  the legs' limit: as a fixed program %.3g %%, planned anew %.3g %%, anew as told %.3g %%\n",
           s->n_flown, 100.0 * s->plan_within[SM_LIFT_FIXED], 100.0 * s->plan_within[SM_LIFT_REPLANNED],
           100.0 * s->plan_within[SM_LIFT_REPLANNED_AS_TOLD]);
    for (size_t k = 0; k < SM_LIFT_BOUNDS; k++) {
        printf("  %s: the model finds a landing for %.4g %%\n", ways[k], 100.0 * s->lands[k]);
        printf("    %-16s %-10s %-10s %s\n", "of those", "5 %", "50 %", "95 %");
        print_percentiles("first contact", s->first[k], 0, system);
        print_percentiles("last contact", s->last[k], 0, system);
        print_percentiles("highest flight", s->highest[k], 1, system);
    }
}

static void print_hover_at(const struct sm_lift *lift, double wanted, enum sm_unit_system system)
{
    static const char *const ways[SM_LIFT_BOUNDS] = {"no drag, splay at once", "no drag, reserve kept",
                                                     "drag, splay in its time", "drag, reserve kept"};
    const struct sm_lift_hover_at *h = &lift->hover_at;
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER];
    if (isnan(h->height))
        return;
    printf("\nthe longest hover at %s, from which a landing still exists\n",
           cli_height(a, h->height, system));
    for (size_t k = 0; k < SM_LIFT_BOUNDS; k++) {
        const double time = h->to[k] - h->from[k];
        if (isnan(time))
            printf("  %-24s none\n", ways[k]);
        else
            printf("  %-24s %-10s from %s to %s%s\n", ways[k], cli_measure(a, time, SM_DIM_TIME, system),
                   cli_measure(b, h->from[k], SM_DIM_TIME, system),
                   cli_measure(c, h->to[k], SM_DIM_TIME, system),
                   isnan(wanted)    ? ""
                   : time >= wanted ? "; no obstacle found to what is wished"
                                    : "; less than is wished");
    }
}

static void print_lift(const struct sm_lift *lift, double hover_time, enum sm_unit_system system)
{
    cli_print_lift_answer(lift, system);
    print_figures(lift, system);
    cli_print_ignitions(lift, system);
    cli_print_turning(lift, system);
    if (lift->has_throttle) {
        cli_print_landings(lift, system);
        cli_print_off_by(lift, system);
    }
    print_hover_at(lift, hover_time, system);
    print_tables(lift, system);
    print_sampled(lift, system);
    putchar('\n');
    for (size_t i = 0; sm_lift_caution(i); i++)
        cli_wrap(stdout, sm_lift_caution(i), 0, 0);
}

static void say_warnings(const struct sm_lift *lift, const char *name)
{
    fflush(stdout);
    for (size_t i = 0; i < lift->n_warnings; i++) {
        char line[600];
        snprintf(line, sizeof line, "%s: warning: %s [%s]", name, lift->warnings[i].text,
                 lift->warnings[i].code);
        cli_wrap(stderr, line, 0, 4);
    }
}

static enum sm_status write_csv(void *user, struct sm_sink *sink, struct sm_error *err)
{
    return sm_lift_write_csv(user, sink, err);
}

static enum sm_status write_sets(void *user, struct sm_sink *sink, struct sm_error *err)
{
    return sm_lift_write_sets(user, sink, err);
}

static enum sm_status write_off_by(void *user, struct sm_sink *sink, struct sm_error *err)
{
    return sm_lift_write_off_by(user, sink, err);
}

static enum sm_status write_flight(void *user, struct sm_sink *sink, struct sm_error *err)
{
    return sm_lift_write_flight(user, sink, err);
}

struct plot_job {
    const struct sm_lift *lift;
    enum sm_unit_system system;
    enum sm_picture_kind kind;
};

static enum sm_status write_plot(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct plot_job *job = user;
    return sm_plot_lift(job->lift, job->system, job->kind, sink, err);
}

static enum cli_exit show(const struct cli *cli, struct sm_lift *lift, double hover_time)
{
    const char *csv = cli_value(cli, "csv"), *plot = cli_value(cli, "plot");
    struct plot_job job = {lift, cli->system, SM_PICTURE_SVG};
    const char *sets = cli_value(cli, "sets"), *flight = cli_value(cli, "flight"),
               *off_by = cli_value(cli, "off-by");
    enum cli_exit code = csv ? cli_write_file(csv, write_csv, lift) : CLI_DONE;
    if (code == CLI_DONE && sets)
        code = cli_write_file(sets, write_sets, lift);
    if (code == CLI_DONE && flight)
        code = cli_write_file(flight, write_flight, lift);
    if (code == CLI_DONE && off_by)
        code = cli_write_file(off_by, write_off_by, lift);
    /* The name was looked at before. */
    if (code == CLI_DONE && plot && sm_picture_kind_of(plot, &job.kind, NULL) == SM_OK)
        code = cli_write_file(plot, write_plot, &job);
    if (code != CLI_DONE)
        return code;
    if (!cli_flag(cli, "json")) {
        print_lift(lift, hover_time, cli->system);
        return CLI_DONE;
    }
    struct sm_sink out = cli_stdout();
    struct sm_error err = {0};
    const enum sm_status status = sm_lift_write_json(lift, &out, &err);
    return cli_end_output(status, &err);
}

static enum cli_exit study(const struct cli *cli, const struct sm_vehicle *vehicle,
                           const struct sm_lift_options *wanted, double hover_time)
{
    struct sm_lift *lift;
    struct sm_error err = {0};
    const char *path = cli->arguments[0];
    const enum sm_status status = sm_lift_study(vehicle, wanted, cli_context(), &lift, &err);
    if (status != SM_OK) {
        snprintf(err.at.file, sizeof err.at.file, "%s", path);
        cli_say_error(&err);
        return cli_exit_of_run(status);
    }
    enum cli_exit code = show(cli, lift, hover_time);
    say_warnings(lift, path);
    if (code == CLI_DONE && cli_flag(cli, "strict") && lift->n_warnings > 0)
        code = CLI_WARNED;
    sm_lift_free(lift);
    return code;
}

static enum cli_exit run(struct cli *cli)
{
    struct sm_vehicle *vehicle;
    struct sm_diag problems = {0};
    struct sm_needs_wish wish;
    unsigned long long samples, seed, threads;
    if (!cli_load_options(cli) || !cli_output_names(cli) ||
        !cli_take_count(cli, "samples", 2, SM_MAX_SAMPLES, 0, &samples) ||
        !cli_take_count(cli, "seed", 0, UINT64_MAX, 1, &seed) ||
        !cli_take_count(cli, "threads", 1, 1024, 0, &threads) || !cli_take_wish(cli, &wish))
        return CLI_BAD_INPUT;
    const enum sm_status status = sm_vehicle_load(cli->arguments[0], &cli->load, NULL, &vehicle, &problems);
    cli_say_problems(&problems);
    sm_diag_release(&problems);
    if (status != SM_OK)
        return cli_exit_of_input(status);
    const struct sm_lift_options wanted = {.samples = samples,
                                           .seed = seed,
                                           .threads = (int)threads,
                                           .hover_height =
                                               isnan(wish.hover_height) ? 0.0 : wish.hover_height};
    const enum cli_exit code = cli_value(cli, "needs") ? cli_needs(cli, vehicle, &wish)
                                                       : study(cli, vehicle, &wanted, wish.hover_time);
    sm_vehicle_free(vehicle);
    return code;
}

static const struct cli_option options[] = {
    {"samples", "N", "draw so many vehicles from the tolerances and reckon the landing window of each"},
    {"seed", "N", "another seed draws other vehicles; 1 if not given"},
    {"threads", "N", "as many as the machine has if not given; the numbers are the same"},
    {"hover-height", "HEIGHT", "what is the longest hover there, as \"8 m\""},
    {"hover-time", "TIME", "is it as long as this, as \"6 s\""},
    {"needs", "FILE",
     "instead of all this, reckon what thrust that hover needs, and write it as a request that size reads"},
    {"base", "FILE",
     "of that: the motor to start from, or a request whose free values, wishes and limits stay; the "
     "vehicle's motor if not given"},
    {"group", "GROUP", "of that: which group of motors is to be designed, by its name or its place, as 0"},
    {"burn-time", "TIME", "of that: how long these motors burn, as \"4 s\"; up to contact if not given"},
    {"robust", NULL,
     "of that: leave the motor most room, and ask for one away from the band's edges, for size --robust"},
    {"reserve", "SHARE",
     "of that: of the range of throttle, kept at both its ends; the vehicle's own if not given"},
    {"lift-ratio", "NUMBER", "of that: thrust to weight as it lifts off, over 1; chosen if not given"},
    {"flight", "FILE", "write the plan's flight as CSV: held, in flight and after contact"},
    {"off-by", "FILE", "write the flights that are off, each of them three ways, as CSV"},
    {"sets", "FILE",
     "write the outlines of what can be reached, and of the tube from which a landing exists, as CSV"},
};

const struct sm_command sm_command_lift = {
    .name = "lift",
    .summary = "can a vehicle lift, hover and land if tilting its motors apart is its throttle?",
    .arguments = "VEHICLE",
    .detail =
        "Reads a vehicle file and the motors it names, and reckons thrust against weight from release to "
        "burnout, when and at which splay it can hover, and at which times it can touch down softly: without "
        "drag, with a reserve for steering, and with drag and the time that splay takes. With --needs it "
        "says instead what thrust a wished hover needs. "
        "Guidance only.",
    .example = "slowmatch lift examples/vehicles/sandpiper.json",
    .shared = CLI_SET | CLI_JSON | CLI_CSV | CLI_PLOT | CLI_UNITS | CLI_STRICT,
    .options = options,
    .n_options = sizeof options / sizeof *options,
    .min_arguments = 1,
    .max_arguments = 1,
    .run = run,
};
