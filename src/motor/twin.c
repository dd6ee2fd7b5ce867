#include "motor/twin.h"

#include <math.h>
#include <string.h>

static const char *const ratios[] = {"bond_line_ratio", "axis_ratio"};

double sm_motor_haste(const struct sm_motor *motor)
{
    double haste = 1.0;
    for (size_t i = 0; i < motor->spec.n_grains; i++)
        for (size_t k = 0; k < SM_COUNT(ratios); k++)
            haste = fmax(haste, sm_grain_number(&motor->spec.grains[i], ratios[k], 1.0));
    return haste;
}

/* A grain's own block with its ratios at 1. */
static const void *flat_block(struct sm_arena *arena, const struct sm_grain_entry *entry)
{
    const struct sm_shape *shape = entry->shape;
    char *block = sm_arena_alloc(arena, 1, shape->size);
    if (!block)
        return NULL;
    memcpy(block, entry->params, shape->size);
    for (size_t i = 0; i < shape->n_params; i++)
        for (size_t k = 0; k < SM_COUNT(ratios); k++)
            if (strcmp(shape->params[i].name, ratios[k]) == 0)
                memcpy(block + shape->params[i].offset, &(double){1.0}, sizeof(double));
    return block;
}

static enum sm_status fill(struct sm_motor *twin, const struct sm_motor *motor, struct sm_error *err)
{
    const size_t n = motor->spec.n_grains;
    twin->spec = motor->spec;
    twin->spec.grains = sm_arena_alloc(&twin->arena, n, sizeof *twin->spec.grains);
    if (!twin->spec.grains)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++) {
        twin->spec.grains[i] = motor->spec.grains[i];
        twin->spec.grains[i].params = flat_block(&twin->arena, &motor->spec.grains[i]);
        if (!twin->spec.grains[i].params)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    return sm_motor_assemble(twin, err);
}

enum sm_status sm_motor_twin_flat(const struct sm_motor *motor, struct sm_motor **twin, struct sm_error *err)
{
    struct sm_arena arena;
    *twin = NULL;
    sm_arena_init(&arena, motor->arena.allocator);
    struct sm_motor *made = sm_arena_alloc(&arena, 1, sizeof *made);
    if (!made)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    made->arena = arena;
    const enum sm_status status = fill(made, motor, err);
    if (status == SM_OK)
        *twin = made;
    else
        sm_motor_twin_release(made);
    return status;
}

void sm_motor_twin_release(struct sm_motor *twin)
{
    if (!twin)
        return;
    struct sm_arena arena = twin->arena; /* the twin lives in it */
    sm_arena_release(&arena);
}
