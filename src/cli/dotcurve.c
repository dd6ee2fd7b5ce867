#include "dotcurve.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "terminal.h"

/* Cells are two dots wide and four high, as Braille patterns are (Unicode, U+2800 to U+28FF). */
enum {
    CELLS = 60,
    ROWS = 8,
    ACROSS = 2,
    DOWN = 4,
    WIDTH = CELLS * ACROSS,
    HEIGHT = ROWS * DOWN,
    MARGIN = 12
};

/* ---- dots ---- */

struct dots {
    bool at[HEIGHT][WIDTH]; /* row 0 on top */
};

/* Lowest and highest thrust between times a and b, straight between rows of the series. */
static void reach(const struct sm_series *s, double a, double b, double *low, double *high)
{
    const double first = sm_curve_at(s->time, s->thrust, s->n, a),
                 last = sm_curve_at(s->time, s->thrust, s->n, b);
    *low = fmin(first, last);
    *high = fmax(first, last);
    for (size_t i = 0; i < s->n && s->time[i] <= b; i++)
        if (s->time[i] >= a) {
            *low = fmin(*low, s->thrust[i]);
            *high = fmax(*high, s->thrust[i]);
        }
}

/* Row of a thrust, 0 on top; below nothing counts as nothing. */
static int row_of(double thrust, double top)
{
    const double share = fmin(1.0, fmax(0.0, thrust / top));
    return (int)lround((1.0 - share) * (HEIGHT - 1));
}

static void put_dots(const struct sm_series *s, double top, struct dots *dots)
{
    const double end = s->time[s->n - 1];
    memset(dots, 0, sizeof *dots);
    for (int x = 0; x < WIDTH; x++) {
        double low, high;
        reach(s, end * x / WIDTH, end * (x + 1) / WIDTH, &low, &high);
        for (int y = row_of(high, top); y <= row_of(low, top); y++)
            dots->at[y][x] = true;
    }
}

/* ---- cells ---- */

/* U+2800 and a bit for each dot, in the order in which Unicode numbers them. */
static void print_braille(const struct dots *dots, int row, int cell)
{
    static const unsigned bits[DOWN][ACROSS] = {{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}};
    unsigned code = 0;
    for (int y = 0; y < DOWN; y++)
        for (int x = 0; x < ACROSS; x++)
            if (dots->at[row * DOWN + y][cell * ACROSS + x])
                code |= bits[y][x];
    if (code == 0)
        putchar(' ');
    else
        printf("\xE2%c%c", (int)(0xA0 + (code >> 6)), (int)(0x80 + (code & 0x3F)));
}

/* The character that comes nearest to the dots of a cell. */
static char plain_of(const struct dots *dots, int row, int cell)
{
    int top = DOWN, bottom = -1;
    for (int y = 0; y < DOWN; y++)
        if (dots->at[row * DOWN + y][cell * ACROSS] || dots->at[row * DOWN + y][cell * ACROSS + 1]) {
            top = y < top ? y : top;
            bottom = y;
        }
    if (bottom < 0)
        return ' ';
    if (bottom - top >= 2)
        return '|';
    return bottom <= 1 ? '\'' : top >= 2 ? '.' : '-';
}

/* ---- the picture ---- */

static bool has_utf8(void)
{
    static const char *const names[] = {"LC_ALL", "LC_CTYPE", "LANG"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const char *value = getenv(names[i]);
        if (value && value[0]) /* the first that is set decides, POSIX says */
            return strstr(value, "UTF-8") || strstr(value, "utf8") || strstr(value, "utf-8");
    }
    return false;
}

static bool is_plain(const struct cli *cli)
{
    const char *no_color = getenv("NO_COLOR"), *term = getenv("TERM");
    return cli_flag(cli, "plain") || (no_color && no_color[0]) || (term && strcmp(term, "dumb") == 0) ||
           !has_utf8();
}

static void print_row(const struct dots *dots, int row, const char *label, bool plain)
{
    /* #0087af: 4 to 1 and more on white and on black alike. */
    static const char blue[] = "\033[38;5;31m", usual[] = "\033[0m";
    printf("  %*s %s", MARGIN - 2, label, plain ? "|" : "\xE2\x94\x82"); /* U+2502 */
    if (!plain)
        fputs(blue, stdout);
    for (int cell = 0; cell < CELLS; cell++)
        if (plain)
            putchar(plain_of(dots, row, cell));
        else
            print_braille(dots, row, cell);
    puts(plain ? "" : usual);
}

static void print_time_axis(double end, enum sm_unit_system system, bool plain)
{
    char middle[CLI_NUMBER], last[CLI_NUMBER];
    cli_measure(middle, 0.5 * end, SM_DIM_TIME, system);
    cli_measure(last, end, SM_DIM_TIME, system);
    printf("  %*s %s", MARGIN - 2, "0", plain ? "+" : "\xE2\x94\x94"); /* U+2514 */
    for (int cell = 0; cell < CELLS; cell++)
        fputs(plain ? "-" : "\xE2\x94\x80", stdout); /* U+2500 */
    const int half = CELLS / 2 + (int)strlen(middle) / 2;
    printf("\n  %*s 0%*s%*s\n", MARGIN - 2, "", half, middle, CELLS - half, last);
}

void cli_draw_curve(const struct cli *cli, const struct sm_series *series)
{
    double top = 0.0; /* [N] */
    char label[CLI_NUMBER];
    struct dots dots;
    if (!isatty(STDOUT_FILENO) || series->n < 2 || !(series->time[series->n - 1] > 0.0))
        return;
    for (size_t i = 0; i < series->n; i++)
        top = fmax(top, series->thrust[i]);
    if (!(top > 0.0))
        return;
    const bool plain = is_plain(cli);
    put_dots(series, top, &dots);
    cli_measure(label, top, SM_DIM_FORCE, cli->system);
    puts("\n  thrust against time");
    for (int row = 0; row < ROWS; row++)
        print_row(&dots, row, row == 0 ? label : "", plain);
    print_time_axis(series->time[series->n - 1], cli->system, plain);
}
