/* The plan flown on vehicles that are not as told, three ways, as RFC 4180 CSV, SI; a field is empty where there is no such thing. The
 * cautions stand in a column of their own, one a row from the first. */
#include "base/text.h"
#include "export/lift_csv.h"

#include <math.h>

static enum sm_status write_path(const char *what, const char *way, const struct sm_lift_path *p,
                                 size_t *said, struct sm_sink *sink, struct sm_error *err)
{
    const double *const columns[] = {p->time, p->height, p->speed, p->throttle};
    for (size_t row = 0; row < p->n; row++) {
        SM_TRY(sm_sink_format(sink, err, "%s,%s", what, way));
        for (size_t i = 0; i < SM_COUNT(columns); i++) {
            char number[SM_DOUBLE_TEXT];
            const double value = columns[i][row];
            SM_TRY(sm_sink_format(sink, err, ",%s", isnan(value) ? "" : sm_text_double(number, value)));
        }
        SM_TRY(sm_lift_put_caution(sink, said, err));
    }
    return SM_OK;
}

enum sm_status sm_lift_write_off_by(const struct sm_lift *lift, struct sm_sink *sink, struct sm_error *err)
{
    size_t said = 0;
    SM_TRY(sm_sink_text(sink, "what,way,time,height,speed,throttle,caution\r\n", err));
    for (size_t i = 0; i < lift->n_off_by; i++)
        for (size_t k = 0; k < SM_LIFT_WAYS; k++)
            SM_TRY(write_path(lift->off_by[i].what, sm_lift_way_name((enum sm_lift_way)k),
                              &lift->off_by[i].paths[k], &said, sink, err));
    return SM_OK;
}
