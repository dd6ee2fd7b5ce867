/* Finocyl: fins in a cylinder; a round bore with radial slots along a part of its length. */
#include "grain/shape.h"
#include "grain/slot.h"

#include <math.h>

enum end { FORE, AFT };

struct finocyl {
    double bore_diameter; /* [m] */
    int fins;
    double fin_width;    /* [m] */
    double fin_diameter; /* [m] */
    double fin_length;   /* [m] */
    double tip_fillet;   /* [m]; absent: half of the width */
    int fin_end;
};

static const char *const ends[] = {"fore", "aft", NULL};

static const struct sm_param params[] = {
    {.name = "bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct finocyl, bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the bore"},
    {.name = "fins",
     .kind = SM_WHOLE,
     .offset = offsetof(struct finocyl, fins),
     .min = 2,
     .max = 64,
     .fallback = SM_REQUIRED,
     .help = "number of fins, which are slots in the wall of the bore"},
    {.name = "fin_width",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct finocyl, fin_width),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "width of a fin"},
    {.name = "fin_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct finocyl, fin_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the circle that the fins reach out to"},
    {.name = "fin_length",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct finocyl, fin_length),
     .min = 1e-4,
     .max = 100.0,
     .fallback = SM_REQUIRED,
     .help = "length of the fins along the bore, from one end of the grain"},
    {.name = "tip_fillet",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct finocyl, tip_fillet),
     .min = 0.0,
     .max = 10.0,
     .fallback = SM_OPTIONAL,
     .help = "rounding of a fin's two outer edges; left out: the tip is round; 0: it is square"},
    {.name = "fin_end",
     .kind = SM_CHOICE,
     .offset = offsetof(struct finocyl, fin_end),
     .fallback = AFT,
     .words = ends,
     .help = "the end of the grain that has the fins"},
};

/* A fin is a slot. */
static struct sm_slot slot_of(const struct finocyl *p)
{
    const double half = 0.5 * p->fin_width;
    return (struct sm_slot){.bore = 0.5 * p->bore_diameter,
                            .half_width = half,
                            .reach = 0.5 * p->fin_diameter,
                            .fillet = isnan(p->tip_fillet) ? half : p->tip_fillet};
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct finocyl *p = block;
    const struct sm_slot slot = slot_of(p);
    SM_TRY(sm_shape_below("fin_diameter", p->fin_diameter, "outer_diameter", common->outer_diameter, err));
    SM_TRY(sm_shape_above("fin_diameter", p->fin_diameter, "bore_diameter", p->bore_diameter, err));
    SM_TRY(sm_shape_below("fin_length", p->fin_length, "length (else it is a slotted tube)", common->length,
                          err));
    return sm_slot_check(&slot, "fin_width", M_PI / p->fins, err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena, (void)common, (void)err;
    const struct finocyl *p = block;
    const struct sm_slot slot = slot_of(p);
    out->sectors = p->fins;
    sm_slot_add_tip(&slot, &out->contour);
    sm_slot_add_side(&slot, M_PI / p->fins, &out->contour);
    return SM_OK;
}

static enum sm_status spliced(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_spliced *out, struct sm_error *err)
{
    const struct finocyl *p = block;
    const struct sm_slot slot = slot_of(p);
    const double r = slot.bore, ray = M_PI / p->fins;
    struct sm_splice *items = sm_arena_alloc(arena, 2, sizeof *items);
    if (!items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    struct sm_splice *finned = &items[p->fin_end == FORE ? 0 : 1],
                     *plain = &items[p->fin_end == FORE ? 1 : 0];
    const double joint = p->fin_end == FORE ? p->fin_length : common->length - p->fin_length;
    items[0].z1 = items[1].z0 = joint;
    items[1].z1 = common->length;
    sm_contour_init(&finned->contour, arena);
    sm_slot_add_tip(&slot, &finned->contour);
    sm_slot_add_side(&slot, ray, &finned->contour);
    sm_contour_init(&plain->contour, arena);
    sm_contour_start(&plain->contour, r, 0.0);
    sm_contour_arc(&plain->contour, r * cos(ray), r * sin(ray), 0.0, 0.0, 1);
    out->items = items;
    out->n = 2;
    out->sectors = p->fins;
    SM_TRY(sm_contour_check_memory(&finned->contour, err));
    return sm_contour_check_memory(&plain->contour, err);
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct finocyl *p = block;
    const struct sm_slot slot = slot_of(p);
    const struct sm_point axis = {0.0, 0.0};
    const double radius = 0.5 * common->outer_diameter, length = common->length;
    sm_gauge_circle(out, "bore_diameter", axis, slot.bore, M_PI / p->fins, true);
    sm_gauge_circle(out, "fin_diameter", axis, slot.reach, 0.0, true);
    out->turn = 2.0 * M_PI / p->fins;
    sm_slot_gauges(&slot, "fin_width", isnan(p->tip_fillet) ? NULL : "tip_fillet", out);
    out->turn = 0.0;
    out->is_along = true;
    const struct sm_point joint = {p->fin_end == FORE ? p->fin_length : length - p->fin_length, radius};
    sm_gauge_length(out, "fin_length", joint, (struct sm_point){p->fin_end == FORE ? 0.0 : length, radius},
                    SM_GAUGE_ABOVE);
}

const struct sm_shape sm_shape_finocyl = {
    .name = "finocyl",
    .summary = "round bore with fins along a part of it",
    .size = sizeof(struct finocyl),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END,
    .burning = SM_FACE_BORE,
    .example =
        "{ \"shape\": \"finocyl\", \"outer_diameter\": \"100 mm\", \"length\": \"220 mm\","
        " \"bore_diameter\": \"34 mm\", \"fins\": 6, \"fin_width\": \"6 mm\", \"fin_diameter\": \"76 mm\","
        " \"fin_length\": \"90 mm\" }",
    .check = check,
    .section = section,
    .spliced = spliced,
    .gauges = gauges,
};
