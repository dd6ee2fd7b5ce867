/* Conocyl: a bore with a conical slot all round it (NASA SP-8076, 1972). */
#include "grain/coneslot.h"
#include "grain/shape.h"

#include <math.h>

struct conocyl {
    double bore_diameter; /* [m] */
    double slot_position; /* [m] */
    double slot_width;    /* [m] */
    double slot_angle;    /* [rad] */
    double slot_diameter; /* [m] */
};

static const struct sm_param params[] = {
    {.name = "bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct conocyl, bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the bore"},
    {.name = "slot_position",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct conocyl, slot_position),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "distance from the fore face at which the middle of the slot leaves the bore"},
    {.name = "slot_width",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct conocyl, slot_width),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "width of the slot"},
    {.name = "slot_angle",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_ANGLE,
     .offset = offsetof(struct conocyl, slot_angle),
     .min = 0.2,
     .max = M_PI - 0.2,
     .fallback = SM_REQUIRED,
     .help = "angle of the slot from the axis: below 90 deg it leans forwards, at 90 deg it stands straight, "
             "above it leans towards the nozzle"},
    {.name = "slot_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct conocyl, slot_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter that the round end of the slot reaches"},
};

static struct sm_coneslot slot_of(const struct conocyl *p)
{
    return sm_coneslot_find(p->bore_diameter, p->slot_position, p->slot_width, p->slot_angle,
                            p->slot_diameter);
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct sm_coneslot slot = slot_of(block);
    return sm_coneslot_check(&slot, common->outer_diameter, common->length, err);
}

static enum sm_status meridian(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *block, struct sm_meridian *out, struct sm_error *err)
{
    (void)arena;
    (void)err;
    const struct sm_coneslot slot = slot_of(block);
    sm_contour_start(&out->bore, common->length, slot.bore);
    sm_coneslot_add_wall(&slot, 0.0, &out->bore);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct sm_coneslot slot = slot_of(block);
    const double z = 0.8 * common->length;
    sm_gauge_length(out, "bore_diameter", (struct sm_point){z, -slot.bore}, (struct sm_point){z, slot.bore},
                    SM_GAUGE_HERE);
    sm_coneslot_gauges(&slot, 0.5 * common->outer_diameter, out);
}

const struct sm_shape sm_shape_conocyl = {
    .name = "conocyl",
    .summary = "bore with a conical slot round it",
    .size = sizeof(struct conocyl),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE,
    .example = "{ \"shape\": \"conocyl\", \"outer_diameter\": \"100 mm\", \"length\": \"220 mm\", "
               "\"bore_diameter\": \"30 mm\", \"slot_position\": \"90 mm\", \"slot_width\": \"6 mm\", "
               "\"slot_angle\": \"50 deg\", \"slot_diameter\": \"70 mm\" }",
    .check = check,
    .meridian = meridian,
    .gauges = gauges,
};
