/* Domed tube: a bore in a grain whose ends fill domes of the case, half-spheres or half-ellipsoids. */
#include "grain/shape.h"

#include <math.h>

struct domed_tube {
    double bore_diameter; /* [m] */
    double bore_length;   /* [m]; absent: right through */
    double fore_dome;     /* [m] */
    double aft_dome;      /* [m] */
};

static const struct sm_param params[] = {
    {.name = "bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct domed_tube, bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the bore"},
    {.name = "bore_length",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct domed_tube, bore_length),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_OPTIONAL,
     .help = "how far the bore goes in from the aft end, its round tip included; left out: right through"},
    {.name = "fore_dome",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct domed_tube, fore_dome),
     .min = 0.0,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "depth of the fore dome; half of outer_diameter for a half-sphere, 0 for a flat end"},
    {.name = "aft_dome",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct domed_tube, aft_dome),
     .min = 0.0,
     .max = 10.0,
     .fallback = 0.0,
     .help = "depth of the aft dome; 0 for a flat end"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct domed_tube *p = block;
    SM_TRY(sm_shape_below("bore_diameter", p->bore_diameter, "outer_diameter", common->outer_diameter, err));
    if (isnan(p->bore_length))
        return SM_OK;
    SM_TRY(sm_shape_below("bore_length", p->bore_length, "length", common->length, err));
    const double mouth =
        sm_meridian_dome_depth(0.5 * common->outer_diameter, p->aft_dome, 0.5 * p->bore_diameter);
    return sm_shape_above("bore_length", p->bore_length, "what its round tip and the aft dome take",
                          0.5 * p->bore_diameter + mouth, err);
}

static enum sm_status meridian(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *block, struct sm_meridian *out, struct sm_error *err)
{
    (void)arena;
    (void)err;
    const struct domed_tube *p = block;
    const double r = 0.5 * p->bore_diameter, radius = 0.5 * common->outer_diameter;
    out->fore_dome = p->fore_dome;
    out->aft_dome = p->aft_dome;
    sm_contour_start(&out->bore, common->length - sm_meridian_dome_depth(radius, p->aft_dome, r), r);
    if (isnan(p->bore_length)) {
        sm_contour_line(&out->bore, sm_meridian_dome_depth(radius, p->fore_dome, r), r);
        return SM_OK;
    }
    const double tip = common->length - p->bore_length;
    sm_contour_line(&out->bore, tip + r, r);
    sm_contour_arc(&out->bore, tip, 0.0, tip + r, 0.0, 1);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct domed_tube *p = block;
    const double radius = 0.5 * common->outer_diameter, r = 0.5 * p->bore_diameter, length = common->length;
    const double z = 0.7 * length;
    sm_gauge_length(out, "bore_diameter", (struct sm_point){z, -r}, (struct sm_point){z, r}, SM_GAUGE_HERE);
    if (!isnan(p->bore_length))
        sm_gauge_length(out, "bore_length", (struct sm_point){length - p->bore_length, 0.0},
                        (struct sm_point){length, -radius}, SM_GAUGE_BELOW);
    if (p->fore_dome > 0.0)
        sm_gauge_length(out, "fore_dome", (struct sm_point){0.0, 0.0},
                        (struct sm_point){p->fore_dome, radius}, SM_GAUGE_ABOVE);
    if (p->aft_dome > 0.0)
        sm_gauge_length(out, "aft_dome", (struct sm_point){length - p->aft_dome, radius},
                        (struct sm_point){length, 0.0}, SM_GAUGE_ABOVE);
}

const struct sm_shape sm_shape_domed_tube = {
    .name = "domed-tube",
    .summary = "bore in a grain with domed ends",
    .size = sizeof(struct domed_tube),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"domed-tube\", \"outer_diameter\": \"120 mm\", \"length\": \"240 mm\", "
               "\"bore_diameter\": \"36 mm\", \"bore_length\": \"200 mm\", \"fore_dome\": \"60 mm\" }",
    .check = check,
    .meridian = meridian,
    .gauges = gauges,
};
