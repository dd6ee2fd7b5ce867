/* Cross-sections: the same burned by other ways. */
#include <criterion/criterion.h>
#include <math.h>

#include "grain/prism.h"
#include "unit/grain/example.h"

enum { DRAWS = 2, LEVELS = 7 };
static const uint64_t first_seed = 77001;

typedef void law(struct sm_arena *arena, const char *name, const struct sm_section *section, uint64_t seed);

static void for_every_section(law *check)
{
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++)
        for (uint64_t draw = 0; (*shape)->section && draw <= DRAWS; draw++) {
            struct sm_arena arena;
            sm_arena_init(&arena, NULL);
            uint64_t seed = first_seed + draw, state = seed;
            struct example e = example_read(&arena, *shape);
            struct sm_geometry g;
            struct sm_error err = {0};
            if (draw > 0)
                e = example_draw(&arena, &e, 0.25, &state, &g);
            struct sm_section section;
            cr_assert_eq(sm_shape_section(*shape, &arena, &e.common, e.params, &section, &err), SM_OK, "%s",
                         err.message);
            check(&arena, (*shape)->name, &section, draw > 0 ? seed : 0);
            sm_arena_release(&arena);
        }
}

static struct sm_burning_section burn(struct sm_arena *arena, const char *name,
                                      const struct sm_section *section)
{
    struct sm_burning_section out;
    struct sm_error err = {0};
    cr_assert_eq(sm_section_burn(arena, section, &out, &err), SM_OK, "%s: %s", name, err.message);
    return out;
}

static struct sm_section whole_of(struct sm_arena *arena, const struct sm_section *section)
{
    struct sm_section whole = *section;
    if (section->sectors == 0)
        return whole;
    sm_contour_init(&whole.contour, arena);
    sm_contour_unfold(section->contour.edges, section->contour.n_edges, section->sectors, &whole.contour);
    cr_assert_eq(sm_contour_stitch(&whole.contour, 1e-9 * section->radius, NULL), SM_OK);
    whole.sectors = 0;
    return whole;
}

/* ---- one half-sector, times the number of them, is the whole ---- */

static struct sm_point turn(struct sm_point p, double c, double s, double flip)
{
    return (struct sm_point){c * p.x - s * flip * p.y, s * p.x + c * flip * p.y};
}

/* Turned by an angle and, if wanted, mirrored at the x axis before, each chain then walked the other way. */
static struct sm_section turned(struct sm_arena *arena, const struct sm_section *whole, double angle,
                                bool is_mirrored)
{
    struct sm_section out = *whole;
    sm_contour_init(&out.contour, arena);
    const double c = cos(angle), s = sin(angle), flip = is_mirrored ? -1.0 : 1.0;
    for (size_t i = 0; i < whole->contour.n_edges; i++) {
        const struct sm_edge *edge = &whole->contour.edges[i];
        const struct sm_point a = turn(edge->a, c, s, flip), b = turn(edge->b, c, s, flip);
        const struct sm_edge image = {.a = is_mirrored ? b : a,
                                      .b = is_mirrored ? a : b,
                                      .centre = turn(edge->centre, c, s, flip),
                                      .radius = edge->radius,
                                      .turn = edge->turn};
        sm_contour_add_loose(&out.contour, &image);
    }
    cr_assert_eq(sm_contour_stitch(&out.contour, 1e-9 * whole->radius, NULL), SM_OK);
    return out;
}

/* The six integrals of a section that is turned. */
static void turn_integrals(const double in[SM_N_PLANAR], double angle, bool is_mirrored,
                           double out[SM_N_PLANAR])
{
    const double c = cos(angle), s = sin(angle), flip = is_mirrored ? -1.0 : 1.0;
    const double x = in[SM_PLANE_X], y = flip * in[SM_PLANE_Y], xy = flip * in[SM_PLANE_XY];
    const double xx = in[SM_PLANE_XX], yy = in[SM_PLANE_YY];
    out[SM_PLANE_AREA] = in[SM_PLANE_AREA];
    out[SM_PLANE_X] = c * x - s * y;
    out[SM_PLANE_Y] = s * x + c * y;
    out[SM_PLANE_XX] = c * c * xx - 2 * c * s * xy + s * s * yy;
    out[SM_PLANE_YY] = s * s * xx + 2 * c * s * xy + c * c * yy;
    out[SM_PLANE_XY] = c * s * (xx - yy) + (c * c - s * s) * xy;
}

static const int degree[SM_N_PLANAR] = {0, 1, 1, 2, 2, 2};

static void compare(const char *name, uint64_t seed, const struct sm_burning_section *a,
                    const struct sm_burning_section *b, double angle, bool is_mirrored)
{
    const double r = a->radius;
    cr_expect(fabs(a->stages.web - b->stages.web) <= 1e-10 * r, "%s, seed %llu: web %.15g, not %.15g", name,
              (unsigned long long)seed, b->stages.web, a->stages.web);
    for (int i = 0; i < LEVELS; i++) {
        const double w = a->stages.web * (i + 0.41) / LEVELS;
        struct sm_planar_knot p, q;
        double want[SM_N_PLANAR], want_slope[SM_N_PLANAR], alone[SM_N_PLANAR];
        sm_section_knot(a, sm_section_stage(a, w), w, &p);
        sm_section_knot(b, sm_section_stage(b, w), w, &q);
        sm_section_slopes(b, sm_section_stage(b, w), w, alone);
        turn_integrals(p.value, angle, is_mirrored, want);
        turn_integrals(p.slope, angle, is_mirrored, want_slope);
        for (int k = 0; k < SM_N_PLANAR; k++) {
            const double unit = pow(r, degree[k]);
            cr_expect(fabs(q.value[k] - want[k]) <= 1e-12 * r * r * unit,
                      "%s, seed %llu, w %g: value %d %.15g, not %.15g", name, (unsigned long long)seed, w, k,
                      q.value[k], want[k]);
            cr_expect(fabs(q.slope[k] - want_slope[k]) <= 1e-10 * r * unit,
                      "%s, seed %llu, w %g: slope %d %.15g, not %.15g", name, (unsigned long long)seed, w, k,
                      q.slope[k], want_slope[k]);
            cr_expect(alone[k] == q.slope[k], "%s, seed %llu, w %g: slope %d alone %.17g, not %.17g", name,
                      (unsigned long long)seed, w, k, alone[k], q.slope[k]);
        }
    }
}

static void sectors_make_the_whole(struct sm_arena *arena, const char *name, const struct sm_section *section,
                                   uint64_t seed)
{
    const struct sm_section whole = whole_of(arena, section);
    const struct sm_burning_section a = burn(arena, name, section), b = burn(arena, name, &whole);
    compare(name, seed, &a, &b, 0.0, false);
}

/* Tolerances: 1e-12 of the radius squared for areas; 1e-10 for perimeters, as an event may lie near. */
Test(grain_sections, sectors_make_the_whole)
{
    for_every_section(sectors_make_the_whole);
}

static void turning_changes_nothing(struct sm_arena *arena, const char *name,
                                    const struct sm_section *section, uint64_t seed)
{
    const struct sm_section whole = whole_of(arena, section),
                            other = turned(arena, &whole, 1.234, seed % 2 == 0);
    const struct sm_burning_section a = burn(arena, name, &whole), b = burn(arena, name, &other);
    compare(name, seed, &a, &b, 1.234, seed % 2 == 0);
}

Test(grain_sections, turning_changes_nothing)
{
    for_every_section(turning_changes_nothing);
}

/* ---- a second method: distances of sample points ---- */

/* Distance from the outline, with its sign: positive in propellant. Where the nearest point is a corner the sign is that
 * against the mean of both edges' normals. */
static double signed_distance(const struct sm_contour *contour, double outer, struct sm_point p)
{
    double least = SM_INF, side = 1.0;
    struct sm_point normal_sum = {0, 0};
    for (size_t i = 0; i < contour->n_edges; i++) {
        const struct sm_edge *e = &contour->edges[i];
        double share;
        if (e->turn == 0) {
            const double dx = e->b.x - e->a.x, dy = e->b.y - e->a.y;
            share = ((p.x - e->a.x) * dx + (p.y - e->a.y) * dy) / (dx * dx + dy * dy);
        } else {
            const double a0 = atan2(e->a.y - e->centre.y, e->a.x - e->centre.x);
            double a = e->turn * (atan2(p.y - e->centre.y, p.x - e->centre.x) - a0);
            a -= 2 * M_PI * floor(a / (2 * M_PI));
            share = a / sm_edge_sweep(e);
            if (share > 1.0 && a - sm_edge_sweep(e) > 0.5 * (2 * M_PI - sm_edge_sweep(e)))
                share = 0.0;
        }
        share = fmin(fmax(share, 0.0), 1.0);
        const struct sm_point q = sm_edge_point(e, share);
        const double d = hypot(p.x - q.x, p.y - q.y);
        if (d > least + 1e-12)
            continue;
        struct sm_point t = sm_edge_direction(e, share > 0.5);
        if (e->turn != 0 && d > 0) {
            const double r = hypot(q.x - e->centre.x, q.y - e->centre.y);
            t = (struct sm_point){-e->turn * (q.y - e->centre.y) / r, e->turn * (q.x - e->centre.x) / r};
        }
        if (d < least - 1e-12)
            normal_sum = (struct sm_point){0, 0};
        least = fmin(least, d);
        normal_sum = (struct sm_point){normal_sum.x + t.y, normal_sum.y - t.x};
        side = (p.x - q.x) * normal_sum.x + (p.y - q.y) * normal_sum.y >= 0.0 ? 1.0 : -1.0;
    }
    const double inside = outer > 0.0 ? outer - hypot(p.x, p.y) : SM_INF;
    return fmin(side * least, inside);
}

enum { SAMPLES = 20000 };

/* Areas left at the levels, by counting points of the evenly spread R2 sequence in the disc. */
static void sample_areas(const struct sm_section *whole, const double *w, double *area)
{
    const double outer = whole->outer == SM_OUTER_BURNS ? whole->radius : 0.0;
    const double cell = M_PI * whole->radius * whole->radius / SAMPLES;
    for (int k = 0; k < LEVELS; k++)
        area[k] = 0.0;
    for (int i = 0; i < SAMPLES; i++) {
        const double u = fmod(0.5 + 0.7548776662466927 * i, 1.0), v = fmod(0.5 + 0.5698402909980532 * i, 1.0);
        const double r = whole->radius * sqrt(u), a = 2 * M_PI * v;
        const double d = signed_distance(&whole->contour, outer, (struct sm_point){r * cos(a), r * sin(a)});
        for (int k = 0; k < LEVELS; k++)
            area[k] += d > w[k] ? cell : 0.0;
    }
}

/* Tolerance: such a sequence errs less than the root of N over N would, 7e-3; 2e-3 holds with room, and no wrong
 * topology would pass. */
static void samples_agree(struct sm_arena *arena, const char *name, const struct sm_section *section,
                          uint64_t seed)
{
    if (seed > first_seed + 1)
        return; /* sampling is slow */
    const struct sm_section whole = whole_of(arena, section);
    const struct sm_burning_section b = burn(arena, name, section);
    const double circle = M_PI * b.radius * b.radius;
    double w[LEVELS], want[LEVELS], area[LEVELS], perimeter[LEVELS];
    for (int i = 0; i < LEVELS; i++)
        w[i] = b.stages.web * i / LEVELS;
    sample_areas(&whole, w, want);
    sm_section_table(&b, w, LEVELS, area, perimeter);
    for (int i = 0; i < LEVELS; i++)
        cr_expect(fabs(circle - area[i] - want[i]) <= 1e-3 * circle,
                  "%s, seed %llu, w %g: area left %g, sampled %g", name, (unsigned long long)seed, w[i],
                  circle - area[i], want[i]);
}

Test(grain_sections, samples_agree)
{
    for_every_section(samples_agree);
}

/* ---- outlines for drawing ---- */

/* The outline's own length and area, by its edges alone, are the table's. */
static void outlines_agree(struct sm_arena *arena, const char *name, const struct sm_section *section,
                           uint64_t seed)
{
    const struct sm_burning_section b = burn(arena, name, section);
    const double circle = M_PI * b.radius * b.radius;
    for (int i = 0; i < LEVELS; i++) {
        const double w = b.stages.web * (i + 0.3) / LEVELS;
        double area, perimeter, length = 0.0, twice = 0.0;
        struct sm_contour fronts, closed;
        sm_section_table(&b, &w, 1, &area, &perimeter);
        cr_assert_eq(sm_section_outline(arena, &b, w, false, &fronts, NULL), SM_OK);
        cr_assert_eq(sm_section_outline(arena, &b, w, true, &closed, NULL), SM_OK);
        for (size_t k = 0; k < fronts.n_edges; k++)
            length += sm_edge_length(&fronts.edges[k]);
        for (size_t k = 0; k < closed.n_chains; k++)
            cr_expect(sm_chain_is_closed(&closed, &closed.chains[k]),
                      "%s, seed %llu, w %g: chain %zu is open", name, (unsigned long long)seed, w, k);
        for (size_t k = 0; k < closed.n_edges; k++) {
            const struct sm_edge *e = &closed.edges[k];
            twice -= e->a.x * e->b.y - e->a.y * e->b.x;
            if (e->turn != 0)
                twice -= e->turn * e->radius * e->radius * (sm_edge_sweep(e) - sin(sm_edge_sweep(e)));
        }
        cr_expect(fabs(length - perimeter) <= 1e-8 * b.radius, "%s, seed %llu, w %g: length %.12g, not %.12g",
                  name, (unsigned long long)seed, w, length, perimeter);
        cr_expect(fabs(0.5 * twice - (circle - area)) <= 1e-8 * circle,
                  "%s, seed %llu, w %g: area %.12g, not %.12g", name, (unsigned long long)seed, w,
                  0.5 * twice, circle - area);
    }
}

Test(grain_sections, outlines_agree)
{
    for_every_section(outlines_agree);
}

/* A round port beside the axis by so little that its far side burns through faster than stages are told apart: until it reaches the
 * wall what is left is a tube's, then nothing soon, and no volume is lost. Elementary. */
Test(grain_sections, all_but_concentric_bores)
{
    const double ri = 0.007, ro = 0.027, length = 0.14;
    for (double offset = 1e-13; offset < 1e-5; offset *= 7.0) {
        struct sm_arena arena;
        sm_arena_init(&arena, NULL);
        struct sm_section section = {.radius = ro};
        sm_contour_init(&section.contour, &arena);
        sm_contour_circle(&section.contour, offset, 0.0, ri, 1);
        struct sm_geometry g;
        struct sm_error err = {0};
        cr_assert_eq(sm_prism_geometry(&arena, &section, length, SM_FACE_BORE, &g, &err), SM_OK, "%s",
                     err.message);
        double before = 0.0, area, volume;
        for (size_t i = 0; i < g.n_pieces; i++)
            for (int k = 0; k <= 8; k++) {
                const struct sm_piece *p = &g.pieces[i];
                const double w = p->w0 + (p->w1 - p->w0) * k / 8, r = ri + w;
                sm_piece_area(p, w, &area, &volume);
                if (w < ro - ri - offset)
                    cr_expect_float_eq(volume, M_PI * length * (ro - r) * (ro + r), 1e-11 * g.envelope,
                                       "offset %g, at %g: volume %g", offset, w, volume);
                cr_expect(area >= -1e-12 && (i == 0 || k > 0 || fabs(volume - before) <= 1e-11 * g.envelope),
                          "offset %g, at %g: area %g, volume %g", offset, w, area, volume);
                before = volume;
            }
        cr_expect_float_eq(before, 0.0, 1e-11 * g.envelope);
        cr_expect_float_eq(g.web, ro - ri + offset, 1e-9 * ro);
        sm_arena_release(&arena);
    }
}
