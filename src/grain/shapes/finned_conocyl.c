/* Conocyl with fins: a bore with a conical slot all round it, and radial slots along a part of its length. */
#include "grain/coneslot.h"
#include "grain/shape.h"
#include "grain/slot.h"

#include <math.h>

enum end { FORE, AFT };

struct finned_conocyl {
    double bore_diameter; /* [m] */
    double slot_position; /* [m] */
    double slot_width;    /* [m] */
    double slot_angle;    /* [rad] */
    double slot_diameter; /* [m] */
    int fins;
    double fin_width;    /* [m] */
    double fin_diameter; /* [m] */
    double fin_length;   /* [m] */
    double tip_fillet;   /* [m]; absent: half of the width */
    int fin_end;
    int fineness;
};

static const char *const ends[] = {"fore", "aft", NULL};

#define LENGTH_ROW(field, least, most, absent, words)                                                        \
    {                                                                                                        \
        .name = #field, .kind = SM_QUANTITY, .dim = SM_DIM_LENGTH,                                           \
        .offset = offsetof(struct finned_conocyl, field), .min = (least), .max = (most),                     \
        .fallback = (absent), .help = (words)                                                                \
    }

static const struct sm_param params[] = {
    LENGTH_ROW(bore_diameter, 1e-4, 10.0, SM_REQUIRED, "diameter of the bore"),
    LENGTH_ROW(slot_position, 1e-4, 10.0, SM_REQUIRED,
               "distance from the fore face at which the middle of the conical slot leaves the bore"),
    LENGTH_ROW(slot_width, 1e-4, 10.0, SM_REQUIRED, "width of the conical slot"),
    {.name = "slot_angle",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_ANGLE,
     .offset = offsetof(struct finned_conocyl, slot_angle),
     .min = 0.2,
     .max = M_PI - 0.2,
     .fallback = SM_REQUIRED,
     .help = "angle of the slot from the axis: below 90 deg it leans forwards, at 90 deg it stands straight, "
             "above it leans towards the nozzle"},
    LENGTH_ROW(slot_diameter, 1e-4, 10.0, SM_REQUIRED,
               "diameter that the round end of the conical slot reaches"),
    {.name = "fins",
     .kind = SM_WHOLE,
     .offset = offsetof(struct finned_conocyl, fins),
     .min = 2,
     .max = 64,
     .fallback = SM_REQUIRED,
     .help = "number of fins, which are slots in the wall of the bore along its axis"},
    LENGTH_ROW(fin_width, 1e-4, 10.0, SM_REQUIRED, "width of a fin"),
    LENGTH_ROW(fin_diameter, 1e-4, 10.0, SM_REQUIRED, "diameter of the circle that the fins reach out to"),
    LENGTH_ROW(fin_length, 1e-4, 100.0, SM_REQUIRED,
               "length of the fins along the bore, from one end of the grain; they may run through the "
               "conical slot"),
    LENGTH_ROW(tip_fillet, 0.0, 10.0, SM_OPTIONAL,
               "rounding of a fin's two outer edges; left out: the tip is round; 0: it is square"),
    {.name = "fin_end",
     .kind = SM_CHOICE,
     .offset = offsetof(struct finned_conocyl, fin_end),
     .fallback = AFT,
     .words = ends,
     .help = "the end of the grain that has the fins"},
    {.name = "fineness",
     .kind = SM_WHOLE,
     .offset = offsetof(struct finned_conocyl, fineness),
     .min = 8,
     .max = 256,
     .fallback = 32,
     .help = "smallest cells of the burning surface to the grain's radius: the error of its area, about 2e-5 "
             "at 32 on average, falls with the square, the time grows in proportion"},
};

static struct sm_coneslot cone_of(const struct finned_conocyl *p)
{
    return sm_coneslot_find(p->bore_diameter, p->slot_position, p->slot_width, p->slot_angle,
                            p->slot_diameter);
}

/* A fin is a slot. */
static struct sm_slot slot_of(const struct finned_conocyl *p)
{
    const double half = 0.5 * p->fin_width;
    return (struct sm_slot){.bore = 0.5 * p->bore_diameter,
                            .half_width = half,
                            .reach = 0.5 * p->fin_diameter,
                            .fillet = isnan(p->tip_fillet) ? half : p->tip_fillet};
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct finned_conocyl *p = block;
    const struct sm_coneslot cone = cone_of(p);
    const struct sm_slot slot = slot_of(p);
    SM_TRY(sm_coneslot_check(&cone, common->outer_diameter, common->length, err));
    SM_TRY(sm_shape_below("fin_diameter", p->fin_diameter, "outer_diameter", common->outer_diameter, err));
    SM_TRY(sm_shape_above("fin_diameter", p->fin_diameter, "bore_diameter", p->bore_diameter, err));
    SM_TRY(sm_shape_below("fin_length", p->fin_length, "length", common->length, err));
    return sm_slot_check(&slot, "fin_width", M_PI / p->fins, err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena, (void)common, (void)err;
    const struct finned_conocyl *p = block;
    const struct sm_slot slot = slot_of(p);
    out->sectors = p->fins;
    sm_slot_add_tip(&slot, &out->contour);
    sm_slot_add_side(&slot, M_PI / p->fins, &out->contour);
    return SM_OK;
}

/* ---- the solids ---- */

static struct sm_void upright(enum sm_solid_form form, struct sm_triple at)
{
    struct sm_void v = {.solid = {.form = form, .at = at}, .count = 1};
    sm_solid_aim(&v.solid, 0.0, 0.0, 0.0);
    return v;
}

/* Fins are boxes on the x axis. What is rounded of their inner ends lies beyond the axis, in the bore. */
static struct sm_void find_fins(const struct finned_conocyl *p, double length, double over)
{
    const struct sm_slot s = slot_of(p);
    const double z0 = p->fin_end == FORE ? -over : length - p->fin_length,
                 long_half = 0.5 * (p->fin_length + over);
    struct sm_void v =
        upright(SM_SOLID_BOX, (struct sm_triple){0.5 * (s.reach - s.fillet), 0.0, z0 + long_half});
    v.count = p->fins;
    v.solid.a = 0.5 * (s.reach + s.fillet);
    v.solid.b = s.half_width;
    v.solid.c = long_half;
    v.solid.fillet = s.fillet;
    return v;
}

/* Bore and fins go on beyond the faces that they come out of, so that they are open there. */
static enum sm_status voids(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                            struct sm_voids *out, struct sm_error *err)
{
    const struct finned_conocyl *p = block;
    const struct sm_coneslot cone = cone_of(p);
    const double over = 0.5 * common->outer_diameter;
    struct sm_void *items = sm_arena_alloc(arena, 2, sizeof *items);
    struct sm_turned *turned = sm_arena_alloc(arena, 1, sizeof *turned);
    if (!items || !turned)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    struct sm_contour bore;
    sm_contour_init(&bore, arena);
    sm_contour_start(&bore, common->length + over, 0.0);
    sm_contour_line(&bore, common->length + over, cone.bore);
    sm_coneslot_add_wall(&cone, -over, &bore);
    sm_contour_line(&bore, -over, 0.0);
    SM_TRY(sm_turned_make(arena, &bore, hypot(common->outer_diameter, common->length), turned, err));
    items[0] = upright(SM_SOLID_TURNED, (struct sm_triple){0.0, 0.0, 0.0});
    items[0].solid.turned = turned;
    items[1] = find_fins(p, common->length, over);
    out->items = items;
    out->n = 2;
    out->fineness = p->fineness;
    return SM_OK;
}

/* Fins across the axis; the rest along it, in the cut that holds the first fin. */
static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct finned_conocyl *p = block;
    const struct sm_coneslot cone = cone_of(p);
    const struct sm_slot slot = slot_of(p);
    const struct sm_point axis = {0.0, 0.0};
    const double radius = 0.5 * common->outer_diameter, end = p->fin_end == FORE ? 0.0 : common->length,
                 joint = p->fin_end == FORE ? p->fin_length : common->length - p->fin_length;
    sm_gauge_circle(out, "bore_diameter", axis, slot.bore, M_PI / p->fins, true);
    sm_gauge_circle(out, "fin_diameter", axis, slot.reach, 0.0, true);
    out->turn = 2.0 * M_PI / p->fins;
    sm_slot_gauges(&slot, "fin_width", isnan(p->tip_fillet) ? NULL : "tip_fillet", out);
    out->turn = 0.0;
    out->is_along = true;
    sm_coneslot_gauges(&cone, radius, out);
    sm_gauge_length(out, "fin_length", (struct sm_point){joint, radius}, (struct sm_point){end, radius},
                    SM_GAUGE_ABOVE);
}

const struct sm_shape sm_shape_finned_conocyl = {
    .name = "finned-conocyl",
    .summary = "bore with a conical slot round it, and fins along a part of it",
    .size = sizeof(struct finned_conocyl),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END,
    .burning = SM_FACE_BORE,
    .example =
        "{ \"shape\": \"finned-conocyl\", \"outer_diameter\": \"100 mm\", \"length\": \"220 mm\", "
        "\"bore_diameter\": \"30 mm\", \"slot_position\": \"80 mm\", \"slot_width\": \"6 mm\", "
        "\"slot_angle\": \"50 deg\", \"slot_diameter\": \"70 mm\", \"fins\": 6, \"fin_width\": \"6 mm\", "
        "\"fin_diameter\": \"70 mm\", \"fin_length\": \"90 mm\" }",
    .check = check,
    .section = section,
    .voids = voids,
    .gauges = gauges,
};
