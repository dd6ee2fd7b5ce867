#include "grain/coneslot.h"

#include <math.h>

#include "grain/shape.h"

struct sm_coneslot sm_coneslot_find(double bore_diameter, double position, double width, double angle,
                                    double diameter)
{
    struct sm_coneslot s = {.bore = 0.5 * bore_diameter,
                            .position = position,
                            .half = 0.5 * width,
                            .reach = 0.5 * diameter,
                            .way = {-cos(angle), sin(angle)}};
    const double out = (s.reach - s.half - s.bore) / s.way.y;
    s.centre = (struct sm_point){position + out * s.way.x, s.bore + out * s.way.y};
    s.aft = position + s.half / s.way.y;
    s.fore = position - s.half / s.way.y;
    return s;
}

enum sm_status sm_coneslot_check(const struct sm_coneslot *s, double outer_diameter, double length,
                                 struct sm_error *err)
{
    SM_TRY(sm_shape_below("slot_diameter", 2.0 * s->reach, "outer_diameter", outer_diameter, err));
    SM_TRY(sm_shape_above("slot_diameter", 2.0 * s->reach, "what the bore and the slot's round end take",
                          2.0 * s->bore + 2.0 * s->half * (1.0 + s->way.x * s->way.x), err));
    SM_TRY(sm_shape_above("slot_position", s->position, "what keeps the slot off the fore end",
                          s->position - fmin(s->fore, s->centre.x - s->half), err));
    return sm_shape_below("slot_position", s->position, "what keeps the slot off the aft end",
                          length - (fmax(s->aft, s->centre.x + s->half) - s->position), err);
}

/* From the slot's middle to its aft side. */
static struct sm_point aside(const struct sm_coneslot *s)
{
    return (struct sm_point){s->half * s->way.y, -s->half * s->way.x};
}

void sm_coneslot_add_wall(const struct sm_coneslot *s, double fore, struct sm_contour *contour)
{
    const struct sm_point aft = aside(s), centre = s->centre;
    sm_contour_line(contour, s->aft, s->bore);
    sm_contour_line(contour, centre.x + aft.x, centre.y + aft.y);
    sm_contour_arc(contour, centre.x - aft.x, centre.y - aft.y, centre.x, centre.y, 1);
    sm_contour_line(contour, s->fore, s->bore);
    sm_contour_line(contour, fore, s->bore);
}

void sm_coneslot_gauges(const struct sm_coneslot *s, double radius, struct sm_gauges *out)
{
    const struct sm_point mouth = {s->position, s->bore}, aft = aside(s);
    const double deep = 0.55 * hypot(s->centre.x - mouth.x, s->centre.y - mouth.y);
    const struct sm_point middle = sm_point_along(mouth, deep, s->way);
    sm_gauge_length(out, "slot_position", (struct sm_point){0.0, -radius},
                    (struct sm_point){s->position, -s->bore}, SM_GAUGE_BELOW);
    sm_gauge_length(out, "slot_width", sm_point_along(middle, -1.0, aft), sm_point_along(middle, 1.0, aft),
                    SM_GAUGE_HERE);
    sm_gauge_length(out, "slot_diameter", (struct sm_point){s->centre.x, -s->reach},
                    (struct sm_point){s->centre.x, s->reach}, SM_GAUGE_HERE);
    sm_gauge_angle(out, "slot_angle", mouth, middle, (struct sm_point){mouth.x - deep, mouth.y});
}
