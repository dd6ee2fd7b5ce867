#include "grain/levels.h"

#include <math.h>
#include <stdbool.h>

enum { FIRST_LEVELS = 24, MOST_LEVELS = 2000, CHECKS = FIRST_LEVELS };

struct level {
    double w;                    /* [m] */
    double flux[SM_N_INTEGRALS]; /* [m2], [m3], [m4] */
};

struct maker {
    struct sm_arena *arena, scratch;
    const struct sm_level_source *source;
    struct level *levels;
    size_t n, room;
    double web;             /* [m] */
    double largest;         /* area met [m2] */
    double checked[CHECKS]; /* area midway between the first levels [m2] */
    struct sm_error *err;
};

static struct level level_at(struct maker *m, double w)
{
    struct level level = {.w = w};
    m->source->flux(m->source->user, w, level.flux);
    m->largest = fmax(m->largest, level.flux[SM_VOLUME]);
    return level;
}

static bool burns_at(struct maker *m, double w)
{
    return level_at(m, w).flux[SM_VOLUME] > m->source->nothing;
}

/* Where the last front goes out: most often near the reach, where there is little of it to add up. */
static double find_web(struct maker *m)
{
    static const double nearest = 1.0 / 1024, near_enough = 1e-10; /* shares of the reach [1] */
    const double reach = m->source->reach;
    double some = 0.0, none = reach;
    for (double gap = nearest; gap < 1.0 && some == 0.0; gap *= 4.0)
        if (burns_at(m, (1.0 - gap) * reach))
            some = (1.0 - gap) * reach;
        else
            none = (1.0 - gap) * reach;
    while (none - some > near_enough * reach) {
        const double middle = 0.5 * (some + none);
        if (burns_at(m, middle))
            some = middle;
        else
            none = middle;
    }
    return none;
}

static enum sm_status keep(struct maker *m, const struct level *level)
{
    struct level *levels = sm_arena_grow(&m->scratch, m->levels, m->n, &m->room, m->n + 1, sizeof *levels);
    if (!levels)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    m->levels = levels;
    levels[m->n++] = *level;
    return SM_OK;
}

/* A step of the area this large, share of the largest, within the shortest stretch is a jump [1]. */
static const double JUMP = 1e-3;

/* Two levels at one place, as before it and as after it, then b. */
static enum sm_status keep_jump(struct maker *m, const struct level *a, const struct level *b)
{
    struct level before = *a, after = *b;
    before.w = after.w = 0.5 * (a->w + b->w);
    SM_TRY(keep(m, &before));
    SM_TRY(keep(m, &after));
    return keep(m, b);
}

/* Puts levels behind a, up to b, as many as the bends of the area ask for. */
static enum sm_status add_levels(struct maker *m, const struct level *a, const struct level *middle,
                                 const struct level *b)
{
    const double bend = middle->flux[SM_VOLUME] - 0.5 * (a->flux[SM_VOLUME] + b->flux[SM_VOLUME]);
    if (fabs(bend) > m->source->bend * m->largest && b->w - a->w > m->source->shortest &&
        m->n < MOST_LEVELS) {
        const struct level left = level_at(m, 0.5 * (a->w + middle->w));
        SM_TRY(add_levels(m, a, &left, middle));
        const struct level right = level_at(m, 0.5 * (middle->w + b->w));
        return add_levels(m, middle, &right, b);
    }
    if (b->w - a->w <= m->source->shortest &&
        fabs(b->flux[SM_VOLUME] - a->flux[SM_VOLUME]) > JUMP * m->largest)
        return keep_jump(m, a, b);
    SM_TRY(keep(m, middle));
    return keep(m, b);
}

/* Would a straight line from level i to level j pass all those between, of which none is a jump's? */
static bool is_straight(const struct maker *m, size_t i, size_t j)
{
    const struct level *a = &m->levels[i], *b = &m->levels[j];
    for (size_t k = i + 1; k < j; k++) {
        const struct level *c = &m->levels[k];
        const double share = (c->w - a->w) / (b->w - a->w);
        const double bend =
            c->flux[SM_VOLUME] - (1.0 - share) * a->flux[SM_VOLUME] - share * b->flux[SM_VOLUME];
        if (fabs(bend) > 0.1 * m->source->bend * m->largest || c->w == m->levels[k - 1].w ||
            c->w == m->levels[k + 1].w)
            return false;
    }
    return true;
}

/* Leaves out levels that their neighbours say as well, as those that closed in on a jump do. */
static void thin(struct maker *m)
{
    enum { LONGEST = 16 }; /* levels left out in a row */
    size_t kept = 0, last = 0;
    while (last + 1 < m->n) {
        size_t next = last + 1;
        while (next + 1 < m->n && next - last < LONGEST && is_straight(m, last, next + 1))
            next++;
        last = next;
        m->levels[++kept] = m->levels[last];
    }
    m->n = kept + 1;
}

/* All first levels before any between them: the largest area says how far the others may bend. */
static enum sm_status make_levels(struct maker *m)
{
    enum { FIRST = 2 * FIRST_LEVELS + 1 };
    struct level first[FIRST];
    for (int i = 0; i < FIRST; i++)
        first[i] = level_at(m, m->web * i / (FIRST - 1));
    m->n = 0;
    SM_TRY(keep(m, &first[0]));
    for (int i = 0; i < FIRST_LEVELS; i++) {
        m->checked[i] = first[2 * i + 1].flux[SM_VOLUME];
        SM_TRY(add_levels(m, &first[2 * i], &first[2 * i + 1], &first[2 * i + 2]));
    }
    thin(m);
    return SM_OK;
}

/* ---- pieces ---- */

/* Straight from a to b, with what is behind b given and what is behind a returned. */
static void make_piece(const struct level *a, const struct level *b, double scale,
                       double value[SM_N_INTEGRALS], struct sm_piece *out)
{
    struct sm_geometry_knot left = {.w = a->w}, right = {.w = b->w};
    for (int q = 0; q < SM_N_INTEGRALS; q++) {
        left.slope[q] = -scale * a->flux[q];
        right.slope[q] = -scale * b->flux[q];
        left.bend[q] = right.bend[q] = (right.slope[q] - left.slope[q]) / (b->w - a->w);
        right.value[q] = value[q];
        value[q] -= 0.5 * (left.slope[q] + right.slope[q]) * (b->w - a->w);
        left.value[q] = value[q];
    }
    sm_piece_from_knots(&left, &right, SM_EVEN, 0.0, NULL, out);
}

static double area_under(const struct maker *m)
{
    double sum = 0.0;
    for (size_t i = 1; i < m->n; i++)
        sum += 0.5 * (m->levels[i].w - m->levels[i - 1].w) *
               (m->levels[i].flux[SM_VOLUME] + m->levels[i - 1].flux[SM_VOLUME]);
    return sum;
}

static enum sm_status make_pieces(struct maker *m, double scale, struct sm_geometry *out)
{
    double value[SM_N_INTEGRALS] = {0.0};
    out->n_pieces = 0;
    for (size_t i = 1; i < m->n; i++)
        out->n_pieces += m->levels[i].w > m->levels[i - 1].w;
    out->pieces = sm_arena_alloc(m->arena, out->n_pieces, sizeof *out->pieces);
    if (!out->pieces)
        return sm_fail(m->err, SM_E_NOMEM, "out of memory");
    size_t left = out->n_pieces;
    for (size_t i = m->n - 1; i > 0; i--)
        if (m->levels[i].w > m->levels[i - 1].w)
            make_piece(&m->levels[i - 1], &m->levels[i], scale, value, &out->pieces[--left]);
    sm_geometry_finish(out);
    return SM_OK;
}

/* Root mean square difference between both lattices, share of the largest area. */
static double find_accuracy(struct maker *m)
{
    double sum = 0.0, flux[SM_N_INTEGRALS];
    for (int i = 0; i < CHECKS; i++) {
        const double w = m->web * (i + 0.5) / CHECKS;
        m->source->coarse(m->source->user, w, flux);
        const double d = m->checked[i] - flux[SM_VOLUME];
        sum += d * d;
    }
    return sqrt(sum / CHECKS) / m->largest;
}

static enum sm_status make_table(struct maker *m, struct sm_geometry *g)
{
    m->web = find_web(m);
    SM_TRY(make_levels(m));
    const double sum = area_under(m);
    if (!(sum > 0.0))
        return sm_fail(m->err, SM_E_GEOMETRY, "nothing burns");
    const double scale = isnan(m->source->volume) ? 1.0 : m->source->volume / sum;
    g->accuracy = find_accuracy(m) + fabs(scale - 1.0);
    return make_pieces(m, scale, g);
}

enum sm_status sm_levels_table(struct sm_arena *arena, const struct sm_level_source *source,
                               struct sm_geometry *g, struct sm_error *err)
{
    struct maker m = {.arena = arena, .source = source, .err = err};
    sm_arena_init(&m.scratch, arena->allocator);
    const enum sm_status status = make_table(&m, g);
    sm_arena_release(&m.scratch);
    return status;
}
