/* Impulse classes and designations. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "curve/impulse.h"
#include "reference/reference.h"

Test(impulse, class_limits)
{
    struct ref_table *t = ref_read("impulse-classes.csv");
    for (size_t i = 0; i < t->n_rows; i++) {
        const double limit = ref_number(t, i, "limit");
        struct sm_impulse_class c;
        sm_impulse_class_of(limit, &c);
        cr_expect_str_eq(c.letter, ref_text(t, i, "class"));
        ref_expect(t, i, "limit", c.to);
        cr_expect_eq(c.margin, 0.0);
        cr_expect_eq(c.above, i ? ref_number(t, i - 1, "limit") : 0.0);
        /* a rounding above is still at the limit; the 0.01 of the printed tables, or a millionth, is not */
        sm_impulse_class_of(limit * (1.0 + 5e-13), &c);
        cr_expect_str_eq(c.letter, ref_text(t, i, "class"));
        cr_expect_eq(c.margin, 0.0);
        sm_impulse_class_of(limit * (1.0 + 1e-6), &c);
        cr_expect_str_eq(c.letter, i + 1 < t->n_rows ? ref_text(t, i + 1, "class") : "P");
        sm_impulse_class_of(0.75 * limit, &c);
        cr_expect_str_eq(c.letter, ref_text(t, i, "class"));
        cr_expect_float_eq(c.margin, 0.25 * limit, 1e-12 * limit);
    }
    free(t);
}

Test(impulse, beyond_the_table)
{
    struct sm_impulse_class c;
    sm_impulse_class_of(1e-9, &c);
    cr_expect_str_eq(c.letter, "1/8A");
    sm_impulse_class_of(2.5 * (double)(1 << 25), &c);
    cr_expect_str_eq(c.letter, "Z");
    sm_impulse_class_of(2.5 * (double)(1 << 25) * 1.01, &c);
    cr_expect_str_eq(c.letter, "AA");
    sm_impulse_class_of(1e300, &c);
    cr_expect(c.to >= 1e300 && c.above < 1e300 && strlen(c.letter) >= 2);
    const double nothing[] = {0.0, -1.0, (double)NAN, (double)INFINITY};
    for (size_t i = 0; i < SM_COUNT(nothing); i++) {
        sm_impulse_class_of(nothing[i], &c);
        cr_expect_str_eq(c.letter, "");
        cr_expect_eq(c.to, 0.0);
    }
}

/* Class letter, average thrust in newtons, delay [National Association of Rocketry, Standard Motor Codes]. */
Test(impulse, designation)
{
    struct sm_impulse_class c;
    char text[32], tiny[4];
    sm_impulse_class_of(175.0, &c);
    sm_impulse_designation(&c, 13.4, SM_ABSENT, text, sizeof text);
    cr_expect_str_eq(text, "H13");
    sm_impulse_designation(&c, 13.5, 7.0, text, sizeof text);
    cr_expect_str_eq(text, "H14-7");
    sm_impulse_designation(&c, 12.9, -1.0, text, sizeof text);
    cr_expect_str_eq(text, "H13-P");
    sm_impulse_designation(&c, 0.2, 0.0, text, sizeof text);
    cr_expect_str_eq(text, "H1-0");
    sm_impulse_class_of(0.5, &c);
    sm_impulse_designation(&c, 2.0, 3.5, text, sizeof text);
    cr_expect_str_eq(text, "1/4A2-3.5");
    sm_impulse_designation(&c, 2.0, 3.5, tiny, sizeof tiny);
    cr_expect_str_eq(tiny, "1/4");
}
