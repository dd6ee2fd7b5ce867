#include "grain/slot.h"

#include <math.h>

#include "grain/shape.h"

static double mouth(const struct sm_slot *slot)
{
    return sqrt((slot->bore - slot->half_width) * (slot->bore + slot->half_width));
}

enum sm_status sm_slot_check(const struct sm_slot *slot, const char *width_name, double half,
                             struct sm_error *err)
{
    SM_TRY(sm_shape_below(width_name, 2.0 * slot->half_width,
                          "what leaves a wall between the slots at the bore",
                          2.0 * slot->bore * sin(fmin(half, M_PI_2)), err));
    if (!(slot->fillet <= slot->half_width && slot->fillet <= slot->reach - mouth(slot)))
        return sm_shape_below("tip_fillet", slot->fillet, "half of the slot's width and its depth",
                              fmin(slot->half_width, slot->reach - mouth(slot)), err);
    return SM_OK;
}

void sm_slot_add_tip(const struct sm_slot *slot, struct sm_contour *contour)
{
    const double f = slot->fillet, x = slot->reach - f, y = slot->half_width - f;
    sm_contour_start(contour, slot->reach, 0.0);
    sm_contour_line(contour, slot->reach, y);
    sm_contour_arc(contour, x, slot->half_width, x, y, 1);
}

void sm_slot_add_side(const struct sm_slot *slot, double ray, struct sm_contour *contour)
{
    sm_contour_line(contour, mouth(slot), slot->half_width);
    sm_contour_arc(contour, slot->bore * cos(ray), ray < M_PI ? slot->bore * sin(ray) : 0.0, 0.0, 0.0, 1);
}

void sm_slot_gauges(const struct sm_slot *slot, const char *width_name, const char *fillet_name,
                    struct sm_gauges *out)
{
    const double f = slot->fillet, x = 0.6 * slot->reach + 0.4 * mouth(slot), diagonal = sqrt(0.5);
    const struct sm_point centre = {slot->reach - f, slot->half_width - f}, way = {diagonal, diagonal};
    sm_gauge_length(out, width_name, (struct sm_point){x, slot->half_width},
                    (struct sm_point){x, -slot->half_width}, SM_GAUGE_HERE);
    if (fillet_name && f > 0.0)
        sm_gauge_radius(out, fillet_name, centre, sm_point_along(centre, f, way));
}
