#include <math.h>

#include "grain/slicerow.h"

struct corners {
    struct sm_slice_corner *items;
    size_t n;
};

/* Any numbers will do that are odds and ends of 64 bits. Reference: S. Vigna's splitmix64, a public domain mixing function (from memory). */
static uint64_t key_of(size_t k)
{
    uint64_t x = ((uint64_t)k + 1) * 0x9e3779b97f4a7c15u;
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
    return x ^ (x >> 31);
}

struct sm_slice_spot sm_slice_spot_of(const struct sm_fronts *fronts, int front, int other, int root)
{
    struct sm_slice_spot spot = {front, other, root, 0.0};
    const struct sm_front *a = &fronts->items[front], *b = other < 0 ? a : &fronts->items[other];
    const struct sm_point d = sm_point_minus(b->base, a->base);
    if (other >= 0 && a->is_arc && b->is_arc)
        spot.per = 1.0 / sqrt(sm_point_dot(d, d));
    if (other >= 0 && !a->is_arc && !b->is_arc)
        spot.per = 1.0 / sm_point_cross(a->u, b->u);
    return spot;
}

static void add_corner(struct corners *c, const struct sm_fronts *fronts, int front, int other, int root)
{
    c->items[c->n] = (struct sm_slice_corner){sm_slice_spot_of(fronts, front, other, root), key_of(c->n)};
    c->n++;
}

/* Can a burning element and another meet other than by running into each other? */
static bool may_meet(const struct sm_fronts *fronts, int i, int j)
{
    const struct sm_front *a = &fronts->items[i];
    return j != a->before && j != a->after && !sm_front_are_twins(fronts, i, j);
}

enum sm_status sm_slice_corners(struct sm_arena *arena, const struct sm_fronts *fronts,
                                struct sm_slice_corner **items, size_t *count, struct sm_error *err)
{
    const size_t n = (size_t)fronts->n;
    struct corners list = {.items = sm_arena_alloc(arena, 2 * n * (n + 1), sizeof *list.items)}, *out = &list;
    if (!list.items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (int i = 0; i < fronts->n; i++)
        for (int root = 0; root < 2 && (i < fronts->n_burning || i >= fronts->n_walls); root++)
            add_corner(out, fronts, i, SM_OWN_END, root);
    for (int i = 0; i < fronts->n_burning; i++)
        for (int j = i + 1; j < fronts->n_walls; j++) {
            const bool are_lines = !fronts->items[i].is_arc && !fronts->items[j].is_arc;
            for (int root = 0; root < (are_lines ? 1 : 2) && may_meet(fronts, i, j); root++)
                add_corner(out, fronts, i, j, root);
        }
    *items = list.items;
    *count = list.n;
    return SM_OK;
}

/* ---- sets of instructions ---- */

static const struct work {
    void (*place)(struct sm_row *row);
    void (*sum)(struct sm_row *row);
    void (*look)(struct sm_slice_look *look);
} works[SM_LANE_SETS] = {
    [SM_LANE_PLAIN] = {sm_row_place_plain, sm_row_sum_plain, sm_row_look_plain},
#ifdef SM_LANES_X86
    [SM_LANE_AVX2] = {sm_row_place_avx2, sm_row_sum_avx2, sm_row_look_avx2},
    [SM_LANE_AVX512] = {sm_row_place_avx512, sm_row_sum_avx512, sm_row_look_avx512},
#endif
};

void sm_row_place(struct sm_row *row)
{
    works[row->slicer->set].place(row);
}

void sm_row_sum(struct sm_row *row)
{
    works[row->slicer->set].sum(row);
}

void sm_slice_look(struct sm_slice_look *look)
{
    works[look->slicer->set].look(look);
}

/* ---- marks ---- */

void sm_slicing_marks(const struct sm_slicing *c, const double *t, int n, uint64_t *out)
{
    struct sm_slice_look look = {.slicer = c->slicer};
    for (int k = 0; k < n; k += SM_SLICE_LANES) {
        const int m = n - k < SM_SLICE_LANES ? n - k : SM_SLICE_LANES;
        for (int i = 0; i < SM_SLICE_LANES; i++) {
            const double at = t[k + (i < m ? i : 0)];
            look.w[i] = c->way.by_w ? at : c->w;
            look.from[i] = c->way.by_w ? c->way.z : at;
            look.way[i] = c->way.by_w ? c->way.slope * at : 0.0;
        }
        sm_slice_look(&look);
        for (int i = 0; i < m; i++)
            out[k + i] = look.mark[i];
    }
}
