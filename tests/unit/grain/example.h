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

/* The section drawn whole: a half-sector's outline mirrored and repeated. */
void example_unfold(struct sm_arena *arena, const struct sm_section *half, struct sm_section *whole);

/* Runs a law on a shape's example if the seed is 0, else on a grain drawn near it from that seed. */
typedef void example_law(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                         uint64_t seed);
void example_hold(const struct sm_shape *shape, uint64_t seed, example_law *check);

#endif
