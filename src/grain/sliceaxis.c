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

struct sm_slice_swing sm_slicing_swing(const struct sm_slicing *c, double a, double b)
{
    const struct sm_spliced *grain = c->slicer->grain;
    struct sm_slice_swing best = {a, 1.0};
    double most = -1.0;
    for (size_t i = 0; i < grain->n; i++) {
        const struct sm_splice *splice = &grain->items[i];
        const double middle = 0.5 * (a + b), side = middle > splice->z1 ? 1.0 : -1.0;
        const struct sm_slice_swing s = {side > 0.0 ? splice->z1 : splice->z0, side};
        const double off = side * ((side > 0.0 ? b : a) - s.edge);
        if (c->q[i] < 0.0 || c->q[i] == c->w || off <= most)
            continue;
        most = off;
        best = s;
    }
    return best;
}

/* Gauss points over the angle by which a front that comes round the end of a splice has swung: over that its lean is even. The
 * places are crowded towards both ends by t -> t^2 (3 - 2 t), which takes out the roots there, of fronts about to touch. */
static void integrate_by_angle(struct sm_slicing *c, const struct sm_slice_piece *piece,
                               struct sm_geometry_knot *out)
{
    const struct sm_slice_swing swing = sm_slicing_swing(c, piece->a, piece->b);
    const double from = sm_slice_swing_angle(swing.edge, swing.side, c->w, piece->a),
                 all = sm_slice_swing_angle(swing.edge, swing.side, c->w, piece->b) - from;
    const struct sm_gauss *gauss = &c->slicer->gauss[0];
    for (int k = 0; k < gauss->n; k++) {
        struct sm_plane plane;
        const double t = gauss->place[k], phi = from + all * t * t * (3.0 - 2.0 * t);
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

/* A border, and where it is now. */
struct place {
    struct sm_slice_border border;
    double z; /* [m] */
};

static int rising(const void *a, const void *b)
{
    const double x = ((const struct place *)a)->z, y = ((const struct place *)b)->z;
    return (x > y) - (x < y);
}

/* The grain's ends as they have burned. */
static void find_ends(const struct sm_slicing *c, struct sm_slice_border ends[2])
{
    const struct sm_slicer *s = c->slicer;
    ends[0] = (struct sm_slice_border){0.0, s->fore, 0};
    ends[1] = (struct sm_slice_border){s->length, -s->aft, 0};
}

static struct place place_within(const struct sm_slicing *c, struct sm_slice_border border)
{
    struct sm_slice_border ends[2];
    find_ends(c, ends);
    const double z = sm_slice_place(&border, c->w), low = sm_slice_place(&ends[0], c->w),
                 high = sm_slice_place(&ends[1], c->w);
    if (z > low && z < high)
        return (struct place){border, z};
    return z > low ? (struct place){ends[1], high} : (struct place){ends[0], low};
}

/* Places where the make-up may change for sure reasons: the grain's ends, those of splices and of their reach, and halfway
 * between two splices, where the other one of them has burned least. */
static enum sm_status find_places(struct sm_slicing *c, struct place **out, size_t *n)
{
    const struct sm_spliced *grain = c->slicer->grain;
    struct sm_slice_border ends[2];
    find_ends(c, ends);
    *out = sm_arena_alloc(&c->passing, (4 + grain->n) * grain->n + 2, sizeof **out);
    if (!*out)
        return sm_fail(c->err, SM_E_NOMEM, "out of memory");
    struct place *at = *out;
    for (int k = 0; k < 2; k++)
        *at++ = (struct place){ends[k], sm_slice_place(&ends[k], c->w)};
    for (size_t i = 0; i < grain->n; i++) {
        const double z0 = grain->items[i].z0, z1 = grain->items[i].z1;
        const struct sm_slice_border own[4] = {{z0, 0.0, 0}, {z1, 0.0, 0}, {z0, -1.0, 1}, {z1, 1.0, -1}};
        for (int k = 0; k < 4; k++)
            *at++ = place_within(c, own[k]);
        for (size_t j = i + 2; j < grain->n; j++)
            *at++ = place_within(c, (struct sm_slice_border){0.5 * (z1 + grain->items[j].z0), 0.0, 0});
    }
    *n = (size_t)(at - *out);
    qsort(*out, *n, sizeof **out, rising);
    return SM_OK;
}

enum sm_status sm_slicing_course(struct sm_slicing *c, struct sm_slice_course *out)
{
    struct place *at = NULL;
    size_t n = 0;
    int m = 0;
    *out = (struct sm_slice_course){.n = 0};
    SM_TRY(find_places(c, &at, &n));
    out->borders = sm_arena_alloc(&c->passing, n, sizeof *out->borders);
    struct sm_slice_stretch *stretches = sm_arena_alloc(&c->passing, n, sizeof *stretches);
    if (!out->borders || !stretches)
        return sm_fail(c->err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++)
        out->borders[i] = at[i].border;
    out->n = (int)n - 1;
    for (size_t i = 0; i + 1 < n; i++)
        if (at[i + 1].z - at[i].z > NARROWEST * c->slicer->grain->radius)
            stretches[m++] = (struct sm_slice_stretch){.a = at[i].z, .b = at[i + 1].z, .number = (int)i};
    return sm_slicing_find(c, stretches, m, &out->pieces);
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

enum sm_status sm_slicing_integrate(struct sm_slicing *c, const struct sm_slice_course *course,
                                    struct sm_geometry_knot *out)
{
    const struct sm_slicer *s = c->slicer;
    memset(out->value, 0, sizeof out->value);
    memset(out->slope, 0, sizeof out->slope);
    for (int k = 0; k < course->pieces.n; k++)
        integrate(c, &course->pieces.items[k], out);
    return add_flats(c, s->fore * c->w, s->length - s->aft * c->w, out);
}

/* Stretches in which something is left, between looks at which there was nothing. */
struct seen {
    double ends[SM_MOST_SEEN][2]; /* [m] */
    int n;
};

/* Looks from a to b; what is beyond the room joins the last. */
static void look_for_left(const struct sm_slicing *c, double a, double b, struct seen *out)
{
    enum { LOOKS = 64 };
    double z[LOOKS];
    uint64_t marks[LOOKS];
    for (int k = 0; k < LOOKS; k++)
        z[k] = k + 1 == LOOKS ? b : a + (0.5 - 0.5 * cos(M_PI * k / (LOOKS - 1))) * (b - a);
    sm_slicing_marks(c, z, LOOKS, marks);
    for (int k = 0; k < LOOKS; k++) {
        const double end = z[k + 1 < LOOKS ? k + 1 : k];
        if (marks[k] == 0)
            continue;
        if ((k > 0 && marks[k - 1] != 0) || out->n == SM_MOST_SEEN) {
            out->ends[out->n - 1][1] = end;
            continue;
        }
        out->ends[out->n][0] = z[k > 0 ? k - 1 : 0];
        out->ends[out->n++][1] = end;
    }
}

/* All along the grain. At its very ends the last may be there, and no deeper. */
static enum sm_status look_everywhere(struct sm_slicing *c, double low, double high, struct seen *out)
{
    struct place *at = NULL;
    size_t n = 0;
    SM_TRY(find_places(c, &at, &n));
    for (size_t i = 0; i + 1 < n; i++) {
        const double a = at[i].z, b = at[i + 1].z;
        if (b - a > NARROWEST * c->slicer->grain->radius)
            look_for_left(c, a == low ? a : a + sm_slicing_inset(c, a, b - a),
                          b == high ? b : b - sm_slicing_inset(c, b, b - a), out);
    }
    return SM_OK;
}

/* What is left is where something was left when less had burned, so that is looked at first, and the closer the smaller it gets. */
enum sm_status sm_slicing_is_left(struct sm_slicing *c, bool *out)
{
    struct sm_slicer *s = c->slicer;
    const double low = s->fore * c->w, high = s->length - s->aft * c->w;
    struct seen seen = {.n = 0};
    for (int k = 0; k < s->n_seen; k++) {
        const double from = fmax(s->seen[k][0], low), to = fmin(s->seen[k][1], high);
        if (from < to)
            look_for_left(c, from, to, &seen);
    }
    if (seen.n == 0)
        SM_TRY(look_everywhere(c, low, high, &seen));
    *out = seen.n > 0;
    if (*out) {
        s->n_seen = seen.n;
        memcpy(s->seen, seen.ends, sizeof s->seen);
    }
    return SM_OK;
}
