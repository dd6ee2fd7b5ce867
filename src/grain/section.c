#include "grain/section.h"
#include "grain/edges.h"

#include <math.h>
#include <string.h>

#include "grain/figure.h"

static const double ON_WALL = 1e-9; /* share of the radius within which a point lies on a wall [1] */

static const struct sm_point x_axis = {1.0, 0.0};

/* Direction of a half-sector's second ray. */
static struct sm_point second_ray(int sectors)
{
    const double angle = M_PI / sectors;
    return (struct sm_point){cos(angle), sectors == 1 ? 0.0 : sin(angle)};
}

/* The point of an edge that lies farthest from the axis, its ends aside unless it is one of them. */
static struct sm_point farthest_point(const struct sm_edge *edge)
{
    const double ra = hypot(edge->a.x, edge->a.y), rb = hypot(edge->b.x, edge->b.y);
    const struct sm_point end = ra > rb ? edge->a : edge->b;
    const double d = hypot(edge->centre.x, edge->centre.y);
    if (edge->turn == 0 || d == 0.0)
        return end;
    const double k = 1.0 + edge->radius / d; /* straight on from the axis over the arc's centre */
    const struct sm_point p = {k * edge->centre.x, k * edge->centre.y};
    const double from = atan2(edge->a.y - edge->centre.y, edge->a.x - edge->centre.x);
    double angle = edge->turn * (atan2(edge->centre.y, edge->centre.x) - from);
    angle -= 2.0 * M_PI * floor(angle / (2.0 * M_PI));
    return angle <= sm_edge_sweep(edge) ? p : end;
}

static enum sm_status check_edge(const struct sm_section *s, const struct sm_edge *edge, bool is_closed,
                                 struct sm_error *err)
{
    const double near = ON_WALL * s->radius;
    const struct sm_point ray = s->sectors > 0 ? second_ray(s->sectors) : x_axis, far = farthest_point(edge);
    const double reach = hypot(far.x, far.y);
    if (reach > s->radius + near)
        return sm_fail(err, SM_E_GEOMETRY,
                       "the port reaches x = %.6g mm, y = %.6g mm, outside the grain's radius of %.6g mm",
                       1e3 * far.x, 1e3 * far.y, 1e3 * s->radius);
    if (is_closed && reach > s->radius - near && s->outer != SM_OUTER_IN_CHAINS)
        return sm_fail(err, SM_E_GEOMETRY,
                       "the port touches the outer wall at x = %.6g mm, y = %.6g mm: it leaves no web",
                       1e3 * far.x, 1e3 * far.y);
    for (int k = 0; s->sectors > 0 && k <= 8; k++) {
        const struct sm_point p = sm_edge_point(edge, k / 8.0);
        if (p.y < -near || p.x * ray.y - p.y * ray.x < -near)
            return sm_fail(err, SM_E_GEOMETRY,
                           "the port leaves its half-sector at x = %.6g mm, y = %.6g mm: neighbours overlap",
                           1e3 * p.x, 1e3 * p.y);
    }
    return SM_OK;
}

/* All of the contour within the cylinder and the half-sector? */
static enum sm_status check_inside(const struct sm_section *s, struct sm_error *err)
{
    for (size_t i = 0; i < s->contour.n_chains; i++) {
        const struct sm_chain *chain = &s->contour.chains[i];
        const bool is_closed = sm_chain_is_closed(&s->contour, chain);
        for (size_t k = 0; k < chain->n; k++)
            SM_TRY(check_edge(s, &s->contour.edges[chain->first + k], is_closed, err));
    }
    return SM_OK;
}

/* The outer cylinder as a chain, walked clockwise: propellant is inside. */
static void add_cylinder(struct sm_contour *contour, int sectors, double radius)
{
    if (sectors == 0) {
        sm_contour_circle(contour, 0.0, 0.0, radius, -1);
        return;
    }
    const struct sm_point ray = second_ray(sectors);
    sm_contour_start(contour, radius * ray.x, radius * ray.y);
    sm_contour_arc(contour, radius, 0.0, 0.0, 0.0, -1);
}

enum sm_status sm_section_fronts(struct sm_arena *arena, const struct sm_section *section,
                                 struct sm_fronts *out, struct sm_error *err)
{
    const int n = section->sectors;
    const struct sm_point origin = {0.0, 0.0}, ray = n > 0 ? second_ray(n) : x_axis;
    struct sm_front walls[3], rim;
    struct sm_contour contour = section->contour;
    struct sm_figure figure = {.contour = &contour, .walls = walls, .rims = &rim, .size = section->radius};
    SM_TRY(check_inside(section, err));
    if (n > 0)
        walls[figure.n_walls++] = sm_wall_line(origin, x_axis);
    if (n > 1)
        walls[figure.n_walls++] = sm_wall_line(origin, (struct sm_point){-ray.x, -ray.y});
    if (section->outer == SM_OUTER_HELD) {
        walls[figure.n_walls++] = sm_wall_circle(origin, section->radius);
        rim = sm_rim_arc(origin, section->radius, x_axis, ray, n > 0 ? M_PI / n : 2.0 * M_PI);
        figure.n_rims = 1;
    } else if (section->outer == SM_OUTER_BURNS) {
        contour.arena = arena;
        add_cylinder(&contour, n, section->radius);
    }
    return sm_figure_fronts(arena, &figure, out, err);
}

/* ---- burning ---- */

/* Does the area left fall all the way, without a jump, to no less than nothing? Parts of an outline that all but lie in one another, or are as
 * small as roundings, can turn it inside out. */
static enum sm_status check_falling(const struct sm_burning_section *section, struct sm_error *err)
{
    const double copies = section->sectors > 0 ? 2.0 * section->sectors : 1.0;
    const double slack = 1e-7 * M_PI * section->radius * section->radius / copies;
    double before = SM_INF, area, perimeter;
    for (size_t i = 0; i < section->stages.n; i++)
        for (int j = 0; j <= 2; j++) {
            const struct sm_stage *stage = &section->stages.items[i];
            const double w = stage->w0 + 0.5 * j * (stage->w1 - stage->w0);
            sm_planar_area(&section->plans[i], w, &area, &perimeter);
            const bool has_jumped = i > 0 && j == 0 && area < before - slack;
            if (!(area <= before + slack && area >= -slack) || has_jumped)
                return sm_fail(err, SM_E_GEOMETRY,
                               "the front can't be followed beyond %.6g mm burned: parts of the outline all "
                               "but touch, or are too small to be told apart",
                               1e3 * w);
            before = area;
        }
    return SM_OK;
}

/* By Green's theorem the area is that of the outline; if its parts are walked the wrong way round, or lie in each other,
 * it does not come out between nothing and the whole, or not as nothing at the end. */
static enum sm_status check_sound(const struct sm_burning_section *section, struct sm_error *err)
{
    const struct sm_stages *stages = &section->stages;
    const double circle = M_PI * section->radius * section->radius;
    double first = 0.0, last = 0.0, perimeter;
    if (stages->n == 0)
        return sm_fail(err, SM_E_GEOMETRY, "the port leaves nothing to burn");
    const double copies = section->sectors > 0 ? 2.0 * section->sectors : 1.0;
    sm_planar_area(&section->plans[0], 0.0, &first, &perimeter);
    sm_planar_area(&section->plans[stages->n - 1], stages->web, &last, &perimeter);
    first *= copies / circle;
    last *= copies / circle;
    if (!(first > 0.0 && first < 1.0 + 1e-12 && fabs(last) < 1e-7))
        return sm_fail(err, SM_E_GEOMETRY,
                       "the outline does not bound the propellant: parts lie inside each other");
    return check_falling(section, err);
}

static enum sm_status make_plans(struct sm_arena *arena, struct sm_burning_section *section,
                                 struct sm_error *err)
{
    const struct sm_stages *stages = &section->stages;
    section->plans = sm_arena_alloc(arena, stages->n, sizeof *section->plans);
    if (!section->plans)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < stages->n; i++) {
        int *others = sm_arena_alloc(arena, (size_t)stages->items[i].parts.n, sizeof *others);
        if (!others)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        sm_planar_plan(section->fronts, &stages->items[i], others, &section->plans[i]);
    }
    return SM_OK;
}

enum sm_status sm_section_burn(struct sm_arena *arena, const struct sm_section *section,
                               struct sm_burning_section *out, struct sm_error *err)
{
    *out = (struct sm_burning_section){.sectors = section->sectors, .radius = section->radius};
    out->fronts = sm_arena_alloc(arena, 1, sizeof *out->fronts);
    if (!out->fronts)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(sm_section_fronts(arena, section, out->fronts, err));
    SM_TRY(sm_stages_find(arena, out->fronts, &out->stages, err));
    SM_TRY(make_plans(arena, out, err));
    return check_sound(out, err);
}

size_t sm_section_stage(const struct sm_burning_section *section, double w)
{
    const struct sm_stages *stages = &section->stages;
    if (!(w < stages->web))
        return stages->n;
    size_t low = 0, high = stages->n;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (stages->items[middle].w0 <= w)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* Behind the last stage is nothing. */
static void gap_knot(const struct sm_burning_section *section, size_t stage, double w,
                     struct sm_planar_knot *out)
{
    const struct sm_stage *gap = &section->stages.items[stage];
    struct sm_planar_knot before, behind = {.value = {0.0}};
    sm_planar_knot(section->fronts, gap - (stage > 0 ? 1 : 0), gap->w0, &before);
    if (stage + 1 < section->stages.n)
        sm_planar_knot(section->fronts, gap + 1, gap->w1, &behind);
    *out = (struct sm_planar_knot){.bend = {0.0}};
    sm_stage_bridge(gap, w, SM_N_PLANAR, before.value, behind.value, out->value, out->slope);
}

void sm_section_knot(const struct sm_burning_section *section, size_t stage, double w,
                     struct sm_planar_knot *out)
{
    if (sm_stage_is_gap(&section->stages.items[stage]))
        gap_knot(section, stage, w, out);
    else
        sm_planar_knot(section->fronts, &section->stages.items[stage], w, out);
    sm_planar_unfold(section->sectors, out->value);
    sm_planar_unfold(section->sectors, out->slope);
    sm_planar_unfold(section->sectors, out->bend);
}

void sm_section_slopes(const struct sm_burning_section *section, size_t stage, double w,
                       double slope[SM_N_PLANAR])
{
    struct sm_planar_knot knot;
    if (sm_stage_is_gap(&section->stages.items[stage])) {
        gap_knot(section, stage, w, &knot);
        memcpy(slope, knot.slope, sizeof knot.slope);
    } else
        sm_planar_slopes(section->fronts, &section->stages.items[stage], w, slope);
    sm_planar_unfold(section->sectors, slope);
}

void sm_section_table(const struct sm_burning_section *section, const double *w, size_t n, double *area,
                      double *perimeter)
{
    const double whole = M_PI * section->radius * section->radius;
    const double copies = section->sectors > 0 ? 2.0 * section->sectors : 1.0;
    for (size_t i = 0; i < n; i++) {
        double left = 0.0, front = 0.0;
        const size_t stage = sm_section_stage(section, w[i]);
        if (stage < section->stages.n)
            sm_planar_area(&section->plans[stage], fmax(w[i], 0.0), &left, &front);
        area[i] = whole - copies * left;
        perimeter[i] = copies * front;
    }
}

enum sm_status sm_section_outline(struct sm_arena *arena, const struct sm_burning_section *section, double w,
                                  bool with_cylinder, struct sm_contour *out, struct sm_error *err)
{
    sm_contour_init(out, arena);
    struct sm_contour half;
    sm_contour_init(&half, arena);
    SM_TRY(sm_fronts_edges(section->fronts, &section->stages, w, with_cylinder, ON_WALL * section->radius,
                           &half, err));
    if (section->sectors > 0)
        sm_contour_unfold(half.edges, half.n_edges, section->sectors, out);
    else
        *out = half;
    return sm_contour_stitch(out, 10.0 * ON_WALL * section->radius, err);
}
