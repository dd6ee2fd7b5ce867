#include <math.h>
#include <string.h>

#include "grain/shape.h"
#include "grain/slicing.h"

/* Share of the farthest way along the axis at which a splice's front is looked at where it has just come into reach: corners have
 * made arcs there that can be told from none. */
static const double WITHIN_REACH = 1.0 - 1e-14;

/* Gauss points along a piece of one make-up. Some slices change so soon after an event that fewer would err by more than 1e-5 of the
 * first area; mostly it is 1e-8. Short pieces of the angle weigh less. */
static const int points[SM_SLICE_RULES] = {10, 6, 4};

/* ---- making one ---- */

/* No point of an element as it was at first is farther from the axis. [m] */
static double farthest(const struct sm_front *f)
{
    const struct sm_point end = {f->base.x + f->extent * f->u.x, f->base.y + f->extent * f->u.y};
    const double start = hypot(f->base.x, f->base.y);
    return f->is_arc ? start + f->radius : fmax(start, hypot(end.x, end.y));
}

static void append_fronts(struct sm_slicer *s, const struct sm_fronts *from, int splice)
{
    const int base = s->fronts.n_burning;
    s->far[splice] = 0.0;
    for (int i = 0; i < from->n_burning; i++) {
        struct sm_front f = from->items[i];
        int *links[4] = {&f.before, &f.after, &f.corner[0], &f.corner[1]};
        for (int k = 0; k < 4; k++)
            *links[k] += *links[k] >= 0 ? base : 0;
        s->far[splice] = fmax(s->far[splice], farthest(&f));
        s->owner[s->fronts.n_burning] = splice;
        s->fronts.items[s->fronts.n_burning++] = f;
    }
    s->first[splice + 1] = s->fronts.n_burning;
}

static enum sm_status join_fronts(struct sm_arena *arena, struct sm_slicer *s, struct sm_error *err)
{
    const struct sm_spliced *grain = s->grain;
    struct sm_fronts *each = sm_arena_alloc(arena, grain->n, sizeof *each);
    size_t n = 0;
    for (size_t i = 0; each && i < grain->n; i++) {
        const struct sm_section section = {
            .contour = grain->items[i].contour, .sectors = grain->sectors, .radius = grain->radius};
        SM_TRY(sm_section_fronts(arena, &section, &each[i], err));
        n += (size_t)each[i].n;
    }
    s->fronts.size = grain->radius;
    s->fronts.items = sm_arena_alloc(arena, n + 1, sizeof *s->fronts.items);
    s->owner = sm_arena_alloc(arena, n + 1, sizeof *s->owner);
    s->first = sm_arena_alloc(arena, grain->n + 1, sizeof *s->first);
    s->far = sm_arena_alloc(arena, grain->n + 1, sizeof *s->far);
    s->covers = sm_arena_alloc(arena, grain->n * grain->n, 1);
    if (!each || !s->fronts.items || !s->owner || !s->first || !s->far || !s->covers)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    memset(s->covers, -1, grain->n * grain->n);
    for (size_t i = 0; i < grain->n; i++)
        append_fronts(s, &each[i], (int)i);
    const int n_walls = each[0].n_walls - each[0].n_burning, n_rims = each[0].n - each[0].n_walls;
    memcpy(s->fronts.items + s->fronts.n_burning, each[0].items + each[0].n_burning,
           (size_t)(n_walls + n_rims) * sizeof *each[0].items);
    s->fronts.n_walls = s->fronts.n_burning + n_walls;
    s->fronts.n = s->fronts.n_walls + n_rims;
    return SM_OK;
}

enum sm_status sm_slicer_init(struct sm_arena *arena, const struct sm_spliced *grain, struct sm_slicer *out,
                              struct sm_error *err)
{
    *out = (struct sm_slicer){.grain = grain,
                              .set = sm_lane_set_best(),
                              .allocator = arena->allocator,
                              .length = grain->items[grain->n - 1].z1};
    out->fore = grain->burning & SM_FACE_FORE_END ? 1.0 : 0.0;
    out->aft = grain->burning & SM_FACE_AFT_END ? 1.0 : 0.0;
    for (int i = 0; i < SM_SLICE_RULES; i++)
        if (sm_gauss_make(points[i], &out->gauss[i]) != SM_OK)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(join_fronts(arena, out, err));
    out->room = 16 * out->fronts.n;
    out->kept.items = sm_arena_alloc(arena, (size_t)out->room, sizeof *out->kept.items);
    if (!out->kept.items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    return sm_slice_list_corners(arena, out, err);
}

/* ---- asking it ---- */

static enum sm_status measure(struct sm_slicing *c, double z, double *left, double *perimeter)
{
    const struct sm_slicer *s = c->slicer;
    struct sm_parts parts;
    double sums[2][SM_N_PLANAR] = {{0.0}};
    SM_TRY(sm_slicing_trim(c, z, &parts));
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
    struct sm_slicing c;
    enum sm_status status = sm_slicing_start(slicer, fmax(w, SM_SOONEST * slicer->grain->radius), &c, err);
    if (status == SM_OK)
        status = measure(&c, z, left, perimeter);
    sm_slicing_release(&c);
    return status;
}

enum sm_status sm_slicer_knot(struct sm_slicer *slicer, double w, struct sm_geometry_knot *out,
                              struct sm_error *err)
{
    *out = (struct sm_geometry_knot){.w = w};
    const double at = fmax(w, SM_SOONEST * slicer->grain->radius);
    if (slicer->length - (slicer->fore + slicer->aft) * at <= 0.0)
        return SM_OK;
    struct sm_slicing c;
    struct sm_slice_course course;
    enum sm_status status = sm_slicing_start(slicer, at, &c, err);
    if (status == SM_OK)
        status = sm_slicing_course(&c, &course);
    if (status == SM_OK)
        status = sm_slicing_integrate(&c, &course, out);
    for (int i = 0; i < SM_N_INTEGRALS; i++) /* back from the soonest to w itself */
        out->value[i] -= (at - w) * out->slope[i];
    sm_slicing_release(&c);
    return status;
}

enum sm_status sm_slicer_is_left(struct sm_slicer *slicer, double w, bool *out, struct sm_error *err)
{
    struct sm_slicing c;
    *out = false;
    if (slicer->length - (slicer->fore + slicer->aft) * w <= 0.0)
        return SM_OK;
    enum sm_status status = sm_slicing_start(slicer, w, &c, err);
    if (status == SM_OK)
        status = sm_slicing_is_left(&c, out);
    sm_slicing_release(&c);
    return status;
}

/* ---- kinks ---- */

struct finder {
    struct sm_slicing slicing;
    struct sm_arena *arena;
    double *kinks; /* [m] */
    size_t n, room;
};

static enum sm_status add_kink(struct finder *f, double w)
{
    double *wider = sm_arena_grow(f->arena, f->kinks, f->n, &f->room, f->n + 1, sizeof *wider);
    if (!wider)
        return sm_fail(f->slicing.err, SM_E_NOMEM, "out of memory");
    f->kinks = wider;
    f->kinks[f->n++] = w;
    return SM_OK;
}

/* Are the slices at two distances burned one splice's section, burned by all of that? The events of sections are known. */
static enum sm_status is_plain(struct sm_slicing *c, double first, double last, bool *out)
{
    const struct sm_slicer *s = c->slicer;
    const double way = 1e-3 * (last - first);
    *out = true;
    for (int end = 0; end < 2 && *out; end++) {
        struct sm_parts parts;
        SM_TRY(sm_slicing_trim(c, end == 0 ? first + way : last - way, &parts));
        *out = parts.n_burning > 0 && sm_slicing_is_even(c, &parts);
        for (int k = 1; k < parts.n_burning && *out; k++)
            *out = s->owner[parts.items[k].front] == s->owner[parts.items[0].front];
    }
    return SM_OK;
}

/* Between each two breaks, while the way lies in what is left of the grain's length. */
static enum sm_status follow(struct finder *f, struct sm_slice_way way, const double *breaks, size_t n)
{
    const struct sm_slicer *s = f->slicing.slicer;
    const double slack = 1e-12 * s->length;
    f->slicing.way = way;
    for (size_t k = 0; k + 1 < n; k++) {
        const double middle = 0.5 * (breaks[k] + breaks[k + 1]), z = way.z + way.slope * middle;
        struct sm_slice_pieces pieces = {.items = NULL};
        bool has_no_more;
        if (z < s->fore * middle - slack || z > s->length - s->aft * middle + slack)
            continue;
        SM_TRY(is_plain(&f->slicing, breaks[k], breaks[k + 1], &has_no_more));
        if (has_no_more)
            continue;
        struct sm_slice_stretch stretch = {.a = breaks[k], .b = breaks[k + 1]};
        SM_TRY(sm_slicing_find(&f->slicing, &stretch, 1, &pieces));
        for (int i = 0; i + 1 < pieces.n; i++)
            SM_TRY(add_kink(f, pieces.items[i].b));
    }
    return SM_OK;
}

/* From where splices i and i + 1 join: along the joint, and with the front of each into the other's length. Where one void holds the
 * other only its own front is seen. */
static enum sm_status follow_joint(struct finder *f, size_t i, const double *breaks, size_t n)
{
    const double z = f->slicing.slicer->grain->items[i].z1;
    bool holds_next, is_held;
    SM_TRY(sm_slicing_covers(&f->slicing, i, i + 1, &holds_next));
    SM_TRY(sm_slicing_covers(&f->slicing, i + 1, i, &is_held));
    if (!is_held)
        SM_TRY(follow(f, (struct sm_slice_way){true, z, WITHIN_REACH}, breaks, n));
    if (!holds_next)
        SM_TRY(follow(f, (struct sm_slice_way){true, z, -WITHIN_REACH}, breaks, n));
    if (!is_held && !holds_next)
        SM_TRY(follow(f, (struct sm_slice_way){true, z, 0.0}, breaks, n));
    return SM_OK;
}

/* At an end of the grain the splice there is all that is seen if it holds the others. */
static enum sm_status follow_end(struct finder *f, size_t i, struct sm_slice_way way, const double *breaks,
                                 size_t n)
{
    bool holds_all = true;
    for (size_t j = 0; j < f->slicing.slicer->grain->n && holds_all; j++)
        if (j != i)
            SM_TRY(sm_slicing_covers(&f->slicing, i, j, &holds_all));
    return holds_all ? SM_OK : follow(f, way, breaks, n);
}

static enum sm_status follow_all(struct finder *f, const double *breaks, size_t n)
{
    const struct sm_slicer *s = f->slicing.slicer;
    const size_t last = s->grain->n - 1;
    SM_TRY(follow_end(f, 0, (struct sm_slice_way){true, 0.0, s->fore}, breaks, n));
    SM_TRY(follow_end(f, last, (struct sm_slice_way){true, s->length, -s->aft}, breaks, n));
    for (size_t i = 0; i < last; i++)
        SM_TRY(follow_joint(f, i, breaks, n));
    return SM_OK;
}

enum sm_status sm_slicer_kinks(struct sm_slicer *slicer, struct sm_arena *arena, const double *breaks,
                               size_t n_breaks, double **kinks, size_t *n, struct sm_error *err)
{
    struct finder f = {.arena = arena};
    enum sm_status status = sm_slicing_start(slicer, 0.0, &f.slicing, err);
    if (status == SM_OK)
        status = follow_all(&f, breaks, n_breaks);
    sm_slicing_release(&f.slicing);
    *kinks = f.kinks;
    *n = f.n;
    return status;
}
