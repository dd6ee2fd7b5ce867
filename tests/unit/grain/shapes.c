/* The look-up, and what every shape refuses. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "grain/shape.h"

static void expect_refused(const char *shape_name, struct sm_grain_common common, double bore,
                           enum sm_status status, const char *path, const char *words)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const double block[5] = {bore}; /* a tube's bore; an end burner has a recess there, of none */
    struct sm_geometry g;
    struct sm_error err = {0};
    const enum sm_status got = sm_shape_geometry(sm_shape_find(shape_name), &arena, &common, block, &g, &err);
    cr_expect_eq(got, status, "%s", err.message);
    cr_expect_str_eq(err.at.path, path);
    cr_expect_not_null(strstr(err.message, words), "%s", err.message);
    sm_arena_release(&arena);
}

Test(grain_shapes, refusals)
{
    const double nan_value = SM_NAN;
    expect_refused("tube", (struct sm_grain_common){0.05, 0.1, SM_FACE_BORE, SM_BURNBACK_STRAIGHT, 0.0}, 0.05,
                   SM_E_GEOMETRY, "/bore_diameter", "smaller than outer_diameter, 50 mm");
    expect_refused("tube", (struct sm_grain_common){0.05, 0.1, 0, SM_BURNBACK_STRAIGHT, 0.0}, 0.02,
                   SM_E_GEOMETRY, "/burning", "nothing burns");
    expect_refused("end-burner", (struct sm_grain_common){0.05, 0.1, SM_FACE_BORE, SM_BURNBACK_STRAIGHT, 0.0},
                   0.0, SM_E_GEOMETRY, "/burning",
                   "has no burning face bore; it has: fore-end, aft-end, outer");
    expect_refused("end-burner",
                   (struct sm_grain_common){0.05, 0.0, SM_FACE_AFT_END, SM_BURNBACK_STRAIGHT, 0.0}, 0.0,
                   SM_E_RANGE, "/length", "length must be more than zero");
    expect_refused("end-burner",
                   (struct sm_grain_common){-1.0, 0.1, SM_FACE_AFT_END, SM_BURNBACK_STRAIGHT, 0.0}, 0.0,
                   SM_E_RANGE, "/outer_diameter", "outer_diameter must be more than zero");
    expect_refused("end-burner",
                   (struct sm_grain_common){nan_value, 0.1, SM_FACE_AFT_END, SM_BURNBACK_STRAIGHT, 0.0}, 0.0,
                   SM_E_RANGE, "/outer_diameter", "outer_diameter");
    expect_refused("tube", (struct sm_grain_common){0.05, 0.1, 1u << 7, SM_BURNBACK_STRAIGHT, 0.0}, 0.02,
                   SM_E_GEOMETRY, "/burning", "no burning");
}

Test(grain_shapes, rows_are_whole)
{
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++) {
        const struct sm_shape *s = *shape;
        cr_expect(s->name && s->name[0] && s->summary && s->summary[0] && s->example && s->example[0]);
        cr_expect_eq(sm_shape_find(s->name), s, "%s is not unique", s->name);
        cr_expect_eq(s->burning & ~s->faces, 0u, "%s burns where it has no face", s->name);
        cr_expect_neq(s->burning, 0u, "%s burns nowhere by default", s->name);
        for (size_t i = 0; i < s->n_params; i++) {
            const struct sm_param *row = &s->params[i];
            cr_expect(row->name && row->help && row->help[0], "%s, row %zu", s->name, i);
            cr_expect(row->offset < s->size, "%s, %s", s->name, row->name);
        }
    }
    cr_expect_null(sm_shape_find("no such shape"));
}

Test(grain_shapes, default_faces_where_none_are_given)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct sm_grain_common common = {0.03, 0.06, SM_CHOICES_ABSENT, SM_BURNBACK_STRAIGHT, 0.0};
    const double no_recess[5] = {0.0};
    struct sm_geometry g;
    cr_assert_eq(sm_shape_geometry(sm_shape_find("end-burner"), &arena, &common, no_recess, &g, NULL), SM_OK);
    cr_expect_float_eq(g.web, 0.06, 1e-15);
    sm_arena_release(&arena);
}
