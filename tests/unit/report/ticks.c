/* Ticks are 1, 2 or 5 times powers of ten, inside their range, as many as asked; numbers by the SI brochure. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../base/comma_locale.h"
#include "base/fail.h"
#include "report/ticks.h"

/* Uniform in [0, 1), the 64-bit generator of D. Knuth, The Art of Computer Programming vol. 2, 3.3.4, line 26. */
static double draw(unsigned long long *state)
{
    *state = *state * 6364136223846793005ull + 1442695040888963407ull;
    return (double)(*state >> 11) / 9007199254740992.0;
}

static int is_round(double step)
{
    const double mantissa = step / pow(10.0, floor(log10(step) + 1e-9));
    return fabs(mantissa - 1.0) < 1e-9 || fabs(mantissa - 2.0) < 1e-9 || fabs(mantissa - 5.0) < 1e-9;
}

/* The next smaller of 1, 2, 5 times a power of ten: from the definition, by trying all three. */
static double next_smaller(double step)
{
    const double decade = pow(10.0, floor(log10(step) + 1e-9));
    const double mantissa = step / decade;
    return mantissa > 3.0 ? 2.0 * decade : mantissa > 1.5 ? decade : 0.5 * decade;
}

Test(ticks, steps_are_round_and_as_fine_as_allowed)
{
    unsigned long long state = 1;
    for (int i = 0; i < 20000; i++) {
        const double middle = pow(10.0, 12.0 * draw(&state) - 6.0) * (draw(&state) - 0.5);
        const double width = (fabs(middle) + 1e-6) * pow(10.0, 4.0 * draw(&state) - 2.0);
        const int most = 1 + (int)(11.0 * draw(&state));
        const struct sm_range range = {middle - 0.5 * width, middle + 0.5 * width};
        const struct sm_ticks ticks = sm_ticks_make(range, most);
        cr_assert(is_round(ticks.step), "case %d: step %g", i, ticks.step);
        cr_assert_leq(width / ticks.step, most * (1.0 + 1e-6), "case %d", i);
        cr_assert_gt(width / next_smaller(ticks.step), most * (1.0 - 1e-6), "case %d", i);
        const double slack = 1e-6 * ticks.step; /* rounding of the ends */
        for (int k = 0; k < ticks.n; k++) {
            const double value = sm_ticks_value(&ticks, k);
            cr_assert(value >= range.lo - slack && value <= range.hi + slack, "case %d", i);
        }
        cr_assert(sm_ticks_value(&ticks, 0) - ticks.step < range.lo, "case %d: one more fits below", i);
        cr_assert(sm_ticks_value(&ticks, ticks.n - 1) + ticks.step > range.hi, "case %d: one more fits above",
                  i);
    }
}

static void expect(double lo, double hi, int most, const char *const *texts, int n)
{
    const struct sm_ticks ticks = sm_ticks_make((struct sm_range){lo, hi}, most);
    char buf[SM_TICK_TEXT];
    cr_assert_eq(ticks.n, n, "%g to %g: %d ticks", lo, hi, ticks.n);
    for (int i = 0; i < n; i++)
        cr_expect_str_eq(sm_ticks_text(&ticks, i, buf), texts[i]);
}

/* Thin spaces (U+2009) from five digits on, none in four: BIPM, The International System of Units, 9th edition, 2019,
 * 5.4.4. The true minus sign and as many decimals as the step has: common practice, no source. */
Test(ticks, texts)
{
    enter_comma_locale();
    expect(0.0, 1.0, 5, (const char *const[]){"0", "0.2", "0.4", "0.6", "0.8", "1.0"}, 6);
    expect(-0.5, 0.5, 4, (const char *const[]){"\u22120.5", "0", "0.5"}, 3);
    expect(0.0, 14.0, 8, (const char *const[]){"0", "2", "4", "6", "8", "10", "12", "14"}, 8);
    expect(0.0, 10000.0, 2, (const char *const[]){"0", "5000", "10\u2009000"}, 3);
    expect(0.0, 400000.0, 2, (const char *const[]){"0", "200\u2009000", "400\u2009000"}, 3);
    expect(0.0, 6e6, 3, (const char *const[]){"0", "2×10⁶", "4×10⁶", "6×10⁶"}, 4);
    expect(0.0, 1.5e6, 3, (const char *const[]){"0", "0.5×10⁶", "1.0×10⁶", "1.5×10⁶"}, 4);
    expect(0.0, 4e-7, 2, (const char *const[]){"0", "2×10⁻⁷", "4×10⁻⁷"}, 3);
    expect(0.0, 4e12, 2, (const char *const[]){"0", "2×10¹²", "4×10¹²"}, 3);
}

static void replace(char *text, const char *what, const char *by)
{
    for (char *at; (at = strstr(text, what));) {
        char tail[256];
        strcpy(tail, at + strlen(what));
        strcpy(at, by);
        strcat(text, tail);
    }
}

/* What a reader would make of it, with the C library's own reading of numbers. */
static double read_back(const char *label)
{
    static const char *const raised[] = {"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"};
    char text[256];
    strcpy(text, label);
    replace(text, "\u2009", "");
    replace(text, "\u2212", "-");
    replace(text, "×10", "e");
    replace(text, "⁻", "-");
    for (int d = 0; d < 10; d++)
        replace(text, raised[d], (char[]){(char)('0' + d), '\0'});
    char *end;
    const double value = strtod(text, &end);
    cr_assert_eq(*end, '\0', "'%s' is not a number", label);
    return value;
}

Test(ticks, texts_read_back)
{
    unsigned long long state = 2;
    for (int i = 0; i < 5000; i++) {
        const double middle = pow(10.0, 16.0 * draw(&state) - 8.0) * (draw(&state) - 0.5);
        const double width = (fabs(middle) + 1e-9) * pow(10.0, 4.0 * draw(&state) - 2.0);
        const struct sm_ticks ticks = sm_ticks_make((struct sm_range){middle - width, middle + width}, 8);
        for (int k = 0; k < ticks.n; k++) {
            char buf[SM_TICK_TEXT];
            const double value = sm_ticks_value(&ticks, k), read = read_back(sm_ticks_text(&ticks, k, buf));
            /* Round numbers are written whole, so only the rounding of value itself is left. */
            cr_assert_float_eq(read, value, 1e-9 * ticks.step + 1e-14 * fabs(value), "'%s' for %.17g", buf,
                               value);
        }
    }
}

Test(ticks, ranges_hold_the_data)
{
    unsigned long long state = 3;
    for (int i = 0; i < 20000; i++) {
        const double a = pow(10.0, 12.0 * draw(&state) - 6.0) * (draw(&state) - 0.5);
        const double b = i % 5 == 0 ? a : pow(10.0, 12.0 * draw(&state) - 6.0) * (draw(&state) - 0.5);
        const struct sm_range_wish wish = {fmin(a, b), fmax(a, b), i % 2 == 0, i % 3 == 0 ? 0.06 : 0.0, 6};
        const struct sm_range r = sm_ticks_range(&wish);
        const double slack = 1e-6 * (r.hi - r.lo);
        cr_assert(isfinite(r.lo) && isfinite(r.hi) && r.lo < r.hi, "case %d", i);
        cr_assert(r.lo <= wish.lo + slack && r.hi >= wish.hi - slack, "case %d", i);
        if (!wish.off_zero)
            cr_assert(r.lo <= 0.0 && r.hi >= 0.0, "case %d", i);
        /* What never falls below zero gets no axis below zero. */
        if (wish.lo >= 0.0 && !wish.off_zero)
            cr_assert_eq(r.lo, 0.0, "case %d", i);
    }
}

Test(ticks, ranges_of_odd_data)
{
    static const double values[] = {0.0, 5.0, -5.0, 1e-300, 1e300, -1e300, 4e-320};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++)
        for (int off_zero = 0; off_zero < 2; off_zero++) {
            const struct sm_range_wish wish = {values[i], values[i], off_zero, 0.06, 6};
            const struct sm_range r = sm_ticks_range(&wish);
            cr_expect(isfinite(r.lo) && isfinite(r.hi) && r.lo < r.hi, "%g", values[i]);
            const struct sm_ticks ticks = sm_ticks_make(r, 6);
            cr_expect(ticks.n >= 2 && ticks.n <= 7, "%g: %d ticks", values[i], ticks.n);
        }
    const struct sm_range_wish none = {SM_INF, -SM_INF, false, 0.06, 6};
    const struct sm_range r = sm_ticks_range(&none);
    cr_expect(r.lo == 0.0 && r.hi >= 1.0 && r.hi <= 2.0);
}
