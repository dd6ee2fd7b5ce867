#include "grain/passage.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "grain/edges.h"
#include "grain/facets.h"
#include "grain/meshport.h"
#include "grain/sheet.h"
#include "grain/slices.h"
#include "num/parallel.h"

enum { LEVELS = 32, STATIONS = 257 };

struct maker {
    struct sm_arena *arena;
    double *z, *w, *area, *perimeter; /* [m], [m], [m2], [m] */
    double *through;                  /* [m3] */
    struct sm_error *err;
};

/* Levels from event to event, both ends of each stage, so that an event stands twice. */
static enum sm_status make_levels(struct maker *m, const struct sm_stages *stages, struct sm_passage *out)
{
    out->n_levels = stages->n * (LEVELS + 1);
    m->w = sm_arena_alloc(m->arena, out->n_levels, sizeof *m->w);
    m->area = sm_arena_alloc(m->arena, out->n_stations * out->n_levels, sizeof *m->area);
    m->perimeter = sm_arena_alloc(m->arena, out->n_stations * out->n_levels, sizeof *m->perimeter);
    if (out->n_stations > 1)
        m->through = sm_arena_alloc(m->arena, out->n_stations * out->n_levels, sizeof *m->through);
    if (!m->w || !m->area || !m->perimeter || (out->n_stations > 1 && !m->through))
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    for (size_t k = 0; k < stages->n; k++)
        for (int i = 0; i <= LEVELS; i++) {
            const struct sm_stage *s = &stages->items[k];
            m->w[k * (LEVELS + 1) + (size_t)i] = i < LEVELS ? s->w0 + (s->w1 - s->w0) * i / LEVELS : s->w1;
        }
    out->z = m->z;
    out->w = m->w;
    out->area = m->area;
    out->perimeter = m->perimeter;
    out->through = m->through;
    return SM_OK;
}

static enum sm_status from_section(struct maker *m, struct sm_arena *scratch,
                                   const struct sm_section *section, struct sm_passage *out)
{
    struct sm_burning_section b;
    SM_TRY(sm_section_burn(scratch, section, &b, m->err));
    out->n_stations = 1;
    m->z = sm_arena_alloc(m->arena, 1, sizeof *m->z);
    if (!m->z)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    SM_TRY(make_levels(m, &b.stages, out));
    const double copies = b.sectors > 0 ? 2.0 * b.sectors : 1.0;
    for (size_t i = 0; i < out->n_levels; i++) {
        double left, front;
        sm_planar_area(&b.plans[i / (LEVELS + 1)], m->w[i], &left, &front);
        m->area[i] = out->circle - copies * left;
        m->perimeter[i] = copies * front;
    }
    return SM_OK;
}

/* Where a plane across the axis meets an edge of a meridian: radii, and whether propellant lies further out. */
struct meeting {
    double radius; /* [m] */
    bool is_outwards;
};

static int meet(const struct sm_edge *e, double z, struct meeting out[2])
{
    int n = 0;
    if (e->turn == 0) {
        const double dz = e->b.x - e->a.x, share = (z - e->a.x) / dz;
        if (dz != 0.0 && share >= 0.0 && share < 1.0)
            out[n++] = (struct meeting){e->a.y + share * (e->b.y - e->a.y), dz < 0.0};
        return n;
    }
    const double x = z - e->centre.x, square = (e->radius - x) * (e->radius + x);
    if (!(square > 0.0))
        return 0;
    const double sweep = sm_edge_sweep(e), start = atan2(e->a.y - e->centre.y, e->a.x - e->centre.x);
    for (int side = 1; side >= -1; side -= 2) {
        const double y = side * sqrt(square);
        double angle = e->turn * (atan2(y, x) - start);
        angle -= 2.0 * M_PI * floor(angle / (2.0 * M_PI));
        if (angle < sweep) /* walked anticlockwise, propellant lies outside the circle */
            out[n++] = (struct meeting){e->centre.y + y, (e->turn > 0) == (side > 0)};
    }
    return n;
}

/* A plane across the axis through a meridian's fronts at one level. */
struct across {
    const struct sm_contour *fronts;
    const struct sm_fronts *all;
    double w, radius; /* [m] */
};

/* Outermost radius in a plane that the grain's envelope holds [m]; below zero if it holds none. */
static double envelope_radius(const struct across *cut, double z)
{
    enum { PLACES = 64, HALVINGS = 40 };
    const double anywhere = -1e3 * cut->radius; /* every place is farther than that from the fronts */
    double out = cut->radius, in = out * (1.0 - 1e-9);
    for (int k = 1; !sm_front_is_clear(cut->all, (struct sm_point){z, in}, anywhere, 0.0, -1, -1); k++) {
        if (k == PLACES)
            return -1.0;
        out = in;
        in = cut->radius * (PLACES - k) / PLACES;
    }
    for (int i = 0; i < HALVINGS && out - in > 1e-9 * cut->radius; i++) {
        const double middle = 0.5 * (in + out);
        if (sm_front_is_clear(cut->all, (struct sm_point){z, middle}, anywhere, 0.0, -1, -1))
            in = middle;
        else
            out = middle;
    }
    return in;
}

/* Free section and perimeter of a meridian's fronts in one plane. An outermost front that burns inwards leaves free what is
 * beyond it. With no front in the plane all between port and case is burned or nothing: a place next to the envelope tells. */
static void cut_across(const struct across *cut, double z, double *area, double *perimeter)
{
    double outermost = -1.0;
    bool is_outwards = false;
    *area = *perimeter = 0.0;
    for (size_t i = 0; i < cut->fronts->n_edges; i++) {
        struct meeting met[2];
        const int n = meet(&cut->fronts->edges[i], z, met);
        for (int k = 0; k < n; k++) {
            const double disc = M_PI * met[k].radius * met[k].radius;
            *area += met[k].is_outwards ? disc : -disc;
            *perimeter += 2.0 * M_PI * met[k].radius;
            if (met[k].radius > outermost) {
                outermost = met[k].radius;
                is_outwards = met[k].is_outwards;
            }
        }
    }
    if (outermost < 0.0) {
        const struct sm_point beside = {z, envelope_radius(cut, z)};
        is_outwards = beside.y >= 0.0 && sm_front_is_clear(cut->all, beside, cut->w, 0.0, -1, -1);
    }
    if (!is_outwards)
        *area += M_PI * cut->radius * cut->radius;
}

/* Between two fronts that end anywhere the section of a cone goes as the square of z, that of a ball likewise: three points
 * of Gauss are exact. */
static double integrate_smooth(const struct across *cut, double from, double to)
{
    static const double places[] = {-0.7745966692414834, 0.0, 0.7745966692414834},
                        weights[] = {5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0};
    double sum = 0.0, area, perimeter;
    for (int i = 0; i < 3; i++) {
        cut_across(cut, 0.5 * (from + to + places[i] * (to - from)), &area, &perimeter);
        sum += weights[i] * area;
    }
    return sum * (to - from);
}

/* Nearest place behind z, but not behind `to`, where a front begins, ends or turns [m]. */
static double next_break(const struct sm_contour *fronts, double z, double to)
{
    for (size_t i = 0; i < fronts->n_edges; i++) {
        const struct sm_edge *e = &fronts->edges[i];
        const double places[] = {e->a.x, e->b.x, e->centre.x - e->radius, e->centre.x + e->radius};
        for (int k = 0; k < (e->turn != 0 ? 4 : 2); k++)
            if (places[k] > z && places[k] < to)
                to = places[k];
    }
    return to;
}

/* Free volume between two planes [m3]. */
static double integrate_across(const struct across *cut, double from, double to)
{
    double sum = 0.0;
    while (from < to) {
        const double next = next_break(cut->fronts, from, to);
        sum += integrate_smooth(cut, from, next);
        from = next;
    }
    return sum;
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Evenly spread, and just before and behind every step of the bore. */
static enum sm_status make_stations(struct maker *m, const struct sm_meridian *meridian,
                                    struct sm_passage *out)
{
    m->z = sm_arena_alloc(m->arena, STATIONS + 2 * meridian->bore.n_edges, sizeof *m->z);
    if (!m->z)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    const double length = meridian->length, beside = 1e-9 * length;
    for (int i = 0; i < STATIONS; i++) /* not on the ends, where faces lie */
        m->z[out->n_stations++] = fmin(fmax(length * i / (STATIONS - 1), beside), length - beside);
    for (size_t i = 0; i < meridian->bore.n_edges; i++) {
        const struct sm_edge *e = &meridian->bore.edges[i];
        if (e->turn != 0 || fabs(e->a.x - e->b.x) > beside || e->a.x < 2.0 * beside ||
            e->a.x > length - 2.0 * beside)
            continue;
        m->z[out->n_stations++] = e->a.x - beside;
        m->z[out->n_stations++] = e->a.x + beside;
    }
    qsort(m->z, out->n_stations, sizeof *m->z, rising);
    return SM_OK;
}

/* The burning fronts of a stage at w, which is moved a hair into the stage: at an event itself fronts that vanish or part there lie
 * in one place. Edges in the arena. */
static enum sm_status fronts_at(struct sm_arena *arena, const struct sm_burning_meridian *b, size_t k,
                                double *w, struct sm_contour *fronts, struct sm_error *err)
{
    const struct sm_stage *stage = &b->stages.items[k];
    const double hair = 1e-9 * (stage->w1 - stage->w0);
    *w = fmin(fmax(*w, stage->w0 > 0.0 ? stage->w0 + hair : 0.0), stage->w1 - hair);
    sm_contour_init(fronts, arena);
    for (int i = 0; i < stage->parts.n_burning; i++) {
        const struct sm_edge edge = sm_part_edge(&b->fronts, &stage->parts.items[i], *w);
        sm_contour_add_loose(fronts, &edge);
    }
    return sm_contour_check_memory(fronts, err);
}

static enum sm_status from_meridian(struct maker *m, struct sm_arena *scratch,
                                    const struct sm_meridian *meridian, struct sm_passage *out)
{
    struct sm_burning_meridian b;
    SM_TRY(sm_meridian_burn(scratch, meridian, &b, m->err));
    SM_TRY(make_stations(m, meridian, out));
    SM_TRY(make_levels(m, &b.stages, out));
    for (size_t i = 0; i < out->n_levels; i++) {
        double w = m->w[i], volume = 0.0;
        struct sm_contour fronts;
        SM_TRY(fronts_at(scratch, &b, i / (LEVELS + 1), &w, &fronts, m->err));
        const struct across cut = {&fronts, &b.fronts, w, meridian->radius};
        for (size_t s = 0; s < out->n_stations; s++) {
            const size_t at = s * out->n_levels + i;
            cut_across(&cut, m->z[s], &m->area[at], &m->perimeter[at]);
            volume += s > 0 ? integrate_across(&cut, m->z[s - 1], m->z[s]) : 0.0;
            m->through[at] = volume;
        }
    }
    return SM_OK;
}

/* Where a body's aft end is at w: its flat face, or the place where its fronts come out of the dome. */
static double aft_end_at(const struct sm_meridian *m, const struct sm_contour *fronts, double w)
{
    double z = m->length - (m->burning & SM_FACE_AFT_END ? w : 0.0);
    if (!(m->aft_dome > 0.0))
        return z;
    z = 0.0;
    for (size_t i = 0; i < fronts->n_edges; i++)
        z = fmax(z, fmax(fronts->edges[i].a.x, fronts->edges[i].b.x));
    return z;
}

enum sm_status sm_meridian_aft_port(struct sm_arena *scratch, const struct sm_meridian *meridian,
                                    const double *w, size_t n, double *area, double *perimeter,
                                    struct sm_error *err)
{
    struct sm_burning_meridian b;
    SM_TRY(sm_meridian_burn(scratch, meridian, &b, err));
    for (size_t i = 0; i < n; i++) {
        size_t k = 0;
        double at = w[i];
        struct sm_contour fronts;
        while (k + 1 < b.stages.n && w[i] >= b.stages.items[k].w1)
            k++;
        SM_TRY(fronts_at(scratch, &b, k, &at, &fronts, err));
        const struct across cut = {&fronts, &b.fronts, at, meridian->radius};
        cut_across(&cut, aft_end_at(meridian, &fronts, at) - 1e-9 * meridian->length, &area[i],
                   &perimeter[i]);
    }
    return SM_OK;
}

/* Evenly along the grain, and just inside both ends of each splice. */
static size_t place_stations(const struct sm_spliced *grain, double length, double *z)
{
    const double beside = 1e-6 * grain->radius;
    size_t n = 0;
    for (size_t i = 0; i < grain->n; i++) {
        const struct sm_splice *s = &grain->items[i];
        const int steps = 1 + (int)(STATIONS * (s->z1 - s->z0) / length);
        for (int k = 0; k <= steps; k++)
            z[n++] = s->z0 + beside + (s->z1 - s->z0 - 2.0 * beside) * k / steps;
    }
    return n;
}

/* Free volumes by straight lines from station to station. */
static void join_stations(struct maker *m, const struct sm_passage *out)
{
    for (size_t i = 0; i < out->n_levels; i++) {
        double volume = 0.0;
        for (size_t s = 0; s < out->n_stations; s++) {
            const size_t at = s * out->n_levels + i, last = at - out->n_levels;
            volume += s > 0 ? 0.5 * (m->area[last] + m->area[at]) * (m->z[s] - m->z[s - 1]) : 0.0;
            m->through[at] = volume;
        }
    }
}

/* Every station's slice, by the voids of all splices. */
static enum sm_status from_splices(struct maker *m, struct sm_arena *scratch, const struct sm_spliced *grain,
                                   struct sm_passage *out)
{
    struct sm_slicer slicer;
    SM_TRY(sm_slicer_init(scratch, grain, &slicer, m->err));
    m->z = sm_arena_alloc(m->arena, STATIONS + 2 * grain->n, sizeof *m->z);
    if (!m->z)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    out->n_stations = place_stations(grain, slicer.length, m->z);
    double web = 0.0;
    for (size_t i = 0; i < grain->n; i++) {
        struct sm_burning_section burning;
        const struct sm_section section = {
            .contour = grain->items[i].contour, .sectors = grain->sectors, .radius = grain->radius};
        SM_TRY(sm_section_burn(scratch, &section, &burning, m->err));
        web = fmax(web, burning.stages.web);
    }
    struct sm_stage all = {.w0 = 0.0, .w1 = web};
    SM_TRY(make_levels(m, &(struct sm_stages){.items = &all, .n = 1, .web = web}, out));
    for (size_t i = 0; i < out->n_stations; i++)
        for (size_t k = 0; k < out->n_levels; k++) {
            double left;
            SM_TRY(sm_slicer_slice(&slicer, m->w[k], m->z[i], &left, &m->perimeter[i * out->n_levels + k],
                                   m->err));
            m->area[i * out->n_levels + k] = out->circle - left;
        }
    join_stations(m, out);
    return SM_OK;
}

struct measures {
    const struct maker *maker;
    const struct sm_sheet *sheets;
    int parts;
    size_t n_levels;
};

static void measure_sheet(void *user, int worker, size_t i)
{
    (void)worker;
    const struct measures *all = user;
    const struct maker *m = all->maker;
    for (size_t k = 0; k < all->n_levels; k++) {
        double area, length;
        sm_sheet_measure(&all->sheets[i], m->w[k], &area, &length);
        m->area[i * all->n_levels + k] = area * all->parts;
        m->perimeter[i * all->n_levels + k] = length * all->parts;
    }
}

/* Sections from nets of places across the axis, each one of so many equal parts; the web is the farthest of the places. */
static enum sm_status from_sheets(struct maker *m, const struct sm_sheet *sheets, size_t n, int parts,
                                  struct sm_passage *out)
{
    double web = 0.0;
    out->n_stations = n;
    for (size_t i = 0; i < n; i++)
        for (int k = 0; k < sheets[i].nu * sheets[i].nv; k++)
            web = fmax(web, sheets[i].distance[k]);
    struct sm_stage all = {.w0 = 0.0, .w1 = web};
    SM_TRY(make_levels(m, &(struct sm_stages){.items = &all, .n = 1, .web = web}, out));
    struct measures measures = {m, sheets, parts, out->n_levels};
    sm_parallel_for(n, 0, measure_sheet, &measures, NULL);
    join_stations(m, out);
    return SM_OK;
}

enum { RINGS = 48 };

static enum sm_status from_voids(struct maker *m, struct sm_arena *scratch, const struct sm_voids *voids,
                                 struct sm_passage *out)
{
    enum { PLACES = 33 };
    struct sm_patcher patcher;
    struct sm_sheet *sheets = sm_arena_alloc(scratch, PLACES, sizeof *sheets);
    m->z = sm_arena_alloc(m->arena, PLACES, sizeof *m->z);
    if (!sheets || !m->z)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    SM_TRY(sm_patcher_init(scratch, voids, &patcher, m->err));
    /* What ends in the grain's faces is void a little further in. */
    const double inside = fmin(voids->radius / RINGS, 0.5 * voids->length / (PLACES - 1));
    for (int i = 0; i < PLACES; i++) {
        const double z = voids->length * i / (PLACES - 1);
        m->z[i] = fmin(fmax(z, inside), voids->length - inside);
        SM_TRY(sm_sheet_across(scratch, &patcher, m->z[i], RINGS, &sheets[i], m->err));
    }
    return from_sheets(m, sheets, PLACES, patcher.sectors, out);
}

static enum sm_status from_mesh(struct maker *m, struct sm_arena *scratch, const struct sm_meshport *port,
                                unsigned burning, struct sm_passage *out)
{
    struct sm_sheet *sheets;
    double *places;
    size_t n;
    SM_TRY(sm_meshport_across(scratch, port, sqrt(out->circle / M_PI), out->length, burning, RINGS, &sheets,
                              &places, &n, m->err));
    m->z = sm_arena_alloc(m->arena, n, sizeof *m->z);
    if (!m->z)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    memcpy(m->z, places, n * sizeof *places);
    return from_sheets(m, sheets, n, 1, out);
}

static enum sm_status make(struct maker *m, struct sm_arena *scratch, const struct sm_shape *shape,
                           const struct sm_grain_common *common, const void *params, struct sm_passage *out)
{
    const double radius = 0.5 * common->outer_diameter;
    const unsigned burning = common->burning == SM_CHOICES_ABSENT ? shape->burning : common->burning;
    *out = (struct sm_passage){.length = common->length,
                               .circle = M_PI * radius * radius,
                               .fore_burns = burning & SM_FACE_FORE_END,
                               .aft_burns = burning & SM_FACE_AFT_END};
    if (shape->spliced) {
        struct sm_spliced spliced;
        SM_TRY(sm_shape_spliced(shape, scratch, common, params, &spliced, m->err));
        return from_splices(m, scratch, &spliced, out);
    }
    if (shape->voids) {
        struct sm_voids voids;
        struct sm_meshport port;
        SM_TRY(sm_shape_voids(shape, scratch, common, params, &voids, m->err));
        if (!sm_voids_lean_out(&voids))
            return from_voids(m, scratch, &voids, out);
        SM_TRY(sm_voids_facets(scratch, &voids, &port, m->err));
        return from_mesh(m, scratch, &port, burning, out);
    }
    if (shape->is_meshed)
        return from_mesh(m, scratch, params, burning, out);
    if (shape->section) {
        struct sm_section section;
        SM_TRY(sm_shape_section(shape, scratch, common, params, &section, m->err));
        return from_section(m, scratch, &section, out);
    }
    struct sm_meridian meridian;
    SM_TRY(sm_shape_meridian(shape, scratch, common, params, &meridian, m->err));
    return from_meridian(m, scratch, &meridian, out);
}

enum sm_status sm_shape_passage(const struct sm_shape *shape, struct sm_arena *arena,
                                const struct sm_grain_common *common, const void *params,
                                struct sm_passage *out, struct sm_error *err)
{
    struct sm_arena scratch;
    sm_arena_init(&scratch, arena->allocator);
    struct maker m = {.arena = arena, .err = err};
    const enum sm_status status = make(&m, &scratch, shape, common, params, out);
    sm_arena_release(&scratch);
    return status;
}
