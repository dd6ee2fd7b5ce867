/* JSON pointers (RFC 6901), their dotted form, and the way to a number in a block. */
#include <criterion/criterion.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/pointer.h"

static void expect_pointer(const char *text, const char *expected)
{
    char out[SM_POINTER_MAX];
    struct sm_error err = {0};
    cr_expect_eq(sm_pointer_from_text(text, out, &err), SM_OK, "%s: %s", text, err.message);
    cr_expect_str_eq(out, expected);
}

Test(pointer, dotted_and_pointer_forms)
{
    expect_pointer("", "");
    expect_pointer("/", "/");
    expect_pointer("/a~1b/m~0n/", "/a~1b/m~0n/");
    expect_pointer("nozzle.throat_diameter", "/nozzle/throat_diameter");
    expect_pointer("grains.0.length", "/grains/0/length");
    expect_pointer("a", "/a");
    expect_pointer("a/b.m~n", "/a~1b/m~0n");
    static const char *const bad[] = {".", ".a", "a.", "a..b", "/~", "/a~2", "/~~0"};
    char out[SM_POINTER_MAX];
    for (size_t i = 0; i < SM_COUNT(bad); i++)
        cr_expect_eq(sm_pointer_from_text(bad[i], out, NULL), SM_E_SYNTAX, "%s", bad[i]);
    char long_text[SM_POINTER_MAX + 1];
    memset(long_text, 'a', sizeof long_text - 1);
    long_text[SM_POINTER_MAX] = '\0';
    cr_expect_eq(sm_pointer_from_text(long_text, out, NULL), SM_E_SYNTAX);
    long_text[0] = '/';
    cr_expect_eq(sm_pointer_from_text(long_text, out, NULL), SM_E_SYNTAX);
    long_text[SM_POINTER_MAX - 1] = '\0';
    cr_expect_eq(sm_pointer_from_text(long_text, out, NULL), SM_OK);
    memset(long_text, '~', sizeof long_text - 1);
    cr_expect_eq(sm_pointer_from_text(long_text, out, NULL), SM_E_SYNTAX);
}

/* RFC 6901 section 4: ~1 is decoded before ~0, so "~01" is the key "~1". */
Test(pointer, tokens)
{
    char token[SM_TOKEN_MAX] = "untouched";
    cr_expect_null(sm_pointer_token("", token));
    cr_expect_null(sm_pointer_token("a", token));
    cr_expect_null(sm_pointer_token("/~x", token));
    cr_expect_null(sm_pointer_token("/~", token));
    cr_expect_str_eq(token, "untouched");
    const char *rest = sm_pointer_token("/~01/a~1b", token);
    cr_expect_str_eq(token, "~1");
    rest = sm_pointer_token(rest, token);
    cr_expect_str_eq(token, "a/b");
    cr_expect_str_eq(rest, "");
    char escaped[16];
    cr_expect_str_eq(sm_pointer_escape("a/b~c", escaped, sizeof escaped), "a~1b~0c");
    cr_expect_str_eq(sm_pointer_escape("////////////", escaped, 6), "~1~1");
}

Test(pointer, indices)
{
    static const char *const bad[] = {"", "-", "01", "00", "+1", "-1", "1.", "1e1", "a", " 1", "9999999999"};
    size_t index = 7;
    for (size_t i = 0; i < SM_COUNT(bad); i++)
        cr_expect_not(sm_pointer_index(bad[i], &index), "%s", bad[i]);
    cr_expect_eq(index, 7);
    cr_expect(sm_pointer_index("0", &index) && index == 0);
    cr_expect(sm_pointer_index("120", &index) && index == 120);
}

struct hole {
    double x; /* [m] */
    int sides;
};

struct plate {
    double width; /* [m] */
    bool drilled;
    struct sm_list holes;
    struct hole slot;
};

static const struct sm_param hole_rows[] = {
    {.name = "x",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct hole, x),
     .min = -1,
     .max = 1},
    {.name = "sides",
     .kind = SM_WHOLE,
     .offset = offsetof(struct hole, sides),
     .min = 3,
     .max = (double)INFINITY},
};
static const struct sm_param rows[] = {
    {.name = "width", .kind = SM_QUANTITY, .dim = SM_DIM_LENGTH, .offset = offsetof(struct plate, width)},
    {.name = "drilled", .kind = SM_FLAG, .offset = offsetof(struct plate, drilled)},
    {.name = "holes",
     .kind = SM_LIST,
     .offset = offsetof(struct plate, holes),
     .rows = hole_rows,
     .n_rows = 2,
     .row_size = sizeof(struct hole)},
    {.name = "slot",
     .kind = SM_RECORD,
     .offset = offsetof(struct plate, slot),
     .rows = hole_rows,
     .n_rows = 2},
};

Test(pointer, numbers_in_a_block)
{
    struct hole holes[] = {{0.1, 4}, {0.2, 5}};
    struct plate plate = {.width = 2.0, .holes = {holes, 2}, .slot = {.x = SM_ABSENT, .sides = 6}};
    struct sm_pointer_target target;
    cr_assert_eq(sm_pointer_find(rows, 4, &plate, "/holes/1/x", &target, NULL), SM_OK);
    cr_expect_eq(sm_pointer_get(&target), 0.2);
    cr_expect_eq(target.row, &hole_rows[0]);
    cr_expect_eq(sm_pointer_set(&target, 0.3, NULL), SM_OK);
    cr_expect_eq(holes[1].x, 0.3);
    struct sm_error err;
    cr_expect_eq(sm_pointer_set(&target, 1.5, &err), SM_E_RANGE);
    cr_expect_str_eq(err.message, "x is 1.5 m; it must be from -1 m to 1 m");
    cr_expect_eq(sm_pointer_set(&target, SM_NAN, &err), SM_E_RANGE);
    cr_expect_eq(holes[1].x, 0.3);

    cr_assert_eq(sm_pointer_find(rows, 4, &plate, "/slot/sides", &target, NULL), SM_OK);
    cr_expect_eq(sm_pointer_get(&target), 6.0);
    cr_expect_eq(sm_pointer_set(&target, 8.0, NULL), SM_OK);
    cr_expect_eq(sm_pointer_set(&target, 7.5, &err), SM_E_RANGE);
    cr_expect_eq(sm_pointer_set(&target, 1e10, &err), SM_E_RANGE);
    cr_expect_eq(sm_pointer_set(&target, 2.0, &err), SM_E_RANGE);
    cr_expect_str_eq(err.message, "sides is 2; it must be at least 3");
    cr_expect_eq(plate.slot.sides, 8);

    cr_assert_eq(sm_pointer_find(rows, 4, &plate, "/slot/x", &target, NULL), SM_OK);
    cr_expect(isnan(sm_pointer_get(&target)));
    cr_assert_eq(sm_pointer_find(rows, 4, &plate, "/width", &target, NULL), SM_OK);
    cr_expect_eq(sm_pointer_set(&target, 1e9, NULL), SM_OK, "bounds of 0 and 0 are none");
}

Test(pointer, what_is_no_number_in_a_block)
{
    struct hole holes[] = {{0.1, 4}};
    struct plate plate = {.holes = {holes, 1}};
    static const struct {
        const char *pointer;
        enum sm_status status;
        const char *in_message;
    } cases[] = {
        {"", SM_E_FIELD, "no single value"},      {"/holes", SM_E_FIELD, "/holes/0"},
        {"/holes/0", SM_E_FIELD, "no single"},    {"/holes/1/x", SM_E_RANGE, "1 entries"},
        {"/holes/-/x", SM_E_FIELD, "is a list"},  {"/holes/0/y", SM_E_FIELD, "no value 'y'"},
        {"/slot", SM_E_FIELD, "no single value"}, {"/slot/side", SM_E_FIELD, "did you mean 'sides'?"},
        {"/drilled", SM_E_FIELD, "not a number"}, {"/width/0", SM_E_FIELD, "single value"},
        {"/widht", SM_E_FIELD, "'width'"},        {"width", SM_E_FIELD, "no single value"},
    };
    for (size_t i = 0; i < SM_COUNT(cases); i++) {
        struct sm_pointer_target target;
        struct sm_error err = {0};
        cr_expect_eq(sm_pointer_find(rows, 4, &plate, cases[i].pointer, &target, &err), cases[i].status, "%s",
                     cases[i].pointer);
        cr_expect(strstr(err.message, cases[i].in_message), "%s: %s", cases[i].pointer, err.message);
    }
}

Test(pointer, values_out_of_bounds_are_told_with_the_bound_that_there_is)
{
    const struct sm_param
        above = {.name = "a", .kind = SM_QUANTITY, .dim = SM_DIM_LENGTH, .min = 1.0, .max = SM_INF},
        below = {.name = "b", .kind = SM_QUANTITY, .dim = SM_DIM_LENGTH, .min = -SM_INF, .max = 2.0};
    struct sm_error err = {0};
    cr_expect_eq(sm_param_in_bounds(&above, 0.5, &err), SM_E_RANGE);
    cr_expect_str_eq(err.message, "a is 500 mm; it must be at least 1 m");
    cr_expect_eq(sm_param_in_bounds(&below, 3.0, &err), SM_E_RANGE);
    cr_expect_str_eq(err.message, "b is 3 m; it must be at most 2 m");
    cr_expect_eq(sm_param_in_bounds(&below, -1e9, &err), SM_OK);
}
