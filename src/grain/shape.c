#include "grain/shape.h"

#include "grain/meshport.h"
#include "grain/outline.h"
#include "grain/prism.h"

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

enum sm_status sm_shape_below(const char *name, double value, const char *limit_words, double limit,
                              struct sm_error *err)
{
    if (value < limit)
        return SM_OK;
    return sm_at(err,
                 sm_fail(err, SM_E_GEOMETRY, "%s is %g mm; it must be smaller than %s, %g mm", name,
                         1e3 * value, limit_words, 1e3 * limit),
                 "/%s", name);
}

enum sm_status sm_shape_above(const char *name, double value, const char *limit_words, double limit,
                              struct sm_error *err)
{
    if (value > limit)
        return SM_OK;
    return sm_at(err,
                 sm_fail(err, SM_E_GEOMETRY, "%s is %g mm; it must be larger than %s, %g mm", name,
                         1e3 * value, limit_words, 1e3 * limit),
                 "/%s", name);
}

/* Common values with the default faces filled in, once all has been found right. */
static enum sm_status check_all(const struct sm_shape *shape, const struct sm_grain_common *common,
                                const void *params, struct sm_grain_common *out, struct sm_error *err)
{
    *out = *common;
    if (out->burning == SM_CHOICES_ABSENT)
        out->burning = shape->burning;
    SM_TRY(check_common(shape, out, err));
    return shape->check ? shape->check(out, params, err) : SM_OK;
}

enum sm_status sm_shape_check(const struct sm_shape *shape, const struct sm_grain_common *common,
                              const void *params, struct sm_error *err)
{
    struct sm_grain_common grain;
    return check_all(shape, common, params, &grain, err);
}

static enum sm_status make_section(const struct sm_shape *shape, struct sm_arena *arena,
                                   const struct sm_grain_common *common, const void *params,
                                   struct sm_section *out, struct sm_error *err)
{
    if (!shape->section)
        return sm_fail(err, SM_E_INTERNAL, "a grain of shape %s has no cross-section of its own",
                       shape->name);
    *out = (struct sm_section){.radius = 0.5 * common->outer_diameter,
                               .tolerance = common->tolerance,
                               .outer = common->burning & SM_FACE_OUTER ? SM_OUTER_BURNS : SM_OUTER_HELD};
    sm_contour_init(&out->contour, arena);
    SM_TRY(shape->section(arena, common, params, out, err));
    return sm_contour_check_memory(&out->contour, err);
}

enum sm_status sm_shape_section(const struct sm_shape *shape, struct sm_arena *arena,
                                const struct sm_grain_common *common, const void *params,
                                struct sm_section *out, struct sm_error *err)
{
    struct sm_grain_common grain;
    SM_TRY(check_all(shape, common, params, &grain, err));
    return make_section(shape, arena, &grain, params, out, err);
}

static enum sm_status make_meridian(const struct sm_shape *shape, struct sm_arena *arena,
                                    const struct sm_grain_common *common, const void *params,
                                    struct sm_meridian *out, struct sm_error *err)
{
    if (!shape->meridian)
        return sm_fail(err, SM_E_INTERNAL, "a grain of shape %s is no body of revolution", shape->name);
    *out = (struct sm_meridian){.length = common->length,
                                .radius = 0.5 * common->outer_diameter,
                                .burning = common->burning,
                                .is_geodesic = common->burnback == SM_BURNBACK_GEODESIC};
    sm_contour_init(&out->bore, arena);
    SM_TRY(shape->meridian(arena, common, params, out, err));
    return sm_contour_check_memory(&out->bore, err);
}

enum sm_status sm_shape_meridian(const struct sm_shape *shape, struct sm_arena *arena,
                                 const struct sm_grain_common *common, const void *params,
                                 struct sm_meridian *out, struct sm_error *err)
{
    struct sm_grain_common grain;
    SM_TRY(check_all(shape, common, params, &grain, err));
    return make_meridian(shape, arena, &grain, params, out, err);
}

static enum sm_status make_spliced(const struct sm_shape *shape, struct sm_arena *arena,
                                   const struct sm_grain_common *common, const void *params,
                                   struct sm_spliced *out, struct sm_error *err)
{
    if (!shape->spliced)
        return sm_fail(err, SM_E_INTERNAL, "a grain of shape %s has no splices", shape->name);
    *out = (struct sm_spliced){.radius = 0.5 * common->outer_diameter, .burning = common->burning};
    return shape->spliced(arena, common, params, out, err);
}

enum sm_status sm_shape_spliced(const struct sm_shape *shape, struct sm_arena *arena,
                                const struct sm_grain_common *common, const void *params,
                                struct sm_spliced *out, struct sm_error *err)
{
    struct sm_grain_common grain;
    SM_TRY(check_all(shape, common, params, &grain, err));
    return make_spliced(shape, arena, &grain, params, out, err);
}

static enum sm_status make_voids(const struct sm_shape *shape, struct sm_arena *arena,
                                 const struct sm_grain_common *common, const void *params,
                                 struct sm_voids *out, struct sm_error *err)
{
    if (!shape->voids)
        return sm_fail(err, SM_E_INTERNAL, "a grain of shape %s has no voids", shape->name);
    *out = (struct sm_voids){
        .radius = 0.5 * common->outer_diameter, .length = common->length, .burning = common->burning};
    return shape->voids(arena, common, params, out, err);
}

enum sm_status sm_shape_voids(const struct sm_shape *shape, struct sm_arena *arena,
                              const struct sm_grain_common *common, const void *params, struct sm_voids *out,
                              struct sm_error *err)
{
    struct sm_grain_common grain;
    SM_TRY(check_all(shape, common, params, &grain, err));
    return make_voids(shape, arena, &grain, params, out, err);
}

/* Splices, voids, section or meridian are scratch: only the table is kept. */
static enum sm_status from_outline(const struct sm_shape *shape, struct sm_arena *arena,
                                   struct sm_arena *scratch, const struct sm_grain_common *common,
                                   const void *params, struct sm_geometry *out, struct sm_error *err)
{
    if (shape->spliced) {
        struct sm_spliced spliced;
        SM_TRY(make_spliced(shape, scratch, common, params, &spliced, err));
        return sm_spliced_geometry(arena, &spliced, out, err);
    }
    if (shape->voids) {
        struct sm_voids voids;
        SM_TRY(make_voids(shape, scratch, common, params, &voids, err));
        return sm_voids_geometry(arena, &voids, 0, out, err);
    }
    if (shape->section) {
        struct sm_section section;
        SM_TRY(make_section(shape, scratch, common, params, &section, err));
        return sm_prism_geometry(arena, &section, common->length, common->burning, out, err);
    }
    struct sm_meridian meridian;
    SM_TRY(make_meridian(shape, scratch, common, params, &meridian, err));
    return sm_meridian_geometry(arena, &meridian, out, err);
}

/* A port that the user drew, and that is wrong as a whole, is told of at what draws it. */
static enum sm_status at_drawing(const struct sm_shape *shape, const void *params, enum sm_status status,
                                 struct sm_error *err)
{
    if (status != SM_E_GEOMETRY || !err || err->at.path[0] != '\0')
        return status;
    if (shape->is_drawn)
        return sm_at(err, status, ((const struct sm_outline *)params)->file ? "/file" : "/loops");
    if (shape->is_meshed)
        return sm_at(err, status, ((const struct sm_meshport *)params)->file ? "/file" : "/vertices");
    return status;
}

enum sm_status sm_shape_geometry(const struct sm_shape *shape, struct sm_arena *arena,
                                 const struct sm_grain_common *common, const void *params,
                                 struct sm_geometry *out, struct sm_error *err)
{
    struct sm_grain_common grain;
    SM_TRY(check_all(shape, common, params, &grain, err));
    if (shape->geometry)
        return at_drawing(shape, params, shape->geometry(arena, &grain, params, out, err), err);
    struct sm_arena scratch;
    sm_arena_init(&scratch, arena->allocator);
    const enum sm_status status = from_outline(shape, arena, &scratch, &grain, params, out, err);
    sm_arena_release(&scratch);
    return at_drawing(shape, params, status, err);
}

bool sm_shape_has_both_cuts(const struct sm_shape *shape)
{
    return shape->section && (shape->spliced || shape->voids);
}

void sm_shape_gauges(const struct sm_shape *shape, const struct sm_grain_common *common, const void *params,
                     bool is_across, struct sm_gauges *out)
{
    const double radius = 0.5 * common->outer_diameter, length = common->length;
    *out = (struct sm_gauges){.is_along = !is_across};
    if (is_across)
        sm_gauge_length(out, "outer_diameter", (struct sm_point){-radius, 0.0},
                        (struct sm_point){radius, 0.0}, SM_GAUGE_BELOW);
    else
        sm_gauge_length(out, "outer_diameter", (struct sm_point){0.0, -radius},
                        (struct sm_point){0.0, radius}, SM_GAUGE_LEFT);
    out->is_along = true;
    if (!is_across || sm_shape_has_both_cuts(shape))
        sm_gauge_length(out, "length", (struct sm_point){0.0, -radius}, (struct sm_point){length, -radius},
                        SM_GAUGE_BELOW);
    out->is_along = !is_across;
    if (shape->gauges)
        shape->gauges(common, params, out);
}
