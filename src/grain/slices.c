#include "grain/slices.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "grain/shape.h"
#include "num/bracket.h"

/* Shares of the grain's radius. */
static const double SOONEST =
    1e-8; /* distance burned that stands for none, where unlike voids still lie apart */
/* So far inside a stretch its make-up is looked at. Nearer to where a splice ends, what has burned on its two sides differs
 * by less than fronts are told apart by: by the square of this. */
static const double INSET = 2e-6;
/* The same where a splice comes into reach: there its front is as far out as the root of this, and what happens to that while it is
 * shorter is lost. */
static const double INSET_AT_REACH = 1e-10;
static const double NARROWEST =
    1e-9; /* stretch of z in which a change of make-up is not looked for any closer */

/* ---- making one ---- */

static enum sm_status append_fronts(struct sm_slicer *s, const struct sm_fronts *from, int splice)
{
    const int base = s->fronts.n_burning;
    for (int i = 0; i < from->n_burning; i++) {
        struct sm_front f = from->items[i];
        int *links[4] = {&f.before, &f.after, &f.corner[0], &f.corner[1]};
        for (int k = 0; k < 4; k++)
            *links[k] += *links[k] >= 0 ? base : 0;
        s->owner[s->fronts.n_burning] = splice;
        s->fronts.items[s->fronts.n_burning++] = f;
    }
    s->first[splice + 1] = s->fronts.n_burning;
    return SM_OK;
}

enum sm_status sm_slicer_init(struct sm_arena *arena, const struct sm_spliced *grain, struct sm_slicer *out,
                              struct sm_error *err)
{
    *out = (struct sm_slicer){
        .grain = grain, .allocator = arena->allocator, .length = grain->items[grain->n - 1].z1};
    out->fore = grain->burning & SM_FACE_FORE_END ? 1.0 : 0.0;
    out->aft = grain->burning & SM_FACE_AFT_END ? 1.0 : 0.0;
    struct sm_fronts *each = sm_arena_alloc(arena, grain->n, sizeof *each);
    size_t n = 0;
    for (size_t i = 0; each && i < grain->n; i++) {
        const struct sm_section section = {
            .contour = grain->items[i].contour, .sectors = grain->sectors, .radius = grain->radius};
        SM_TRY(sm_section_fronts(arena, &section, &each[i], err));
        n += (size_t)each[i].n;
    }
    out->fronts.size = grain->radius;
    out->fronts.items = sm_arena_alloc(arena, n + 1, sizeof *out->fronts.items);
    out->owner = sm_arena_alloc(arena, n + 1, sizeof *out->owner);
    out->first = sm_arena_alloc(arena, grain->n + 1, sizeof *out->first);
    if (!each || !out->fronts.items || !out->owner || !out->first)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < grain->n; i++)
        SM_TRY(append_fronts(out, &each[i], (int)i));
    const int n_walls = each[0].n_walls - each[0].n_burning, n_rims = each[0].n - each[0].n_walls;
    memcpy(out->fronts.items + out->fronts.n_burning, each[0].items + each[0].n_burning,
           (size_t)(n_walls + n_rims) * sizeof *each[0].items);
    out->fronts.n_walls = out->fronts.n_burning + n_walls;
    out->fronts.n = out->fronts.n_walls + n_rims;
    return SM_OK;
}

/* ---- one slice ---- */

/* Plane integrals of a slice: over what is left, and over the front, each part weighed by how much its surface leans. */
struct plane {
    double left[SM_N_PLANAR];  /* [m2], [m3], [m4] */
    double front[SM_N_PLANAR]; /* [m], [m2], [m3] */
};

/* A slice already cut. Slices to which every splice has burned equally far are the same, wherever they lie. */
struct known {
    double *q; /* as in struct cut [m] */
    struct sm_parts parts;
    struct plane plane;
    bool is_summed; /* the plane's integrals are there */
};

/* Slices of one distance burned that are kept: those of the stretches that are even all along, which the ends and the flat
 * fronts ask for again. */
enum { MOST_KNOWN = 8 };

/* One distance burned. Within a slice a splice that is out of reach is not there. */
struct cut {
    struct sm_slicer *slicer;
    struct sm_arena scratch;
    struct sm_trimmer trimmer;
    double w;    /* [m] */
    double *q;   /* how far each splice's void has burned in the slice [m]; negative: out of reach */
    int without; /* splice left out, -1 for none */
    struct known known[MOST_KNOWN];
    int n_known;
    struct sm_geometry_knot *out;
    struct sm_error *err;
};

/* How far splice i has burned at z, as the speeds of its elements (the trimmer's own w being 1). */
static void set_reach(struct cut *c, double z)
{
    struct sm_slicer *s = c->slicer;
    for (size_t i = 0; i < s->grain->n; i++) {
        const struct sm_splice *splice = &s->grain->items[i];
        const double off = fmax(fmax(splice->z0 - z, z - splice->z1), 0.0);
        const double edge = c->w + 1e-14 * (s->length + s->grain->radius); /* its very edge is there too */
        const bool is_there = off <= edge && (int)i != c->without;
        c->q[i] = is_there ? sqrt(fmax((c->w - off) * (c->w + off), 0.0)) : -1.0;
        for (int k = s->first[i]; k < s->first[i + 1]; k++)
            s->fronts.items[k].speed = fmax(c->q[i], 0.0);
    }
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
    const struct cut *c = user;
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
static struct known *find_known(struct cut *c)
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

/* Keeps a slice with the reach that is set now, if it is one that comes again: each splice all there or not at all. */
static enum sm_status keep(struct cut *c, const struct sm_parts *parts)
{
    const size_t n = c->slicer->grain->n;
    for (size_t i = 0; i < n; i++)
        if (c->q[i] >= 0.0 && c->q[i] != c->w)
            return SM_OK;
    if (c->n_known == MOST_KNOWN)
        return SM_OK;
    double *q = sm_arena_alloc(&c->scratch, n, sizeof *q);
    if (!q)
        return sm_fail(c->err, SM_E_NOMEM, "out of memory");
    memcpy(q, c->q, n * sizeof *q);
    c->known[c->n_known++] = (struct known){.q = q, .parts = *parts};
    return SM_OK;
}

static enum sm_status trim_slice(struct cut *c, double z, struct sm_parts *out)
{
    set_reach(c, z);
    const struct known *known = find_known(c);
    if (known) {
        *out = known->parts;
        return SM_OK;
    }
    struct sm_parts whole, there = {.items = NULL};
    SM_TRY(sm_trim_whole(&c->trimmer, &whole, c->err));
    there.items = whole.items;
    for (int k = 0; k < whole.n; k++) {
        const int front = whole.items[k].front;
        const bool burns = front < c->slicer->fronts.n_burning;
        if (burns && c->q[c->slicer->owner[front]] < 0.0)
            continue;
        there.items[there.n++] = whole.items[k];
        there.n_burning = burns ? there.n : there.n_burning;
    }
    SM_TRY(sm_trim(&c->trimmer, 1.0, &there, out, c->err));
    return keep(c, out);
}

static void sum_slice(const struct cut *c, const struct sm_parts *parts, struct plane *out)
{
    const struct sm_slicer *s = c->slicer;
    *out = (struct plane){.left = {0.0}};
    for (int k = 0; k < parts->n; k++) {
        double front[SM_N_PLANAR], left[SM_N_PLANAR];
        const int which = parts->items[k].front;
        sm_planar_part(&s->fronts, &parts->items[k], 1.0, front, left);
        const double q = which < s->fronts.n_burning ? c->q[s->owner[which]] : c->w;
        const double lean = q > 0.0 ? c->w / q : 0.0;
        for (int i = 0; i < SM_N_PLANAR; i++) {
            out->left[i] += left[i];
            out->front[i] += lean * front[i];
        }
    }
    sm_planar_unfold(s->grain->sectors, out->left);
    sm_planar_unfold(s->grain->sectors, out->front);
}

/* The same of the slice with the reach that is set now, but not twice. */
static void sum_once(struct cut *c, const struct sm_parts *parts, struct plane *out)
{
    struct known *known = find_known(c);
    if (!known || known->parts.items != parts->items) {
        sum_slice(c, parts, out);
        return;
    }
    if (!known->is_summed)
        sum_slice(c, parts, &known->plane);
    known->is_summed = true;
    *out = known->plane;
}

/* Adds a slice of thickness dz at z, in which z^2 means the mean of z^2 over it. */
static void add_slab(double in[SM_N_PLANAR], double z, double z2, double dz, double out[SM_N_INTEGRALS])
{
    out[SM_VOLUME] += in[SM_PLANE_AREA] * dz;
    out[SM_X] += in[SM_PLANE_X] * dz;
    out[SM_Y] += in[SM_PLANE_Y] * dz;
    out[SM_Z] += in[SM_PLANE_AREA] * z * dz;
    out[SM_XX] += in[SM_PLANE_XX] * dz;
    out[SM_YY] += in[SM_PLANE_YY] * dz;
    out[SM_ZZ] += in[SM_PLANE_AREA] * z2 * dz;
    out[SM_XY] += in[SM_PLANE_XY] * dz;
    out[SM_XZ] += in[SM_PLANE_X] * z * dz;
    out[SM_YZ] += in[SM_PLANE_Y] * z * dz;
}

/* ---- along the axis ---- */

/* Eight-point Gauss over the angle by which a front that comes round the end of a splice has swung. The places are crowded
 * towards both ends by t -> t^2 (3 - 2 t), which takes out the roots there, of fronts about to touch. */
enum { POINTS = 8 };
static const double gauss_place[POINTS] = {0.0198550717512319, 0.1016667612931866, 0.2372337950418355,
                                           0.4082826787521751, 0.5917173212478249, 0.7627662049581645,
                                           0.8983332387068134, 0.9801449282487681};
static const double gauss_share[POINTS] = {0.0506142681451881, 0.1111905172266872, 0.1568533229389437,
                                           0.1813418916891810, 0.1813418916891810, 0.1568533229389437,
                                           0.1111905172266872, 0.0506142681451881};

/* Is every part, and what ends it, of a void that has burned by all of w? */
static bool is_even(const struct cut *c, const struct sm_parts *parts)
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

/* Beyond the end of a splice its front leans by w / q, q = w cos(phi) where w sin(phi) is the way from that end. */
struct swing {
    double edge, side; /* end of the splice [m]; 1 if z runs away from it, -1 if towards it */
    double from, to;   /* phi at both ends of the stretch [rad] */
};

static double swing_angle(const struct cut *c, const struct swing *s, double z)
{
    return asin(fmin(fmax(s->side * (z - s->edge) / c->w, 0.0), 1.0));
}

/* That of the splice which has burned least far somewhere between a and b. At least one has burned by less than all of w. */
static struct swing find_swing(const struct cut *c, double a, double b)
{
    const struct sm_spliced *grain = c->slicer->grain;
    struct swing best = {a, 1.0, 0.0, 0.0};
    double most = -1.0;
    for (size_t i = 0; i < grain->n; i++) {
        const struct sm_splice *splice = &grain->items[i];
        const double middle = 0.5 * (a + b), side = middle > splice->z1 ? 1.0 : -1.0;
        const struct swing s = {side > 0.0 ? splice->z1 : splice->z0, side, 0.0, 0.0};
        const double off = side * ((side > 0.0 ? b : a) - s.edge);
        if (c->q[i] < 0.0 || c->q[i] == c->w || off <= most)
            continue;
        most = off;
        best = s;
    }
    best.from = swing_angle(c, &best, a);
    best.to = swing_angle(c, &best, b);
    return best;
}

static void add_slice(struct cut *c, const struct sm_parts *parts, double z, double dz)
{
    struct plane plane;
    set_reach(c, z);
    sum_slice(c, parts, &plane);
    add_slab(plane.left, z, z * z, dz, c->out->value);
    add_slab(plane.front, z, z * z, -dz, c->out->slope);
}

static void integrate_by_angle(struct cut *c, double a, double b, const struct sm_parts *parts)
{
    const struct swing swing = find_swing(c, a, b);
    for (int k = 0; k < POINTS; k++) {
        const double t = gauss_place[k], all = swing.to - swing.from;
        const double phi = swing.from + all * t * t * (3.0 - 2.0 * t);
        add_slice(c, parts, swing.edge + swing.side * c->w * sin(phi),
                  gauss_share[k] * 6.0 * t * (1.0 - t) * all * swing.side * c->w * cos(phi));
    }
}

static void integrate_by_way(struct cut *c, double a, double b, const struct sm_parts *parts)
{
    for (int k = 0; k < POINTS; k++) {
        const double t = gauss_place[k];
        add_slice(c, parts, a + (b - a) * t * t * (3.0 - 2.0 * t),
                  gauss_share[k] * (b - a) * 6.0 * t * (1.0 - t));
    }
}

static void integrate(struct cut *c, double a, double b, const struct sm_parts *parts)
{
    struct plane plane;
    set_reach(c, 0.5 * (a + b));
    if (is_even(c, parts)) { /* all slices are the same */
        const double z = 0.5 * (a + b), z2 = (a * a + a * b + b * b) / 3.0;
        sum_once(c, parts, &plane);
        add_slab(plane.left, z, z2, b - a, c->out->value);
        add_slab(plane.front, z, z2, a - b, c->out->slope);
        return;
    }
    if (c->slicer->grain->n == 2) /* of more, several may have burned unequally far */
        integrate_by_angle(c, a, b, parts);
    else
        integrate_by_way(c, a, b, parts);
}

/* Length of a part at z, negative once its ends have passed each other. */
static double part_length(struct cut *c, const struct sm_part *part, double z)
{
    const struct sm_fronts *fronts = &c->slicer->fronts;
    const struct sm_front *f = &fronts->items[part->front];
    struct sm_point p[2];
    set_reach(c, z);
    sm_part_ends(fronts, part, 1.0, p);
    if (!f->is_arc)
        return (p[1].x - p[0].x) * f->u.x + (p[1].y - p[0].y) * f->u.y;
    const struct sm_point d0 = {p[0].x - f->base.x, p[0].y - f->base.y};
    const struct sm_point d1 = {p[1].x - f->base.x, p[1].y - f->base.y};
    return sm_front_radius(f, 1.0) * sm_part_sweep(d0, d1);
}

static bool is_in(const struct sm_parts *parts, const struct sm_part *part)
{
    struct sm_part copy = *part;
    const struct sm_parts one = {.items = &copy, .n = 1};
    for (int k = 0; k < parts->n; k++) {
        const struct sm_parts other = {.items = &parts->items[k], .n = 1};
        if (sm_parts_alike(&one, &other))
            return true;
    }
    return false;
}

/* What passes through zero where a part comes or goes: its length, or by how much its element crosses the one that ends it. */
struct sign {
    const struct sm_part *part;
    int other; /* SM_OWN_END: the length is meant */
};

static double sign_at(struct cut *c, const struct sign *sign, double z)
{
    if (sign->other == SM_OWN_END)
        return part_length(c, sign->part, z);
    set_reach(c, z);
    return sm_front_overlap(&c->slicer->fronts, sign->part->front, sign->other, 1.0);
}

/* Where it does between a and b, by false position; NaN if it has one sign. */
static double find_sign(struct cut *c, const struct sign *sign, double a, double b)
{
    enum { STEPS = 40 };
    const double near = 1e-3 * NARROWEST * c->slicer->grain->radius;
    const double fa = sign_at(c, sign, a), fb = sign_at(c, sign, b);
    struct sm_chord chord = {a, fa, b, fb};
    if (!(fa * fb < 0.0))
        return SM_NAN;
    for (int i = 0; i < STEPS && fabs(chord.b - chord.a) > near; i++) {
        const double z = sm_chord_next(&chord);
        sm_chord_take(&chord, z, sign_at(c, sign, z));
    }
    return chord.b;
}

/* Where between a and b a part that only one of two make-ups has comes or goes, by its length or by what it crosses; NaN if that
 * can't be told. */
static double find_change(struct cut *c, double a, double b, const struct sm_parts *has,
                          const struct sm_parts *lacks, bool by_length)
{
    for (int k = 0; k < has->n; k++) {
        const struct sm_part *part = &has->items[k];
        if (is_in(lacks, part))
            continue;
        const struct sign signs[3] = {{part, SM_OWN_END}, {part, part->from.other}, {part, part->to.other}};
        for (int i = by_length ? 0 : 1; i < (by_length ? 1 : 3); i++) {
            const double z = i == 0 || signs[i].other >= 0 ? find_sign(c, &signs[i], a, b) : SM_NAN;
            if (!isnan(z))
                return z;
        }
    }
    return SM_NAN;
}

/* The same whichever make-up has it; the middle if that can't be told. */
static double guess_change(struct cut *c, double a, const struct sm_parts *at_a, double b,
                           const struct sm_parts *at_b)
{
    double z = SM_NAN;
    for (int way = 0; way < 4 && isnan(z); way++)
        z = way % 2 == 0 ? find_change(c, a, b, at_a, at_b, way < 2)
                         : find_change(c, a, b, at_b, at_a, way < 2);
    return isnan(z) ? 0.5 * (a + b) : z;
}

/* Integrates from a to b, given the make-ups just inside; cut where they change. */
static enum sm_status stretch(struct cut *c, double a, const struct sm_parts *at_a, double b,
                              const struct sm_parts *at_b, int depth)
{
    enum { DEEPEST = 40 };
    const double beside = 0.1 * NARROWEST * c->slicer->grain->radius;
    if (sm_parts_alike(at_a, at_b)) {
        integrate(c, a, b, at_a);
        return SM_OK;
    }
    if (b - a < 4.0 * beside || depth > DEEPEST) {
        integrate(c, a, 0.5 * (a + b), at_a);
        integrate(c, 0.5 * (a + b), b, at_b);
        return SM_OK;
    }
    double middle = guess_change(c, a, at_a, b, at_b);
    middle = fmin(fmax(middle, a + 2.0 * beside), b - 2.0 * beside);
    struct sm_parts before, after;
    SM_TRY(trim_slice(c, middle - beside, &before));
    SM_TRY(trim_slice(c, middle + beside, &after));
    SM_TRY(stretch(c, a, at_a, middle, &before, depth + 1));
    return stretch(c, middle, &after, b, at_b, depth + 1);
}

/* How far inside a stretch that is so long [m] its make-up is looked at, from its end at z. */
static double inset_at(const struct cut *c, double z, double length)
{
    const struct sm_spliced *grain = c->slicer->grain;
    double share = INSET;
    for (size_t i = 0; i < grain->n && grain->n == 2; i++)
        if (z == grain->items[i].z0 - c->w || z == grain->items[i].z1 + c->w)
            share = INSET_AT_REACH;
    return fmin(share * grain->radius, 1e-3 * length);
}

static enum sm_status between(struct cut *c, double a, double b)
{
    struct sm_parts first, middle, last;
    SM_TRY(trim_slice(c, a + inset_at(c, a, b - a), &first));
    SM_TRY(trim_slice(c, b - inset_at(c, b, b - a), &last));
    SM_TRY(trim_slice(c, 0.5 * (a + b), &middle));
    if (sm_parts_alike(&first, &middle) && sm_parts_alike(&middle, &last)) {
        integrate(c, a, b, &middle);
        return SM_OK;
    }
    SM_TRY(stretch(c, a, &first, 0.5 * (a + b), &middle, 0));
    return stretch(c, 0.5 * (a + b), &middle, b, &last, 0);
}

/* ---- flat fronts ---- */

static enum sm_status left_at(struct cut *c, double z, struct plane *out)
{
    struct sm_parts parts;
    SM_TRY(trim_slice(c, z, &parts));
    sum_once(c, &parts, out);
    return SM_OK;
}

/* A burning end: all propellant in the plane it has come to. */
static enum sm_status add_end(struct cut *c, double z)
{
    struct plane plane;
    SM_TRY(left_at(c, z, &plane));
    add_slab(plane.left, z, z * z, -1.0, c->out->slope);
    return SM_OK;
}

/* The flat front before splice i, that far beyond its end: its own outline less what the others have burned there. */
static enum sm_status add_cap(struct cut *c, int i, double z, double z_low, double z_high)
{
    if (!(z > z_low && z < z_high))
        return SM_OK;
    struct plane with, without;
    c->without = i;
    SM_TRY(left_at(c, z, &without));
    c->without = -1;
    SM_TRY(left_at(c, z, &with));
    for (int k = 0; k < SM_N_PLANAR; k++)
        without.left[k] -= with.left[k];
    add_slab(without.left, z, z * z, -1.0, c->out->slope);
    return SM_OK;
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static enum sm_status run(struct cut *c)
{
    const struct sm_slicer *s = c->slicer;
    const struct sm_spliced *grain = s->grain;
    const double low = s->fore * c->w, high = s->length - s->aft * c->w, near = 1e-9 * grain->radius;
    double *z = sm_arena_alloc(&c->scratch, 4 * grain->n + 2, sizeof *z);
    if (!z)
        return sm_fail(c->err, SM_E_NOMEM, "out of memory");
    size_t n = 0;
    z[n++] = low;
    z[n++] = high;
    for (size_t i = 0; i < grain->n; i++) {
        const double at[4] = {grain->items[i].z0, grain->items[i].z1, grain->items[i].z0 - c->w,
                              grain->items[i].z1 + c->w};
        for (int k = 0; k < 4; k++)
            z[n++] = fmin(fmax(at[k], low), high);
    }
    qsort(z, n, sizeof *z, rising);
    for (size_t i = 0; i + 1 < n; i++)
        if (z[i + 1] - z[i] > near)
            SM_TRY(between(c, z[i], z[i + 1]));
    if (s->fore > 0.0)
        SM_TRY(add_end(c, low));
    if (s->aft > 0.0)
        SM_TRY(add_end(c, high));
    for (size_t i = 0; i < grain->n; i++) {
        SM_TRY(add_cap(c, (int)i, grain->items[i].z0 - c->w, low, high));
        SM_TRY(add_cap(c, (int)i, grain->items[i].z1 + c->w, low, high));
    }
    return SM_OK;
}

static enum sm_status start(struct cut *c)
{
    SM_TRY(sm_trimmer_init(&c->trimmer, &c->slicer->fronts, &c->scratch, c->err));
    c->trimmer.owner = c->slicer->owner;
    c->trimmer.is_void = is_void;
    c->trimmer.user = c;
    c->q = sm_arena_alloc(&c->scratch, c->slicer->grain->n, sizeof *c->q);
    return c->q ? SM_OK : sm_fail(c->err, SM_E_NOMEM, "out of memory");
}

static enum sm_status measure(struct cut *c, double z, double *left, double *perimeter)
{
    const struct sm_slicer *s = c->slicer;
    struct sm_parts parts;
    double sums[2][SM_N_PLANAR] = {{0.0}};
    SM_TRY(start(c));
    SM_TRY(trim_slice(c, z, &parts));
    for (int k = 0; k < parts.n; k++) {
        double front[SM_N_PLANAR], rest[SM_N_PLANAR];
        sm_planar_part(&s->fronts, &parts.items[k], 1.0, front, rest);
        for (int i = 0; i < SM_N_PLANAR; i++) {
            sums[0][i] += rest[i];
            sums[1][i] += front[i];
        }
    }
    for (int i = 0; i < 2; i++)
        sm_planar_unfold(s->grain->sectors, sums[i]);
    *left = sums[0][SM_PLANE_AREA];
    *perimeter = sums[1][SM_PLANE_AREA];
    return SM_OK;
}

enum sm_status sm_slicer_slice(struct sm_slicer *slicer, double w, double z, double *left, double *perimeter,
                               struct sm_error *err)
{
    struct cut c = {
        .slicer = slicer, .w = fmax(w, SOONEST * slicer->grain->radius), .without = -1, .err = err};
    sm_arena_init(&c.scratch, slicer->allocator);
    const enum sm_status status = measure(&c, z, left, perimeter);
    sm_arena_release(&c.scratch);
    return status;
}

enum sm_status sm_slicer_knot(struct sm_slicer *slicer, double w, struct sm_geometry_knot *out,
                              struct sm_error *err)
{
    *out = (struct sm_geometry_knot){.w = w};
    const double least = SOONEST * slicer->grain->radius;
    struct cut c = {.slicer = slicer, .w = fmax(w, least), .without = -1, .out = out, .err = err};
    if (slicer->length - (slicer->fore + slicer->aft) * c.w <= 0.0)
        return SM_OK;
    sm_arena_init(&c.scratch, slicer->allocator);
    enum sm_status status = start(&c);
    if (status == SM_OK)
        status = run(&c);
    for (int i = 0; i < SM_N_INTEGRALS; i++) /* back from the soonest to w itself */
        out->value[i] -= (c.w - w) * out->slope[i];
    sm_arena_release(&c.scratch);
    return status;
}
