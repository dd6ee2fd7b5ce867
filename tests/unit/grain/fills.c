/* Distances filled into nets: against those of one place after the other, by every set of instructions and any threads. */
#include "grain/fill.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "draw.h"
#include "grain/shape.h"

enum { VOIDS = 10 };

/* Solids of every form, upright ones among them, leaning and turned ones, copies and points. */
static void draw_voids(uint64_t *state, struct sm_void v[VOIDS])
{
    static const enum sm_solid_form forms[] = {SM_SOLID_BALL, SM_SOLID_CONE, SM_SOLID_BOX, SM_SOLID_RING};
    for (size_t i = 0; i < VOIDS; i++) {
        struct sm_solid *s = &v[i].solid;
        *s = (struct sm_solid){.form = forms[i % SM_COUNT(forms)],
                               .at = {draw_uniform(state, -0.8, 0.8), draw_uniform(state, -0.8, 0.8),
                                      draw_uniform(state, 0.0, 2.0)},
                               .a = draw_uniform(state, 0.1, 0.3),
                               .b = draw_uniform(state, 0.02, 0.1),
                               .c = draw_uniform(state, 0.2, 0.8)};
        if (i == 6)
            s->fillet = 0.5 * s->b; /* box 2 has sharp edges */
        if (i == 1 || i == 5)
            s->b = i == 1 ? s->a : 0.0; /* a cylinder, a pointed cone */
        if (i < 3)
            sm_solid_aim(s, 0.0, 0.0, 0.0);
        else
            sm_solid_aim(s, draw_uniform(state, 0.0, 3.0), draw_uniform(state, 0.0, 6.0),
                         draw_uniform(state, 0.0, 6.0));
        v[i].count = 1 + (int)(i % 3);
    }
}

/* Largest difference from the distance of each place by itself [m]. */
static double most_off(const struct sm_patcher *p, const struct sm_net *net, const double *d)
{
    double most = 0.0;
    for (size_t i = 0; i < net->n[0]; i++)
        for (size_t j = 0; j < net->n[1]; j++)
            for (size_t k = 0; k < net->n[2]; k++) {
                const struct sm_triple at = {net->first.x + (double)i * net->step.x,
                                             net->first.y + (double)j * net->step.y,
                                             net->first.z + (double)k * net->step.z};
                most = fmax(most, fabs(*d++ - sm_patcher_distance(p, at)));
            }
    return most;
}

/* Places are at most 3 m off; tolerance: some roundings of that, 4e-16 each. */
static void hold(const struct sm_patcher *p, const struct sm_net *net)
{
    const size_t n = net->n[0] * net->n[1] * net->n[2];
    double *first = malloc(n * sizeof *first), *other = malloc(n * sizeof *other);
    float *narrow = malloc(n * sizeof *narrow);
    cr_assert(first && other && narrow);
    sm_fill_doubles(p, net, 1, SM_LANE_PLAIN, first);
    cr_expect_lt(most_off(p, net, first), 5e-15);
    for (int set = SM_LANE_PLAIN; set <= (int)sm_lane_set_best(); set++)
        for (int threads = 1; threads <= 3; threads += 2) {
            sm_fill_doubles(p, net, threads, (enum sm_lane_set)set, other);
            sm_fill_floats(p, net, threads, (enum sm_lane_set)set, narrow);
            cr_expect_arr_eq(first, other, n * sizeof *first, "set %d, %d threads", set, threads);
            for (size_t i = 0; i < n; i++)
                cr_assert(narrow[i] == (float)first[i], "set %d, node %zu", set, i);
        }
    free(first);
    free(other);
    free(narrow);
}

Test(grain_fills, as_one_place_after_the_other)
{
    static const struct sm_net nets[] = {
        {{-1.0, -1.0, 0.0}, {0.1, 0.09, 0.04}, {21, 22, 51}}, /* ends at broken tiles and blocks */
        {{-1.0, 0.0, 0.0}, {0.02, 0.0, 0.03}, {101, 1, 67}},  /* flat */
        {{0.3, -0.2, 1.7}, {-0.03, 0.02, -0.03}, {17, 9, 33}} /* backwards */
    };
    static const unsigned burning[] = {SM_FACE_BORE, SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END,
                                       SM_FACE_BORE | SM_FACE_AFT_END};
    uint64_t state = 9;
    for (size_t i = 0; i < SM_COUNT(nets); i++) {
        struct sm_arena arena;
        struct sm_patcher p;
        struct sm_void v[VOIDS];
        sm_arena_init(&arena, NULL);
        draw_voids(&state, v);
        const struct sm_voids voids = {v, VOIDS, 1.0, 2.0, burning[i], 16};
        cr_assert_eq(sm_patcher_init(&arena, &voids, &p, NULL), SM_OK);
        hold(&p, &nets[i]);
        sm_arena_release(&arena);
    }
}

/* As many as may be. */
Test(grain_fills, most_solids)
{
    struct sm_arena arena;
    struct sm_patcher p;
    sm_arena_init(&arena, NULL);
    struct sm_void v = {.solid = {.form = SM_SOLID_BALL, .at = {0.6, 0.1, 1.0}, .a = 0.02},
                        .count = SM_MOST_SOLIDS};
    sm_solid_aim(&v.solid, 0.0, 0.0, 0.0);
    const struct sm_voids voids = {&v, 1, 1.0, 2.0, SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END, 16};
    cr_assert_eq(sm_patcher_init(&arena, &voids, &p, NULL), SM_OK);
    hold(&p, &(struct sm_net){{-1.0, -1.0, 0.8}, {0.2, 0.2, 0.02}, {11, 11, 21}});
    sm_arena_release(&arena);
}
