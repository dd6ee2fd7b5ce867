#include "report/ticks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

/* Data nearer to each other than this share of their size are taken as alike: their ticks would need more
 * digits than can be read. Below the second, as zero. */
static const double finest = 1e-9, smallest = 1e-290;
/* Of a step: what rounding may put between a multiple and the end of a range. */
static const double slack = 1e-9;
/* Numbers from 10^6 on, or that would need more than five decimals, are written with a power of ten. */
enum { PLAIN_DIGITS = 6, PLAIN_DECIMALS = 5, GROUP_FROM = 5 };

double sm_ticks_round_up(double x)
{
    const double decade = pow(10.0, floor(log10(x)));
    static const double steps[] = {1.0, 2.0, 5.0, 10.0, 20.0};
    for (size_t i = 0; i < SM_COUNT(steps); i++)
        if (x <= steps[i] * decade * (1.0 + slack))
            return steps[i] * decade;
    return x;
}

static int decade_of(double x)
{
    return x > 0.0 ? (int)floor(log10(x) + slack) : 0;
}

struct sm_ticks sm_ticks_make(struct sm_range range, int most)
{
    struct sm_ticks ticks = {.step = sm_ticks_round_up((range.hi - range.lo) / most)};
    ticks.first = (long long)ceil(range.lo / ticks.step - slack);
    const long long last = (long long)floor(range.hi / ticks.step + slack);
    ticks.n = last < ticks.first ? 0 : (int)(last - ticks.first + 1);
    if (ticks.n > SM_TICKS_MAX)
        ticks.n = SM_TICKS_MAX;

    const int top = decade_of(fmax(fabs(range.lo), fabs(range.hi))), bottom = decade_of(ticks.step);
    if (top >= PLAIN_DIGITS || bottom < -PLAIN_DECIMALS)
        ticks.exponent = top;
    ticks.decimals = bottom < ticks.exponent ? ticks.exponent - bottom : 0;
    return ticks;
}

double sm_ticks_value(const struct sm_ticks *ticks, int i)
{
    return (double)(ticks->first + i) * ticks->step;
}

static void append(char *buf, const char *text)
{
    strncat(buf, text, SM_TICK_TEXT - 1 - strlen(buf));
}

/* Digits and point, without sign, with thin spaces between groups of the whole part. */
static void append_grouped(char *buf, const char *digits)
{
    const size_t whole = strcspn(digits, ".");
    for (size_t i = 0; digits[i]; i++) {
        if (i > 0 && i < whole && whole >= GROUP_FROM && (whole - i) % 3 == 0)
            append(buf, "\u2009");
        append(buf, (char[]){digits[i], '\0'});
    }
}

static void append_power(char *buf, int exponent)
{
    static const char *const raised[] = {"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"};
    char digits[16];
    sm_text_format(digits, sizeof digits, "%d", abs(exponent));
    append(buf, exponent < 0 ? "×10⁻" : "×10");
    for (const char *d = digits; *d; d++)
        append(buf, raised[*d - '0']);
}

const char *sm_ticks_text(const struct sm_ticks *ticks, int i, char buf[SM_TICK_TEXT])
{
    const long long place = ticks->first + i;
    const double shown = fabs((double)place) * (ticks->step / pow(10.0, ticks->exponent));
    char digits[SM_TICK_TEXT];
    sm_text_format(digits, sizeof digits, "%.*f", ticks->decimals, shown);
    buf[0] = '\0';
    if (place == 0) {
        append(buf, "0");
        return buf;
    }
    if (place < 0)
        append(buf, "\u2212");
    append_grouped(buf, digits);
    if (ticks->exponent != 0)
        append_power(buf, ticks->exponent);
    return buf;
}

/* All data at one value: a range about it, or from zero to it. */
static struct sm_range widened(double at, bool off_zero)
{
    if (fabs(at) < smallest)
        return off_zero ? (struct sm_range){-0.5, 0.5} : (struct sm_range){0.0, 1.0};
    return (struct sm_range){at - 0.1 * fabs(at), at + 0.1 * fabs(at)};
}

struct sm_range sm_ticks_range(const struct sm_range_wish *wish)
{
    struct sm_range r = {wish->lo, wish->hi};
    if (r.lo > r.hi)
        r.lo = r.hi = 0.0;
    if (!wish->off_zero) {
        r.lo = fmin(r.lo, 0.0);
        r.hi = fmax(r.hi, 0.0);
    }
    if (r.hi - r.lo <= fmax(finest * fmax(fabs(r.lo), fabs(r.hi)), smallest))
        r = widened(r.hi, wish->off_zero);

    /* Room at the ends, but not across zero; with zero inside, only where the data go further. */
    const double room = wish->headroom * (r.hi - r.lo);
    const bool spans_zero = r.lo < 0.0 && r.hi > 0.0;
    double lo = r.lo, hi = r.hi;
    if (!spans_zero || -lo > hi)
        lo = lo < 0.0 ? lo - room : fmax(0.0, lo - room);
    if (!spans_zero || hi >= -lo)
        hi = hi > 0.0 ? hi + room : fmin(0.0, hi + room);
    const double half_step = sm_ticks_round_up((hi - lo) / wish->most) / 2.0;
    r.lo = floor(lo / half_step + slack) * half_step;
    r.hi = ceil(hi / half_step - slack) * half_step;
    return r;
}
