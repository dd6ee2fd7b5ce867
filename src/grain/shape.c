#include "grain/shape.h"

#include <math.h>
#include <string.h>

const char *const sm_face_words[] = {"bore", "fore-end", "aft-end", "outer", NULL};

const struct sm_shape *sm_shape_find(const char *name)
{
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++)
        if (strcmp((*shape)->name, name) == 0)
            return *shape;
    return NULL;
}

/* "bore, fore-end, aft-end" for the faces in the set; out holds at least 48 bytes. */
static const char *name_faces(unsigned faces, char out[static 48])
{
    out[0] = '\0';
    for (int i = 0; sm_face_words[i]; i++) {
        if (!(faces >> i & 1u))
            continue;
        if (out[0])
            strcat(out, ", ");
        strcat(out, sm_face_words[i]);
    }
    return out;
}

static enum sm_status check_size(const char *name, double value, struct sm_error *err)
{
    if (!isfinite(value) || value <= 0.0)
        return sm_at(err, sm_fail(err, SM_E_RANGE, "%s must be more than zero, not %g m", name, value), "/%s",
                     name);
    return SM_OK;
}

static enum sm_status check_common(const struct sm_shape *shape, const struct sm_grain_common *common,
                                   struct sm_error *err)
{
    SM_TRY(check_size("outer_diameter", common->outer_diameter, err));
    SM_TRY(check_size("length", common->length, err));
    char has[48], extra[48];
    if (common->burning == 0)
        return sm_at(err,
                     sm_fail(err, SM_E_GEOMETRY, "nothing burns; a grain of shape %s may burn on: %s",
                             shape->name, name_faces(shape->faces, has)),
                     "/burning");
    if (common->burning & ~shape->faces)
        return sm_at(err,
                     sm_fail(err, SM_E_GEOMETRY, "a grain of shape %s has no burning face %s; it has: %s",
                             shape->name, name_faces(common->burning & ~shape->faces, extra),
                             name_faces(shape->faces, has)),
                     "/burning");
    return SM_OK;
}

enum sm_status sm_shape_geometry(const struct sm_shape *shape, struct sm_arena *arena,
                                 const struct sm_grain_common *common, const void *params,
                                 struct sm_geometry *out, struct sm_error *err)
{
    struct sm_grain_common grain = *common;
    if (grain.burning == SM_CHOICES_ABSENT)
        grain.burning = shape->burning;
    SM_TRY(check_common(shape, &grain, err));
    if (shape->check)
        SM_TRY(shape->check(&grain, params, err));
    return shape->geometry(arena, &grain, params, out, err);
}
