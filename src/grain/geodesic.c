#include "grain/geodesic.h"

#include <math.h>

#include "grain/levels.h"
#include "grain/walls.h"

enum { CORNERS = 4, MOST_PLANES = 1 + CORNERS, MOST_CUTS = 64 };

/* A box's samples and the walls that may cut it. */
struct net {
    int nz, nr;
    double dz, dr;         /* [m] */
    double length, radius; /* of the grain; the last boxes end there [m] */
    const struct sm_way *nodes, *middles;
    const bool *has_wall; /* of boxes */
};

struct maker {
    struct sm_arena *arena, *scratch;
    const struct sm_meridian *m;
    struct sm_walls walls;
    struct net fine, coarse;
    struct sm_error *err;
};

/* ---- the net ---- */

/* A node's place. */
static double node_at(double step, double end, int i)
{
    return fmin(i * step, end);
}

static double middle_at(double step, double end, int i)
{
    return 0.5 * (node_at(step, end, i) + node_at(step, end, i + 1));
}

/* The way at a place; behind a burning wall, that less than nothing that carries it on. */
static struct sm_way way_at(const struct maker *m, struct sm_point p, double step)
{
    struct sm_way way;
    if (sm_walls_is_void(&m->walls, p))
        sm_walls_behind(&m->walls, p, 2.0 * step, &way);
    else
        sm_walls_way(&m->walls, p, &way);
    return way;
}

static struct sm_way *sample(const struct maker *m, const struct net *net, bool of_middles)
{
    double (*const place)(double step, double end, int i) = of_middles ? middle_at : node_at;
    const int nz = net->nz + !of_middles, nr = net->nr + !of_middles;
    struct sm_way *ways = sm_arena_alloc(m->scratch, (size_t)nz * (size_t)nr, sizeof *ways);
    for (int j = 0; ways && j < nr; j++)
        for (int i = 0; i < nz; i++)
            ways[j * nz + i] =
                way_at(m, (struct sm_point){place(net->dz, net->length, i), place(net->dr, net->radius, j)},
                       fmax(net->dz, net->dr));
    return ways;
}

/* Marks the boxes that a wall's bounds touch. */
static void mark(const struct net *net, const struct sm_wall *w, bool *has_wall)
{
    const int i0 = (int)fmax(floor(fmin(w->a.x, w->b.x) / net->dz) - 1.0, 0.0),
              i1 = (int)fmin(floor(fmax(w->a.x, w->b.x) / net->dz) + 1.0, net->nz - 1),
              j0 = (int)fmax(floor(fmin(w->a.y, w->b.y) / net->dr) - 1.0, 0.0),
              j1 = (int)fmin(floor(fmax(w->a.y, w->b.y) / net->dr) + 1.0, net->nr - 1);
    for (int j = j0; j <= j1; j++)
        for (int i = i0; i <= i1; i++)
            has_wall[j * net->nz + i] = true;
}

/* Shares of a box that the last one is short, no simple fractions, so that no front of a drawing in whole millimetres comes
 * to lie between two rows of boxes, where a rounding says which has it [1]. */
static const double short_by[2] = {0.2931, 0.3714};

static enum sm_status make_net(const struct maker *m, int resolution, struct net *net)
{
    const double longest = 20.0 * resolution; /* boxes along a slender grain are longer than high */
    net->length = m->m->length;
    net->radius = m->m->radius;
    net->nr = resolution;
    net->nz = (int)fmin(ceil(resolution * net->length / net->radius), longest);
    net->dr = net->radius / (net->nr - short_by[1]);
    net->dz = net->length / (net->nz - short_by[0]);
    net->nodes = sample(m, net, false);
    net->middles = sample(m, net, true);
    bool *has_wall = sm_arena_alloc(m->scratch, (size_t)net->nz * (size_t)net->nr, sizeof *has_wall);
    if (!net->nodes || !net->middles || !has_wall)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < m->walls.n; i++)
        if (m->walls.walls[i].is_bore)
            mark(net, &m->walls.walls[i], has_wall);
    net->has_wall = has_wall;
    return SM_OK;
}

/* ---- a box's planes ---- */

/* A line's value at x from the box's middle is c + nx x + ny y. */
struct tangent {
    double nx, ny; /* [1] */
    double c;      /* [m] */
};

struct box {
    struct sm_point middle;
    double hz, hr; /* half sides [m] */
    struct tangent tangents[MOST_PLANES];
    int n;
    bool is_least;
};

static double value_at(const struct tangent *t, double x, double y)
{
    return t->c + t->nx * x + t->ny * y;
}

/* Samples of a box, the middle first; those that have no way are left out. */
static int gather(const struct net *net, int i, int j, struct box *b, struct tangent all[MOST_PLANES],
                  double at[MOST_PLANES][3])
{
    int n = 0;
    b->middle = (struct sm_point){middle_at(net->dz, net->length, i), middle_at(net->dr, net->radius, j)};
    b->hz = b->middle.x - node_at(net->dz, net->length, i);
    b->hr = b->middle.y - node_at(net->dr, net->radius, j);
    for (int q = -1; q < CORNERS; q++) {
        const struct sm_way *w = q < 0 ? &net->middles[j * net->nz + i]
                                       : &net->nodes[(j + (q >> 1)) * (net->nz + 1) + i + (q & 1)];
        if (!isfinite(w->length))
            continue;
        at[n][0] = q < 0 ? 0.0 : q & 1 ? b->hz : -b->hz;
        at[n][1] = q < 0 ? 0.0 : q >> 1 ? b->hr : -b->hr;
        at[n][2] = w->length;
        all[n] = (struct tangent){w->nx, w->ny, w->length - w->nx * at[n][0] - w->ny * at[n][1]};
        n++;
    }
    return n;
}

static bool is_known(const struct box *b, const struct tangent *t, double near)
{
    for (int i = 0; i < b->n; i++)
        if (fabs(b->tangents[i].c - t->c) < near &&
            b->tangents[i].nx * t->nx + b->tangents[i].ny * t->ny > 1.0 - 1e-9)
            return true;
    return false;
}

static bool find_tangents(const struct net *net, int i, int j, struct box *b)
{
    struct tangent all[MOST_PLANES];
    double at[MOST_PLANES][3], excess[MOST_PLANES], above = 0.0, below = 0.0;
    const int n = gather(net, i, j, b, all, at);
    const double least = 1e-3 * net->dr;
    for (int q = 0; q < n; q++) {
        excess[q] = value_at(&all[0], at[q][0], at[q][1]) - at[q][2];
        above = fmax(above, excess[q]);
        below = fmax(below, -excess[q]);
    }
    b->n = 0;
    b->is_least = above >= below;
    for (int q = 0; q < n; q++)
        if ((q == 0 || (b->is_least ? excess[q] : -excess[q]) > least) &&
            !is_known(b, &all[q], 1e-6 * net->dr))
            b->tangents[b->n++] = all[q];
    return n > 0;
}

/* ---- fronts ---- */

struct tally {
    double flux[SM_N_INTEGRALS]; /* [m2], [m3], [m4] */
    struct sm_contour *edges;    /* to be drawn; NULL: not wanted */
};

/* Integrals over the band that a line from p to q describes about the axis: cubics at most, so two Gauss points. */
static void add_band(struct sm_point p, struct sm_point q, struct tally *tally)
{
    const double length = hypot(q.x - p.x, q.y - p.y), off = 0.5 / sqrt(3.0);
    double *flux = tally->flux;
    if (tally->edges)
        sm_contour_add_loose(tally->edges, &(struct sm_edge){.a = p, .b = q});
    for (int i = -1; i <= 1; i += 2) {
        const double share = 0.5 + i * off, z = p.x + share * (q.x - p.x), r = p.y + share * (q.y - p.y);
        const double area = M_PI * r * length;
        flux[SM_VOLUME] += area;
        flux[SM_Z] += area * z;
        flux[SM_ZZ] += area * z * z;
        flux[SM_XX] += 0.5 * area * r * r;
        flux[SM_YY] += 0.5 * area * r * r;
    }
}

/* Keeps of the shares [low, high] of a line those where c + slope share is not negative. */
static void keep(double c, double slope, double *low, double *high)
{
    if (slope > 0.0)
        *low = fmax(*low, -c / slope);
    else if (slope < 0.0)
        *high = fmin(*high, -c / slope);
    else if (c < 0.0)
        *high = -SM_INF;
}

/* Adds the parts of a line in a box that lie in propellant: it is cut at the walls, and each part's middle is looked at. */
static void add_cut(const struct sm_walls *walls, struct sm_point p, struct sm_point q, struct tally *tally)
{
    double cuts[MOST_CUTS + 2] = {0.0};
    int n = 1;
    for (size_t i = 0; i < walls->n && n < MOST_CUTS; i++) {
        const struct sm_wall *w = &walls->walls[i];
        const double ex = w->b.x - w->a.x, ey = w->b.y - w->a.y, dx = q.x - p.x, dy = q.y - p.y;
        const double det = dx * ey - dy * ex;
        if (!w->is_bore || det == 0.0)
            continue;
        const double ax = w->a.x - p.x, ay = w->a.y - p.y, s = (ax * ey - ay * ex) / det,
                     t = (ax * dy - ay * dx) / det;
        if (!(s > 0.0 && s < 1.0 && t >= 0.0 && t <= 1.0))
            continue;
        int k = n++;
        for (; cuts[k - 1] > s; k--)
            cuts[k] = cuts[k - 1];
        cuts[k] = s;
    }
    cuts[n] = 1.0;
    for (int i = 0; i < n; i++) {
        const double s0 = cuts[i], s1 = cuts[i + 1], middle = 0.5 * (s0 + s1);
        const struct sm_point at = {p.x + middle * (q.x - p.x), p.y + middle * (q.y - p.y)};
        if (s1 > s0 && !sm_walls_is_void(walls, at))
            add_band((struct sm_point){p.x + s0 * (q.x - p.x), p.y + s0 * (q.y - p.y)},
                     (struct sm_point){p.x + s1 * (q.x - p.x), p.y + s1 * (q.y - p.y)}, tally);
    }
}

static void add_tangent(const struct sm_walls *walls, const struct box *b, int which, double w, bool has_wall,
                        struct tally *tally)
{
    const struct tangent *t = &b->tangents[which];
    const double x = (w - t->c) * t->nx, y = (w - t->c) * t->ny, ux = -t->ny, uy = t->nx;
    double low = -SM_INF, high = SM_INF;
    keep(b->hz + x, ux, &low, &high);
    keep(b->hz - x, -ux, &low, &high);
    keep(b->hr + y, uy, &low, &high);
    keep(b->hr - y, -uy, &low, &high);
    for (int o = 0; o < b->n && low < high; o++) {
        const struct tangent *other = &b->tangents[o];
        const double sign = b->is_least ? 1.0 : -1.0;
        if (o != which)
            keep(sign * (value_at(other, x, y) - w), sign * (other->nx * ux + other->ny * uy), &low, &high);
    }
    if (!(low < high))
        return;
    const struct sm_point p = {b->middle.x + x + low * ux, b->middle.y + y + low * uy};
    const struct sm_point q = {b->middle.x + x + high * ux, b->middle.y + y + high * uy};
    if (has_wall)
        add_cut(walls, p, q, tally);
    else
        add_band(p, q, tally);
}

static void add_fronts(const struct maker *m, const struct net *net, double w, struct tally *tally)
{
    for (size_t i = 0; w == 0.0 && i < m->walls.n; i++)
        if (m->walls.walls[i].burns)
            add_band(m->walls.walls[i].a, m->walls.walls[i].b, tally);
    const double reach = net->dz + net->dr;
    for (int j = 0; j < net->nr && w > 0.0; j++)
        for (int i = 0; i < net->nz; i++) {
            const bool has_wall = net->has_wall[j * net->nz + i];
            const double middle = net->middles[j * net->nz + i].length;
            struct box b;
            if ((!has_wall && !(fabs(middle - w) < reach)) || !find_tangents(net, i, j, &b))
                continue;
            for (int t = 0; t < b.n; t++)
                add_tangent(&m->walls, &b, t, w, has_wall, tally);
        }
}

static void net_flux(const struct maker *m, const struct net *net, double w, double flux[SM_N_INTEGRALS])
{
    struct tally tally = {.edges = NULL};
    add_fronts(m, net, w, &tally);
    for (int q = 0; q < SM_N_INTEGRALS; q++)
        flux[q] = tally.flux[q];
}

static void fine_flux(void *user, double w, double flux[SM_N_INTEGRALS])
{
    const struct maker *m = user;
    net_flux(m, &m->fine, w, flux);
}

static void coarse_flux(void *user, double w, double flux[SM_N_INTEGRALS])
{
    const struct maker *m = user;
    net_flux(m, &m->coarse, w, flux);
}

/* ---- the table ---- */

/* Integral of pi r^2 along the bore from fore to aft. */
static double void_volume(const struct sm_walls *walls)
{
    double sum = 0.0;
    for (size_t i = 0; i < walls->n; i++) {
        const struct sm_wall *w = &walls->walls[i];
        if (w->is_bore)
            sum += M_PI / 3.0 * (w->a.x - w->b.x) * (w->a.y * w->a.y + w->a.y * w->b.y + w->b.y * w->b.y);
    }
    return sum;
}

/* The longest way of all. */
static double find_reach(const struct net *net)
{
    double reach = 0.0;
    for (int i = 0; i < (net->nz + 1) * (net->nr + 1); i++)
        if (isfinite(net->nodes[i].length))
            reach = fmax(reach, net->nodes[i].length);
    return reach + net->dz + net->dr;
}

static enum sm_status check(const struct sm_meridian *m, struct sm_error *err)
{
    if (m->fore_dome > 0.0 || m->aft_dome > 0.0 || m->bond_line_ratio > 1.0 || m->axis_ratio > 1.0)
        return sm_at(
            err,
            sm_fail(err, SM_E_GEOMETRY,
                    "with its bore inhibited, fronts of this shape go round edges, which is not solved for "
                    "beside domed ends or walls that burn faster"),
            "/burning");
    return SM_OK;
}

static enum sm_status make_table(struct maker *m, int resolution, struct sm_geometry *out)
{
    SM_TRY(sm_walls_init(m->scratch, m->m, SM_GEODESIC_STEPS, &m->walls, m->err));
    SM_TRY(make_net(m, resolution, &m->fine));
    SM_TRY(make_net(m, resolution / 2, &m->coarse));
    const double radius = m->m->radius, whole = M_PI * radius * radius * m->m->length;
    const double port = m->m->bore.n_edges > 0 ? m->m->bore.edges[0].a.y : 0.0;
    *out = (struct sm_geometry){
        .length = m->m->length, .outer_radius = radius, .envelope = whole, .port_area = M_PI * port * port};
    const struct sm_level_source source = {.flux = fine_flux,
                                           .coarse = coarse_flux,
                                           .user = m,
                                           .reach = find_reach(&m->fine),
                                           .nothing = 1e-9 * radius * radius,
                                           .bend = 2e-5,
                                           .shortest = 1e-7 * m->m->radius,
                                           .volume = whole - void_volume(&m->walls)};
    return sm_levels_table(m->arena, &source, out, m->err);
}

enum sm_status sm_geodesic_geometry(struct sm_arena *arena, const struct sm_meridian *meridian,
                                    int resolution, struct sm_geometry *out, struct sm_error *err)
{
    struct sm_arena scratch;
    SM_TRY(check(meridian, err));
    sm_arena_init(&scratch, arena->allocator);
    struct maker m = {.arena = arena, .scratch = &scratch, .m = meridian, .err = err};
    const enum sm_status status = make_table(&m, resolution, out);
    sm_arena_release(&scratch);
    return status;
}

/* ---- drawing ---- */

/* Above nothing in propellant, below in the void: on one sheet the ways to what burns, on the other the distance from a
 * wall. */
static void fill_place(const struct maker *m, struct sm_point p, double *way, double *distance)
{
    struct sm_way found = {.length = SM_INF};
    *distance = sm_walls_distance(&m->walls, p);
    if (sm_walls_is_void(&m->walls, p)) {
        *way = *distance = -*distance;
        return;
    }
    sm_walls_way(&m->walls, p, &found);
    *way = isfinite(found.length) ? found.length : m->walls.size * 1e3;
}

static enum sm_status fill_sheets(const struct maker *m, int n, struct sm_geodesic_drawing *out)
{
    const double length = m->m->length, radius = m->m->radius;
    const int nu = 1 + (int)fmin(ceil(n * length / radius), 10.0 * n), nv = 2 * n + 1;
    SM_TRY(sm_sheet_net_along(m->arena, radius, length, nu, nv, &out->ways, m->err));
    SM_TRY(sm_sheet_net_along(m->arena, radius, length, nu, nv, &out->grain, m->err));
    for (int k = 0; k < nu * nv; k++) {
        const struct sm_point p = out->ways.place[k];
        fill_place(m, (struct sm_point){p.x, fabs(p.y)}, &out->ways.distance[k], &out->grain.distance[k]);
    }
    return SM_OK;
}

enum sm_status sm_geodesic_draw(struct sm_arena *arena, const struct sm_meridian *meridian, int n,
                                const double *w, size_t n_w, struct sm_geodesic_drawing *out,
                                struct sm_error *err)
{
    struct maker m = {.arena = arena, .scratch = arena, .m = meridian, .err = err};
    SM_TRY(check(meridian, err));
    SM_TRY(sm_walls_init(arena, meridian, SM_GEODESIC_STEPS, &m.walls, err));
    SM_TRY(make_net(&m, n, &m.fine));
    SM_TRY(fill_sheets(&m, n, out));
    out->fronts = sm_arena_alloc(arena, n_w, sizeof *out->fronts);
    if (!out->fronts)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n_w; i++) {
        struct tally tally = {.edges = &out->fronts[i]};
        sm_contour_init(tally.edges, arena);
        add_fronts(&m, &m.fine, w[i], &tally);
        SM_TRY(sm_contour_check_memory(tally.edges, err));
    }
    return SM_OK;
}
