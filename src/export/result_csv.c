/* A result's series as RFC 4180 CSV: one header line, then one row an instant, SI. */
#include "base/sink.h"
#include "base/text.h"
#include "slowmatch/simulate.h"

#include <string.h>

enum { ROW_BYTES = 1024 }; /* more than 20 columns of at most 32 bytes need */

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
    const struct sm_column *rows[32];
    const double *values[32];
    const size_t n = present(result, rows, values);
    for (size_t i = 0; i < n; i++)
        SM_TRY(sm_sink_format(sink, err, "%s%s", i > 0 ? "," : "", rows[i]->name));
    SM_TRY(sm_sink_text(sink, "\r\n", err));
    for (size_t row = 0; row < result->series.n; row++) {
        char line[ROW_BYTES] = "", number[SM_DOUBLE_TEXT];
        size_t used = 0;
        for (size_t i = 0; i < n; i++) {
            const char *text = sm_text_double(number, values[i][row]);
            used += (size_t)sm_text_format(line + used, sizeof line - used, "%s%s", i > 0 ? "," : "", text);
        }
        SM_TRY(sm_sink_format(sink, err, "%s\r\n", line));
    }
    return SM_OK;
}
