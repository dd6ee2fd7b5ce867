/* Help on what is no command. */
#include "terminal.h"

#include <math.h>
#include <string.h>

#include "slowmatch/limits.h"

static void print_heading(const char *name, const char *summary)
{
    char line[256];
    snprintf(line, sizeof line, "%s: %s", name, summary);
    fputc('\n', stdout);
    cli_wrap(stdout, line, 0, 2);
}

static void print_files(void)
{
    cli_wrap(
        stdout,
        "Motor and propellant files are JSON (RFC 8259). A quantity is a string with its unit, as \"34 mm\", "
        "\"600 psi\" or \"21 degC\"; a bare number stands only where there is no unit. Every file has "
        "\"format\": \"slowmatch-motor/1\" or \"slowmatch-propellant/1\" and a \"name\"; \"note\" and "
        "\"$schema\" are allowed in every object. A key that is not known is a fault. 'slowmatch schema' "
        "gives the same for programs.",
        0, 0);
    for (size_t i = 0; i < sm_section_count(); i++) {
        struct sm_section_info section;
        sm_section_describe(i, &section);
        print_heading(section.name, section.summary);
        cli_print_parameters(section.params, section.n_params, 2, SM_UNITS_SI);
    }
}

static void print_levels(void)
{
    cli_wrap(
        stdout,
        "Published thresholds, as guidance and no ruling: check the current edition of each and your local "
        "rules. \"second hand\" was read as somebody else quotes it, \"from memory\" not at all.",
        0, 0);
    for (size_t i = 0; i < sm_rules_count(); i++) {
        const struct sm_rule_row *row = sm_rules_row(i);
        char line[512];
        fputc('\n', stdout);
        snprintf(line, sizeof line, "%s: %s", row->code, row->what);
        cli_wrap(stdout, line, 0, 2);
        snprintf(line, sizeof line, "%s [%s]", row->source, row->standing);
        cli_wrap(stdout, line, 2, 2);
    }
}

static void print_limits(void)
{
    static const struct {
        const char *what;
        long most;
    } limits[] = {
        {"bytes of a motor or propellant file", SM_MAX_JSON_BYTES},
        {"levels of nested lists and objects in it", SM_MAX_JSON_DEPTH},
        {"bytes of one name, note or citation", SM_MAX_TEXT},
        {"bytes of a delimited text file", SM_MAX_CSV_BYTES},
        {"rows of a delimited text file", SM_MAX_CSV_ROWS},
        {"entries of \"grains\"", SM_MAX_GRAINS},
        {"\"count\" of one of them", SM_MAX_GRAIN_COUNT},
        {"segments of a burning-rate law", SM_MAX_BURN_SEGMENTS},
        {"parts of the hardware", SM_MAX_PARTS},
        {"points of a thrust curve", SM_MAX_CURVE_POINTS},
        {"motors compared at once", SM_MAX_MOTORS},
        {"words on the command line", CLI_MAX_GIVEN - 1},
    };
    puts("What is larger than this is refused with a message.\n");
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++)
        printf("  %-42s %12ld\n", limits[i].what, limits[i].most);
}

static void print_figures(void)
{
    const struct sm_size_figure *figures;
    const size_t n = sm_size_figures(&figures);
    cli_wrap(
        stdout,
        "What a request may want (\"wanted\") or keep within bounds (\"limits\"), and 'slowmatch size "
        "--trade' set against each other. Behind each stands which way is better if nothing else is said.",
        0, 0);
    fputc('\n', stdout);
    for (size_t i = 0; i < n; i++) {
        char line[300];
        snprintf(line, sizeof line, "%s; %s", figures[i].help, figures[i].sense > 0 ? "greatest" : "least");
        cli_entry(figures[i].name, line, 2, 22);
    }
}

static const struct {
    const char *name, *summary;
    void (*print)(void);
} topics[] = {
    {"figures", "what a request may want, limit or trade", print_figures},
    {"files", "what motor and propellant files may hold", print_files},
    {"levels", "the levels and limits of the guidance, with their sources", print_levels},
    {"limits", "how large input may be", print_limits},
};

bool cli_print_topic(const char *name)
{
    for (size_t i = 0; i < sizeof topics / sizeof topics[0]; i++)
        if (strcmp(topics[i].name, name) == 0) {
            topics[i].print();
            return true;
        }
    return false;
}

void cli_print_topics(void)
{
    for (size_t i = 0; i < sizeof topics / sizeof topics[0]; i++)
        cli_entry(topics[i].name, topics[i].summary, 2, 15);
}
