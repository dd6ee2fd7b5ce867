#include "grain/meridian.h"

#include <math.h>
#include <string.h>

#include "grain/figure.h"
#include "grain/geodesic.h"
#include "grain/revolve.h"
#include "grain/shape.h"
#include "grain/table.h"

static const double ON_WALL = 1e-9;   /* share of the size within which a point lies on a wall [1] */
static const double TOLERANCE = 1e-9; /* on the area, share of the largest [1] */
static const double JUMP = 1e-10; /* of the volume at an event, share of the cylinder's, that is none [1] */

enum {
    DOME_STEPS = 8,
    HALVINGS = 10,
    MAX_DOME = 2 * (DOME_STEPS + 2 * HALVINGS),
    FLAT_WALLS = 4,
    FLAT_RIMS = 1,
    MAX_WALLS = FLAT_WALLS + 2 * MAX_DOME,
    MAX_RIMS = FLAT_RIMS + 2 * MAX_DOME
};

/* Depths of domes over radii beyond which arcs would turn within a rounding of each other [1]. */
static const double OFF_DOME =
    2e-6; /* share of the radius by which a dome's arcs may miss it where they join [1] */
static const double FLATTEST = 1.0 / 200.0, STEEPEST = 200.0;

struct maker {
    const struct sm_meridian *m;
    struct sm_contour contour; /* of all that burns */
    struct sm_front *walls, *rims;
    struct sm_figure figure;
};

/* ---- domes ---- */

/* An anticlockwise arc from p, walking along t, to q: a wall and a rim. */
static void add_dome_arc(struct maker *k, struct sm_point p, struct sm_point t, struct sm_point q)
{
    const struct sm_point d = sm_point_minus(q, p), left = {-t.y, t.x};
    const double radius = 0.5 * sm_point_dot(d, d) / sm_point_dot(d, left);
    const struct sm_point centre = {p.x + radius * left.x, p.y + radius * left.y};
    const struct sm_point from = {(p.x - centre.x) / radius, (p.y - centre.y) / radius};
    const struct sm_point to = {(q.x - centre.x) / radius, (q.y - centre.y) / radius};
    const double sweep = atan2(from.x * to.y - from.y * to.x, sm_point_dot(from, to));
    const struct sm_front arc = sm_rim_arc(centre, radius, from, to, sweep);
    k->walls[k->figure.n_walls++] = arc;
    k->rims[k->figure.n_rims++] = arc;
}

/* Two arcs that touch each other and, at p and q, the directions there; both may be equally far from their ends' tangents'
 * meeting, which is the usual choice for a biarc. */
struct biarc {
    struct sm_point p, tp, joint, tj, q;
    bool is_convex; /* both arcs turn anticlockwise */
};

static struct biarc find_biarc(struct sm_point p, struct sm_point tp, struct sm_point q, struct sm_point tq)
{
    struct biarc out = {.p = p, .tp = tp, .q = q};
    const struct sm_point v = sm_point_minus(q, p), sum = {tp.x + tq.x, tp.y + tq.y};
    const double b = sm_point_dot(v, sum), a = 2.0 * (1.0 - sm_point_dot(tp, tq)), c = sm_point_dot(v, v);
    const double d = c / (b + sqrt(b * b + a * c)); /* root of a d^2 + 2 b d - c = 0 */
    out.joint =
        (struct sm_point){0.5 * (p.x + q.x + d * (tp.x - tq.x)), 0.5 * (p.y + q.y + d * (tp.y - tq.y))};
    const struct sm_point chord = sm_point_minus(out.joint, p);
    const double along = 2.0 * sm_point_dot(chord, tp) / sm_point_dot(chord, chord);
    out.tj = (struct sm_point){along * chord.x - tp.x, along * chord.y - tp.y}; /* tp mirrored at the chord */
    out.is_convex = sm_point_cross(tp, out.tj) > 0.0 && sm_point_cross(out.tj, tq) > 0.0;
    return out;
}

/* A point of an ellipse about (z, 0) and the direction of walking there, by its parameter [rad]; exact at the quarters. */
struct ellipse {
    double z, depth, radius; /* [m] */
};

static struct sm_point ellipse_at(const struct ellipse *e, double angle, struct sm_point *way)
{
    const double near = 1e-12, c = cos(angle), s = sin(angle);
    const double cosine = fabs(c) < near ? 0.0 : c, sine = fabs(s) < near ? 0.0 : s;
    const double tx = -e->depth * sine, ty = e->radius * cosine, length = hypot(tx, ty);
    *way = (struct sm_point){tx / length, ty / length};
    return (struct sm_point){e->z + e->depth * cosine, e->radius * sine};
}

/* How far a point lies off the ellipse, to first order [m]. */
static double off_ellipse(const struct ellipse *e, struct sm_point p)
{
    const double x = (p.x - e->z) / e->depth, y = p.y / e->radius;
    return 0.5 * fabs(x * x + y * y - 1.0) / hypot(x / e->depth, y / e->radius);
}

/* Of a flat dome nearly all of the turning is next to its rim, where two arcs that touch at once its flat and its steep part
 * would not be convex, nor near: there in halves, and halves again. */
static void add_dome_step(struct maker *k, const struct ellipse *e, double from, double to, int halvings)
{
    struct sm_point tp, tq;
    const struct sm_point p = ellipse_at(e, from, &tp), q = ellipse_at(e, to, &tq);
    const struct biarc b = find_biarc(p, tp, q, tq);
    const bool is_good = b.is_convex && off_ellipse(e, b.joint) <= OFF_DOME * e->radius;
    if (!is_good && halvings > 0 && k->figure.n_rims + 2 * (DOME_STEPS + HALVINGS) <= MAX_RIMS) {
        add_dome_step(k, e, from, 0.5 * (from + to), halvings - 1);
        add_dome_step(k, e, 0.5 * (from + to), to, halvings - 1);
        return;
    }
    add_dome_arc(k, b.p, b.tp, b.joint);
    add_dome_arc(k, b.joint, b.tj, b.q);
}

/* A quarter of an ellipse about (z, 0), from the angle start on: 0 for the aft dome, pi/2 for the fore one. */
static void add_dome(struct maker *k, double z, double depth, double start)
{
    const struct ellipse e = {z, depth, k->m->radius};
    const double step = 0.5 * M_PI / DOME_STEPS;
    if (fabs(depth - e.radius) < 1e-12 * e.radius) {
        struct sm_point way;
        const struct sm_point p = ellipse_at(&e, start, &way);
        struct sm_point end_way;
        add_dome_arc(k, p, way, ellipse_at(&e, start + 0.5 * M_PI, &end_way));
        return;
    }
    for (int i = 0; i < DOME_STEPS; i++)
        add_dome_step(k, &e, start + step * i, start + step * (i + 1), HALVINGS);
}

double sm_meridian_dome_depth(double radius, double depth, double r)
{
    const struct sm_meridian body = {.radius = radius};
    struct sm_front walls[MAX_WALLS], rims[MAX_RIMS];
    struct maker k = {.m = &body, .walls = walls, .rims = rims};
    if (!(depth > 0.0))
        return 0.0;
    add_dome(&k, -depth, depth, 0.0); /* arcs from the crown at the origin to the rim */
    size_t i = 0;
    while (i + 1 < (size_t)k.figure.n_walls && k.walls[i].base.y + k.walls[i].radius * k.walls[i].v.y < r)
        i++;
    const struct sm_front *arc = &k.walls[i];
    const double y = r - arc->base.y;
    return -(arc->base.x + sqrt(fmax((arc->radius - y) * (arc->radius + y), 0.0)));
}

/* ---- walls, rims and what burns ---- */

static void add_walls(struct maker *k)
{
    const struct sm_meridian *m = k->m;
    const struct sm_point origin = {0.0, 0.0}, aft = {m->length, 0.0},
                          top = {m->length - m->aft_dome, m->radius};
    k->walls[k->figure.n_walls++] = sm_wall_line(origin, (struct sm_point){1.0, 0.0});
    if (m->aft_dome > 0.0)
        add_dome(k, m->length - m->aft_dome, m->aft_dome, 0.0);
    else if (!(m->burning & SM_FACE_AFT_END))
        k->walls[k->figure.n_walls++] = sm_wall_line(aft, (struct sm_point){0.0, 1.0});
    if (!(m->burning & SM_FACE_OUTER)) {
        k->walls[k->figure.n_walls] = sm_wall_line(top, (struct sm_point){-1.0, 0.0});
        k->walls[k->figure.n_walls++].extent = m->length - m->aft_dome - m->fore_dome;
        if (m->length - m->aft_dome > m->fore_dome)
            k->rims[k->figure.n_rims++] = sm_rim_line((struct sm_point){m->length - m->aft_dome, m->radius},
                                                      (struct sm_point){m->fore_dome, m->radius});
    }
    if (m->fore_dome > 0.0)
        add_dome(k, m->fore_dome, m->fore_dome, 0.5 * M_PI);
    else if (!(m->burning & SM_FACE_FORE_END))
        k->walls[k->figure.n_walls++] = sm_wall_line(origin, (struct sm_point){0.0, -1.0});
}

/* Goes on to a point, from where the chain is if that is where it is wanted, else in a new chain. */
static void face(struct sm_contour *c, double z0, double r0, double z1, double r1, bool *is_drawing)
{
    if (!*is_drawing)
        sm_contour_start(c, z0, r0);
    sm_contour_line(c, z1, r1);
    *is_drawing = true;
}

/* Round the propellant with the void on the left: outer wall, aft face, bore, fore face. */
static void add_faces(struct maker *k)
{
    const struct sm_meridian *m = k->m;
    struct sm_contour *c = &k->contour;
    const struct sm_edge *bore = m->bore.edges;
    const size_t n = m->bore.n_edges;
    const double near = ON_WALL * (m->length + m->radius);
    const bool from_aft = n > 0 && m->aft_dome == 0.0 && fabs(bore[0].a.x - m->length) <= near;
    const bool to_fore = n > 0 && m->fore_dome == 0.0 && fabs(bore[n - 1].b.x) <= near;
    bool is_drawing = false;
    if (m->burning & SM_FACE_OUTER)
        face(c, 0.0, m->radius, m->length, m->radius, &is_drawing);
    if (m->burning & SM_FACE_AFT_END)
        face(c, m->length, m->radius, m->length, from_aft ? bore[0].a.y : 0.0, &is_drawing);
    else
        is_drawing = false;
    is_drawing = is_drawing && from_aft;
    for (size_t i = 0; i < n; i++) {
        if (!is_drawing)
            sm_contour_start(c, bore[i].a.x, bore[i].a.y);
        is_drawing = true;
        if (bore[i].turn == 0)
            sm_contour_line(c, bore[i].b.x, bore[i].b.y);
        else
            sm_contour_arc(c, bore[i].b.x, bore[i].b.y, bore[i].centre.x, bore[i].centre.y, bore[i].turn);
    }
    is_drawing = is_drawing && to_fore;
    if (m->burning & SM_FACE_FORE_END)
        face(c, 0.0, to_fore ? bore[n - 1].b.y : 0.0, 0.0, m->radius, &is_drawing);
}

/* The outer wall is drawn first; where the fore face burns too, it goes on from that. */
static enum sm_status join_faces(struct maker *k, struct sm_error *err)
{
    if (!(k->m->burning & SM_FACE_OUTER && k->m->burning & SM_FACE_FORE_END))
        return SM_OK;
    return sm_contour_stitch(&k->contour, ON_WALL * (k->m->length + k->m->radius), err);
}

bool sm_meridian_bends(const struct sm_meridian *m)
{
    return m->bore.n_edges > 0 && (m->n_sleeves > 0 || !(m->burning & SM_FACE_BORE));
}

static enum sm_status check_dome(const char *name, double depth, double radius, struct sm_error *err)
{
    if (depth == 0.0 || (depth >= FLATTEST * radius && depth <= STEEPEST * radius))
        return SM_OK;
    return sm_at(
        err,
        sm_fail(err, SM_E_GEOMETRY,
                "a dome %.4g mm deep in a grain %.4g mm across: it must be from %.4g mm to %.4g mm, or 0 "
                "for a flat end",
                1e3 * depth, 2e3 * radius, 1e3 * FLATTEST * radius, 1e3 * STEEPEST * radius),
        "/%s", name);
}

static enum sm_status check_meridian(const struct sm_meridian *m, struct sm_error *err)
{
    if (sm_meridian_bends(m))
        return sm_at(
            err,
            sm_fail(err, SM_E_GEOMETRY,
                    m->is_geodesic
                        ? "this is not reckoned where fronts go round the edge of an inhibited bore"
                        : "the bore is inhibited, so fronts go round edges and not in straight lines; say "
                          "\"burnback\": \"geodesic\" to have them followed there"),
            m->n_sleeves > 0 ? "/sleeves" : "/burning");
    if ((m->fore_dome > 0.0 && m->burning & (SM_FACE_FORE_END | SM_FACE_OUTER)) ||
        (m->aft_dome > 0.0 && m->burning & (SM_FACE_AFT_END | SM_FACE_OUTER)))
        return sm_at(err, sm_fail(err, SM_E_GEOMETRY, "a domed end is bonded to the case and can't burn"),
                     "/burning");
    SM_TRY(check_dome("fore_dome", m->fore_dome, m->radius, err));
    SM_TRY(check_dome("aft_dome", m->aft_dome, m->radius, err));
    if (m->fore_dome + m->aft_dome > m->length)
        return sm_at(err,
                     sm_fail(err, SM_E_GEOMETRY, "the domes take %g mm, more than the length of %g mm",
                             1e3 * (m->fore_dome + m->aft_dome), 1e3 * m->length),
                     "/length");
    return SM_OK;
}

/* ---- haste along a wall ---- */

/* The line whose offset is the front beside a path that burns k times faster: from the path's burning end at p, leaning out
 * over the path, which runs along z in the sense of way and has propellant on its side towards r in the sense of in. */
static struct sm_front hasty_line(const struct sm_meridian *m, double k, struct sm_point p, double way,
                                  double in)
{
    const double lean = sqrt((k - 1.0) * (k + 1.0)), extent = m->length * (lean + 1.0) + m->radius;
    const struct sm_point out = {way * lean / k, -in / k}, v = {way / k, in * lean / k};
    const struct sm_point far = {p.x + extent * out.x, p.y + extent * out.y};
    const bool goes_out = out.y * v.x - out.x * v.y > 0.0; /* to the right of the way lies propellant */
    return (struct sm_front){
        .speed = 1.0,
        .extent = extent,
        .base = goes_out ? p : far,
        .u = goes_out ? out : (struct sm_point){-out.x, -out.y},
        .v = v,
        .hub = {0.5 * (p.x + far.x), 0.5 * (p.y + far.y)},
        .reach = 0.5 * extent,
        .before = -1,
        .after = -1,
        .corner = {-1, -1},
    };
}

/* The arc round a recess's tip, where the line of haste from there touches it at all times: it ends there and runs into the line,
 * which a rounding would else put now before it, now behind it. */
static void end_arc_at(struct sm_front *items, int n_burning, int line)
{
    struct sm_front *haste = &items[line];
    for (int i = 0; i < n_burning; i++) {
        struct sm_front *arc = &items[i];
        const bool is_tip =
            arc->is_arc && arc->radius == 0.0 && arc->base.x == haste->base.x && arc->base.y == haste->base.y;
        if (!is_tip || sm_point_cross(haste->v, arc->u) * sm_point_cross(arc->v, haste->v) <= 0.0 ||
            sm_point_dot(haste->v, arc->u) <= 0.0)
            continue;
        arc->v = haste->v;
        arc->extent = sm_diamond(arc->u, arc->v);
        arc->after = line;
        haste->before = i;
    }
}

/* Adds the lines of haste behind the other burning fronts. */
static enum sm_status add_haste(struct sm_arena *arena, const struct sm_meridian *m, struct sm_fronts *fronts,
                                struct sm_error *err)
{
    struct sm_front lines[2];
    int n = 0;
    const bool is_aft = m->burning & SM_FACE_AFT_END;
    const double face = is_aft ? m->length : 0.0, way = is_aft ? -1.0 : 1.0;
    const double bottom = m->bore.n_edges > 0 ? m->bore.edges[m->bore.n_edges - 1].b.x : face;
    if (m->bond_line_ratio > 1.0)
        lines[n++] = hasty_line(m, m->bond_line_ratio, (struct sm_point){face, m->radius}, way, -1.0);
    if (m->axis_ratio > 1.0)
        lines[n++] = hasty_line(m, m->axis_ratio, (struct sm_point){bottom, 0.0}, way, 1.0);
    if (n == 0)
        return SM_OK;
    struct sm_front *items = sm_arena_alloc(arena, (size_t)(fronts->n + n), sizeof *items);
    if (!items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (int i = 0; i < fronts->n + n; i++) {
        const int later = i - fronts->n_burning - n;
        items[i] = i < fronts->n_burning ? fronts->items[i]
                   : later < 0           ? lines[i - fronts->n_burning]
                                         : fronts->items[fronts->n_burning + later];
    }
    if (m->axis_ratio > 1.0)
        end_arc_at(items, fronts->n_burning, fronts->n_burning + n - 1);
    fronts->items = items;
    fronts->n_burning += n;
    fronts->n_walls += n;
    fronts->n += n;
    fronts->come_in = true;
    return SM_OK;
}

static enum sm_status check_inside(const struct maker *k, const struct sm_fronts *fronts,
                                   struct sm_error *err)
{
    const double near = ON_WALL * fronts->size;
    for (size_t i = 0; i < k->m->bore.n_edges; i++)
        for (int j = 0; j <= 8; j++) {
            const struct sm_point p = sm_edge_point(&k->m->bore.edges[i], j / 8.0);
            const bool is_inside = p.x >= -near && p.x <= k->m->length + near && p.y <= k->m->radius + near;
            if (!is_inside || !sm_front_is_clear(fronts, p, 0.0, near, -1, -1))
                return sm_fail(err, SM_E_GEOMETRY, "the bore leaves the grain at z = %.6g mm, radius %.6g mm",
                               1e3 * p.x, 1e3 * p.y);
        }
    return SM_OK;
}

/* ---- gaps ---- */

/* Behind the last stage is nothing. */
static void gap_knot(const struct sm_burning_meridian *meridian, size_t stage, double w,
                     struct sm_geometry_knot *out)
{
    const struct sm_stage *gap = &meridian->stages.items[stage];
    struct sm_geometry_knot before, behind = {.w = gap->w1};
    sm_revolve_knot(&meridian->fronts, gap - (stage > 0 ? 1 : 0), gap->w0, &before);
    if (stage + 1 < meridian->stages.n)
        sm_revolve_knot(&meridian->fronts, gap + 1, gap->w1, &behind);
    *out = (struct sm_geometry_knot){.w = w};
    sm_stage_bridge(gap, w, SM_N_INTEGRALS, before.value, behind.value, out->value, out->slope);
}

/* Between stages so long that a gap may be put there, does the volume jump by what may burn in one? next: NULL behind the last. */
static bool jumps(const struct sm_fronts *fronts, const struct sm_stage *a, const struct sm_stage *next,
                  double whole)
{
    const double blur = sm_stages_blur(fronts), least = 4.0 * blur;
    double left, right = 0.0, area_left, area_right = 0.0;
    if (sm_stage_is_gap(a) || a->w1 - a->w0 < least ||
        (next && (sm_stage_is_gap(next) || next->w1 - next->w0 < least)))
        return false;
    sm_revolve_volume(fronts, a, a->w1, &left, &area_left);
    if (next)
        sm_revolve_volume(fronts, next, next->w0, &right, &area_right);
    const double jump = fabs(left - right);
    return jump > JUMP * whole && jump < 2.0 * blur * fmax(area_left, area_right);
}

/* A front all but parallel to the wall that it runs into goes out along it faster than stages are told apart. Then one make-up
 * does not hold up to the event, or the other not from there: a gap is put between them. */
static enum sm_status add_gaps(struct sm_arena *arena, const struct sm_meridian *m,
                               struct sm_burning_meridian *b, struct sm_error *err)
{
    const double whole = M_PI * m->radius * m->radius * m->length, blur = sm_stages_blur(&b->fronts);
    struct sm_stages *stages = &b->stages;
    struct sm_stage *all = sm_arena_alloc(arena, 2 * stages->n + 1, sizeof *all);
    size_t n = 0;
    if (!all)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < stages->n; i++) {
        struct sm_stage *stage = &stages->items[i], *next = i + 1 < stages->n ? stage + 1 : NULL;
        const bool is_open = jumps(&b->fronts, stage, next, whole);
        const double event = stage->w1;
        stage->w1 -= is_open ? blur : 0.0;
        all[n++] = *stage;
        if (is_open)
            all[n++] = (struct sm_stage){event - blur, event + blur, event + blur,
                                         next ? next->parts : stage->parts};
        if (is_open && next)
            next->w0 = next->from = event + blur;
    }
    stages->items = all;
    stages->n = n;
    stages->web = n > 0 ? all[n - 1].w1 : 0.0;
    return SM_OK;
}

/* ---- burning ---- */

enum sm_status sm_meridian_burn(struct sm_arena *arena, const struct sm_meridian *meridian,
                                struct sm_burning_meridian *out, struct sm_error *err)
{
    SM_TRY(check_meridian(meridian, err));
    SM_TRY(sm_contour_check_memory(&meridian->bore, err));
    const bool is_domed = meridian->fore_dome > 0.0 || meridian->aft_dome > 0.0;
    struct maker k = {.m = meridian};
    k.walls = sm_arena_alloc(arena, is_domed ? MAX_WALLS : FLAT_WALLS, sizeof *k.walls);
    k.rims = sm_arena_alloc(arena, is_domed ? MAX_RIMS : FLAT_RIMS, sizeof *k.rims);
    if (!k.walls || !k.rims)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    sm_contour_init(&k.contour, arena);
    k.figure = (struct sm_figure){.contour = &k.contour,
                                  .walls = k.walls,
                                  .rims = k.rims,
                                  .size = fmax(meridian->length, meridian->radius)};
    add_walls(&k);
    add_faces(&k);
    SM_TRY(join_faces(&k, err));
    SM_TRY(sm_figure_fronts(arena, &k.figure, &out->fronts, err));
    SM_TRY(check_inside(&k, &out->fronts, err));
    SM_TRY(add_haste(arena, meridian, &out->fronts, err));
    SM_TRY(sm_stages_find(arena, &out->fronts, &out->stages, err));
    return add_gaps(arena, meridian, out, err);
}

/* ---- the table ---- */

void sm_meridian_knot(const struct sm_burning_meridian *meridian, size_t stage, double w,
                      struct sm_geometry_knot *out)
{
    if (sm_stage_is_gap(&meridian->stages.items[stage])) {
        gap_knot(meridian, stage, w, out);
        return;
    }
    sm_revolve_knot(&meridian->fronts, &meridian->stages.items[stage], w, out);
}

void sm_meridian_slopes(const struct sm_burning_meridian *meridian, size_t stage, double w,
                        double slope[SM_N_INTEGRALS])
{
    if (sm_stage_is_gap(&meridian->stages.items[stage])) {
        struct sm_geometry_knot knot;
        gap_knot(meridian, stage, w, &knot);
        memcpy(slope, knot.slope, sizeof knot.slope);
        return;
    }
    sm_revolve_slopes(&meridian->fronts, &meridian->stages.items[stage], w, slope);
}

enum sm_status sm_meridian_areas(struct sm_arena *scratch, const struct sm_burning_meridian *meridian,
                                 const double *w, size_t n, double *area, struct sm_error *err)
{
    const struct sm_stages *stages = &meridian->stages;
    struct sm_revolve_plan plan = {.stage = NULL};
    for (size_t i = 0, stage = 0; i < n; i++) {
        area[i] = 0.0;
        while (stage < stages->n && w[i] >= stages->items[stage].w1)
            stage++;
        if (stage == stages->n)
            continue;
        if (plan.stage != &stages->items[stage]) {
            const int n_burning = stages->items[stage].parts.n_burning;
            int *others = sm_arena_alloc(scratch, (size_t)n_burning, sizeof *others);
            if (!others)
                return sm_fail(err, SM_E_NOMEM, "out of memory");
            sm_revolve_plan(&meridian->fronts, &stages->items[stage], others, &plan);
        }
        area[i] = sm_revolve_area(&meridian->fronts, &plan, fmax(w[i], 0.0));
    }
    return SM_OK;
}

static void meridian_slopes(void *user, size_t k, double w, double slope[SM_N_INTEGRALS])
{
    sm_meridian_slopes(user, k, w, slope);
}

static void meridian_knot(void *user, size_t k, double w, struct sm_geometry_knot *out)
{
    sm_meridian_knot(user, k, w, out);
}

/* Volume of a cylinder with half ellipsoids for ends. */
static double envelope_of(const struct sm_meridian *m)
{
    const double domes = m->fore_dome + m->aft_dome;
    return M_PI * m->radius * m->radius * (m->length - domes + 2.0 / 3.0 * domes);
}

static double volume_at(const struct sm_burning_meridian *b, size_t stage, double w)
{
    struct sm_geometry_knot knot;
    double volume, area;
    if (sm_stage_is_gap(&b->stages.items[stage])) {
        gap_knot(b, stage, w, &knot);
        return knot.value[SM_VOLUME];
    }
    sm_revolve_volume(&b->fronts, &b->stages.items[stage], w, &volume, &area);
    return volume;
}

/* Does the volume left fall all the way from what it is first, without a jump? Where fronts and walls all but touch, rounding can turn an
 * outline inside out. */
static enum sm_status check_falling(const struct sm_burning_meridian *b, double first, double envelope,
                                    struct sm_error *err)
{
    const double slack = 1e-6 * envelope;
    double before = first;
    for (size_t i = 0; i < b->stages.n; i++)
        for (int j = 0; j <= 2; j++) {
            const struct sm_stage *stage = &b->stages.items[i];
            const double w = stage->w0 + 0.5 * j * (stage->w1 - stage->w0);
            const double volume = volume_at(b, i, w);
            const bool has_jumped = i > 0 && j == 0 && volume < before - slack;
            if (!(volume <= before + slack && volume >= -slack) || has_jumped)
                return sm_fail(
                    err, SM_E_GEOMETRY,
                    "the front can't be followed beyond %.6g mm burned, where it all but touches a "
                    "wall; change a dimension by a little",
                    1e3 * w);
            before = volume;
        }
    return SM_OK;
}

/* Values by fluxes must fall from no more than the envelope to nothing; wrongly walked outlines don't. */
static enum sm_status check_sound(const struct sm_burning_meridian *b, double envelope, struct sm_error *err)
{
    if (b->stages.n == 0)
        return sm_fail(err, SM_E_GEOMETRY, "the port leaves nothing to burn");
    const double first = volume_at(b, 0, 0.0), last = volume_at(b, b->stages.n - 1, b->stages.web);
    if (first > 0.0 && first < envelope * (1.0 + 1e-5) && fabs(last) < 1e-7 * envelope)
        return check_falling(b, first, envelope, err);
    return sm_fail(err, SM_E_GEOMETRY, "the outline of the bore does not bound the propellant");
}

static enum sm_status make_table(struct sm_arena *arena, struct sm_arena *scratch,
                                 const struct sm_meridian *m, struct sm_geometry *out, struct sm_error *err)
{
    struct sm_burning_meridian b;
    SM_TRY(sm_meridian_burn(scratch, m, &b, err));
    const double port = m->bore.n_edges > 0 ? m->bore.edges[0].a.y : 0.0;
    *out = (struct sm_geometry){.length = m->length,
                                .outer_radius = m->radius,
                                .envelope = envelope_of(m),
                                .port_area = M_PI * port * port};
    SM_TRY(check_sound(&b, out->envelope, err));
    double *breaks = sm_arena_alloc(scratch, b.stages.n + 1, sizeof *breaks);
    if (!breaks)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < b.stages.n; i++)
        breaks[i + 1] = b.stages.items[i].w1;
    const struct sm_table_source source = {.knot = meridian_knot,
                                           .slopes = meridian_slopes,
                                           .user = &b,
                                           .breaks = breaks,
                                           .n_stretches = b.stages.n,
                                           .reach = fmax(m->radius, m->length),
                                           .tolerance = TOLERANCE};
    return sm_table_build(arena, &source, out, err);
}

enum sm_status sm_meridian_geometry(struct sm_arena *arena, const struct sm_meridian *meridian,
                                    struct sm_geometry *out, struct sm_error *err)
{
    enum { RESOLUTION = 128 }; /* 1e-3 of the area or better, in tenths of a second */
    if (meridian->is_geodesic && sm_meridian_bends(meridian))
        return sm_geodesic_geometry(arena, meridian, RESOLUTION, out, err);
    struct sm_arena scratch;
    sm_arena_init(&scratch, arena->allocator);
    const enum sm_status status = make_table(arena, &scratch, meridian, out, err);
    sm_arena_release(&scratch);
    return status;
}
