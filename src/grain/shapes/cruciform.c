/* Cruciform: arms of propellant out to the case, which burn at their sides; their tips may burn too. */
#include "grain/shape.h"

#include <math.h>

struct cruciform {
    int arms;
    double arm_thickness; /* [m] */
    double root_fillet;   /* [m] */
};

static const struct sm_param params[] = {
    {.name = "arms",
     .kind = SM_WHOLE,
     .offset = offsetof(struct cruciform, arms),
     .min = 2,
     .max = 16,
     .fallback = 4,
     .help = "number of arms"},
    {.name = "arm_thickness",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct cruciform, arm_thickness),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "thickness of an arm"},
    {.name = "root_fillet",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct cruciform, root_fillet),
     .min = 0.0,
     .max = 10.0,
     .fallback = 0.0,
     .help = "rounding of the corners between arms; 0 for sharp ones"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct cruciform *p = block;
    const double outer = 0.5 * common->outer_diameter, h = 0.5 * p->arm_thickness, angle = M_PI / p->arms;
    SM_TRY(sm_shape_below("arm_thickness", p->arm_thickness, "what leaves a void between the arms",
                          2.0 * outer * sin(angle), err));
    if (p->arms == 2 && p->root_fillet > 0.0)
        return sm_at(err, sm_fail(err, SM_E_GEOMETRY, "two arms make a bar, without corners to round"),
                     "/root_fillet");
    if (p->arms == 2)
        return SM_OK;
    return sm_shape_below("root_fillet", p->root_fillet, "what has room between the arms",
                          sqrt((outer - h) * (outer + h)) * tan(angle) - h, err);
}

/* From the root on the second ray along the side of the arm that lies on the first. */
static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena;
    (void)err;
    const struct cruciform *p = block;
    const double outer = 0.5 * common->outer_diameter, h = 0.5 * p->arm_thickness, angle = M_PI / p->arms;
    const double centre = (h + p->root_fillet) / sin(angle), start = centre - p->root_fillet;
    struct sm_contour *c = &out->contour;
    out->sectors = p->arms;
    sm_contour_start(c, p->arms == 2 ? 0.0 : start * cos(angle), start * sin(angle));
    if (p->root_fillet > 0.0)
        sm_contour_arc(c, centre * cos(angle), h, centre * cos(angle), centre * sin(angle), 1);
    sm_contour_line(c, sqrt((outer - h) * (outer + h)), h);
    if (out->outer == SM_OUTER_BURNS) {
        out->outer = SM_OUTER_IN_CHAINS;
        sm_contour_arc(c, outer, 0.0, 0.0, 0.0, -1);
    }
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct cruciform *p = block;
    const double outer = 0.5 * common->outer_diameter, h = 0.5 * p->arm_thickness, angle = M_PI / p->arms;
    const double centre = (h + p->root_fillet) / sin(angle), start = centre - p->root_fillet;
    const struct sm_point ray = {cos(angle), sin(angle)}, axis = {0.0, 0.0};
    if (p->root_fillet > 0.0)
        sm_gauge_radius(out, "root_fillet", sm_point_along(axis, centre, ray),
                        sm_point_along(axis, start, ray));
    out->turn = 2.0 * angle;
    sm_gauge_length(out, "arm_thickness", (struct sm_point){0.75 * outer, h},
                    (struct sm_point){0.75 * outer, -h}, SM_GAUGE_HERE);
}

const struct sm_shape sm_shape_cruciform = {
    .name = "cruciform",
    .summary = "cross of propellant burning at its sides",
    .size = sizeof(struct cruciform),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"cruciform\", \"outer_diameter\": \"80 mm\", \"length\": \"200 mm\", "
               "\"arm_thickness\": \"22 mm\", \"root_fillet\": \"3 mm\" }",
    .check = check,
    .section = section,
    .gauges = gauges,
};
