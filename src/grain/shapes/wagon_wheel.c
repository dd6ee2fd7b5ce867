/* Wagon wheel: spokes of even thickness point inwards from a ring of propellant (NASA SP-8076, 1972). */
#include "grain/shape.h"
#include "grain/spoke.h"

#include <math.h>

struct wagon_wheel {
    int spokes;
    double web;             /* [m] */
    double fillet_radius;   /* [m] */
    double spoke_thickness; /* [m] */
    double core_diameter;   /* [m] */
    double tip_angle;       /* [rad] */
};

static const struct sm_param params[] = {
    {.name = "spokes",
     .kind = SM_WHOLE,
     .offset = offsetof(struct wagon_wheel, spokes),
     .min = 2,
     .max = 64,
     .fallback = SM_REQUIRED,
     .help = "number of spokes"},
    {.name = "web",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct wagon_wheel, web),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "thickness of the ring that the spokes stand on"},
    {.name = "fillet_radius",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct wagon_wheel, fillet_radius),
     .min = 0.0,
     .max = 10.0,
     .fallback = 0.0,
     .help = "rounding between spokes and ring; 0 for sharp corners"},
    {.name = "spoke_thickness",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct wagon_wheel, spoke_thickness),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "thickness of a spoke"},
    {.name = "core_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct wagon_wheel, core_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the circle on which the spokes end"},
    {.name = "tip_angle",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_ANGLE,
     .offset = offsetof(struct wagon_wheel, tip_angle),
     .min = 0.2,
     .max = M_PI_2,
     .fallback = M_PI_2,
     .help = "half of the angle at a spoke's end; 90 deg is flat"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct wagon_wheel *p = block;
    SM_TRY(sm_shape_below("web", p->web, "the outer radius", 0.5 * common->outer_diameter, err));
    const struct sm_spoke spoke = {p->spoke_thickness, p->core_diameter, p->tip_angle};
    return sm_spoke_check(&spoke, "core_diameter", 0.5 * common->outer_diameter - p->web, p->fillet_radius,
                          M_PI / p->spokes, err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena;
    (void)err;
    const struct wagon_wheel *p = block;
    const struct sm_spoke spoke = {p->spoke_thickness, p->core_diameter, p->tip_angle};
    const double ring = 0.5 * common->outer_diameter - p->web;
    out->sectors = p->spokes;
    sm_contour_start(&out->contour, ring, 0.0);
    sm_spoke_add_inwards(&spoke, ring, p->fillet_radius, M_PI / p->spokes, &out->contour);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct wagon_wheel *p = block;
    const struct sm_spoke spoke = {p->spoke_thickness, p->core_diameter, p->tip_angle};
    const double outer = 0.5 * common->outer_diameter, ring = outer - p->web;
    sm_gauge_length(out, "web", (struct sm_point){ring, 0.0}, (struct sm_point){outer, 0.0}, SM_GAUGE_HERE);
    out->turn = M_PI / p->spokes;
    sm_spoke_gauges(&spoke, "core_diameter", ring, p->fillet_radius, true, out);
}

const struct sm_shape sm_shape_wagon_wheel = {
    .name = "wagon-wheel",
    .summary = "spokes of even thickness inside a ring",
    .size = sizeof(struct wagon_wheel),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"wagon-wheel\", \"outer_diameter\": \"100 mm\", \"length\": \"250 mm\", "
               "\"spokes\": 6, \"web\": \"12 mm\", \"fillet_radius\": \"2 mm\", \"spoke_thickness\": \"9 "
               "mm\", \"core_diameter\": \"28 mm\" }",
    .check = check,
    .section = section,
    .gauges = gauges,
};
