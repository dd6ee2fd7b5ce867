/* Which solids may be the nearest to a tile's nodes; the loops over these are in grain/fillrows.h. */
#include "grain/fill.h"

#include <math.h>

#include "grain/filltile.h"
#include "grain/shape.h"
#include "num/parallel.h"

/* Nodes along x, y and z of what one round fills, and of its tiles. */
static const size_t block[3] = {32, 32, 32}, tile[3] = {SM_FILL_SIDE, SM_FILL_SIDE, SM_FILL_ROW};

struct filling {
    const struct sm_patcher *patcher;
    const struct sm_net *net;
    enum sm_lane_set set;
    double *doubles; /* [m] */
    float *floats;   /* [m] */
    size_t blocks[3];
    struct sm_fill_solid solids[SM_FILL_MOST];
    int n;
};

/* ---- solids as the net sees them ---- */

static struct sm_triple scaled(double k, struct sm_triple a)
{
    return (struct sm_triple){k * a.x, k * a.y, k * a.z};
}

/* The net's first node and steps, turned into a frame. */
static void set_frame(struct sm_fill_solid *out, const struct sm_net *net, struct sm_triple at,
                      const struct sm_triple axes[3])
{
    const struct sm_triple d = sm_triple_add(net->first, -1.0, at);
    out->first =
        (struct sm_triple){sm_triple_dot(d, axes[0]), sm_triple_dot(d, axes[1]), sm_triple_dot(d, axes[2])};
    out->along[0] = scaled(net->step.x, (struct sm_triple){axes[0].x, axes[1].x, axes[2].x});
    out->along[1] = scaled(net->step.y, (struct sm_triple){axes[0].y, axes[1].y, axes[2].y});
    out->along[2] = scaled(net->step.z, (struct sm_triple){axes[0].z, axes[1].z, axes[2].z});
}

static const struct sm_triple upright[3] = {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}},
                              turned_over[3] = {{1.0, 0.0, 0.0}, {0.0, -1.0, 0.0}, {0.0, 0.0, -1.0}};

/* Heights of a box or a cylinder along which rows run upwards beside it. */
static void find_sides(struct sm_fill_solid *s)
{
    const struct sm_triple up = s->along[2];
    s->low = SM_INF;
    s->high = -SM_INF;
    if (up.x != 0.0 || up.y != 0.0 || !(up.z > 0.0) ||
        (s->form != SM_FILL_BOX && s->form != SM_FILL_CYLINDER))
        return;
    s->low = s->form == SM_FILL_BOX ? -s->solid.c : 0.0;
    s->high = s->solid.c;
}

static void add_solid(struct filling *f, const struct sm_solid *s)
{
    const struct sm_triple origin = {0.0, 0.0, 0.0};
    struct sm_fill_solid *out = &f->solids[f->n++];
    *out = (struct sm_fill_solid){.form = SM_FILL_ANY, .solid = *s};
    if (s->form == SM_SOLID_BALL) {
        out->form = SM_FILL_BALL;
    } else if (s->form == SM_SOLID_BOX && s->fillet == 0.0) {
        out->form = SM_FILL_BOX;
    } else if (s->form == SM_SOLID_CONE) {
        out->form = s->a == s->b ? SM_FILL_CYLINDER : SM_FILL_CONE;
    }
    if (out->form == SM_FILL_ANY)
        set_frame(out, f->net, origin, upright);
    else
        set_frame(out, f->net, s->at, s->axes);
    find_sides(out);
}

static void add_end(struct filling *f, double z, const struct sm_triple axes[3])
{
    struct sm_fill_solid *out = &f->solids[f->n++];
    *out = (struct sm_fill_solid){.form = SM_FILL_PLANE};
    set_frame(out, f->net, (struct sm_triple){0.0, 0.0, z}, axes);
    find_sides(out);
}

/* ---- what may be the nearest ---- */

struct near {
    int n;
    short items[SM_FILL_MOST];
};

/* A box of nodes: its first, and how many. */
struct part {
    size_t from[3], n[3];
};

static struct sm_triple in_frame(const struct sm_fill_solid *s, double i, double j, double k)
{
    return sm_triple_add(sm_triple_add(sm_triple_add(s->first, i, s->along[0]), j, s->along[1]), k,
                         s->along[2]);
}

static void find_near(const struct filling *f, const struct part *p, const struct near *before,
                      struct near *out)
{
    const struct sm_net *net = f->net;
    double half[3], distance[SM_FILL_MOST], least = SM_INF;
    for (int q = 0; q < 3; q++)
        half[q] = 0.5 * (double)(p->n[q] - 1);
    const double i = (double)p->from[0] + half[0], j = (double)p->from[1] + half[1],
                 k = (double)p->from[2] + half[2];
    const struct sm_triple way = {half[0] * net->step.x, half[1] * net->step.y, half[2] * net->step.z};
    const struct sm_triple middle = {net->first.x + i * net->step.x, net->first.y + j * net->step.y,
                                     net->first.z + k * net->step.z};
    for (int a = 0; a < before->n; a++) {
        const struct sm_fill_solid *s = &f->solids[before->items[a]];
        distance[a] =
            s->form == SM_FILL_PLANE ? in_frame(s, i, j, k).z : sm_solid_distance(&s->solid, middle);
        least = fmin(least, distance[a]);
    }
    const double most = least + 2.0 * (1.0 + 1e-9) * sqrt(sm_triple_dot(way, way)); /* rounding kept */
    out->n = 0;
    for (int a = 0; a < before->n; a++)
        if (distance[a] <= most)
            out->items[out->n++] = before->items[a];
}

static void fill_tile(const struct filling *f, const struct part *p, const struct near *before)
{
    const size_t *n = f->net->n;
    struct near near;
    struct sm_triple starts[SM_FILL_MOST];
    find_near(f, p, before, &near);
    for (int a = 0; a < near.n; a++)
        starts[a] =
            in_frame(&f->solids[near.items[a]], (double)p->from[0], (double)p->from[1], (double)p->from[2]);
    const struct sm_fill_tile t = {.solids = f->solids,
                                   .near = near.items,
                                   .n_near = near.n,
                                   .starts = starts,
                                   .n = {p->n[0], p->n[1], p->n[2]},
                                   .at = (p->from[0] * n[1] + p->from[1]) * n[2] + p->from[2],
                                   .stride = {n[1] * n[2], n[2]},
                                   .doubles = f->doubles,
                                   .floats = f->floats};
#ifdef SM_LANES_X86
    if (f->set == SM_LANE_AVX512) {
        sm_fill_tile_avx512(&t);
        return;
    }
    if (f->set == SM_LANE_AVX2) {
        sm_fill_tile_avx2(&t);
        return;
    }
#endif
    sm_fill_tile_plain(&t);
}

/* ---- all nodes ---- */

static size_t at_most(size_t a, size_t b)
{
    return a < b ? a : b;
}

static void fill_block(void *user, int worker, size_t index)
{
    (void)worker;
    const struct filling *f = user;
    const size_t *n = f->net->n,
                 first[3] = {index / f->blocks[2] / f->blocks[1] * block[0],
                             index / f->blocks[2] % f->blocks[1] * block[1], index % f->blocks[2] * block[2]};
    struct part all, part;
    struct near every = {.n = f->n}, near;
    for (int q = 0; q < 3; q++) {
        all.from[q] = first[q];
        all.n[q] = at_most(block[q], n[q] - first[q]);
    }
    for (int a = 0; a < f->n; a++)
        every.items[a] = (short)a;
    find_near(f, &all, &every, &near);
    for (size_t i = 0; i < all.n[0]; i += tile[0])
        for (size_t j = 0; j < all.n[1]; j += tile[1])
            for (size_t k = 0; k < all.n[2]; k += tile[2]) {
                const size_t from[3] = {i, j, k};
                for (int q = 0; q < 3; q++) {
                    part.from[q] = first[q] + from[q];
                    part.n[q] = at_most(tile[q], all.n[q] - from[q]);
                }
                fill_tile(f, &part, &near);
            }
}

static void fill(const struct sm_patcher *p, const struct sm_net *net, int threads, enum sm_lane_set set,
                 double *doubles, float *floats)
{
    struct filling f = {.patcher = p, .net = net, .set = set, .doubles = doubles, .floats = floats, .n = 0};
    for (size_t i = 0; i < p->n; i++)
        add_solid(&f, &p->solids[i]);
    if (p->voids->burning & SM_FACE_FORE_END)
        add_end(&f, 0.0, upright);
    if (p->voids->burning & SM_FACE_AFT_END)
        add_end(&f, p->voids->length, turned_over);
    for (int q = 0; q < 3; q++)
        f.blocks[q] = (net->n[q] + block[q] - 1) / block[q];
    sm_parallel_for(f.blocks[0] * f.blocks[1] * f.blocks[2], threads, fill_block, &f, NULL);
}

void sm_fill_doubles(const struct sm_patcher *patcher, const struct sm_net *net, int threads,
                     enum sm_lane_set set, double *out)
{
    fill(patcher, net, threads, set, out, NULL);
}

void sm_fill_floats(const struct sm_patcher *patcher, const struct sm_net *net, int threads,
                    enum sm_lane_set set, float *out)
{
    fill(patcher, net, threads, set, NULL, out);
}
