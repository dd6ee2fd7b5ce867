#include "grain/mesh.h"

#include <math.h>
#include <stdlib.h>

/* ---- soundness ---- */

/* One side of a facet. */
struct side {
    int low, high; /* its vertices */
    int way;       /* +1 if it runs from low to high, else -1 */
    size_t facet;
};

static int by_edge(const void *a, const void *b)
{
    const struct side *p = a, *q = b;
    if (p->low != q->low)
        return p->low < q->low ? -1 : 1;
    if (p->high != q->high)
        return p->high < q->high ? -1 : 1;
    return p->facet < q->facet ? -1 : p->facet > q->facet;
}

static int corner_of(const struct sm_facet *f, int k)
{
    return k == 0 ? f->a : k == 1 ? f->b : f->c;
}

static enum sm_status check_corners(const struct sm_mesh *mesh, struct sm_error *err)
{
    for (size_t i = 0; i < mesh->n_vertices; i++) {
        const struct sm_vertex *v = &mesh->vertices[i];
        if (!isfinite(v->x) || !isfinite(v->y) || !isfinite(v->z))
            return sm_fail(err, SM_E_RANGE, "vertex %zu of the mesh is no finite place", i + 1);
    }
    for (size_t i = 0; i < mesh->n_facets; i++)
        for (int k = 0; k < 3; k++) {
            const int corner = corner_of(&mesh->facets[i], k);
            if (corner < 0 || (size_t)corner >= mesh->n_vertices)
                return sm_fail(err, SM_E_GEOMETRY, "facet %zu names vertex %d; there are 0 to %zu", i + 1,
                               corner, mesh->n_vertices - 1);
            if (corner == corner_of(&mesh->facets[i], (k + 1) % 3))
                return sm_fail(err, SM_E_GEOMETRY, "facet %zu has one vertex twice", i + 1);
        }
    return SM_OK;
}

static enum sm_status bad_edge(const struct sm_mesh *mesh, const struct side *side, size_t n,
                               struct sm_error *err)
{
    const struct sm_vertex *p = &mesh->vertices[side->low], *q = &mesh->vertices[side->high];
    return sm_fail(err, SM_E_GEOMETRY,
                   "%s at facet %zu's edge from (%.6g, %.6g, %.6g) to (%.6g, %.6g, %.6g) mm",
                   n % 2 ? "the mesh is open" : "two facets of the mesh face opposite ways", side->facet + 1,
                   1e3 * p->x, 1e3 * p->y, 1e3 * p->z, 1e3 * q->x, 1e3 * q->y, 1e3 * q->z);
}

/* Each edge must be walked as often one way as the other. */
static enum sm_status check_edges(struct sm_arena *scratch, const struct sm_mesh *mesh, struct sm_error *err)
{
    const size_t n = 3 * mesh->n_facets;
    struct side *sides = sm_arena_alloc(scratch, n, sizeof *sides);
    if (!sides)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++) {
        const struct sm_facet *f = &mesh->facets[i / 3];
        const int from = corner_of(f, (int)(i % 3)), to = corner_of(f, (int)((i + 1) % 3));
        sides[i] = from < to ? (struct side){from, to, 1, i / 3} : (struct side){to, from, -1, i / 3};
    }
    qsort(sides, n, sizeof *sides, by_edge);
    const struct side *worst = NULL;
    size_t n_worst = 0;
    for (size_t i = 0, next; i < n; i = next) {
        int sum = 0;
        for (next = i; next < n && sides[next].low == sides[i].low && sides[next].high == sides[i].high;
             next++)
            sum += sides[next].way;
        if (sum != 0 && (!worst || sides[i].facet < worst->facet)) {
            worst = &sides[i];
            n_worst = next - i;
        }
    }
    return worst ? bad_edge(mesh, worst, n_worst, err) : SM_OK;
}

/* Six times the volume, by tetrahedra over the facets from a vertex near by. */
static double six_volumes(const struct sm_mesh *mesh)
{
    const struct sm_vertex o = mesh->vertices[0];
    double sum = 0.0;
    for (size_t i = 0; i < mesh->n_facets; i++) {
        const struct sm_vertex *a = &mesh->vertices[mesh->facets[i].a],
                               *b = &mesh->vertices[mesh->facets[i].b],
                               *c = &mesh->vertices[mesh->facets[i].c];
        const double ax = a->x - o.x, ay = a->y - o.y, az = a->z - o.z;
        const double bx = b->x - o.x, by = b->y - o.y, bz = b->z - o.z;
        const double cx = c->x - o.x, cy = c->y - o.y, cz = c->z - o.z;
        sum += ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx);
    }
    return sum;
}

enum sm_status sm_mesh_check(struct sm_arena *scratch, const struct sm_mesh *mesh, struct sm_error *err)
{
    if (mesh->n_facets < 4 || mesh->n_vertices < 4)
        return sm_fail(err, SM_E_GEOMETRY, "a mesh of %zu facets bounds nothing; it needs 4 at least",
                       mesh->n_facets);
    SM_TRY(check_corners(mesh, err));
    SM_TRY(check_edges(scratch, mesh, err));
    if (!(six_volumes(mesh) > 0.0))
        return sm_fail(err, SM_E_GEOMETRY,
                       "the mesh is inside out: its facets must be walked anticlockwise as seen from "
                       "outside the void");
    return SM_OK;
}

/* ---- cutting ---- */

enum { MOST_CORNERS = 8 };

static struct sm_vertex between(struct sm_vertex p, struct sm_vertex q, double z)
{
    const double share = (z - p.z) / (q.z - p.z);
    return (struct sm_vertex){p.x + share * (q.x - p.x), p.y + share * (q.y - p.y), z};
}

/* Keeps of a polygon what lies beyond the plane at z in the sense of way. */
static int cut_at(const struct sm_vertex *in, int n, double z, double way, struct sm_vertex *out)
{
    int kept = 0;
    for (int i = 0; i < n; i++) {
        const struct sm_vertex p = in[i], q = in[(i + 1) % n];
        const double hp = way * (p.z - z), hq = way * (q.z - z);
        if (hp >= 0.0)
            out[kept++] = p;
        if ((hp > 0.0 && hq < 0.0) || (hp < 0.0 && hq > 0.0))
            out[kept++] = between(p, q, z);
    }
    return kept;
}

enum sm_status sm_mesh_cut(struct sm_arena *arena, const struct sm_mesh *mesh, double length,
                           struct sm_triangles *out, struct sm_error *err)
{
    size_t room = 0;
    *out = (struct sm_triangles){0};
    for (size_t i = 0; i < mesh->n_facets; i++) {
        struct sm_vertex polygon[MOST_CORNERS], rest[MOST_CORNERS];
        for (int k = 0; k < 3; k++)
            polygon[k] = mesh->vertices[corner_of(&mesh->facets[i], k)];
        int n = cut_at(polygon, 3, 0.0, 1.0, rest);
        n = cut_at(rest, n, length, -1.0, polygon);
        if (n < 3)
            continue;
        struct sm_vertex *corners = sm_arena_grow(arena, out->corners, 3 * out->n, &room,
                                                  3 * (out->n + (size_t)n - 2), sizeof *corners);
        if (!corners)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        out->corners = corners;
        for (int k = 2; k < n; k++) {
            struct sm_vertex *to = corners + 3 * out->n++;
            to[0] = polygon[0];
            to[1] = polygon[k - 1];
            to[2] = polygon[k];
        }
    }
    return out->n > 0 ? SM_OK
                      : sm_fail(err, SM_E_GEOMETRY, "nothing of the mesh lies within the grain's length");
}
