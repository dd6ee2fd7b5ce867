#include "grain/table.h"

#include <math.h>
#include <string.h>

struct builder {
    struct sm_arena *arena;
    const struct sm_table_source *source;
    struct sm_geometry *g;
    size_t capacity;
    double noise[SM_N_INTEGRALS]; /* of the integrals' values, by rounding [m3], [m4], [m5] */
    double area;                  /* largest met so far [m2] */
    double worst;                 /* largest error accepted so far [m2] */
    double shortest;              /* stretch that is still halved [m] */
    double fine;                  /* stretch that is so few times [m] */
    int n_fine;                   /* how many have been */
    double tolerance;             /* [1] */
    struct sm_error *err;
};

/* The moments are weighed by the reach: 0 for the volume, 1 for the first, 2 for the second. */
static const int degree[SM_N_INTEGRALS] = {[SM_X] = 1,  [SM_Y] = 1,  [SM_Z] = 1,  [SM_XX] = 2, [SM_YY] = 2,
                                           [SM_ZZ] = 2, [SM_XY] = 2, [SM_XZ] = 2, [SM_YZ] = 2};

static void sample(struct builder *b, size_t k, double w, struct sm_geometry_knot *out)
{
    b->source->knot(b->source->user, k, w, out);
    out->w = w;
    b->area = fmax(b->area, fabs(out->slope[SM_VOLUME]));
}

/* The slope of a Hermite quintic errs like u^2 (1-u)^2 (1-2u), most at u = 1/2 -+ 1/sqrt(20). The even pace
 * is checked there, the others about there, and where u is 0.11 from the root: just behind a jump what isn't of the root shows. */
enum { EVEN_CHECKS = 4, CHECKS = 6 };
static const double checks[CHECKS] = {0.0764, 0.2764, 0.7236, 0.9236, 0.0121, 0.9879};

/* Slopes where a stretch is checked, each looked up once it is asked for. */
struct truth {
    double w[CHECKS];                     /* [m] */
    double slope[CHECKS][SM_N_INTEGRALS]; /* [m2], [m3], [m4] */
    bool is_known[CHECKS];
};

static void look_up(struct builder *b, size_t k, struct truth *truth, int i)
{
    struct sm_geometry_knot knot;
    if (truth->is_known[i])
        return;
    truth->is_known[i] = true;
    if (b->source->slopes) {
        b->source->slopes(b->source->user, k, truth->w[i], truth->slope[i]);
        b->area = fmax(b->area, fabs(truth->slope[i][SM_VOLUME]));
        return;
    }
    sample(b, k, truth->w[i], &knot);
    memcpy(truth->slope[i], knot.slope, sizeof knot.slope);
}

/* Largest difference of a slope between piece and truth at check i, as an area [m2]. */
static double difference(const struct builder *b, const struct sm_piece *piece, const struct truth *truth,
                         int i)
{
    const double weight[3] = {1.0, 1.0 / b->source->reach, 1.0 / (b->source->reach * b->source->reach)};
    double slope[SM_N_INTEGRALS], worst = 0.0;
    sm_piece_slopes(piece, truth->w[i], slope);
    for (int q = 0; q < SM_N_INTEGRALS; q++) {
        const double d = weight[degree[q]] * fabs(slope[q] - truth->slope[i][q]);
        worst = d <= worst ? worst : d; /* NaN is taken, and then kept */
    }
    return worst;
}

struct trial {
    struct sm_piece piece;
    double error; /* [m2] */
};

static bool is_finite(const struct sm_piece *piece)
{
    double sum = 0.0;
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        for (int j = 0; j < 6; j++)
            sum += fabs(piece->c[i][j]);
    return isfinite(sum);
}

/* For a stretch too short to matter: straight from slope to slope. */
static void last_resort(const struct sm_geometry_knot *left, const struct sm_geometry_knot *right,
                        struct sm_piece *piece)
{
    struct sm_geometry_knot a = *left, b = *right;
    for (int i = 0; i < SM_N_INTEGRALS; i++) {
        a.bend[i] = b.bend[i] = (b.slope[i] - a.slope[i]) / (b.w - a.w);
        b.value[i] = a.value[i] + 0.5 * (a.slope[i] + b.slope[i]) * (b.w - a.w);
    }
    sm_piece_from_knots(&a, &b, SM_EVEN, 0.0, NULL, piece);
}

static enum sm_status keep(struct builder *b, const struct sm_piece *piece, double error)
{
    struct sm_geometry *g = b->g;
    struct sm_piece *room =
        sm_arena_grow(b->arena, g->pieces, g->n_pieces, &b->capacity, g->n_pieces + 1, sizeof *room);
    if (!room)
        return sm_fail(b->err, SM_E_NOMEM, "out of memory");
    g->pieces = room;
    g->pieces[g->n_pieces++] = *piece;
    b->worst = fmax(b->worst, error);
    return SM_OK;
}

/* Halfway in u. */
static double halve(double w0, double w1, enum sm_pace pace, double root)
{
    if (pace == SM_EVEN)
        return 0.5 * (w0 + w1);
    const double s = 0.5 * (sqrt(fabs(w0 - root)) + sqrt(fabs(w1 - root)));
    return pace == SM_ROOT_BEFORE ? root + s * s : root - s * s;
}

static void make_piece(struct builder *b, size_t k, const struct sm_geometry_knot *left,
                       const struct sm_geometry_knot *right, enum sm_pace pace, double root,
                       struct sm_piece *out)
{
    if (!b->source->has_no_bend) {
        sm_piece_from_knots(left, right, pace, root, b->noise, out);
        return;
    }
    struct sm_geometry_knot middle;
    sample(b, k, halve(left->w, right->w, pace, root), &middle);
    sm_piece_from_three(left, &middle, right, pace, root, out);
}

/* Fills trial->error with the largest at all checks; unless is_patient one that is too large ends them. */
static void check(struct builder *b, size_t k, struct truth *truth, bool is_patient, struct trial *trial)
{
    const int n = trial->piece.pace == SM_EVEN ? EVEN_CHECKS : CHECKS;
    trial->error = 0.0;
    for (int i = 0; i < n; i++) {
        look_up(b, k, truth, i);
        const double d = difference(b, &trial->piece, truth, i);
        trial->error = d <= trial->error ? trial->error : d;
        if (!is_patient && !(trial->error <= b->tolerance * b->area))
            return;
    }
    if (!is_finite(&trial->piece))
        trial->error = SM_INF;
}

/* Where the root lies that a pace in a stretch runs from; 0 if it is even [m]. */
static double root_of(const struct builder *b, size_t k, enum sm_pace pace)
{
    const double *at = b->source->roots ? b->source->roots + 2 * k : b->source->breaks + k;
    return pace == SM_EVEN ? 0.0 : at[pace == SM_ROOT_BEHIND];
}

static void insert(double *w, size_t *n, double x)
{
    size_t i = *n;
    for (++*n; i > 0 && w[i - 1] > x; i--)
        w[i] = w[i - 1];
    w[i] = x;
}

/* Where pieces between w[0] and w[1], w[1] and w[2], ... are made and checked, whatever their pace. */
static void announce(struct builder *b, size_t k, const double *w, size_t n_pieces)
{
    enum { MOST = 2 * (CHECKS + SM_ROOT_BEHIND + 1) };
    double places[MOST];
    size_t n = 0;
    for (size_t i = 0; i < n_pieces && b->source->prepare; i++) {
        for (int c = 0; c < EVEN_CHECKS; c++)
            insert(places, &n, w[i] + (w[i + 1] - w[i]) * checks[c]);
        for (int pace = SM_EVEN; pace <= SM_ROOT_BEHIND && b->source->has_no_bend; pace++)
            insert(places, &n, halve(w[i], w[i + 1], (enum sm_pace)pace, root_of(b, k, (enum sm_pace)pace)));
    }
    if (n > 0)
        b->source->prepare(b->source->user, k, places, n);
}

/* The first pace that errs little enough between two knots; if is_patient the best of all, where none does. */
static void try_paces(struct builder *b, size_t k, const struct sm_geometry_knot *left,
                      const struct sm_geometry_knot *right, bool is_patient, struct trial *best)
{
    struct truth truth = {.is_known = {false}};
    for (int i = 0; i < CHECKS; i++)
        truth.w[i] = left->w + (right->w - left->w) * checks[i];
    best->error = SM_INF;
    for (int pace = SM_EVEN; pace <= SM_ROOT_BEHIND; pace++) {
        struct trial trial;
        make_piece(b, k, left, right, (enum sm_pace)pace, root_of(b, k, (enum sm_pace)pace), &trial.piece);
        check(b, k, &truth, is_patient, &trial);
        if (trial.error < best->error)
            *best = trial;
        if (best->error <= b->tolerance * b->area)
            return;
    }
}

/* No more pieces than this are made in earnest; a table that asks for more chases roundings. */
enum { MOST_PIECES = 1000, MOST_FINE = 100 };

static enum sm_status fit(struct builder *b, size_t k, const struct sm_geometry_knot *left,
                          const struct sm_geometry_knot *right)
{
    struct trial best;
    const double length = right->w - left->w;
    const bool is_fine = length < b->fine;
    const bool is_last =
        length < b->shortest || b->g->n_pieces >= MOST_PIECES || (is_fine && b->n_fine >= MOST_FINE);
    try_paces(b, k, left, right, is_last, &best);
    if (best.error <= b->tolerance * b->area)
        return keep(b, &best.piece, best.error);
    const double middle = 0.5 * (left->w + right->w);
    if (is_last) {
        const double step = fabs(right->slope[SM_VOLUME] - left->slope[SM_VOLUME]);
        if (!(best.error <= step)) {
            last_resort(left, right, &best.piece);
            best.error = step;
        }
        return keep(b, &best.piece, best.error);
    }
    struct sm_geometry_knot knot;
    b->n_fine += is_fine;
    announce(b, k, (const double[]){left->w, middle, right->w}, 2);
    sample(b, k, middle, &knot);
    SM_TRY(fit(b, k, left, &knot));
    return fit(b, k, &knot, right);
}

/* A value is a sum of some ten terms as large as those of the whole grain. */
static void find_noise(struct builder *b)
{
    struct sm_geometry_knot start;
    sample(b, 0, 0.0, &start);
    const double reach = b->source->reach;
    for (int i = 0; i < SM_N_INTEGRALS; i++)
        b->noise[i] = 4e-15 * fabs(start.value[SM_VOLUME]) *
                      (degree[i] == 0   ? 1.0
                       : degree[i] == 1 ? reach
                                        : reach * reach);
}

static enum sm_status fit_all(struct builder *b)
{
    const struct sm_table_source *source = b->source;
    b->g->n_pieces = 0;
    b->n_fine = 0;
    b->worst = 0.0;
    for (size_t k = 0; k < source->n_stretches; k++) {
        struct sm_geometry_knot left, right;
        sample(b, k, source->breaks[k], &left);
        sample(b, k, source->breaks[k + 1], &right);
        announce(b, k, source->breaks + k, 1);
        SM_TRY(fit(b, k, &left, &right));
    }
    return SM_OK;
}

enum sm_status sm_table_build(struct sm_arena *arena, const struct sm_table_source *source,
                              struct sm_geometry *g, struct sm_error *err)
{
    enum { TRIES = 4 };
    g->pieces = NULL;
    struct builder b = {.arena = arena, .source = source, .g = g, .tolerance = source->tolerance, .err = err};
    b.shortest = (source->has_no_bend ? 1e-5 : 1e-12) * source->breaks[source->n_stretches];
    b.fine = 1e-9 * source->breaks[source->n_stretches];
    find_noise(&b);
    SM_TRY(fit_all(&b));
    for (int i = 0; i < TRIES && g->n_pieces >= MOST_PIECES; i++) {
        b.tolerance *= 10.0;
        SM_TRY(fit_all(&b));
    }
    g->accuracy = b.area > 0.0 ? b.worst / b.area : 0.0;
    sm_geometry_finish(g);
    return SM_OK;
}
