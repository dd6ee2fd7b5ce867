#include "grain/splice.h"

#include <math.h>
#include <string.h>

#include "grain/shape.h"
#include "grain/slices.h"
#include "grain/table.h"

/* Share of an area by which it may change over that and still be taken as it is at the end. */
static const double SAME = 1e-7;
/* A stretch is looked at from so far inside its ends [share of the radius]: more than fronts are told apart by. */
static const double BESIDE = 4e-9;
/* Kinks this near to an event are that event [share of the web]. */
static const double MERGED = 1e-7;
/* Of the area, as a share of the largest. */
static const double ACCURACY = 1e-5;

enum { MOST_LOOKS = 64 };

struct source {
    struct sm_slicer slicer;
    const double *breaks; /* ends of the stretches, once they are known [m] */
    size_t n_stretches;
    struct sm_geometry_knot looks[MOST_LOOKS]; /* the last ones, in a ring */
    int n_looks;
    enum sm_status status; /* the first that went wrong */
    struct sm_error *err;
};

static bool is_looked_at(const struct source *s, double w, struct sm_geometry_knot *out)
{
    for (int k = 0; k < s->n_looks && k < MOST_LOOKS; k++)
        if (s->looks[k].w == w) {
            *out = s->looks[k];
            return true;
        }
    return false;
}

/* At n places, rising, all at once. */
static void look_ahead(struct source *s, const double *w, size_t n)
{
    struct sm_geometry_knot knots[MOST_LOOKS];
    const enum sm_status status = sm_slicer_knots(&s->slicer, w, n, knots, s->err);
    if (s->status == SM_OK)
        s->status = status;
    for (size_t i = 0; i < n && status == SM_OK; i++)
        s->looks[s->n_looks++ % MOST_LOOKS] = knots[i];
}

/* At w, but not twice in a row. */
static void look(struct source *s, double w, struct sm_geometry_knot *out)
{
    if (is_looked_at(s, w, out))
        return;
    *out = (struct sm_geometry_knot){.w = w};
    look_ahead(s, &w, 1);
    if (s->status == SM_OK)
        is_looked_at(s, w, out);
}

/* At a place next to an event, and at one four times as far from it, which may be wanted too. */
static void look_beside(struct source *s, double event, double way, struct sm_geometry_knot *out)
{
    const double near = event + way, far = event + 4.0 * way;
    const double both[2] = {fmin(near, far), fmax(near, far)};
    if (!is_looked_at(s, near, out))
        look_ahead(s, both, 2);
    look(s, near, out);
}

/* At an end of a stretch, where the area may jump, what it comes to from inside: from places next to it, since on the event itself
 * slices may have no make-up that lasts. Values are those of both sides. A slope that differs is that of two places inside, as if
 * the area went like a root there, which leaves a smooth one as it is. */
static void look_inside(struct source *s, double from, bool at_start, struct sm_geometry_knot *out)
{
    const double beside = BESIDE * s->slicer.grain->radius, way = at_start ? beside : -beside;
    struct sm_geometry_knot near, far, other;
    look_beside(s, from, way, &near);
    look_beside(s, from, -way, &other);
    *out = near;
    out->w = from;
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        out->value[i] = 0.5 * (near.value[i] + other.value[i] - way * (near.slope[i] - other.slope[i]));
    if (fabs(near.slope[SM_VOLUME] - other.slope[SM_VOLUME]) <= SAME * fabs(near.slope[SM_VOLUME]))
        return;
    look(s, from + 4.0 * way, &far);
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        out->slope[i] = 2.0 * near.slope[i] - far.slope[i];
}

/* At the web nothing is left. */
static void look_at_web(struct source *s, double web, struct sm_geometry_knot *out)
{
    look_inside(s, web, false, out);
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        out->value[i] = 0.0;
}

/* Those well inside the stretch. */
static void spliced_prepare(void *user, size_t k, const double *w, size_t n)
{
    struct source *s = user;
    const double beside = BESIDE * s->slicer.grain->radius;
    double inside[MOST_LOOKS] = {0.0};
    struct sm_geometry_knot known;
    size_t m = 0;
    for (size_t i = 0; i < n && m < MOST_LOOKS; i++)
        if (w[i] - s->breaks[k] >= beside && s->breaks[k + 1] - w[i] >= beside &&
            !is_looked_at(s, w[i], &known))
            inside[m++] = w[i];
    look_ahead(s, inside, m);
}

static void spliced_knot(void *user, size_t k, double w, struct sm_geometry_knot *out)
{
    struct source *s = user;
    const double beside = BESIDE * s->slicer.grain->radius;
    const bool at_start = k > 0 && w - s->breaks[k] < beside, at_end = s->breaks[k + 1] - w < beside;
    if (!at_start && !at_end)
        look(s, w, out);
    else if (at_end && k + 1 == s->n_stretches)
        look_at_web(s, s->breaks[k + 1], out);
    else
        look_inside(s, at_start ? s->breaks[k] : s->breaks[k + 1], at_start, out);
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

/* ---- breaks ---- */

struct breaks {
    double *w; /* rising, from 0 [m] */
    size_t n;
    double limit; /* beyond which nothing can be left [m] */
};

/* Puts w among the breaks unless it is as near as that to one of them. */
static void insert(struct breaks *b, double w, double near)
{
    if (!(w > near && w < b->limit - near))
        return;
    size_t k = b->n;
    while (k > 0 && b->w[k - 1] > w)
        k--;
    if ((k > 0 && w - b->w[k - 1] <= near) || (k < b->n && b->w[k] - w <= near))
        return;
    for (size_t i = b->n++; i > k; i--)
        b->w[i] = b->w[i - 1];
    b->w[k] = w;
}

static bool is_left(struct source *s, double w)
{
    bool is = false;
    const enum sm_status status = sm_slicer_is_left(&s->slicer, w, &is, s->err);
    if (s->status == SM_OK)
        s->status = status;
    return is;
}

/* The web: from where on nothing is left, mostly a break. Short splices burn out before their own section would. */
static double find_web(struct source *s, const struct breaks *b)
{
    enum { STEPS = 45 };
    const double beside = 1e-9 * b->limit;
    if (is_left(s, b->limit - beside))
        return b->limit;
    size_t k = 0, last = b->n - 1;
    while (last - k > 1) {
        const size_t middle = (k + last) / 2;
        if (is_left(s, b->w[middle] + beside))
            k = middle;
        else
            last = middle;
    }
    double some = b->w[k], none = b->w[last];
    if (is_left(s, none - beside))
        return none;
    for (int i = 0; i < STEPS; i++) {
        const double middle = 0.5 * (some + none);
        if (is_left(s, middle))
            some = middle;
        else
            none = middle;
    }
    return none;
}

/* Each splice's section by itself, and beyond which distance burned none of them has anything left. */
static enum sm_status burn_sections(struct sm_arena *scratch, const struct source *s,
                                    struct sm_burning_section *each, struct breaks *b, struct sm_error *err)
{
    const struct sm_spliced *grain = s->slicer.grain;
    const double ends = s->slicer.fore + s->slicer.aft;
    size_t room = 2 + 2 * grain->n * grain->n;
    for (size_t i = 0; i < grain->n; i++) {
        const struct sm_section section = {
            .contour = grain->items[i].contour, .sectors = grain->sectors, .radius = grain->radius};
        SM_TRY(sm_section_burn(scratch, &section, &each[i], err));
        b->limit = fmax(b->limit, each[i].stages.web);
        room += each[i].stages.n;
    }
    if (ends > 0.0)
        b->limit = fmin(b->limit, s->slicer.length / ends);
    b->w = sm_arena_alloc(scratch, room, sizeof *b->w);
    return b->w ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

/* Breaks where the sections of splices have theirs, and where fronts that run along the axis meet: ends that stand, or fronts that
 * come the other way. */
static void list_events(const struct sm_spliced *grain, const struct sm_burning_section *each,
                        struct breaks *b)
{
    const double near = 1e-9 * b->limit;
    b->w[b->n++] = 0.0;
    b->w[b->n++] = b->limit;
    for (size_t i = 0; i < grain->n; i++) {
        for (size_t k = 0; k < each[i].stages.n; k++)
            insert(b, each[i].stages.items[k].w1, near);
        for (size_t j = i; j < grain->n; j++) {
            insert(b, grain->items[j].z1 - grain->items[i].z0, near);
            insert(b, 0.5 * (grain->items[j].z1 - grain->items[i].z0), near);
        }
    }
}

static enum sm_status add_kinks(struct sm_arena *scratch, struct source *s, struct breaks *b,
                                struct sm_error *err)
{
    double *kinks;
    size_t n;
    SM_TRY(sm_slicer_kinks(&s->slicer, scratch, b->w, b->n, &kinks, &n, err));
    double *wider = sm_arena_alloc(scratch, b->n + n, sizeof *wider);
    if (!wider)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    memcpy(wider, b->w, b->n * sizeof *wider);
    b->w = wider;
    for (size_t i = 0; i < n; i++)
        insert(b, kinks[i], MERGED * b->limit);
    return SM_OK;
}

/* Nothing is asked for beyond the web. */
static void end_at(struct breaks *b, double web)
{
    size_t n = 1;
    while (n < b->n && b->w[n] < web - 1e-9 * web)
        n++;
    b->w[n] = web;
    b->n = n + 1;
}

/* Where the stretches of a source's table end. */
static enum sm_status find_breaks(struct sm_arena *scratch, struct source *s,
                                  const struct sm_burning_section *each, struct breaks *b,
                                  struct sm_error *err)
{
    list_events(s->slicer.grain, each, b);
    SM_TRY(add_kinks(scratch, s, b, err));
    end_at(b, find_web(s, b));
    s->breaks = b->w;
    s->n_stretches = b->n - 1;
    return s->status;
}

static enum sm_status make_table(struct sm_arena *arena, struct sm_arena *scratch,
                                 const struct sm_spliced *grain, struct sm_geometry *out,
                                 struct sm_error *err)
{
    struct source s = {.err = err};
    struct breaks breaks = {.n = 0};
    SM_TRY(sm_slicer_init(scratch, grain, &s.slicer, err));
    struct sm_burning_section *each = sm_arena_alloc(scratch, grain->n, sizeof *each);
    if (!each)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(burn_sections(scratch, &s, each, &breaks, err));
    SM_TRY(find_breaks(scratch, &s, each, &breaks, err));
    const double circle = M_PI * grain->radius * grain->radius, length = s.slicer.length;
    double left = 0.0, perimeter;
    sm_planar_area(&each[grain->n - 1].plans[0], 0.0, &left, &perimeter);
    *out =
        (struct sm_geometry){.length = length,
                             .outer_radius = grain->radius,
                             .envelope = circle * length,
                             .port_area = circle - left * (grain->sectors > 0 ? 2.0 * grain->sectors : 1.0)};
    const struct sm_table_source source = {.knot = spliced_knot,
                                           .prepare = spliced_prepare,
                                           .user = &s,
                                           .has_no_bend = true,
                                           .breaks = breaks.w,
                                           .n_stretches = breaks.n - 1,
                                           .reach = fmax(grain->radius, length),
                                           .tolerance = ACCURACY};
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
