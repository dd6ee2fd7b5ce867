#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "grain/shape.h"
#include "grain/slicing.h"

/* A stretch of no account [share of the radius]. */
static const double NARROWEST = 1e-9;

/* Adds a slice of thickness dz at z, in which z^2 means the mean of z^2 over it. */
static void add_slab(const double in[SM_N_PLANAR], double z, double z2, double dz, double out[SM_N_INTEGRALS])
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

/* Beyond the end of a splice its front leans by w / q, q = w cos(phi) where w sin(phi) is the way from that end. */
struct swing {
    double edge, side; /* end of the splice [m]; 1 if z runs away from it, -1 if towards it */
    double from, to;   /* phi at both ends of the stretch [rad] */
};

static double swing_angle(const struct sm_slicing *c, const struct swing *s, double z)
{
    return asin(fmin(fmax(s->side * (z - s->edge) / c->w, 0.0), 1.0));
}

/* That of the splice which has burned least far somewhere between a and b. At least one has burned by less than all of w. */
static struct swing find_swing(const struct sm_slicing *c, double a, double b)
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

/* Gauss points over the angle by which a front that comes round the end of a splice has swung: over that its lean is even. The
 * places are crowded towards both ends by t -> t^2 (3 - 2 t), which takes out the roots there, of fronts about to touch. */
static void integrate_by_angle(struct sm_slicing *c, const struct sm_slice_piece *piece,
                               struct sm_geometry_knot *out)
{
    const struct swing swing = find_swing(c, piece->a, piece->b);
    const double all = swing.to - swing.from;
    const struct sm_gauss *gauss = &c->slicer->gauss;
    for (int k = 0; k < gauss->n; k++) {
        struct sm_plane plane;
        const double t = gauss->place[k], phi = swing.from + all * t * t * (3.0 - 2.0 * t);
        const double z = swing.edge + swing.side * c->w * sin(phi);
        const double dz = gauss->share[k] * 6.0 * t * (1.0 - t) * all * swing.side * c->w * cos(phi);
        sm_slicing_go(c, z);
        sm_slicing_sum(c, &piece->parts, &plane);
        add_slab(plane.left, z, z * z, dz, out->value);
        add_slab(plane.front, z, z * z, -dz, out->slope);
    }
}

static void integrate(struct sm_slicing *c, const struct sm_slice_piece *piece, struct sm_geometry_knot *out)
{
    const double a = piece->a, b = piece->b, z = 0.5 * (a + b), z2 = (a * a + a * b + b * b) / 3.0;
    if (!(b > a))
        return;
    sm_slicing_go(c, z);
    if (!sm_slicing_is_even(c, &piece->parts)) {
        integrate_by_angle(c, piece, out);
        return;
    }
    struct sm_plane plane; /* all slices are the same */
    sm_slicing_sum(c, &piece->parts, &plane);
    add_slab(plane.left, z, z2, b - a, out->value);
    add_slab(plane.front, z, z2, a - b, out->slope);
}

/* ---- pieces ---- */

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Places where the make-up may change for sure reasons: the grain's ends, those of splices and of their reach, and halfway
 * between two splices, where the other one of them has burned least. */
static enum sm_status find_places(struct sm_slicing *c, double low, double high, double **z, size_t *n)
{
    const struct sm_spliced *grain = c->slicer->grain;
    *z = sm_arena_alloc(&c->scratch, (4 + grain->n) * grain->n + 2, sizeof **z);
    if (!*z)
        return sm_fail(c->err, SM_E_NOMEM, "out of memory");
    double *at = *z;
    *at++ = low;
    *at++ = high;
    for (size_t i = 0; i < grain->n; i++) {
        const double z0 = grain->items[i].z0, z1 = grain->items[i].z1;
        const double own[4] = {z0, z1, z0 - c->w, z1 + c->w};
        for (int k = 0; k < 4; k++)
            *at++ = fmin(fmax(own[k], low), high);
        for (size_t j = i + 2; j < grain->n; j++)
            *at++ = fmin(fmax(0.5 * (z1 + grain->items[j].z0), low), high);
    }
    *n = (size_t)(at - *z);
    qsort(*z, *n, sizeof **z, rising);
    return SM_OK;
}

static enum sm_status find_pieces(struct sm_slicing *c, double low, double high, struct sm_slice_pieces *out)
{
    double *z = NULL;
    size_t n = 0;
    SM_TRY(find_places(c, low, high, &z, &n));
    for (size_t i = 0; i + 1 < n; i++)
        if (z[i + 1] - z[i] > NARROWEST * c->slicer->grain->radius)
            SM_TRY(sm_slicing_find(c, z[i], z[i + 1], (int)i, out));
    return SM_OK;
}

/* ---- flat fronts ---- */

static enum sm_status left_at(struct sm_slicing *c, double z, struct sm_plane *out)
{
    struct sm_parts parts;
    SM_TRY(sm_slicing_trim(c, z, &parts));
    sm_slicing_sum(c, &parts, out);
    return SM_OK;
}

/* A burning end: all propellant in the plane it has come to. */
static enum sm_status add_end(struct sm_slicing *c, double z, struct sm_geometry_knot *out)
{
    struct sm_plane plane;
    SM_TRY(left_at(c, z, &plane));
    add_slab(plane.left, z, z * z, -1.0, out->slope);
    return SM_OK;
}

/* The flat front before splice i, that far beyond its end: its own outline less what the others have burned there. */
static enum sm_status add_cap(struct sm_slicing *c, int i, double z, double low, double high,
                              struct sm_geometry_knot *out)
{
    if (!(z > low && z < high))
        return SM_OK;
    struct sm_plane with, without;
    c->without = i;
    const enum sm_status status = left_at(c, z, &without);
    c->without = -1;
    SM_TRY(status);
    SM_TRY(left_at(c, z, &with));
    for (int k = 0; k < SM_N_PLANAR; k++)
        without.left[k] -= with.left[k];
    add_slab(without.left, z, z * z, -1.0, out->slope);
    return SM_OK;
}

static enum sm_status add_flats(struct sm_slicing *c, double low, double high, struct sm_geometry_knot *out)
{
    const struct sm_slicer *s = c->slicer;
    if (s->fore > 0.0)
        SM_TRY(add_end(c, low, out));
    if (s->aft > 0.0)
        SM_TRY(add_end(c, high, out));
    for (size_t i = 0; i < s->grain->n; i++) {
        SM_TRY(add_cap(c, (int)i, s->grain->items[i].z0 - c->w, low, high, out));
        SM_TRY(add_cap(c, (int)i, s->grain->items[i].z1 + c->w, low, high, out));
    }
    return SM_OK;
}

enum sm_status sm_slicing_level(struct sm_slicing *c, struct sm_geometry_knot *out)
{
    const struct sm_slicer *s = c->slicer;
    const double low = s->fore * c->w, high = s->length - s->aft * c->w;
    struct sm_slice_pieces pieces = {.items = NULL};
    memset(out->value, 0, sizeof out->value);
    memset(out->slope, 0, sizeof out->slope);
    SM_TRY(find_pieces(c, low, high, &pieces));
    for (int k = 0; k < pieces.n; k++)
        integrate(c, &pieces.items[k], out);
    return add_flats(c, low, high, out);
}

enum sm_status sm_slicing_is_left(struct sm_slicing *c, bool *out)
{
    const struct sm_slicer *s = c->slicer;
    const double low = s->fore * c->w, high = s->length - s->aft * c->w;
    double *z = NULL;
    size_t n = 0;
    *out = false;
    SM_TRY(find_places(c, low, high, &z, &n));
    for (size_t i = 0; i + 1 < n && !*out; i++) {
        const double length = z[i + 1] - z[i];
        if (!(length > NARROWEST * s->grain->radius))
            continue;
        double places[3] = {0.5 * (z[i] + z[i + 1]), z[i] + sm_slicing_inset(c, z[i], length),
                            z[i + 1] - sm_slicing_inset(c, z[i + 1], length)};
        places[1] = z[i] == low ? low : places[1]; /* the last may be there, and no deeper */
        places[2] = z[i + 1] == high ? high : places[2];
        for (int k = 0; k < 3 && !*out; k++) {
            struct sm_parts parts;
            SM_TRY(sm_slicing_trim(c, places[k], &parts));
            *out = parts.n > 0;
        }
    }
    return SM_OK;
}
