/* Numbers and text: RFC 3629 for UTF-8; the shortest decimals of a few doubles from memory of the literature on printing
 * floating-point numbers (Steele and White 1990). */
#include "base/text.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

Test(text, doubles_come_out_shortest_and_read_back)
{
    static const struct {
        double value;
        const char *text;
    } rows[] = {{0.1, "0.1"},
                {1.0 / 3.0, "0.3333333333333333"},
                {1e23, "1e+23"},
                {5e-324, "5e-324"},
                {-0.0, "0"},
                {101325.0, "101325"},
                {9.80665, "9.80665"},
                {2.0, "2"},
                {10.0, "10"},
                {-5e5, "-500000"},
                {1e14, "100000000000000"},
                {1e15, "1e+15"},
                {0.00012, "0.00012"},
                {-0.00001, "-1e-05"}};
    char buf[SM_DOUBLE_TEXT];
    for (size_t i = 0; i < SM_COUNT(rows); i++)
        cr_expect_str_eq(sm_text_double(buf, rows[i].value), rows[i].text);
    srand(7);
    for (int i = 0; i < 20000; i++) {
        const double value = ldexp((double)rand() + (double)rand() / RAND_MAX, rand() % 200 - 100);
        cr_assert(strtod(sm_text_double(buf, value), NULL) == value);
    }
}

Test(text, figures_have_no_exponent_where_they_need_none)
{
    static const struct {
        double value;
        const char *text;
    } rows[] = {{17442.4, "17442"}, {23517.6, "23518"}, {999.94, "999.9"}, {1234567.0, "1234567"},
                {1e7, "1e+07"},     {-1234.5, "-1234"}, {-0.0, "0"},       {0.012345, "0.01235"}};
    char buf[SM_DOUBLE_TEXT];
    for (size_t i = 0; i < SM_COUNT(rows); i++)
        cr_expect_str_eq(sm_text_figure(buf, rows[i].value, 4), rows[i].text);
}

/* No decimal of fewer digits reads back: tried one by one with the C library. */
Test(text, no_shorter_decimal_would_do)
{
    char buf[SM_DOUBLE_TEXT], other[SM_DOUBLE_TEXT];
    srand(11);
    for (int i = 0; i < 20000; i++) {
        const double plain = (double)(rand() % 1000000) / (double)(1 + rand() % 4096);
        const double value =
            i % 2 ? plain : ldexp((double)rand() + (double)rand() / RAND_MAX, rand() % 2000 - 1050);
        int n = 1;
        while (n < 17 && (snprintf(other, sizeof other, "%.*g", n, value), strtod(other, NULL) != value))
            n++;
        int digits = 0;
        for (const char *c = sm_text_double(buf, value); *c != '\0' && *c != 'e'; c++)
            digits += *c >= '0' && *c <= '9' && (digits > 0 || *c != '0');
        for (const char *end = buf + strcspn(buf, "e"); !strchr(buf, '.') && digits > n && *--end == '0';)
            digits--; /* zeros that only fill places */
        cr_assert(value == 0.0 || digits == n, "%s has %d digits where %d would do", buf, digits, n);
    }
}

Test(text, plain_decimals_only_are_numbers)
{
    static const struct {
        const char *text;
        size_t used;
        double value;
    } rows[] = {{"2.5 mm", 3, 2.5}, {"-1e3x", 4, -1000.0}, {".5", 2, 0.5}, {"5.", 2, 5.0}, {"+7", 2, 7.0},
                {"1e", 1, 1.0},     {"0x10", 1, 0.0},      {"inf", 0, 0},  {"nan", 0, 0},  {"-", 0, 0},
                {"", 0, 0},         {".", 0, 0},           {"1,5", 1, 1.0}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        double value = 0.0;
        cr_expect(sm_text_parse_double(rows[i].text, strlen(rows[i].text), &value) == rows[i].used, "%s",
                  rows[i].text);
        cr_expect(value == rows[i].value, "%s gave %g", rows[i].text, value);
    }
    double huge;
    cr_expect(sm_text_parse_double("1e999", 5, &huge) == 5);
    cr_expect(isinf(huge));
}

Test(text, utf8_is_judged_as_rfc_3629_says)
{
    static const struct {
        const char *text;
        int good;
    } rows[] = {{"plain", 1},    {"\xC2\xB5m", 1},    {"\xE2\x82\xAC", 1},     {"\xF4\x8F\xBF\xBF", 1},
                {"\xC0\x80", 0}, {"\xED\xA0\x80", 0}, {"\xF4\x90\x80\x80", 0}, {"\xE2\x82", 0},
                {"\xFF", 0},     {"a\x80", 0},        {"\xE0\x80\x80", 0},     {"\xF0\x80\x80\x80", 0}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        size_t bad = 99;
        cr_expect(sm_text_is_utf8(rows[i].text, strlen(rows[i].text), &bad) == (rows[i].good != 0), "row %zu",
                  i);
    }
    size_t bad = 99;
    cr_expect(!sm_text_is_utf8("a\0b", 3, &bad));
    cr_expect(bad == 1);
}
