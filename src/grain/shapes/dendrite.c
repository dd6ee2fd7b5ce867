/* Dendrite: a wagon wheel with long and short spokes in turn (NASA SP-8076, 1972). */
#include "grain/shape.h"
#include "grain/spoke.h"

#include <math.h>

struct dendrite {
    int spoke_pairs;
    double web;                 /* [m] */
    double fillet_radius;       /* [m] */
    double spoke_thickness;     /* [m] */
    double core_diameter;       /* [m] */
    double short_core_diameter; /* [m] */
    double tip_angle;           /* [rad] */
};

static const struct sm_param params[] = {
    {.name = "spoke_pairs",
     .kind = SM_WHOLE,
     .offset = offsetof(struct dendrite, spoke_pairs),
     .min = 1,
     .max = 32,
     .fallback = SM_REQUIRED,
     .help = "number of long spokes, and of short ones"},
    {.name = "web",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct dendrite, web),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "thickness of the ring that the spokes stand on"},
    {.name = "fillet_radius",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct dendrite, fillet_radius),
     .min = 0.0,
     .max = 10.0,
     .fallback = 0.0,
     .help = "rounding between spokes and ring; 0 for sharp corners"},
    {.name = "spoke_thickness",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct dendrite, spoke_thickness),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "thickness of a spoke"},
    {.name = "core_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct dendrite, core_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the circle on which the long spokes end"},
    {.name = "short_core_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct dendrite, short_core_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the circle on which the short spokes end"},
    {.name = "tip_angle",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_ANGLE,
     .offset = offsetof(struct dendrite, tip_angle),
     .min = 0.2,
     .max = M_PI_2,
     .fallback = M_PI_2,
     .help = "half of the angle at a spoke's end; 90 deg is flat"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct dendrite *p = block;
    const double ring = 0.5 * common->outer_diameter - p->web, half = 0.5 * M_PI / p->spoke_pairs;
    SM_TRY(sm_shape_below("web", p->web, "the outer radius", 0.5 * common->outer_diameter, err));
    const struct sm_spoke longer = {p->spoke_thickness, p->core_diameter, p->tip_angle};
    const struct sm_spoke shorter = {p->spoke_thickness, p->short_core_diameter, p->tip_angle};
    SM_TRY(sm_spoke_check(&longer, "core_diameter", ring, p->fillet_radius, half, err));
    SM_TRY(sm_spoke_check(&shorter, "short_core_diameter", ring, p->fillet_radius, half, err));
    return sm_shape_below("core_diameter", p->core_diameter, "short_core_diameter", p->short_core_diameter,
                          err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena;
    (void)err;
    const struct dendrite *p = block;
    const double ring = 0.5 * common->outer_diameter - p->web;
    const struct sm_spoke longer = {p->spoke_thickness, p->core_diameter, p->tip_angle};
    const struct sm_spoke shorter = {p->spoke_thickness, p->short_core_diameter, p->tip_angle};
    out->sectors = p->spoke_pairs;
    sm_spoke_add_outwards(&longer, ring, p->fillet_radius, &out->contour);
    sm_spoke_add_inwards(&shorter, ring, p->fillet_radius, M_PI / p->spoke_pairs, &out->contour);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct dendrite *p = block;
    const struct sm_spoke longer = {p->spoke_thickness, p->core_diameter, p->tip_angle};
    const struct sm_spoke shorter = {p->spoke_thickness, p->short_core_diameter, p->tip_angle};
    const double outer = 0.5 * common->outer_diameter, ring = outer - p->web;
    out->turn = -0.5 * M_PI / p->spoke_pairs;
    sm_gauge_length(out, "web", (struct sm_point){ring, 0.0}, (struct sm_point){outer, 0.0}, SM_GAUGE_HERE);
    out->turn = 0.0;
    sm_spoke_gauges(&longer, "core_diameter", ring, p->fillet_radius, true, out);
    out->turn = M_PI / p->spoke_pairs;
    sm_spoke_gauges(&shorter, "short_core_diameter", ring, p->fillet_radius, false, out);
}

const struct sm_shape sm_shape_dendrite = {
    .name = "dendrite",
    .summary = "long and short spokes in turn inside a ring",
    .size = sizeof(struct dendrite),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"dendrite\", \"outer_diameter\": \"120 mm\", \"length\": \"300 mm\", "
               "\"spoke_pairs\": 4, \"web\": \"12 mm\", \"fillet_radius\": \"2 mm\", \"spoke_thickness\": "
               "\"8 mm\", \"core_diameter\": \"30 mm\", \"short_core_diameter\": \"66 mm\" }",
    .check = check,
    .section = section,
    .gauges = gauges,
};
