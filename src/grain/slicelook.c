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

/* An element's own end when it has burned by so much [m]. */
static struct sm_point end_of(const struct sm_front *f, int root, double burned)
{
    if (f->is_arc)
        return sm_point_along(f->base, f->radius + f->sign * burned, root == 0 ? f->u : f->v);
    return sm_point_along(sm_point_along(f->base, burned, f->v), root == 0 ? 0.0 : f->extent, f->u);
}

static bool are_near(const struct sm_fronts *fronts, struct sm_point a, struct sm_point b)
{
    return hypot(a.x - b.x, a.y - b.y) <= 1e-12 * fronts->size;
}

/* Is an arc's own end, however far both have burned, a line's too? That one is looked at. */
static bool is_a_lines(const struct sm_fronts *fronts, int arc, int root)
{
    const struct sm_front *f = &fronts->items[arc];
    const int beside[2] = {f->before, f->after};
    for (int k = 0; k < 2 && f->is_arc; k++)
        for (int other = 0; other < 2 && beside[k] >= 0; other++) {
            const struct sm_front *g = &fronts->items[beside[k]];
            if (!g->is_arc && are_near(fronts, end_of(f, root, 0.0), end_of(g, other, 0.0)) &&
                are_near(fronts, end_of(f, root, fronts->size), end_of(g, other, fronts->size)))
                return true;
        }
    return false;
}

static void add_corner(struct corners *c, const struct sm_fronts *fronts, int i, int j, bool has_first,
                       bool has_second)
{
    const bool is_arc[2] = {fronts->items[i].is_arc, fronts->items[j].is_arc};
    const int a = is_arc[0] && !is_arc[1] ? j : i, b = a == i ? j : i;
    struct sm_slice_corner *corner = &c->items[c->n];
    *corner = (struct sm_slice_corner){.a = a, .b = b};
    corner->a_burns = a < fronts->n_burning;
    corner->b_burns = b < fronts->n_burning;
    if (i == j)
        corner->kind = is_arc[0] ? SM_CORNER_ARC_ENDS : SM_CORNER_LINE_ENDS;
    else if (is_arc[0] && is_arc[1])
        corner->kind = SM_CORNER_ARCS;
    else
        corner->kind = is_arc[0] || is_arc[1] ? SM_CORNER_LINE_ARC : SM_CORNER_LINES;
    corner->per = i == j ? 0.0 : sm_slice_spot_of(fronts, i, j, 0).per;
    corner->key[0] = has_first ? key_of(2 * c->n) : 0;
    corner->key[1] = has_second ? key_of(2 * c->n + 1) : 0;
    c->n += has_first || has_second;
}

/* Can a burning element and another meet other than by running into each other? */
static bool may_meet(const struct sm_fronts *fronts, int i, int j)
{
    const struct sm_front *a = &fronts->items[i];
    return j != a->before && j != a->after && !sm_front_are_twins(fronts, i, j);
}

static void list_corners(const struct sm_fronts *fronts, struct corners *out)
{
    for (int i = 0; i < fronts->n; i++)
        if (i < fronts->n_burning || i >= fronts->n_walls)
            add_corner(out, fronts, i, i, !is_a_lines(fronts, i, 0), !is_a_lines(fronts, i, 1));
    for (int i = 0; i < fronts->n_burning; i++)
        for (int j = i + 1; j < fronts->n_walls; j++)
            if (may_meet(fronts, i, j))
                add_corner(out, fronts, i, j, true, fronts->items[i].is_arc || fronts->items[j].is_arc);
}

/* Does an arc end squarely at a straight wall? Then what is beyond its end is beyond the wall. */
static bool is_square_at_wall(const struct sm_fronts *fronts, const struct sm_front *arc, int root)
{
    const struct sm_point out = root == 0 ? arc->u : arc->v, at = sm_point_along(arc->base, arc->radius, out);
    for (int k = fronts->n_burning; k < fronts->n_walls; k++) {
        const struct sm_front *f = &fronts->items[k];
        if (!f->is_arc && fabs(sm_point_dot(out, f->v)) <= 1e-12 &&
            fabs(sm_point_dot(sm_point_minus(at, f->base), f->v)) <= 1e-12 * fronts->size)
            return true;
    }
    return false;
}

/* Does neither another element of the same splice, as it was at first, begin or end at that of an arc, nor a wall? */
static bool is_free(const struct sm_slicer *s, int arc, int root, struct sm_point at)
{
    const int splice = s->owner[arc];
    if (is_square_at_wall(&s->fronts, &s->fronts.items[arc], root))
        return false;
    for (int k = s->first[splice]; k < s->first[splice + 1]; k++)
        for (int end = 0; end < 2 && k != arc; end++)
            if (are_near(&s->fronts, end_of(&s->fronts.items[k], end, 0.0), at))
                return false;
    return true;
}

/* Returned: how many were put down in out, of which there are two for each arc at most. */
static int list_free_ends(const struct sm_slicer *s, struct sm_slice_free_end *out)
{
    int n = 0;
    for (int i = 0; i < s->fronts.n_burning; i++) {
        const struct sm_front *f = &s->fronts.items[i];
        for (int root = 0; root < 2 && f->is_arc && f->radius > 0.0; root++) {
            const struct sm_point at = end_of(f, root, 0.0);
            if (is_free(s, i, root, at))
                out[n++] = (struct sm_slice_free_end){i, at};
        }
    }
    return n;
}

/* Numbers to a line of the cache, from whose beginning vectors are loaded best. */
enum { LINE = 8 };

enum sm_status sm_slice_list_corners(struct sm_arena *arena, struct sm_slicer *slicer, struct sm_error *err)
{
    const size_t n = (size_t)slicer->fronts.n;
    struct corners list = {.items = sm_arena_alloc(arena, n * (n + 1), sizeof *list.items)};
    struct sm_slice_free_end *ends = sm_arena_alloc(arena, 2 * n, sizeof *ends);
    double *room = sm_arena_alloc(arena, n * SM_SLICE_ROOM * SM_SLICE_LANES + LINE, sizeof *room);
    if (!list.items || !ends || !room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    slicer->offsets = room + (LINE - (uintptr_t)room / sizeof *room % LINE) % LINE;
    list_corners(&slicer->fronts, &list);
    slicer->corners = list.items;
    slicer->n_corners = list.n;
    slicer->free_ends = ends;
    slicer->n_free_ends = list_free_ends(slicer, ends);
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
