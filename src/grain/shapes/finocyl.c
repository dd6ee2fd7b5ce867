/* Finocyl: fins in a cylinder; a round bore with radial slots along a part of its length. */
#include "grain/fins.h"
#include "grain/shape.h"

#include <math.h>

struct finocyl {
    struct sm_fins fins;
};

static const struct sm_param params[] = {
    {.name = "bore_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct finocyl, fins.bore_diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the bore"},
    {.name = "fins",
     .kind = SM_WHOLE,
     .offset = offsetof(struct finocyl, fins.count),
     .min = 2,
     .max = 64,
     .fallback = SM_REQUIRED,
     .help = "number of fins, which are slots in the wall of the bore"},
    {.name = "fin_width",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct finocyl, fins.width),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "width of a fin"},
    {.name = "fin_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct finocyl, fins.diameter),
     .min = 1e-4,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the circle that the fins reach out to"},
    {.name = "fin_length",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct finocyl, fins.length),
     .min = 1e-4,
     .max = 100.0,
     .fallback = SM_REQUIRED,
     .help = "length of the fins along the bore, from one end of the grain"},
    {.name = "tip_fillet",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct finocyl, fins.tip_fillet),
     .min = 0.0,
     .max = 10.0,
     .fallback = SM_OPTIONAL,
     .help = "rounding of a fin's two outer edges; left out: the tip is round; 0: it is square"},
    {.name = "fin_end",
     .kind = SM_CHOICE,
     .offset = offsetof(struct finocyl, fins.end),
     .fallback = SM_FINS_AFT,
     .words = sm_fin_ends,
     .help = "the end of the grain that has the fins"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct finocyl *p = block;
    return sm_fins_check(&p->fins, common->outer_diameter, "length (else it is a slotted tube)",
                         common->length, err);
}

static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena, (void)common, (void)err;
    const struct finocyl *p = block;
    out->sectors = p->fins.count;
    sm_fins_add_section(&p->fins, &out->contour);
    return SM_OK;
}

static enum sm_status spliced(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_spliced *out, struct sm_error *err)
{
    const struct finocyl *p = block;
    const double r = 0.5 * p->fins.bore_diameter, ray = M_PI / p->fins.count;
    struct sm_splice *items = sm_arena_alloc(arena, 2, sizeof *items);
    if (!items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    struct sm_splice *finned = &items[p->fins.end == SM_FINS_FORE ? 0 : 1],
                     *plain = &items[p->fins.end == SM_FINS_FORE ? 1 : 0];
    items[0].z1 = items[1].z0 = sm_fins_joint(&p->fins, common->length);
    items[1].z1 = common->length;
    sm_contour_init(&finned->contour, arena);
    sm_fins_add_section(&p->fins, &finned->contour);
    sm_contour_init(&plain->contour, arena);
    sm_contour_start(&plain->contour, r, 0.0);
    sm_contour_arc(&plain->contour, r * cos(ray), r * sin(ray), 0.0, 0.0, 1);
    out->items = items;
    out->n = 2;
    out->sectors = p->fins.count;
    SM_TRY(sm_contour_check_memory(&finned->contour, err));
    return sm_contour_check_memory(&plain->contour, err);
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct finocyl *p = block;
    sm_fins_gauges_across(&p->fins, out);
    out->is_along = true;
    sm_fins_gauges_along(&p->fins, 0.5 * common->outer_diameter, common->length, out);
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
