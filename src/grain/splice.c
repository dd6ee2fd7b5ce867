#include "grain/splice.h"

#include <math.h>

#include "grain/shape.h"
#include "grain/slices.h"
#include "grain/table.h"

/* Share of the largest area by which a table may miss it. */
static const double TOLERANCE = 1e-5;

/* Share of an area by which it may change over that and still be taken as it is at the end. */
static const double SAME = 1e-7;
/* A stretch is looked at from so far inside its ends [share of the radius]: more than fronts are told apart by. */
static const double BESIDE = 4e-9;

struct source {
    struct sm_slicer slicer;
    const double *breaks;  /* ends of the stretches, once they are known [m] */
    enum sm_status status; /* the first that went wrong */
    struct sm_error *err;
};

static void look(struct source *s, double w, struct sm_geometry_knot *out)
{
    const enum sm_status status = sm_slicer_knot(&s->slicer, w, out, s->err);
    if (s->status == SM_OK)
        s->status = status;
}

/* At an end of a stretch, where the area may jump, what it comes to from inside: from two places next to it, as if the
 * area went like a root there, which leaves a smooth one as it is. */
static void spliced_knot(void *user, size_t k, double w, struct sm_geometry_knot *out)
{
    struct source *s = user;
    const double beside = BESIDE * s->slicer.grain->radius;
    const bool at_start = k > 0 && w - s->breaks[k] < beside, at_end = s->breaks[k + 1] - w < beside;
    if (!at_start && !at_end) {
        look(s, w, out);
        return;
    }
    struct sm_geometry_knot near, far;
    const double way = at_start ? beside : -beside, from = at_start ? s->breaks[k] : s->breaks[k + 1];
    look(s, from, out); /* its values are those of both sides */
    look(s, from + way, &near);
    if (fabs(near.slope[SM_VOLUME] - out->slope[SM_VOLUME]) <= SAME * fabs(near.slope[SM_VOLUME]))
        return; /* the same from both sides, or the break itself is on this one */
    look(s, from + 4.0 * way, &far);
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        out->slope[i] = 2.0 * near.slope[i] - far.slope[i];
}

static enum sm_status check(const struct sm_spliced *grain, struct sm_error *err)
{
    if (!(grain->burning & SM_FACE_BORE) || grain->burning & SM_FACE_OUTER)
        return sm_at(
            err,
            sm_fail(
                err, SM_E_GEOMETRY,
                "in this shape the bore must burn, and the outer face can't: fronts would go round edges of "
                "the fins, where straight lines are wrong"),
            "/burning");
    return SM_OK;
}

static double volume_at(struct source *s, double w)
{
    struct sm_geometry_knot knot;
    look(s, w, &knot);
    return knot.value[SM_VOLUME];
}

/* The web: where the volume first is nothing. Short splices burn out before their own section would. */
static double find_web(struct source *s, double limit, double whole)
{
    enum { STEPS = 45 };
    if (volume_at(s, limit * (1.0 - 1e-9)) > 1e-15 * whole)
        return limit;
    double some = 0.0, none = limit;
    for (int i = 0; i < STEPS; i++) {
        const double middle = 0.5 * (some + none);
        if (volume_at(s, middle) > 1e-15 * whole)
            some = middle;
        else
            none = middle;
    }
    return none;
}

static int insert(double *breaks, int n, double w, double web)
{
    if (!(w > 1e-9 * web && w < web * (1.0 - 1e-9)))
        return n;
    int k = n;
    for (; k > 0 && breaks[k - 1] > w; k--)
        breaks[k] = breaks[k - 1];
    breaks[k] = w;
    return n + 1;
}

/* Breaks where the sections of splices have theirs, and where fronts that run along the axis meet. */
static enum sm_status find_breaks(struct sm_arena *scratch, struct source *s, double whole, double **breaks,
                                  size_t *n, struct sm_error *err)
{
    const struct sm_spliced *grain = s->slicer.grain;
    struct sm_burning_section *each = sm_arena_alloc(scratch, grain->n, sizeof *each);
    double limit = 0.0;
    size_t room = 2 + 4 * grain->n * grain->n;
    for (size_t i = 0; each && i < grain->n; i++) {
        const struct sm_section section = {
            .contour = grain->items[i].contour, .sectors = grain->sectors, .radius = grain->radius};
        SM_TRY(sm_section_burn(scratch, &section, &each[i], err));
        limit = fmax(limit, each[i].stages.web);
        room += each[i].stages.n;
    }
    double *w = sm_arena_alloc(scratch, room, sizeof *w);
    if (!each || !w)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    const double ends = s->slicer.fore + s->slicer.aft;
    if (ends > 0.0)
        limit = fmin(limit, s->slicer.length / ends);
    const double web = find_web(s, limit, whole);
    int count = 0;
    w[count++] = 0.0;
    for (size_t i = 0; i < grain->n; i++) {
        for (size_t k = 0; k < each[i].stages.n; k++)
            count = insert(w, count, each[i].stages.items[k].w1, web);
        for (size_t j = i; j < grain->n;
             j++) { /* to an end that stands, or to a front that comes the other way */
            count = insert(w, count, grain->items[j].z1 - grain->items[i].z0, web);
            count = insert(w, count, 0.5 * (grain->items[j].z1 - grain->items[i].z0), web);
        }
    }
    w[count++] = web;
    size_t kept = 1; /* none twice */
    for (int i = 1; i < count; i++)
        if (w[i] - w[kept - 1] > 1e-9 * web)
            w[kept++] = w[i];
    w[kept - 1] = web;
    *breaks = w;
    *n = kept;
    return SM_OK;
}

static enum sm_status make_table(struct sm_arena *arena, struct sm_arena *scratch,
                                 const struct sm_spliced *grain, struct sm_geometry *out,
                                 struct sm_error *err)
{
    struct source s = {.err = err};
    SM_TRY(sm_slicer_init(scratch, grain, &s.slicer, err));
    const double circle = M_PI * grain->radius * grain->radius, length = s.slicer.length;
    double *breaks = NULL;
    size_t n = 0;
    SM_TRY(find_breaks(scratch, &s, circle * length, &breaks, &n, err));
    SM_TRY(s.status);
    s.breaks = breaks;
    const struct sm_section last = {
        .contour = grain->items[grain->n - 1].contour, .sectors = grain->sectors, .radius = grain->radius};
    struct sm_burning_section aft;
    double left = 0.0, perimeter;
    SM_TRY(sm_section_burn(scratch, &last, &aft, err));
    sm_planar_area(&aft.plans[0], 0.0, &left, &perimeter);
    *out =
        (struct sm_geometry){.length = length,
                             .outer_radius = grain->radius,
                             .envelope = circle * length,
                             .port_area = circle - left * (grain->sectors > 0 ? 2.0 * grain->sectors : 1.0)};
    const struct sm_table_source source = {.knot = spliced_knot,
                                           .user = &s,
                                           .has_no_bend = true,
                                           .breaks = breaks,
                                           .n_stretches = n - 1,
                                           .reach = fmax(grain->radius, length),
                                           .tolerance = TOLERANCE};
    SM_TRY(sm_table_build(arena, &source, out, err));
    return s.status;
}

enum sm_status sm_spliced_geometry(struct sm_arena *arena, const struct sm_spliced *grain,
                                   struct sm_geometry *out, struct sm_error *err)
{
    SM_TRY(check(grain, err));
    struct sm_arena scratch;
    sm_arena_init(&scratch, arena->allocator);
    const enum sm_status status = make_table(arena, &scratch, grain, out, err);
    sm_arena_release(&scratch);
    return status;
}
