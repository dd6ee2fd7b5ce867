#include "doc/number.h"
#include "base/text.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum {
    MAX_DIGITS = 15, /* below 10^15 < 2^53 every whole number is a double */
    MAX_POWER = 22   /* the largest power of ten that is a double exactly */
};

static const double power_of_ten[MAX_POWER + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                   1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                                   1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* A number as written: whole * 10^scale. */
struct decimal {
    uint64_t whole;
    int n_digits; /* significant ones */
    int scale;
};

static size_t take_digits(const char *text, size_t n, size_t from, struct decimal *d)
{
    size_t i = from;
    for (; i < n && text[i] >= '0' && text[i] <= '9'; i++) {
        if (d->n_digits <= MAX_DIGITS)
            d->whole = d->whole * 10 + (uint64_t)(text[i] - '0');
        if (d->whole != 0)
            d->n_digits++;
    }
    return i - from;
}

/* Bytes of an exponent at text[i], 0 if there is none; adds it to the scale. */
static size_t take_exponent(const char *text, size_t n, size_t i, struct decimal *d)
{
    if (i >= n || (text[i] != 'e' && text[i] != 'E'))
        return 0;
    size_t at = i + 1;
    const int negative = at < n && text[at] == '-';
    if (at < n && (text[at] == '-' || text[at] == '+'))
        at++;
    const size_t first = at;
    int value = 0;
    for (; at < n && text[at] >= '0' && text[at] <= '9'; at++)
        if (value < 1000) /* far past any double: the slow way decides */
            value = value * 10 + (text[at] - '0');
    if (at == first)
        return 0;
    d->scale += negative ? -value : value;
    return at - i;
}

/* The library's way, for long or extreme numbers. */
static size_t parse_slowly(const char *text, size_t used, char point, double *value)
{
    if (point == '.')
        return sm_text_parse_double(text, used, value);
    char small[64];
    char *copy = used <= sizeof small ? small : malloc(used);
    if (!copy)
        return 0;
    memcpy(copy, text, used);
    char *sign = memchr(copy, point, used);
    if (sign)
        *sign = '.';
    const size_t done = sm_text_parse_double(copy, used, value);
    if (copy != small)
        free(copy);
    return done;
}

size_t sm_number_parse(const char *text, size_t n, char point, double *value)
{
    struct decimal d = {0};
    size_t i = n > 0 && (text[0] == '-' || text[0] == '+') ? 1 : 0;
    const int negative = i > 0 && text[0] == '-';
    size_t n_digits = take_digits(text, n, i, &d);
    i += n_digits;
    if (i < n && text[i] == point) {
        const size_t fraction = take_digits(text, n, i + 1, &d);
        if (n_digits + fraction > 0)
            i += 1 + fraction;
        n_digits += fraction;
        d.scale = fraction < 1000000 ? -(int)fraction : -1000000;
    }
    if (n_digits == 0)
        return 0;
    i += take_exponent(text, n, i, &d);
    if (d.n_digits > MAX_DIGITS || d.scale > MAX_POWER || d.scale < -MAX_POWER)
        return parse_slowly(text, i, point, value);
    const double whole = (double)d.whole;
    const double size = d.scale < 0 ? whole / power_of_ten[-d.scale] : whole * power_of_ten[d.scale];
    *value = negative ? -size : size;
    return i;
}
