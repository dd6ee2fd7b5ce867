/*
 * Where things are in slices of several distances burned or places, one in each lane: the beginning of grain/slicelanes.h and
 * grain/slicemarks.h. The file that includes this says how many lanes go in a vector.
 *
 * The formulas are those of grain/trim.c and grain/planar.c, written for vectors.
 */
#ifndef SM_GRAIN_SLICESCENE_H
#define SM_GRAIN_SLICESCENE_H

#include "grain/slicerow.h"
#include "num/lanemath.h"

struct spot {
    vec x, y; /* [m] */
};

/* The lanes at work, and how far each splice has burned where they are. */
struct scene {
    const struct sm_row *row;
    const struct sm_slicer *slicer;
    const struct sm_fronts *fronts;
    int at; /* first of the row's lanes */
    vec w;
    vec q[SM_ROW_SPLICES];
    vec weight[SM_ROW_SPLICES]; /* what a strip of its front counts for: the more it leans the more [m] */
    struct spot spots[SM_ROW_SPOTS];
    const struct sm_row_stretch *stretch; /* in which the lanes are; NULL: anywhere */
    vec least;                            /* shortest part so far [m] */
    bool seeks;                           /* joints, not sums */
};

/* All lanes. */
LANE_INLINE mask always(void)
{
    return (mask)(all(0.0) == all(0.0));
}

LANE_INLINE vec absolute(vec x)
{
    return (vec)((mask)x & INT64_MAX);
}

/* sin(x) / x and cos(x) for |x| <= pi/4, by Taylor's sums: they err by 1e-16. */
LANE_INLINE void turn_by(vec angle, vec *sine, vec *cosine)
{
    const vec x = angle - 0.78539816339744830962, z = x * x;
    const vec s =
        x * (1.0 - z * (1.0 / 6.0) *
                       (1.0 - z * (1.0 / 20.0) *
                                  (1.0 - z * (1.0 / 42.0) *
                                             (1.0 - z * (1.0 / 72.0) *
                                                        (1.0 - z * (1.0 / 110.0) *
                                                                   (1.0 - z * (1.0 / 156.0) *
                                                                              (1.0 - z * (1.0 / 210.0))))))));
    const vec c =
        1.0 -
        z * 0.5 *
            (1.0 -
             z * (1.0 / 12.0) *
                 (1.0 - z * (1.0 / 30.0) *
                            (1.0 - z * (1.0 / 56.0) *
                                       (1.0 - z * (1.0 / 90.0) *
                                                  (1.0 - z * (1.0 / 132.0) * (1.0 - z * (1.0 / 182.0)))))));
    *sine = (c + s) * 0.70710678118654752440;
    *cosine = (c - s) * 0.70710678118654752440;
}

/*
 * The angle from one direction to another, from -pi/2 to 3 pi/2, by their cross and dot product: the arc tangent's series after
 * the angle has been brought within pi/16 of 0, pi/8 or pi/4. It errs by 2e-16.
 * Reference: M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 4.4.42 and 4.4.34.
 */
LANE_INLINE vec sweep_of(vec cross, vec dot)
{
    const vec rise = absolute(cross), run = absolute(dot), big = larger(rise, run),
              small = smaller(rise, run);
    const mask far = (mask)(small > 0.66817863791929891999 * big),
               near = (mask)(small < 0.19891236737965800691 * big);
    const vec about = pick(far, all(1.0), pick(near, all(0.0), all(0.41421356237309504880)));
    const vec base =
        pick(far, all(0.78539816339744830962), pick(near, all(0.0), all(0.39269908169872415481)));
    const vec below = big + about * small;
    const vec t = (small - about * big) / pick((mask)(below > 0.0), below, all(1.0)), z = t * t;
    const vec z2 = z * z, z4 = z2 * z2;
    const vec a = (1.0 - z * (1.0 / 3.0)) + z2 * (1.0 / 5.0 - z * (1.0 / 7.0));
    const vec b = (1.0 / 9.0 - z * (1.0 / 11.0)) + z2 * (1.0 / 13.0 - z * (1.0 / 15.0));
    vec angle = base + t * (a + z4 * (b + z4 * (1.0 / 17.0 - z * (1.0 / 19.0))));
    angle = pick((mask)(rise > run), 1.57079632679489661923 - angle, angle);
    angle = pick((mask)(dot < 0.0), 3.14159265358979323846 - angle, angle);
    /* below the axis it is negative; more than a quarter turn back is less than three quarters on */
    return pick((mask)(cross < 0.0), pick((mask)(dot < 0.0), 6.28318530717958647692 - angle, -angle), angle);
}

/* ---- where things are ---- */

LANE_INLINE vec burned(const struct scene *s, int front)
{
    return front < s->fronts->n_burning ? s->q[s->slicer->owner[front]] : all(0.0);
}

LANE_INLINE vec radius_of(const struct scene *s, int front)
{
    const struct sm_front *f = &s->fronts->items[front];
    return f->radius + f->sign * burned(s, front);
}

LANE_INLINE struct spot base_of(const struct scene *s, int front)
{
    const struct sm_front *f = &s->fronts->items[front];
    const vec q = burned(s, front);
    return (struct spot){f->base.x + q * f->v.x, f->base.y + q * f->v.y};
}

/*
 * Half a chord from its square: as in grain/trim.c what rounding may have left of zero is zero, and so is what is below. Where a
 * joint is sought that is no place to come to rest: there the chord goes on below zero as it came.
 */
LANE_INLINE vec half_chord(const struct scene *s, vec square, vec radius, vec reach)
{
    const vec half = root_of(absolute(square));
    if (s->seeks)
        return pick((mask)(square < 0.0), -half, half);
    return pick((mask)(square > 1e-15 * radius * reach), half, all(0.0));
}

static inline struct spot meet_lines(const struct scene *s, int i, int j, double per)
{
    const struct sm_front *a = &s->fronts->items[i], *b = &s->fronts->items[j];
    const struct spot p = base_of(s, i), q = base_of(s, j);
    const vec t = ((q.x - p.x) * b->u.y - (q.y - p.y) * b->u.x) * per;
    return (struct spot){p.x + t * a->u.x, p.y + t * a->u.y};
}

static inline struct spot meet_line(const struct scene *s, int line, int circle, int root)
{
    const struct sm_front *f = &s->fronts->items[line], *g = &s->fronts->items[circle];
    const vec r = radius_of(s, circle);
    const struct spot p = base_of(s, line), d = {g->base.x - p.x, g->base.y - p.y};
    const vec foot = d.x * f->u.x + d.y * f->u.y, height = f->u.x * d.y - f->u.y * d.x;
    const vec half = half_chord(s, (r - height) * (r + height), r,
                                r + absolute(foot) + absolute(height) + absolute(p.x) + absolute(p.y));
    const vec t = root == 0 ? foot - half : foot + half;
    return (struct spot){p.x + t * f->u.x, p.y + t * f->u.y};
}

static inline struct spot meet_circles(const struct scene *s, int i, int j, int root, double per)
{
    const struct sm_front *a = &s->fronts->items[i], *b = &s->fronts->items[j];
    const vec ra = radius_of(s, i), rb = radius_of(s, j);
    const struct sm_point d = sm_point_minus(b->base, a->base);
    const double d2 = sm_point_dot(d, d);
    const vec foot = (0.5 * per) * (d2 + (ra - rb) * (ra + rb));
    const vec half = half_chord(s, (ra - foot) * (ra + foot), ra, ra + (d2 + ra * ra + rb * rb) * per);
    const vec left = root == 0 ? half : -half;
    const struct sm_point e = {per * d.x, per * d.y};
    return (struct spot){a->base.x + foot * e.x - left * e.y, a->base.y + foot * e.y + left * e.x};
}

static inline struct spot find_spot(const struct scene *s, const struct sm_slice_spot *spot)
{
    const int i = spot->front, j = spot->other;
    const struct sm_front *f = &s->fronts->items[i];
    if (j >= 0 && f->is_arc && s->fronts->items[j].is_arc)
        return i < j ? meet_circles(s, i, j, spot->root, spot->per)
                     : meet_circles(s, j, i, spot->root, spot->per);
    if (j >= 0 && f->is_arc)
        return meet_line(s, j, i, spot->root);
    if (j >= 0)
        return s->fronts->items[j].is_arc ? meet_line(s, i, j, spot->root) : meet_lines(s, i, j, spot->per);
    const struct sm_point e = spot->root == 0 ? f->u : f->v;
    if (f->is_arc) {
        const vec r = radius_of(s, i);
        return (struct spot){f->base.x + r * e.x, f->base.y + r * e.y};
    }
    const struct spot base = base_of(s, i);
    const double along = spot->root == 0 ? 0.0 : f->extent;
    return (struct spot){base.x + along * f->u.x, base.y + along * f->u.y};
}

/* Has the splice burned by all of w all along the stretch, or is it nowhere there? */
LANE_INLINE bool is_full(const struct scene *s, size_t splice)
{
    return s->stretch && s->stretch->full >> splice & 1;
}

LANE_INLINE bool is_absent(const struct scene *s, size_t splice)
{
    return s->stretch && s->stretch->absent >> splice & 1;
}

LANE_INLINE bool is_swinging(const struct scene *s, size_t splice)
{
    return s->stretch && s->stretch->swinging >> splice & 1;
}

/* How far a splice's void has burned at places so far on from others along the axis; 0 out of its reach. [m] */
LANE_INLINE vec reach_of(const struct sm_splice *splice, vec w, vec z, vec on)
{
    const vec off = larger(larger((splice->z0 - z) - on, (z - splice->z1) + on), all(0.0));
    return root_of(larger((w - off) * (w + off), all(0.0)));
}

/* To places along the axis. */
static inline void go(struct scene *s, vec z)
{
    for (size_t i = 0; i < s->slicer->grain->n; i++)
        s->q[i] = is_full(s, i)     ? s->w
                  : is_absent(s, i) ? all(0.0)
                                    : reach_of(&s->slicer->grain->items[i], s->w, z, all(0.0));
}

/* To where the front of the scene's stretch has swung. */
static inline void go_round(struct scene *s, vec sine, vec cosine)
{
    const struct sm_row_stretch *stretch = s->stretch;
    const vec on = stretch->side * s->w * sine;
    for (size_t i = 0; i < s->slicer->grain->n; i++)
        s->q[i] = is_full(s, i)       ? s->w
                  : is_absent(s, i)   ? all(0.0)
                  : is_swinging(s, i) ? s->w * cosine
                                      : reach_of(&s->slicer->grain->items[i], s->w, all(stretch->edge), on);
}

/* What a strip of every splice's front counts for in a slab so thick [m], whose thickness over the cosine is round where the front
 * swings. [m] */
static inline void weigh(struct scene *s, vec thickness, vec round)
{
    for (size_t i = 0; i < s->slicer->grain->n; i++) {
        if (is_full(s, i) || is_absent(s, i) || is_swinging(s, i)) {
            s->weight[i] = is_full(s, i) ? thickness : is_absent(s, i) ? all(0.0) : round;
            continue;
        }
        const mask is = (mask)(s->q[i] > 0.0);
        s->weight[i] = pick(is, thickness * s->w / pick(is, s->q[i], all(1.0)), all(0.0));
    }
}

static inline vec overlap(const struct scene *s, const struct sm_slice_spot *spot)
{
    const int i = spot->front, j = spot->other;
    const struct sm_front *a = &s->fronts->items[i], *b = &s->fronts->items[j];
    if (a->is_arc && b->is_arc) {
        const vec ra = radius_of(s, i), rb = radius_of(s, j);
        const struct sm_point d = sm_point_minus(b->base, a->base);
        const double d2 = sm_point_dot(d, d);
        if (!(d2 > 0.0))
            return ra - rb;
        const vec twice = d2 + (ra - rb) * (ra + rb);
        return ra * ra - twice * twice * (0.25 * spot->per * spot->per);
    }
    if (!a->is_arc && !b->is_arc) { /* parallel: others are never asked about */
        const struct spot p = base_of(s, i), q = base_of(s, j);
        return (q.x - p.x) * a->v.x + (q.y - p.y) * a->v.y;
    }
    const int line = a->is_arc ? j : i, circle = a->is_arc ? i : j;
    const struct sm_front *f = &s->fronts->items[line], *g = &s->fronts->items[circle];
    const struct spot p = base_of(s, line);
    const vec r = radius_of(s, circle), height = f->u.x * (g->base.y - p.y) - f->u.y * (g->base.x - p.x);
    return (r - height) * (r + height);
}

#endif
