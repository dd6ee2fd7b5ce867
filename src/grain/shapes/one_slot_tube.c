/* One-slot tube: a round bore with one radial slot, which may go right through the wall. */
#include "grain/shape.h"
#include "grain/slot.h"

#include <math.h>

struct one_slot_tube {
    double bore_diameter; /* [m] */
    double slot_width;    /* [m] */
    double slot_reach;    /* [m]; absent: through the wall */
    double tip_fillet;    /* [m]; absent: half of the width */
};

static const struct sm_param params[] = {
    {.name = "bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct one_slot_tube, bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the bore"},
    {.name = "slot_width",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct one_slot_tube, slot_width),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "width of the slot"},
    {.name = "slot_reach",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct one_slot_tube, slot_reach),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_OPTIONAL,
     .help = "distance from the axis to the slot's end; left out: the slot goes through the wall"},
    {.name = "tip_fillet",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct one_slot_tube, tip_fillet),
     .min = 0.0,
     .max = 10.0,
     .fallback = SM_OPTIONAL,
     .help = "rounding of the slot's two outer corners; left out: the end is round; 0: it is square"},
};

static struct sm_slot slot_of(const struct one_slot_tube *p)
{
    const double half = 0.5 * p->slot_width;
    return (struct sm_slot){.bore = 0.5 * p->bore_diameter,
                            .half_width = half,
                            .reach = p->slot_reach,
                            .fillet = isnan(p->tip_fillet) ? half : p->tip_fillet};
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct one_slot_tube *p = block;
    struct sm_slot slot = slot_of(p);
    SM_TRY(sm_shape_below("bore_diameter", p->bore_diameter, "outer_diameter", common->outer_diameter, err));
    if (isnan(p->slot_reach))
        return sm_shape_below("slot_width", p->slot_width, "bore_diameter", p->bore_diameter, err);
    SM_TRY(
        sm_shape_below("slot_reach", p->slot_reach, "the outer radius", 0.5 * common->outer_diameter, err));
    SM_TRY(sm_shape_above("slot_reach", p->slot_reach, "the bore's radius", slot.bore, err));
    return sm_slot_check(&slot, "slot_width", M_PI, err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena;
    (void)err;
    const struct one_slot_tube *p = block;
    const struct sm_slot slot = slot_of(p);
    const double outer = 0.5 * common->outer_diameter;
    out->sectors = 1;
    if (!isnan(p->slot_reach)) {
        sm_slot_add_tip(&slot, &out->contour);
    } else {
        const double x = sqrt((outer - slot.half_width) * (outer + slot.half_width));
        if (out->outer == SM_OUTER_BURNS) {
            out->outer = SM_OUTER_IN_CHAINS;
            sm_contour_start(&out->contour, -outer, 0.0);
            sm_contour_arc(&out->contour, x, slot.half_width, 0.0, 0.0, -1);
        } else {
            sm_contour_start(&out->contour, x, slot.half_width);
        }
    }
    sm_slot_add_side(&slot, M_PI, &out->contour);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct one_slot_tube *p = block;
    struct sm_slot slot = slot_of(p);
    const struct sm_point axis = {0.0, 0.0};
    const bool is_through = isnan(p->slot_reach);
    sm_gauge_circle(out, "bore_diameter", axis, slot.bore, 2.0 * M_PI / 3.0, false);
    if (!is_through)
        sm_gauge_length(out, "slot_reach", axis, (struct sm_point){slot.reach, 0.0}, SM_GAUGE_HERE);
    slot.reach = is_through ? 0.5 * common->outer_diameter : slot.reach;
    sm_slot_gauges(&slot, "slot_width", is_through || isnan(p->tip_fillet) ? NULL : "tip_fillet", out);
}

const struct sm_shape sm_shape_one_slot_tube = {
    .name = "one-slot-tube",
    .summary = "round bore with one slot",
    .size = sizeof(struct one_slot_tube),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"one-slot-tube\", \"outer_diameter\": \"60 mm\", \"length\": \"150 mm\", "
               "\"bore_diameter\": \"18 mm\", \"slot_width\": \"6 mm\" }",
    .check = check,
    .section = section,
    .gauges = gauges,
};
