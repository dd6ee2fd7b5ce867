#include "base/text.h"

#include <ctype.h>
#include <locale.h>
#include <math.h>
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

struct double_job {
    char *buf;
    double value; /* [any] */
};

static void shortest(void *user)
{
    const struct double_job *job = user;
    for (int digits = 1; digits <= 17; digits++) {
        snprintf(job->buf, SM_DOUBLE_TEXT, "%.*g", digits, job->value);
        if (strtod(job->buf, NULL) == job->value)
            return;
    }
}

const char *sm_text_double(char buf[SM_DOUBLE_TEXT], double value)
{
    struct double_job job = {buf, value};
    if (value == 0.0) /* "-0" reads oddly in a table */
        return strcpy(buf, "0");
    sm_text_in_c_locale(shortest, &job);
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
