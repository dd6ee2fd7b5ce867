#include "grain/stage.h"

#include <math.h>

#include "grain/contact.h"
#include "num/bracket.h"

/* Shares of the figure's size. */
static const double FIRST_LOOK = 1e-9; /* so soon after a contact the new make-up is looked at */
static const double NEAR_START = 1e-7; /* see sm_stage_near_start */
static const double BESIDE = 1e-9;     /* a guessed event is looked at from so far before and behind */
static const double FINEST = 1e-14;    /* bracket at which an event counts as found */
static const double SHORTEST = 1e-8;   /* stage that is kept; what happens in a shorter one is left out */
static const double TOGETHER = 1e-9;   /* contacts nearer to each other than this are passed in one step */
static const double NO_GAP = 1e-12;    /* stretch left out that is none, but a rounding */

static const double LIMIT = 3.0; /* distance burned by which all fronts have gone */

/* No more looks than these: some events a front, each found by halving, and more where roundings alone tell who is in front. */
enum { MOST_TRIMS = 600, TRIMS_A_FRONT = 40 };

struct finder {
    struct sm_arena *arena;
    struct sm_trimmer trimmer;
    struct sm_stages *out;
    struct sm_parts whole;
    size_t room;
    double size; /* [m] */
    double over; /* the last contact passed [m] */
    struct sm_error *err;
};

/* Where fronts lie on each other, roundings may put now one, now the other in front, at every look. */
static enum sm_status trim(struct finder *f, double w, const struct sm_parts *before, struct sm_parts *out)
{
    if (f->trimmer.n_trims > MOST_TRIMS + TRIMS_A_FRONT * f->trimmer.fronts->n)
        return sm_fail(
            f->err, SM_E_GEOMETRY,
            "the front can't be told at %.6g mm burned: parts of the outline lie on each other, or "
            "all but do",
            1e3 * w);
    return sm_trim(&f->trimmer, w, f->trimmer.fronts->come_in ? &f->whole : before, out, f->err);
}

/* Takes a last stage away that is too short to keep, which leaves a gap. */
static void drop_short(struct finder *f)
{
    const struct sm_stage *last = &f->out->items[f->out->n - 1];
    if (last->w1 - last->w0 < SHORTEST * f->size)
        f->out->n--;
}

/* Appends [w0, w1] with these parts, or lengthens the last stage if it has the same. */
static enum sm_status append(struct finder *f, double w0, double w1, const struct sm_parts *parts)
{
    struct sm_stages *out = f->out;
    const bool goes_on = out->n > 0 && sm_parts_alike(&out->items[out->n - 1].parts, parts);
    if (out->n > 0 && !goes_on && parts->n_burning > 0)
        drop_short(f);
    if (out->n > 0 && sm_parts_alike(&out->items[out->n - 1].parts, parts)) {
        out->items[out->n - 1].w1 = w1;
        return SM_OK;
    }
    struct sm_stage *room = sm_arena_grow(f->arena, out->items, out->n, &f->room, out->n + 1, sizeof *room);
    if (!room)
        return sm_fail(f->err, SM_E_NOMEM, "out of memory");
    out->items = room;
    out->items[out->n++] = (struct sm_stage){w0, w1, w0, *parts};
    return SM_OK;
}

/* ---- where one make-up gives way to the next ---- */

/* Length of a part at w [m], negative once its ends have passed each other. */
static double signed_length(const struct sm_fronts *fronts, const struct sm_part *part, double w)
{
    struct sm_cut_part at;
    sm_part_place(fronts, part, w, &at);
    const struct sm_front *front = &fronts->items[part->front];
    if (!front->is_arc)
        return (at.p[1].x - at.p[0].x) * at.tangent[0].x + (at.p[1].y - at.p[0].y) * at.tangent[0].y;
    const double k = front->sign;
    const struct sm_point e0 = {k * at.normal[0].x, k * at.normal[0].y},
                          e1 = {k * at.normal[1].x, k * at.normal[1].y};
    return at.radius * sm_part_sweep(e0, e1);
}

/* Where in (a, b) a part's length passes through zero, falling or rising, by false position. Returned: NaN if it has one sign. */
static double find_zero(const struct sm_fronts *fronts, const struct sm_part *part, double a, double b)
{
    enum { STEPS = 40 };
    const double fa = signed_length(fronts, part, a), fb = signed_length(fronts, part, b);
    struct sm_chord chord = {a, fa, b, fb};
    if (!(fa * fb < 0.0))
        return SM_NAN;
    double w = a;
    for (int i = 0; i < STEPS; i++) {
        const double before = w;
        w = sm_chord_next(&chord);
        const double f = signed_length(fronts, part, w);
        if (f == 0.0 || fabs(w - before) <= 0.1 * FINEST * fronts->size)
            return w;
        sm_chord_take(&chord, w, f);
    }
    return w;
}

/* The first w at which a part of the make-up at a is used up, as far as its own ends tell. */
static double guess_event(const struct finder *f, double a, const struct sm_parts *at_a, double b,
                          const struct sm_parts *at_b)
{
    double first = SM_NAN;
    for (int k = 0; k < at_a->n; k++) {
        if (sm_parts_hold(at_b, &at_a->items[k]))
            continue;
        const double w = find_zero(f->trimmer.fronts, &at_a->items[k], a, b);
        first = w < first || isnan(first) ? w : first;
    }
    return first;
}

static enum sm_status refine(struct finder *f, double a, const struct sm_parts *at_a, double b,
                             const struct sm_parts *at_b, double *event);

/* Is the guess an event, with the make-up of a up to it? If so the rest goes on from there. */
static enum sm_status try_guess(struct finder *f, double a, const struct sm_parts *at_a, double b,
                                const struct sm_parts *at_b, double *event, bool *is_event)
{
    const double w = guess_event(f, a, at_a, b, at_b), step = BESIDE * f->size;
    *is_event = false;
    if (!(w - step > a && w + step < b))
        return SM_OK;
    struct sm_parts before, after;
    SM_TRY(trim(f, w - step, at_a, &before));
    if (!sm_parts_alike(&before, at_a))
        return SM_OK;
    SM_TRY(trim(f, w + step, &before, &after));
    if (sm_parts_alike(&after, at_a))
        return SM_OK;
    *is_event = true;
    SM_TRY(append(f, *event, w, at_a));
    *event = w;
    return refine(f, w + step, &after, b, at_b, event);
}

/* Parts of the stretch (a, b), those at the ends being known: one stage if they are alike, else cut at an event, or
 * halved. *event is where the last stage found ends and the next begins. */
static enum sm_status refine(struct finder *f, double a, const struct sm_parts *at_a, double b,
                             const struct sm_parts *at_b, double *event)
{
    if (sm_parts_alike(at_a, at_b))
        return append(f, *event, b, at_a);
    bool is_event = false;
    SM_TRY(try_guess(f, a, at_a, b, at_b, event, &is_event));
    if (is_event)
        return SM_OK;
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

/* ---- all of them ---- */

/* Stages between two contacts. Nothing is left of the fronts by the end of it: *is_over. */
static enum sm_status between(struct finder *f, double a, double b, struct sm_parts *before, bool *is_over)
{
    const double step = fmin(FIRST_LOOK * f->size, 0.25 * (b - a)), middle = 0.5 * (a + b);
    struct sm_parts first, half, last;
    SM_TRY(trim(f, a + step, before, &first));
    *is_over = first.n_burning == 0;
    f->over = a;
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

/* From the last of some contacts that lie together to the first of the next. */
static enum sm_status between_all(struct finder *f, const double *contacts, size_t n, bool *is_over)
{
    const double limit = LIMIT * f->size, near = TOGETHER * f->size;
    struct sm_parts before = f->whole;
    double a = 0.0;
    *is_over = false;
    for (size_t i = 0; i <= n && !*is_over; i++) {
        const double b = i < n ? contacts[i] : limit;
        if (b - a > near)
            SM_TRY(between(f, a, b, &before, is_over));
        a = b;
    }
    return SM_OK;
}

/* Drops the stages with nothing burning at the end, and puts a stage into each gap and in the place of a last one too short to
 * keep. */
static enum sm_status finish(struct finder *f)
{
    struct sm_stages *out = f->out;
    struct sm_stage *all = sm_arena_alloc(f->arena, 2 * out->n + 1, sizeof *all);
    size_t n = 0;
    double at = 0.0; /* how far the stages reach [m] */
    if (!all)
        return sm_fail(f->err, SM_E_NOMEM, "out of memory");
    while (out->n > 0 && out->items[out->n - 1].parts.n_burning == 0)
        out->n--;
    for (size_t i = 0; i < out->n; i++) {
        struct sm_stage s = out->items[i];
        const bool is_short = i > 0 && i + 1 == out->n && s.w1 - s.w0 < SHORTEST * f->size;
        const double end = is_short ? s.w1 : s.w0;
        if (end - at > NO_GAP * f->size)
            all[n++] = (struct sm_stage){at, end, end, s.parts};
        else
            s.w0 = s.from = at;
        if (!is_short)
            all[n++] = s;
        at = s.w1;
    }
    if (n > 0 && f->over - at > NO_GAP * f->size) { /* all went out from contact to contact */
        all[n] = (struct sm_stage){at, f->over, f->over, all[n - 1].parts};
        n++;
    }
    out->items = all;
    out->n = n;
    out->web = n > 0 ? all[n - 1].w1 : 0.0;
    out->n_trims = f->trimmer.n_trims;
    return SM_OK;
}

enum sm_status sm_stages_find(struct sm_arena *arena, const struct sm_fronts *fronts, struct sm_stages *out,
                              struct sm_error *err)
{
    *out = (struct sm_stages){0};
    struct finder f = {.arena = arena, .out = out, .size = fronts->size, .err = err};
    double *contacts = NULL;
    size_t n = 0;
    bool is_over = false;
    SM_TRY(sm_contacts_find(arena, fronts, LIMIT * fronts->size, &contacts, &n, err));
    SM_TRY(sm_trimmer_init(&f.trimmer, fronts, arena, err));
    SM_TRY(sm_trim_whole(&f.trimmer, &f.whole, err));
    SM_TRY(between_all(&f, contacts, n, &is_over));
    if (!is_over)
        return sm_fail(err, SM_E_GEOMETRY, "some of the grain is never reached by a burning face");
    return finish(&f);
}

double sm_stages_blur(const struct sm_fronts *fronts)
{
    return FIRST_LOOK * fronts->size;
}

bool sm_stage_is_gap(const struct sm_stage *stage)
{
    return stage->from > stage->w0;
}

void sm_stage_bridge(const struct sm_stage *gap, double w, int n, const double *before, const double *behind,
                     double *value, double *slope)
{
    for (int i = 0; i < n; i++) {
        slope[i] = (behind[i] - before[i]) / (gap->w1 - gap->w0);
        value[i] = before[i] + (w - gap->w0) * slope[i];
    }
}

double sm_stage_near_start(const struct sm_fronts *fronts, const struct sm_stage *stage)
{
    if (sm_stage_is_gap(stage))
        return stage->from;
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
