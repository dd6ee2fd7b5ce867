/* Rod and tube: a rod that burns at its wall inside a tube that burns at its bore. */
#include "grain/shape.h"

#include <math.h>

struct rod_and_tube {
    double bore_diameter; /* [m] */
    double rod_diameter;  /* [m] */
};

static const struct sm_param params[] = {
    {.name = "bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct rod_and_tube, bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "inside diameter of the tube"},
    {.name = "rod_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct rod_and_tube, rod_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the rod"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct rod_and_tube *p = block;
    SM_TRY(sm_shape_below("bore_diameter", p->bore_diameter, "outer_diameter", common->outer_diameter, err));
    return sm_shape_below("rod_diameter", p->rod_diameter, "bore_diameter", p->bore_diameter, err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena, (void)common, (void)err;
    const struct rod_and_tube *p = block;
    sm_contour_circle(&out->contour, 0.0, 0.0, 0.5 * p->bore_diameter, 1);
    sm_contour_circle(&out->contour, 0.0, 0.0, 0.5 * p->rod_diameter, -1);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    (void)common;
    const struct rod_and_tube *p = block;
    sm_gauge_circle(out, "bore_diameter", (struct sm_point){0.0, 0.0}, 0.5 * p->bore_diameter, M_PI / 3.0,
                    false);
    sm_gauge_circle(out, "rod_diameter", (struct sm_point){0.0, 0.0}, 0.5 * p->rod_diameter, -M_PI / 6.0,
                    false);
}

const struct sm_shape sm_shape_rod_and_tube = {
    .name = "rod-and-tube",
    .summary = "rod inside a tube, burning towards each other's far walls; neutral while both burn",
    .size = sizeof(struct rod_and_tube),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"rod-and-tube\", \"outer_diameter\": \"60 mm\", \"length\": \"150 mm\","
               " \"bore_diameter\": \"40 mm\", \"rod_diameter\": \"20 mm\" }",
    .check = check,
    .section = section,
    .gauges = gauges,
};
