#include "grain/stage.h"

#include <math.h>

#include "grain/contact.h"

/* Shares of the figure's size. */
static const double FIRST_LOOK = 1e-9; /* so soon after a contact the new make-up is looked at */
static const double NEAR_START = 1e-7; /* see sm_stage_near_start */
static const double FINEST = 1e-14;    /* bracket at which an event counts as found */
static const double SHORTEST = 1e-8;   /* stage that is kept */

struct finder {
    struct sm_arena *arena;
    struct sm_trimmer trimmer;
    struct sm_stages *out;
    size_t room;
    double size;    /* [m] */
    double contact; /* the last one passed [m] */
    struct sm_error *err;
};

static enum sm_status trim(struct finder *f, double w, const struct sm_parts *before, struct sm_parts *out)
{
    return sm_trim(&f->trimmer, w, before, out, f->err);
}

/* Takes a last stage away that is too short to keep. Returned: where the next one begins. A contact stays where it is;
 * else that is where the short one began. */
static double drop_short(struct finder *f, double w0)
{
    struct sm_stages *out = f->out;
    const struct sm_stage *last = &out->items[out->n - 1];
    if (last->w1 - last->w0 >= SHORTEST * f->size)
        return w0;
    const double start = last->w0;
    out->n--;
    if (out->n == 0 || w0 != f->contact)
        return start;
    out->items[out->n - 1].w1 = w0;
    return w0;
}

/* Appends [w0, w1] with these parts, or lengthens the last stage if it has the same. */
static enum sm_status append(struct finder *f, double w0, double w1, const struct sm_parts *parts)
{
    struct sm_stages *out = f->out;
    const bool goes_on = out->n > 0 && sm_parts_alike(&out->items[out->n - 1].parts, parts);
    if (out->n > 0 && !goes_on)
        w0 = drop_short(f, w0);
    if (out->n > 0 && sm_parts_alike(&out->items[out->n - 1].parts, parts)) {
        out->items[out->n - 1].w1 = w1;
        return SM_OK;
    }
    struct sm_stage *room = sm_arena_grow(f->arena, out->items, out->n, &f->room, out->n + 1, sizeof *room);
    if (!room)
        return sm_fail(f->err, SM_E_NOMEM, "out of memory");
    out->items = room;
    out->items[out->n++] = (struct sm_stage){w0, w1, *parts};
    return SM_OK;
}

/* Parts of the stretch (a, b), those at the ends being known: one stage if they are alike, else halved. *event is where
 * the last stage found ends and the next begins. */
static enum sm_status refine(struct finder *f, double a, const struct sm_parts *at_a, double b,
                             const struct sm_parts *at_b, double *event)
{
    if (sm_parts_alike(at_a, at_b))
        return append(f, *event, b, at_a);
    const double middle = 0.5 * (a + b);
    if (b - a < FINEST * f->size || middle <= a || middle >= b) {
        SM_TRY(append(f, *event, middle, at_a));
        *event = middle;
        return append(f, middle, b, at_b);
    }
    struct sm_parts at_middle;
    SM_TRY(trim(f, middle, at_a, &at_middle));
    SM_TRY(refine(f, a, at_a, middle, &at_middle, event));
    return refine(f, middle, &at_middle, b, at_b, event);
}

/* Stages between two contacts. Nothing is left of the fronts by the end of it: *is_over. */
static enum sm_status between(struct finder *f, double a, double b, struct sm_parts *before, bool *is_over)
{
    const double step = fmin(FIRST_LOOK * f->size, 0.25 * (b - a)), middle = 0.5 * (a + b);
    struct sm_parts first, half, last;
    f->contact = a;
    SM_TRY(trim(f, a + step, before, &first));
    *is_over = first.n_burning == 0;
    if (*is_over)
        return SM_OK;
    SM_TRY(trim(f, middle, &first, &half));
    SM_TRY(trim(f, b - step, &half, &last));
    double event = a;
    SM_TRY(refine(f, a + step, &first, middle, &half, &event));
    SM_TRY(refine(f, middle, &half, b - step, &last, &event));
    struct sm_stage *end = &f->out->items[f->out->n - 1];
    if (end->parts.n_burning > 0)
        end->w1 = b;
    *before = last;
    *is_over = last.n_burning == 0;
    return SM_OK;
}

/* The stages with nothing burning at the end are dropped, and the web is where the last other one ends. */
static void finish(struct finder *f)
{
    struct sm_stages *out = f->out;
    while (out->n > 0 && out->items[out->n - 1].parts.n_burning == 0)
        out->n--;
    if (out->n > 1 && out->items[out->n - 1].w1 - out->items[out->n - 1].w0 < SHORTEST * f->size)
        out->n--;
    out->web = out->n > 0 ? out->items[out->n - 1].w1 : 0.0;
    out->n_trims = f->trimmer.n_trims;
}

enum sm_status sm_stages_find(struct sm_arena *arena, const struct sm_fronts *fronts, struct sm_stages *out,
                              struct sm_error *err)
{
    *out = (struct sm_stages){0};
    struct finder f = {.arena = arena, .out = out, .size = fronts->size, .err = err};
    const double limit = 3.0 * fronts->size;
    double *contacts = NULL;
    size_t n = 0;
    SM_TRY(sm_contacts_find(arena, fronts, limit, &contacts, &n, err));
    SM_TRY(sm_trimmer_init(&f.trimmer, fronts, arena, err));
    struct sm_parts before;
    SM_TRY(sm_trim_whole(&f.trimmer, &before, err));
    bool is_over = false;
    for (size_t i = 0; i <= n && !is_over; i++)
        SM_TRY(between(&f, i > 0 ? contacts[i - 1] : 0.0, i < n ? contacts[i] : limit, &before, &is_over));
    if (!is_over)
        return sm_fail(err, SM_E_GEOMETRY, "some of the grain is never reached by a burning face");
    finish(&f);
    return SM_OK;
}

double sm_stage_near_start(const struct sm_fronts *fronts, const struct sm_stage *stage)
{
    if (stage->w0 > 0.0)
        return 0.0;
    for (int k = 0; k < stage->parts.n_burning; k++) {
        const struct sm_part *part = &stage->parts.items[k];
        const struct sm_front *f = &fronts->items[part->front];
        if (f->is_arc && f->radius == 0.0 && (part->from.other != SM_OWN_END || part->to.other != SM_OWN_END))
            return fmin(NEAR_START * fronts->size, stage->w1);
    }
    return 0.0;
}
