/* A run's thrust against time, drawn small on a terminal. */
#ifndef CLI_DOTCURVE_H
#define CLI_DOTCURVE_H

#include "command.h"

/*
 * Draws on standard output if that is a terminal; else nothing. Dots of Braille patterns, eight a cell; plain characters
 * with --plain, where NO_COLOR is set, on a dumb terminal and where text is not UTF-8.
 */
void cli_draw_curve(const struct cli *cli, const struct sm_series *series);

#endif
