/*
 * Work in lanes of grain/slicerow.h: joints, and sums. The file that includes this says how many lanes go in a vector.
 */
#ifndef SM_GRAIN_SLICELANES_H
#define SM_GRAIN_SLICELANES_H

#include "grain/slicescene.h"

/* ---- where a make-up ends ---- */

/* Of a part of an element. [m] */
static inline vec length_between(const struct scene *s, int front, struct spot a, struct spot b)
{
    const struct sm_front *f = &s->fronts->items[front];
    if (!f->is_arc)
        return (b.x - a.x) * f->u.x + (b.y - a.y) * f->u.y;
    const vec ax = a.x - f->base.x, ay = a.y - f->base.y, bx = b.x - f->base.x, by = b.y - f->base.y;
    return sweep_of(ax * by - ay * bx, ax * bx + ay * by) * radius_of(s, front);
}

/* What passes through zero with it, and rises as it does: of an arc by the sine of its angle, which takes less. [m] or [m2] */
static inline vec sign_between(const struct scene *s, int front, struct spot a, struct spot b)
{
    const struct sm_front *f = &s->fronts->items[front];
    if (!f->is_arc)
        return length_between(s, front, a, b);
    const vec ax = a.x - f->base.x, ay = a.y - f->base.y, bx = b.x - f->base.x, by = b.y - f->base.y;
    const vec cross = ax * by - ay * bx, dot = ax * bx + ay * by, r = radius_of(s, front);
    const vec most = 2.0 * r * r;
    return pick((mask)(dot < 0.0), most - cross,
                cross); /* up to three quarters of a turn on, as sweep_of has it */
}

/* Through zero where the joint is. */
static inline vec sign_of(const struct scene *s, const struct sm_row_joint *joint)
{
    const int front = joint->change.part.front;
    if (joint->change.other != SM_OWN_END)
        return overlap(s, &joint->touch);
    return sign_between(s, front, find_spot(s, &joint->from), find_spot(s, &joint->to));
}

LANE_INLINE vec sign_at(struct scene *s, const struct sm_row_joint *joint, vec angle)
{
    vec sine, cosine;
    turn_by(angle, &sine, &cosine);
    go_round(s, sine, cosine);
    return sign_of(s, joint);
}

/* By the secant from where to look. Returned: nothing where it has not come to rest. */
static inline vec seek_joint(struct scene *s, const struct sm_row_joint *joint, vec low, vec high, vec start)
{
    enum { STEPS = 10 };
    const double at_rest = 1e-7; /* of the last step; where it ends is nearer by far [rad] */
    const vec middle = 0.5 * (low + high), first_step = 1e-6 * (high - low);
    vec x0 = larger(low, smaller(high, start));
    vec x1 = x0 + pick((mask)(x0 > middle), -first_step, first_step);
    vec f0 = sign_at(s, joint, x0), f1 = sign_at(s, joint, x1);
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
        f1 = sign_at(s, joint, x1);
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
        const struct sm_row_joint *joint = &row->joints[piece->joint];
        double *angle = row->angle[piece->joint] + s->at;
        const bool is_placed = row->new_alone && joint->trace.n > 1;
        const vec x = is_placed ? load(angle) : seek_joint(s, joint, low, high, load(angle));
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

/* Of a slice: its area, its second moment about the axis, and both over its fronts, each by what it counts for. */
struct round {
    vec left, left_round, front, front_round; /* [m2], [m4], [m2], [m4] */
};

/* Over a part, as struct polar of grain/planar.c. */
struct polar {
    vec length, second, flux, second_flux; /* [m], [m3], [m2], [m4] */
};

static inline void find_spots(struct scene *s, const struct sm_row_piece *piece, int n)
{
    for (int k = 0; k < n; k++)
        s->spots[k] = find_spot(s, &piece->spots[k]);
}

/* A part's length: what is between an arc's own ends is known beforehand. [m] */
static inline vec length_of(const struct scene *s, const struct sm_row_part *part)
{
    if (part->sweep > 0.0)
        return part->sweep * radius_of(s, part->front);
    return length_between(s, part->front, s->spots[part->from], s->spots[part->to]);
}

static inline struct polar along_line(const struct sm_front *f, struct spot a, struct spot b)
{
    const vec dx = b.x - a.x, dy = b.y - a.y, mx = a.x + 0.5 * dx, my = a.y + 0.5 * dy;
    const vec length = dx * f->u.x + dy * f->u.y, height = a.x * f->v.x + a.y * f->v.y;
    const vec second = length * (mx * mx + my * my + (dx * dx + dy * dy) * (1.0 / 12.0));
    return (struct polar){length, second, 0.5 * height * length, 0.25 * height * second};
}

static inline struct polar along_arc(const struct sm_front *f, vec r, vec length, struct spot a,
                                     struct spot b)
{
    const struct sm_point o = f->base;
    const double o2 = sm_point_dot(o, o);
    const vec ax = a.x - o.x, ay = a.y - o.y, bx = b.x - o.x, by = b.y - o.y;
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
    find_spots(s, piece, piece->n_spots);
    for (int k = 0; k < piece->n_parts; k++) {
        const struct sm_row_part *part = &piece->parts[k];
        const struct sm_front *f = &s->fronts->items[part->front];
        const struct spot a = s->spots[part->from], b = s->spots[part->to];
        const struct polar p = f->is_arc ? along_arc(f, radius_of(s, part->front), length_of(s, part), a, b)
                                         : along_line(f, a, b);
        s->least = smaller(s->least, p.length);
        if (part->front >= s->fronts->n_burning) { /* a rim: its normal points out of the propellant */
            sum.left += p.flux;
            sum.left_round += p.second_flux;
            continue;
        }
        const vec weight = s->weight[s->slicer->owner[part->front]];
        sum.left -= p.flux;
        sum.left_round -= p.second_flux;
        sum.front += weight * p.length;
        sum.front_round += weight * p.second;
    }
    return sum;
}

/* Of that the fronts alone: their length, each by what it counts for. [m2] */
static inline vec sum_fronts(struct scene *s, const struct sm_row_piece *piece)
{
    vec sum = all(0.0);
    find_spots(s, piece, piece->n_burning_spots);
    for (int k = 0; k < piece->n_burning; k++) {
        const struct sm_row_part *part = &piece->parts[k];
        const vec length = length_of(s, part);
        s->least = smaller(s->least, length);
        sum += s->weight[s->slicer->owner[part->front]] * length;
    }
    return sum;
}

/* Twice what a part bounds with the axis. [m2] */
static inline vec flux_of(const struct sm_front *f, vec r, struct spot a, struct spot b, vec length)
{
    if (!f->is_arc)
        return (a.x * f->v.x + a.y * f->v.y) * length;
    return f->sign * (r * length + (f->base.x * (b.y - a.y) - f->base.y * (b.x - a.x)));
}

/* Of a piece's slice where the scene is what is left of its area alone. [m2] */
static inline vec sum_left(struct scene *s, const struct sm_row_piece *piece)
{
    vec sum = all(0.0);
    find_spots(s, piece, piece->n_spots);
    for (int k = 0; k < piece->n_parts; k++) {
        const struct sm_row_part *part = &piece->parts[k];
        const struct sm_front *f = &s->fronts->items[part->front];
        const struct spot a = s->spots[part->from], b = s->spots[part->to];
        const vec flux = flux_of(f, radius_of(s, part->front), a, b, length_of(s, part));
        sum += part->front >= s->fronts->n_burning ? flux : -flux;
    }
    return 0.5 * sum;
}

/* What lanes have summed so far. */
struct total {
    vec left[SM_ROW_SUMS], front[SM_ROW_SUMS];
};

/* A slab at z, in which z^2 means the mean of z^2 over it: thickness dz, or 1 where that is in the areas. */
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
    go(s, z);
    weigh(s, dz, dz);
    if (s->row->areas_alone) {
        out->front[SM_ROW_ALL] += sum_fronts(s, piece);
        return;
    }
    const struct round slice = sum_slice(s, piece);
    const vec z2 = (a * a + a * b + b * b) * (1.0 / 3.0);
    add_slab(slice.left, slice.left_round, z, z2, dz, out->left);
    add_slab(slice.front, slice.front_round, z, z2, all(1.0), out->front);
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
        const vec way = gauss->share[k] * 6.0 * t * (1.0 - t) * stretch->side * whole * s->w,
                  dz = way * cosine;
        go_round(s, sine, cosine);
        weigh(s, dz, way);
        if (s->row->areas_alone) {
            out->front[SM_ROW_ALL] += sum_fronts(s, piece);
            continue;
        }
        const vec z = stretch->edge + stretch->side * s->w * sine;
        const struct round slice = sum_slice(s, piece);
        add_slab(slice.left, slice.left_round, z, z * z, dz, out->left);
        add_slab(slice.front, slice.front_round, z, z * z, all(1.0), out->front);
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
        go(s, z);
        if (row->areas_alone) {
            out->front[SM_ROW_ALL] += flat->sign * sum_left(s, &row->pieces[flat->piece]);
            continue;
        }
        weigh(s, all(0.0), all(0.0)); /* of the front nothing is asked for */
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

#endif
