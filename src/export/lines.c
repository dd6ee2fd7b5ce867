#include "export/lines.h"
#include "base/text.h"

#include <string.h>

size_t sm_lines_columns(const struct sm_export *e, enum sm_out places[SM_N_OUT])
{
    size_t n = 0;
    for (int c = 0; c < SM_N_OUT; c++)
        if (e->column[c])
            places[n++] = (enum sm_out)c;
    return n;
}

enum sm_status sm_lines_row(const struct sm_export *e, const enum sm_out *places, size_t n, size_t i,
                            const char *separator, const char *end, struct sm_sink *sink,
                            struct sm_error *err)
{
    enum { MARK = 8 }; /* more than any separator or end */
    char line[SM_N_OUT * (SM_DOUBLE_TEXT + MARK)];
    size_t used = 0;
    for (size_t c = 0; c < n; c++) {
        char number[SM_DOUBLE_TEXT];
        const char *pieces[] = {sm_text_double(number, e->column[places[c]][i]), c + 1 < n ? separator : end};
        for (size_t p = 0; p < SM_COUNT(pieces); p++) {
            const size_t length = strlen(pieces[p]);
            memcpy(line + used, pieces[p], length);
            used += length;
        }
    }
    return sm_sink_bytes(sink, line, used, err);
}

enum sm_status sm_lines_facts(const struct sm_export *e, const char *before, const char *behind,
                              struct sm_sink *sink, struct sm_error *err)
{
    for (size_t i = 0; i < e->n_facts; i++) {
        char line[SM_FACT_TEXT];
        SM_TRY(sm_sink_text(sink, before, err));
        SM_TRY(sm_sink_text(sink, sm_fact_line(&e->facts[i], line), err));
        SM_TRY(sm_sink_text(sink, behind, err));
    }
    return SM_OK;
}
