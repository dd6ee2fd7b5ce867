#include "grain/meshport.h"

#include <math.h>

#include "grain/across.h"
#include "grain/crease.h"
#include "grain/levels.h"
#include "grain/shape.h"
#include "num/parallel.h"

/* Share of the radius squared below which an area is what roundings leave of differences [1]. */
static const double nothing = 1e-9;

/* One lattice's fronts. */
struct fronts {
    struct sm_lattice lattice;
    struct sm_creased creased;
};

struct maker {
    struct sm_arena *arena, *scratch;
    const struct sm_mesh *mesh;
    struct sm_tree tree;
    double radius, length; /* [m] */
    unsigned burning;
    struct fronts fine, coarse;
    struct sm_error *err;
};

/* ---- the mesh within the grain ---- */

static enum sm_status check_inside(const struct maker *m, const struct sm_triangles *t)
{
    for (size_t i = 0; i < 3 * t->n; i++) {
        const struct sm_vertex *v = &t->corners[i];
        if (hypot(v->x, v->y) > m->radius * (1.0 + 1e-6)) /* room for a file's single precision */
            return sm_fail(m->err, SM_E_GEOMETRY,
                           "the mesh leaves the grain at x = %.6g mm, y = %.6g mm, z = %.6g mm: %.6g mm from "
                           "the axis, beyond the radius of %.6g mm",
                           1e3 * v->x, 1e3 * v->y, 1e3 * v->z, 1e3 * hypot(v->x, v->y), 1e3 * m->radius);
    }
    return SM_OK;
}

/* Volume of the void between the ends: flux of (x, y, 0)/2 through the walls, which the ends add nothing to. */
static double void_volume(const struct sm_triangles *t)
{
    double sum = 0.0;
    for (size_t i = 0; i < t->n; i++) {
        const struct sm_vertex *p = t->corners + 3 * i;
        const double ux = p[1].x - p[0].x, uy = p[1].y - p[0].y, uz = p[1].z - p[0].z;
        const double vx = p[2].x - p[0].x, vy = p[2].y - p[0].y, vz = p[2].z - p[0].z;
        const double x = p[0].x + p[1].x + p[2].x, y = p[0].y + p[1].y + p[2].y;
        sum += x * (uy * vz - uz * vy) + y * (uz * vx - ux * vz);
    }
    return sum / 12.0;
}

/* What a facet cuts out of a plane across the axis, with the void on one side throughout; false if it does not meet it. */
static bool cut_facet(const struct sm_vertex *corners, double z, struct sm_point *from, struct sm_point *to)
{
    int n = 0;
    for (int k = 0; k < 3; k++) {
        const struct sm_vertex *a = &corners[k], *b = &corners[(k + 1) % 3];
        if ((a->z < z) == (b->z < z))
            continue;
        const double share = (z - a->z) / (b->z - a->z);
        *(b->z < z ? from : to) =
            (struct sm_point){a->x + share * (b->x - a->x), a->y + share * (b->y - a->y)};
        n++;
    }
    return n == 2;
}

/* Free section in a plane across the axis: half the sum of cross products of what the facets cut out of it. */
static double free_section(const struct sm_triangles *t, double z)
{
    double sum = 0.0;
    struct sm_point from, to;
    for (size_t i = 0; i < t->n; i++)
        if (cut_facet(&t->corners[3 * i], z, &from, &to))
            sum += sm_point_cross(from, to);
    return 0.5 * fabs(sum);
}

/* ---- fronts ---- */

static enum sm_status make_fronts(struct maker *m, int resolution, struct fronts *out)
{
    SM_TRY(sm_lattice_fill(m->scratch, m->mesh, &m->tree, m->radius, m->length, resolution, &out->lattice,
                           m->err));
    out->creased = (struct sm_creased){.lattice = &out->lattice,
                                       .radius = m->radius,
                                       .length = m->length,
                                       .fore = m->burning & SM_FACE_FORE_END,
                                       .aft = m->burning & SM_FACE_AFT_END,
                                       .outer = m->burning & SM_FACE_OUTER};
    return sm_creased_init(m->scratch, &out->creased, m->err);
}

static void fine_flux(void *user, double w, double flux[SM_N_INTEGRALS])
{
    const struct maker *m = user;
    sm_creased_flux(&m->fine.creased, w, flux);
}

static void coarse_flux(void *user, double w, double flux[SM_N_INTEGRALS])
{
    const struct maker *m = user;
    sm_creased_flux(&m->coarse.creased, w, flux);
}

/* The part of the mesh within the grain, in a tree. */
static enum sm_status take_in(struct maker *m, struct sm_triangles *inside)
{
    SM_TRY(sm_mesh_check(m->scratch, m->mesh, m->err));
    SM_TRY(sm_mesh_cut(m->scratch, m->mesh, m->length, inside, m->err));
    SM_TRY(check_inside(m, inside));
    return sm_tree_init(m->scratch, inside, &m->tree, m->err);
}

static enum sm_status make_table(struct maker *m, int resolution, struct sm_geometry *out)
{
    struct sm_triangles inside;
    SM_TRY(take_in(m, &inside));
    SM_TRY(make_fronts(m, resolution, &m->fine));
    SM_TRY(make_fronts(m, resolution / 2, &m->coarse));
    const double circle = M_PI * m->radius * m->radius, whole = circle * m->length;
    const double left = whole - void_volume(&inside);
    const bool has_overlap = m->fine.lattice.has_overlap;
    if (!(left > 1e-9 * whole || has_overlap))
        return sm_fail(m->err, SM_E_INTERNAL, "a mesh within the grain leaves nothing of it");
    *out = (struct sm_geometry){.length = m->length,
                                .outer_radius = m->radius,
                                .envelope = whole,
                                .port_area = fmin(free_section(&inside, m->length * (1.0 - 1e-9)), circle)};
    const struct sm_level_source source = {.flux = fine_flux,
                                           .coarse = coarse_flux,
                                           .user = m,
                                           .reach = m->fine.creased.reach * (1.0 + 1e-9),
                                           .nothing = nothing * m->radius * m->radius,
                                           .bend = 2e-3,
                                           .shortest = 0.02 * m->fine.lattice.step,
                                           .volume = has_overlap ? SM_ABSENT : left};
    return sm_levels_table(m->arena, &source, out, m->err);
}

static struct sm_mesh mesh_of(const struct sm_meshport *port)
{
    return (struct sm_mesh){.vertices = port->vertices.items,
                            .facets = port->facets.items,
                            .n_vertices = port->vertices.n,
                            .n_facets = port->facets.n};
}

/* Borrows all; scratch is made ready, and the caller releases it. */
static struct maker begin(struct sm_arena *arena, struct sm_arena *scratch, const struct sm_mesh *mesh,
                          double radius, double length, unsigned burning, struct sm_error *err)
{
    sm_arena_init(scratch, arena->allocator);
    return (struct maker){.arena = arena,
                          .scratch = scratch,
                          .mesh = mesh,
                          .radius = radius,
                          .length = length,
                          .burning = burning,
                          .err = err};
}

enum sm_status sm_meshport_geometry(struct sm_arena *arena, const struct sm_meshport *port, double radius,
                                    double length, unsigned burning, struct sm_geometry *out,
                                    struct sm_error *err)
{
    const struct sm_mesh mesh = mesh_of(port);
    struct sm_arena scratch;
    struct maker m = begin(arena, &scratch, &mesh, radius, length, burning, err);
    const enum sm_status status = make_table(&m, port->resolution, out);
    sm_arena_release(&scratch);
    return status;
}

/* ---- drawing ---- */

/* From the nearer of the port, d away, and the faces that burn, at z and r [m]. */
static double with_faces(const struct maker *m, double d, double z, double r)
{
    d = m->burning & SM_FACE_FORE_END ? fmin(d, z) : d;
    d = m->burning & SM_FACE_AFT_END ? fmin(d, m->length - z) : d;
    return m->burning & SM_FACE_OUTER ? fmin(d, m->radius - r) : d;
}

static enum sm_status fill_sheet(struct maker *m, int n, struct sm_sheet *sheet)
{
    const struct sm_distance *samples;
    struct sm_triangles inside;
    const int nu = 1 + (int)fmin(ceil(n * m->length / m->radius), 10.0 * n), nv = 2 * n + 1;
    SM_TRY(sm_sheet_net_along(m->arena, m->radius, m->length, nu, nv, sheet, m->err));
    SM_TRY(take_in(m, &inside));
    SM_TRY(sm_lattice_plane(m->scratch, m->mesh, &m->tree, m->radius, m->length, nv, nu, &samples, m->err));
    for (int i = 0; i < nu; i++)
        for (int j = 0; j < nv; j++) {
            const struct sm_point p = sheet->place[j * nu + i];
            sheet->distance[j * nu + i] = with_faces(m, samples[i * nv + j].d, p.x, fabs(p.y));
        }
    return SM_OK;
}

enum sm_status sm_meshport_sheet(struct sm_arena *arena, const struct sm_meshport *port, double radius,
                                 double length, unsigned burning, int n, struct sm_sheet *out,
                                 struct sm_error *err)
{
    const struct sm_mesh mesh = mesh_of(port);
    struct sm_arena scratch;
    struct maker m = begin(arena, &scratch, &mesh, radius, length, burning, err);
    const enum sm_status status = fill_sheet(&m, n, out);
    sm_arena_release(&scratch);
    return status;
}

/* ---- sections across ---- */

/* Distance at a place in the plane of some nodes, by straight lines both ways [m]. */
static double between_nodes(const struct sm_lattice *l, const struct sm_distance *plane, struct sm_point p)
{
    const double x = (p.x - l->origin[0]) / l->step, y = (p.y - l->origin[1]) / l->step;
    const int i = (int)fmin(fmax(floor(x), 0.0), l->n[0] - 1),
              j = (int)fmin(fmax(floor(y), 0.0), l->n[1] - 1);
    const double u = x - i, v = y - j;
    const struct sm_distance *low = plane + j * (l->n[0] + 1) + i, *high = low + l->n[0] + 1;
    return (1.0 - v) * ((1.0 - u) * low[0].d + u * low[1].d) + v * ((1.0 - u) * high[0].d + u * high[1].d);
}

static enum sm_status cut_sheet(struct maker *m, const struct sm_lattice *l, int k, int n,
                                struct sm_sheet *sheet)
{
    const struct sm_distance *plane = l->nodes + (size_t)k * (size_t)((l->n[0] + 1) * (l->n[1] + 1));
    const double z = l->z[k];
    SM_TRY(sm_sheet_net_across(m->arena, m->radius, 2.0 * M_PI, n + 1, 1 + (int)ceil(2.0 * M_PI * n), sheet,
                               m->err));
    for (int j = 0; j < sheet->nv; j++)
        for (int i = 0; i < sheet->nu; i++) {
            const int at = j * sheet->nu + i;
            const double d = between_nodes(l, plane, sheet->place[at]);
            sheet->distance[at] = with_faces(m, d, z, m->radius * i / n);
        }
    return SM_OK;
}

static enum sm_status cut_sheets(struct maker *m, int across, int n, struct sm_sheet **sheets,
                                 double **places, size_t *n_sheets)
{
    struct sm_triangles inside;
    struct sm_lattice l;
    SM_TRY(take_in(m, &inside));
    SM_TRY(sm_lattice_fill(m->scratch, m->mesh, &m->tree, m->radius, m->length, across, &l, m->err));
    *n_sheets = (size_t)l.n[2] + 1;
    *sheets = sm_arena_alloc(m->arena, *n_sheets, sizeof **sheets);
    *places = sm_arena_alloc(m->arena, *n_sheets, sizeof **places);
    if (!*sheets || !*places)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    for (int k = 0; k <= l.n[2]; k++) {
        (*places)[k] = l.z[k];
        SM_TRY(cut_sheet(m, &l, k, n, &(*sheets)[k]));
    }
    return SM_OK;
}

enum sm_status sm_meshport_across(struct sm_arena *arena, const struct sm_meshport *port, double radius,
                                  double length, unsigned burning, int n, struct sm_sheet **sheets,
                                  double **places, size_t *n_sheets, struct sm_error *err)
{
    const struct sm_mesh mesh = mesh_of(port);
    struct sm_arena scratch;
    struct maker m = begin(arena, &scratch, &mesh, radius, length, burning, err);
    const enum sm_status status = cut_sheets(&m, port->resolution, n, sheets, places, n_sheets);
    sm_arena_release(&scratch);
    return status;
}

/* ---- one plane at a time, by distances of its own ---- */

/* A plane across the axis: what the facets cut out of it tells what is void, the tree how far a place is from them. */
struct plane {
    const struct sm_tree *tree;
    double z; /* [m] */
    struct sm_point (*cuts)[2];
    size_t n_cuts;
    size_t guess; /* facet that was nearest last */
};

/* Bodies of the mesh may overlap: void is what they wind round at all. */
static bool is_void(const struct plane *plane, struct sm_point p)
{
    int turns = 0;
    for (size_t i = 0; i < plane->n_cuts; i++) {
        const struct sm_point a = plane->cuts[i][0], b = plane->cuts[i][1];
        if ((a.y <= p.y) == (b.y <= p.y))
            continue;
        if (a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) > p.x)
            turns += a.y <= p.y ? 1 : -1;
    }
    return turns != 0;
}

static double plane_distance(void *user, struct sm_point p)
{
    struct plane *plane = user;
    struct sm_nearest nearest;
    sm_tree_nearest(plane->tree, (struct sm_vertex){p.x, p.y, plane->z}, plane->guess, &nearest);
    plane->guess = nearest.triangle;
    return is_void(plane, p) ? -nearest.distance : nearest.distance;
}

struct planes {
    struct plane *items;
    const double *w;          /* [m] */
    double *area, *perimeter; /* [m2], [m] */
    double radius;            /* [m] */
};

static void one_plane(void *user, int worker, size_t i)
{
    (void)worker;
    const struct planes *all = user;
    const struct sm_across across = {plane_distance, &all->items[i], all->radius, 1};
    sm_across_measure(&across, all->w[i], &all->area[i], &all->perimeter[i]);
}

static enum sm_status cut_plane(struct sm_arena *arena, const struct sm_triangles *t, struct plane *plane,
                                struct sm_error *err)
{
    struct sm_point from, to;
    size_t n = 0;
    for (size_t i = 0; i < t->n; i++)
        n += cut_facet(&t->corners[3 * i], plane->z, &from, &to);
    plane->cuts = sm_arena_alloc(arena, n + 1, sizeof *plane->cuts);
    if (!plane->cuts)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < t->n; i++)
        if (cut_facet(&t->corners[3 * i], plane->z, &from, &to)) {
            plane->cuts[plane->n_cuts][0] = from;
            plane->cuts[plane->n_cuts++][1] = to;
        }
    return SM_OK;
}

enum sm_status sm_meshport_sections(struct sm_arena *scratch, const struct sm_meshport *port, double radius,
                                    double length, const double *z, const double *w, size_t n, double *area,
                                    double *perimeter, struct sm_error *err)
{
    const struct sm_mesh mesh = mesh_of(port);
    struct maker m = {
        .arena = scratch, .scratch = scratch, .mesh = &mesh, .radius = radius, .length = length, .err = err};
    struct sm_triangles inside;
    SM_TRY(take_in(&m, &inside));
    struct planes all = {.w = w, .area = area, .perimeter = perimeter, .radius = radius};
    all.items = sm_arena_alloc(scratch, n, sizeof *all.items);
    if (!all.items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++) {
        all.items[i] = (struct plane){.tree = &m.tree, .z = z[i]};
        SM_TRY(cut_plane(scratch, &inside, &all.items[i], err));
    }
    sm_parallel_for(n, 0, one_plane, &all, NULL);
    return SM_OK;
}
