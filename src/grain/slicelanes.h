/*
 * Work in lanes of grain/slicerow.h. The file that includes this says how many lanes go in a vector.
 *
 * The formulas are those of grain/trim.c and grain/planar.c, written for vectors.
 */
#ifndef SM_GRAIN_SLICELANES_H
#define SM_GRAIN_SLICELANES_H

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
    vec lean[SM_ROW_SPLICES]; /* by how much a strip of its front is wider than it looks along the axis [1] */
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

/* The lean of every splice's front there. */
static inline void find_leans(struct scene *s)
{
    for (size_t i = 0; i < s->slicer->grain->n; i++) {
        if (is_full(s, i) || is_absent(s, i)) {
            s->lean[i] = all(is_full(s, i) ? 1.0 : 0.0);
            continue;
        }
        const mask is = (mask)(s->q[i] > 0.0);
        s->lean[i] = pick(is, s->w / pick(is, s->q[i], all(1.0)), all(0.0));
    }
}

/* To places along the axis, so far on from others [m]. */
static inline void go(struct scene *s, vec z, vec on)
{
    const struct sm_spliced *grain = s->slicer->grain;
    for (size_t i = 0; i < grain->n; i++) {
        if (is_full(s, i) || is_absent(s, i)) {
            s->q[i] = is_full(s, i) ? s->w : all(0.0);
            continue;
        }
        const vec off =
            larger(larger((grain->items[i].z0 - z) - on, (z - grain->items[i].z1) + on), all(0.0));
        s->q[i] = root_of(larger((s->w - off) * (s->w + off), all(0.0)));
    }
}

/* ---- where a make-up ends ---- */

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

/* Through zero where the joint is. */
static inline vec sign_of(const struct scene *s, const struct sm_row_joint *joint)
{
    const int front = joint->change.part.front;
    if (joint->change.other != SM_OWN_END)
        return overlap(s, &joint->touch);
    const struct sm_front *f = &s->fronts->items[front];
    const struct spot a = find_spot(s, &joint->from), b = find_spot(s, &joint->to);
    if (!f->is_arc)
        return (b.x - a.x) * f->u.x + (b.y - a.y) * f->u.y;
    const vec ax = a.x - f->base.x, ay = a.y - f->base.y, bx = b.x - f->base.x, by = b.y - f->base.y;
    return sweep_of(ax * by - ay * bx, ax * bx + ay * by) * radius_of(s, front);
}

LANE_INLINE vec sign_at(struct scene *s, const struct sm_row_stretch *stretch,
                        const struct sm_row_joint *joint, vec angle)
{
    vec sine, cosine;
    turn_by(angle, &sine, &cosine);
    go(s, all(stretch->edge), stretch->side * s->w * sine);
    return sign_of(s, joint);
}

/* By the secant from where to look. Returned: nothing where it has not come to rest. */
static inline vec seek_joint(struct scene *s, const struct sm_row_stretch *stretch,
                             const struct sm_row_joint *joint, vec low, vec high, vec start)
{
    enum { STEPS = 10 };
    const double at_rest = 1e-7; /* of the last step; where it ends is nearer by far [rad] */
    const vec middle = 0.5 * (low + high), first_step = 1e-6 * (high - low);
    vec x0 = larger(low, smaller(high, start));
    vec x1 = x0 + pick((mask)(x0 > middle), -first_step, first_step);
    vec f0 = sign_at(s, stretch, joint, x0), f1 = sign_at(s, stretch, joint, x1);
    mask moves = always();
    for (int i = 0; i < STEPS; i++) {
        const vec rise = f1 - f0;
        vec step =
            pick((mask)(rise == 0.0), all(0.0), -f1 * (x1 - x0) / pick((mask)(rise == 0.0), all(1.0), rise));
        step = pick(moves, step, all(0.0));
        x0 = pick(moves, x1, x0);
        f0 = pick(moves, f1, f0);
        x1 = larger(low, smaller(high, x1 + step));
        moves = moves & (mask)(absolute(step) > at_rest);
        if (!any(moves))
            break;
        f1 = sign_at(s, stretch, joint, x1);
    }
    return pick(moves, all(SM_NAN), x1);
}

LANE_INLINE void open_scene(const struct sm_row *row, int at, bool seeks, struct scene *s)
{
    s->row = row;
    s->slicer = row->slicer;
    s->fronts = &row->slicer->fronts;
    s->at = at;
    s->w = load(row->w + at);
    s->stretch = NULL;
    s->least = all(0.0);
    s->seeks = seeks;
}

/* Joints in one stretch, which must follow one another: from the first angle to the second. */
static inline vec place_in_stretch(struct scene *s, struct sm_row *row, const struct sm_row_stretch *stretch)
{
    const size_t k = (size_t)(stretch - row->stretches);
    const vec from = load(row->from[k] + s->at), to = load(row->to[k] + s->at);
    const vec low = smaller(from, to), high = larger(from, to);
    vec last = from, failed = all(0.0);
    s->stretch = stretch;
    for (int i = 0; i < stretch->n_pieces; i++) {
        const struct sm_row_piece *piece = &row->pieces[stretch->first_piece + i];
        if (piece->joint < 0)
            continue;
        double *angle = row->angle[piece->joint] + s->at;
        const vec x = seek_joint(s, stretch, &row->joints[piece->joint], low, high, load(angle));
        failed =
            larger(failed, pick((mask)(stretch->side * (x - last) < 0.0), all(SM_ROW_CROSSED), all(0.0)));
        failed = larger(failed, pick((mask)(x == x), all(0.0), all(SM_ROW_LOST)));
        last = x;
        store(angle, x);
    }
    return larger(failed, pick((mask)(stretch->side * (to - last) < 0.0), all(SM_ROW_CROSSED), all(0.0)));
}

static inline void place_joints(struct sm_row *row)
{
    for (int at = 0; at < SM_SLICE_LANES; at += LANE_WIDTH) {
        struct scene s;
        vec failed = all(0.0);
        open_scene(row, at, true, &s);
        for (int k = 0; k < row->n_stretches; k++)
            if (row->stretches[k].swings)
                failed = larger(failed, place_in_stretch(&s, row, &row->stretches[k]));
        store(row->failed + at, failed);
    }
}

/* ---- sums ---- */

/* Of a slice: its area, its second moment about the axis, and both over its fronts, each weighed by how much it leans. */
struct round {
    vec left, left_round, front, front_round; /* [m2], [m4], [m], [m3] */
};

/* Over a part, as struct polar of grain/planar.c. */
struct polar {
    vec length, second, flux, second_flux; /* [m], [m3], [m2], [m4] */
};

static inline struct polar along_line(const struct sm_front *f, struct spot a, struct spot b)
{
    const vec dx = b.x - a.x, dy = b.y - a.y, mx = a.x + 0.5 * dx, my = a.y + 0.5 * dy;
    const vec length = dx * f->u.x + dy * f->u.y, height = a.x * f->v.x + a.y * f->v.y;
    const vec second = length * (mx * mx + my * my + (dx * dx + dy * dy) * (1.0 / 12.0));
    return (struct polar){length, second, 0.5 * height * length, 0.25 * height * second};
}

static inline struct polar along_arc(const struct sm_front *f, vec r, struct spot a, struct spot b)
{
    const struct sm_point o = f->base;
    const double o2 = sm_point_dot(o, o);
    const vec ax = a.x - o.x, ay = a.y - o.y, bx = b.x - o.x, by = b.y - o.y;
    const vec length = sweep_of(ax * by - ay * bx, ax * bx + ay * by) * r;
    const vec a0 = o.x * ax + o.y * ay, a1 = o.x * bx + o.y * by, b0 = o.x * ay - o.y * ax,
              b1 = o.x * by - o.y * bx;
    const vec once = b1 - b0, twice = r * o2 * length + (a1 * b1 - a0 * b0), whole = o2 + r * r,
              flux = r * length + once;
    return (struct polar){length, whole * length + 2.0 * r * once, 0.5 * f->sign * flux,
                          0.25 * f->sign * (whole * flux + 2.0 * r * r * once + twice)};
}

/* A piece's slice where the scene is. */
static inline struct round sum_slice(struct scene *s, const struct sm_row_piece *piece)
{
    struct round sum = {all(0.0), all(0.0), all(0.0), all(0.0)};
    find_leans(s);
    for (int k = 0; k < piece->n_spots; k++)
        s->spots[k] = find_spot(s, &piece->spots[k]);
    for (int k = 0; k < piece->n_parts; k++) {
        const struct sm_row_part *part = &piece->parts[k];
        const struct sm_front *f = &s->fronts->items[part->front];
        const struct spot a = s->spots[part->from], b = s->spots[part->to];
        const struct polar p =
            f->is_arc ? along_arc(f, radius_of(s, part->front), a, b) : along_line(f, a, b);
        s->least = smaller(s->least, p.length);
        if (part->front >= s->fronts->n_burning) { /* a rim: its normal points out of the propellant */
            sum.left += p.flux;
            sum.left_round += p.second_flux;
            continue;
        }
        const vec lean = s->lean[s->slicer->owner[part->front]];
        sum.left -= p.flux;
        sum.left_round -= p.second_flux;
        sum.front += lean * p.length;
        sum.front_round += lean * p.second;
    }
    return sum;
}

/* What lanes have summed so far. */
struct total {
    vec left[SM_ROW_SUMS], front[SM_ROW_SUMS];
};

/* A slab of thickness dz at z, in which z^2 means the mean of z^2 over it. */
LANE_INLINE void add_slab(vec area, vec second, vec z, vec z2, vec dz, vec out[SM_ROW_SUMS])
{
    out[SM_ROW_ALL] += area * dz;
    out[SM_ROW_Z] += area * z * dz;
    out[SM_ROW_ZZ] += area * z2 * dz;
    out[SM_ROW_ROUND] += second * dz;
}

LANE_INLINE vec border(const struct scene *s, const struct sm_slice_border *b)
{
    return b->at + b->slope * s->w;
}

static inline void sum_even(struct scene *s, const struct sm_row_piece *piece, vec a, vec b,
                            struct total *out)
{
    const vec z = 0.5 * (a + b), dz = b - a;
    go(s, z, all(0.0));
    const struct round slice = sum_slice(s, piece);
    const vec z2 = (a * a + a * b + b * b) * (1.0 / 3.0);
    add_slab(slice.left, slice.left_round, z, z2, dz, out->left);
    add_slab(slice.front, slice.front_round, z, z2, dz, out->front);
}

/* As grain/sliceaxis.c integrates by the angle. */
static inline void sum_swinging(struct scene *s, const struct sm_row_stretch *stretch,
                                const struct sm_row_piece *piece, vec from, vec to, struct total *out)
{
    const struct sm_gauss *gauss = &s->slicer->gauss[piece->rule];
    const vec whole = to - from;
    for (int k = 0; k < gauss->n; k++) {
        const double t = gauss->place[k];
        vec sine, cosine;
        turn_by(from + whole * (t * t * (3.0 - 2.0 * t)), &sine, &cosine);
        const vec z = stretch->edge + stretch->side * s->w * sine;
        const vec dz = gauss->share[k] * 6.0 * t * (1.0 - t) * stretch->side * whole * s->w * cosine;
        go(s, all(stretch->edge), stretch->side * s->w * sine);
        const struct round slice = sum_slice(s, piece);
        add_slab(slice.left, slice.left_round, z, z * z, dz, out->left);
        add_slab(slice.front, slice.front_round, z, z * z, dz, out->front);
    }
}

LANE_INLINE vec place_of(const struct scene *s, const struct sm_row_stretch *stretch, vec angle)
{
    vec sine, cosine;
    turn_by(angle, &sine, &cosine);
    return stretch->edge + stretch->side * s->w * sine;
}

static inline void sum_stretch(struct scene *s, const struct sm_row_stretch *stretch, struct total *out)
{
    const struct sm_row *row = s->row;
    const size_t k = (size_t)(stretch - row->stretches);
    const vec end = stretch->swings ? load(row->to[k] + s->at) : all(0.0);
    vec from = stretch->swings ? load(row->from[k] + s->at) : all(0.0);
    s->stretch = stretch;
    for (int i = 0; i < stretch->n_pieces; i++) {
        const struct sm_row_piece *piece = &row->pieces[stretch->first_piece + i];
        const vec to = piece->joint < 0 ? end : load(row->angle[piece->joint] + s->at);
        if (piece->n_parts > 0 && !stretch->swings)
            sum_even(s, piece, border(s, &stretch->a), border(s, &stretch->b), out);
        else if (piece->n_parts > 0 && piece->is_even)
            sum_even(s, piece, place_of(s, stretch, from), place_of(s, stretch, to), out);
        else if (piece->n_parts > 0)
            sum_swinging(s, stretch, piece, from, to, out);
        from = to;
    }
}

static inline void sum_flats(struct scene *s, struct total *out)
{
    const struct sm_row *row = s->row;
    s->stretch = NULL;
    for (int k = 0; k < row->n_flats; k++) {
        const struct sm_row_flat *flat = &row->flats[k];
        const vec z = border(s, &flat->z);
        go(s, z, all(0.0));
        const struct round slice = sum_slice(s, &row->pieces[flat->piece]);
        add_slab(slice.left, slice.left_round, z, z * z, all(flat->sign), out->front);
    }
}

static inline void sum_lanes(struct sm_row *row)
{
    const double tie = 1e-9 * row->slicer->grain->radius, twice = 2.0 * row->slicer->grain->sectors;
    for (int at = 0; at < SM_SLICE_LANES; at += LANE_WIDTH) {
        struct scene s;
        struct total sum;
        open_scene(row, at, false, &s);
        for (int i = 0; i < SM_ROW_SUMS; i++)
            sum.left[i] = sum.front[i] = all(0.0);
        for (int k = 0; k < row->n_stretches; k++)
            sum_stretch(&s, &row->stretches[k], &sum);
        const vec least = s.least;
        sum_flats(&s, &sum);
        for (int i = 0; i < SM_ROW_SUMS; i++) {
            store(row->left[i] + at, twice * sum.left[i]);
            store(row->front[i] + at, twice * sum.front[i]);
        }
        store(row->failed + at,
              larger(load(row->failed + at), pick((mask)(least < -tie), all(SM_ROW_CROSSED), all(0.0))));
    }
}

/* ---- marks ---- */

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
