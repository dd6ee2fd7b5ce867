/* Grains for tests that run over every registered shape: its own example, and valid ones drawn around it. */
#ifndef SM_TEST_GRAIN_EXAMPLE_H
#define SM_TEST_GRAIN_EXAMPLE_H

#include <stdint.h>

#include "draw.h"
#include "grain/shape.h"

struct example {
    const struct sm_shape *shape;
    struct sm_grain_common common;
    void *params; /* in the arena */
};

/* The shape's example as the reader of motor files sees it. Stops the test if it can't be read. */
struct example example_read(struct sm_arena *arena, const struct sm_shape *shape);

/* A valid grain near the example: quantities times up to e^spread either way, whole numbers one off, any of the shape's
 * faces. Draws until the shape's own check agrees and a geometry comes out; *g is that. */
struct example example_draw(struct sm_arena *arena, const struct example *base, double spread,
                            uint64_t *state, struct sm_geometry *g);

/* All lengths times k. */
struct example example_scale(struct sm_arena *arena, const struct example *base, double k);

/* All lengths turned into inches and back, which moves them by a rounding. */
struct example example_through_inches(struct sm_arena *arena, const struct example *base);

#endif
