#include "grain/splice.h"

#include <math.h>
#include <stdlib.h>

#include "grain/shape.h"

/* Lines of the net stand this close on both sides of where the port changes, so that its corners are drawn sharp: a share of
 * the radius that no eye sees [1]. */
static const double beside = 1e-5;

/* The point of an edge nearest to p, and the direction of walking there. */
static struct sm_point nearest_on(const struct sm_edge *edge, struct sm_point p, struct sm_point *way)
{
    double share;
    if (edge->turn == 0) {
        const struct sm_point d = sm_point_minus(edge->b, edge->a);
        share = sm_point_dot(sm_point_minus(p, edge->a), d) / sm_point_dot(d, d);
    } else {
        const double from = atan2(edge->a.y - edge->centre.y, edge->a.x - edge->centre.x);
        const double turned = edge->turn * (atan2(p.y - edge->centre.y, p.x - edge->centre.x) - from);
        const double sweep = sm_edge_sweep(edge), past = fmod(turned + 4.0 * M_PI, 2.0 * M_PI);
        share = past <= sweep ? past / sweep : past - sweep < 2.0 * M_PI - past ? 1.0 : 0.0;
    }
    share = fmin(fmax(share, 0.0), 1.0);
    const struct sm_point at = sm_edge_point(edge, share);
    *way = sm_edge_direction(edge, true);
    if (edge->turn != 0)
        *way = (struct sm_point){-edge->turn * (at.y - edge->centre.y) / edge->radius,
                                 edge->turn * (at.x - edge->centre.x) / edge->radius};
    return at;
}

/* Distance from an outline, below zero in the void on its left. At a corner, the edge seen more squarely says where p is. */
static double outline_distance(const struct sm_contour *c, struct sm_point p)
{
    double least = SM_INF, squarest = 0.0;
    bool is_void = false;
    for (size_t i = 0; i < c->n_edges; i++) {
        struct sm_point way;
        const struct sm_point off = sm_point_minus(p, nearest_on(&c->edges[i], p, &way));
        const double d = hypot(off.x, off.y), left = way.x * off.y - way.y * off.x;
        const double square = d > 0.0 ? fabs(left) / d : 1.0;
        const bool is_tie = fabs(d - least) <= 1e-9 * (d + least);
        if (is_tie ? square <= squarest : d > least)
            continue;
        least = fmin(d, least);
        squarest = square;
        is_void = left > 0.0;
    }
    return is_void ? -least : least;
}

/* Where x on the axis across is seen in the half-sector that outlines are drawn in: every second ray is like the first. */
static struct sm_point fold(const struct sm_spliced *g, double x)
{
    const bool is_second = x < 0.0 && g->sectors % 2 == 1;
    if (g->sectors == 0)
        return (struct sm_point){x, 0.0};
    const double angle = is_second ? M_PI / g->sectors : 0.0;
    return (struct sm_point){fabs(x) * cos(angle), fabs(x) * sin(angle)};
}

static double distance(const struct sm_spliced *g, double z, double x)
{
    const struct sm_point p = fold(g, x);
    double least = SM_INF;
    for (size_t i = 0; i < g->n; i++) {
        const struct sm_splice *s = &g->items[i];
        const double across = outline_distance(&s->contour, p), along = fmax(fmax(s->z0 - z, z - s->z1), 0.0);
        least = fmin(least, along > 0.0 ? hypot(fmax(across, 0.0), along) : across);
    }
    least = g->burning & SM_FACE_FORE_END ? fmin(least, z) : least;
    return g->burning & SM_FACE_AFT_END ? fmin(least, g->items[g->n - 1].z1 - z) : least;
}

static int by_size(const void *a, const void *b)
{
    const double p = *(const double *)a, q = *(const double *)b;
    return p < q ? -1 : p > q;
}

/* Even lines from low to high, with two more beside each mark between them; returned: how many, sorted. */
static int lines_between(double low, double high, int n, const double *marks, size_t n_marks, double gap,
                         double *out)
{
    int count = 0;
    for (int i = 0; i <= n; i++)
        out[count++] = i < n ? low + (high - low) * i / n : high;
    for (size_t i = 0; i < n_marks; i++)
        if (marks[i] > low + 2.0 * gap && marks[i] < high - 2.0 * gap) {
            out[count++] = marks[i] - gap;
            out[count++] = marks[i] + gap;
        }
    qsort(out, (size_t)count, sizeof *out, by_size);
    return count;
}

/* Places on the axis across where an outline's edge ends: corners of the cut. */
static size_t mark_corners(const struct sm_spliced *g, double *out)
{
    size_t n = 0;
    for (size_t i = 0; i < g->n; i++)
        for (size_t k = 0; k < 2 * g->items[i].contour.n_edges; k++) {
            const struct sm_edge *e = &g->items[i].contour.edges[k / 2];
            const struct sm_point p = k % 2 ? e->b : e->a;
            const double r = hypot(p.x, p.y), angle = g->sectors > 0 ? M_PI / g->sectors : M_PI;
            const bool is_first = fabs(p.y) <= 1e-9 * g->radius,
                       is_second = fabs(p.x * sin(angle) - p.y * cos(angle)) <= 1e-9 * g->radius;
            if (is_first || is_second) {
                out[n++] = r;
                out[n++] = -r;
            }
        }
    return n;
}

enum sm_status sm_spliced_sheet(struct sm_arena *arena, const struct sm_spliced *grain, int n,
                                struct sm_sheet *out, struct sm_error *err)
{
    const double length = grain->items[grain->n - 1].z1, gap = beside * grain->radius;
    const int nz = (int)ceil(n * length / grain->radius);
    size_t most = 0;
    for (size_t i = 0; i < grain->n; i++)
        most += 4 * grain->items[i].contour.n_edges;
    double *ends = sm_arena_alloc(arena, grain->n, sizeof *ends);
    double *corners = sm_arena_alloc(arena, most, sizeof *corners);
    double *z = sm_arena_alloc(arena, (size_t)nz + 1 + 2 * grain->n, sizeof *z);
    double *x = sm_arena_alloc(arena, 2 * (size_t)n + 1 + 2 * most, sizeof *x);
    if (!ends || !corners || !z || !x)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < grain->n; i++)
        ends[i] = grain->items[i].z0;
    const size_t n_corners = mark_corners(grain, corners);
    const int nu = lines_between(0.0, length, nz, ends, grain->n, gap, z);
    const int nv = lines_between(-grain->radius, grain->radius, 2 * n, corners, n_corners, gap, x);
    SM_TRY(sm_sheet_net_along(arena, grain->radius, length, nu, nv, out, err));
    for (int j = 0; j < nv; j++)
        for (int i = 0; i < nu; i++) {
            out->place[j * nu + i] = (struct sm_point){z[i], x[j]};
            out->distance[j * nu + i] = distance(grain, z[i], x[j]);
        }
    return SM_OK;
}
