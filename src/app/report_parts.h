/* The report's chapters, each in a function: the inside of report_page.c. */
#ifndef SM_APP_REPORT_PARTS_H
#define SM_APP_REPORT_PARTS_H

#include "app/page_shell.h"
#include "base/arena.h"
#include "motor/motor.h"

struct sm_report {
    struct sm_html html;
    struct sm_arena arena;
    const struct sm_motor *motor;
    const struct sm_result *result;
    struct sm_report_options options;
    int count; /* motors installed together */
    struct sm_error *err;
};

void sm_report_put_card(struct sm_report *r);
void sm_report_put_figures(struct sm_report *r);
void sm_report_put_warnings(struct sm_report *r);
enum sm_status sm_report_put_curves(struct sm_report *r) SM_MUST_CHECK;
enum sm_status sm_report_put_fronts(struct sm_report *r) SM_MUST_CHECK;
void sm_report_put_masses(struct sm_report *r);
void sm_report_put_losses(struct sm_report *r);
void sm_report_put_straying(struct sm_report *r);
void sm_report_put_inputs(struct sm_report *r);

/* The cautions that every page carries, as a list. */
void sm_page_put_cautions(struct sm_html *html);
/* "over 160 up to 320 N s; 145.1 N s below its upper limit, 45.4 % of it" */
void sm_report_class_text(const struct sm_report *r, char *text, size_t size);
/* A row of a two-column table: a name and a text; NULL: no row. */
void sm_page_put_row(struct sm_html *html, const char *name, const char *text);
/* Digits of n values of a dimension, one blank between: "12.81 12.82". Values NULL, or memory out: NULL. */
const char *sm_page_digits(struct sm_arena *arena, const double *values, size_t n, enum sm_dim dim,
                           enum sm_unit_system system);

#endif
