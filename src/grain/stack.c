/* Several grains in one motor, as one geometry. */
#include <math.h>
#include <stdlib.h>

#include "grain/geometry.h"
#include "grain/table.h"

/* On the sum of pieces that each hold their own integrals to 1e-9 or better. */
static const double TOLERANCE = 1e-11;

struct stack {
    const struct sm_stack_item *items;
    size_t n;
    const double *breaks; /* [m] */
};

/* An integral of all the copies of one item. With the copies at s_k: sum of z + s_k = n z + S1, and of (z +
 * s_k)^2 = n z^2 + 2 S1 z + S2. */
static void add_moved(const double in[SM_N_INTEGRALS], double n, double s1, double s2,
                      double out[SM_N_INTEGRALS])
{
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        out[i] += n * in[i];
    out[SM_Z] += s1 * in[SM_VOLUME];
    out[SM_ZZ] += 2.0 * s1 * in[SM_Z] + s2 * in[SM_VOLUME];
    out[SM_XZ] += s1 * in[SM_X];
    out[SM_YZ] += s1 * in[SM_Y];
}

/* Sums of the copies' places and of their squares. */
static void sum_places(const struct sm_stack_item *item, double *s1, double *s2)
{
    *s1 = *s2 = 0.0;
    for (int k = 0; k < item->count; k++) {
        const double s = item->shift + k * item->pitch;
        *s1 += s;
        *s2 += s * s;
    }
}

static void add_item(const struct sm_stack_item *item, const struct sm_geometry_knot *knot,
                     struct sm_geometry_knot *out)
{
    double s1, s2;
    sum_places(item, &s1, &s2);
    add_moved(knot->value, item->count, s1, s2, out->value);
    add_moved(knot->slope, item->count, s1, s2, out->slope);
    add_moved(knot->bend, item->count, s1, s2, out->bend);
}

static void stack_knot(void *user, size_t k, double w, struct sm_geometry_knot *out)
{
    const struct stack *stack = user;
    const double middle = 0.5 * (stack->breaks[k] + stack->breaks[k + 1]);
    *out = (struct sm_geometry_knot){.w = w};
    for (size_t i = 0; i < stack->n; i++) {
        const struct sm_geometry *g = stack->items[i].geometry;
        const size_t place = sm_geometry_find(g, middle);
        if (place >= g->n_pieces)
            continue;
        struct sm_geometry_knot knot;
        sm_piece_knot(&g->pieces[place], w, &knot);
        add_item(&stack->items[i], &knot, out);
    }
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* All joints of all items in order, those nearer than a rounding taken as one. Returned: their number, 0 if
 * memory is out. */
static size_t merge_breaks(struct sm_arena *arena, const struct sm_stack_item *items, size_t n,
                           double **breaks)
{
    size_t room = 1;
    double web = 0.0;
    for (size_t i = 0; i < n; i++) {
        room += items[i].geometry->n_pieces;
        web = fmax(web, items[i].geometry->web);
    }
    double *w = sm_arena_alloc(arena, room, sizeof *w);
    if (!w)
        return 0;
    size_t n_all = 1;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < items[i].geometry->n_pieces; j++)
            w[n_all++] = items[i].geometry->pieces[j].w1;
    qsort(w, n_all, sizeof *w, rising);
    size_t n_kept = 1;
    for (size_t i = 1; i < n_all; i++)
        if (w[i] - w[n_kept - 1] > 1e-14 * web)
            w[n_kept++] = w[i];
    *breaks = w;
    return n_kept;
}

/* For each stretch the roots of the pieces in it: where items have different ones the last is taken, and
 * halving does the rest. */
static double *find_roots(struct sm_arena *arena, const struct stack *stack, size_t n_stretches)
{
    double *roots = sm_arena_alloc(arena, 2 * n_stretches, sizeof *roots);
    for (size_t k = 0; roots && k < n_stretches; k++) {
        roots[2 * k] = stack->breaks[k];
        roots[2 * k + 1] = stack->breaks[k + 1];
        const double middle = 0.5 * (stack->breaks[k] + stack->breaks[k + 1]);
        for (size_t i = 0; i < stack->n; i++) {
            const struct sm_geometry *g = stack->items[i].geometry;
            const size_t place = sm_geometry_find(g, middle);
            if (place >= g->n_pieces)
                continue;
            const struct sm_piece *piece = &g->pieces[place];
            if (piece->pace == SM_ROOT_BEFORE)
                roots[2 * k] = fmin(piece->root, stack->breaks[k]);
            if (piece->pace == SM_ROOT_BEHIND)
                roots[2 * k + 1] = fmax(piece->root, stack->breaks[k + 1]);
        }
    }
    return roots;
}

static void add_sizes(const struct sm_stack_item *item, struct sm_geometry *out, double *fore, double *aft)
{
    const struct sm_geometry *g = item->geometry;
    const double first = item->shift, last = item->shift + (item->count - 1) * item->pitch;
    const double end = fmax(first, last) + g->length;
    *fore = fmin(*fore, fmin(first, last));
    if (end > *aft) {
        *aft = end;
        out->port_area = g->port_area;
    }
    out->outer_radius = fmax(out->outer_radius, g->outer_radius);
    out->envelope += item->count * g->envelope;
}

/* The polynomial in u = start + share v as one in v: Taylor's shift by Horner's scheme. */
static void shift(const double c[6], double start, double share, double out[6])
{
    double power = 1.0;
    for (int j = 0; j < 6; j++)
        out[j] = c[j];
    for (int i = 0; i < 6; i++)
        for (int j = 4; j >= i; j--)
            out[j] += start * out[j + 1];
    for (int j = 0; j < 6; j++, power *= share)
        out[j] *= power;
}

/* Adds the part of one item's even piece that lies in the stretch of out. */
static void add_piece(const struct sm_stack_item *item, const struct sm_piece *piece, struct sm_piece *out)
{
    const double span = piece->w1 - piece->w0;
    const double start = (out->w0 - piece->w0) / span, share = (out->w1 - out->w0) / span;
    double c[6][SM_N_INTEGRALS], s1, s2;
    sum_places(item, &s1, &s2);
    for (int q = 0; q < SM_N_INTEGRALS; q++) {
        double shifted[6];
        shift(piece->c[q], start, share, shifted);
        for (int j = 0; j < 6; j++)
            c[j][q] = shifted[j];
    }
    for (int j = 0; j < 6; j++) {
        double sum[SM_N_INTEGRALS] = {0.0};
        add_moved(c[j], item->count, s1, s2, sum);
        for (int q = 0; q < SM_N_INTEGRALS; q++)
            out->c[q][j] += sum[q];
    }
}

static bool are_even(const struct stack *stack)
{
    for (size_t i = 0; i < stack->n; i++)
        for (size_t k = 0; k < stack->items[i].geometry->n_pieces; k++)
            if (stack->items[i].geometry->pieces[k].pace != SM_EVEN)
                return false;
    return true;
}

/* Where all pieces are polynomials in w their sums are, stretch by stretch. */
static enum sm_status add_polynomials(struct sm_arena *arena, const struct stack *stack, size_t n_stretches,
                                      struct sm_geometry *out, struct sm_error *err)
{
    out->pieces = sm_arena_alloc(arena, n_stretches, sizeof *out->pieces);
    if (!out->pieces)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    out->n_pieces = n_stretches;
    for (size_t k = 0; k < n_stretches; k++) {
        struct sm_piece *piece = &out->pieces[k];
        piece->w0 = stack->breaks[k];
        piece->w1 = stack->breaks[k + 1];
        for (size_t i = 0; i < stack->n; i++) {
            const struct sm_geometry *g = stack->items[i].geometry;
            const size_t place = sm_geometry_find(g, 0.5 * (piece->w0 + piece->w1));
            if (place < g->n_pieces)
                add_piece(&stack->items[i], &g->pieces[place], piece);
        }
    }
    sm_geometry_finish(out);
    return SM_OK;
}

/* Few copies of one grain need no new pieces: the old ones are moved. */
static enum sm_status move_pieces(struct sm_arena *arena, const struct sm_stack_item *item,
                                  struct sm_geometry *out, struct sm_error *err)
{
    const struct sm_geometry *g = item->geometry;
    out->pieces = sm_arena_alloc(arena, g->n_pieces, sizeof *out->pieces);
    if (!out->pieces)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    out->n_pieces = g->n_pieces;
    out->accuracy = g->accuracy;
    for (size_t i = 0; i < g->n_pieces; i++) {
        out->pieces[i] = g->pieces[i];
        for (int j = 0; j < 6; j++) {
            struct sm_geometry_knot one = {0}, all = {0};
            for (int q = 0; q < SM_N_INTEGRALS; q++)
                one.value[q] = g->pieces[i].c[q][j];
            add_item(item, &one, &all);
            for (int q = 0; q < SM_N_INTEGRALS; q++)
                out->pieces[i].c[q][j] = all.value[q];
        }
    }
    sm_geometry_finish(out);
    return SM_OK;
}

enum sm_status sm_geometry_stack(struct sm_arena *arena, const struct sm_stack_item *items, size_t n,
                                 struct sm_geometry *out, struct sm_error *err)
{
    *out = (struct sm_geometry){0};
    if (n == 0)
        return sm_fail(err, SM_E_INTERNAL, "a stack needs at least one grain");
    double fore = SM_INF, aft = -SM_INF, accuracy = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (items[i].count < 1 || items[i].geometry->n_pieces == 0)
            return sm_fail(err, SM_E_INTERNAL, "grain %zu of the stack is empty", i);
        add_sizes(&items[i], out, &fore, &aft);
        accuracy = fmax(accuracy, items[i].geometry->accuracy);
    }
    out->length = aft - fore;
    if (n == 1)
        return move_pieces(arena, &items[0], out, err);

    struct stack stack = {.items = items, .n = n};
    double *breaks = NULL;
    const size_t n_breaks = merge_breaks(arena, items, n, &breaks);
    if (n_breaks == 0)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    stack.breaks = breaks;
    out->accuracy = accuracy;
    if (are_even(&stack))
        return add_polynomials(arena, &stack, n_breaks - 1, out, err);
    const double *roots = find_roots(arena, &stack, n_breaks - 1);
    if (!roots)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    const struct sm_table_source source = {.knot = stack_knot,
                                           .user = &stack,
                                           .breaks = breaks,
                                           .n_stretches = n_breaks - 1,
                                           .roots = roots,
                                           .reach = fmax(fabs(fore), fabs(aft)) + out->outer_radius,
                                           .tolerance = TOLERANCE};
    SM_TRY(sm_table_build(arena, &source, out, err));
    out->accuracy = fmax(out->accuracy, accuracy);
    return SM_OK;
}
