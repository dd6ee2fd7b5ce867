/*
 * Numbers as people read them: the same digits and units on the terminal and on every page.
 */
#ifndef SLOWMATCH_SHOW_H
#define SLOWMATCH_SHOW_H

#include "slowmatch/plot.h"

#ifdef __cplusplus
extern "C" {
#endif

enum { SM_SHOW_TEXT = 48 };

/* A number as people write it, in the unit they read: "38 mm", "3.02 MPa", "-" for NaN. Returned: buf. */
SM_API const char *sm_show_number(char buf[SM_SHOW_TEXT], double si, enum sm_dim dim,
                                  enum sm_unit_system system);
/* A figure that was reckoned, to four digits whatever they are, so that columns of them line up: "88.00 mm". */
SM_API const char *sm_show_measure(char buf[SM_SHOW_TEXT], double si, enum sm_dim dim,
                                   enum sm_unit_system system);
/* The same without the unit, "88.00", and that unit, "mm"; "" for a bare number. */
SM_API const char *sm_show_digits(char buf[SM_SHOW_TEXT], double si, enum sm_dim dim,
                                  enum sm_unit_system system);
SM_API const char *sm_show_unit(enum sm_dim dim, enum sm_unit_system system);
/* A speed of gas or of vehicles [m/s], which are faster than burning surfaces. */
SM_API const char *sm_show_velocity(char buf[SM_SHOW_TEXT], double si, enum sm_unit_system system);

/* A figure of a result, by its place there. */
struct sm_shown_figure {
    const char *group; /* starts a new group if not NULL */
    const char *label;
    enum sm_dim dim;
    size_t offset;    /* of the double in struct sm_result [bytes] */
    const char *note; /* what it means; may be NULL */
    size_t sigma;     /* of its one-sigma there; 0: it has none [bytes] */
    bool in_compare;  /* shown where motors stand side by side */
    bool is_velocity; /* of gas, shown as such */
};
/* All that are shown, in order. Returned: how many; *figures is a static table. */
SM_API size_t sm_shown_list(const struct sm_shown_figure **figures);
SM_API double sm_shown_value(const struct sm_shown_figure *figure, const struct sm_result *result);
/* Its standard deviation, in its unit; NaN where there is none. */
SM_API double sm_shown_sigma(const struct sm_shown_figure *figure, const struct sm_result *result);
SM_API const char *sm_shown_text(char buf[SM_SHOW_TEXT], const struct sm_shown_figure *figure, double value,
                                 enum sm_unit_system system);

#ifdef __cplusplus
}
#endif
#endif
