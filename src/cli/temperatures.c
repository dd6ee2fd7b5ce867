#include "temperatures.h"
#include "figures.h"
#include "sidebyside.h"

#include <math.h>
#include <string.h>

enum { MOST = 8, WORD = 64 };

/* The runs of one motor, in the order of the list. */
struct days {
    struct sm_motor *motor;
    struct sm_motor_facts facts;
    double temperature[MOST]; /* [K] */
    struct sm_result *results[MOST];
    size_t n;
};

/* One entry of the list: a word for one of the file's own temperatures, or a quantity. */
static bool take_temperature(struct cli *cli, const struct sm_motor_facts *facts, const char *word,
                             double *kelvin)
{
    struct sm_error err = {0};
    if (strcmp(word, "cold") == 0)
        *kelvin = facts->coldest_temperature;
    else if (strcmp(word, "nominal") == 0)
        *kelvin = facts->grain_temperature;
    else if (strcmp(word, "hot") == 0)
        *kelvin = facts->hottest_temperature;
    else if (sm_units_parse(cli->units, word, SM_DIM_TEMPERATURE, kelvin, &err) != SM_OK) {
        cli_say_usage(cli, "--temperatures: '%s' is none of cold, nominal and hot, and %s", word,
                      err.message);
        return false;
    }
    return true;
}

static bool take_list(struct cli *cli, struct days *days)
{
    const char *list = cli_value(cli, "temperatures");
    for (const char *from = list;; from++) {
        char word[WORD];
        const size_t blanks = strspn(from, " "), length = strcspn(from + blanks, ",");
        from += blanks;
        if (length >= sizeof word || days->n == MOST) {
            cli_say_usage(cli, "--temperatures takes up to %d temperatures, as \"-10 degC,21 degC,45 degC\"",
                          MOST);
            return false;
        }
        memcpy(word, from, length);
        word[length] = '\0';
        if (!take_temperature(cli, &days->facts, word, &days->temperature[days->n++]))
            return false;
        from += length;
        if (*from == '\0')
            return true;
    }
}

static enum cli_exit burn_days(struct cli *cli, const char *path, struct days *days)
{
    struct sm_run_options options;
    struct sm_error err = {0};
    if (!cli_run_options(cli, &options))
        return CLI_BAD_INPUT;
    for (size_t i = 0; i < days->n; i++) {
        options.grain_temperature = days->temperature[i];
        const enum sm_status status =
            sm_simulate(days->motor, &options, cli_context(), &days->results[i], &err);
        if (status != SM_OK) {
            char at[CLI_NUMBER];
            snprintf(err.at.file, sizeof err.at.file, "%s with the grain at %s", path,
                     cli_number(at, days->temperature[i], SM_DIM_TEMPERATURE, cli->system));
            cli_say_error(&err);
            return cli_exit_of_run(status);
        }
        if (isnan(days->results[i]->grain_temperature)) {
            fprintf(stderr,
                    "%s: a bare curve without temperature_coefficient is the same at every temperature\n",
                    path);
            return CLI_BAD_INPUT;
        }
        if (!days->results[i]->complete)
            return CLI_STOPPED;
    }
    return CLI_DONE;
}

static size_t extreme(const struct days *days, bool hot)
{
    size_t found = 0;
    for (size_t i = 1; i < days->n; i++)
        if ((days->temperature[i] > days->temperature[found]) == hot)
            found = i;
    return found;
}

/* sigma_p of the file, pi_K as the runs show it: d ln P / dT at one Kn is the textbooks' definition. */
static void print_effects(const struct days *days, enum sm_unit_system system)
{
    const size_t cold = extreme(days, false), hot = extreme(days, true);
    const double span = days->temperature[hot] - days->temperature[cold];
    const struct sm_result *a = days->results[cold], *b = days->results[hot];
    char number[CLI_NUMBER];
    if (!(span > 0.0))
        return;
    puts("\nwhat temperature does");
    if (!isnan(days->facts.temperature_sensitivity))
        printf("  %-22s %-14s of burning rate at one pressure, as the propellant's file has it\n", "sigma_p",
               cli_number(number, days->facts.temperature_sensitivity, SM_DIM_PER_TEMPERATURE, system));
    if (!isnan(a->chamber.pressure_average))
        printf("  %-22s %-14s of average pressure, between the coldest and the hottest run\n", "pi_K",
               cli_measure(number, log(b->chamber.pressure_average / a->chamber.pressure_average) / span,
                           SM_DIM_PER_TEMPERATURE, system));
    printf("  %-22s %-14s of average thrust, likewise\n", "",
           cli_measure(number, log(b->thrust.average / a->thrust.average) / span, SM_DIM_PER_TEMPERATURE,
                       system));
    printf("  %-22s %-14s of burn time, likewise\n", "",
           cli_measure(number, log(b->thrust.burn_time / a->thrust.burn_time) / span, SM_DIM_PER_TEMPERATURE,
                       system));
}

static void print_case(const struct days *days, enum sm_unit_system system)
{
    const size_t hot = extreme(days, true);
    const double peak = days->results[hot]->chamber.pressure_maximum;
    const struct sm_motor_facts *f = &days->facts;
    char at[CLI_NUMBER], most[CLI_NUMBER], burst[CLI_NUMBER], line[512];
    if (isnan(peak))
        return;
    cli_number(at, days->temperature[hot], SM_DIM_TEMPERATURE, system);
    cli_measure(most, peak, SM_DIM_PRESSURE, system);
    if (isnan(f->burst_pressure))
        snprintf(line, sizeof line,
                 "Peak pressure with the grain at %s is %s. The file gives no burst pressure of the case to "
                 "hold it "
                 "against.",
                 at, most);
    else
        snprintf(line, sizeof line,
                 "Peak pressure with the grain at %s is %s; the case bursts at %s, %.2f times that, and %.2f "
                 "times is "
                 "wanted%s.",
                 at, most, cli_measure(burst, f->burst_pressure, SM_DIM_PRESSURE, system),
                 f->burst_pressure / peak, f->margin,
                 peak * f->margin > f->burst_pressure ? ": TOO LITTLE" : "");
    fputc('\n', stdout);
    cli_wrap(stdout, line, 2, 2);
}

static void print_days(const struct days *days, const struct sm_result *const *results,
                       enum sm_unit_system system)
{
    char numbers[MOST][CLI_NUMBER];
    const char *headings[MOST];
    for (size_t i = 0; i < days->n; i++)
        headings[i] = cli_number(numbers[i], days->temperature[i], SM_DIM_TEMPERATURE, system);
    printf("%s, by the grain's temperature\n\n", results[0]->motor);
    cli_print_side_by_side(results, headings, days->n, system);
    print_effects(days, system);
    print_case(days, system);
    cli_print_caution(CLI_PREDICTED);
}

static enum cli_exit show(const struct cli *cli, const struct days *days)
{
    const struct sm_result *results[MOST];
    for (size_t i = 0; i < days->n; i++)
        results[i] = days->results[i];
    const enum cli_exit code = cli_write_side_by_side(cli, results, days->n);
    if (code == CLI_DONE && !cli_flag(cli, "json"))
        print_days(days, results, cli->system);
    return code;
}

static enum cli_exit load(struct cli *cli, const char *path, struct days *days)
{
    const enum cli_exit code = cli_load_motor(cli, path, &days->motor);
    if (code != CLI_DONE)
        return code;
    sm_motor_describe(days->motor, &days->facts);
    return take_list(cli, days) ? CLI_DONE : CLI_BAD_INPUT;
}

static bool has_warning(const struct sm_result *result, const char *code)
{
    for (size_t i = 0; result && i < result->n_warnings; i++)
        if (strcmp(result->warnings[i].code, code) == 0)
            return true;
    return false;
}

/* Each warning once, in the words of the hottest run that has it. Returned: how many there are. */
static size_t say_warnings(const struct cli *cli, const struct days *days, bool is_said)
{
    size_t n = 0;
    for (size_t i = 0; i < days->n; i++)
        for (size_t j = 0; days->results[i] && j < days->results[i]->n_warnings; j++) {
            const struct sm_warning_found *w = &days->results[i]->warnings[j];
            bool is_hottest = true;
            char name[CLI_NUMBER];
            for (size_t k = 0; k < days->n; k++)
                if (days->temperature[k] > days->temperature[i] && has_warning(days->results[k], w->code))
                    is_hottest = false;
            if (!is_hottest)
                continue;
            n++;
            if (is_said)
                cli_say_warning(w, cli_number(name, days->temperature[i], SM_DIM_TEMPERATURE, cli->system));
        }
    return n;
}

enum cli_exit cli_burn_temperatures(struct cli *cli, const char *path)
{
    struct days days = {0};
    if (cli_value(cli, "section")) {
        cli_say_usage(cli, "--section draws one run; leave it or --temperatures out");
        return CLI_BAD_INPUT;
    }
    enum cli_exit code = load(cli, path, &days);
    if (code == CLI_DONE)
        code = burn_days(cli, path, &days);
    if (code == CLI_DONE)
        code = show(cli, &days);
    const size_t n_warnings = say_warnings(cli, &days, code == CLI_DONE);
    if (code == CLI_DONE && cli_flag(cli, "strict") && n_warnings > 0)
        code = CLI_WARNED;
    for (size_t i = 0; i < days.n; i++)
        sm_result_free(days.results[i]);
    sm_motor_free(days.motor);
    return code;
}
