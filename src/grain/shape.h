/*
 * A grain shape is one file in grain/shapes/ that defines one row, struct sm_shape sm_shape_<file>.
 *
 * Reading, units, help, schema, drawing, tolerances and the invariants of the property tests follow from the
 * row.
 */
#ifndef SM_GRAIN_SHAPE_H
#define SM_GRAIN_SHAPE_H

#include "grain/gauge.h"
#include "grain/geometry.h"
#include "grain/meridian.h"
#include "grain/section.h"
#include "grain/splice.h"
#include "grain/voids.h"
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
    int burnback;          /* enum sm_burnback */
    double tolerance;      /* of a section's table, as in struct sm_section; no row sets it [1] */
};

/* Where what is inhibited would make straight lines wrong, a grain is refused, or its fronts are followed round edges. */
enum sm_burnback { SM_BURNBACK_STRAIGHT, SM_BURNBACK_GEODESIC };

struct sm_shape {
    const char *name;    /* as in a file, e.g. "end-burner" */
    const char *summary; /* one line */
    size_t size;         /* of the shape's own block [bytes] */
    const struct sm_param *params;
    size_t n_params;
    unsigned faces;      /* that it has */
    unsigned burning;    /* that burn by default */
    const char *example; /* one grain as JSON, for help and for the tests */
    bool is_drawn; /* its block is a struct sm_outline (grain/outline.h), whose loops may stand in a file */
    bool
        is_meshed; /* its block is a struct sm_meshport (grain/meshport.h), whose facets may stand in a file */

    /* Says what is inconsistent between valid values. May be NULL. */
    enum sm_status (*check)(const struct sm_grain_common *common, const void *params, struct sm_error *err);

    /* Lines and arcs of the cross-section, for a shape that has one all along. Before the call the section has its
     * radius, an empty contour in the arena, and outer as the burning faces say. May be NULL. */
    enum sm_status (*section)(struct sm_arena *arena, const struct sm_grain_common *common,
                              const void *params, struct sm_section *out, struct sm_error *err);

    /* The wall of the port of a body of revolution. Before the call the meridian has its length, radius and burning faces,
     * and an empty chain in the arena. May be NULL. */
    enum sm_status (*meridian)(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *params, struct sm_meridian *out, struct sm_error *err);

    /* The lengths of a port that changes its cross-section along the grain. Before the call out has its radius and burning
     * faces. The shape's section, if it gives one too, is then that of the length worth drawing. May be NULL. */
    enum sm_status (*spliced)(struct sm_arena *arena, const struct sm_grain_common *common,
                              const void *params, struct sm_spliced *out, struct sm_error *err);

    /* The solids that make up the port, anywhere in space. Before the call out has its radius, length and burning faces. A
     * section that the shape gives too is that of the length worth drawing, likewise. May be NULL. */
    enum sm_status (*voids)(struct sm_arena *arena, const struct sm_grain_common *common, const void *params,
                            struct sm_voids *out, struct sm_error *err);

    /* Where a drawing shows the shape's own lengths and angles, of a grain that is valid. NULL: it has none that can be
     * shown. */
    void (*gauges)(const struct sm_grain_common *common, const void *params, struct sm_gauges *out);

    /* Makes the table. NULL: made from the splices, the voids, the section or the meridian. A shape that has both is one with a
     * closed form, which the tests hold against the other. */
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

/*
 * The table of a grain that differs from another in size alone, without cutting it: every length k times as long, or, of a
 * prism whose ends don't burn, only the grain's length.
 *
 * Given: base and its table; common, params of the new grain of the same shape.
 * Returned: *out with its pieces in the arena; n_pieces 0 if the grains differ in more, or the new one is not valid, which
 * sm_shape_geometry says better. The table is that of sm_shape_geometry to within both tables' accuracy.
 * Status: SM_E_NOMEM.
 */
enum sm_status sm_shape_rescale(const struct sm_shape *shape, struct sm_arena *arena,
                                const struct sm_grain_common *base, const void *base_params,
                                const struct sm_geometry *base_geometry, const struct sm_grain_common *common,
                                const void *params, struct sm_geometry *out,
                                struct sm_error *err) SM_MUST_CHECK;

/* Checks a grain without making anything of it. */
enum sm_status sm_shape_check(const struct sm_shape *shape, const struct sm_grain_common *common,
                              const void *params, struct sm_error *err) SM_MUST_CHECK;

/* The cross-section, as the shape gives it. Status besides those of a check: SM_E_INTERNAL if the shape has none. */
enum sm_status sm_shape_section(const struct sm_shape *shape, struct sm_arena *arena,
                                const struct sm_grain_common *common, const void *params,
                                struct sm_section *out, struct sm_error *err) SM_MUST_CHECK;

/* The meridian, likewise. */
enum sm_status sm_shape_meridian(const struct sm_shape *shape, struct sm_arena *arena,
                                 const struct sm_grain_common *common, const void *params,
                                 struct sm_meridian *out, struct sm_error *err) SM_MUST_CHECK;

/* The splices, likewise. */
enum sm_status sm_shape_spliced(const struct sm_shape *shape, struct sm_arena *arena,
                                const struct sm_grain_common *common, const void *params,
                                struct sm_spliced *out, struct sm_error *err) SM_MUST_CHECK;

/* The voids, likewise. */
enum sm_status sm_shape_voids(const struct sm_shape *shape, struct sm_arena *arena,
                              const struct sm_grain_common *common, const void *params, struct sm_voids *out,
                              struct sm_error *err) SM_MUST_CHECK;

/* Does its cross-section change along the grain, and has it one worth drawing, so that it is drawn both across and along? */
bool sm_shape_has_both_cuts(const struct sm_shape *shape);

/* Where a drawing shows the lengths and angles of a valid grain, those that all shapes have first. Is it drawn across its axis,
 * or only along it? */
void sm_shape_gauges(const struct sm_shape *shape, const struct sm_grain_common *common, const void *params,
                     bool is_across, struct sm_gauges *out);

/* For a shape's own check: SM_E_GEOMETRY at /name unless value is below (or above) the limit [m], which the message calls
 * by its own words. */
enum sm_status sm_shape_below(const char *name, double value, const char *limit_words, double limit,
                              struct sm_error *err) SM_MUST_CHECK;
enum sm_status sm_shape_above(const char *name, double value, const char *limit_words, double limit,
                              struct sm_error *err) SM_MUST_CHECK;

#endif
