/* The nearest name. Distances from the literature: "kitten" and "sitting" are 3 apart (Wagner and Fischer's measure; the
 * pair is the customary example, from memory), "ca" and "abc" are 3 by optimal string alignment. */
#include <criterion/criterion.h>
#include <string.h>

#include "base/suggest.h"

static size_t distance(const char *word, const char *candidate)
{
    struct sm_suggest suggest = {.word = word};
    sm_suggest_offer(&suggest, candidate);
    return suggest.best ? suggest.distance : (size_t)-1;
}

Test(suggest, distances)
{
    cr_expect_eq(distance("length", "length"), 0);
    cr_expect_eq(distance("lenght", "length"), 1);  /* swap */
    cr_expect_eq(distance("lengh", "length"), 1);   /* dropped */
    cr_expect_eq(distance("lengtth", "length"), 1); /* inserted */
    cr_expect_eq(distance("lemgth", "length"), 1);  /* changed */
    cr_expect_eq(distance("Length", "length"), 0);
    cr_expect_eq(distance("throat-diameter", "throat_diameter"), 0);
    cr_expect_eq(distance("saturday", "sunday"), (size_t)-1, "3 apart, more than a third of 8");
    cr_expect_eq(distance("xkittenxx", "xsittingxx"), 3, "k to s, e to i, g inserted");
    cr_expect_eq(distance("caxxxxxxx", "abcxxxxxxx"), 3, "a part must not be edited twice");
    cr_expect_eq(distance("burning", "density"), (size_t)-1);
}

Test(suggest, the_nearest_of_several)
{
    static const char *const words[] = {"throat_diameter", "exit_diameter", "half_angle", "thrust_efficiency",
                                        "outer_diameter",  "length",        NULL};
    cr_expect_str_eq(sm_suggest_from("troat_diameter", words), "throat_diameter");
    cr_expect_str_eq(sm_suggest_from("exitdiameter", words), "exit_diameter");
    cr_expect_str_eq(sm_suggest_from("angle", words), "half_angle");
    cr_expect_str_eq(sm_suggest_from("throat", words), "throat_diameter");
    cr_expect_str_eq(sm_suggest_from("lenght", words), "length");
    cr_expect_null(sm_suggest_from("colour", words));
    cr_expect_null(sm_suggest_from("", words));
    cr_expect_null(sm_suggest_from("x", words));
    char long_word[200];
    memset(long_word, 'a', sizeof long_word - 1);
    long_word[sizeof long_word - 1] = '\0';
    cr_expect_null(sm_suggest_from(long_word, words));
}

Test(suggest, text)
{
    char buf[SM_SUGGEST_TEXT];
    cr_expect_str_eq(sm_suggest_text(buf, "length"), "; did you mean 'length'?");
    cr_expect_str_eq(sm_suggest_text(buf, NULL), "");
}
