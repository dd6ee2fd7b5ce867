#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "grain/slicing.h"

/* Shares of the grain's radius. */

/* So far inside a stretch its make-up is looked at. Nearer to where a splice ends, what has burned on its two sides differs
 * by less than fronts are told apart by: by the square of this. */
static const double INSET = 2e-6;
/* The same where a splice comes into reach: there its front is as far out as the root of this, and what happens to that while it is
 * shorter is lost. */
static const double INSET_AT_REACH = 1e-10;
static const double BESIDE = 1e-10; /* how far from a change it is looked whether it is one */

double sm_slicing_inset(const struct sm_slicing *c, double z, double length)
{
    const struct sm_spliced *grain = c->slicer->grain;
    double share = INSET;
    for (size_t i = 0; i < grain->n && !c->way.by_w; i++)
        if (z == grain->items[i].z0 - c->w || z == grain->items[i].z1 + c->w)
            share = INSET_AT_REACH;
    return fmin(share * grain->radius, 1e-3 * length);
}

/* Appends a piece. What goes on as it was is one piece with that before it. */
static enum sm_status append(struct sm_slicing *c, struct sm_slice_pieces *pieces,
                             const struct sm_slice_piece *piece)
{
    struct sm_slice_piece *last = pieces->n > 0 ? &pieces->items[pieces->n - 1] : NULL;
    if (last && last->stretch == piece->stretch && sm_parts_alike(&last->parts, &piece->parts)) {
        last->b = piece->b;
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

/* The make-up at t by its mark: cut only if none like it has been. Kept if t is clear of changes, beside which the trimmer may still
 * see what the mark doesn't. */
static enum sm_status cut_kind(struct sm_slicing *c, double t, uint64_t mark, bool is_clear,
                               struct sm_parts *out)
{
    struct sm_slicer *s = c->slicer;
    for (int k = 0; k < s->n_kinds; k++)
        if (s->kinds[k].mark == mark) {
            *out = s->kinds[k].parts;
            return SM_OK;
        }
    SM_TRY(sm_slicing_trim(c, t, out));
    if (!is_clear || s->n_kinds == SM_MOST_KINDS || s->kept.n + out->n > s->room)
        return SM_OK;
    struct sm_part *items = s->kept.items + s->kept.n;
    s->kept.n += out->n;
    if (out->n > 0)
        memcpy(items, out->items, (size_t)out->n * sizeof *items);
    s->kinds[s->n_kinds++] = (struct sm_slice_kind){mark, {items, out->n, out->n_burning}};
    return SM_OK;
}

/* Appends what lies between whole.a, where the make-up is whole.parts, and whole.b, where it is at_b; cut where it changes. A guess that
 * parts no make-ups is not made again before the stretch has been halved. */
static enum sm_status divide(struct sm_slicing *c, const struct sm_slice_piece *whole,
                             const struct sm_parts *at_b, uint64_t mark_b, struct sm_slice_pieces *out,
                             bool may_guess)
{
    const double beside = BESIDE * c->slicer->grain->radius;
    if (whole->mark == mark_b || sm_parts_alike(&whole->parts, at_b))
        return append(c, out, whole);
    struct sm_slice_piece left = *whole, right = *whole;
    if (whole->b - whole->a < 4.0 * beside) {
        left.b = right.a = 0.5 * (whole->a + whole->b);
        left.is_told = false;
        right.parts = *at_b;
        right.mark = mark_b;
        SM_TRY(append(c, out, &left));
        return append(c, out, &right);
    }
    struct sm_parts before = whole->parts;
    uint64_t marks[2];
    double guess = 0.5 * (whole->a + whole->b);
    left.is_told =
        may_guess && sm_slicing_guess(c, whole->a, &whole->parts, whole->b, at_b, &left.end, &guess);
    left.b = right.a = fmin(fmax(guess, whole->a + 2.0 * beside), whole->b - 2.0 * beside);
    const double t[2] = {left.b - beside, left.b + beside};
    sm_slicing_marks(c, t, 2, marks);
    right.parts = *at_b;
    if (marks[0] != whole->mark)
        SM_TRY(cut_kind(c, t[0], marks[0], false, &before));
    if (marks[1] != mark_b)
        SM_TRY(cut_kind(c, t[1], marks[1], false, &right.parts));
    right.mark = marks[1];
    const bool may_again = !left.is_told || marks[0] != marks[1];
    SM_TRY(divide(c, &left, &before, marks[0], out, may_again));
    return divide(c, &right, at_b, mark_b, out, may_again);
}

/* ---- looks ---- */

/* Slices that are looked at, those of one stretch after those of another. */
struct looks {
    double *t;                              /* places along the way [m] */
    const struct sm_slice_change **told_by; /* of a change between one and the next, if that is known */
    uint64_t *marks;
    int n;
};

/* Looks at a stretch: many at the first distance burned, since an island close to the web is short; fewer where there are hints from
 * another. */
enum { FEW_LOOKS = 8, MANY_LOOKS = 24 };

static enum sm_status make_room(struct sm_slicing *c, int n_stretches, struct looks *out)
{
    const struct sm_slicer *s = c->slicer;
    const size_t room = (size_t)n_stretches * (size_t)(MANY_LOOKS + 2 * s->n_hints + s->n_seen);
    *out = (struct looks){.t = sm_arena_alloc(&c->passing, room, sizeof *out->t),
                          .told_by = sm_arena_alloc(&c->passing, room, sizeof *out->told_by),
                          .marks = sm_arena_alloc(&c->passing, room, sizeof *out->marks)};
    return out->t && out->told_by && out->marks ? SM_OK : sm_fail(c->err, SM_E_NOMEM, "out of memory");
}

/* Where a place belongs among the looks of the last stretch, from the first on; -1 if it is not within them. */
static int find_look(const struct looks *looks, int first, double t)
{
    int i = looks->n;
    if (!(t > looks->t[first] && t < looks->t[looks->n - 1]))
        return -1;
    while (looks->t[i - 1] > t)
        i--;
    return i;
}

static void insert(struct looks *looks, int i, double t, const struct sm_slice_change *told_by)
{
    for (int k = looks->n++; k > i; k--) {
        looks->t[k] = looks->t[k - 1];
        looks->told_by[k] = looks->told_by[k - 1];
    }
    looks->t[i] = t;
    looks->told_by[i] = told_by;
}

static void look_at(struct looks *looks, int first, double t)
{
    const int i = find_look(looks, first, t);
    if (i >= 0)
        insert(looks, i, t, NULL);
}

/* Just before and just behind a place where a change is expected, unless something is looked at there anyway. */
static void look_beside(const struct sm_slicing *c, struct looks *looks, int first, double t,
                        const struct sm_slice_change *told_by)
{
    const double beside = BESIDE * c->slicer->grain->radius;
    const int i = find_look(looks, first, t - beside), j = find_look(looks, first, t + beside);
    if (i < 0 || i != j || looks->t[i] - looks->t[i - 1] < 4.0 * beside)
        return;
    insert(looks, i, t - beside, told_by);
    insert(looks, i + 1, t + beside, NULL);
}

/* Where something was left, or there was something to see, at other distances burned. */
static void look_where_hinted(const struct sm_slicing *c, struct looks *looks, int first)
{
    const struct sm_slicer *s = c->slicer;
    for (int k = 0; k < s->n_hints; k++)
        if (!s->hints[k].is_change)
            look_at(looks, first, s->hints[k].edge + c->w * s->hints[k].sine);
    for (int k = 0; k < s->n_seen; k++)
        look_at(looks, first, 0.5 * (s->seen[k][0] + s->seen[k][1]));
    for (int k = 0; k < s->n_hints && c->w == s->hints_w; k++)
        if (s->hints[k].is_change)
            look_beside(c, looks, first, s->hints[k].edge + c->w * s->hints[k].sine, &s->hints[k].change);
}

/* Places of a stretch, rising. Where all slices are alike one is enough. */
static enum sm_status list_looks(struct sm_slicing *c, struct sm_slice_stretch *stretch, struct looks *looks)
{
    const double a = stretch->a, b = stretch->b;
    const int first = stretch->first_look = looks->n;
    sm_slicing_go(c, 0.5 * (a + b));
    if (!c->way.by_w)
        SM_TRY(sm_slicing_is_covered(c, &stretch->is_covered));
    stretch->n_looks = 1;
    if (stretch->is_covered) {
        insert(looks, first, 0.5 * (a + b), NULL);
        return SM_OK;
    }
    const int n = c->way.by_w || c->slicer->n_hints > 0 ? FEW_LOOKS : MANY_LOOKS;
    for (int k = 0; k < n; k++) {
        const double share = 0.5 - 0.5 * cos(M_PI * k / (n - 1));
        const double t = k == 0       ? a + sm_slicing_inset(c, a, b - a)
                         : k + 1 == n ? b - sm_slicing_inset(c, b, b - a)
                                      : a + share * (b - a);
        insert(looks, looks->n, t, NULL);
    }
    if (!c->way.by_w)
        look_where_hinted(c, looks, first);
    stretch->n_looks = looks->n - first;
    return SM_OK;
}

/* ---- a stretch ---- */

/* Two looks in a row that show unlike make-ups, and where the one may give way to the other. */
struct crossing {
    struct sm_slice_piece left; /* from the first look on */
    double b;                   /* the second look [m] */
    struct sm_parts next;
    uint64_t mark;
    bool is_sure;
};

struct crossings {
    struct crossing *items;
    int n;
};

/* The make-up of as many looks in a row, from the i-th on, as show the same: cut in the middle of them, and beside a change only if there
 * is no other. */
static enum sm_status cut_look(struct sm_slicing *c, const struct sm_slice_stretch *stretch,
                               const struct looks *looks, int i, struct sm_parts *out)
{
    const int first = stretch->first_look, end = first + stretch->n_looks;
    int n = 1, best = -1;
    while (i + n < end && looks->marks[i + n] == looks->marks[i])
        n++;
    for (int k = i; k < i + n; k++) {
        const bool is_beside = looks->told_by[k] || (k > first && looks->told_by[k - 1]);
        if (!is_beside && (best < 0 || abs(2 * (k - i) - n + 1) < abs(2 * (best - i) - n + 1)))
            best = k;
    }
    return cut_kind(c, looks->t[best < 0 ? i : best], looks->marks[i], best >= 0, out);
}

static enum sm_status list_crossings(struct sm_slicing *c, const struct sm_slice_stretch *stretch,
                                     const struct sm_slice_piece *first, const struct looks *looks,
                                     struct crossings *out)
{
    const int second = stretch->first_look + 1, end = stretch->first_look + stretch->n_looks;
    struct sm_parts parts = first->parts;
    size_t room = 0;
    for (int i = second; i < end; i++)
        room += looks->marks[i] != looks->marks[i - 1];
    *out = (struct crossings){sm_arena_alloc(&c->passing, room, sizeof *out->items), 0};
    if (!out->items)
        return sm_fail(c->err, SM_E_NOMEM, "out of memory");
    for (int i = second; i < end; i++) {
        const struct sm_slice_change *told_by = looks->told_by[i - 1];
        if (looks->marks[i] == looks->marks[i - 1])
            continue;
        struct crossing *x = &out->items[out->n++];
        *x = (struct crossing){.left = *first, .b = looks->t[i], .mark = looks->marks[i]};
        x->left.a = looks->t[i - 1];
        x->left.b = 0.5 * (looks->t[i - 1] + looks->t[i]);
        x->left.parts = parts;
        x->left.mark = looks->marks[i - 1];
        SM_TRY(cut_look(c, stretch, looks, i, &x->next));
        if (told_by && sm_slicing_is_told(c, told_by, &parts, &x->next)) {
            x->is_sure = x->left.is_told = true;
            x->left.end = *told_by;
        }
        parts = x->next;
    }
    return SM_OK;
}

/* Guesses where those lie that are not known, and makes sure of those that have the one make-up just before and the other just
 * behind. */
static enum sm_status guess_crossings(struct sm_slicing *c, struct crossings *all)
{
    if (all->n == 0)
        return SM_OK;
    const double beside = BESIDE * c->slicer->grain->radius;
    const size_t room = 2 * (size_t)all->n;
    double *t = sm_arena_alloc(&c->passing, room, sizeof *t);
    uint64_t *marks = sm_arena_alloc(&c->passing, room, sizeof *marks);
    int n = 0;
    if (!t || !marks)
        return sm_fail(c->err, SM_E_NOMEM, "out of memory");
    for (int i = 0; i < all->n; i++) {
        struct crossing *x = &all->items[i];
        struct sm_slice_piece *left = &x->left;
        if (x->is_sure)
            continue;
        left->is_told = sm_slicing_guess(c, left->a, &left->parts, x->b, &x->next, &left->end, &left->b);
        t[n++] = left->b - beside;
        t[n++] = left->b + beside;
    }
    sm_slicing_marks(c, t, n, marks);
    n = 0;
    for (int i = 0; i < all->n; i++) {
        struct crossing *x = &all->items[i];
        const struct sm_slice_piece *left = &x->left;
        if (x->is_sure)
            continue;
        const bool is_beside = left->b > left->a + beside && left->b < x->b - beside &&
                               marks[n] == left->mark && marks[n + 1] == x->mark;
        x->is_sure = left->is_told && (is_beside || x->b - left->a < 4.0 * beside);
        n += 2;
    }
    return SM_OK;
}

static enum sm_status append_crossing(struct sm_slicing *c, const struct crossing *x,
                                      struct sm_slice_pieces *out)
{
    struct sm_slice_piece left = x->left, right = x->left;
    if (!x->is_sure) {
        left.b = x->b;
        return divide(c, &left, &x->next, x->mark, out, true);
    }
    right.a = left.b;
    right.b = x->b;
    right.parts = x->next;
    right.mark = x->mark;
    SM_TRY(append(c, out, &left));
    return append(c, out, &right);
}

static enum sm_status cut_stretch(struct sm_slicing *c, const struct sm_slice_stretch *stretch,
                                  const struct looks *looks, struct sm_slice_pieces *out)
{
    const int first = stretch->first_look;
    struct sm_slice_piece piece = {.a = stretch->a,
                                   .b = stretch->b,
                                   .stretch = stretch->number,
                                   .is_covered = stretch->is_covered,
                                   .mark = looks->marks[first]};
    struct crossings crossings;
    SM_TRY(cut_look(c, stretch, looks, first, &piece.parts));
    SM_TRY(list_crossings(c, stretch, &piece, looks, &crossings));
    SM_TRY(guess_crossings(c, &crossings));
    for (int i = 0; i < crossings.n; i++) {
        const struct crossing *x = &crossings.items[i];
        piece.b = x->left.a;
        SM_TRY(append(c, out, &piece));
        SM_TRY(append_crossing(c, x, out));
        piece.a = x->b;
        piece.parts = x->next;
        piece.mark = x->mark;
    }
    piece.b = stretch->b;
    return append(c, out, &piece);
}

enum sm_status sm_slicing_find(struct sm_slicing *c, struct sm_slice_stretch *stretches, int n,
                               struct sm_slice_pieces *out)
{
    struct looks looks;
    SM_TRY(make_room(c, n, &looks));
    for (int k = 0; k < n; k++)
        SM_TRY(list_looks(c, &stretches[k], &looks));
    sm_slicing_marks(c, looks.t, looks.n, looks.marks);
    for (int k = 0; k < n; k++)
        SM_TRY(cut_stretch(c, &stretches[k], &looks, out));
    return SM_OK;
}
