#include "grain/fins.h"

#include <math.h>

#include "grain/shape.h"

const char *const sm_fin_ends[] = {"fore", "aft", NULL};

struct sm_slot sm_fins_slot(const struct sm_fins *fins)
{
    const double half = 0.5 * fins->width;
    return (struct sm_slot){.bore = 0.5 * fins->bore_diameter,
                            .half_width = half,
                            .reach = 0.5 * fins->diameter,
                            .fillet = isnan(fins->tip_fillet) ? half : fins->tip_fillet};
}

double sm_fins_joint(const struct sm_fins *fins, double length)
{
    return fins->end == SM_FINS_FORE ? fins->length : length - fins->length;
}

enum sm_status sm_fins_check(const struct sm_fins *fins, double outer_diameter, const char *length_name,
                             double length, struct sm_error *err)
{
    const struct sm_slot slot = sm_fins_slot(fins);
    SM_TRY(sm_shape_below("fin_diameter", fins->diameter, "outer_diameter", outer_diameter, err));
    SM_TRY(sm_shape_above("fin_diameter", fins->diameter, "bore_diameter", fins->bore_diameter, err));
    SM_TRY(sm_shape_below("fin_length", fins->length, length_name, length, err));
    return sm_slot_check(&slot, "fin_width", M_PI / fins->count, err);
}

void sm_fins_add_section(const struct sm_fins *fins, struct sm_contour *contour)
{
    const struct sm_slot slot = sm_fins_slot(fins);
    sm_slot_add_tip(&slot, contour);
    sm_slot_add_side(&slot, M_PI / fins->count, contour);
}

void sm_fins_gauges_across(const struct sm_fins *fins, struct sm_gauges *out)
{
    const struct sm_slot slot = sm_fins_slot(fins);
    const struct sm_point axis = {0.0, 0.0};
    sm_gauge_circle(out, "bore_diameter", axis, slot.bore, M_PI / fins->count, true);
    sm_gauge_circle(out, "fin_diameter", axis, slot.reach, 0.0, true);
    out->turn = 2.0 * M_PI / fins->count;
    sm_slot_gauges(&slot, "fin_width", isnan(fins->tip_fillet) ? NULL : "tip_fillet", out);
    out->turn = 0.0;
}

void sm_fins_gauges_along(const struct sm_fins *fins, double radius, double length, struct sm_gauges *out)
{
    const double end = fins->end == SM_FINS_FORE ? 0.0 : length;
    sm_gauge_length(out, "fin_length", (struct sm_point){sm_fins_joint(fins, length), radius},
                    (struct sm_point){end, radius}, SM_GAUGE_ABOVE);
}
