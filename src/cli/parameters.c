/* Rows of parameters as people read them: name, what it is, what it may be. */
#include "terminal.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { TEXT = 1024 };

__attribute__((format(printf, 2, 3))) static void append(char *text, const char *fmt, ...)
{
    const size_t used = strlen(text);
    va_list args;
    va_start(args, fmt);
    vsnprintf(text + used, TEXT - used, fmt, args);
    va_end(args);
}

static bool is_required(const struct sm_param *row)
{
    return isinf(row->fallback);
}

static void append_range(char *text, const struct sm_param *row, enum sm_unit_system system)
{
    char low[CLI_NUMBER], high[CLI_NUMBER], usual[CLI_NUMBER];
    append(text, "; %s to %s", cli_number(low, row->min, row->dim, system),
           cli_number(high, row->max, row->dim, system));
    if (isfinite(row->fallback))
        append(text, ", %s if not given", cli_number(usual, row->fallback, row->dim, system));
}

static void append_words(char *text, const struct sm_param *row)
{
    append(text, "; ");
    for (size_t i = 0; row->words[i]; i++)
        append(text, "%s%s", i > 0 ? ", " : "", row->words[i]);
    if (isfinite(row->fallback))
        append(text, "; %s if not given", row->words[(size_t)row->fallback]);
}

static void describe(char *text, const struct sm_param *row, enum sm_unit_system system)
{
    text[0] = '\0';
    append(text, "%s", row->help ? row->help : "");
    if (row->kind == SM_QUANTITY || row->kind == SM_WHOLE)
        append_range(text, row, system);
    else if (row->kind == SM_CHOICE)
        append_words(text, row);
    else if (row->kind == SM_FLAG)
        append(text, "; true or false%s", row->fallback > 0.0 ? ", true if not given" : "");
    else if (row->kind == SM_LIST && row->max > 0.0)
        append(text, "; a list of %g to %g", row->min, row->max);
    if (is_required(row))
        append(text, "; must be given");
}

void cli_print_parameters(const struct sm_param *rows, size_t n, int indent, enum sm_unit_system system)
{
    for (size_t i = 0; i < n; i++) {
        char text[TEXT];
        describe(text, &rows[i], system);
        cli_entry(rows[i].name, text, indent, 26);
        if (rows[i].rows)
            cli_print_parameters(rows[i].rows, rows[i].n_rows, indent + 2, system);
    }
}
