/*
 * A grain shape is one file in grain/shapes/ that defines one row, struct sm_shape sm_shape_<file>.
 *
 * Reading, units, help, schema, drawing, tolerances and the invariants of the property tests follow from the
 * row.
 */
#ifndef SM_GRAIN_SHAPE_H
#define SM_GRAIN_SHAPE_H

#include "grain/geometry.h"
#include "slowmatch/param.h"

/* Faces of a grain that may burn. A shape names those it has and those that burn unless the file says
 * otherwise. */
enum sm_face {
    SM_FACE_BORE = 1u << 0,     /* the port's wall */
    SM_FACE_FORE_END = 1u << 1, /* towards the head */
    SM_FACE_AFT_END = 1u << 2,  /* towards the nozzle */
    SM_FACE_OUTER = 1u << 3     /* the cylinder that faces the case */
};
/* NULL-terminated, bit i for words[i]. */
extern const char *const sm_face_words[];

/* What every grain says, whatever its shape. */
struct sm_grain_common {
    double outer_diameter; /* [m] */
    double length;         /* [m] */
    unsigned burning;      /* faces, enum sm_face */
};

struct sm_contour; /* lines and arcs: grain/contour.h */

struct sm_shape {
    const char *name;    /* as in a file, e.g. "end-burner" */
    const char *summary; /* one line */
    size_t size;         /* of the shape's own block [bytes] */
    const struct sm_param *params;
    size_t n_params;
    unsigned faces;      /* that it has */
    unsigned burning;    /* that burn by default */
    const char *example; /* one grain as JSON, for help and for the tests */

    /* Says what is inconsistent between valid values. May be NULL. */
    enum sm_status (*check)(const struct sm_grain_common *common, const void *params, struct sm_error *err);

    /* Makes the table. */
    enum sm_status (*geometry)(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *params, struct sm_geometry *out, struct sm_error *err);
};

/* Generated from the files in grain/shapes/; NULL-terminated, in order of name. */
extern const struct sm_shape *const sm_shape_list[];
const struct sm_shape *sm_shape_find(const char *name);

/* Checks what holds for every shape (sizes, faces the shape has, something burns), then the shape's own
 * rules, then makes the table. */
enum sm_status sm_shape_geometry(const struct sm_shape *shape, struct sm_arena *arena,
                                 const struct sm_grain_common *common, const void *params,
                                 struct sm_geometry *out, struct sm_error *err) SM_MUST_CHECK;

#endif
