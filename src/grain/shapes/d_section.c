/* D-section: a flat face parallel to the axis, void on one side of it and propellant on the other. */
#include "grain/shape.h"

#include <math.h>

struct d_section {
    double flat_distance; /* [m] */
};

static const struct sm_param params[] = {
    {.name = "flat_distance",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct d_section, flat_distance),
     .min = -10.0,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "distance of the flat from the axis, towards the void: negative if less than half of the "
             "section is propellant"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct d_section *p = block;
    return sm_shape_below("flat_distance", fabs(p->flat_distance), "the outer radius",
                          0.5 * common->outer_diameter, err);
}

/* The void lies towards positive x. */
static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena;
    (void)err;
    const struct d_section *p = block;
    const double outer = 0.5 * common->outer_diameter, x = p->flat_distance,
                 y = sqrt((outer - x) * (outer + x));
    out->sectors = 1;
    if (out->outer == SM_OUTER_BURNS) {
        out->outer = SM_OUTER_IN_CHAINS;
        sm_contour_start(&out->contour, -outer, 0.0);
        sm_contour_arc(&out->contour, x, y, 0.0, 0.0, -1);
    } else {
        sm_contour_start(&out->contour, x, y);
    }
    sm_contour_line(&out->contour, x, 0.0);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    (void)common;
    const struct d_section *p = block;
    const struct sm_point axis = {0.0, 0.0}, flat = {p->flat_distance, 0.0};
    if (p->flat_distance != 0.0)
        sm_gauge_length(out, "flat_distance", axis, flat, SM_GAUGE_HERE);
}

const struct sm_shape sm_shape_d_section = {
    .name = "d-section",
    .summary = "one flat burning face along the grain",
    .size = sizeof(struct d_section),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"d-section\", \"outer_diameter\": \"50 mm\", \"length\": \"120 mm\", "
               "\"flat_distance\": \"10 mm\" }",
    .check = check,
    .section = section,
    .gauges = gauges,
};
