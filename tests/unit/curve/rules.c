/* The table of thresholds: the published numbers, and what is found at and a whisker above each. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "curve/rules.h"

static const struct sm_rule_case nothing = {.impulse_each = SM_ABSENT,
                                            .thrust_average = SM_ABSENT,
                                            .propellant_each = SM_ABSENT,
                                            .vehicle_mass = SM_ABSENT,
                                            .count = 1};

static const struct sm_rule_finding *find(const struct sm_rule_finding *found, size_t n, const char *code)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(found[i].code, code) == 0)
            return &found[i];
    return NULL;
}

/* Is code among what is found for the case? The laws of every answer are checked along the way. */
static int finds(const struct sm_rule_case *c, const char *code)
{
    struct sm_rule_finding found[SM_MAX_FINDINGS];
    const size_t n = sm_rules_judge(c, found);
    cr_assert(n >= 2 && n <= SM_MAX_FINDINGS);
    cr_expect_str_eq(found[n - 1].code, "check-current");
    for (size_t i = 0; i < n; i++) {
        const size_t length = strlen(found[i].text);
        cr_expect(length > 0 && found[i].text[length - 1] == '.', "cut short: %s", found[i].text);
        cr_expect(found[i].source[0] && found[i].standing[0]);
        cr_expect_eq(find(found, n, found[i].code), &found[i], "%s twice", found[i].code);
        cr_expect_null(strstr(found[i].text, "nan"), "%s", found[i].text);
    }
    return find(found, n, code) != NULL;
}

Test(rules, table_is_whole)
{
    cr_expect_gt(sm_rules_count(), 15);
    cr_expect_null(sm_rules_row(sm_rules_count()));
    for (size_t i = 0; i < sm_rules_count(); i++) {
        const struct sm_rule_row *row = sm_rules_row(i);
        cr_expect(row->code[0] && row->what[0] && row->source[0], "%zu", i);
        cr_expect(strcmp(row->standing, "published") == 0 || strcmp(row->standing, "second hand") == 0 ||
                      strcmp(row->standing, "from memory") == 0,
                  "%s", row->standing);
        cr_expect(isnan(row->limit) == (row->unit[0] == '\0'), "%s", row->code);
        for (size_t j = 0; j < i; j++)
            cr_expect_str_neq(row->code, sm_rules_row(j)->code);
    }
}

/* National Association of Rocketry, Standard Motor Codes: micro, low, mid power, levels 1 to 3. */
Test(rules, sizes_by_installed_impulse)
{
    static const struct {
        double limit;
        const char *code, *next;
    } sizes[] = {{0.3125, "micro", "low-power"},  {20.0, "low-power", "mid-power"},
                 {160.0, "mid-power", "level-1"}, {640.0, "level-1", "level-2"},
                 {5120.0, "level-2", "level-3"},  {40960.0, "level-3", "beyond-level-3"}};
    for (size_t i = 0; i < SM_COUNT(sizes); i++)
        for (int count = 1; count <= 4; count++) {
            struct sm_rule_case c = nothing;
            c.count = count;
            c.impulse_each = sizes[i].limit / count;
            cr_expect(finds(&c, sizes[i].code), "%s at %d motors", sizes[i].code, count);
            cr_expect_not(finds(&c, sizes[i].next));
            c.impulse_each *= 1.0 + 1e-9;
            cr_expect_not(finds(&c, sizes[i].code));
            cr_expect(finds(&c, sizes[i].next), "%s at %d motors", sizes[i].next, count);
        }
    cr_expect_not(finds(&nothing, "micro"));
}

/* Each threshold of one value: not at it, but a whisker above. */
static void expect_threshold(size_t offset, double limit, const char *code)
{
    struct sm_rule_case c = nothing;
    double *value = (double *)(void *)((char *)&c + offset);
    *value = limit;
    cr_expect_not(finds(&c, code), "%s at %g", code, limit);
    *value = limit * (1.0 + 1e-9);
    cr_expect(finds(&c, code), "%s above %g", code, limit);
}

Test(rules, thresholds)
{
    expect_threshold(offsetof(struct sm_rule_case, impulse_each), 160.0, "motor-impulse");
    expect_threshold(offsetof(struct sm_rule_case, thrust_average), 80.0, "motor-thrust");
    expect_threshold(offsetof(struct sm_rule_case, propellant_each), 62.5e-3, "motor-propellant");
    expect_threshold(offsetof(struct sm_rule_case, propellant_each), 125e-3, "model-propellant");
    expect_threshold(offsetof(struct sm_rule_case, vehicle_mass), 1.5, "model-mass");
    expect_threshold(offsetof(struct sm_rule_case, impulse_each), 320.0, "model-impulse");
    expect_threshold(offsetof(struct sm_rule_case, impulse_each), 80.0, "adults-only");
    expect_threshold(offsetof(struct sm_rule_case, impulse_each), 40960.0, "airspace-class-3");
    expect_threshold(offsetof(struct sm_rule_case, propellant_each), 125e-3, "airspace-class-2");
    expect_threshold(offsetof(struct sm_rule_case, vehicle_mass), 1.5, "airspace-class-2");
    struct sm_rule_case c = nothing;
    c.impulse_each = 161.0;
    cr_expect_not(finds(&c, "adults-only"), "an H motor is no G motor");
}

/* Limits on the whole rocket count all motors. */
Test(rules, clusters)
{
    struct sm_rule_case c = nothing;
    c.propellant_each = 0.050;
    c.vehicle_mass = 1.2;
    c.count = 2;
    cr_expect(finds(&c, "airspace-class-1"));
    cr_expect_not(finds(&c, "model-propellant"));
    c.count = 3;
    cr_expect(finds(&c, "airspace-class-2"));
    cr_expect(finds(&c, "model-propellant"));
    cr_expect_not(finds(&c, "motor-propellant"));
}

/* 14 CFR 101.22: Class 1 needs both masses known. */
Test(rules, airspace)
{
    struct sm_rule_case c = nothing;
    cr_expect(finds(&c, "airspace-class-unknown"));
    c.propellant_each = 0.1;
    cr_expect(finds(&c, "airspace-class-unknown"));
    c.vehicle_mass = 1.4;
    cr_expect(finds(&c, "airspace-class-1"));
    cr_expect_not(finds(&c, "airspace-class-unknown"));
    c.impulse_each = 50e3;
    cr_expect(finds(&c, "airspace-class-3"));
    cr_expect_not(finds(&c, "airspace-class-1"));
}

Test(rules, own_design)
{
    struct sm_rule_case c = nothing;
    cr_expect_not(finds(&c, "own-design"));
    c.own_design = 1;
    cr_expect(finds(&c, "own-design"));
}

/* The text says how far the case is from the number that decides. */
Test(rules, distance_is_told)
{
    struct sm_rule_finding found[SM_MAX_FINDINGS];
    struct sm_rule_case c = nothing;
    c.impulse_each = 175.0;
    c.thrust_average = 92.5;
    c.propellant_each = 0.0785;
    const size_t n = sm_rules_judge(&c, found);
    cr_assert_not_null(find(found, n, "level-1"));
    cr_expect_not_null(strstr(find(found, n, "level-1")->text, "Here: 175 N s, 465 N s below its upper limit."));
    cr_assert_not_null(find(found, n, "motor-thrust"));
    cr_expect_not_null(strstr(find(found, n, "motor-thrust")->text, "Here: 92.5 N, 12.5 N over the limit."));
    cr_assert_not_null(find(found, n, "motor-propellant"));
    cr_expect_not_null(strstr(find(found, n, "motor-propellant")->text, "Here: 78.5 g, 16 g over the limit."));
}
