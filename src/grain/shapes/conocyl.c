/* Conocyl: a bore with a conical slot all round it (NASA SP-8076, 1972). */
#include "grain/shape.h"

#include <math.h>

struct conocyl {
    double bore_diameter; /* [m] */
    double slot_position; /* [m] */
    double slot_width;    /* [m] */
    double slot_angle;    /* [rad] */
    double slot_diameter; /* [m] */
};

static const struct sm_param params[] = {
    {.name = "bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct conocyl, bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the bore"},
    {.name = "slot_position",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct conocyl, slot_position),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "distance from the fore face at which the middle of the slot leaves the bore"},
    {.name = "slot_width",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct conocyl, slot_width),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "width of the slot"},
    {.name = "slot_angle",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_ANGLE,
     .offset = offsetof(struct conocyl, slot_angle),
     .min = 0.2,
     .max = M_PI_2,
     .fallback = SM_REQUIRED,
     .help = "angle of the slot from the axis, leaning forwards; 90 deg: straight out"},
    {.name = "slot_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct conocyl, slot_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter that the round end of the slot reaches"},
};

/* The slot's round end, and where its two sides meet the bore. */
struct slot {
    struct sm_point way;    /* unit, outwards along it [1] */
    struct sm_point centre; /* of its end, as z and radius [m] */
    double aft, fore;       /* z of the sides at the bore [m] */
    double half;            /* width [m] */
};

static struct slot find_slot(const struct conocyl *p)
{
    struct slot s = {.way = {-cos(p->slot_angle), sin(p->slot_angle)}, .half = 0.5 * p->slot_width};
    const double bore = 0.5 * p->bore_diameter, out = (0.5 * p->slot_diameter - s.half - bore) / s.way.y;
    s.centre = (struct sm_point){p->slot_position + out * s.way.x, bore + out * s.way.y};
    s.aft = p->slot_position + s.half / s.way.y;
    s.fore = p->slot_position - s.half / s.way.y;
    return s;
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct conocyl *p = block;
    SM_TRY(sm_shape_below("slot_diameter", p->slot_diameter, "outer_diameter", common->outer_diameter, err));
    const struct slot s = find_slot(p);
    SM_TRY(sm_shape_above("slot_diameter", p->slot_diameter, "what the bore and the slot's round end take",
                          p->bore_diameter + 2.0 * s.half * (1.0 + fabs(s.way.x) * fabs(s.way.x)), err));
    const double fore_reach = p->slot_position - fmin(s.fore, s.centre.x - s.half);
    SM_TRY(sm_shape_above("slot_position", p->slot_position, "what keeps the slot off the fore end",
                          fore_reach, err));
    return sm_shape_below("slot_position", p->slot_position, "what keeps the slot's mouth off the aft end",
                          common->length - (s.aft - p->slot_position), err);
}

static enum sm_status meridian(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *block, struct sm_meridian *out, struct sm_error *err)
{
    (void)arena;
    (void)err;
    const struct conocyl *p = block;
    const struct slot s = find_slot(p);
    const double r = 0.5 * p->bore_diameter;
    const struct sm_point across = {s.half * s.way.y,
                                    -s.half * s.way.x}; /* from the middle to the aft side */
    sm_contour_start(&out->bore, common->length, r);
    sm_contour_line(&out->bore, s.aft, r);
    sm_contour_line(&out->bore, s.centre.x + across.x, s.centre.y + across.y);
    sm_contour_arc(&out->bore, s.centre.x - across.x, s.centre.y - across.y, s.centre.x, s.centre.y, 1);
    sm_contour_line(&out->bore, s.fore, r);
    sm_contour_line(&out->bore, 0.0, r);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct conocyl *p = block;
    const struct slot s = find_slot(p);
    const double r = 0.5 * p->bore_diameter, tip = 0.5 * p->slot_diameter, z = 0.8 * common->length;
    const struct sm_point mouth = {p->slot_position, r}, across = {s.half * s.way.y, -s.half * s.way.x};
    const double deep = 0.55 * hypot(s.centre.x - mouth.x, s.centre.y - mouth.y);
    const struct sm_point middle = sm_point_along(mouth, deep, s.way);
    sm_gauge_length(out, "bore_diameter", (struct sm_point){z, -r}, (struct sm_point){z, r}, SM_GAUGE_HERE);
    sm_gauge_length(out, "slot_position", (struct sm_point){0.0, -0.5 * common->outer_diameter},
                    (struct sm_point){p->slot_position, -r}, SM_GAUGE_BELOW);
    sm_gauge_length(out, "slot_width", sm_point_along(middle, -1.0, across),
                    sm_point_along(middle, 1.0, across), SM_GAUGE_HERE);
    sm_gauge_length(out, "slot_diameter", (struct sm_point){s.centre.x, -tip},
                    (struct sm_point){s.centre.x, tip}, SM_GAUGE_HERE);
    sm_gauge_angle(out, "slot_angle", mouth, sm_point_along(mouth, deep, s.way),
                   (struct sm_point){mouth.x - deep, mouth.y});
}

const struct sm_shape sm_shape_conocyl = {
    .name = "conocyl",
    .summary = "bore with a conical slot round it",
    .size = sizeof(struct conocyl),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"conocyl\", \"outer_diameter\": \"100 mm\", \"length\": \"220 mm\", "
               "\"bore_diameter\": \"30 mm\", \"slot_position\": \"90 mm\", \"slot_width\": \"6 mm\", "
               "\"slot_angle\": \"50 deg\", \"slot_diameter\": \"70 mm\" }",
    .check = check,
    .meridian = meridian,
    .gauges = gauges,
};
