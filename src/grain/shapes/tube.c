/* Tube (cored cylinder): a circular port along the axis. */
#include "grain/annulus.h"
#include "grain/shape.h"

#include <math.h>

struct tube {
    double bore_diameter; /* [m] */
};

static const struct sm_param params[] = {
    {.name = "bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct tube, bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the port"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct tube *p = block;
    return sm_shape_below("bore_diameter", p->bore_diameter, "outer_diameter", common->outer_diameter, err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common,
                              const void *params_block, struct sm_section *out, struct sm_error *err)
{
    (void)arena, (void)common, (void)err;
    const struct tube *tube = params_block;
    sm_contour_circle(&out->contour, 0.0, 0.0, 0.5 * tube->bore_diameter, 1);
    return SM_OK;
}

static enum sm_status geometry(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *params_block, struct sm_geometry *out, struct sm_error *err)
{
    const struct tube *tube = params_block;
    const double inner = 0.5 * tube->bore_diameter;
    SM_TRY(sm_annulus_geometry(arena, inner, 0.5 * common->outer_diameter, common->length, common->burning,
                               out, err));
    out->port_area = M_PI * inner * inner;
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    (void)common;
    const struct tube *p = block;
    sm_gauge_circle(out, "bore_diameter", (struct sm_point){0.0, 0.0}, 0.5 * p->bore_diameter, M_PI / 3.0,
                    false);
}

const struct sm_shape sm_shape_tube = {
    .name = "tube",
    .summary = "circular port along the axis; a cored cylinder",
    .size = sizeof(struct tube),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END,
    .example = "{ \"shape\": \"tube\", \"outer_diameter\": \"50 mm\", \"length\": \"85 mm\","
               " \"bore_diameter\": \"20 mm\" }",
    .check = check,
    .section = section,
    .gauges = gauges,
    .geometry = geometry,
};
