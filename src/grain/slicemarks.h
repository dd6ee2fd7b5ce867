/* Marks of slices, one in each lane. The file that includes this says how many lanes go in a vector. */
#ifndef SM_GRAIN_SLICEMARKS_H
#define SM_GRAIN_SLICEMARKS_H

#include "grain/slicescene.h"

/* Is the point on the element, as far as that reaches? */
static inline mask is_on(const struct scene *s, int front, struct spot p)
{
    const struct sm_front *f = &s->fronts->items[front];
    const double near = 1e-12 * s->fronts->size;
    const vec x = p.x - f->base.x, y = p.y - f->base.y;
    if (front >= s->fronts->n_burning)
        return always(); /* beyond a wall's end lies what is outside another */
    if (f->is_arc)
        return (mask)(f->u.x * y - f->u.y * x >= -near) & (mask)(x * f->v.y - y * f->v.x >= -near) &
               (mask)(radius_of(s, front) > 0.0);
    const vec t = x * f->u.x + y * f->u.y;
    return (mask)(t >= -near) & (mask)(t <= f->extent + near);
}

/* Do the two elements meet at all? */
static inline mask do_meet(const struct scene *s, const struct sm_slice_spot *spot)
{
    const struct sm_front *a = &s->fronts->items[spot->front], *b = &s->fronts->items[spot->other];
    return a->is_arc || b->is_arc ? (mask)(overlap(s, spot) > 0.0) : always();
}

/* Is a point on an element's own side of every wall? */
static inline mask is_inside(const struct scene *s, const struct sm_slice_spot *spot, struct spot p)
{
    const double near = 1e-12 * s->fronts->size;
    mask in = always();
    for (int j = s->fronts->n_burning; j < s->fronts->n_walls; j++) {
        const struct sm_front *f = &s->fronts->items[j];
        const vec x = p.x - f->base.x, y = p.y - f->base.y;
        if (j == spot->other)
            continue;
        if (!f->is_arc) {
            in &= (mask)(x * f->v.x + y * f->v.y >= -near);
            continue;
        }
        const double r = f->radius + near;
        mask out = (mask)(x * x + y * y > r * r);
        if (f->extent < 4.0)
            out &= (mask)(f->u.x * y - f->u.y * x >= 0.0) & (mask)(x * f->v.y - y * f->v.x >= 0.0);
        in &= ~out;
    }
    return in;
}

LANE_INLINE mask is_near(vec x, vec y, struct sm_point to, vec depth)
{
    const vec dx = x - to.x, dy = y - to.y;
    return (mask)(dx * dx + dy * dy < depth * depth);
}

/* Is a point nearer than the depth to an element as it was at first? */
static inline mask hides(const struct sm_front *f, struct spot p, vec depth)
{
    const vec x = p.x - f->base.x, y = p.y - f->base.y;
    if (!f->is_arc) {
        const vec t = x * f->u.x + y * f->u.y, height = x * f->v.x + y * f->v.y;
        const vec beyond = t - larger(all(0.0), smaller(all(f->extent), t));
        return (mask)(depth > 0.0) & (mask)(beyond * beyond + height * height < depth * depth);
    }
    const vec d2 = x * x + y * y, outer = f->radius + depth, inner = f->radius - depth;
    const mask ring = (mask)(depth > 0.0) & (mask)(d2 < outer * outer) &
                      ~((mask)(inner > 0.0) & (mask)(d2 <= inner * inner));
    if (f->radius == 0.0)
        return ring;
    const mask within = (mask)(f->u.x * y - f->u.y * x >= 0.0) & (mask)(x * f->v.y - y * f->v.x >= 0.0);
    const struct sm_point u = {f->radius * f->u.x, f->radius * f->u.y},
                          v = {f->radius * f->v.x, f->radius * f->v.y};
    return ring & (within | is_near(x, y, u, depth) | is_near(x, y, v, depth));
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
        const mask within = (mask)(f->u.x * y - f->u.y * x >= 0.0) & (mask)(x * f->v.y - y * f->v.x >= 0.0);
        *distance = pick(within, *distance, root_of(smaller(ax * ax + ay * ay, bx * bx + by * by)));
    }
    *square = *distance;
    *side = f->sign * (r - f->radius);
}

/* Does a point lie in the void of a splice, as it was at first? As is_void of grain/slice.c. */
static inline mask is_in_void(const struct scene *s, size_t splice, struct spot p)
{
    const double near = 1e-12 * s->fronts->size;
    vec least = all(SM_INF), square = all(0.0);
    mask inside = (mask)(all(0.0) > all(0.0));
    for (int k = s->slicer->first[splice]; k < s->slicer->first[splice + 1]; k++) {
        vec d, before, side;
        lie(&s->fronts->items[k], p, &d, &before, &side);
        const mask farther = (mask)(d > least + near) | ((mask)(d > least - near) & (mask)(before < square));
        inside = (farther & inside) | (~farther & (mask)(side < 0.0) & (mask)(d > near));
        square = pick(farther, square, before);
        least = smaller(least, d);
    }
    return inside;
}

static inline mask is_seen(const struct scene *s, const struct sm_slice_spot *spot, struct spot p, mask seen)
{
    const int n = s->fronts->n_burning, i = spot->front, j = spot->other;
    const int owner = i < n ? s->slicer->owner[i] : -1, other = j >= 0 && j < n ? s->slicer->owner[j] : -1;
    const double clearance = 1e-12 * s->fronts->size;
    for (int k = 0; k < n; k++)
        if (k != i && k != j)
            seen &= ~hides(&s->fronts->items[k], p, burned(s, k) - clearance);
    const vec from_axis = p.x * p.x + p.y * p.y;
    for (size_t k = 0; k < s->slicer->grain->n; k++) {
        const double far = s->slicer->far[k];
        const mask may_be = (mask)(s->q[k] > 0.0) & (mask)(from_axis < far * far) & seen;
        if ((int)k != owner && (int)k != other && any(may_be))
            seen &= ~(may_be & is_in_void(s, k, p));
    }
    return seen;
}

/* Is an element there, its splice in reach? */
static inline mask is_there(const struct scene *s, int front)
{
    return front >= 0 && front < s->fronts->n_burning ? (mask)(burned(s, front) > 0.0) : always();
}

static inline void mark_slices(struct sm_slice_look *look)
{
    for (int at = 0; at < SM_SLICE_LANES; at += LANE_WIDTH) {
        struct scene s; /* what is not set is not asked for, and too much to be cleared */
        s.slicer = look->slicer;
        s.fronts = &look->slicer->fronts;
        s.w = load(look->w + at);
        s.stretch = NULL;
        s.seeks = false;
        word sum = (word)all(0.0);
        go(&s, load(look->from + at), load(look->way + at));
        for (size_t k = 0; k < look->slicer->n_corners; k++) {
            const struct sm_slice_spot *spot = &look->slicer->corners[k].spot;
            mask seen = is_there(&s, spot->front) & is_there(&s, spot->other);
            if (spot->other >= 0)
                seen &= do_meet(&s, spot);
            if (!any(seen))
                continue;
            const struct spot p = find_spot(&s, spot);
            seen &= is_on(&s, spot->front, p) & (spot->other >= 0 ? is_on(&s, spot->other, p) : always());
            if (any(seen))
                seen &= is_inside(&s, spot, p);
            if (any(seen))
                sum += (word)is_seen(&s, spot, p, seen) & look->slicer->corners[k].key;
        }
        for (int i = 0; i < LANE_WIDTH; i++)
            look->mark[at + i] = sum[i];
    }
}

#endif
