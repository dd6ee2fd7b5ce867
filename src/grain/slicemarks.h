/*
 * Marks of slices, one in each lane. The file that includes this says how many lanes go in a vector.
 *
 * First every element's offset is put down in all lanes, and then each place is tried where two of them meet, or where one ends. Most
 * fall at the first tests; the last and longest is whether another element hides the place.
 */
#ifndef SM_GRAIN_SLICEMARKS_H
#define SM_GRAIN_SLICEMARKS_H

#include "grain/sliceoffsets.h"

/* ---- is it seen? ---- */

/* By how much a direction lies between an arc's ends; negative beyond them. */
LANE_INLINE vec within(const struct sm_front *f, vec x, vec y)
{
    return smaller(f->u.x * y - f->u.y * x, x * f->v.y - y * f->v.x);
}

/* Is a point on an element's offset on the element, as far as that reaches? */
LANE_INLINE mask is_on(const struct looking *l, int front, struct spot p)
{
    const struct sm_front *f = &l->fronts[front];
    const double *at = offset_of(l, front);
    const vec x = p.x - get(at, OFFSET_X), y = p.y - get(at, OFFSET_Y);
    if (f->is_arc)
        return (mask)(within(f, x, y) >= -l->near) & (mask)(get(at, OFFSET_R) > 0.0);
    const vec t = x * f->u.x + y * f->u.y;
    return (mask)(smaller(t, f->extent - t) >= -l->near);
}

/* Places that may be seen, so many at a time: they have passed all tests but those by the other elements. */
enum { MOST_PLACES = 32 };

struct places {
    struct spot spot[MOST_PLACES];
    vec deepest[MOST_PLACES]; /* above zero: hidden, or beyond a wall, by so much [m] or [m2] */
    mask seen[MOST_PLACES];
    const struct sm_slice_corner *of[MOST_PLACES];
    uint64_t key[MOST_PLACES];
    int n;
};

/* A place on a wall is not beyond it. */
static inline void hide_by_wall(const struct looking *l, int wall, struct places *p)
{
    const struct sm_front f = l->fronts[wall];
    for (int i = 0; i < p->n; i++) {
        const vec x = p->spot[i].x - f.base.x, y = p->spot[i].y - f.base.y;
        p->deepest[i] = larger(p->deepest[i], -l->near - (x * f.v.x + y * f.v.y));
    }
}

static inline void hide_by_round_wall(const struct looking *l, int wall, struct places *p)
{
    const struct sm_front f = l->fronts[wall];
    const double r = f.radius + l->near, r2 = r * r;
    const bool is_whole = f.extent >= 4.0;
    for (int i = 0; i < p->n; i++) {
        const vec x = p->spot[i].x - f.base.x, y = p->spot[i].y - f.base.y, beyond = x * x + y * y - r2;
        p->deepest[i] =
            larger(p->deepest[i], is_whole ? beyond : smaller(beyond, within(&f, x, y) + l->near));
    }
}

/* A place on an element's own offset lies no nearer to it than it has burned, so none need be left out. */
static inline void hide_by_line(const struct looking *l, int front, struct places *p)
{
    const struct sm_front f = l->fronts[front];
    const vec outer = get(offset_of(l, front), OFFSET_OUTER), none = all(0.0), extent = all(f.extent);
    for (int i = 0; i < p->n; i++) {
        const vec x = p->spot[i].x - f.base.x, y = p->spot[i].y - f.base.y;
        const vec t = x * f.u.x + y * f.u.y, height = x * f.v.x + y * f.v.y;
        const vec beyond = t - larger(none, smaller(extent, t));
        p->deepest[i] = larger(p->deepest[i], outer - (beyond * beyond + height * height));
    }
}

static inline void hide_by_arc(const struct looking *l, int front, struct places *p)
{
    const struct sm_front f = l->fronts[front];
    const vec outer = get(offset_of(l, front), OFFSET_OUTER), inner = get(offset_of(l, front), OFFSET_INNER);
    for (int i = 0; i < p->n; i++) {
        const vec x = p->spot[i].x - f.base.x, y = p->spot[i].y - f.base.y, d2 = x * x + y * y;
        const vec ring = smaller(outer - d2, d2 - inner);
        p->deepest[i] = larger(p->deepest[i], smaller(ring, within(&f, x, y) + l->near));
    }
}

/* The arc about a corner: what it hides beyond its own ends, the elements that meet there do too. */
static inline void hide_by_corner(const struct looking *l, int front, struct places *p)
{
    const struct sm_point at = l->fronts[front].base;
    const vec outer = get(offset_of(l, front), OFFSET_OUTER);
    for (int i = 0; i < p->n; i++) {
        const vec x = p->spot[i].x - at.x, y = p->spot[i].y - at.y;
        p->deepest[i] = larger(p->deepest[i], outer - (x * x + y * y));
    }
}

/* The same about the end of an arc at which no other element begins. */
static inline void hide_by_end(const struct looking *l, const struct sm_slice_free_end *end, struct places *p)
{
    const vec depth = larger(get(offset_of(l, end->front), OFFSET_Q) - l->near, all(0.0)),
              outer = depth * depth;
    for (int i = 0; i < p->n; i++) {
        const vec x = p->spot[i].x - end->at.x, y = p->spot[i].y - end->at.y;
        p->deepest[i] = larger(p->deepest[i], outer - (x * x + y * y));
    }
}

static inline void hide(const struct looking *l, struct places *p)
{
    for (int k = l->n_burning; k < l->n_walls; k++) {
        if (l->fronts[k].is_arc)
            hide_by_round_wall(l, k, p);
        else
            hide_by_wall(l, k, p);
    }
    for (int k = 0; k < l->n_burning; k++) {
        if (!any((mask)(get(offset_of(l, k), OFFSET_OUTER) > 0.0)))
            continue;
        if (!l->fronts[k].is_arc)
            hide_by_line(l, k, p);
        else if (l->fronts[k].radius > 0.0)
            hide_by_arc(l, k, p);
        else
            hide_by_corner(l, k, p);
    }
    for (int k = 0; k < l->slicer->n_free_ends; k++)
        hide_by_end(l, &l->slicer->free_ends[k], p);
}

/* Distance of a point from an element as it was at first, how squarely it lies before it, and on which side: negative in the
 * void. */
static inline void lie(const struct sm_front *f, struct spot p, vec *distance, vec *square, vec *side)
{
    const vec x = p.x - f->base.x, y = p.y - f->base.y;
    if (!f->is_arc) {
        const vec t = x * f->u.x + y * f->u.y, height = x * f->v.x + y * f->v.y;
        const vec beyond = t - larger(all(0.0), smaller(all(f->extent), t));
        *distance = root_of(beyond * beyond + height * height);
        *square = absolute(height);
        *side = height;
        return;
    }
    const vec r = root_of(x * x + y * y);
    *distance = absolute(r - f->radius);
    if (f->radius > 0.0) {
        const vec ax = x - f->radius * f->u.x, ay = y - f->radius * f->u.y, bx = x - f->radius * f->v.x,
                  by = y - f->radius * f->v.y;
        *distance = pick((mask)(within(f, x, y) >= 0.0), *distance,
                         root_of(smaller(ax * ax + ay * ay, bx * bx + by * by)));
    }
    *square = *distance;
    *side = f->sign * (r - f->radius);
}

/* Does a point lie in the void of a splice, as it was at first? As is_void of grain/slice.c. */
static inline mask is_in_void(const struct looking *l, size_t splice, struct spot p)
{
    vec least = all(SM_INF), square = all(0.0);
    mask inside = (mask)(all(0.0) > all(0.0));
    for (int k = l->slicer->first[splice]; k < l->slicer->first[splice + 1]; k++) {
        vec d, before, side;
        lie(&l->fronts[k], p, &d, &before, &side);
        const mask farther =
            (mask)(d > least + l->near) | ((mask)(d > least - l->near) & (mask)(before < square));
        inside = (farther & inside) | (~farther & (mask)(side < 0.0) & (mask)(d > l->near));
        square = pick(farther, square, before);
        least = smaller(least, d);
    }
    return inside;
}

/* Of those where a point is seen so far, where it lies in no other splice's void than those that meet there. */
static inline mask is_in_none(const struct looking *l, const struct sm_slice_corner *of, struct spot p,
                              mask seen)
{
    const struct sm_slicer *s = l->slicer;
    const int owner = of->a_burns ? s->owner[of->a] : -1, other = of->b_burns ? s->owner[of->b] : -1;
    const vec from_axis = p.x * p.x + p.y * p.y;
    for (size_t k = 0; k < s->grain->n; k++) {
        if ((int)k == owner || (int)k == other)
            continue;
        const double far = s->far[k];
        const mask may_be =
            (mask)(get(offset_of(l, s->first[k]), OFFSET_Q) > 0.0) & (mask)(from_axis < far * far) & seen;
        if (any(may_be))
            seen &= ~(may_be & is_in_void(l, k, p));
    }
    return seen;
}

/* Of the places so far, those that are seen; and none are left. */
static inline word take_places(const struct looking *l, struct places *p)
{
    word sum = (word)all(0.0);
    hide(l, p);
    for (int i = 0; i < p->n; i++) {
        const mask seen = p->seen[i] & (mask)(p->deepest[i] <= 0.0);
        if (any(seen))
            sum += (word)is_in_none(l, p->of[i], p->spot[i], seen) & p->key[i];
    }
    p->n = 0;
    return sum;
}

LANE_INLINE void add_place(const struct looking *l, const struct sm_slice_corner *corner, int root,
                           struct spot spot, mask seen, struct places *p)
{
    if (corner->key[root] == 0)
        return;
    if (corner->a != corner->b) {
        seen &= corner->a_burns ? is_on(l, corner->a, spot) : seen;
        seen &= corner->b_burns ? is_on(l, corner->b, spot) : seen;
    }
    p->spot[p->n] = spot;
    p->deepest[p->n] = all(0.0);
    p->seen[p->n] = seen;
    p->of[p->n] = corner;
    p->key[p->n] = corner->key[root];
    p->n += any(seen); /* else it is written over */
}

/* Where an element is there, its splice in reach. */
LANE_INLINE mask is_there(const struct looking *l, int front, bool burns)
{
    return burns ? (mask)(get(offset_of(l, front), OFFSET_Q) > 0.0) : always();
}

static inline word mark_lanes(const struct looking *l)
{
    word sum = (word)all(0.0);
    struct places places;
    places.n = 0;
    for (size_t k = 0; k < l->slicer->n_corners; k++) {
        const struct sm_slice_corner *corner = &l->slicer->corners[k];
        struct meeting m;
        m.is = is_there(l, corner->a, corner->a_burns) & is_there(l, corner->b, corner->b_burns);
        if (!any(m.is))
            continue;
        find_meeting(l, corner, &m);
        if (!any(m.is))
            continue;
        add_place(l, corner, 0, m.first, m.is, &places);
        add_place(l, corner, 1, m.second, m.is, &places);
        if (places.n > MOST_PLACES - 2)
            sum += take_places(l, &places);
    }
    return sum + take_places(l, &places);
}

static inline void mark_slices(struct sm_slice_look *look)
{
    for (int at = 0; at < SM_SLICE_LANES; at += LANE_WIDTH) {
        const struct sm_fronts *fronts = &look->slicer->fronts;
        const struct looking l = {look->slicer,    fronts->items,        fronts->n_burning,
                                  fronts->n_walls, 1e-12 * fronts->size, look->slicer->offsets + at};
        put_offsets(&l, load(look->w + at), load(look->from + at), load(look->way + at));
        const word sum = mark_lanes(&l);
        for (int i = 0; i < LANE_WIDTH; i++)
            look->mark[at + i] = sum[i];
    }
}

#endif
