#include <math.h>
#include <string.h>

#include "grain/slicing.h"

static enum sm_status copy_parts(struct sm_arena *arena, struct sm_parts *parts, struct sm_error *err)
{
    struct sm_part *items = sm_arena_alloc(arena, (size_t)parts->n, sizeof *items);
    if (!items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    if (parts->n > 0)
        memcpy(items, parts->items, (size_t)parts->n * sizeof *items);
    parts->items = items;
    return SM_OK;
}

/* The plan out of the scratch memory. */
static enum sm_status copy_plan(struct sm_arena *arena, const struct sm_slice_plan *plan,
                                const struct sm_slice_plan **out, struct sm_error *err)
{
    struct sm_slice_plan *copy = sm_arena_alloc(arena, 1, sizeof *copy);
    struct sm_slice_piece *pieces = sm_arena_alloc(arena, (size_t)plan->n_pieces + 1, sizeof *pieces);
    struct sm_parts *flats = sm_arena_alloc(arena, (size_t)plan->n_flats + 1, sizeof *flats);
    if (!copy || !pieces || !flats)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    *copy = (struct sm_slice_plan){pieces, plan->n_pieces, flats, plan->n_flats};
    for (int k = 0; k < plan->n_pieces; k++) {
        pieces[k] = plan->pieces[k];
        SM_TRY(copy_parts(arena, &pieces[k].parts, err));
    }
    for (int k = 0; k < plan->n_flats; k++) {
        flats[k] = plan->flats[k];
        SM_TRY(copy_parts(arena, &flats[k], err));
    }
    *out = copy;
    return SM_OK;
}

/* Can the places of its pieces be found again? */
static bool is_told(const struct sm_slice_plan *plan)
{
    for (int k = 0; k < plan->n_pieces; k++)
        if (plan->pieces[k].end.how == SM_SLICE_UNTOLD)
            return false;
    return true;
}

/* The plans next to w on both sides, NULL if there is none; returned: the place between them. */
static int look_up(const struct sm_slice_plans *plans, double w, const struct sm_slice_plan *beside[2])
{
    int k = plans->n;
    while (k > 0 && plans->w[k - 1] >= w)
        k--;
    beside[0] = k > 0 ? plans->items[k - 1] : NULL;
    beside[1] = k < plans->n ? plans->items[k] : NULL;
    return k;
}

static void insert(struct sm_slice_plans *plans, int k, double w, const struct sm_slice_plan *plan)
{
    if (plans->n == SM_MOST_PLANS)
        return;
    for (int i = plans->n++; i > k; i--) {
        plans->w[i] = plans->w[i - 1];
        plans->items[i] = plans->items[i - 1];
    }
    plans->w[k] = w;
    plans->items[k] = plan;
}

/* Between two levels of one plan it is believed; else the plans of both neighbours are tried. */
enum sm_status sm_slicing_quick(struct sm_slicing *c, double w, struct sm_geometry_knot *out)
{
    struct sm_slicer *s = c->slicer;
    const struct sm_slice_plan *beside[2], *plan = NULL;
    const int place = look_up(&s->plans, w, beside);
    struct sm_slice_level level = {.out = out, .is_tried = beside[0] != beside[1]};
    for (int side = 0; side < (level.is_tried ? 2 : 1); side++) {
        level.plan = beside[side];
        if (!level.plan)
            continue;
        SM_TRY(sm_slicing_level(c, &level));
        if (level.has_failed)
            continue;
        if (level.is_tried)
            insert(&s->plans, place, w, level.plan);
        return SM_OK;
    }
    level.plan = NULL;
    SM_TRY(sm_slicing_level(c, &level));
    if (s->plans.n == SM_MOST_PLANS || !is_told(&level.found))
        return SM_OK;
    SM_TRY(copy_plan(s->arena, &level.found, &plan, c->err));
    insert(&s->plans, place, w, plan);
    return SM_OK;
}
