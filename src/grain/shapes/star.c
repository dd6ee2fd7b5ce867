/* Star: lobes of void round the axis, propellant between them ending in points towards it.
 *
 * NASA SP-8076, Solid Propellant Grain Design and Internal Ballistics (1972), names its measures: fillet radius f,
 * fillet centres at distance l from the axis with l + f + web = outer radius, angle fraction eps, half angle of the
 * propellant's point. */
#include "grain/shape.h"

#include <math.h>

struct star {
    int points;
    double web;            /* [m] */
    double fillet_radius;  /* [m] */
    double angle_fraction; /* [1] */
    double half_angle;     /* [rad] */
    double point_radius;   /* [m] */
    double core_diameter;  /* [m] */
};

static const struct sm_param params[] = {
    {.name = "points",
     .kind = SM_WHOLE,
     .offset = offsetof(struct star, points),
     .min = 2,
     .max = 64,
     .fallback = SM_REQUIRED,
     .help = "number of star points"},
    {.name = "web",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct star, web),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "thickness from the tip of a lobe to the outer wall"},
    {.name = "fillet_radius",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct star, fillet_radius),
     .min = 0.0,
     .max = 10.0,
     .fallback = 0.0,
     .help = "rounding of the lobes at their outer corners; 0 for sharp ones"},
    {.name = "angle_fraction",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_NONE,
     .offset = offsetof(struct star, angle_fraction),
     .min = 0.01,
     .max = 1.0,
     .fallback = 1.0,
     .help = "share of the half-sector between fillet centre and propellant point; below 1 lobes end in an "
             "arc about the axis"},
    {.name = "half_angle",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_ANGLE,
     .offset = offsetof(struct star, half_angle),
     .min = 0.01,
     .max = 1.55,
     .fallback = SM_REQUIRED,
     .help = "half of the angle at a propellant point"},
    {.name = "point_radius",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct star, point_radius),
     .min = 0.0,
     .max = 10.0,
     .fallback = 0.0,
     .help = "rounding of the propellant points; 0 for sharp ones"},
    {.name = "core_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct star, core_diameter),
     .min = 0.0,
     .max = 10.0,
     .fallback = 0.0,
     .help = "cuts the propellant points off with a round core of this diameter; 0 for none"},
};

/* The half-sector, from the middle of a lobe on the first ray to a propellant point on the second. */
struct half {
    double l;               /* of the fillet's centre from the axis [m] */
    struct sm_point centre; /* of the fillet [m] */
    struct sm_point start;  /* of the straight flank [m] */
    struct sm_point way;    /* unit, along the flank towards the point [1] */
    struct sm_point ray;    /* unit, of the second ray [1] */
    double along;           /* length of the flank to the ray [m] */
    double apex;            /* distance of the point from the axis [m] */
};

static struct half find_half(const struct star *p, double outer_radius)
{
    struct half h;
    const double sector = M_PI / p->points, arc = (1.0 - p->angle_fraction) * sector;
    h.l = outer_radius - p->web - p->fillet_radius;
    h.centre = (struct sm_point){h.l * cos(arc), h.l * sin(arc)};
    h.ray = (struct sm_point){cos(sector), sin(sector)};
    const double slope = M_PI + sector - p->half_angle; /* direction of the flank */
    h.way = (struct sm_point){cos(slope), sin(slope)};
    h.start =
        (struct sm_point){h.centre.x + p->fillet_radius * h.way.y, h.centre.y - p->fillet_radius * h.way.x};
    const double sine = sin(p->half_angle); /* of the way against the ray */
    h.along = (h.start.x * h.ray.y - h.start.y * h.ray.x) / sine;
    h.apex = h.start.x * h.ray.x + h.start.y * h.ray.y - h.along * cos(p->half_angle);
    return h;
}

static enum sm_status check_points(const struct star *p, const struct half *h, struct sm_error *err)
{
    if (p->core_diameter > 0.0 && p->point_radius > 0.0)
        return sm_fail(err, SM_E_GEOMETRY, "give point_radius or core_diameter, not both");
    if (p->core_diameter > 0.0) {
        SM_TRY(sm_shape_above("core_diameter", p->core_diameter, "the circle of the propellant points",
                              2.0 * h->apex, err));
        return sm_shape_below("core_diameter", p->core_diameter, "the circle of the flanks' outer ends",
                              2.0 * hypot(h->start.x, h->start.y), err);
    }
    return sm_shape_below("point_radius", p->point_radius, "what fits between the flanks",
                          h->along * tan(p->half_angle), err);
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct star *p = block;
    SM_TRY(sm_shape_below("web", p->web, "the outer radius", 0.5 * common->outer_diameter, err));
    SM_TRY(sm_shape_below("fillet_radius", p->fillet_radius, "the outer radius less web",
                          0.5 * common->outer_diameter - p->web, err));
    const struct half h = find_half(p, 0.5 * common->outer_diameter);
    if (!(h.along > 0.0))
        return sm_at(
            err,
            sm_fail(err, SM_E_GEOMETRY,
                    "neighbouring lobes overlap: make fillet_radius smaller or angle_fraction larger"),
            "/fillet_radius");
    if (p->core_diameter == 0.0 && !(h.apex > 0.0))
        return sm_at(
            err,
            sm_fail(err, SM_E_GEOMETRY, "the propellant points meet at the axis: make half_angle larger"),
            "/half_angle");
    return check_points(p, &h, err);
}

/* Where the flank goes into the core circle. */
static struct sm_point cut_by_core(const struct half *h, double core)
{
    const double b = h->start.x * h->way.x + h->start.y * h->way.y;
    const double c = h->start.x * h->start.x + h->start.y * h->start.y - core * core;
    const double t = c / (-b + sqrt(fmax(b * b - c, 0.0)));
    return (struct sm_point){h->start.x + t * h->way.x, h->start.y + t * h->way.y};
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena;
    (void)err;
    const struct star *p = block;
    const struct half h = find_half(p, 0.5 * common->outer_diameter);
    const double tip = h.l + p->fillet_radius, k = tip / h.l;
    struct sm_contour *c = &out->contour;
    out->sectors = p->points;
    sm_contour_start(c, tip, 0.0);
    sm_contour_arc(c, k * h.centre.x, k * h.centre.y, 0.0, 0.0, 1);
    sm_contour_arc(c, h.start.x, h.start.y, h.centre.x, h.centre.y, 1);
    if (p->core_diameter > 0.0) {
        const double core = 0.5 * p->core_diameter;
        const struct sm_point cut = cut_by_core(&h, core);
        sm_contour_line(c, cut.x, cut.y);
        sm_contour_arc(c, core * h.ray.x, core * h.ray.y, 0.0, 0.0, 1);
        return SM_OK;
    }
    const double t = h.along - p->point_radius / tan(p->half_angle);
    const double centre = h.apex + p->point_radius / sin(p->half_angle), end = centre - p->point_radius;
    sm_contour_line(c, h.start.x + t * h.way.x, h.start.y + t * h.way.y);
    sm_contour_arc(c, end * h.ray.x, end * h.ray.y, centre * h.ray.x, centre * h.ray.y, -1);
    return SM_OK;
}

/* Each at a lobe or point of its own, as far as there are as many. */
static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct star *p = block;
    const struct half h = find_half(p, 0.5 * common->outer_diameter);
    const double tip = h.l + p->fillet_radius, sector = M_PI / p->points,
                 outer = 0.5 * common->outer_diameter;
    const struct sm_point axis = {0.0, 0.0}, point = sm_point_along(axis, h.apex, h.ray);
    sm_gauge_length(out, "web", (struct sm_point){tip, 0.0}, (struct sm_point){outer, 0.0}, SM_GAUGE_HERE);
    sm_gauge_share(out, "angle_fraction", axis, h.centre, sm_point_along(axis, h.l, h.ray), sector);
    out->turn = 2.0 * sector;
    if (p->fillet_radius > 0.0) {
        const double from = atan2(h.start.y - h.centre.y, h.start.x - h.centre.x),
                     to = atan2(h.centre.y, h.centre.x), middle = 0.5 * (from + to);
        const struct sm_point way = {cos(middle), sin(middle)};
        sm_gauge_radius(out, "fillet_radius", h.centre, sm_point_along(h.centre, p->fillet_radius, way));
    }
    if (p->point_radius > 0.0) {
        const double centre = h.apex + p->point_radius / sin(p->half_angle);
        sm_gauge_radius(out, "point_radius", sm_point_along(axis, centre, h.ray),
                        sm_point_along(axis, centre - p->point_radius, h.ray));
    }
    out->turn = -4.0 * sector;
    sm_gauge_angle(out, "half_angle", point, sm_point_along(point, -0.5 * h.along, h.way),
                   sm_point_along(point, 0.5 * h.along, h.ray));
    out->turn = 0.0;
    if (p->core_diameter > 0.0)
        sm_gauge_circle(out, "core_diameter", axis, 0.5 * p->core_diameter, sector, true);
}

const struct sm_shape sm_shape_star = {
    .name = "star",
    .summary = "star-shaped port; neutral for the right half angle",
    .size = sizeof(struct star),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"star\", \"outer_diameter\": \"60 mm\", \"length\": \"150 mm\", \"points\": 6, "
               "\"web\": \"11 mm\", \"fillet_radius\": \"1.5 mm\", \"angle_fraction\": 0.8, \"half_angle\": "
               "\"33 deg\" }",
    .check = check,
    .section = section,
    .gauges = gauges,
};
