/*
 * Offsets of all elements in slices, one slice in each lane, and where they meet: the beginning of grain/slicemarks.h. The file that
 * includes this says how many lanes go in a vector.
 */
#ifndef SM_GRAIN_SLICEOFFSETS_H
#define SM_GRAIN_SLICEOFFSETS_H

#include "grain/slicescene.h"

/* An element's offset in all lanes, as it is kept in the slicer's room. */
enum offset {
    OFFSET_Q, /* how far it has burned: not above 0 if it is not there, or stands [m] */
    OFFSET_X, /* base of a line, centre of an arc [m] */
    OFFSET_Y, /* [m] */
    OFFSET_R, /* radius of an arc [m] */
    OFFSET_OUTER, /* it hides what is nearer to it than the root of this; not above 0: nothing. Of an arc: to its centre [m2] */
    OFFSET_INNER, /* and, of an arc, farther from its centre than the root of this [m2] */
    N_OFFSETS
};
_Static_assert((int)N_OFFSETS == (int)SM_SLICE_ROOM, "room for each element");

struct looking {
    const struct sm_slicer *slicer;
    const struct sm_front *fronts;
    int n_burning, n_walls;
    double near;  /* so far off still counts as on [m] */
    double *room; /* of the slicer's for offsets, from the first of the lanes on [m] or [m2] */
};

/* An element's own in that room. */
LANE_INLINE double *offset_of(const struct looking *l, int front)
{
    return l->room + (size_t)front * (N_OFFSETS * SM_SLICE_LANES);
}

LANE_INLINE vec get(const double *offset, enum offset which)
{
    return load(offset + which * SM_SLICE_LANES);
}

LANE_INLINE void put(double *offset, enum offset which, vec x)
{
    store(offset + which * SM_SLICE_LANES, x);
}

/* What an element hides: all that lies nearer to it, as it was at first, than it has burned. */
static inline void put_hidden(const struct looking *l, const struct sm_front *f, vec q, double *out)
{
    const vec depth = q - l->near;
    const mask hides = (mask)(depth > 0.0);
    const vec outer = f->is_arc ? f->radius + depth : depth, inner = f->radius - depth;
    put(out, OFFSET_OUTER, pick(hides, outer * outer, all(-1.0)));
    put(out, OFFSET_INNER, pick((mask)(inner > 0.0), inner * inner, all(-1.0)));
}

static inline void put_offsets(const struct looking *l, vec w, vec z, vec on)
{
    const struct sm_spliced *grain = l->slicer->grain;
    for (size_t i = 0; i < grain->n; i++) {
        const vec q = reach_of(&grain->items[i], w, z, on);
        for (int k = l->slicer->first[i]; k < l->slicer->first[i + 1]; k++) {
            const struct sm_front *f = &l->fronts[k];
            double *out = offset_of(l, k);
            put(out, OFFSET_Q, q);
            put(out, OFFSET_X, f->is_arc ? all(f->base.x) : f->base.x + q * f->v.x);
            put(out, OFFSET_Y, f->is_arc ? all(f->base.y) : f->base.y + q * f->v.y);
            put(out, OFFSET_R, f->radius + f->sign * q);
            put_hidden(l, f, q, out);
        }
    }
    for (int k = l->n_burning; k < l->slicer->fronts.n; k++) {
        double *out = offset_of(l, k);
        put(out, OFFSET_X, all(l->fronts[k].base.x));
        put(out, OFFSET_Y, all(l->fronts[k].base.y));
        put(out, OFFSET_R, all(l->fronts[k].radius));
    }
}

/* ---- where ---- */

/* Where two elements' lines or circles meet, and in which lanes they do; or an element's own ends, where it is there. */
struct meeting {
    struct spot first, second;
    mask is;
};

static inline void find_arcs_ends(const struct sm_front *f, const double *at, struct meeting *out)
{
    const vec r = get(at, OFFSET_R);
    out->is &= (mask)(r > 0.0);
    out->first = (struct spot){f->base.x + r * f->u.x, f->base.y + r * f->u.y};
    out->second = (struct spot){f->base.x + r * f->v.x, f->base.y + r * f->v.y};
}

static inline void find_lines_ends(const struct sm_front *f, const double *at, struct meeting *out)
{
    const vec x = get(at, OFFSET_X), y = get(at, OFFSET_Y);
    out->first = (struct spot){x, y};
    out->second = (struct spot){x + f->extent * f->u.x, y + f->extent * f->u.y};
}

/* Half a chord, by its square: as in grain/trim.c what rounding may have left of zero is zero. */
LANE_INLINE vec half_of(vec square, vec radius, vec reach)
{
    return pick((mask)(square > 1e-15 * radius * reach), root_of(absolute(square)), all(0.0));
}

static inline void meet_two_lines(const struct sm_front *a, const double *at_a, const struct sm_front *b,
                                  const double *at_b, double per, struct meeting *out)
{
    const vec x = get(at_a, OFFSET_X), y = get(at_a, OFFSET_Y);
    const vec t = ((get(at_b, OFFSET_X) - x) * b->u.y - (get(at_b, OFFSET_Y) - y) * b->u.x) * per;
    out->first = out->second = (struct spot){x + t * a->u.x, y + t * a->u.y};
}

static inline void meet_line_and_circle(const struct sm_front *line, const double *at_line,
                                        const struct sm_front *circle, const double *at_circle,
                                        struct meeting *out)
{
    const vec r = get(at_circle, OFFSET_R), x = get(at_line, OFFSET_X), y = get(at_line, OFFSET_Y);
    const vec dx = circle->base.x - x, dy = circle->base.y - y;
    const vec foot = dx * line->u.x + dy * line->u.y, height = line->u.x * dy - line->u.y * dx;
    const vec square = (r - height) * (r + height);
    out->is &= (mask)(square > 0.0);
    const vec half = half_of(square, r, r + absolute(foot) + absolute(height) + absolute(x) + absolute(y));
    const vec t0 = foot - half, t1 = foot + half;
    out->first = (struct spot){x + t0 * line->u.x, y + t0 * line->u.y};
    out->second = (struct spot){x + t1 * line->u.x, y + t1 * line->u.y};
}

static inline void meet_two_circles(const struct sm_front *a, const double *at_a, const struct sm_front *b,
                                    const double *at_b, double per, struct meeting *out)
{
    const vec ra = get(at_a, OFFSET_R), rb = get(at_b, OFFSET_R);
    const struct sm_point d = sm_point_minus(b->base, a->base), e = {per * d.x, per * d.y};
    const double d2 = sm_point_dot(d, d);
    const vec foot = (0.5 * per) * (d2 + (ra - rb) * (ra + rb));
    const vec square = (ra - foot) * (ra + foot);
    out->is &= (mask)(square > 0.0);
    const vec half = half_of(square, ra, ra + (d2 + ra * ra + rb * rb) * per);
    const vec x = a->base.x + foot * e.x, y = a->base.y + foot * e.y;
    out->first = (struct spot){x - half * e.y, y + half * e.x};
    out->second = (struct spot){x + half * e.y, y - half * e.x};
}

static inline void find_meeting(const struct looking *l, const struct sm_slice_corner *corner,
                                struct meeting *out)
{
    const struct sm_front *a = &l->fronts[corner->a], *b = &l->fronts[corner->b];
    const double *at_a = offset_of(l, corner->a), *at_b = offset_of(l, corner->b);
    switch (corner->kind) {
    case SM_CORNER_LINE_ENDS:
        find_lines_ends(a, at_a, out);
        break;
    case SM_CORNER_ARC_ENDS:
        find_arcs_ends(a, at_a, out);
        break;
    case SM_CORNER_LINES:
        meet_two_lines(a, at_a, b, at_b, corner->per, out);
        break;
    case SM_CORNER_LINE_ARC:
        meet_line_and_circle(a, at_a, b, at_b, out);
        break;
    case SM_CORNER_ARCS:
    default:
        meet_two_circles(a, at_a, b, at_b, corner->per, out);
        break;
    }
}

#endif
