/* The plan's flight, held, flown and after contact, as RFC 4180 CSV, SI; a field is empty where there is no such thing. The cautions
 * stand in a column of their own, one a row from the first. */
#include "base/text.h"
#include "export/lift_csv.h"

#include <math.h>

enum sm_status sm_lift_write_flight(const struct sm_lift *lift, struct sm_sink *sink, struct sm_error *err)
{
    const struct sm_lift_flight *f = &lift->plan;
    const double *const columns[] = {f->time,        f->height,    f->speed,     f->height_low,
                                     f->height_high, f->speed_low, f->speed_high};
    size_t said = 0;
    SM_TRY(sm_sink_text(sink,
                        "phase,time,height,speed,tube_height_low,tube_height_high,tube_speed_low,"
                        "tube_speed_high,caution\r\n",
                        err));
    for (size_t row = 0; row < f->n; row++) {
        SM_TRY(sm_sink_text(sink, sm_lift_phase_name(f->phase[row]), err));
        for (size_t i = 0; i < SM_COUNT(columns); i++) {
            char number[SM_DOUBLE_TEXT];
            const double value = columns[i][row];
            SM_TRY(sm_sink_format(sink, err, ",%s", isnan(value) ? "" : sm_text_double(number, value)));
        }
        SM_TRY(sm_lift_put_caution(sink, &said, err));
    }
    return sm_lift_put_rest(sink, 1 + SM_COUNT(columns), &said, err);
}
