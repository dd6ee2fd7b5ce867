/* Colours against their published values, and contrast against the definition's own corner cases. */
#include <criterion/criterion.h>
#include <math.h>

#include "report/axes.h"
#include "report/palette.h"

/* M. Okabe, K. Ito, Color Universal Design, 2008, figure 16: RGB 0 to 255. */
Test(palette, accents_as_published)
{
    static const int published[][3] = {{0, 114, 178}, {213, 94, 0},   {0, 158, 115}, {204, 121, 167},
                                       {230, 159, 0}, {86, 180, 233}, {0, 0, 0}};
    for (int i = 0; i < SM_PLOT_ACCENTS; i++) {
        const struct sm_colour c = sm_palette_accent(i + 1);
        cr_expect_eq(lrint(c.r * 255.0), published[i][0]);
        cr_expect_eq(lrint(c.g * 255.0), published[i][1]);
        cr_expect_eq(lrint(c.b * 255.0), published[i][2]);
    }
    const struct sm_colour again = sm_palette_accent(SM_PLOT_ACCENTS + 1), first = sm_palette_accent(1);
    cr_expect(again.r == first.r && again.g == first.g && again.b == first.b);
}

/* W3C WCAG 2.1: black on white is 21 to 1, a colour on itself 1 to 1. Grey #767676 on white is 4.54 to 1, the lightest
 * grey that passes 4.5, as is often told (from memory); #777777 is 4.48. */
Test(palette, contrast)
{
    static const struct sm_colour white = {1.0, 1.0, 1.0}, black = {0.0, 0.0, 0.0};
    const double a = 118.0 / 255.0, b = 119.0 / 255.0;
    cr_expect_float_eq(sm_palette_contrast(black, white), 21.0, 1e-12);
    cr_expect_float_eq(sm_palette_contrast(white, black), 21.0, 1e-12);
    cr_expect_float_eq(sm_palette_contrast(white, white), 1.0, 1e-12);
    cr_expect_float_eq(sm_palette_contrast((struct sm_colour){a, a, a}, white), 4.54, 0.005);
    cr_expect_float_eq(sm_palette_contrast((struct sm_colour){b, b, b}, white), 4.48, 0.005);
}

/* Small text: 4.5 to 1; the body of the text, by the stricter criterion 1.4.6, 7 to 1. Lines and what tells curves
 * apart: 3 to 1 (criterion 1.4.11), which orange and sky blue, made for larger areas, do not reach. */
Test(palette, text_reads_on_white)
{
    for (int i = 0; i <= SM_PLOT_ACCENTS; i++)
        cr_expect_geq(sm_palette_contrast(sm_palette_ink(i), sm_palette_paper), 4.5);
    cr_expect_geq(sm_palette_contrast(sm_palette_text, sm_palette_paper), 7.0);
    cr_expect_geq(sm_palette_contrast(sm_palette_muted, sm_palette_paper), 7.0);
    cr_expect_geq(sm_palette_contrast(sm_palette_axis, sm_palette_paper), 7.0);
    for (int i = 1; i <= 4; i++)
        cr_expect_geq(sm_palette_contrast(sm_palette_accent(i), sm_palette_paper), 3.0);
}

/* A band's name in the band's own tint, of 22 % as bands are drawn. */
Test(palette, text_reads_on_tints)
{
    for (int i = 0; i <= SM_PLOT_ACCENTS; i++) {
        const struct sm_colour tint = sm_palette_mix(sm_palette_accent(i), sm_palette_paper, 0.22);
        cr_expect_geq(sm_palette_contrast(sm_palette_ink_on(i, tint), tint), 4.5);
    }
}
