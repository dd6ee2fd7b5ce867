/* Classes, certification levels and legal thresholds: one sourced table, as guidance only. */
#ifndef SM_CURVE_RULES_H
#define SM_CURVE_RULES_H

#include <stddef.h>

/* What is to be flown; unknown values are SM_ABSENT. */
struct sm_rule_case {
    double impulse_each;     /* total impulse of one motor [N s] */
    double thrust_average;   /* of one motor [N] */
    double propellant_each;  /* of one motor [kg] */
    double vehicle_mass;     /* at lift-off, with motors [kg] */
    int count;               /* motors installed together */
    int own_design;          /* not a certified motor on sale */
};

/* One line of guidance that holds for the case. */
struct sm_rule_finding {
    const char *code;   /* e.g. "level-2" */
    char text[256];     /* what it means, with the number that decides and how far the case is from it */
    const char *source; /* citation */
    const char *standing; /* "published", "second hand" or "from memory" */
};

enum { SM_MAX_FINDINGS = 24 };

/* Fills found[SM_MAX_FINDINGS], returns how many. Always ends with the advice to check the current edition and the local
 * rules; for a motor of one's own design it says that such a motor is not a certified one, whatever its class. */
size_t sm_rules_judge(const struct sm_rule_case *c, struct sm_rule_finding *found);

/* The table itself, for documents: row i < sm_rules_count(). */
struct sm_rule_row {
    const char *code, *what; /* plain sentence */
    double limit;            /* [SI unit of the quantity] */
    const char *unit;        /* "N s", "N", "kg" */
    const char *source, *standing;
};
size_t sm_rules_count(void);
const struct sm_rule_row *sm_rules_row(size_t i);

#endif
