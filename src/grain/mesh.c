#include "grain/mesh.h"

#include <math.h>
#include <stdbool.h>
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

/* Of a facet, as the user counts it, from 1. */
static size_t number_of(const struct sm_mesh *mesh, size_t facet)
{
    return mesh->numbers ? mesh->numbers[facet] : facet + 1;
}

static enum sm_status check_corners(const struct sm_mesh *mesh, struct sm_error *err)
{
    for (size_t i = 0; i < mesh->n_vertices; i++) {
        const struct sm_vertex *v = &mesh->vertices[i];
        if (!isfinite(v->x) || !isfinite(v->y) || !isfinite(v->z))
            return sm_at(err, sm_fail(err, SM_E_RANGE, "vertex %zu of the mesh is no finite place", i + 1),
                         "/vertices/%zu", i);
    }
    for (size_t i = 0; i < mesh->n_facets; i++)
        for (int k = 0; k < 3; k++) {
            const int corner = corner_of(&mesh->facets[i], k);
            if (corner < 0 || (size_t)corner >= mesh->n_vertices)
                return sm_at(err,
                             sm_fail(err, SM_E_GEOMETRY, "facet %zu names vertex %d; there are 0 to %zu",
                                     number_of(mesh, i), corner, mesh->n_vertices - 1),
                             "/facets/%zu", i);
            if (corner == corner_of(&mesh->facets[i], (k + 1) % 3))
                return sm_at(
                    err, sm_fail(err, SM_E_GEOMETRY, "facet %zu has one vertex twice", number_of(mesh, i)),
                    "/facets/%zu", i);
        }
    return SM_OK;
}

/* Says what is wrong at the edge between two vertices of a facet; what: a phrase that ends before "at". */
static enum sm_status fail_at_edge(const struct sm_mesh *mesh, const char *what, size_t facet, int from,
                                   int to, struct sm_error *err)
{
    const struct sm_vertex *p = &mesh->vertices[from], *q = &mesh->vertices[to];
    return sm_at(err,
                 sm_fail(err, SM_E_GEOMETRY,
                         "%s at facet %zu's edge from (%.6g, %.6g, %.6g) to (%.6g, %.6g, %.6g) mm", what,
                         number_of(mesh, facet), 1e3 * p->x, 1e3 * p->y, 1e3 * p->z, 1e3 * q->x, 1e3 * q->y,
                         1e3 * q->z),
                 "/facets/%zu", facet);
}

/* All edges of all facets, those between the same vertices beside each other. */
static enum sm_status sort_sides(struct sm_arena *scratch, const struct sm_mesh *mesh, struct side **out,
                                 struct sm_error *err)
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
    *out = sides;
    return SM_OK;
}

/* Each edge must be walked as often one way as the other. */
static enum sm_status check_edges(const struct sm_mesh *mesh, const struct side *sides, struct sm_error *err)
{
    const size_t n = 3 * mesh->n_facets;
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
    if (!worst)
        return SM_OK;
    return fail_at_edge(mesh, n_worst % 2 ? "the mesh is open" : "two facets of the mesh face opposite ways",
                        worst->facet, worst->low, worst->high, err);
}

/* ---- inside out ---- */

/* The body that a facet belongs to: the least of the facets that edges join it to. Halves the way there. */
static size_t body_of(size_t *bodies, size_t i)
{
    while (bodies[i] != i)
        i = bodies[i] = bodies[bodies[i]];
    return i;
}

static void join_bodies(const struct sm_mesh *mesh, const struct side *sides, size_t *bodies)
{
    for (size_t i = 0; i < mesh->n_facets; i++)
        bodies[i] = i;
    for (size_t i = 0; i + 1 < 3 * mesh->n_facets; i++) {
        if (sides[i].low != sides[i + 1].low || sides[i].high != sides[i + 1].high)
            continue;
        const size_t a = body_of(bodies, sides[i].facet), b = body_of(bodies, sides[i + 1].facet);
        bodies[a > b ? a : b] = a > b ? b : a;
    }
    for (size_t i = 0; i < mesh->n_facets; i++)
        bodies[i] = body_of(bodies, i);
}

/* From o to a corner of the facet. */
static void corner_from(const struct sm_mesh *mesh, size_t facet, int k, struct sm_vertex o, double out[3])
{
    const struct sm_vertex *v = &mesh->vertices[corner_of(&mesh->facets[facet], k)];
    out[0] = v->x - o.x;
    out[1] = v->y - o.y;
    out[2] = v->z - o.z;
}

static double dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

static double six_volumes(const double a[3], const double b[3], const double c[3])
{
    return a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) +
           a[2] * (b[0] * c[1] - b[1] * c[0]);
}

/* How often the other bodies go round the middle of a facet: the solid angles of their facets (van Oosterom, Strackee,
 * IEEE Trans. Biomed. Eng. 30, 1983), over the whole. */
static double turns_of_others(const struct sm_mesh *mesh, const size_t *bodies, size_t facet)
{
    const struct sm_vertex origin = {0};
    double p[3][3], sum = 0.0;
    for (int k = 0; k < 3; k++)
        corner_from(mesh, facet, k, origin, p[k]);
    const struct sm_vertex middle = {(p[0][0] + p[1][0] + p[2][0]) / 3.0, (p[0][1] + p[1][1] + p[2][1]) / 3.0,
                                     (p[0][2] + p[1][2] + p[2][2]) / 3.0};
    for (size_t i = 0; i < mesh->n_facets; i++) {
        if (bodies[i] == bodies[facet])
            continue;
        for (int k = 0; k < 3; k++)
            corner_from(mesh, i, k, middle, p[k]);
        const double a = sqrt(dot(p[0], p[0])), b = sqrt(dot(p[1], p[1])), c = sqrt(dot(p[2], p[2]));
        sum += 2.0 * atan2(six_volumes(p[0], p[1], p[2]),
                           a * b * c + dot(p[0], p[1]) * c + dot(p[1], p[2]) * a + dot(p[2], p[0]) * b);
    }
    return sum / (4.0 * M_PI);
}

/* A body whose volume counts as negative is a hole if it lies in another, else it is inside out. */
static enum sm_status check_outwards(struct sm_arena *scratch, const struct sm_mesh *mesh,
                                     const struct side *sides, struct sm_error *err)
{
    size_t *bodies = sm_arena_alloc(scratch, mesh->n_facets, sizeof *bodies);
    double *volumes = sm_arena_alloc(scratch, mesh->n_facets, sizeof *volumes); /* six times [m3] */
    if (!bodies || !volumes)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    join_bodies(mesh, sides, bodies);
    for (size_t i = 0; i < mesh->n_facets; i++)
        volumes[i] = 0.0;
    for (size_t i = 0; i < mesh->n_facets; i++) {
        const struct sm_vertex o = mesh->vertices[mesh->facets[bodies[i]].a];
        double p[3][3];
        for (int k = 0; k < 3; k++)
            corner_from(mesh, i, k, o, p[k]);
        volumes[bodies[i]] += six_volumes(p[0], p[1], p[2]);
    }
    for (size_t i = 0; i < mesh->n_facets; i++)
        if (bodies[i] == i && !(volumes[i] > 0.0) && turns_of_others(mesh, bodies, i) < 0.5)
            return fail_at_edge(mesh,
                                "the mesh is inside out, its corners running clockwise as seen from outside "
                                "the void,",
                                i, mesh->facets[i].a, mesh->facets[i].b, err);
    return SM_OK;
}

enum sm_status sm_mesh_check(struct sm_arena *scratch, const struct sm_mesh *mesh, struct sm_error *err)
{
    struct side *sides = NULL;
    if (mesh->n_facets < 4 || mesh->n_vertices < 4)
        return sm_fail(err, SM_E_GEOMETRY, "a mesh of %zu facets bounds nothing; it needs 4 at least",
                       mesh->n_facets);
    SM_TRY(check_corners(mesh, err));
    SM_TRY(sort_sides(scratch, mesh, &sides, err));
    SM_TRY(check_edges(mesh, sides, err));
    return check_outwards(scratch, mesh, sides, err);
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

/* Do all corners lie in the plane at z, to a file's single precision? */
static bool lies_at(const struct sm_vertex *corners, double z, double length)
{
    const double near = 1e-6 * length;
    return fabs(corners[0].z - z) <= near && fabs(corners[1].z - z) <= near && fabs(corners[2].z - z) <= near;
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
        if (lies_at(polygon, 0.0, length) || lies_at(polygon, length, length))
            continue;
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
