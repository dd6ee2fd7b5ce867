/*
 * Impulse classes double from 1/8A, up to 0.3125 N s, each with its upper limit included.
 * Reference: National Association of Rocketry, Standard Motor Codes.
 */
#include "curve/impulse.h"

#include <math.h>

#include "base/text.h"

#define FIRST_LIMIT 0.3125 /* of 1/8A [N s] */
#define WHISKER     1e-12  /* of rounding that does not lift a motor over a limit [1] */

enum { N_FRACTIONS = 3, N_LETTERS = 26 };

/* A to Z, then AA, AB, ... as the columns of a spreadsheet. */
static void letters_of(unsigned place, char out[8])
{
    char reversed[8];
    size_t n = 0;
    for (unsigned rest = place + 1; rest > 0 && n < sizeof reversed - 1; rest = (rest - 1) / N_LETTERS)
        reversed[n++] = (char)('A' + (rest - 1) % N_LETTERS);
    for (size_t i = 0; i < n; i++)
        out[i] = reversed[n - 1 - i];
    out[n] = '\0';
}

void sm_impulse_class_of(double total_impulse, struct sm_impulse_class *out)
{
    static const char *const fractions[N_FRACTIONS] = {"1/8A", "1/4A", "1/2A"};
    *out = (struct sm_impulse_class){0};
    if (!(total_impulse > 0.0 && isfinite(total_impulse)))
        return;
    unsigned place = 0;
    double limit = FIRST_LIMIT;
    while (total_impulse > limit * (1.0 + WHISKER)) {
        limit *= 2.0;
        place++;
    }
    if (place < N_FRACTIONS)
        sm_text_format(out->letter, sizeof out->letter, "%s", fractions[place]);
    else
        letters_of(place - N_FRACTIONS, out->letter);
    out->above = place > 0 ? 0.5 * limit : 0.0;
    out->to = limit;
    out->margin = fmax(0.0, limit - total_impulse);
}

void sm_impulse_designation(const struct sm_impulse_class *c, double average_thrust, double delay, char *buf,
                            size_t size)
{
    const double newtons = fmax(1.0, round(average_thrust));
    if (isnan(delay))
        sm_text_format(buf, size, "%s%.0f", c->letter, newtons);
    else if (delay < 0.0)
        sm_text_format(buf, size, "%s%.0f-P", c->letter, newtons);
    else
        sm_text_format(buf, size, "%s%.0f-%.4g", c->letter, newtons, delay);
}

int sm_specific_impulse_is_odd(double seconds)
{
    const double least = 50.0, most = 330.0; /* [s] */
    return seconds < least || seconds > most;
}
