#include "report/palette.h"

#include <math.h>
#include <stddef.h>

#include "base/fail.h"
#include "report/axes.h"

/* A published 8-bit colour, as 0xRRGGBB. */
#define HEX(rgb)                                                                                             \
    {                                                                                                        \
        ((rgb) >> 16 & 255) / 255.0, ((rgb) >> 8 & 255) / 255.0, ((rgb)&255) / 255.0                         \
    }

const struct sm_colour sm_palette_paper = HEX(0xFFFFFF);
const struct sm_colour sm_palette_text = HEX(0x1A1A1A);
const struct sm_colour sm_palette_muted = HEX(0x555555);
const struct sm_colour sm_palette_axis = HEX(0x333333);
const struct sm_colour sm_palette_grid = HEX(0xE6E6E6);

static const struct sm_colour neutral = HEX(0x6E6E6E);
static const struct sm_colour accents[] = {
    HEX(0x0072B2), /* blue */
    HEX(0xD55E00), /* vermillion */
    HEX(0x009E73), /* bluish green */
    HEX(0xCC79A7), /* reddish purple */
    HEX(0xE69F00), /* orange */
    HEX(0x56B4E9), /* sky blue */
    HEX(0x000000), /* black */
};
_Static_assert(SM_COUNT(accents) == SM_PLOT_ACCENTS, "axes.h states how many accents there are");

struct sm_colour sm_palette_accent(int number)
{
    if (number <= 0)
        return neutral;
    return accents[(number - 1) % SM_PLOT_ACCENTS];
}

struct sm_colour sm_palette_mix(struct sm_colour a, struct sm_colour b, double share)
{
    return (struct sm_colour){b.r + (a.r - b.r) * share, b.g + (a.g - b.g) * share,
                              b.b + (a.b - b.b) * share};
}

/* Relative luminance [1] of WCAG 2.1, with its own rounded threshold 0.03928. */
static double linear(double c)
{
    return c <= 0.03928 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
}

static double luminance(struct sm_colour c)
{
    return 0.2126 * linear(c.r) + 0.7152 * linear(c.g) + 0.0722 * linear(c.b);
}

double sm_palette_contrast(struct sm_colour a, struct sm_colour b)
{
    const double la = luminance(a), lb = luminance(b);
    return (fmax(la, lb) + 0.05) / (fmin(la, lb) + 0.05);
}

struct sm_colour sm_palette_ink_on(int number, struct sm_colour ground)
{
    static const struct sm_colour black = {0.0, 0.0, 0.0};
    struct sm_colour ink = sm_palette_accent(number);
    for (int step = 0; step < 100 && sm_palette_contrast(ink, ground) < 4.5; step++)
        ink = sm_palette_mix(ink, black, 0.95);
    return ink;
}

struct sm_colour sm_palette_ink(int number)
{
    return sm_palette_ink_on(number, sm_palette_paper);
}
