#include "figures.h"

#include <string.h>

void cli_print_class(const struct sm_impulse_class *c, const char *designation, enum sm_unit_system system)
{
    char left[CLI_NUMBER];
    printf("class %s%s%s: over %g up to %g N s; %s below its upper limit, %.1f %% of it\n", c->letter,
           designation ? ", " : "", designation ? designation : "", c->above, c->to,
           cli_measure(left, c->margin, SM_DIM_IMPULSE, system), 100.0 * c->margin / c->to);
}

void cli_print_installed(int count, double impulse_each, enum sm_unit_system system)
{
    char all[CLI_NUMBER];
    printf("%d of them: %s installed\n", count,
           cli_measure(all, count * impulse_each, SM_DIM_IMPULSE, system));
}

void cli_print_caution(enum cli_standing standing)
{
    static const char *const words[] = {
        [CLI_PREDICTED] = "Predicted, not measured",
        [CLI_GIVEN] = "From what was given, taken as it stands",
        [CLI_GIVEN_BESIDE_PREDICTED] = "Predicted, or from a curve as it was given",
    };
    char line[256];
    snprintf(line, sizeof line,
             "%s; it does not certify. Follow the law where you are, the codes that apply and your range's "
             "safety officer, and never stand near a test.",
             words[standing]);
    fputc('\n', stdout);
    cli_wrap(stdout, line, 0, 0);
}

/* " [14 CFR 101.22]", with what it is worth if the source was not read itself. */
static const char *put_source(char *buf, size_t size, const struct sm_rule_finding *found)
{
    const bool is_published = strcmp(found->standing, "published") == 0;
    buf[0] = '\0';
    if (found->brief)
        snprintf(buf, size, " [%s%s%s]", found->brief, is_published ? "" : ", ",
                 is_published ? "" : found->standing);
    return buf;
}

void cli_print_guidance(const struct sm_rule_case *c)
{
    struct sm_rule_finding found[SM_MAX_FINDINGS];
    const size_t n = sm_rules_judge(c, found);
    puts("\nlevels and limits, as guidance");
    for (size_t i = 0; i < n; i++) {
        char source[96], line[512];
        snprintf(line, sizeof line, "- %s%s", found[i].text, put_source(source, sizeof source, &found[i]));
        cli_wrap(stdout, line, 2, 4);
    }
}
