#include "grain/crease.h"

#include <math.h>

#include "num/parallel.h"

/* A plane's value at x from the box's middle is c + n.x. */
struct sm_plane {
    double n[3]; /* [1] */
    double c;    /* [m] */
};

enum { CORNERS = 8, MOST_PLANES = 1 + CORNERS, TANGENTS = 3, MOST_CORNERS = 32 };

/* Distances burned between which a box, or any of a layer, has a front of the mesh; outside of the cylinder it has none. */
struct sm_span {
    double low, high; /* [m] */
    size_t first;     /* of a box's planes */
    short n;
    bool is_least;
};

struct box {
    double middle[3], half[3]; /* what of it lies within the length [m] */
    const struct sm_plane *planes;
    struct sm_plane room[MOST_PLANES]; /* for planes of its own */
    int n;
    bool is_least;                   /* of the planes; else their greatest */
    struct sm_plane walls[TANGENTS]; /* tangents of the cylinder: positive inside */
    int n_walls;
};

struct polygon {
    double (*v)[3]; /* in one of the rooms: corners from the box's middle [m] */
    int n;
    double room[2][MOST_CORNERS][3]; /* [m] */
};

/* ---- a box's planes ---- */

static double value_at(const struct sm_plane *p, const double x[3])
{
    return p->c + p->n[0] * x[0] + p->n[1] * x[1] + p->n[2] * x[2];
}

static double reach_of(const struct sm_plane *p, const double half[3])
{
    return fabs(p->n[0]) * half[0] + fabs(p->n[1]) * half[1] + fabs(p->n[2]) * half[2];
}

static bool is_known(const struct box *b, const struct sm_plane *p, double near)
{
    for (int i = 0; i < b->n; i++) {
        const double *q = b->planes[i].n;
        if (fabs(b->planes[i].c - p->c) < near &&
            p->n[0] * q[0] + p->n[1] * q[1] + p->n[2] * q[2] > 1.0 - 1e-9)
            return true;
    }
    return false;
}

/* Tangents that differ from the middle's by less than this share of a box change nothing [1]. */
static const double like = 1e-3;

static void find_planes(const struct sm_lattice *g, int i, int j, int k, struct box *b)
{
    const size_t nx = (size_t)g->n[0], ny = (size_t)g->n[1];
    const struct sm_distance *m = &g->middles[((size_t)k * ny + (size_t)j) * nx + (size_t)i];
    struct sm_plane corners[CORNERS];
    double excess[CORNERS], above = 0.0, below = 0.0;
    b->planes = b->room;
    b->room[0] = (struct sm_plane){{m->n[0], m->n[1], m->n[2]}, m->d};
    for (int q = 0; q < CORNERS; q++) {
        const int di = q & 1, dj = q >> 1 & 1, dk = q >> 2;
        const struct sm_distance *s =
            &g->nodes[((size_t)(k + dk) * (ny + 1) + (size_t)(j + dj)) * (nx + 1) + (size_t)(i + di)];
        const double x[3] = {(di - 0.5) * g->step, (dj - 0.5) * g->step,
                             (dk - 0.5) * (g->z[k + 1] - g->z[k])};
        corners[q] = (struct sm_plane){{s->n[0], s->n[1], s->n[2]},
                                       s->d - s->n[0] * x[0] - s->n[1] * x[1] - s->n[2] * x[2]};
        excess[q] = value_at(&b->planes[0], x) - s->d;
        above = fmax(above, excess[q]);
        below = fmax(below, -excess[q]);
    }
    b->n = 1;
    b->is_least = above >= below;
    const double least = like * g->step;
    for (int q = 0; q < CORNERS; q++)
        if ((b->is_least ? excess[q] : -excess[q]) > least && !is_known(b, &corners[q], 1e-6 * g->step))
            b->room[b->n++] = corners[q];
}

/* Tangents of the circle of radius r over the angles that the box takes up, moved in a little so that they leave out as
 * much as they add. */
static void find_walls(const double middle[3], const double half[3], double r, struct box *b)
{
    const double distance = hypot(middle[0], middle[1]), angle = atan2(middle[1], middle[0]);
    const double spread = hypot(half[0], half[1]) / fmax(distance, hypot(half[0], half[1]));
    const double gap = 2.0 * spread / TANGENTS, place = r * (1.0 - gap * gap / 24.0);
    b->n_walls = TANGENTS;
    for (int t = 0; t < TANGENTS; t++) {
        const double a = angle + (t - 0.5 * (TANGENTS - 1)) * gap, c = cos(a), s = sin(a);
        b->walls[t] = (struct sm_plane){{-c, -s, 0.0}, place - middle[0] * c - middle[1] * s};
    }
}

/* Radii between which a box lies. */
static void radii_of(const double middle[3], const double half[3], double *low, double *high)
{
    const double x = fabs(middle[0]), y = fabs(middle[1]);
    const double in_x = x > half[0] ? x - half[0] : 0.0, in_y = y > half[1] ? y - half[1] : 0.0;
    *low = sqrt(in_x * in_x + in_y * in_y);
    *high = sqrt((x + half[0]) * (x + half[0]) + (y + half[1]) * (y + half[1]));
}

/* ---- polygons ---- */

/* Keeps where sign * (plane - least) is not negative. There is room: a square cut 2 + TANGENTS + MOST_PLANES times has fewer corners. */
static void cut(struct polygon *p, const struct sm_plane *plane, double least, double sign)
{
    double h[MOST_CORNERS];
    const int n = p->n;
    int n_out = 0;
    for (int i = 0; i < n; i++) {
        h[i] = sign * (value_at(plane, p->v[i]) - least);
        n_out += h[i] < 0.0;
    }
    if (n_out == 0)
        return;
    double(*const out)[3] = p->v == p->room[0] ? p->room[1] : p->room[0];
    p->n = 0;
    for (int i = 0; n_out < n && i < n && p->n + 2 <= MOST_CORNERS; i++) {
        const int j = i + 1 < n ? i + 1 : 0;
        const double *a = p->v[i], *b = p->v[j];
        if (h[i] >= 0.0) {
            out[p->n][0] = a[0];
            out[p->n][1] = a[1];
            out[p->n++][2] = a[2];
        }
        if ((h[i] > 0.0 && h[j] < 0.0) || (h[i] < 0.0 && h[j] > 0.0)) {
            const double t = h[i] / (h[i] - h[j]);
            for (int k = 0; k < 3; k++)
                out[p->n][k] = a[k] + t * (b[k] - a[k]);
            p->n++;
        }
    }
    p->v = out;
}

/* What of the plane {p = w} lies in the box: over the two sides that it leans on least, cut by the third. */
static void plane_in_box(const struct sm_plane *p, double w, const double half[3], struct polygon *out)
{
    const double *n = p->n, x = fabs(n[0]), y = fabs(n[1]), z = fabs(n[2]);
    const int up = x >= y && x >= z ? 0 : y >= z ? 1 : 2, u = (up + 1) % 3, v = (up + 2) % 3;
    const double middle = (w - p->c) / n[up], by_u = n[u] / n[up] * half[u], by_v = n[v] / n[up] * half[v];
    const double lean = fabs(by_u) + fabs(by_v);
    out->n = 4;
    out->v = out->room[0];
    for (int i = 0; i < 4; i++) {
        double *at = out->v[i];
        const double side_u = i == 0 || i == 3 ? -1.0 : 1.0, side_v = i < 2 ? -1.0 : 1.0;
        at[u] = side_u * half[u];
        at[v] = side_v * half[v];
        at[up] = middle - side_u * by_u - side_v * by_v;
    }
    for (int side = -1; side <= 1; side += 2) {
        if (lean - side * middle <= half[up])
            continue; /* all of it lies before this face */
        struct sm_plane face = {{0.0, 0.0, 0.0}, half[up]};
        face.n[up] = side;
        cut(out, &face, 0.0, 1.0);
    }
}

static void cut_to_walls(struct polygon *p, const struct box *b, int but)
{
    for (int t = 0; t < b->n_walls; t++)
        if (t != but)
            cut(p, &b->walls[t], 0.0, 1.0);
}

/* Adds weight times the integrals over a polygon, by its fan of triangles: of a product of two coordinates over a triangle,
 * A/12 times the sum over its corners plus the product of the sums. */
static void add_polygon(const struct polygon *p, const double middle[3], double weight,
                        double flux[SM_N_INTEGRALS])
{
    for (int i = 2; i < p->n; i++) {
        double u[3], v[3], sum[3], corner[3][3];
        for (int k = 0; k < 3; k++) {
            corner[0][k] = middle[k] + p->v[0][k];
            corner[1][k] = middle[k] + p->v[i - 1][k];
            corner[2][k] = middle[k] + p->v[i][k];
            u[k] = p->v[i - 1][k] - p->v[0][k];
            v[k] = p->v[i][k] - p->v[0][k];
            sum[k] = corner[0][k] + corner[1][k] + corner[2][k];
        }
        const double cx = u[1] * v[2] - u[2] * v[1], cy = u[2] * v[0] - u[0] * v[2],
                     cz = u[0] * v[1] - u[1] * v[0];
        const double area = 0.5 * weight * sqrt(cx * cx + cy * cy + cz * cz);
        static const int first[6] = {0, 1, 2, 0, 0, 1}, second[6] = {0, 1, 2, 1, 2, 2};
        flux[SM_VOLUME] += area;
        for (int k = 0; k < 3; k++)
            flux[SM_X + k] += area * sum[k] / 3.0;
        for (int q = 0; q < 6; q++) {
            double products = sum[first[q]] * sum[second[q]];
            for (int c = 0; c < 3; c++)
                products += corner[c][first[q]] * corner[c][second[q]];
            flux[SM_XX + q] += area * products / 12.0;
        }
    }
}

/* ---- a box's fronts ---- */

/* Where the planes' common value is w: each plane's part of that. */
static void add_mesh_front(const struct box *b, double w, double flux[SM_N_INTEGRALS])
{
    for (int i = 0; i < b->n; i++) {
        if (fabs(w - b->planes[i].c) > reach_of(&b->planes[i], b->half))
            continue;
        struct polygon p;
        plane_in_box(&b->planes[i], w, b->half, &p);
        cut_to_walls(&p, b, -1);
        for (int o = 0; o < b->n && p.n > 0; o++)
            if (o != i)
                cut(&p, &b->planes[o], w, b->is_least ? 1.0 : -1.0);
        add_polygon(&p, b->middle, 1.0, flux);
    }
}

/* What of a flat front lies in the box where its distance from the mesh is more than w. */
static void add_flat_front(const struct box *b, struct polygon *p, double w, double flux[SM_N_INTEGRALS])
{
    if (!b->is_least)
        add_polygon(p, b->middle, 1.0, flux);
    for (int o = 0; o < b->n && p->n > 0; o++)
        cut(p, &b->planes[o], w, b->is_least ? 1.0 : -1.0);
    add_polygon(p, b->middle, b->is_least ? 1.0 : -1.0, flux);
}

/* Part of the front that burns from a flat end; the box has been cut there, so it is its lower or upper face. */
static void add_end_front(const struct box *b, double side, double w, double flux[SM_N_INTEGRALS])
{
    struct polygon p;
    p.n = 4;
    p.v = p.room[0];
    for (int i = 0; i < 4; i++) {
        p.v[i][0] = i == 0 || i == 3 ? -b->half[0] : b->half[0];
        p.v[i][1] = i < 2 ? -b->half[1] : b->half[1];
        p.v[i][2] = side * b->half[2];
    }
    cut_to_walls(&p, b, -1);
    add_flat_front(b, &p, w, flux);
}

static void add_outer_front(const struct box *b, double w, double flux[SM_N_INTEGRALS])
{
    for (int t = 0; t < b->n_walls; t++) {
        struct polygon p;
        if (fabs(b->walls[t].c) > reach_of(&b->walls[t], b->half))
            continue;
        plane_in_box(&b->walls[t], 0.0, b->half, &p);
        cut_to_walls(&p, b, t);
        add_flat_front(b, &p, w, flux);
    }
}

/* ---- all boxes ---- */

static void place_of(const struct sm_lattice *g, int i, int j, int k, double middle[3], double half[3])
{
    half[0] = half[1] = 0.5 * g->step;
    half[2] = 0.5 * (g->z[k + 1] - g->z[k]);
    middle[0] = g->origin[0] + (i + 0.5) * g->step;
    middle[1] = g->origin[1] + (j + 0.5) * g->step;
    middle[2] = 0.5 * (g->z[k] + g->z[k + 1]);
}

static size_t place_in(const struct sm_lattice *g, int i, int j, int k)
{
    return ((size_t)k * (size_t)g->n[1] + (size_t)j) * (size_t)g->n[0] + (size_t)i;
}

static struct sm_span find_span(const struct sm_creased *c, int i, int j, int k)
{
    const struct sm_lattice *g = c->lattice;
    double middle[3], half[3], inner, outer;
    place_of(g, i, j, k, middle, half);
    radii_of(middle, half, &inner, &outer);
    if (inner >= c->radius)
        return (struct sm_span){.low = SM_INF, .high = -SM_INF};
    struct box b;
    find_planes(g, i, j, k, &b);
    const double none = b.is_least ? SM_INF : -SM_INF;
    struct sm_span span = {.low = none, .high = none, .n = (short)b.n, .is_least = b.is_least};
    for (int p = 0; p < b.n; p++) {
        const double reach = reach_of(&b.planes[p], half), c0 = b.planes[p].c;
        span.low = b.is_least ? fmin(span.low, c0 - reach) : fmax(span.low, c0 - reach);
        span.high = b.is_least ? fmin(span.high, c0 + reach) : fmax(span.high, c0 + reach);
    }
    return span;
}

static void find_layer_spans(void *user, int worker, size_t k)
{
    (void)worker;
    const struct sm_creased *c = user;
    const int *n = c->lattice->n;
    struct sm_span *layer = &c->layers[k];
    *layer = (struct sm_span){.low = SM_INF, .high = -SM_INF};
    for (int j = 0; j < n[1]; j++)
        for (int i = 0; i < n[0]; i++) {
            struct sm_span *span = &c->boxes[place_in(c->lattice, i, j, (int)k)];
            *span = find_span(c, i, j, (int)k);
            layer->low = fmin(layer->low, span->low);
            layer->high = fmax(layer->high, span->high);
        }
}

static void keep_layer_planes(void *user, int worker, size_t k)
{
    (void)worker;
    const struct sm_creased *c = user;
    const int *n = c->lattice->n;
    for (int j = 0; j < n[1]; j++)
        for (int i = 0; i < n[0]; i++) {
            const struct sm_span *span = &c->boxes[place_in(c->lattice, i, j, (int)k)];
            struct box b;
            if (span->n == 0)
                continue;
            find_planes(c->lattice, i, j, (int)k, &b);
            for (int p = 0; p < b.n; p++)
                c->planes[span->first + (size_t)p] = b.planes[p];
        }
}

enum sm_status sm_creased_init(struct sm_arena *arena, struct sm_creased *creased, struct sm_error *err)
{
    const int *n = creased->lattice->n;
    const size_t layers = (size_t)n[2], boxes = (size_t)n[0] * (size_t)n[1] * layers;
    size_t planes = 0;
    creased->boxes = sm_arena_alloc(arena, boxes, sizeof *creased->boxes);
    creased->layers = sm_arena_alloc(arena, layers, sizeof *creased->layers);
    creased->sums = sm_arena_alloc(arena, SM_N_INTEGRALS * layers, sizeof *creased->sums);
    if (!creased->boxes || !creased->layers || !creased->sums)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    sm_parallel_for(layers, 0, find_layer_spans, creased, NULL);
    for (size_t i = 0; i < boxes; i++) {
        creased->boxes[i].first = planes;
        planes += (size_t)creased->boxes[i].n;
    }
    creased->planes = sm_arena_alloc(arena, planes, sizeof *creased->planes);
    if (!creased->planes)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    sm_parallel_for(layers, 0, keep_layer_planes, creased, NULL);
    creased->reach = 0.0;
    for (size_t k = 0; k < layers; k++)
        creased->reach = fmax(creased->reach, creased->layers[k].high);
    return SM_OK;
}

/* The box cut to what the ends have left at w; false if that is nothing. */
static bool find_box(const struct sm_creased *c, int i, int j, int k, const struct sm_span *span, double w,
                     struct box *b)
{
    const struct sm_lattice *g = c->lattice;
    double inner, outer;
    place_of(g, i, j, k, b->middle, b->half);
    const double low = fmax(g->z[k], c->fore ? w : 0.0),
                 high = fmin(g->z[k + 1], c->length - (c->aft ? w : 0.0));
    const double shift = 0.5 * (low + high) - b->middle[2];
    const double r = c->radius - (c->outer ? w : 0.0);
    if (!(high >= low) || !(r > 0.0))
        return false;
    b->n = span->n;
    b->is_least = span->is_least;
    b->middle[2] += shift;
    b->half[2] = 0.5 * (high - low);
    b->planes = &c->planes[span->first];
    for (int p = 0; shift != 0.0 && p < b->n; p++) {
        b->room[p] = c->planes[span->first + (size_t)p];
        b->room[p].c += b->room[p].n[2] * shift;
    }
    if (shift != 0.0)
        b->planes = b->room;
    radii_of(b->middle, b->half, &inner, &outer);
    b->n_walls = 0;
    if (inner >= r)
        return false;
    if (outer > r)
        find_walls(b->middle, b->half, r, b);
    return true;
}

/* Does a flat front at z cross layer k? Each lies in one. */
static bool is_in_layer(const struct sm_lattice *g, int k, double z)
{
    return z >= g->z[k] && (z < g->z[k + 1] || (k + 1 == g->n[2] && z == g->z[k + 1]));
}

static void add_box(const struct sm_creased *c, int i, int j, int k, size_t at, double w,
                    double flux[SM_N_INTEGRALS])
{
    const struct sm_lattice *g = c->lattice;
    const struct sm_span *span = &c->boxes[at];
    if (w >= span->high)
        return;
    const bool has_mesh = w > span->low || (w == 0.0 && span->low == 0.0);
    const bool has_fore = c->fore && is_in_layer(g, k, w),
               has_aft = c->aft && is_in_layer(g, k, c->length - w);
    if (!has_mesh && !has_fore && !has_aft && !c->outer)
        return;
    struct box b;
    if (!find_box(c, i, j, k, span, w, &b))
        return;
    if (has_mesh)
        add_mesh_front(&b, w, flux);
    if (has_fore)
        add_end_front(&b, -1.0, w, flux);
    if (has_aft)
        add_end_front(&b, 1.0, w, flux);
    if (c->outer && b.n_walls > 0)
        add_outer_front(&b, w, flux);
}

struct job {
    const struct sm_creased *creased;
    double w; /* [m] */
};

static void add_layer(void *user, int worker, size_t k)
{
    (void)worker;
    const struct job *job = user;
    const struct sm_creased *c = job->creased;
    const int *n = c->lattice->n;
    double *flux = c->sums + SM_N_INTEGRALS * k;
    size_t at = k * (size_t)n[0] * (size_t)n[1];
    for (int q = 0; q < SM_N_INTEGRALS; q++)
        flux[q] = 0.0;
    if (job->w >= c->layers[k].high || (job->w < c->layers[k].low && !c->fore && !c->aft && !c->outer))
        return;
    for (int j = 0; j < n[1]; j++)
        for (int i = 0; i < n[0]; i++, at++)
            add_box(c, i, j, (int)k, at, job->w, flux);
}

/* Layers are summed each by itself and then in their order, so that any number of threads gives the same. */
void sm_creased_flux(const struct sm_creased *creased, double w, double flux[SM_N_INTEGRALS])
{
    const size_t n = (size_t)creased->lattice->n[2];
    struct job job = {creased, w};
    sm_parallel_for(n, 0, add_layer, &job, NULL);
    for (int q = 0; q < SM_N_INTEGRALS; q++) {
        flux[q] = 0.0;
        for (size_t k = 0; k < n; k++)
            flux[q] += creased->sums[SM_N_INTEGRALS * k + (size_t)q];
    }
}
