/* Dog-bone: two round lobes joined by a straight neck across the axis (NASA SP-8076, 1972). */
#include "grain/shape.h"

#include <math.h>

struct dog_bone {
    double lobe_diameter; /* [m] */
    double lobe_distance; /* [m] */
    double neck_width;    /* [m] */
};

static const struct sm_param params[] = {
    {.name = "lobe_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct dog_bone, lobe_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of a lobe"},
    {.name = "lobe_distance",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct dog_bone, lobe_distance),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "distance of a lobe's centre from the axis"},
    {.name = "neck_width",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct dog_bone, neck_width),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "width of the neck between the lobes"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct dog_bone *p = block;
    SM_TRY(sm_shape_below("neck_width", p->neck_width, "lobe_diameter", p->lobe_diameter, err));
    const double r = 0.5 * p->lobe_diameter, h = 0.5 * p->neck_width;
    SM_TRY(sm_shape_below("lobe_distance", p->lobe_distance, "what keeps the lobes within the grain",
                          0.5 * common->outer_diameter - r, err));
    return sm_shape_above("lobe_distance", p->lobe_distance, "what leaves a neck between the lobes",
                          sqrt((r - h) * (r + h)), err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena;
    (void)common, (void)err;
    const struct dog_bone *p = block;
    const double r = 0.5 * p->lobe_diameter, h = 0.5 * p->neck_width, d = p->lobe_distance;
    out->sectors = 2;
    sm_contour_start(&out->contour, d + r, 0.0);
    sm_contour_arc(&out->contour, d - sqrt((r - h) * (r + h)), h, d, 0.0, 1);
    sm_contour_line(&out->contour, 0.0, h);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    (void)common;
    const struct dog_bone *p = block;
    const double r = 0.5 * p->lobe_diameter, h = 0.5 * p->neck_width, d = p->lobe_distance;
    const double x = 0.5 * (d - sqrt((r - h) * (r + h)));
    sm_gauge_circle(out, "lobe_diameter", (struct sm_point){d, 0.0}, r, M_PI / 3.0, false);
    sm_gauge_length(out, "lobe_distance", (struct sm_point){-d, 0.0}, (struct sm_point){0.0, 0.0},
                    SM_GAUGE_HERE);
    sm_gauge_length(out, "neck_width", (struct sm_point){x, -h}, (struct sm_point){x, h}, SM_GAUGE_HERE);
}

const struct sm_shape sm_shape_dog_bone = {
    .name = "dog-bone",
    .summary = "two round lobes and a neck",
    .size = sizeof(struct dog_bone),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"dog-bone\", \"outer_diameter\": \"70 mm\", \"length\": \"180 mm\", "
               "\"lobe_diameter\": \"16 mm\", \"lobe_distance\": \"18 mm\", \"neck_width\": \"8 mm\" }",
    .check = check,
    .section = section,
    .gauges = gauges,
};
