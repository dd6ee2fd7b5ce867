#include <math.h>
#include <string.h>

#include "grain/slicing.h"

static void set_burned(struct sm_slicing *c, size_t i, double q)
{
    struct sm_slicer *s = c->slicer;
    if (c->q[i] == q)
        return;
    c->q[i] = q;
    for (int k = s->first[i]; k < s->first[i + 1]; k++)
        s->fronts.items[k].speed = q > 0.0 ? q : 0.0;
}

enum sm_status sm_slicing_start(struct sm_slicer *slicer, double w, struct sm_slicing *out,
                                struct sm_error *err)
{
    *out = (struct sm_slicing){.slicer = slicer, .w = w, .without = -1, .err = err};
    sm_arena_init(&out->scratch, slicer->allocator);
    sm_arena_init(&out->passing, slicer->allocator);
    SM_TRY(sm_trimmer_init(&out->trimmer, &slicer->fronts, &out->scratch, err));
    SM_TRY(sm_trim_whole(&out->trimmer, &out->whole, err));
    out->trimmer.arena = &out->passing;
    const size_t n = slicer->grain->n;
    out->q = sm_arena_alloc(&out->scratch, (2 + SM_MOST_KNOWN) * n, sizeof *out->q);
    for (size_t i = 0; out->q && i < n; i++) {
        out->q[i] = SM_NAN; /* whatever the elements' speeds were left at */
        set_burned(out, i, -1.0);
    }
    out->burned = out->q ? out->q + n : NULL;
    for (int k = 0; out->q && k < SM_MOST_KNOWN; k++)
        out->known[k].q = out->q + (2 + (size_t)k) * n;
    out->there.items = sm_arena_alloc(&out->scratch, (size_t)slicer->fronts.n, sizeof *out->there.items);
    out->others = sm_arena_alloc(&out->scratch, 2 * (size_t)slicer->fronts.n + 1, sizeof *out->others);
    return out->q && out->there.items && out->others ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

void sm_slicing_release(struct sm_slicing *c)
{
    sm_arena_release(&c->scratch);
    sm_arena_release(&c->passing);
}

void sm_slicing_restart(struct sm_slicing *c, double w)
{
    sm_arena_rewind(&c->passing);
    c->w = w;
    c->way = (struct sm_slice_way){.by_w = false};
    c->n_known = 0;
}

/* At a place so far on from z [m]: where z is the end of a splice, how far that has burned there is not lost in roundings. */
static void set_reach(struct sm_slicing *c, double z, double on)
{
    const struct sm_slicer *s = c->slicer;
    const double edge = c->w + 1e-14 * (s->length + s->grain->radius); /* its very edge is there too */
    for (size_t i = 0; i < s->grain->n; i++) {
        const struct sm_splice *splice = &s->grain->items[i];
        const double before = (splice->z0 - z) - on, behind = (z - splice->z1) + on;
        const double off = before > 0.0 ? before : behind > 0.0 ? behind : 0.0;
        const double square = (c->w - off) * (c->w + off);
        const bool is_there = off <= edge && (int)i != c->without;
        set_burned(c, i, !is_there ? -1.0 : off == 0.0 ? c->w : square > 0.0 ? sqrt(square) : 0.0);
    }
}

void sm_slicing_go(struct sm_slicing *c, double t)
{
    if (c->way.by_w)
        c->w = t;
    set_reach(c, c->way.by_w ? c->way.z : t, c->way.by_w ? c->way.slope * t : 0.0);
}

/* Distance of p from an element as it was at first, and on which side it lies: positive in propellant. */
static double signed_distance(const struct sm_front *f, struct sm_point p)
{
    const struct sm_point d = {p.x - f->base.x, p.y - f->base.y};
    if (!f->is_arc) {
        const double t = sm_point_dot(d, f->u), beyond = t < 0.0 ? t : t > f->extent ? t - f->extent : 0.0;
        const double height = sm_point_dot(d, f->v);
        return copysign(hypot(beyond, height), height);
    }
    const double r = sqrt(sm_point_dot(d, d)), side = f->sign * (r - f->radius);
    if (f->radius == 0.0 || (f->u.x * d.y - f->u.y * d.x >= 0.0 && d.x * f->v.y - d.y * f->v.x >= 0.0))
        return copysign(fabs(r - f->radius), side);
    const struct sm_point a = {d.x - f->radius * f->u.x, d.y - f->radius * f->u.y};
    const struct sm_point b = {d.x - f->radius * f->v.x, d.y - f->radius * f->v.y};
    return copysign(sqrt(fmin(sm_point_dot(a, a), sm_point_dot(b, b))), side);
}

/* Does p lie in the void of a splice that is there, other than the owner's? The nearest element tells; of two that meet in
 * a corner which is nearest, the one that p lies the more squarely before. */
static bool is_void(const void *user, int owner, struct sm_point p)
{
    const struct sm_slicing *c = user;
    const struct sm_slicer *s = c->slicer;
    const double near = 1e-12 * s->fronts.size;
    for (int i = 0; i < (int)s->grain->n; i++) {
        if (i == owner || c->q[i] < 0.0)
            continue;
        double least = SM_INF, square = 0.0;
        bool is_inside = false;
        for (int k = s->first[i]; k < s->first[i + 1]; k++) {
            const struct sm_front *f = &s->fronts.items[k];
            const double d = signed_distance(f, p);
            const struct sm_point to = {p.x - f->base.x, p.y - f->base.y};
            const double before = f->is_arc ? fabs(d) : fabs(sm_point_dot(to, f->v));
            if (fabs(d) > least + near || (fabs(d) > least - near && before < square))
                continue;
            least = fmin(least, fabs(d));
            square = before;
            is_inside = d < -near;
        }
        if (is_inside)
            return true;
    }
    return false;
}

/* The slice with the reach that is set now, if it has been cut before; else NULL. */
static struct sm_known_slice *find_known(struct sm_slicing *c)
{
    for (int k = 0; k < c->n_known; k++) {
        size_t i = 0;
        while (i < c->slicer->grain->n && c->known[k].q[i] == c->q[i])
            i++;
        if (i == c->slicer->grain->n)
            return &c->known[k];
    }
    return NULL;
}

/* Keeps a slice with the reach that is set now, if it is one that comes again: each splice all there or not at all. Returned:
 * it, or NULL. */
static struct sm_known_slice *keep(struct sm_slicing *c, const struct sm_parts *parts)
{
    const size_t n = c->slicer->grain->n;
    if (c->n_known == SM_MOST_KNOWN || c->way.by_w)
        return NULL;
    for (size_t i = 0; i < n; i++)
        if (c->q[i] >= 0.0 && c->q[i] != c->w)
            return NULL;
    struct sm_known_slice *known = &c->known[c->n_known++];
    memcpy(known->q, c->q, n * sizeof *known->q);
    known->parts = *parts;
    known->is_summed = false;
    return known;
}

/* What is seen of the splices that are there, as far as they have burned now. */
static enum sm_status trim_here(struct sm_slicing *c, struct sm_parts *out)
{
    c->there.n = c->there.n_burning = 0;
    for (int k = 0; k < c->whole.n; k++) {
        const int front = c->whole.items[k].front;
        const bool burns = front < c->slicer->fronts.n_burning;
        if (burns && c->q[c->slicer->owner[front]] < 0.0)
            continue;
        c->there.items[c->there.n++] = c->whole.items[k];
        c->there.n_burning = burns ? c->there.n : c->there.n_burning;
    }
    c->trimmer.owner = c->slicer->owner;
    c->trimmer.is_void = is_void;
    c->trimmer.user = c;
    return sm_trim(&c->trimmer, 1.0, &c->there, out, c->err);
}

enum sm_status sm_slicing_trim(struct sm_slicing *c, double t, struct sm_parts *out)
{
    sm_slicing_go(c, t);
    const struct sm_known_slice *known = find_known(c);
    if (known) {
        *out = known->parts;
        return SM_OK;
    }
    SM_TRY(trim_here(c, out));
    keep(c, out);
    return SM_OK;
}

/* It holds it if all of its front is hidden when both have burned equally little. */
enum sm_status sm_slicing_covers(struct sm_slicing *c, size_t i, size_t j, bool *out)
{
    struct sm_slicer *s = c->slicer;
    signed char *known = &s->covers[i * s->grain->n + j];
    if (*known < 0) {
        struct sm_parts parts;
        for (size_t m = 0; m < s->grain->n; m++) {
            set_burned(c, m, m == i || m == j ? SM_SOONEST * s->grain->radius : -1.0);
        }
        SM_TRY(trim_here(c, &parts));
        *known = 1;
        for (int k = 0; k < parts.n_burning; k++)
            if (s->owner[parts.items[k].front] == (int)j)
                *known = 0;
    }
    *out = *known > 0;
    return SM_OK;
}

enum sm_status sm_slicing_is_covered(struct sm_slicing *c, bool *out)
{
    const size_t n = c->slicer->grain->n;
    memcpy(c->burned, c->q, n * sizeof *c->q);
    *out = true;
    for (size_t j = 0; j < n && *out; j++) {
        *out = c->burned[j] < 0.0 || c->burned[j] == c->w;
        for (size_t i = 0; i < n && !*out; i++)
            if (c->burned[i] == c->w)
                SM_TRY(sm_slicing_covers(c, i, j, out));
    }
    return SM_OK;
}

bool sm_slicing_is_even(const struct sm_slicing *c, const struct sm_parts *parts)
{
    const struct sm_slicer *s = c->slicer;
    for (int k = 0; k < parts->n; k++) {
        const struct sm_part *part = &parts->items[k];
        const int named[3] = {part->front, part->from.other, part->to.other};
        for (int m = 0; m < 3; m++)
            if (named[m] >= 0 && named[m] < s->fronts.n_burning && c->q[s->owner[named[m]]] != c->w)
                return false;
    }
    return true;
}

static double lean_of(const struct sm_slicing *c, int front)
{
    const struct sm_slicer *s = c->slicer;
    const double q = front < s->fronts.n_burning ? c->q[s->owner[front]] : c->w;
    return q > 0.0 ? c->w / q : 0.0;
}

static void sum_each(const struct sm_slicing *c, const struct sm_parts *parts, struct sm_plane *out)
{
    const struct sm_slicer *s = c->slicer;
    *out = (struct sm_plane){.left = {0.0}};
    for (int k = 0; k < parts->n; k++) {
        double front[SM_N_PLANAR], left[SM_N_PLANAR];
        sm_planar_part(&s->fronts, &parts->items[k], 1.0, front, left);
        const double lean = lean_of(c, parts->items[k].front);
        for (int i = 0; i < SM_N_PLANAR; i++) {
            out->left[i] += left[i];
            out->front[i] += lean * front[i];
        }
    }
    sm_planar_unfold(s->grain->sectors, out->left);
    sm_planar_unfold(s->grain->sectors, out->front);
}

/* Of three sectors or more the whole looks alike from all sides, and two sums are enough. */
static void sum_round(const struct sm_slicing *c, const struct sm_parts *parts, struct sm_plane *out)
{
    const struct sm_slicer *s = c->slicer;
    const double twice = 2.0 * s->grain->sectors;
    double left[2] = {0.0}, front[2] = {0.0};
    for (int k = 0; k < parts->n; k++) {
        double of_front[2], of_left[2];
        sm_planar_polar_part(&s->fronts, &parts->items[k], 1.0, of_front, of_left);
        const double lean = lean_of(c, parts->items[k].front);
        for (int i = 0; i < 2; i++) {
            left[i] += of_left[i];
            front[i] += lean * of_front[i];
        }
    }
    *out = (struct sm_plane){.left = {[SM_PLANE_AREA] = twice * left[0],
                                      [SM_PLANE_XX] = 0.5 * twice * left[1],
                                      [SM_PLANE_YY] = 0.5 * twice * left[1]},
                             .front = {[SM_PLANE_AREA] = twice * front[0],
                                       [SM_PLANE_XX] = 0.5 * twice * front[1],
                                       [SM_PLANE_YY] = 0.5 * twice * front[1]}};
}

static void sum(const struct sm_slicing *c, const struct sm_parts *parts, struct sm_plane *out)
{
    if (c->slicer->grain->sectors > 2)
        sum_round(c, parts, out);
    else
        sum_each(c, parts, out);
}

void sm_slicing_sum(struct sm_slicing *c, const struct sm_parts *parts, struct sm_plane *out)
{
    struct sm_known_slice *known = find_known(c);
    const bool is_even = known || sm_slicing_is_even(c, parts);
    for (int k = 0; k < c->n_known && is_even && !known; k++)
        if (sm_parts_alike(&c->known[k].parts, parts))
            known = &c->known[k]; /* what has burned less far is hidden here */
    known = known ? known : keep(c, parts);
    if (!known) {
        sum(c, parts, out);
        return;
    }
    if (!known->is_summed)
        sum(c, parts, &known->plane);
    known->is_summed = true;
    *out = known->plane;
}
