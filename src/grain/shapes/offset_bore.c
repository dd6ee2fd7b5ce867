/* Offset bore (moon): a round port beside the axis. */
#include "grain/shape.h"

#include <math.h>

struct offset_bore {
    double bore_diameter; /* [m] */
    double offset;        /* [m] */
};

static const struct sm_param params[] = {
    {.name = "bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct offset_bore, bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the port"},
    {.name = "offset",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct offset_bore, offset),
     .min = 0.0,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "distance of the port's centre from the axis"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct offset_bore *p = block;
    SM_TRY(sm_shape_below("bore_diameter", p->bore_diameter, "outer_diameter", common->outer_diameter, err));
    return sm_shape_below("offset", p->offset, "what keeps the port within the grain",
                          0.5 * (common->outer_diameter - p->bore_diameter), err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena;
    (void)common, (void)err;
    const struct offset_bore *p = block;
    const double r = 0.5 * p->bore_diameter;
    out->sectors = 1;
    sm_contour_start(&out->contour, p->offset + r, 0.0);
    sm_contour_arc(&out->contour, p->offset - r, 0.0, p->offset, 0.0, 1);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    (void)common;
    const struct offset_bore *p = block;
    const struct sm_point axis = {0.0, 0.0}, centre = {p->offset, 0.0};
    sm_gauge_circle(out, "bore_diameter", centre, 0.5 * p->bore_diameter, M_PI / 3.0, false);
    if (p->offset > 0.0)
        sm_gauge_length(out, "offset", axis, centre, SM_GAUGE_HERE);
}

const struct sm_shape sm_shape_offset_bore = {
    .name = "offset-bore",
    .summary = "round port beside the axis; long burning, with a sliver opposite",
    .size = sizeof(struct offset_bore),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"offset-bore\", \"outer_diameter\": \"54 mm\", \"length\": \"140 mm\", "
               "\"bore_diameter\": \"14 mm\", \"offset\": \"16 mm\" }",
    .check = check,
    .section = section,
    .gauges = gauges,
};
