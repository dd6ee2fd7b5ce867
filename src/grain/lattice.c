#include "grain/lattice.h"

#include <math.h>

#include "num/parallel.h"

/* Offsets of the lattice in boxes, no simple fractions of one [1]. */
static const double aside[3] = {0.3714, 0.2931, 0.1873};

/* The places of one kind of sample: nodes or middles. */
struct grid {
    int n[3];
    double first[2], step; /* across the axis [m] */
    double *z;             /* [m] */
};

static size_t count(const struct grid *g)
{
    return (size_t)g->n[0] * (size_t)g->n[1] * (size_t)g->n[2];
}

/* ---- winding numbers ---- */

/* On which side of the line from vertex i to j lies (x, y)? The same for both facets at the edge, turned over. */
static int side_of(const struct sm_mesh *mesh, int i, int j, double x, double y)
{
    const int low = i < j ? i : j, high = i < j ? j : i;
    const struct sm_vertex *p = &mesh->vertices[low], *q = &mesh->vertices[high];
    const double cross = (q->x - p->x) * (y - p->y) - (q->y - p->y) * (x - p->x);
    return (cross >= 0.0) == (i < j) ? 1 : -1;
}

/* Places from..to of a row of samples that lie between low and high. */
static void find_range(const struct grid *g, int axis, double low, double high, int *from, int *to)
{
    const double a = ceil((low - g->first[axis]) / g->step), b = floor((high - g->first[axis]) / g->step);
    *from = (int)fmin(fmax(a, 0.0), g->n[axis]);
    *to = (int)fmin(fmax(b, -1.0), g->n[axis] - 1);
}

/* A facet ends the void for the samples above it if it faces up, and begins it if it faces down; to a file's single precision in the
 * last layer it ends nothing, for a port is open there. */
static void cross_columns(const struct grid *g, const struct sm_mesh *mesh, const struct sm_facet *f,
                          int *steps)
{
    const struct sm_vertex *a = &mesh->vertices[f->a], *b = &mesh->vertices[f->b], *c = &mesh->vertices[f->c];
    const double bx = b->x - a->x, by = b->y - a->y, cx = c->x - a->x, cy = c->y - a->y,
                 twice = bx * cy - by * cx, near = 1e-6 * (g->z[g->n[2] - 1] - g->z[0]);
    int range[2][2];
    find_range(g, 0, fmin(a->x, fmin(b->x, c->x)), fmax(a->x, fmax(b->x, c->x)), &range[0][0], &range[0][1]);
    find_range(g, 1, fmin(a->y, fmin(b->y, c->y)), fmax(a->y, fmax(b->y, c->y)), &range[1][0], &range[1][1]);
    for (int j = range[1][0]; j <= range[1][1]; j++)
        for (int i = range[0][0]; i <= range[0][1]; i++) {
            const double x = g->first[0] + i * g->step, y = g->first[1] + j * g->step;
            const int side = side_of(mesh, f->a, f->b, x, y);
            if (side != side_of(mesh, f->b, f->c, x, y) || side != side_of(mesh, f->c, f->a, x, y) ||
                twice == 0.0)
                continue;
            const double u = ((x - a->x) * cy - (y - a->y) * cx) / twice,
                         v = (bx * (y - a->y) - by * (x - a->x)) / twice;
            const double z = a->z + u * (b->z - a->z) + v * (c->z - a->z);
            int k = 0;
            while (k < g->n[2] && g->z[k] < (z <= g->z[0] + near ? g->z[0] : z))
                k++;
            if (k < g->n[2] && z < g->z[g->n[2] - 1] - near)
                steps[((size_t)k * (size_t)g->n[1] + (size_t)j) * (size_t)g->n[0] + (size_t)i] -= side;
        }
}

/* Winding number of the mesh about every sample. */
static int *find_winding(struct sm_arena *scratch, const struct grid *g, const struct sm_mesh *mesh)
{
    int *winding = sm_arena_alloc(scratch, count(g), sizeof *winding);
    if (!winding)
        return NULL;
    for (size_t i = 0; i < mesh->n_facets; i++)
        cross_columns(g, mesh, &mesh->facets[i], winding);
    const size_t layer = (size_t)g->n[0] * (size_t)g->n[1];
    for (size_t i = layer; i < count(g); i++)
        winding[i] += winding[i - layer];
    return winding;
}

/* ---- distances ---- */

/* The facet's own direction, out of the void, for a sample that lies on it. */
static void facet_normal(const struct sm_vertex *t, double n[3])
{
    const double u[3] = {t[1].x - t[0].x, t[1].y - t[0].y, t[1].z - t[0].z};
    const double v[3] = {t[2].x - t[0].x, t[2].y - t[0].y, t[2].z - t[0].z};
    const double c[3] = {u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]};
    const double length = sqrt(c[0] * c[0] + c[1] * c[1] + c[2] * c[2]);
    for (int k = 0; k < 3; k++)
        n[k] = length > 0.0 ? c[k] / length : k == 2;
}

/* As many steps from its wall the void's inside is known [1]: farther than two boxes are from corner to corner, no box has a front. */
static const double DEEP = 4.0;

static struct sm_distance sample(const struct sm_tree *tree, struct sm_vertex p, bool is_void, double step,
                                 double deep, size_t *guess)
{
    struct sm_nearest at = {.triangle = *guess};
    struct sm_distance s;
    if (!sm_tree_within(tree, p, is_void ? deep : SM_INF, *guess, &at))
        return (struct sm_distance){.d = -deep, .n = {0.0, 0.0, 1.0}};
    *guess = at.triangle;
    s.d = is_void ? -at.distance : at.distance;
    if (at.distance < 1e-9 * step) {
        facet_normal(tree->triangles->corners + 3 * at.triangle, s.n);
        return s;
    }
    s.n[0] = (p.x - at.point.x) / s.d;
    s.n[1] = (p.y - at.point.y) / s.d;
    s.n[2] = (p.z - at.point.z) / s.d;
    return s;
}

struct filling {
    const struct grid *grid;
    const struct sm_tree *tree;
    const int *winding;
    double deep; /* [m] */
    struct sm_distance *samples;
};

/* Each row starts from the facet that is nearest to the row before, the first from any. */
static void fill_layer(void *user, int worker, size_t k)
{
    (void)worker;
    const struct filling *f = user;
    const struct grid *g = f->grid;
    size_t at = k * (size_t)g->n[0] * (size_t)g->n[1], row = 0;
    for (int j = 0; j < g->n[1]; j++) {
        size_t guess = row;
        for (int i = 0; i < g->n[0]; i++, at++) {
            const struct sm_vertex p = {g->first[0] + i * g->step, g->first[1] + j * g->step, g->z[k]};
            f->samples[at] = sample(f->tree, p, f->winding[at] != 0, g->step, f->deep, &guess);
            row = i == 0 ? guess : row;
        }
    }
}

static enum sm_status fill(struct sm_arena *arena, struct sm_arena *scratch, const struct grid *g,
                           const struct sm_mesh *mesh, const struct sm_tree *tree,
                           const struct sm_distance **out, bool *has_overlap, struct sm_error *err)
{
    struct sm_distance *samples = sm_arena_alloc(arena, count(g), sizeof *samples);
    const int *winding = find_winding(scratch, g, mesh);
    if (!samples || !winding)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < count(g); i++)
        *has_overlap = *has_overlap || winding[i] > 1 || winding[i] < 0;
    const double along = g->n[2] > 1 ? (g->z[g->n[2] - 1] - g->z[0]) / (g->n[2] - 1) : 0.0;
    struct filling filling = {g, tree, winding, DEEP * fmax(g->step, along), samples};
    sm_parallel_for((size_t)g->n[2], 0, fill_layer, &filling, NULL);
    *out = samples;
    return SM_OK;
}

/* Layers between the ends, the first and the last thinner than the others. */
static enum sm_status find_layers(struct sm_arena *arena, double length, struct grid *nodes,
                                  struct grid *middles, struct sm_error *err)
{
    const double step = length / (middles->n[2] - 1);
    nodes->z = sm_arena_alloc(arena, (size_t)nodes->n[2], sizeof *nodes->z);
    middles->z = sm_arena_alloc(arena, (size_t)middles->n[2], sizeof *middles->z);
    if (!nodes->z || !middles->z)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (int k = 0; k < nodes->n[2]; k++)
        nodes->z[k] = fmin(fmax((k - aside[2]) * step, 0.0), length);
    for (int k = 0; k < middles->n[2]; k++)
        middles->z[k] = 0.5 * (nodes->z[k] + nodes->z[k + 1]);
    return SM_OK;
}

enum sm_status sm_lattice_fill(struct sm_arena *arena, const struct sm_mesh *mesh, const struct sm_tree *tree,
                               double radius, double length, int across, struct sm_lattice *out,
                               struct sm_error *err)
{
    const double step = 2.0 * radius / across, along = fmax(ceil(length / step), 1.0);
    const double boxes = (across + 1.0) * (across + 1.0) * (along + 1.0);
    if (boxes > SM_MAX_LATTICE)
        return sm_at(err,
                     sm_fail(err, SM_E_RANGE, "resolution %d makes %.0f boxes in this grain; %d are allowed",
                             across, boxes, SM_MAX_LATTICE),
                     "/resolution");
    *out = (struct sm_lattice){.n = {across + 1, across + 1, (int)along + 1}, .step = step};
    struct grid nodes = {.step = step}, middles = {.step = step};
    for (int k = 0; k < 3; k++) {
        nodes.n[k] = out->n[k] + 1;
        middles.n[k] = out->n[k];
    }
    for (int k = 0; k < 2; k++) {
        out->origin[k] = nodes.first[k] = -radius - aside[k] * step;
        middles.first[k] = out->origin[k] + 0.5 * step;
    }
    SM_TRY(find_layers(arena, length, &nodes, &middles, err));
    out->z = nodes.z;
    struct sm_arena scratch;
    sm_arena_init(&scratch, arena->allocator);
    enum sm_status status = fill(arena, &scratch, &nodes, mesh, tree, &out->nodes, &out->has_overlap, err);
    if (status == SM_OK)
        status = fill(arena, &scratch, &middles, mesh, tree, &out->middles, &out->has_overlap, err);
    sm_arena_release(&scratch);
    return status;
}

enum sm_status sm_lattice_plane(struct sm_arena *arena, const struct sm_mesh *mesh,
                                const struct sm_tree *tree, double radius, double length, int nx, int nz,
                                const struct sm_distance **out, struct sm_error *err)
{
    struct grid g = {.n = {nx, 1, nz}, .first = {-radius, 0.0}, .step = 2.0 * radius / (nx - 1)};
    bool has_overlap = false;
    g.z = sm_arena_alloc(arena, (size_t)nz, sizeof *g.z);
    if (!g.z)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (int k = 0; k < nz; k++)
        g.z[k] = length * k / (nz - 1);
    return fill(arena, arena, &g, mesh, tree, out, &has_overlap, err);
}
