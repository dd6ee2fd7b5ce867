#include <math.h>

#include "grain/table.h"

/* Places in u at which a piece's slopes are taken. A parabola through the first, third and fifth is tried at the other two,
 * then what goes through all of them nearer to the ends. */
enum { KNOTS = 5, CHECKS = 2 };
static const double places[KNOTS] = {0.0, 0.25, 0.5, 0.75, 1.0};
static const double checks[CHECKS] = {0.09, 0.91}; /* about where a quartic errs most */

/* Shares of the web: stretches that are bridged, and those that are no longer halved. */
static const double NARROW = 1e-3, SHORTEST = 1e-3;
/* Share of the tolerance that a parabola may take at the two places where it is tried. */
static const double COARSE = 0.5;

struct builder {
    struct sm_arena *arena;
    const struct sm_table_source *source;
    struct sm_geometry *g;
    size_t capacity;
    double area;     /* largest met so far [m2] */
    double worst;    /* largest error accepted so far [m2] */
    double shortest; /* stretch that is still halved [m] */
    struct sm_error *err;
};

static void sample(struct builder *b, size_t k, double w, struct sm_geometry_knot *out)
{
    b->source->knot(b->source->user, k, w, out);
    b->area = fmax(b->area, fabs(out->slope[SM_VOLUME]));
}

/* The polynomial through n values g at places u, by Newton's divided differences; a is that of its powers, and may be g. */
static void interpolate(int n, const double *u, const double *g, double *a)
{
    double d[KNOTS];
    for (int i = 0; i < n; i++)
        d[i] = g[i];
    for (int order = 1; order < n; order++)
        for (int i = n - 1; i >= order; i--)
            d[i] = (d[i] - d[i - 1]) / (u[i] - u[i - order]);
    for (int i = 0; i < n; i++)
        a[i] = 0.0;
    for (int k = n - 1; k >= 0; k--) { /* a = a (u - u[k]) + d[k] */
        for (int i = n - 1; i > 0; i--)
            a[i] = a[i - 1] - u[k] * a[i];
        a[0] = d[k] - u[k] * a[0];
    }
}

/* How w runs over a piece, and du/dw there; for a piece that begins at its root, that of u^2. */
static double place_at(const struct sm_piece *piece, double u, double *step)
{
    if (piece->pace == SM_EVEN) {
        *step = 1.0 / (piece->w1 - piece->w0);
        return piece->w0 + u * (piece->w1 - piece->w0);
    }
    const double sign = piece->pace == SM_ROOT_BEFORE ? 1.0 : -1.0, span = piece->far - piece->near,
                 s = piece->near + u * span;
    *step = piece->near > 0.0 ? 0.5 * sign / (s * span) : sign / (span * span);
    return piece->root + sign * s * s;
}

struct trial {
    struct sm_piece piece;
    size_t stretch;
    double w[KNOTS], step[KNOTS]; /* [m]; in the piece's own way */
    struct sm_geometry_knot knots[KNOTS];
};

/* The piece through n of the knots; the values begin with nothing. */
static void make_piece(struct trial *t, int n, const int *which)
{
    struct sm_piece *piece = &t->piece;
    const bool at_root = piece->pace != SM_EVEN && piece->near == 0.0;
    double u[KNOTS], g[KNOTS];
    for (int i = 0; i < n; i++)
        u[i] = places[which[i]];
    for (int q = 0; q < SM_N_INTEGRALS; q++) {
        double *c = piece->c[q];
        for (int i = 0; i < n; i++)
            g[i] = t->knots[which[i]].slope[q] / t->step[which[i]];
        interpolate(n, u, g, g);
        for (int i = 0; i < 6; i++)
            c[i] = 0.0;
        for (int i = 0; i < n; i++) /* the slope is du/dw dV/du, or at a root d(u^2)/dw dV/d(u^2) */
            c[i + (at_root ? 2 : 1)] = g[i] / (at_root ? 0.5 * (i + 2) : i + 1);
    }
}

/* Largest difference of a slope at w, as an area [m2]. The moments are weighed by the reach. */
static double difference(const struct builder *b, const struct sm_piece *piece, double w,
                         const struct sm_geometry_knot *truth)
{
    static const int degree[SM_N_INTEGRALS] = {
        [SM_X] = 1,  [SM_Y] = 1,  [SM_Z] = 1,  [SM_XX] = 2, [SM_YY] = 2,
        [SM_ZZ] = 2, [SM_XY] = 2, [SM_XZ] = 2, [SM_YZ] = 2};
    const double reach = b->source->reach, weight[3] = {1.0, 1.0 / reach, 1.0 / (reach * reach)};
    struct sm_geometry_at at;
    sm_piece_eval(piece, w, &at);
    double worst = 0.0;
    for (int i = 0; i < SM_N_INTEGRALS; i++) {
        const double d = weight[degree[i]] * fabs(at.slope[i] - truth->slope[i]);
        worst = d <= worst ? worst : d; /* NaN is taken, and then kept */
    }
    return worst;
}

static double check(struct builder *b, struct trial *t, double u)
{
    struct sm_geometry_knot truth;
    double step;
    const double w = place_at(&t->piece, u, &step);
    sample(b, t->stretch, w, &truth);
    return difference(b, &t->piece, w, &truth);
}

/* Tries one pace between w0 and w1. Returned: the error [m2]. */
static double try_pace(struct builder *b, struct trial *t, double w0, double w1, enum sm_pace pace)
{
    static const int coarse[3] = {0, 2, 4}, fine[KNOTS] = {0, 1, 2, 3, 4}, at_root[4] = {0, 1, 3, 4};
    const double *ends = b->source->breaks + t->stretch, root = pace == SM_ROOT_BEFORE   ? ends[0]
                                                                : pace == SM_ROOT_BEHIND ? ends[1]
                                                                                         : 0.0;
    t->piece = (struct sm_piece){.w0 = w0, .w1 = w1, .pace = pace, .root = root};
    if (pace != SM_EVEN) {
        t->piece.near = sqrt(fabs((pace == SM_ROOT_BEFORE ? w0 : w1) - root));
        t->piece.far = sqrt(fabs((pace == SM_ROOT_BEFORE ? w1 : w0) - root));
    }
    const bool begins_at_root = pace != SM_EVEN && t->piece.near == 0.0;
    const double enough = b->source->tolerance;
    for (int i = 0; i < KNOTS; i++) {
        t->w[i] = place_at(&t->piece, places[i], &t->step[i]);
        t->w[i] = i == 0                   ? (pace == SM_ROOT_BEHIND ? w1 : w0)
                  : i < KNOTS - 1          ? t->w[i]
                  : pace == SM_ROOT_BEHIND ? w0
                                           : w1;
    }
    static const int order[KNOTS] = {2, 0, 4, 1, 3}; /* the middle is farthest from events */
    for (int i = 0; i < KNOTS; i++)
        sample(b, t->stretch, t->w[order[i]], &t->knots[order[i]]);
    make_piece(t, 3, coarse);
    double error = fmax(difference(b, &t->piece, t->w[1], &t->knots[1]),
                        difference(b, &t->piece, t->w[3], &t->knots[3]));
    const bool is_done = error <= COARSE * enough * b->area;
    if (begins_at_root)
        make_piece(t, 4, at_root);
    else
        make_piece(t, KNOTS, fine);
    if (is_done)
        return error;
    error = begins_at_root ? difference(b, &t->piece, t->w[2], &t->knots[2]) : 0.0;
    for (int i = 0; i < CHECKS && error <= enough * b->area; i++)
        error = fmax(error, check(b, t, checks[i]));
    return error;
}

/* Appends the piece, whose values go on from those of the one before it. */
static enum sm_status keep(struct builder *b, struct sm_piece *piece, double error)
{
    struct sm_geometry *g = b->g;
    struct sm_piece *room =
        sm_arena_grow(b->arena, g->pieces, g->n_pieces, &b->capacity, g->n_pieces + 1, sizeof *room);
    if (!room)
        return sm_fail(b->err, SM_E_NOMEM, "out of memory");
    g->pieces = room;
    struct sm_geometry_at start, last = {.value = {0.0}};
    if (g->n_pieces > 0)
        sm_piece_eval(&g->pieces[g->n_pieces - 1], piece->w0, &last);
    sm_piece_eval(piece, piece->w0, &start);
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        piece->c[i][0] += last.value[i] - start.value[i];
    g->pieces[g->n_pieces++] = *piece;
    b->worst = fmax(b->worst, error);
    return SM_OK;
}

/* A stretch between two events so near each other that its neighbours tell it: straight from the end of one to the start of the
 * other, where that is not far. */
static enum sm_status bridge(struct builder *b, size_t k, bool *is_done)
{
    static const int ends[2] = {0, KNOTS - 1};
    const double w0 = b->source->breaks[k], w1 = b->source->breaks[k + 1];
    const double web = b->source->breaks[b->source->n_stretches];
    *is_done = false;
    if (k == 0 || k + 1 == b->source->n_stretches || w1 - w0 > NARROW * web)
        return SM_OK;
    struct trial t = {.stretch = k, .piece = {.w0 = w0, .w1 = w1, .pace = SM_EVEN}};
    t.step[0] = t.step[KNOTS - 1] = 1.0 / (w1 - w0);
    sample(b, k - 1, w0, &t.knots[0]);
    sample(b, k + 1, w1, &t.knots[KNOTS - 1]);
    const double step = fabs(t.knots[0].slope[SM_VOLUME] - t.knots[KNOTS - 1].slope[SM_VOLUME]);
    *is_done = step <= 0.5 * b->source->tolerance * b->area;
    make_piece(&t, 2, ends);
    return *is_done ? keep(b, &t.piece, step) : SM_OK;
}

static enum sm_status fit(struct builder *b, size_t k, double w0, double w1)
{
    struct trial trial = {.stretch = k}, best = trial;
    double least = SM_INF;
    for (int pace = SM_EVEN; pace <= SM_ROOT_BEHIND; pace++) {
        const double error = try_pace(b, &trial, w0, w1, (enum sm_pace)pace);
        if (error < least || pace == SM_EVEN) {
            best = trial;
            least = error;
        }
        if (least <= b->source->tolerance * b->area)
            break;
    }
    if (least <= b->source->tolerance * b->area || w1 - w0 < b->shortest)
        return keep(b, &best.piece, least);
    const double middle = 0.5 * (w0 + w1);
    SM_TRY(fit(b, k, w0, middle));
    return fit(b, k, middle, w1);
}

enum sm_status sm_table_from_slopes(struct sm_arena *arena, const struct sm_table_source *source,
                                    struct sm_geometry *g, struct sm_error *err)
{
    g->pieces = NULL;
    g->n_pieces = 0;
    struct builder b = {.arena = arena, .source = source, .g = g, .err = err};
    const double web = source->breaks[source->n_stretches];
    b.shortest = SHORTEST * web;
    for (size_t k = 0; k < source->n_stretches; k++) {
        bool is_bridged;
        SM_TRY(bridge(&b, k, &is_bridged));
        if (!is_bridged)
            SM_TRY(fit(&b, k, source->breaks[k], source->breaks[k + 1]));
    }
    struct sm_geometry_at last; /* nothing is left at the web */
    sm_piece_eval(&g->pieces[g->n_pieces - 1], web, &last);
    for (size_t p = 0; p < g->n_pieces; p++)
        for (int i = 0; i < SM_N_INTEGRALS; i++)
            g->pieces[p].c[i][0] -= last.value[i];
    g->accuracy = b.area > 0.0 ? b.worst / b.area : 0.0;
    sm_geometry_finish(g);
    return SM_OK;
}
