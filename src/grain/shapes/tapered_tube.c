/* Tapered tube: a conical bore. */
#include "grain/shape.h"

#include <math.h>

struct tapered_tube {
    double fore_bore_diameter; /* [m] */
    double aft_bore_diameter;  /* [m] */
};

static const struct sm_param params[] = {
    {.name = "fore_bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct tapered_tube, fore_bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the bore at the fore end"},
    {.name = "aft_bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct tapered_tube, aft_bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the bore at the aft end"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct tapered_tube *p = block;
    SM_TRY(sm_shape_below("fore_bore_diameter", p->fore_bore_diameter, "outer_diameter",
                          common->outer_diameter, err));
    return sm_shape_below("aft_bore_diameter", p->aft_bore_diameter, "outer_diameter", common->outer_diameter,
                          err);
}

static enum sm_status meridian(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *block, struct sm_meridian *out, struct sm_error *err)
{
    (void)arena;
    (void)err;
    const struct tapered_tube *p = block;
    sm_contour_start(&out->bore, common->length, 0.5 * p->aft_bore_diameter);
    sm_contour_line(&out->bore, 0.0, 0.5 * p->fore_bore_diameter);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct tapered_tube *p = block;
    const double off = 0.02 * common->length, length = common->length;
    const double fore = 0.5 * p->fore_bore_diameter, aft = 0.5 * p->aft_bore_diameter;
    sm_gauge_length(out, "fore_bore_diameter", (struct sm_point){off, -fore}, (struct sm_point){off, fore},
                    SM_GAUGE_HERE);
    sm_gauge_length(out, "aft_bore_diameter", (struct sm_point){length - off, -aft},
                    (struct sm_point){length - off, aft}, SM_GAUGE_HERE);
}

const struct sm_shape sm_shape_tapered_tube = {
    .name = "tapered-tube",
    .summary = "conical bore",
    .size = sizeof(struct tapered_tube),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END,
    .example = "{ \"shape\": \"tapered-tube\", \"outer_diameter\": \"60 mm\", \"length\": \"110 mm\", "
               "\"fore_bore_diameter\": \"18 mm\", \"aft_bore_diameter\": \"26 mm\" }",
    .check = check,
    .meridian = meridian,
    .gauges = gauges,
};
