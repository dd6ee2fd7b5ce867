/* The quick way to read a number against the C library's strtod, bit for bit. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/fail.h"
#include "doc/number.h"

static unsigned long long bits = 88172645463325252u; /* xorshift, Marsaglia 2003; seed as published */

static unsigned pick(unsigned below)
{
    bits ^= bits << 13, bits ^= bits >> 7, bits ^= bits << 17;
    return (unsigned)(bits % below);
}

static size_t random_number(char *text)
{
    size_t n = 0;
    if (pick(3) == 0)
        text[n++] = "+-"[pick(2)];
    const unsigned before = pick(19), after = before == 0 ? 1 + pick(19) : pick(19);
    for (unsigned i = 0; i < before; i++)
        text[n++] = (char)('0' + pick(10));
    if (after > 0)
        text[n++] = '.';
    for (unsigned i = 0; i < after; i++)
        text[n++] = (char)('0' + pick(10));
    if (pick(2) == 0)
        n += (size_t)sprintf(text + n, "%c%d", "eE"[pick(2)], (int)pick(80) - 40);
    text[n] = '\0';
    return n;
}

Test(number, as_strtod)
{
    for (int i = 0; i < 200000; i++) {
        char text[128];
        const size_t n = random_number(text);
        double value = 0.0;
        cr_assert_eq(sm_number_parse(text, n, '.', &value), n, "%s", text);
        const double expected = strtod(text, NULL);
        cr_assert(memcmp(&value, &expected, sizeof value) == 0, "%s gave %.17g", text, value);
        char *point = strchr(text, '.');
        if (point)
            *point = ',';
        cr_assert_eq(sm_number_parse(text, n, ',', &value), n, "%s", text);
        cr_assert(memcmp(&value, &expected, sizeof value) == 0, "%s gave %.17g", text, value);
    }
}

Test(number, stops_where_the_number_ends)
{
    static const struct {
        const char *text;
        size_t used;
    } cases[] = {
        {"", 0},      {"-", 0},    {"+", 0},   {".", 0},    {"-.", 0},  {"e5", 0},  {"x1", 0},  {" 1", 0},
        {"1", 1},     {"1.", 2},   {".5", 2},  {"1.5x", 3}, {"1e", 1},  {"1e+", 1}, {"1e5", 3}, {"1e5.5", 3},
        {"1.2.3", 3}, {"0x10", 1}, {"1,5", 1}, {"1 2", 1},  {"inf", 0}, {"nan", 0}, {"--1", 0}, {"1-2", 1},
    };
    for (size_t i = 0; i < SM_COUNT(cases); i++) {
        double value = 7.0;
        cr_expect_eq(sm_number_parse(cases[i].text, strlen(cases[i].text), '.', &value), cases[i].used, "%s",
                     cases[i].text);
        if (cases[i].used == 0)
            cr_expect_eq(value, 7.0, "%s", cases[i].text);
    }
}
