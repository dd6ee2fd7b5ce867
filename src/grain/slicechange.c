#include <math.h>

#include "grain/slicing.h"
#include "num/bracket.h"

/* So near to it a change is guessed [share of the grain's radius]. */
static const double NEAREST = 1e-12;

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
    const double near = NEAREST * c->slicer->grain->radius;
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

bool sm_slicing_guess(struct sm_slicing *c, double a, const struct sm_parts *at_a, double b,
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

/* May a change by which the one of two make-ups gets or loses a part be told so? */
static bool may_be_of(const struct sm_slicing *c, const struct sm_slice_change *change,
                      const struct sm_parts *has, const struct sm_parts *lacks)
{
    if (change->other == SM_OWN_END)
        return sm_parts_hold(has, &change->part) && !sm_parts_hold(lacks, &change->part);
    for (int k = 0; k < has->n; k++) {
        const struct sm_part *part = &has->items[k];
        if (part->front == change->part.front && !sm_parts_hold(lacks, part) &&
            (part->from.other == change->other || part->to.other == change->other ||
             sm_front_are_twins(&c->slicer->fronts, part->front, change->other)))
            return true;
    }
    return false;
}

bool sm_slicing_is_told(const struct sm_slicing *c, const struct sm_slice_change *change,
                        const struct sm_parts *at_a, const struct sm_parts *at_b)
{
    return may_be_of(c, change, at_a, at_b) || may_be_of(c, change, at_b, at_a);
}
