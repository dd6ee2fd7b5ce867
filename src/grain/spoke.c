#include "grain/spoke.h"

#include <math.h>

#include "grain/shape.h"

/* A spoke along the x axis, with its upper side at y = half. */
struct side {
    double half;            /* [m] */
    struct sm_point centre; /* of the fillet [m] */
    double angle;           /* of the fillet's centre about the axis [rad] */
    double corner;          /* x of the tip's corner [m] */
    double apex;            /* x of the tip [m] */
};

static struct side find_side(const struct sm_spoke *spoke, double ring, double fillet)
{
    struct side s = {.half = 0.5 * spoke->thickness, .apex = 0.5 * spoke->core};
    const double l = ring - fillet;
    s.angle = asin((s.half + fillet) / l);
    s.centre = (struct sm_point){l * cos(s.angle), s.half + fillet};
    s.corner = s.apex + (spoke->tip_angle < M_PI_2 ? s.half / tan(spoke->tip_angle) : 0.0);
    return s;
}

enum sm_status sm_spoke_check(const struct sm_spoke *spoke, const char *core_name, double ring, double fillet,
                              double half, struct sm_error *err)
{
    const double sine = sin(fmin(half, M_PI_2));
    SM_TRY(sm_shape_below("spoke_thickness", spoke->thickness, "what leaves a void between the spokes",
                          2.0 * ring * sine, err));
    SM_TRY(sm_shape_below("fillet_radius", fillet, "what has room between spoke and ring",
                          (ring * sine - 0.5 * spoke->thickness) / (1.0 + sine), err));
    const struct side s = find_side(spoke, ring, fillet);
    const double tip = s.corner - s.apex;
    SM_TRY(sm_shape_below(core_name, spoke->core, "what leaves the spoke a side", 2.0 * (s.centre.x - tip),
                          err));
    if (s.half >= s.corner * tan(half) && half < M_PI_2)
        return sm_shape_above(core_name, spoke->core, "what keeps neighbouring spokes apart",
                              2.0 * (s.half / tan(half) - tip), err);
    return SM_OK;
}

static struct sm_point turned(double x, double y, double angle)
{
    const double c = cos(angle), s = sin(angle);
    return (struct sm_point){c * x - s * y, s * x + c * y};
}

/* Mirrored at the x axis and turned onto its ray, so that the side comes before the ray. */
void sm_spoke_add_inwards(const struct sm_spoke *spoke, double ring, double fillet, double ray,
                          struct sm_contour *contour)
{
    const struct side s = find_side(spoke, ring, fillet);
    const struct sm_point start = turned(ring, 0.0, ray - s.angle);
    const struct sm_point centre = turned(s.centre.x, -s.centre.y, ray);
    const struct sm_point foot = turned(s.centre.x, -s.half, ray);
    const struct sm_point corner = turned(s.corner, -s.half, ray), apex = turned(s.apex, 0.0, ray);
    sm_contour_arc(contour, start.x, start.y, 0.0, 0.0, 1);
    sm_contour_arc(contour, foot.x, foot.y, centre.x, centre.y, 1);
    sm_contour_line(contour, corner.x, corner.y);
    sm_contour_line(contour, apex.x, apex.y);
}

void sm_spoke_add_outwards(const struct sm_spoke *spoke, double ring, double fillet,
                           struct sm_contour *contour)
{
    const struct side s = find_side(spoke, ring, fillet);
    const struct sm_point end = turned(ring, 0.0, s.angle);
    sm_contour_start(contour, s.apex, 0.0);
    sm_contour_line(contour, s.corner, s.half);
    sm_contour_line(contour, s.centre.x, s.half);
    sm_contour_arc(contour, end.x, end.y, s.centre.x, s.centre.y, 1);
}

void sm_spoke_gauges(const struct sm_spoke *spoke, const char *core_name, double ring, double fillet,
                     bool is_whole, struct sm_gauges *out)
{
    const struct side s = find_side(spoke, ring, fillet);
    const double middle = 0.5 * (s.corner + s.centre.x), diagonal = sqrt(0.5);
    const struct sm_point apex = {s.apex, 0.0}, corner = {s.corner, s.half}, way = {diagonal, -diagonal};
    sm_gauge_circle(out, core_name, (struct sm_point){0.0, 0.0}, 0.5 * spoke->core, 0.0, true);
    if (!is_whole)
        return;
    sm_gauge_length(out, "spoke_thickness", (struct sm_point){middle, s.half},
                    (struct sm_point){middle, -s.half}, SM_GAUGE_HERE);
    if (fillet > 0.0)
        sm_gauge_radius(out, "fillet_radius", s.centre, sm_point_along(s.centre, fillet, way));
    if (spoke->tip_angle < M_PI_2)
        sm_gauge_angle(out, "tip_angle", apex, (struct sm_point){s.corner, 0.0}, corner);
}
