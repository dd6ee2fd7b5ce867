#include "base/fail.h"

#include <criterion/criterion.h>
#include <string.h>

Test(error, travels_up_and_gathers_its_pointer)
{
    struct sm_error err = {0};
    enum sm_status status = sm_fail(&err, SM_E_UNIT, "unknown unit '%s'", "furlong");
    status = sm_at(&err, status, "/%s", "bore_diameter");
    status = sm_at(&err, status, "/grains/%d", 0);
    cr_expect(status == SM_E_UNIT && err.status == SM_E_UNIT);
    cr_expect_str_eq(err.at.path, "/grains/0/bore_diameter");
    cr_expect_str_eq(err.message, "unknown unit 'furlong'");
}

Test(error, a_pointer_too_long_is_cut_visibly_in_the_middle)
{
    struct sm_error err = {0};
    char piece[200];
    memset(piece, 'a', sizeof piece - 1);
    piece[sizeof piece - 1] = '\0';
    sm_fail(&err, SM_E_FIELD, "x");
    sm_at(&err, SM_E_FIELD, "/%s/last", piece);
    sm_at(&err, SM_E_FIELD, "/first/%s", piece);
    cr_expect(strlen(err.at.path) < sizeof err.at.path);
    cr_expect(strncmp(err.at.path, "/first/", 7) == 0, "%s", err.at.path);
    cr_expect(strstr(err.at.path, "...") != NULL);
    cr_expect(strcmp(err.at.path + strlen(err.at.path) - 5, "/last") == 0, "%s", err.at.path);
}

Test(error, nobody_need_want_it)
{
    cr_expect(sm_fail(NULL, SM_E_RANGE, "x") == SM_E_RANGE);
    cr_expect(sm_at(NULL, SM_E_RANGE, "/x") == SM_E_RANGE);
    cr_expect(sm_while(NULL, SM_E_RANGE, "x") == SM_E_RANGE);
}

Test(error, a_phrase_goes_before_the_message)
{
    struct sm_error err = {0};
    sm_fail(&err, SM_E_RANGE, "too large");
    sm_while(&err, SM_E_RANGE, "reading row %d", 7);
    cr_expect_str_eq(err.message, "reading row 7: too large");
}

Test(error, every_status_has_its_text)
{
    for (int i = 0; i < SM_STATUS_COUNT; i++)
        cr_expect(sm_status_text((enum sm_status)i)[0] != '\0');
    cr_expect_str_eq(sm_status_text((enum sm_status)999), "unknown status");
}

Test(error, a_list_keeps_the_first_twenty_and_counts_them_all)
{
    struct sm_diag diag = {0};
    struct sm_error err = {0};
    for (int i = 0; i < 30; i++) {
        sm_fail(&err, SM_E_RANGE, "%d", i);
        sm_diag_add(&diag, &err);
    }
    cr_expect(diag.n == SM_DIAG_MAX && diag.n_found == 30);
    cr_expect_str_eq(diag.items[19].message, "19");
    sm_diag_release(&diag);
    cr_expect(diag.items == NULL && diag.n == 0);
    sm_diag_release(&diag);
}
