/*
 * Colours of plots and drawings.
 *
 * The accents are those of Okabe and Ito, told apart with and without colour vision deficiency; their yellow
 * is left out as too faint on white, and their black is the ink of the text.
 *
 * Reference: M. Okabe, K. Ito, Color Universal Design: how to make figures and presentations that are
 * friendly to colorblind people, 2002, rev. 2008, jfly.uni-koeln.de/color (figure 16).
 */
#ifndef SM_REPORT_PALETTE_H
#define SM_REPORT_PALETTE_H

/* Red, green and blue of sRGB, 0 to 1 [1]. */
struct sm_colour {
    double r, g, b; /* [1] */
};

/* Number 1, 2, ... up to SM_PLOT_ACCENTS, then again from the first; 0 is the neutral grey. */
struct sm_colour sm_palette_accent(int number);

/* The same, darkened where needed so that small text in it reads on white: contrast at least 4.5 to 1, as W3C
 * WCAG 2.1 success criterion 1.4.3 asks. */
struct sm_colour sm_palette_ink(int number);
/* The same on a light ground that is tinted: near black at most, where even that has less contrast. */
struct sm_colour sm_palette_ink_on(int number, struct sm_colour ground);

/* Contrast of two colours [1], 1 to 21, by WCAG 2.1's definition. */
double sm_palette_contrast(struct sm_colour a, struct sm_colour b);

/* share of a and 1 - share of b, share [1] from 0 to 1. */
struct sm_colour sm_palette_mix(struct sm_colour a, struct sm_colour b, double share);

extern const struct sm_colour sm_palette_paper; /* the ground */
extern const struct sm_colour sm_palette_text;  /* near black */
extern const struct sm_colour sm_palette_muted; /* second-rank text, 7 to 1 on the ground */
extern const struct sm_colour sm_palette_axis;  /* axis lines */
extern const struct sm_colour sm_palette_grid;  /* grid lines, hardly there */

#endif
