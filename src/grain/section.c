#include "grain/section.h"

#include <math.h>

static const double SMOOTH = 1e-8;  /* sine of a corner's turn that is none [1] */
static const double ON_WALL = 1e-9; /* share of the radius within which a point lies on a wall [1] */

struct maker {
    const struct sm_section *section;
    struct sm_fronts *out;
    struct sm_point ray; /* direction of a half-sector's second ray */
    struct sm_error *err;
};

static double cross(struct sm_point a, struct sm_point b)
{
    return a.x * b.y - a.y * b.x;
}

static double dot(struct sm_point a, struct sm_point b)
{
    return a.x * b.x + a.y * b.y;
}

/* To the right of the way lies propellant. */
static struct sm_point right_of(struct sm_point t)
{
    return (struct sm_point){t.y, -t.x};
}

static struct sm_front *add(struct maker *m, struct sm_front front)
{
    front.before = front.after = front.corner[0] = front.corner[1] = -1;
    struct sm_front *f = &m->out->items[m->out->n++];
    *f = front;
    return f;
}

static void add_line(struct maker *m, const struct sm_edge *edge)
{
    const double length = sm_edge_length(edge);
    const struct sm_point u = sm_edge_direction(edge, false);
    add(m, (struct sm_front){.speed = 1.0,
                             .extent = length,
                             .base = edge->a,
                             .u = u,
                             .v = right_of(u),
                             .hub = {0.5 * (edge->a.x + edge->b.x), 0.5 * (edge->a.y + edge->b.y)},
                             .reach = 0.5 * length});
}

static struct sm_point unit_from(struct sm_point centre, struct sm_point p)
{
    const double x = p.x - centre.x, y = p.y - centre.y, r = hypot(x, y);
    return (struct sm_point){x / r, y / r};
}

static struct sm_point between(struct sm_point a, struct sm_point b)
{
    const double x = a.x + b.x, y = a.y + b.y, r = hypot(x, y);
    return r > 1e-3 ? (struct sm_point){x / r, y / r}
                    : (struct sm_point){-a.y, a.x}; /* half a turn: a quarter on */
}

static void link(struct maker *m, int a, int b);

/* An arc from direction u anticlockwise to v, in two if it is more than half a turn: then no angle of a part is in
 * doubt. is_backward: the second half is walked first, so it is listed first. */
static void add_halved(struct maker *m, struct sm_front arc, double sweep, bool is_backward)
{
    if (sweep <= M_PI * (1.0 + 1e-12)) {
        arc.extent = sm_diamond(arc.u, arc.v);
        add(m, arc);
        return;
    }
    struct sm_point middle = between(arc.u, arc.v); /* of the short way round */
    middle =
        sweep < 2.0 * M_PI ? (struct sm_point){-middle.x, -middle.y} : (struct sm_point){-arc.u.x, -arc.u.y};
    struct sm_front halves[2] = {arc, arc};
    halves[0].v = halves[1].u = middle;
    for (int k = 0; k < 2; k++) {
        struct sm_front *half = &halves[is_backward ? 1 - k : k];
        half->extent = sm_diamond(half->u, half->v);
        add(m, *half);
    }
    link(m, m->out->n - 2, m->out->n - 1);
}

/* Walked clockwise an arc has propellant inside, and its start as an element, which goes anticlockwise, is its end. */
static void add_arc(struct maker *m, const struct sm_edge *edge)
{
    const bool grows = edge->turn > 0;
    const bool is_whole = edge->a.x == edge->b.x && edge->a.y == edge->b.y;
    const struct sm_front arc = {.is_arc = true,
                                 .speed = 1.0,
                                 .sign = grows ? 1.0 : -1.0,
                                 .radius = edge->radius,
                                 .base = edge->centre,
                                 .u = unit_from(edge->centre, grows ? edge->a : edge->b),
                                 .v = unit_from(edge->centre, grows ? edge->b : edge->a),
                                 .hub = edge->centre,
                                 .reach = edge->radius};
    add_halved(m, arc, is_whole ? 2.0 * M_PI : sm_edge_sweep(edge), !grows);
}

/* The arc of radius zero at a corner, from direction u to v anticlockwise. */
static void add_corner(struct maker *m, struct sm_point p, struct sm_point u, struct sm_point v)
{
    add(m, (struct sm_front){.is_arc = true,
                             .speed = 1.0,
                             .sign = 1.0,
                             .extent = sm_diamond(u, v),
                             .base = p,
                             .u = u,
                             .v = v,
                             .hub = p});
}

/* Makes a and b neighbours, which never cut each other. */
static void link(struct maker *m, int a, int b)
{
    struct sm_front *fa = &m->out->items[a], *fb = &m->out->items[b];
    *(fa->after < 0 ? &fa->after : &fa->before) = b;
    *(fb->before < 0 ? &fb->before : &fb->after) = a;
}

/* Makes a and b neighbours across a corner that closes: a's end on the way, b's start. */
static void close_corner(struct maker *m, int a, int b)
{
    struct sm_front *fa = &m->out->items[a], *fb = &m->out->items[b];
    fa->corner[fa->is_arc && fa->sign < 0.0 ? 0 : 1] = b;
    fb->corner[fb->is_arc && fb->sign < 0.0 ? 1 : 0] = a;
}

/* The corner where the way turns from t0 to t1 between elements a and b; -1 for none, at a chain's end. */
static void turn_corner(struct maker *m, struct sm_point p, struct sm_point t0, struct sm_point t1, int a,
                        int b)
{
    const double sine = cross(t0, t1);
    if (fabs(sine) < SMOOTH && dot(t0, t1) > 0.0) {
        if (a >= 0 && b >= 0)
            link(m, a, b);
        return;
    }
    if (sine < 0.0) {
        if (a >= 0 && b >= 0)
            close_corner(m, a, b);
        return;
    }
    add_corner(m, p, right_of(t0), right_of(t1));
    const int corner = m->out->n - 1;
    if (a >= 0)
        link(m, a, corner);
    if (b >= 0)
        link(m, corner, b);
}

/* What a chain's open end stands on. */
enum footing { IN_THE_OPEN, ON_FIRST_RAY, ON_SECOND_RAY, ON_CYLINDER };

static enum footing find_footing(const struct maker *m, struct sm_point p)
{
    const struct sm_section *s = m->section;
    const double near = ON_WALL * s->radius;
    if (s->sectors > 0 && fabs(p.y) <= near && (p.x >= -near || s->sectors == 1))
        return ON_FIRST_RAY;
    if (s->sectors > 1 && fabs(cross(m->ray, p)) <= near && dot(m->ray, p) >= -near)
        return ON_SECOND_RAY;
    if (s->outer == SM_OUTER_HELD && fabs(hypot(p.x, p.y) - s->radius) <= near)
        return ON_CYLINDER;
    return IN_THE_OPEN;
}

/* At a ray the way goes on as in a mirror, which makes a corner with the straight way over the ray; at the cylinder the
 * end burns all round, and the cylinder cuts what lies outside. */
static enum sm_status end_chain(struct maker *m, struct sm_point p, struct sm_point t, int element,
                                bool is_start)
{
    const enum footing footing = find_footing(m, p);
    if (footing == IN_THE_OPEN)
        return sm_fail(m->err, SM_E_GEOMETRY, "the outline is open: it ends at x = %.6g mm, y = %.6g mm",
                       1e3 * p.x, 1e3 * p.y);
    if (footing == ON_CYLINDER) {
        const struct sm_point n = right_of(t);
        if (is_start)
            add_corner(m, p, (struct sm_point){-t.x, -t.y}, n);
        else
            add_corner(m, p, n, t);
        link(m, element, m->out->n - 1);
        return SM_OK;
    }
    const struct sm_point ray = footing == ON_FIRST_RAY ? (struct sm_point){1.0, 0.0} : m->ray;
    struct sm_point over = {-ray.y, ray.x};
    if (dot(over, t) < 0.0)
        over = (struct sm_point){-over.x, -over.y};
    if (is_start)
        turn_corner(m, p, over, t, -1, element);
    else
        turn_corner(m, p, t, over, element, -1);
    return SM_OK;
}

static enum sm_status add_chain(struct maker *m, const struct sm_chain *chain)
{
    const struct sm_edge *edges = m->section->contour.edges + chain->first;
    const int first = m->out->n;
    int last = -1;
    for (size_t k = 0; k < chain->n; k++) {
        const int next = m->out->n;
        if (edges[k].turn == 0)
            add_line(m, &edges[k]);
        else
            add_arc(m, &edges[k]);
        const int end = m->out->n - 1;
        if (k > 0)
            turn_corner(m, edges[k].a, sm_edge_direction(&edges[k - 1], true),
                        sm_edge_direction(&edges[k], false), last, next);
        last = end;
    }
    const struct sm_edge *start = &edges[0], *end = &edges[chain->n - 1];
    const struct sm_point t0 = sm_edge_direction(start, false), t1 = sm_edge_direction(end, true);
    if (sm_chain_is_closed(&m->section->contour, chain)) {
        turn_corner(m, end->b, t1, t0, last, first);
        return SM_OK;
    }
    SM_TRY(end_chain(m, start->a, t0, first, true));
    return end_chain(m, end->b, t1, last, false);
}

/* An arc of the cylinder from one direction anticlockwise to another, at the angle given [rad]. */
static void add_cylinder_arc(struct maker *m, struct sm_point from, struct sm_point to, double sweep,
                             bool burns)
{
    const double radius = m->section->radius;
    const struct sm_front arc = {.is_arc = true,
                                 .speed = burns ? 1.0 : 0.0,
                                 .sign = burns ? -1.0 : 1.0,
                                 .radius = radius,
                                 .u = from,
                                 .v = to,
                                 .reach = radius};
    add_halved(m, arc, sweep, false);
}

static double angle_between(struct sm_point from, struct sm_point to)
{
    const double angle = atan2(cross(from, to), dot(from, to));
    return angle > 0.0 ? angle : angle + 2.0 * M_PI;
}

/* All of the cylinder that the half-sector or the whole has. */
static void add_cylinder(struct maker *m, bool burns)
{
    const struct sm_point x_axis = {1.0, 0.0};
    const int n = m->section->sectors;
    add_cylinder_arc(m, x_axis, n > 0 ? m->ray : x_axis, n > 0 ? M_PI / n : 2.0 * M_PI, burns);
}

/* Where chains end on the cylinder, by place round it. */
struct landing {
    double place; /* [1] */
    struct sm_point towards;
    bool is_start; /* then propellant lies beyond it, else before it */
};

static size_t add_landing(const struct maker *m, struct landing *list, size_t n, struct sm_point p,
                          bool is_start)
{
    if (find_footing(m, p) != ON_CYLINDER)
        return n;
    const struct sm_point towards = unit_from((struct sm_point){0.0, 0.0}, p);
    const struct landing landing = {sm_diamond((struct sm_point){1.0, 0.0}, towards), towards, is_start};
    size_t k = n;
    for (; k > 0 && list[k - 1].place > landing.place; k--)
        list[k] = list[k - 1];
    list[k] = landing;
    return n + 1;
}

/* The stretches of the cylinder that touch propellant: all of it, but for what lies between the ends of a chain. */
static enum sm_status add_rims(struct maker *m, struct sm_arena *arena)
{
    const struct sm_contour *contour = &m->section->contour;
    const struct sm_point x_axis = {1.0, 0.0}, last = m->section->sectors > 0 ? m->ray : x_axis;
    struct landing *list = sm_arena_alloc(arena, 2 * contour->n_chains + 1, sizeof *list);
    if (!list)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    size_t n = 0;
    for (size_t i = 0; i < contour->n_chains; i++) {
        const struct sm_chain *chain = &contour->chains[i];
        if (chain->n == 0 || sm_chain_is_closed(contour, chain))
            continue;
        n = add_landing(m, list, n, contour->edges[chain->first].a, true);
        n = add_landing(m, list, n, contour->edges[chain->first + chain->n - 1].b, false);
    }
    if (n == 0)
        add_cylinder(m, false);
    for (size_t i = 0; i < n; i++) {
        if (i > 0 && list[i].is_start == list[i - 1].is_start)
            return sm_fail(m->err, SM_E_GEOMETRY,
                           "the outline does not bound the propellant: chains meet the outer wall "
                           "in the wrong order");
        const struct sm_point from = i > 0 ? list[i - 1].towards : x_axis;
        if (!list[i].is_start)
            add_cylinder_arc(m, from, list[i].towards, angle_between(from, list[i].towards), false);
        else if (i + 1 == n)
            add_cylinder_arc(m, list[i].towards, last, angle_between(list[i].towards, last), false);
    }
    return SM_OK;
}

static void add_walls(struct maker *m)
{
    const struct sm_section *s = m->section;
    const struct sm_point x_axis = {1.0, 0.0};
    const double far = 4.0 * s->radius;
    if (s->sectors > 0)
        add(m, (struct sm_front){.u = x_axis, .v = {0.0, 1.0}, .extent = far});
    if (s->sectors > 1)
        add(m, (struct sm_front){.u = m->ray, .v = {m->ray.y, -m->ray.x}, .extent = far});
    if (s->outer == SM_OUTER_HELD)
        add(m,
            (struct sm_front){
                .is_arc = true, .sign = 1.0, .radius = s->radius, .extent = 4.0, .u = x_axis, .v = x_axis});
}

/* All of the contour within the cylinder and the half-sector? */
static enum sm_status check_inside(const struct maker *m)
{
    const struct sm_section *s = m->section;
    const double near = ON_WALL * s->radius;
    for (size_t i = 0; i < s->contour.n_edges; i++)
        for (int k = 0; k <= 8; k++) {
            const struct sm_point p = sm_edge_point(&s->contour.edges[i], k / 8.0);
            if (hypot(p.x, p.y) > s->radius + near)
                return sm_fail(
                    m->err, SM_E_GEOMETRY,
                    "the port reaches x = %.6g mm, y = %.6g mm, outside the grain's radius of %.6g mm",
                    1e3 * p.x, 1e3 * p.y, 1e3 * s->radius);
            if (s->sectors > 0 && (p.y < -near || cross(p, m->ray) < -near))
                return sm_fail(
                    m->err, SM_E_GEOMETRY,
                    "the port leaves its half-sector at x = %.6g mm, y = %.6g mm: neighbours overlap",
                    1e3 * p.x, 1e3 * p.y);
        }
    return SM_OK;
}

/* Do two elements cross, other than where one's end meets the other's? */
static bool cross_each_other(const struct sm_fronts *fronts, int i, int j, struct sm_point *where)
{
    const struct sm_front *a = &fronts->items[i], *b = &fronts->items[j];
    const double near = ON_WALL * fronts->size;
    struct sm_point p[2];
    const int n = sm_front_meetings(fronts, i, j, 0.0, p);
    for (int k = 0; k < n; k++) {
        const double sa = a->is_arc ? a->radius : 1.0, sb = b->is_arc ? b->radius : 1.0;
        const double pa = sa * sm_front_place(a, p[k]), pb = sb * sm_front_place(b, p[k]);
        const double ea = a->extent < 4.0 || !a->is_arc ? sa * a->extent : SM_INF;
        const double eb = b->extent < 4.0 || !b->is_arc ? sb * b->extent : SM_INF;
        if (pa < -near || pa > ea + near || pb < -near || pb > eb + near)
            continue;
        const bool at_end_a = pa < near || pa > ea - near, at_end_b = pb < near || pb > eb - near;
        *where = p[k];
        if (!at_end_a || !at_end_b)
            return true;
    }
    return false;
}

static enum sm_status check_crossings(const struct maker *m)
{
    const struct sm_fronts *fronts = m->out;
    for (int i = 0; i < fronts->n_burning; i++)
        for (int j = i + 1; j < fronts->n_burning; j++) {
            const struct sm_front *a = &fronts->items[i], *b = &fronts->items[j];
            const struct sm_point d = {a->hub.x - b->hub.x, a->hub.y - b->hub.y};
            const double range = a->reach + b->reach;
            struct sm_point where;
            if (a->reach == 0.0 || b->reach == 0.0 || dot(d, d) > range * range)
                continue; /* corners cross nothing */
            if (j != a->before && j != a->after && cross_each_other(fronts, i, j, &where))
                return sm_fail(m->err, SM_E_GEOMETRY,
                               "the outline crosses itself at x = %.6g mm, y = %.6g mm", 1e3 * where.x,
                               1e3 * where.y);
        }
    return SM_OK;
}

enum sm_status sm_section_fronts(struct sm_arena *arena, const struct sm_section *section,
                                 struct sm_fronts *out, struct sm_error *err)
{
    const struct sm_contour *contour = &section->contour;
    SM_TRY(sm_contour_check_memory(contour, err));
    *out = (struct sm_fronts){.size = section->radius};
    struct maker m = {.section = section, .out = out, .err = err};
    const double angle = section->sectors > 0 ? M_PI / section->sectors : 0.0;
    m.ray = (struct sm_point){cos(angle), section->sectors == 1 ? 0.0 : sin(angle)};
    /* An edge each, in two halves, a corner each; two more corners and a rim, in halves, a chain; the cylinder, two rays
     * and a rim. */
    out->items = sm_arena_alloc(arena, 3 * contour->n_edges + 4 * contour->n_chains + 8, sizeof *out->items);
    if (!out->items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(check_inside(&m));
    for (size_t i = 0; i < contour->n_chains; i++)
        if (contour->chains[i].n > 0)
            SM_TRY(add_chain(&m, &contour->chains[i]));
    if (section->outer == SM_OUTER_BURNS)
        add_cylinder(&m, true);
    out->n_burning = out->n;
    add_walls(&m);
    out->n_walls = out->n;
    if (section->outer == SM_OUTER_HELD)
        SM_TRY(add_rims(&m, arena));
    return check_crossings(&m);
}

/* ---- burning ---- */

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
    sm_planar_area(&section->fronts, &stages->items[0], 0.0, &first, &perimeter);
    sm_planar_area(&section->fronts, &stages->items[stages->n - 1], stages->web, &last, &perimeter);
    first *= copies / circle;
    last *= copies / circle;
    if (!(first > 0.0 && first < 1.0 + 1e-12 && fabs(last) < 1e-7))
        return sm_fail(err, SM_E_GEOMETRY,
                       "the outline does not bound the propellant: parts lie inside each other");
    return SM_OK;
}

enum sm_status sm_section_burn(struct sm_arena *arena, const struct sm_section *section,
                               struct sm_burning_section *out, struct sm_error *err)
{
    *out = (struct sm_burning_section){.sectors = section->sectors, .radius = section->radius};
    SM_TRY(sm_section_fronts(arena, section, &out->fronts, err));
    SM_TRY(sm_stages_find(arena, &out->fronts, &out->stages, err));
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

void sm_section_knot(const struct sm_burning_section *section, size_t stage, double w,
                     struct sm_planar_knot *out)
{
    sm_planar_knot(&section->fronts, &section->stages.items[stage], w, out);
    sm_planar_unfold(section->sectors, out->value);
    sm_planar_unfold(section->sectors, out->slope);
    sm_planar_unfold(section->sectors, out->bend);
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
            sm_planar_area(&section->fronts, &section->stages.items[stage], fmax(w[i], 0.0), &left, &front);
        area[i] = whole - copies * left;
        perimeter[i] = copies * front;
    }
}

/* A part as an edge, propellant on the right: arcs that shrink, and the standing cylinder, are walked clockwise. */
static struct sm_edge edge_of(const struct sm_fronts *fronts, const struct sm_part *part, double w)
{
    const struct sm_front *f = &fronts->items[part->front];
    struct sm_cut_part at;
    sm_part_place(fronts, part, w, &at);
    if (!f->is_arc)
        return (struct sm_edge){.a = at.p[0], .b = at.p[1]};
    const bool grows = f->sign > 0.0 && f->speed > 0.0;
    return (struct sm_edge){.a = at.p[grows ? 0 : 1],
                            .b = at.p[grows ? 1 : 0],
                            .centre = f->base,
                            .radius = at.radius,
                            .turn = grows ? 1 : -1};
}

enum sm_status sm_section_outline(struct sm_arena *arena, const struct sm_burning_section *section, double w,
                                  bool with_cylinder, struct sm_contour *out, struct sm_error *err)
{
    sm_contour_init(out, arena);
    const size_t stage = sm_section_stage(section, w);
    if (stage >= section->stages.n)
        return SM_OK;
    const struct sm_parts *parts = &section->stages.items[stage].parts;
    struct sm_contour half;
    sm_contour_init(&half, arena);
    for (int k = 0; k < (with_cylinder ? parts->n : parts->n_burning); k++) {
        const struct sm_edge edge = edge_of(&section->fronts, &parts->items[k], fmax(w, 0.0));
        if (sm_edge_length(&edge) > ON_WALL * section->radius)
            sm_contour_add_loose(&half, &edge);
    }
    SM_TRY(sm_contour_check_memory(&half, err));
    if (section->sectors > 0)
        sm_contour_unfold(half.edges, half.n_edges, section->sectors, out);
    else
        *out = half;
    return sm_contour_stitch(out, 10.0 * ON_WALL * section->radius, err);
}
