/* What drawings show of a shape: each length and angle is the parameter's whose name it bears, and none is left out. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/pointer.h"
#include "motor/motor.h"
#include "unit/grain/example.h"

static struct sm_gauges gauges_of(const struct example *e)
{
    struct sm_gauges gauges;
    sm_shape_gauges(e->shape, &e->common, e->params, e->shape->section, &gauges);
    return gauges;
}

/* The value of the parameter of that name [SI]. */
static double parameter(const struct example *e, const char *name)
{
    char pointer[SM_POINTER_MAX];
    struct sm_pointer_target target;
    struct sm_grain_common common = e->common;
    struct sm_error err = {0};
    cr_assert_eq(sm_pointer_from_text(name, pointer, &err), SM_OK);
    if (sm_pointer_find(sm_grain_common_params, sm_n_grain_common_params, &common, pointer, &target, NULL) !=
        SM_OK)
        cr_assert_eq(sm_pointer_find(e->shape->params, e->shape->n_params, e->params, pointer, &target, &err),
                     SM_OK, "%s: there is no parameter %s: %s", e->shape->name, name, err.message);
    return sm_pointer_get(&target);
}

/* Shown lengths come from the places that the arrows stand at, so they must come out as the file has them, to rounding; of signed ones
 * the size. */
static void shown_as_given(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                           uint64_t seed)
{
    (void)arena, (void)g;
    const struct sm_gauges gauges = gauges_of(e);
    for (size_t i = 0; i < gauges.n; i++) {
        const struct sm_gauge *shown = &gauges.items[i];
        const double want = fabs(parameter(e, shown->name));
        cr_expect(fabs(shown->value - want) <= 1e-9 * (want + e->common.outer_diameter),
                  "%s, seed %llu: %s is drawn as %.12g, not %.12g", e->shape->name, (unsigned long long)seed,
                  shown->name, shown->value, want);
    }
}

/* An example need not be cut to be drawn. */
static void hold_example(const struct sm_shape *shape, example_law *check)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const struct example e = example_read(&arena, shape);
    check(&arena, &e, NULL, 0);
    sm_arena_release(&arena);
}

Test(grain_gauges, shown_as_given)
{
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++) {
        hold_example(*shape, shown_as_given);
        for (uint64_t seed = 1; seed < 3; seed++)
            if (!(*shape)->voids && !(*shape)->is_meshed)
                example_hold(*shape, 77 + seed, shown_as_given);
    }
}

static bool is_shown(const struct sm_gauges *gauges, const char *name)
{
    for (size_t i = 0; i < gauges->n; i++)
        if (strcmp(gauges->items[i].name, name) == 0)
            return true;
    return false;
}

/* Of what an example gives, every length and angle of the shape itself. */
static void none_is_left_out(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                             uint64_t seed)
{
    (void)arena, (void)g, (void)seed;
    const struct sm_gauges gauges = gauges_of(e);
    for (size_t i = 0; i < e->shape->n_params; i++) {
        const struct sm_param *row = &e->shape->params[i];
        char name[SM_GAUGE_NAME + 4];
        snprintf(name, sizeof name, "\"%s\"", row->name);
        if (row->kind == SM_QUANTITY && (row->dim == SM_DIM_LENGTH || row->dim == SM_DIM_ANGLE) &&
            strstr(e->shape->example, name))
            cr_expect(is_shown(&gauges, row->name), "%s: %s is not shown", e->shape->name, row->name);
    }
    cr_expect(is_shown(&gauges, "outer_diameter"), "%s", e->shape->name);
}

Test(grain_gauges, none_is_left_out)
{
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++)
        hold_example(*shape, none_is_left_out);
}
