/* End burner: a solid cylinder that burns from one flat end to the other. A recess in its aft face, there to light more of
 * it at once, burns with that face. Where the bond line at the wall burns faster, or a wire along the axis carries the fire
 * ahead, the face becomes a cone. */
#include "grain/annulus.h"
#include "grain/shape.h"

struct end_burner {
    double recess_diameter; /* [m] */
    double recess_depth;    /* [m] */
    double recess_point;    /* [m] */
    double bond_line_ratio; /* [1] */
    double axis_ratio;      /* [1] */
};

static const struct sm_param params[] = {
    {.name = "recess_diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct end_burner, recess_diameter),
     .min = 0.0,
     .max = 10.0,
     .fallback = 0.0,
     .help = "diameter of a round recess in the middle of the aft face; 0 for none"},
    {.name = "recess_depth",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct end_burner, recess_depth),
     .min = 0.0,
     .max = 100.0,
     .fallback = 0.0,
     .help = "depth of the recess as far as its wall is straight"},
    {.name = "recess_point",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct end_burner, recess_point),
     .min = 0.0,
     .max = 100.0,
     .fallback = 0.0,
     .help = "depth of a cone at the bottom of the recess, as a drill leaves it; 0 for a flat bottom"},
    {.name = "bond_line_ratio",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_NONE,
     .offset = offsetof(struct end_burner, bond_line_ratio),
     .min = 1.0,
     .max = 20.0,
     .fallback = 1.0,
     .help = "burning rate along the bond line at the wall over the propellant's own; above 1 the face "
             "becomes a cone"},
    {.name = "axis_ratio",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_NONE,
     .offset = offsetof(struct end_burner, axis_ratio),
     .min = 1.0,
     .max = 20.0,
     .fallback = 1.0,
     .help = "the same along the axis, where a wire is cast in"},
};

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct end_burner *p = block;
    const unsigned ends = SM_FACE_FORE_END | SM_FACE_AFT_END;
    const bool has_one_end = common->burning == SM_FACE_FORE_END || common->burning == SM_FACE_AFT_END;
    if ((p->bond_line_ratio > 1.0 || p->axis_ratio > 1.0) && !has_one_end)
        return sm_at(
            err,
            sm_fail(err, SM_E_GEOMETRY,
                    "fire that runs ahead along the wall or the axis must start from %s: list just one "
                    "of fore-end and aft-end",
                    (common->burning & ends) == ends ? "one end, not both" : "an end alone"),
            "/burning");
    const double depth = p->recess_depth + p->recess_point;
    if ((p->recess_diameter > 0.0) != (depth > 0.0))
        return sm_at(err, sm_fail(err, SM_E_GEOMETRY, "a recess needs both its diameter and its depth"),
                     p->recess_diameter > 0.0 ? "/recess_depth" : "/recess_diameter");
    if (p->recess_diameter == 0.0)
        return SM_OK;
    SM_TRY(
        sm_shape_below("recess_diameter", p->recess_diameter, "outer_diameter", common->outer_diameter, err));
    SM_TRY(sm_shape_below("recess_depth", p->recess_depth, "length less recess_point",
                          common->length - p->recess_point, err));
    if (!(common->burning & SM_FACE_AFT_END))
        return sm_at(
            err,
            sm_fail(err, SM_E_GEOMETRY, "a recess burns with the aft face: list aft-end, or leave it out"),
            "/burning");
    return SM_OK;
}

static enum sm_status meridian(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *block, struct sm_meridian *out, struct sm_error *err)
{
    (void)arena, (void)err;
    const struct end_burner *p = block;
    out->bond_line_ratio = p->bond_line_ratio;
    out->axis_ratio = p->axis_ratio;
    if (p->recess_diameter == 0.0)
        return SM_OK;
    const double r = 0.5 * p->recess_diameter, bottom = common->length - p->recess_depth;
    out->burning |= SM_FACE_BORE;
    sm_contour_start(&out->bore, common->length, r);
    sm_contour_line(&out->bore, bottom, r);
    sm_contour_line(&out->bore, bottom - p->recess_point, 0.0);
    return SM_OK;
}

static enum sm_status geometry(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *block, struct sm_geometry *out, struct sm_error *err)
{
    const struct end_burner *p = block;
    if (p->recess_diameter == 0.0 && p->bond_line_ratio <= 1.0 && p->axis_ratio <= 1.0)
        return sm_annulus_geometry(arena, 0.0, 0.5 * common->outer_diameter, common->length, common->burning,
                                   out, err);
    struct sm_arena scratch;
    sm_arena_init(&scratch, arena->allocator);
    struct sm_meridian body = {
        .length = common->length, .radius = 0.5 * common->outer_diameter, .burning = common->burning};
    sm_contour_init(&body.bore, &scratch);
    enum sm_status status = meridian(&scratch, common, block, &body, err);
    if (status == SM_OK)
        status = sm_meridian_geometry(arena, &body, out, err);
    out->port_area = 0.0; /* no gas flows along a recess */
    sm_arena_release(&scratch);
    return status;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct end_burner *p = block;
    if (p->recess_diameter == 0.0)
        return;
    const double r = 0.5 * p->recess_diameter, length = common->length, radius = 0.5 * common->outer_diameter;
    const double bottom = length - p->recess_depth, z = length - 0.5 * p->recess_depth;
    sm_gauge_length(out, "recess_diameter", (struct sm_point){z, -r}, (struct sm_point){z, r}, SM_GAUGE_HERE);
    if (p->recess_depth > 0.0)
        sm_gauge_length(out, "recess_depth", (struct sm_point){bottom, r}, (struct sm_point){length, radius},
                        SM_GAUGE_ABOVE);
    if (p->recess_point > 0.0)
        sm_gauge_length(out, "recess_point", (struct sm_point){bottom - p->recess_point, 0.0},
                        (struct sm_point){bottom, r}, SM_GAUGE_ABOVE);
}

const struct sm_shape sm_shape_end_burner = {
    .name = "end-burner",
    .summary = "solid cylinder that burns from the end, with or without a recess",
    .size = sizeof(struct end_burner),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_AFT_END,
    .example = "{ \"shape\": \"end-burner\", \"outer_diameter\": \"29 mm\", \"length\": \"88 mm\" }",
    .check = check,
    .meridian = meridian,
    .gauges = gauges,
    .geometry = geometry,
};
