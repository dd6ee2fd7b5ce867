#include "doc/csv.h"
#include "doc/number.h"

#include <string.h>

enum { LINES = 64 }; /* looked at */

/* One way to read the text; on a tie the earlier stands. Commas can't be both. */
static const struct way {
    char delimiter, decimal;
} ways[] = {
    {'\t', '.'}, {';', '.'}, {',', '.'}, {' ', '.'}, {'\t', ','}, {';', ','}, {' ', ','},
};

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\r';
}

static bool splits(char delimiter, char c)
{
    return c == delimiter || (delimiter == ' ' && is_blank(c));
}

static bool is_numeric(const char *text, size_t n, char decimal)
{
    double value;
    while (n > 0 && is_blank(text[0]))
        text++, n--;
    while (n > 0 && is_blank(text[n - 1]))
        n--;
    if (n >= 2 && text[0] == '"' && text[n - 1] == '"')
        text++, n -= 2;
    return n > 0 && sm_number_parse(text, n, decimal, &value) == n;
}

/* Fields of a line, and how many are numbers. Delimiters within quotes do not count. */
static size_t count_fields(const char *line, size_t n, struct way way, size_t *n_numbers)
{
    size_t n_fields = 0, i = 0;
    *n_numbers = 0;
    while (n > 0 && is_blank(line[n - 1]))
        n--;
    for (;;) {
        while (way.delimiter == ' ' && i < n && is_blank(line[i]))
            i++;
        const size_t start = i;
        bool in_quotes = false;
        for (; i < n && (in_quotes || !splits(way.delimiter, line[i])); i++)
            in_quotes ^= line[i] == '"';
        n_fields++;
        *n_numbers += is_numeric(line + start, i - start, way.decimal);
        if (i >= n)
            return n_fields;
        i++;
    }
}

/* The next line that is neither blank nor a comment; *n is 0 and the answer NULL at the end. */
static const char *next_line(const char **rest, const char *end, const char *comment, size_t *n)
{
    const size_t n_comment = comment ? strlen(comment) : 0;
    while (*rest < end) {
        const char *line = *rest;
        const char *lf = memchr(line, '\n', (size_t)(end - line));
        const char *stop = lf ? lf : end;
        *rest = lf ? lf + 1 : end;
        while (line < stop && is_blank(*line) && *line != '\t')
            line++;
        *n = (size_t)(stop - line);
        const bool is_comment = n_comment > 0 && *n >= n_comment && memcmp(line, comment, n_comment) == 0;
        if (*n > 0 && !is_comment)
            return line;
    }
    return NULL;
}

/* The number of fields that most lines have; of several the one that comes first. */
static size_t usual_width(const size_t *widths, size_t n)
{
    size_t usual = 0, most = 0;
    for (size_t i = 0; i < n; i++) {
        size_t same = 0;
        for (size_t k = 0; k < n; k++)
            same += widths[k] == widths[i] ? 1 : 0;
        usual = same > most ? widths[i] : usual;
        most = same > most ? same : most;
    }
    return usual;
}

/* Sum over the lines of the share of fields that are numbers, for lines with as many fields as most have: titles above a table
 * have fewer. */
static double score(const char *text, size_t n, const char *comment, struct way way)
{
    const double alike =
        0.01; /* for a line that is split as most are: decides between ways without numbers */
    const char *rest = text;
    size_t n_line, n_numbers[LINES], widths[LINES], n_lines = 0;
    double sum = 0.0;
    for (const char *line; n_lines < LINES && (line = next_line(&rest, text + n, comment, &n_line));
         n_lines++)
        widths[n_lines] = count_fields(line, n_line, way, &n_numbers[n_lines]);
    const size_t usual = usual_width(widths, n_lines);
    for (size_t i = 0; i < n_lines && usual >= 2; i++)
        if (widths[i] == usual)
            sum += (double)n_numbers[i] / (double)usual + alike;
    return sum;
}

void sm_csv_guess(const char *text, size_t n, struct sm_csv_options *options)
{
    struct way best = {options->delimiter ? options->delimiter : ',',
                       options->decimal ? options->decimal : '.'};
    if (options->delimiter != ',' && !options->delimiter && options->decimal == ',')
        best.delimiter = ';';
    double highest = 0.0;
    for (size_t i = 0; i < SM_COUNT(ways); i++) {
        if ((options->delimiter && options->delimiter != ways[i].delimiter) ||
            (options->decimal && options->decimal != ways[i].decimal))
            continue;
        const double points = score(text, n, options->comment, ways[i]);
        if (points <= highest)
            continue;
        highest = points;
        best = ways[i];
    }
    options->delimiter = best.delimiter;
    options->decimal = best.decimal;
}
