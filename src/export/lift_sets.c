/* Outlines of a vehicle's reachable sets and tubes as RFC 4180 CSV, SI: the points of each, once around. The
 * cautions stand in a column of their own, one a row from the first. */
#include "base/text.h"
#include "export/lift_csv.h"

static enum sm_status put_point(struct sm_sink *sink, const char *set, const char *bounds, double t,
                                double speed, double height, size_t *said, struct sm_error *err)
{
    char a[SM_DOUBLE_TEXT], b[SM_DOUBLE_TEXT], c[SM_DOUBLE_TEXT];
    SM_TRY(sm_sink_format(sink, err, "%s,%s,%s,%s,%s", set, bounds, sm_text_double(a, t),
                          sm_text_double(b, speed), sm_text_double(c, height)));
    return sm_lift_put_caution(sink, said, err);
}

/* A reachable set is told by speed, a tube by height. */
static enum sm_status put_set(struct sm_sink *sink, const char *name, const char *bounds, int is_tube,
                              const struct sm_lift_set *set, size_t *said, struct sm_error *err)
{
    for (size_t k = 0; k < 2 * set->n; k++) {
        const size_t i = k < set->n ? k : 2 * set->n - 1 - k;
        const double edge = k < set->n ? set->low[i] : set->high[i];
        SM_TRY(put_point(sink, name, bounds, set->time, is_tube ? edge : set->at[i],
                         is_tube ? set->at[i] : edge, said, err));
    }
    return SM_OK;
}

enum sm_status sm_lift_write_sets(const struct sm_lift *lift, struct sm_sink *sink, struct sm_error *err)
{
    size_t said = 0;
    SM_TRY(sm_sink_text(sink, "set,bounds,time,speed,height,caution\r\n", err));
    for (size_t k = 0; k < SM_LIFT_BOUNDS; k++) {
        const char *bounds = sm_lift_bounds_name((enum sm_lift_bounds)k);
        for (size_t i = 0; i < lift->n_sets; i++)
            SM_TRY(put_set(sink, "reachable", bounds, 0, &lift->reachable[k][i], &said, err));
        for (size_t i = 0; i < lift->n_sets; i++)
            SM_TRY(put_set(sink, "tube", bounds, 1, &lift->tube[k][i], &said, err));
    }
    return sm_lift_put_rest(sink, 5, &said, err);
}
