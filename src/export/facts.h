/* What holds for a whole table, as every form carries it: class, totals, masses, provenance. */
#ifndef SM_EXPORT_FACTS_H
#define SM_EXPORT_FACTS_H

#include "base/arena.h"
#include "base/fail.h"
#include "slowmatch/param.h"

/* A number or a text. */
struct sm_fact {
    const char *key;  /* "total_impulse" */
    const char *text; /* NULL: it is a number */
    double number;    /* [SI] */
    enum sm_dim dim;
};

struct sm_export;

/* Fills e->facts: the motor's name, standing, class, designation, totals, masses and whose they are, conditions, program,
 * input and its hash, what was set, date. What is unknown is left out. */
enum sm_status sm_facts_make(struct sm_export *e, struct sm_error *err) SM_MUST_CHECK;

/* A fact by key, NULL if there is none. */
const struct sm_fact *sm_facts_find(const struct sm_export *e, const char *key);

enum { SM_FACT_TEXT = 512 };
/* "total impulse 174.86 N s", or "program: slowmatch 0.1.0", on one line in buf; returns buf. */
const char *sm_fact_line(const struct sm_fact *fact, char buf[SM_FACT_TEXT]);

#endif
