#include "grain/contour.h"

#include <math.h>

void sm_contour_init(struct sm_contour *contour, struct sm_arena *arena)
{
    *contour = (struct sm_contour){.arena = arena};
}

void sm_contour_add_loose(struct sm_contour *contour, const struct sm_edge *edge)
{
    struct sm_edge *room = sm_arena_grow(contour->arena, contour->edges, contour->n_edges,
                                         &contour->edge_room, contour->n_edges + 1, sizeof *room);
    if (!room) {
        contour->is_short_of_memory = true;
        return;
    }
    contour->edges = room;
    contour->edges[contour->n_edges++] = *edge;
    contour->reach = fmax(contour->reach, fabs(edge->b.x) + fabs(edge->b.y));
}

static void add_edge(struct sm_contour *contour, const struct sm_edge *edge)
{
    sm_contour_add_loose(contour, edge);
    contour->at = edge->b;
    if (contour->n_chains > 0 && !contour->is_short_of_memory)
        contour->chains[contour->n_chains - 1].n++;
}

void sm_contour_start(struct sm_contour *contour, double x, double y)
{
    struct sm_chain *room = sm_arena_grow(contour->arena, contour->chains, contour->n_chains,
                                          &contour->chain_room, contour->n_chains + 1, sizeof *room);
    if (!room) {
        contour->is_short_of_memory = true;
        return;
    }
    contour->chains = room;
    contour->chains[contour->n_chains++] = (struct sm_chain){.first = contour->n_edges};
    contour->at = (struct sm_point){x, y};
    contour->reach = fmax(contour->reach, fabs(x) + fabs(y));
}

static double distance(struct sm_point a, struct sm_point b)
{
    return hypot(b.x - a.x, b.y - a.y);
}

/* A length that rounding can't be blamed for in an outline that reaches so far from the origin [m]. */
static double least_length(const struct sm_contour *contour, struct sm_point to)
{
    return 1e-13 * fmax(contour->reach, fabs(to.x) + fabs(to.y));
}

void sm_contour_line(struct sm_contour *contour, double x, double y)
{
    const struct sm_point b = {x, y};
    if (distance(contour->at, b) > least_length(contour, b))
        add_edge(contour, &(struct sm_edge){.a = contour->at, .b = b});
}

void sm_contour_arc(struct sm_contour *contour, double x, double y, double centre_x, double centre_y,
                    int turn)
{
    const struct sm_point b = {x, y}, centre = {centre_x, centre_y};
    const double radius = 0.5 * (distance(contour->at, centre) + distance(b, centre));
    const double least = least_length(contour, b);
    if (distance(contour->at, b) > least && radius > least)
        add_edge(contour, &(struct sm_edge){
                              .a = contour->at, .b = b, .centre = centre, .radius = radius, .turn = turn});
}

void sm_contour_circle(struct sm_contour *contour, double centre_x, double centre_y, double radius, int turn)
{
    const struct sm_point a = {centre_x + radius, centre_y};
    sm_contour_start(contour, a.x, a.y);
    add_edge(contour, &(struct sm_edge){
                          .a = a, .b = a, .centre = {centre_x, centre_y}, .radius = radius, .turn = turn});
}

enum sm_status sm_contour_check_memory(const struct sm_contour *contour, struct sm_error *err)
{
    return contour->is_short_of_memory ? sm_fail(err, SM_E_NOMEM, "out of memory") : SM_OK;
}

bool sm_chain_is_closed(const struct sm_contour *contour, const struct sm_chain *chain)
{
    if (chain->n == 0)
        return false;
    const struct sm_point a = contour->edges[chain->first].a,
                          b = contour->edges[chain->first + chain->n - 1].b;
    return distance(a, b) <= 1e3 * least_length(contour, a);
}

struct sm_point sm_edge_direction(const struct sm_edge *edge, bool at_end)
{
    if (edge->turn == 0) {
        const double length = distance(edge->a, edge->b);
        return (struct sm_point){(edge->b.x - edge->a.x) / length, (edge->b.y - edge->a.y) / length};
    }
    const struct sm_point p = at_end ? edge->b : edge->a;
    const double x = p.x - edge->centre.x, y = p.y - edge->centre.y, r = hypot(x, y);
    return (struct sm_point){-edge->turn * y / r, edge->turn * x / r};
}

double sm_edge_sweep(const struct sm_edge *edge)
{
    if (edge->turn == 0)
        return 0.0;
    const double ax = edge->a.x - edge->centre.x, ay = edge->a.y - edge->centre.y;
    const double bx = edge->b.x - edge->centre.x, by = edge->b.y - edge->centre.y;
    const double angle = edge->turn * atan2(ax * by - ay * bx, ax * bx + ay * by);
    return angle > 0.0 ? angle : angle + 2.0 * M_PI;
}

double sm_edge_length(const struct sm_edge *edge)
{
    return edge->turn == 0 ? distance(edge->a, edge->b) : edge->radius * sm_edge_sweep(edge);
}

struct sm_point sm_edge_point(const struct sm_edge *edge, double share)
{
    if (edge->turn == 0)
        return (struct sm_point){edge->a.x + share * (edge->b.x - edge->a.x),
                                 edge->a.y + share * (edge->b.y - edge->a.y)};
    const double angle = edge->turn * share * sm_edge_sweep(edge), c = cos(angle), s = sin(angle);
    const double x = edge->a.x - edge->centre.x, y = edge->a.y - edge->centre.y;
    return (struct sm_point){edge->centre.x + c * x - s * y, edge->centre.y + s * x + c * y};
}

/* Turned by an angle with this cosine and sine after, if is_mirrored, being mirrored at the x axis; a mirrored edge is
 * walked the other way, which keeps the void on its left. */
static struct sm_edge image(const struct sm_edge *edge, double c, double s, bool is_mirrored)
{
    const double flip = is_mirrored ? -1.0 : 1.0;
    const struct sm_point *in[3] = {is_mirrored ? &edge->b : &edge->a, is_mirrored ? &edge->a : &edge->b,
                                    &edge->centre};
    struct sm_point out[3];
    for (int i = 0; i < 3; i++)
        out[i] = (struct sm_point){c * in[i]->x - s * flip * in[i]->y, s * in[i]->x + c * flip * in[i]->y};
    return (struct sm_edge){
        .a = out[0], .b = out[1], .centre = out[2], .radius = edge->radius, .turn = edge->turn};
}

void sm_contour_unfold(const struct sm_edge *half, size_t n_edges, int n, struct sm_contour *whole)
{
    for (int k = 0; k < n; k++) {
        const double angle = 2.0 * M_PI * k / n, c = cos(angle), s = sin(angle);
        for (size_t i = 0; i < n_edges; i++) {
            const struct sm_edge plain = image(&half[i], c, s, false), mirrored = image(&half[i], c, s, true);
            sm_contour_add_loose(whole, &plain);
            sm_contour_add_loose(whole, &mirrored);
        }
    }
}

enum { NONE = -1 };

/* next[i]: the edge that begins where i ends. Each is given to one edge only. */
static void find_followers(const struct sm_contour *contour, double tolerance, long *next, long *previous)
{
    const size_t n = contour->n_edges;
    for (size_t i = 0; i < n; i++)
        next[i] = previous[i] = NONE;
    for (size_t i = 0; i < n; i++) {
        const struct sm_point end = contour->edges[i].b;
        double nearest = tolerance;
        for (size_t j = 0; j < n; j++) {
            if (previous[j] != NONE || fabs(end.x - contour->edges[j].a.x) > nearest)
                continue; /* most are too far across already, which is told without a root */
            const double d = distance(end, contour->edges[j].a);
            if (d > nearest)
                continue;
            nearest = d;
            next[i] = (long)j;
        }
        if (next[i] != NONE)
            previous[next[i]] = (long)i;
    }
}

static void follow(struct sm_contour *contour, const struct sm_edge *from, long first, long *next, size_t *n)
{
    contour->chains[contour->n_chains] = (struct sm_chain){.first = *n};
    for (long i = first; i != NONE;) {
        contour->edges[(*n)++] = from[i];
        contour->chains[contour->n_chains].n++;
        const long then = next[i];
        next[i] = -2; /* done */
        i = then == first || then < 0 || next[then] == -2 ? NONE : then;
    }
    contour->n_chains++;
}

enum sm_status sm_contour_stitch(struct sm_contour *contour, double tolerance, struct sm_error *err)
{
    SM_TRY(sm_contour_check_memory(contour, err));
    const size_t n = contour->n_edges;
    long *next = sm_arena_alloc(contour->arena, n, sizeof *next);
    long *previous = sm_arena_alloc(contour->arena, n, sizeof *previous);
    struct sm_edge *edges = sm_arena_alloc(contour->arena, n, sizeof *edges);
    contour->chains = sm_arena_alloc(contour->arena, n, sizeof *contour->chains);
    if (!next || !previous || !edges || !contour->chains)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    contour->chain_room = n;
    contour->n_chains = 0;
    find_followers(contour, tolerance, next, previous);
    const struct sm_edge *from = contour->edges;
    contour->edges = edges;
    contour->edge_room = n;
    size_t done = 0;
    for (size_t i = 0; i < n; i++)
        if (previous[i] == NONE)
            follow(contour, from, (long)i, next, &done);
    for (size_t i = 0; i < n; i++)
        if (next[i] != -2)
            follow(contour, from, (long)i, next, &done);
    return SM_OK;
}
