/* A result's series as RFC 4180 CSV: one header line, then one row an instant, SI. */
#include "base/fail.h"
#include "base/sink.h"
#include "base/text.h"
#include "slowmatch/simulate.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

enum { MOST_COLUMNS = 32, ROW_BYTES = 1024 }; /* more than all columns need, at most 32 bytes each */

/* A number as a field, empty where there is none. */
static const char *field(char text[SM_DOUBLE_TEXT], double value)
{
    return isnan(value) ? "" : sm_text_double(text, value);
}

/* Columns that this result has. Returned: how many. */
static size_t present(const struct sm_result *result, const struct sm_column **rows, const double **values)
{
    const struct sm_column *columns;
    const size_t n = sm_result_columns(result, &columns);
    size_t m = 0;
    for (size_t i = 0; i < n; i++)
        if (sm_result_column(result, i)) {
            rows[m] = &columns[i];
            values[m++] = sm_result_column(result, i);
        }
    return m;
}

enum sm_status sm_result_write_csv(const struct sm_result *result, struct sm_sink *sink, struct sm_error *err)
{
    const struct sm_column *rows[MOST_COLUMNS];
    const double *values[MOST_COLUMNS];
    const size_t n = present(result, rows, values);
    for (size_t i = 0; i < n; i++)
        SM_TRY(sm_sink_format(sink, err, "%s%s", i > 0 ? "," : "", rows[i]->name));
    SM_TRY(sm_sink_text(sink, "\r\n", err));
    for (size_t row = 0; row < result->series.n; row++) {
        char line[ROW_BYTES] = "", number[SM_DOUBLE_TEXT];
        size_t used = 0;
        for (size_t i = 0; i < n; i++) {
            const char *text = field(number, values[i][row]);
            used += (size_t)sm_text_format(line + used, sizeof line - used, "%s%s", i > 0 ? "," : "", text);
        }
        SM_TRY(sm_sink_format(sink, err, "%s\r\n", line));
    }
    return SM_OK;
}

/* Which of all columns at least one result has. Returned: how many; picked[i] is a column's place in the list of all. */
static size_t pick(const struct sm_result *const *results, size_t n, size_t *picked,
                   const struct sm_column **all)
{
    size_t m = 0;
    const size_t n_all = sm_column_list(all);
    for (size_t i = 0; i < n_all; i++) {
        bool has = false;
        for (size_t j = 0; j < n; j++)
            has = has || sm_result_column(results[j], i);
        if (has)
            picked[m++] = i;
    }
    return m;
}

/* Would a spreadsheet take the text for a formula? An apostrophe in front is told from ours by one more. */
static bool is_formula(const char *text)
{
    static const char *const wide[] = {"\uFF1D", "\uFF0B", "\uFF0D", "\uFF20"}; /* full-width = + - @ */
    for (size_t i = 0; i < SM_COUNT(wide); i++)
        if (strncmp(text, wide[i], strlen(wide[i])) == 0)
            return true;
    return *text && strchr("=+-@\t\r\n'", *text);
}

/*
 * A text as a field: in quotes, those within doubled, with an apostrophe in front where a spreadsheet would reckon it. Who
 * takes an apostrophe in front away has the text as it was.
 *
 * Reference: RFC 4180; OWASP, CSV Injection; CWE-1236.
 */
static enum sm_status put_text(struct sm_sink *sink, const char *text, struct sm_error *err)
{
    SM_TRY(sm_sink_text(sink, is_formula(text) ? "\"'" : "\"", err));
    for (const char *quote; (quote = strchr(text, '"')); text = quote + 1) {
        SM_TRY(sm_sink_bytes(sink, text, (size_t)(quote - text), err));
        SM_TRY(sm_sink_text(sink, "\"\"", err));
    }
    SM_TRY(sm_sink_text(sink, text, err));
    return sm_sink_text(sink, "\"", err);
}

static enum sm_status put_rows(const struct sm_result *result, const size_t *picked, size_t n,
                               struct sm_sink *sink, struct sm_error *err)
{
    char number[SM_DOUBLE_TEXT];
    for (size_t row = 0; row < result->series.n; row++) {
        SM_TRY(put_text(sink, result->motor, err));
        const double t = result->grain_temperature;
        SM_TRY(sm_sink_format(sink, err, ",%s", field(number, t)));
        for (size_t i = 0; i < n; i++) {
            const double *column = sm_result_column(result, picked[i]);
            SM_TRY(sm_sink_format(sink, err, ",%s", column ? field(number, column[row]) : ""));
        }
        SM_TRY(sm_sink_text(sink, "\r\n", err));
    }
    return SM_OK;
}

enum sm_status sm_results_write_csv(const struct sm_result *const *results, size_t n, struct sm_sink *sink,
                                    struct sm_error *err)
{
    size_t picked[MOST_COLUMNS];
    const struct sm_column *all;
    const size_t m = pick(results, n, picked, &all);
    SM_TRY(sm_sink_text(sink, "motor,grain_temperature", err));
    for (size_t i = 0; i < m; i++)
        SM_TRY(sm_sink_format(sink, err, ",%s", all[picked[i]].name));
    SM_TRY(sm_sink_text(sink, "\r\n", err));
    for (size_t i = 0; i < n; i++)
        SM_TRY(put_rows(results[i], picked, m, sink, err));
    return SM_OK;
}
