#include <math.h>
#include <string.h>

#include "grain/slicing.h"
#include "num/bracket.h"

/* Shares of the grain's radius. */

/* So far inside a stretch its make-up is looked at. Nearer to where a splice ends, what has burned on its two sides differs
 * by less than fronts are told apart by: by the square of this. */
static const double INSET = 2e-6;
/* The same where a splice comes into reach: there its front is as far out as the root of this, and what happens to that while it is
 * shorter is lost. */
static const double INSET_AT_REACH = 1e-10;
static const double NARROWEST = 1e-9; /* stretch in which a change of make-up is not looked for any closer */

double sm_slicing_inset(const struct sm_slicing *c, double z, double length)
{
    const struct sm_spliced *grain = c->slicer->grain;
    double share = INSET;
    for (size_t i = 0; i < grain->n && !c->way.by_w; i++)
        if (z == grain->items[i].z0 - c->w || z == grain->items[i].z1 + c->w)
            share = INSET_AT_REACH;
    return fmin(share * grain->radius, 1e-3 * length);
}

/* Length of a part, negative once its ends have passed each other. */
static double part_length(struct sm_slicing *c, const struct sm_part *part)
{
    const struct sm_fronts *fronts = &c->slicer->fronts;
    const struct sm_front *f = &fronts->items[part->front];
    struct sm_point p[2];
    sm_part_ends(fronts, part, 1.0, p);
    if (!f->is_arc)
        return (p[1].x - p[0].x) * f->u.x + (p[1].y - p[0].y) * f->u.y;
    const struct sm_point d0 = {p[0].x - f->base.x, p[0].y - f->base.y};
    const struct sm_point d1 = {p[1].x - f->base.x, p[1].y - f->base.y};
    return sm_front_radius(f, 1.0) * sm_part_sweep(d0, d1);
}

static double sign_at(struct sm_slicing *c, const struct sm_slice_change *change, double t)
{
    sm_slicing_go(c, t);
    if (change->other == SM_OWN_END)
        return part_length(c, &change->part);
    return sm_front_overlap(&c->slicer->fronts, change->part.front, change->other, 1.0);
}

/* By false position. */
static double seek(struct sm_slicing *c, const struct sm_slice_change *change, struct sm_chord chord,
                   double near)
{
    enum { STEPS = 40 };
    for (int i = 0; i < STEPS && fabs(chord.b - chord.a) > near && chord.fb != 0.0; i++) {
        const double last = chord.b, t = sm_chord_next(&chord);
        sm_chord_take(&chord, t, sign_at(c, change, t));
        if (fabs(t - last) <= 0.1 * near)
            break;
    }
    return chord.b;
}

/* What a change may be told by, in the order in which it is tried. */
enum teller { BY_LENGTH, BY_ENDS, BY_TWINS, N_TELLERS };

/* Elements that a part may end or vanish at, as a teller has them: itself, those that end it, or those of the other make-up and
 * walls that run beside it everywhere. Returned: how many, at most as many as there are fronts and walls. */
static int list_others(const struct sm_slicing *c, enum teller by, const struct sm_part *part,
                       const struct sm_parts *lacks, int *out)
{
    const struct sm_fronts *fronts = &c->slicer->fronts;
    int n = 0;
    if (by == BY_LENGTH)
        out[n++] = SM_OWN_END;
    if (by == BY_ENDS && part->from.other >= 0)
        out[n++] = part->from.other;
    if (by == BY_ENDS && part->to.other >= 0)
        out[n++] = part->to.other;
    if (by != BY_TWINS)
        return n;
    for (int k = 0; k < lacks->n_burning; k++)
        if (sm_front_are_twins(fronts, part->front, lacks->items[k].front))
            out[n++] = lacks->items[k].front;
    for (int k = fronts->n_burning; k < fronts->n_walls; k++)
        if (sm_front_are_twins(fronts, part->front, k))
            out[n++] = k;
    return n;
}

/* Where between a and b a part that only one of two make-ups has comes or goes; NaN if that can't be told. */
static double find_change(struct sm_slicing *c, double a, double b, const struct sm_parts *has,
                          const struct sm_parts *lacks, enum teller by, struct sm_slice_change *told)
{
    const double near = 1e-3 * NARROWEST * c->slicer->grain->radius;
    for (int k = 0; k < has->n; k++) {
        const struct sm_part *part = &has->items[k];
        if (sm_parts_hold(lacks, part))
            continue;
        const int n = list_others(c, by, part, lacks, c->others);
        for (int i = 0; i < n; i++) {
            const struct sm_slice_change change = {*part, c->others[i]};
            const double fa = sign_at(c, &change, a), fb = sign_at(c, &change, b);
            if (fa * fb < 0.0) {
                *told = change;
                return seek(c, &change, (struct sm_chord){a, fa, b, fb}, near);
            }
        }
    }
    return SM_NAN;
}

/* The same whichever make-up has it. Returned: false, and the guess is left alone, if it can't be told. */
static bool guess_change(struct sm_slicing *c, double a, const struct sm_parts *at_a, double b,
                         const struct sm_parts *at_b, struct sm_slice_change *told, double *guess)
{
    for (int by = BY_LENGTH; by < N_TELLERS; by++)
        for (int way = 0; way < 2; way++) {
            const double t = way == 0 ? find_change(c, a, b, at_a, at_b, (enum teller)by, told)
                                      : find_change(c, a, b, at_b, at_a, (enum teller)by, told);
            if (isnan(t))
                continue;
            *guess = t;
            return true;
        }
    return false;
}

/* Appends a piece. What goes on as it was is one piece with that before it. */
static enum sm_status append(struct sm_slicing *c, struct sm_slice_pieces *pieces,
                             const struct sm_slice_piece *piece)
{
    struct sm_slice_piece *last = pieces->n > 0 ? &pieces->items[pieces->n - 1] : NULL;
    if (last && last->stretch == piece->stretch && sm_parts_alike(&last->parts, &piece->parts)) {
        last->b = piece->b;
        last->mark = last->mark ? last->mark : piece->mark;
        last->is_told = piece->is_told;
        last->end = piece->end;
        return SM_OK;
    }
    struct sm_slice_piece *room = sm_arena_grow(&c->passing, pieces->items, (size_t)pieces->n, &pieces->room,
                                                (size_t)pieces->n + 1, sizeof *room);
    if (!room)
        return sm_fail(c->err, SM_E_NOMEM, "out of memory");
    pieces->items = room;
    pieces->items[pieces->n++] = *piece;
    return SM_OK;
}

/* Appends what lies between whole.a, where the make-up is whole.parts, and whole.b, where it is at_b; cut where it changes. A guess that
 * parts no make-ups is not made again before the stretch has been halved. */
static enum sm_status divide(struct sm_slicing *c, const struct sm_slice_piece *whole,
                             const struct sm_parts *at_b, struct sm_slice_pieces *out, bool may_guess)
{
    const double beside = 0.1 * NARROWEST * c->slicer->grain->radius;
    if (sm_parts_alike(&whole->parts, at_b))
        return append(c, out, whole);
    struct sm_slice_piece left = *whole, right = *whole;
    right.mark = 0;
    if (whole->b - whole->a < 4.0 * beside) {
        left.b = right.a = 0.5 * (whole->a + whole->b);
        left.is_told = false;
        right.parts = *at_b;
        SM_TRY(append(c, out, &left));
        return append(c, out, &right);
    }
    struct sm_parts before;
    double guess = 0.5 * (whole->a + whole->b);
    left.is_told = may_guess && guess_change(c, whole->a, &whole->parts, whole->b, at_b, &left.end, &guess);
    left.b = right.a = fmin(fmax(guess, whole->a + 2.0 * beside), whole->b - 2.0 * beside);
    SM_TRY(sm_slicing_trim(c, left.b - beside, &before));
    SM_TRY(sm_slicing_trim(c, left.b + beside, &right.parts));
    const bool may_again = !left.is_told || !sm_parts_alike(&before, &right.parts);
    SM_TRY(divide(c, &left, &before, out, may_again));
    return divide(c, &right, at_b, out, may_again);
}

/* ---- a stretch ---- */

/* Where something was left, or there was something to see, at other distances burned. Returned: how many places. */
static int list_hints(const struct sm_slicing *c, double out[SM_MOST_HINTS + SM_MOST_SEEN])
{
    const struct sm_slicer *s = c->slicer;
    int n = 0;
    for (int k = 0; k < s->n_hints; k++)
        out[n++] = s->hints[k].edge + c->w * s->hints[k].sine;
    for (int k = 0; k < s->n_seen; k++)
        out[n++] = 0.5 * (s->seen[k][0] + s->seen[k][1]);
    return n;
}

int sm_slicing_looks(const struct sm_slicing *c, double a, double b, double out[SM_MOST_LOOKS])
{
    enum { LOOKS = SM_MOST_LOOKS - SM_MOST_HINTS - SM_MOST_SEEN };
    double hints[SM_MOST_HINTS + SM_MOST_SEEN];
    const int n_hints = c->way.by_w ? 0 : list_hints(c, hints);
    int n = 0;
    for (int k = 0; k < LOOKS; k++) {
        const double share = 0.5 - 0.5 * cos(M_PI * k / (LOOKS - 1));
        out[n++] = k == 0           ? a + sm_slicing_inset(c, a, b - a)
                   : k + 1 == LOOKS ? b - sm_slicing_inset(c, b, b - a)
                                    : a + share * (b - a);
    }
    for (int k = 0; k < n_hints; k++) {
        int i = n;
        if (!(hints[k] > out[0] && hints[k] < out[n - 1]))
            continue;
        for (n++; out[i - 1] > hints[k]; i--)
            out[i] = out[i - 1];
        out[i] = hints[k];
    }
    return n;
}

/* The make-up at t by its mark: cut only if none like it has been. */
static enum sm_status cut_kind(struct sm_slicing *c, double t, uint64_t mark, struct sm_parts *out)
{
    for (int k = 0; k < c->n_kinds; k++)
        if (c->kinds[k].mark == mark) {
            *out = c->kinds[k].parts;
            return SM_OK;
        }
    SM_TRY(sm_slicing_trim(c, t, out));
    if (c->n_kinds == SM_MOST_KINDS)
        return SM_OK;
    struct sm_part *items = sm_arena_alloc(&c->scratch, (size_t)out->n, sizeof *items);
    if (!items)
        return sm_fail(c->err, SM_E_NOMEM, "out of memory");
    if (out->n > 0)
        memcpy(items, out->items, (size_t)out->n * sizeof *items);
    c->kinds[c->n_kinds++] = (struct sm_slice_kind){mark, {items, out->n, out->n_burning}};
    return SM_OK;
}

/* Two looks in a row that show unlike make-ups, and where the one may give way to the other. */
struct crossing {
    struct sm_slice_piece left; /* from the first look on */
    double b;                   /* the second look [m] */
    struct sm_parts next;
    uint64_t marks[2];
    bool is_sure;
};

static enum sm_status list_crossings(struct sm_slicing *c, const struct sm_slice_piece *first,
                                     const double *t, const uint64_t *marks, int n, struct crossing *out,
                                     int *n_out)
{
    struct sm_parts parts = first->parts;
    *n_out = 0;
    for (int i = 1; i < n; i++) {
        if (marks[i] == marks[i - 1])
            continue;
        struct crossing *x = &out[(*n_out)++];
        *x = (struct crossing){.left = *first, .b = t[i], .marks = {marks[i - 1], marks[i]}};
        x->left.a = t[i - 1];
        x->left.parts = parts;
        x->left.mark = marks[i - 1];
        SM_TRY(cut_kind(c, t[i], marks[i], &x->next));
        parts = x->next;
    }
    return SM_OK;
}

/* Guesses where each lies, and makes sure of those that have the one make-up just before and the other just behind. */
static void guess_crossings(struct sm_slicing *c, struct crossing *x, int n)
{
    const double beside = 0.1 * NARROWEST * c->slicer->grain->radius;
    double t[2 * SM_MOST_LOOKS] = {0.0};
    uint64_t marks[2 * SM_MOST_LOOKS];
    for (int i = 0; i < n; i++) {
        struct sm_slice_piece *left = &x[i].left;
        left->b = left->a;
        left->is_told = guess_change(c, left->a, &left->parts, x[i].b, &x[i].next, &left->end, &left->b);
        x[i].is_sure = left->is_told && left->b > left->a + beside && left->b < x[i].b - beside;
        t[2 * i] = left->b - beside;
        t[2 * i + 1] = left->b + beside;
    }
    sm_slicing_marks(c, t, 2 * n, marks);
    for (int i = 0; i < n; i++)
        x[i].is_sure = x[i].is_sure && marks[2 * i] == x[i].marks[0] && marks[2 * i + 1] == x[i].marks[1];
}

static enum sm_status append_crossing(struct sm_slicing *c, const struct crossing *x,
                                      struct sm_slice_pieces *out)
{
    struct sm_slice_piece left = x->left, right = x->left;
    if (!x->is_sure) {
        left.b = x->b;
        return divide(c, &left, &x->next, out, true);
    }
    right.a = left.b;
    right.b = x->b;
    right.parts = x->next;
    right.mark = x->marks[1];
    SM_TRY(append(c, out, &left));
    return append(c, out, &right);
}

enum sm_status sm_slicing_find(struct sm_slicing *c, double a, double b, int stretch,
                               struct sm_slice_pieces *out)
{
    double t[SM_MOST_LOOKS];
    uint64_t marks[SM_MOST_LOOKS];
    struct crossing crossings[SM_MOST_LOOKS];
    struct sm_slice_piece piece = {.a = a, .b = b, .stretch = stretch};
    bool is_covered = false;
    sm_slicing_go(c, 0.5 * (a + b));
    if (!c->way.by_w)
        SM_TRY(sm_slicing_is_covered(c, &is_covered));
    if (is_covered) {
        SM_TRY(sm_slicing_trim(c, 0.5 * (a + b), &piece.parts));
        return append(c, out, &piece);
    }
    const int n = sm_slicing_looks(c, a, b, t);
    int n_crossings;
    sm_slicing_marks(c, t, n, marks);
    piece.mark = marks[0];
    SM_TRY(cut_kind(c, t[0], marks[0], &piece.parts));
    SM_TRY(list_crossings(c, &piece, t, marks, n, crossings, &n_crossings));
    guess_crossings(c, crossings, n_crossings);
    for (int i = 0; i < n_crossings; i++) {
        piece.b = crossings[i].left.a;
        SM_TRY(append(c, out, &piece));
        SM_TRY(append_crossing(c, &crossings[i], out));
        piece.a = crossings[i].b;
        piece.parts = crossings[i].next;
        piece.mark = crossings[i].marks[1];
    }
    piece.b = b;
    return append(c, out, &piece);
}
