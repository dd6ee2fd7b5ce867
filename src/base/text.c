#include "base/text.h"

#include <ctype.h>
#include <locale.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* glibc hands out its built-in C locale here without allocating, so asking each time is cheap and needs no
 * state. */
static locale_t enter_c_locale(locale_t *c)
{
    *c = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    return *c ? uselocale(*c) : (locale_t)0;
}

static void leave_c_locale(locale_t c, locale_t before)
{
    if (!c)
        return;
    uselocale(before);
    freelocale(c);
}

int sm_text_vformat(char *buf, size_t size, const char *fmt, va_list args)
{
    locale_t c;
    const locale_t before = enter_c_locale(&c);
    const int n = vsnprintf(buf, size, fmt, args);
    leave_c_locale(c, before);
    return n;
}

int sm_text_format(char *buf, size_t size, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const int n = sm_text_vformat(buf, size, fmt, args);
    va_end(args);
    return n;
}

/* ---- the shortest decimal ---- */

enum {
    SHORT_DIGITS = 15, /* any decimal of so many digits survives the way to a double and back */
    MAX_POWER = 22     /* the largest power of ten that is a double exactly */
};

static const double power_of_ten[MAX_POWER + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                   1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                                   1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

struct double_job {
    char *buf;
    double value; /* [any] */
};

/* The library's way. From 15 digits on: a shorter decimal that reads back to the value is what 15 digits give, their
 * zeros at the end left out. Not so for the few digits of a subnormal. */
static void shortest(void *user)
{
    const struct double_job *job = user;
    for (int digits = fabs(job->value) < 2.3e-308 ? 1 : SHORT_DIGITS; digits <= 17; digits++) {
        snprintf(job->buf, SM_DOUBLE_TEXT, "%.*g", digits, job->value);
        if (digits == 17 || strtod(job->buf, NULL) == job->value)
            return;
    }
}

/* whole * 10^-scale, rounded once, since both are doubles exactly (Clinger, PLDI 1990). */
static double scaled(int64_t whole, int scale)
{
    return scale >= 0 ? (double)whole / power_of_ten[scale] : (double)whole * power_of_ten[-scale];
}

/* Looks for whole and scale with value = whole * 10^-scale and at most 15 digits. Multiplying may be off by a little
 * more than a unit, so the neighbours are tried too. Returned: is there one that both powers of ten reach? */
static bool find_short(double value, int64_t *whole, int *scale)
{
    if (!(value >= 1e-7 && value < 1e22))
        return false;
    int magnitude = (int)floor(log10(value));
    *scale = SHORT_DIGITS - 1 - magnitude;
    if (*scale > MAX_POWER)
        return false;
    const double big = *scale >= 0 ? value * power_of_ten[*scale] : value / power_of_ten[-*scale];
    const int64_t near = llround(big);
    for (int64_t candidate = near - 2; candidate <= near + 2; candidate++)
        if (candidate > 0 && candidate < INT64_C(1000000000000000) && scaled(candidate, *scale) == value) {
            *whole = candidate;
            return true;
        }
    return false;
}

/* As %.15g lays digits out. */
static void lay_out(char *buf, int64_t whole, int scale)
{
    char digits[SHORT_DIGITS + 1];
    int n = 0;
    while (whole % 10 == 0) {
        whole /= 10;
        scale--;
    }
    for (; whole > 0; whole /= 10)
        digits[n++] = (char)('0' + whole % 10); /* last digit first */
    const int exponent = n - 1 - scale;         /* of the first digit */
    if (exponent < -4 || exponent >= SHORT_DIGITS) {
        *buf++ = digits[--n];
        if (n > 0)
            *buf++ = '.';
        while (n > 0)
            *buf++ = digits[--n];
        *buf++ = 'e';
        *buf++ = exponent < 0 ? '-' : '+';
        const int size = abs(exponent);
        *buf++ = (char)('0' + size / 10);
        *buf++ = (char)('0' + size % 10);
    } else {
        for (int place = exponent > 0 ? exponent : 0; place >= 0 || n > 0; place--) {
            if (place == -1)
                *buf++ = '.';
            *buf++ = place > exponent || n == 0 ? '0' : digits[--n];
        }
    }
    *buf = '\0';
}

const char *sm_text_double(char buf[SM_DOUBLE_TEXT], double value)
{
    struct double_job job = {buf, value};
    int64_t whole;
    int scale;
    if (value == 0.0) /* "-0" reads oddly in a table */
        return strcpy(buf, "0");
    if (find_short(fabs(value), &whole, &scale)) {
        buf[0] = '-';
        lay_out(buf + (value < 0.0 ? 1 : 0), whole, scale);
        return buf;
    }
    sm_text_in_c_locale(shortest, &job);
    return buf;
}

const char *sm_text_figure(char buf[SM_DOUBLE_TEXT], double value, int digits)
{
    const double size = fabs(value);
    if (size >= 1000.0 && size < 1e7)
        sm_text_format(buf, SM_DOUBLE_TEXT, "%.0f", value);
    else
        sm_text_format(buf, SM_DOUBLE_TEXT, "%.*g", digits, value + 0.0); /* -0 + 0 is 0 */
    return buf;
}

static size_t digits(const char *text, size_t n, size_t from)
{
    size_t i = from;
    while (i < n && isdigit((unsigned char)text[i]))
        i++;
    return i - from;
}

/* Length of the longest number at text, 0 for none. */
static size_t number_length(const char *text, size_t n)
{
    size_t i = (n > 0 && (text[0] == '-' || text[0] == '+')) ? 1 : 0;
    size_t n_digits = digits(text, n, i);
    i += n_digits;
    if (i < n && text[i] == '.') {
        const size_t fraction = digits(text, n, i + 1);
        n_digits += fraction;
        i += 1 + fraction;
    }
    if (n_digits == 0)
        return 0;
    if (i < n && (text[i] == 'e' || text[i] == 'E')) {
        const size_t sign = i + 1 < n && (text[i + 1] == '-' || text[i + 1] == '+') ? 1 : 0;
        const size_t exponent = digits(text, n, i + 1 + sign);
        if (exponent > 0)
            i += 1 + sign + exponent;
    }
    return i;
}

struct parse_job {
    const char *text;
    double value; /* [any] */
};

static void parse(void *user)
{
    struct parse_job *job = user;
    job->value = strtod(job->text, NULL);
}

size_t sm_text_parse_double(const char *text, size_t n, double *value)
{
    const size_t used = number_length(text, n);
    if (used == 0)
        return 0;
    char small[64];
    char *copy = used < sizeof small ? small : malloc(used + 1);
    if (!copy)
        return 0;
    memcpy(copy, text, used);
    copy[used] = '\0';
    struct parse_job job = {copy, 0.0};
    sm_text_in_c_locale(parse, &job);
    if (copy != small)
        free(copy);
    *value = job.value;
    return used;
}

void sm_text_in_c_locale(void (*work)(void *user), void *user)
{
    locale_t c;
    const locale_t before = enter_c_locale(&c);
    work(user);
    leave_c_locale(c, before);
}

/* Length of the UTF-8 sequence at s (RFC 3629: no overlongs, no surrogates, up to U+10FFFF), 0 if ill-formed.
 */
static size_t utf8_length(const unsigned char *s, size_t n)
{
    if (s[0] < 0x80)
        return s[0] == 0 ? 0 : 1;
    const size_t len = s[0] >= 0xF0 ? 4 : s[0] >= 0xE0 ? 3 : 2;
    if (s[0] < 0xC2 || s[0] > 0xF4 || len > n)
        return 0;
    for (size_t i = 1; i < len; i++)
        if ((s[i] & 0xC0) != 0x80)
            return 0;
    if ((s[0] == 0xE0 && s[1] < 0xA0) || (s[0] == 0xED && s[1] > 0x9F) || (s[0] == 0xF0 && s[1] < 0x90) ||
        (s[0] == 0xF4 && s[1] > 0x8F))
        return 0;
    return len;
}

bool sm_text_is_utf8(const char *text, size_t n, size_t *bad)
{
    for (size_t i = 0; i < n;) {
        const size_t len = utf8_length((const unsigned char *)text + i, n - i);
        if (len == 0) {
            *bad = i;
            return false;
        }
        i += len;
    }
    return true;
}
