/* Conocyl with fins: a bore with a conical slot all round it, and radial slots along a part of its length. */
#include "grain/coneslot.h"
#include "grain/fins.h"
#include "grain/shape.h"

#include <math.h>

struct finned_conocyl {
    struct sm_fins fins;
    double slot_position; /* [m] */
    double slot_width;    /* [m] */
    double slot_angle;    /* [rad] */
    double slot_diameter; /* [m] */
    int fineness;
};

#define LENGTH_ROW(key, field, least, most, absent, words)                                                   \
    {                                                                                                        \
        .name = #key, .kind = SM_QUANTITY, .dim = SM_DIM_LENGTH,                                             \
        .offset = offsetof(struct finned_conocyl, field), .min = (least), .max = (most),                     \
        .fallback = (absent), .help = (words)                                                                \
    }

static const struct sm_param params[] = {
    LENGTH_ROW(bore_diameter, fins.bore_diameter, 1e-4, 10.0, SM_REQUIRED, "diameter of the bore"),
    LENGTH_ROW(slot_position, slot_position, 1e-4, 10.0, SM_REQUIRED,
               "distance from the fore face at which the middle of the conical slot leaves the bore"),
    LENGTH_ROW(slot_width, slot_width, 1e-4, 10.0, SM_REQUIRED, "width of the conical slot"),
    {.name = "slot_angle",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_ANGLE,
     .offset = offsetof(struct finned_conocyl, slot_angle),
     .min = 0.2,
     .max = M_PI - 0.2,
     .fallback = SM_REQUIRED,
     .help = "angle of the slot from the axis: below 90 deg it leans forwards, at 90 deg it stands straight, "
             "above it leans towards the nozzle"},
    LENGTH_ROW(slot_diameter, slot_diameter, 1e-4, 10.0, SM_REQUIRED,
               "diameter that the round end of the conical slot reaches"),
    {.name = "fins",
     .kind = SM_WHOLE,
     .offset = offsetof(struct finned_conocyl, fins.count),
     .min = 2,
     .max = 64,
     .fallback = SM_REQUIRED,
     .help = "number of fins, which are slots in the wall of the bore along its axis"},
    LENGTH_ROW(fin_width, fins.width, 1e-4, 10.0, SM_REQUIRED, "width of a fin"),
    LENGTH_ROW(fin_diameter, fins.diameter, 1e-4, 10.0, SM_REQUIRED,
               "diameter of the circle that the fins reach out to"),
    LENGTH_ROW(fin_length, fins.length, 1e-4, 100.0, SM_REQUIRED,
               "length of the fins along the bore, from one end of the grain; they may run through the "
               "conical slot"),
    LENGTH_ROW(tip_fillet, fins.tip_fillet, 0.0, 10.0, SM_OPTIONAL,
               "rounding of a fin's two outer edges; left out: the tip is round; 0: it is square"),
    {.name = "fin_end",
     .kind = SM_CHOICE,
     .offset = offsetof(struct finned_conocyl, fins.end),
     .fallback = SM_FINS_AFT,
     .words = sm_fin_ends,
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
    return sm_coneslot_find(p->fins.bore_diameter, p->slot_position, p->slot_width, p->slot_angle,
                            p->slot_diameter);
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct finned_conocyl *p = block;
    const struct sm_coneslot cone = cone_of(p);
    SM_TRY(sm_coneslot_check(&cone, common->outer_diameter, common->length, err));
    return sm_fins_check(&p->fins, common->outer_diameter, "length", common->length, err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena, (void)common, (void)err;
    const struct finned_conocyl *p = block;
    out->sectors = p->fins.count;
    sm_fins_add_section(&p->fins, &out->contour);
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
static struct sm_void find_fins(const struct sm_fins *fins, double length, double over)
{
    const struct sm_slot s = sm_fins_slot(fins);
    const double z0 = fins->end == SM_FINS_FORE ? -over : sm_fins_joint(fins, length),
                 long_half = 0.5 * (fins->length + over);
    struct sm_void v =
        upright(SM_SOLID_BOX, (struct sm_triple){0.5 * (s.reach - s.fillet), 0.0, z0 + long_half});
    v.count = fins->count;
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
    items[1] = find_fins(&p->fins, common->length, over);
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
    const double radius = 0.5 * common->outer_diameter;
    sm_fins_gauges_across(&p->fins, out);
    out->is_along = true;
    sm_coneslot_gauges(&cone, radius, out);
    sm_fins_gauges_along(&p->fins, radius, common->length, out);
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
