/* Slotted tube: a round bore with radial slots all along. */
#include "grain/shape.h"
#include "grain/slot.h"

#include <math.h>

struct slotted_tube {
    int slots;
    double bore_diameter; /* [m] */
    double slot_width;    /* [m] */
    double slot_diameter; /* [m] */
    double tip_fillet;    /* [m]; absent: half of the width */
};

static const struct sm_param params[] = {
    {.name = "slots",
     .kind = SM_WHOLE,
     .offset = offsetof(struct slotted_tube, slots),
     .min = 2,
     .max = 64,
     .fallback = SM_REQUIRED,
     .help = "number of slots"},
    {.name = "bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct slotted_tube, bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the bore"},
    {.name = "slot_width",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct slotted_tube, slot_width),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "width of a slot"},
    {.name = "slot_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct slotted_tube, slot_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the circle that the slots reach out to"},
    {.name = "tip_fillet",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct slotted_tube, tip_fillet),
     .min = 0.0,
     .max = 10.0,
     .fallback = SM_OPTIONAL,
     .help = "rounding of a slot's two outer corners; left out: the end is round; 0: it is square"},
};

static struct sm_slot slot_of(const struct slotted_tube *p)
{
    const double half = 0.5 * p->slot_width;
    return (struct sm_slot){.bore = 0.5 * p->bore_diameter,
                            .half_width = half,
                            .reach = 0.5 * p->slot_diameter,
                            .fillet = isnan(p->tip_fillet) ? half : p->tip_fillet};
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct slotted_tube *p = block;
    const struct sm_slot slot = slot_of(p);
    SM_TRY(sm_shape_below("slot_diameter", p->slot_diameter, "outer_diameter", common->outer_diameter, err));
    SM_TRY(sm_shape_above("slot_diameter", p->slot_diameter, "bore_diameter", p->bore_diameter, err));
    return sm_slot_check(&slot, "slot_width", M_PI / p->slots, err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena;
    (void)common, (void)err;
    const struct slotted_tube *p = block;
    const struct sm_slot slot = slot_of(p);
    out->sectors = p->slots;
    sm_slot_add_tip(&slot, &out->contour);
    sm_slot_add_side(&slot, M_PI / p->slots, &out->contour);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    (void)common;
    const struct slotted_tube *p = block;
    const struct sm_slot slot = slot_of(p);
    const struct sm_point axis = {0.0, 0.0};
    sm_gauge_circle(out, "bore_diameter", axis, slot.bore, M_PI / p->slots, true);
    sm_gauge_circle(out, "slot_diameter", axis, slot.reach, 0.0, true);
    out->turn = 2.0 * M_PI / p->slots;
    sm_slot_gauges(&slot, "slot_width", isnan(p->tip_fillet) ? NULL : "tip_fillet", out);
}

const struct sm_shape sm_shape_slotted_tube = {
    .name = "slotted-tube",
    .summary = "round bore with radial slots",
    .size = sizeof(struct slotted_tube),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example =
        "{ \"shape\": \"slotted-tube\", \"outer_diameter\": \"80 mm\", \"length\": \"200 mm\", \"slots\": 4, "
        "\"bore_diameter\": \"24 mm\", \"slot_width\": \"5 mm\", \"slot_diameter\": \"60 mm\" }",
    .check = check,
    .section = section,
    .gauges = gauges,
};
