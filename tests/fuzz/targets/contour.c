/* Outlines of random points, arcs and fillets. Coordinates stand on a coarse grid, so that they often coincide. */
#include "grains.h"

#include "fuzz.h"
#include "grain/outline.h"

static struct sm_list draw_points(struct fuzz_draw *d, struct sm_arena *arena, double radius)
{
    const unsigned n = 2 + fuzz_below(d, 15);
    struct sm_outline_point *points = sm_arena_alloc(arena, n, sizeof *points);
    for (unsigned i = 0; points && i < n; i++) {
        const unsigned how = fuzz_byte(d);
        const double step = how & 128u ? radius / 16.0 : radius / 1024.0;
        const double x = (double)fuzz_byte(d) - 128.0, y = (double)fuzz_byte(d) - 128.0;
        points[i] = (struct sm_outline_point){.x = x * step, .y = y * step};
        if ((how & 7u) == 1)
            points[i].arc_radius = ((double)fuzz_byte(d) - 128.0) * step;
        if ((how & 7u) == 2)
            points[i].fillet = (double)fuzz_byte(d) * step / 16.0;
        if ((how & 7u) == 3 && i > 0) /* all but in line with the last */
            points[i].y = points[i - 1].y + 1e-12 * radius * (double)fuzz_byte(d);
    }
    return (struct sm_list){points, points ? n : 0};
}

static void run(const uint8_t *bytes, size_t n)
{
    struct fuzz_draw d = {bytes, n};
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const unsigned faces = fuzz_byte(&d), n_loops = 1 + fuzz_below(&d, 3);
    const unsigned sectors = fuzz_below(&d, 4) == 3 ? fuzz_below(&d, 65) : 0;
    const struct sm_grain_common common = {0.06, 0.12, faces & 15u, SM_BURNBACK_STRAIGHT, 0.0};
    struct sm_outline outline = {.sectors = (int)sectors};
    struct sm_outline_loop *loops = sm_arena_alloc(&arena, n_loops, sizeof *loops);
    for (unsigned i = 0; loops && i < n_loops; i++) {
        loops[i].open = fuzz_below(&d, 4) == 3;
        loops[i].points = draw_points(&d, &arena, 0.5 * common.outer_diameter);
    }
    outline.loops = (struct sm_list){loops, n_loops};
    fuzz_burn_back(&arena, sm_shape_find("outline"), &common, &outline);
    sm_arena_release(&arena);
}

const struct fuzz_target fuzz_target_contour = {"contour", run};
