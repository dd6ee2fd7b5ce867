/* A vehicle's thrust, weight and hover against time as RFC 4180 CSV, SI; a field is empty where there is no such thing. RFC 4180
 * knows no comments, so the cautions stand in a column of their own, one a row from the first. */
#include "export/lift_csv.h"
#include "base/text.h"

#include <math.h>

enum sm_status sm_lift_put_caution(struct sm_sink *sink, size_t *said, struct sm_error *err)
{
    const char *caution = sm_lift_caution(*said);
    *said += caution ? 1 : 0;
    return caution ? sm_sink_format(sink, err, ",\"%s\"\r\n", caution) : sm_sink_text(sink, ",\r\n", err);
}

enum sm_status sm_lift_put_rest(struct sm_sink *sink, size_t fields, size_t *said, struct sm_error *err)
{
    while (sm_lift_caution(*said)) {
        for (size_t i = 1; i < fields; i++)
            SM_TRY(sm_sink_text(sink, ",", err));
        SM_TRY(sm_lift_put_caution(sink, said, err));
    }
    return SM_OK;
}

enum sm_status sm_lift_write_csv(const struct sm_lift *lift, struct sm_sink *sink, struct sm_error *err)
{
    enum { COLUMNS = 10, ROW_BYTES = 512 };
    const struct sm_lift_series *s = &lift->series;
    const double *columns[COLUMNS] = {s->time,   s->thrust, s->full,       s->least,     s->mass,
                                      s->weight, s->ratio,  s->hover_tilt, s->hover_low, s->hover_high};
    SM_TRY(sm_sink_text(
        sink, "time,thrust,full,least,mass,weight,ratio,hover_tilt,hover_low,hover_high,caution\r\n", err));
    size_t said = 0;
    for (size_t row = 0; row < s->n; row++) {
        char line[ROW_BYTES], number[SM_DOUBLE_TEXT];
        size_t used = 0;
        for (size_t i = 0; i < COLUMNS; i++) {
            const double value = columns[i][row];
            used += (size_t)sm_text_format(line + used, sizeof line - used, "%s%s", i > 0 ? "," : "",
                                           isnan(value) ? "" : sm_text_double(number, value));
        }
        SM_TRY(sm_sink_text(sink, line, err));
        SM_TRY(sm_lift_put_caution(sink, &said, err));
    }
    return sm_lift_put_rest(sink, COLUMNS, &said, err);
}
