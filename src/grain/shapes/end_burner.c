/* End burner: a solid cylinder that burns from one flat end to the other. */
#include "grain/annulus.h"
#include "grain/shape.h"

static enum sm_status geometry(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *params, struct sm_geometry *out, struct sm_error *err)
{
    (void)params;
    return sm_annulus_geometry(arena, 0.0, 0.5 * common->outer_diameter, common->length, common->burning, out,
                               err);
}

const struct sm_shape sm_shape_end_burner = {
    .name = "end-burner",
    .summary = "solid cylinder that burns from the end",
    .faces = SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_AFT_END,
    .example = "{ \"shape\": \"end-burner\", \"outer_diameter\": \"29 mm\", \"length\": \"88 mm\" }",
    .geometry = geometry,
};
