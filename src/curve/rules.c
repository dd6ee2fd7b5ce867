/* Classes, certification levels and legal thresholds: one table, each row with its source; guidance only. */
#include "curve/rules.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "base/text.h"

/* What is compared with a row's limit. */
enum quantity {
    OF_NOTHING,
    OF_INSTALLED,
    OF_IMPULSE,
    OF_THRUST,
    OF_MOTOR_PROPELLANT,
    OF_PROPELLANT,
    OF_MASS
};

/* When a row is reported: SIZE, if it is the first of the sizes whose limit is not exceeded; OVER, if its limit is
 * exceeded, but `to` is not; ELSEWHERE: judged by a function below. */
enum use { SIZE, OVER, ELSEWHERE };

struct rule {
    struct sm_rule_row row;
    enum quantity of;
    enum use use;
    double to; /* [unit of the row]; SM_INF for no end */
};

#define NAR_CODES                                                                                            \
    "National Association of Rocketry, Standard Motor Codes; Level 1 HPR Certification Procedures (nar.org)"
#define NAR_SPORTING "National Association of Rocketry, United States Model Rocket Sporting Code, sec. 4"
#define NFPA_1122    "NFPA 1122, Code for Model Rocketry, 2018 edition, as reproduced in an extract, "
#define PART_101     "Code of Federal Regulations, United States, 14 CFR 101.22"
#define IN_CODES     "NAR motor codes"
#define IN_SPORTING  "NAR sporting code"
#define IN_NFPA      "NFPA 1122"
#define IN_PART_101  "14 CFR 101.22"
#define PUBLISHED    "published"
#define SECOND_HAND  "second hand"
#define FROM_MEMORY  "from memory"

#define SIZE_ROW(c, l, text)                                                                                 \
    {                                                                                                        \
        {c, text, l, "N s", NAR_CODES, PUBLISHED, IN_CODES}, OF_INSTALLED, SIZE, SM_INF                      \
    }

static const struct rule rules[] = {
    SIZE_ROW("micro", 0.3125, "Up to 0.3125 N s installed (1/8A) is a micro motor's size."),
    SIZE_ROW("low-power", 20.0, "Over 0.3125 up to 20 N s installed (1/4A to D) is low power."),
    SIZE_ROW("mid-power", 160.0, "Over 20 up to 160 N s installed (E to G) is mid power."),
    SIZE_ROW("level-1", 640.0, "Over 160 up to 640 N s installed (H, I): certification level 1."),
    SIZE_ROW("level-2", 5120.0, "Over 640 up to 5120 N s installed (J to L): certification level 2."),
    SIZE_ROW("level-3", 40960.0, "Over 5120 up to 40960 N s installed (M to O): certification level 3."),
    {{"beyond-level-3", "Over 40960 N s installed (P and up) is beyond the levels of certification.", 40960.0,
      "N s", NAR_CODES, PUBLISHED, IN_CODES},
     OF_INSTALLED,
     OVER,
     SM_INF},
    {{"motor-impulse", "A motor of more than 160 N s is no model rocket motor but high power.", 160.0, "N s",
      NAR_SPORTING, PUBLISHED, IN_SPORTING},
     OF_IMPULSE,
     OVER,
     SM_INF},
    {{"motor-thrust", "A motor of more than 80 N average thrust counts as high power, whatever its impulse.",
      80.0, "N",
      "NFPA 1122 as quoted by the National Association of Rocketry, Standards and Testing, release R38, "
      "27 February 1997",
      SECOND_HAND, IN_NFPA},
     OF_THRUST,
     OVER,
     SM_INF},
    /* The same figure stands in 16 CFR 1500.85(a)(8) and NFPA 1125 (these two from memory). */
    {{"motor-propellant",
      "A motor with more than 62.5 g of propellant falls outside the limit for small hobby motors.", 62.5e-3,
      "kg", "27 CFR part 555, final rule 2004R-7P, Federal Register 71 (11 August 2006) 46079", PUBLISHED,
      "27 CFR 555"},
     OF_MOTOR_PROPELLANT,
     OVER,
     SM_INF},
    {{"adults-only", "A G motor of more than 80 N s is for flyers of 18 years and over.", 80.0, "N s",
      NFPA_1122 "sec. 4.9.2", SECOND_HAND, IN_NFPA},
     OF_IMPULSE,
     OVER,
     160.0},
    {{"model-mass", "A model rocket weighs at most 1500 g at lift-off.", 1.5, "kg", NFPA_1122 "sec. 4.4.1",
      SECOND_HAND, IN_NFPA},
     OF_MASS,
     OVER,
     SM_INF},
    {{"model-propellant", "A model rocket holds at most 125 g of propellant.", 0.125, "kg",
      NFPA_1122 "sec. 4.4.2", SECOND_HAND, IN_NFPA},
     OF_PROPELLANT,
     OVER,
     SM_INF},
    {{"model-impulse", "A model rocket's installed motors have at most 320 N s.", 320.0, "N s",
      NFPA_1122 "sec. 4.5", SECOND_HAND, IN_NFPA},
     OF_INSTALLED,
     OVER,
     SM_INF},
    {{"airspace-class-1-propellant",
      "A Class 1 amateur rocket (model rocket) uses at most 125 g of propellant.", 0.125, "kg",
      PART_101 "(a)", PUBLISHED, IN_PART_101},
     OF_PROPELLANT,
     ELSEWHERE,
     SM_INF},
    {{"airspace-class-1-mass", "A Class 1 amateur rocket (model rocket) weighs at most 1500 g.", 1.5, "kg",
      PART_101 "(a)", PUBLISHED, IN_PART_101},
     OF_MASS,
     ELSEWHERE,
     SM_INF},
    {{"airspace-class-2",
      "A Class 2 amateur rocket (high power) has at most 40960 N s in all; above it is Class 3.", 40960.0,
      "N s", PART_101 "(b), (c)", PUBLISHED, IN_PART_101},
     OF_INSTALLED,
     ELSEWHERE,
     SM_INF},
    {{"own-design",
      "A motor of one's own design is not a certified motor, whatever its class: certification flights "
      "and ordinary launches take certified motors. Where it may fly at all, an organisation's rules for "
      "research motors apply.",
      SM_ABSENT, "", NAR_SPORTING ", for certified motors only; the rest from memory", FROM_MEMORY,
      IN_SPORTING},
     OF_NOTHING,
     ELSEWHERE,
     SM_INF},
    {{"check-current",
      "Guidance from published thresholds, no ruling: check the current edition of each and your "
      "local rules.",
      SM_ABSENT, "", "common practice, no source", FROM_MEMORY, NULL},
     OF_NOTHING,
     ELSEWHERE,
     SM_INF},
};

size_t sm_rules_count(void)
{
    return SM_COUNT(rules);
}

const struct sm_rule_row *sm_rules_row(size_t i)
{
    return i < SM_COUNT(rules) ? &rules[i].row : NULL;
}

static double value_of(const struct sm_rule_case *c, enum quantity of)
{
    const double count = c->count > 1 ? (double)c->count : 1.0;
    switch (of) {
    case OF_INSTALLED:
        return c->installed_impulse != 0.0 ? c->installed_impulse : count * c->impulse_each;
    case OF_IMPULSE:
        return c->impulse_each;
    case OF_THRUST:
        return c->thrust_average;
    case OF_MOTOR_PROPELLANT:
        return c->propellant_each;
    case OF_PROPELLANT:
        return c->installed_propellant != 0.0 ? c->installed_propellant : count * c->propellant_each;
    case OF_MASS:
        return c->vehicle_mass;
    case OF_NOTHING:
        break;
    }
    return SM_ABSENT;
}

/* Rounding does not lift a value over a limit: the same whisker as for the impulse classes. Absent is not over. */
static int is_over(double value, double limit)
{
    return value > limit * (1.0 + 1e-12);
}

static const struct rule *rule_of(const char *code)
{
    for (size_t i = 0; i < SM_COUNT(rules); i++) {
        if (strcmp(rules[i].row.code, code) == 0)
            return &rules[i];
    }
    return NULL;
}

struct findings {
    struct sm_rule_finding *list;
    size_t n;
};

SM_PRINTF(4, 5)
static void add(struct findings *f, const struct sm_rule_row *row, const char *code, const char *fmt, ...)
{
    if (f->n >= SM_MAX_FINDINGS)
        return;
    struct sm_rule_finding *finding = &f->list[f->n++];
    finding->code = code;
    finding->source = row->source;
    finding->standing = row->standing;
    finding->brief = row->brief;
    va_list args;
    va_start(args, fmt);
    sm_text_vformat(finding->text, sizeof finding->text, fmt, args);
    va_end(args);
}

/* What the row says, and how far the value is from its limit; masses in grams. */
static void add_distance(struct findings *f, const struct sm_rule_row *row, double value)
{
    const int is_mass = row->unit[0] == 'k';
    const double scale = is_mass ? 1e3 : 1.0, gap = scale * fabs(value - row->limit);
    const char *unit = is_mass ? "g" : row->unit;
    char a[SM_DOUBLE_TEXT], b[SM_DOUBLE_TEXT];
    add(f, row, row->code, "%s Here: %s %s, %s %s %s.", row->what, sm_text_figure(a, scale * value, 5), unit,
        sm_text_figure(b, gap, 4), unit,
        is_over(value, row->limit) ? "over the limit" : "below its upper limit");
}

static void judge_table(struct findings *f, const struct sm_rule_case *c)
{
    int has_size = 0;
    for (size_t i = 0; i < SM_COUNT(rules); i++) {
        const struct rule *r = &rules[i];
        const double value = value_of(c, r->of);
        const int over = is_over(value, r->row.limit);
        const int is_size = r->use == SIZE && !has_size && !isnan(value) && !over;
        if (is_size || (r->use == OVER && over && !is_over(value, r->to)))
            add_distance(f, &r->row, value);
        has_size |= is_size;
    }
}

/* Class of 14 CFR 101.22. Class 1 needs both masses; what else it needs is said. */
static void judge_airspace(struct findings *f, const struct sm_rule_case *c)
{
    const struct sm_rule_row *most = &rule_of("airspace-class-2")->row;
    const struct sm_rule_row *loaded = &rule_of("airspace-class-1-propellant")->row;
    const struct sm_rule_row *heavy = &rule_of("airspace-class-1-mass")->row;
    const double impulse = value_of(c, OF_INSTALLED), propellant = value_of(c, OF_PROPELLANT),
                 mass = c->vehicle_mass;
    const int is_class_2 = is_over(propellant, loaded->limit) || is_over(mass, heavy->limit);
    char a[SM_DOUBLE_TEXT], b[SM_DOUBLE_TEXT];
    if (is_over(impulse, most->limit)) {
        add(f, most, "airspace-class-3",
            "Class 3 amateur rocket: %s N s in all is %s N s over the 40960 of Class 2.",
            sm_text_figure(a, impulse, 6), sm_text_figure(b, impulse - most->limit, 4));
    } else if (is_class_2 && is_over(propellant, loaded->limit)) {
        add(f, loaded, "airspace-class-2",
            "Class 2 amateur rocket: %s g of propellant is %s g over the 125 g of Class 1. "
            "Flying needs the airspace authority's leave.",
            sm_text_figure(a, 1e3 * propellant, 4), sm_text_figure(b, 1e3 * (propellant - loaded->limit), 4));
    } else if (is_class_2) {
        add(f, heavy, "airspace-class-2",
            "Class 2 amateur rocket: %s g at lift-off is %s g over the 1500 g of Class 1. "
            "Flying needs the airspace authority's leave.",
            sm_text_figure(a, 1e3 * mass, 5), sm_text_figure(b, 1e3 * (mass - heavy->limit), 4));
    } else if (isnan(propellant) || isnan(mass)) {
        add(f, heavy, "airspace-class-unknown",
            "Class 1 amateur rocket only up to 125 g of propellant and 1500 g at lift-off, else Class 2; %s "
            "not given here.",
            !isnan(propellant) ? "the mass at lift-off is"
            : !isnan(mass)     ? "the propellant's mass is"
                               : "these masses are");
    } else {
        add(f, heavy, "airspace-class-1",
            "Class 1 amateur rocket by mass: %.4g g of propellant (limit 125 g), %.5g g at lift-off (1500 "
            "g). "
            "It must also burn slowly and be of paper, wood or breakable plastic without substantial metal.",
            1e3 * propellant, 1e3 * mass);
    }
}

size_t sm_rules_judge(const struct sm_rule_case *c, struct sm_rule_finding *found)
{
    struct findings f = {found, 0};
    judge_table(&f, c);
    judge_airspace(&f, c);
    const struct sm_rule_row *own = &rule_of("own-design")->row, *check = &rule_of("check-current")->row;
    if (c->own_design)
        add(&f, own, own->code, "%s", own->what);
    add(&f, check, check->code, "%s", check->what);
    return f.n;
}
