/*
 * The corners of binary64 in every reader of numbers: to the bit, or refused in the reader's own words. The bits follow from
 * the format's definition: IEEE Std 754-2019, section 3.4; those of 1e23 and of the ties from exact integer arithmetic.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "doc/csv.h"
#include "doc/json.h"
#include "doc/number.h"
#include "doc/stl.h"
#include "doc/svg_path.h"
#include "input/read_dave.h"

/* ---- readers: a number's text in, the double or a refusal out ---- */

static enum sm_status by_json(const char *text, double *value, struct sm_error *err)
{
    struct sm_json_doc *doc;
    char whole[2048];
    snprintf(whole, sizeof whole, "[%s]", text);
    SM_TRY(sm_json_parse(whole, strlen(whole), "case", &doc, err));
    *value = sm_json_number(sm_json_first(sm_json_root(doc)));
    sm_json_free(doc);
    return SM_OK;
}

static enum sm_status take_row(void *user, const struct sm_csv_row *row, struct sm_error *err)
{
    return sm_csv_number(row, 1, user) ? SM_OK : sm_fail(err, SM_E_SYNTAX, "no number");
}

static enum sm_status by_csv(const char *text, double *value, struct sm_error *err)
{
    static const struct sm_csv_options options = {.delimiter = ';', .decimal = '.'};
    const struct sm_csv_reader reader = {take_row, value};
    char whole[2048];
    snprintf(whole, sizeof whole, "0;%s;1\n", text);
    return sm_csv_read(whole, strlen(whole), "case", &options, &reader, err);
}

static enum sm_status by_stl(const char *text, double *value, struct sm_error *err)
{
    struct sm_arena arena;
    struct sm_stl stl;
    char path[] = "/tmp/doubles-XXXXXX";
    const int fd = mkstemp(path);
    cr_assert(fd >= 0);
    FILE *file = fdopen(fd, "w");
    fprintf(file,
            "solid s\nfacet normal 0 0 1\nouter loop\nvertex %s 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\n"
            "endfacet\nendsolid s\n",
            text);
    fclose(file);
    sm_arena_init(&arena, NULL);
    const enum sm_status status = sm_stl_read_file(&arena, path, 10, &stl, err);
    if (status == SM_OK)
        *value = stl.corners[0];
    sm_arena_release(&arena);
    unlink(path);
    return status;
}

static enum sm_status by_svg(const char *text, double *value, struct sm_error *err)
{
    struct sm_arena arena;
    struct sm_svg_outline out = {0};
    char path[2048];
    snprintf(path, sizeof path, "M %s,0 L 3,4 L 1,5 Z", text);
    sm_arena_init(&arena, NULL);
    const enum sm_status status = sm_svg_path_read(&arena, path, 0.01, &out, err);
    if (status == SM_OK)
        *value = out.loops[0].points[0].x;
    sm_arena_release(&arena);
    return status;
}

static const struct reader {
    const char *name;
    enum sm_status (*read)(const char *text, double *value, struct sm_error *err);
    int may_be_infinite; /* the caller is told, and judges */
    int is_unsigned;     /* is a zero: a place in the plane is moved by 0, and 0 - 0 is 0 */
} readers[] = {
    {"JSON", by_json, 0, 0},
    {"CSV", by_csv, 1, 0},
    {"STL", by_stl, 0, 0},
    {"SVG path", by_svg, 0, 1},
};

static uint64_t bits_of(double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

static void expect_bits(const char *text, uint64_t bits)
{
    for (size_t i = 0; i < SM_COUNT(readers); i++) {
        double value = SM_NAN;
        struct sm_error err = {0};
        const enum sm_status status = readers[i].read(text, &value, &err);
        cr_expect(status == SM_OK, "%s, %.40s: %s", readers[i].name, text, err.message);
        if (readers[i].is_unsigned && value == 0.0)
            value = copysign(value, bits >> 63 ? -1.0 : 1.0);
        cr_expect(bits_of(value) == bits, "%s, %.40s: %a", readers[i].name, text, value);
    }
}

Test(doubles, corners_are_read_to_the_bit)
{
    static const struct {
        const char *text;
        uint64_t bits;
    } rows[] = {
        {"0", 0},
        {"-0", UINT64_C(0x8000000000000000)},
        {"-0.0e-0", UINT64_C(0x8000000000000000)},
        {"4.9406564584124654e-324", 1},                            /* the least above zero */
        {"2.4703282292062327e-324", 0},                            /* under half of it */
        {"2.4703282292062328e-324", 1},                            /* over half of it */
        {"2.2250738585072009e-308", UINT64_C(0x000FFFFFFFFFFFFF)}, /* the largest subnormal */
        {"2.2250738585072014e-308", UINT64_C(0x0010000000000000)}, /* the least normal */
        {"2.2250738585072012e-308", UINT64_C(0x0010000000000000)}, /* over half way between the two */
        {"1.7976931348623157e308", UINT64_C(0x7FEFFFFFFFFFFFFF)},  /* the largest */
        {"1.7976931348623158e308", UINT64_C(0x7FEFFFFFFFFFFFFF)},  /* under half a step above it */
        {"-1.7976931348623157E+308", UINT64_C(0xFFEFFFFFFFFFFFFF)},
        {"9007199254740993", UINT64_C(0x4340000000000000)}, /* 2^53 + 1: a tie, to even */
        {"9007199254740995", UINT64_C(0x4340000000000002)},
        {"9007199254740993.00000000000000000000000000000000000000000000000000000000000000000000001",
         UINT64_C(0x4340000000000001)}, /* a hair over the tie */
        {"1e23", UINT64_C(0x44B52D02C7E14AF6)},
        {"1e-999", 0},
        {"-1e-999", UINT64_C(0x8000000000000000)},
        {"0e999999999999999999999", 0},
        {"1e-99999999999999999999", 0},
    };
    for (size_t i = 0; i < SM_COUNT(rows); i++)
        expect_bits(rows[i].text, rows[i].bits);
}

/* Many digits and an exponent that takes them back: 1 all the same. */
Test(doubles, long_numbers_are_read_to_the_bit)
{
    char text[1200] = "0.", *at = text + 2;
    for (int i = 0; i < 400; i++)
        *at++ = '0';
    strcpy(at, "1e401");
    expect_bits(text, bits_of(1.0));
    memset(text, '1', 1);
    memset(text + 1, '0', 900);
    strcpy(text + 901, "e-900");
    expect_bits(text, bits_of(1.0));
}

Test(doubles, what_no_double_comes_near_is_refused)
{
    static const char *const texts[] = {"1e999", "-1e999", "1.7976931348623159e308",
                                        "1e99999999999999999999"};
    for (size_t k = 0; k < SM_COUNT(texts); k++)
        for (size_t i = 0; i < SM_COUNT(readers); i++) {
            double value = 0.0;
            struct sm_error err = {0};
            const enum sm_status status = readers[i].read(texts[k], &value, &err);
            cr_expect(readers[i].may_be_infinite ? status == SM_OK && isinf(value) : status == SM_E_RANGE,
                      "%s, %s: %d %s", readers[i].name, texts[k], (int)status, err.message);
        }
}

Test(doubles, only_decimals_are_numbers)
{
    static const char *const texts[] = {"0x10", "0x1p3",    "nan", "NaN", "inf",
                                        "-inf", "Infinity", "1d5", "1_0"};
    for (size_t k = 0; k < SM_COUNT(texts); k++)
        for (size_t i = 0; i < SM_COUNT(readers); i++) {
            double value = 0.0;
            struct sm_error err = {0};
            const enum sm_status status = readers[i].read(texts[k], &value, &err);
            cr_expect(status == SM_E_SYNTAX && err.message[0], "%s, %s: %d", readers[i].name, texts[k],
                      (int)status);
        }
}

/* Corners of a binary STL file, which holds single precision: infinite and NaN have bits of their own there. */
Test(doubles, binary_meshes_hold_finite_corners)
{
    static const uint32_t bits[] = {0x7F800000u, 0xFF800000u, 0x7FC00000u,
                                    0x7F800001u, 0x00000001u, 0x7F7FFFFFu};
    for (size_t k = 0; k < SM_COUNT(bits); k++) {
        unsigned char bytes[84 + 50] = {0};
        char path[] = "/tmp/doubles-XXXXXX";
        struct sm_arena arena;
        struct sm_stl stl;
        bytes[80] = 1;
        for (int i = 0; i < 4; i++)
            bytes[96 + i] = (unsigned char)(bits[k] >> 8 * i);
        const int fd = mkstemp(path);
        cr_assert(fd >= 0 && write(fd, bytes, sizeof bytes) == (ssize_t)sizeof bytes);
        close(fd);
        sm_arena_init(&arena, NULL);
        const enum sm_status status = sm_stl_read_file(&arena, path, 10, &stl, NULL);
        cr_expect_eq(status, k < 4 ? SM_E_RANGE : SM_OK, "%08x", (unsigned)bits[k]);
        if (k == 4 && status == SM_OK)
            cr_expect(stl.corners[0] == 0x1p-149); /* the least of single precision */
        if (k == 5 && status == SM_OK)
            cr_expect(stl.corners[0] == 0x1.fffffep127);
        sm_arena_release(&arena);
        unlink(path);
    }
}

/* A table of DAVE-ML: the values are those of a thrust, so beyond any motor's is refused too. */
Test(doubles, tables_of_xml_hold_finite_numbers)
{
    static const struct {
        const char *text;
        int good;
    } rows[] = {{"5", 1},     {"-0", 1},    {"4.9406564584124654e-324", 1},
                {"1e999", 0}, {"1e300", 0}, {"0x10", 0},
                {"nan", 0},   {"inf", 0},   {"1e", 0}};
    struct sm_units *units;
    cr_assert_eq(sm_units_open(&units, NULL), SM_OK);
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        char text[700];
        struct sm_arena arena;
        struct sm_curve curve;
        struct sm_error err = {0};
        snprintf(
            text, sizeof text,
            "<DAVEfunc><variableDef name=\"t\" varID=\"t\" units=\"s\"/><variableDef name=\"F\" varID=\"F\" "
            "units=\"N\"/><function name=\"f\"><independentVarPts varID=\"t\">0 1 2</independentVarPts>"
            "<dependentVarPts varID=\"F\">1 %s 1</dependentVarPts></function></DAVEfunc>",
            rows[i].text);
        sm_arena_init(&arena, NULL);
        const enum sm_status status =
            sm_read_dave(&arena, units, text, strlen(text), "case", NULL, &curve, NULL, &err);
        cr_expect((status == SM_OK) == rows[i].good, "%s: %d %s", rows[i].text, (int)status, err.message);
        cr_expect(status != SM_OK || curve.thrust[1] == strtod(rows[i].text, NULL), "%s", rows[i].text);
        sm_arena_release(&arena);
    }
    sm_units_free(units);
}
